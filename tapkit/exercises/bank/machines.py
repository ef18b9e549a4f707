"""Lesson 8, at the machine: spindle speed, time, and a whole cycle."""

import math
from itertools import product
from typing import NamedTuple

from tapkit import door, units
from tapkit.exercises.bank.rows import bare_number, metals, metric, unified
from tapkit.exercises.blanks import Blank, BlanksAsked
from tapkit.exercises.exercise import Draft, Step, exercise, worked
from tapkit.exercises.number import NumberAsked, Slip
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Quantity, Sentence, _, length, speed
from tapkit.planning.cycle import Cycle
from tapkit.planning.holeplan import HolePlan
from tapkit.planning.machine import Machine
from tapkit.planning.press import PressPart, press_parts, whole_of
from tapkit.planning.speed import spindle_speed, tapping_speed


class Spin(NamedTuple):
    """A thread in a metal at a cutting speed [m/min]."""

    thread: Thread
    work: Workpiece
    speed: float

    @property
    def rpm(self) -> float:
        """Spindle speed [rpm]."""
        return spindle_speed(self.speed, self.thread.major)


def _spins(threads: tuple[Thread, ...]) -> list[Spin]:
    found = []
    for thread, name in product(threads, metals()):
        work = Workpiece.parse(name)
        found.append(Spin(thread, work, tapping_speed(work, thread).low))
    return found


def _cutting(value: float) -> Quantity:
    return speed(value, digits=4)


@exercise(
    "spindle-speed",
    cases=lambda: _spins(metric(4, 24)),
    mistakes={
        "forgot-pi": lambda c: 1000 * c.speed / c.thread.major,
        "radius-for-diameter": lambda c: 2 * c.rpm,
        "upside-down": lambda c: math.pi * c.thread.major * c.speed,
    },
)
def spindle_speed_metric(case: Spin) -> Draft:
    rpm = NumberAsked(case.rpm, "rotation", "speed")
    around = NumberAsked(math.pi * case.thread.major, "length", "thickness")
    return Draft(
        rpm,
        (
            worked(_("Around the tap"), around, "π × {major}"),
            worked(_("Spindle speed"), rpm, "1000 × {v} / {around}"),
            Step(_("Set the next slower speed the machine has.")),
        ),
        given={"speed": _cutting(case.speed), "v": bare_number(case.speed), "around": around},
    )


class SpinInch(NamedTuple):
    """An inch thread at a cutting speed in feet a minute."""

    thread: Thread
    work: Workpiece
    sfm: float

    @property
    def speed(self) -> float:
        """Cutting speed [m/min]."""
        return door.read(f"{self.sfm} sfm", "speed")

    @property
    def rpm(self) -> float:
        """Spindle speed [rpm]."""
        return spindle_speed(self.speed, self.thread.major)


def _inch_spins() -> list[SpinInch]:
    found = []
    for thread, name in product(unified(0.19, 1.0), ("C45", "304", "GJL-250", "AlCuMg1")):
        work = Workpiece.parse(name)
        low = units.convert(tapping_speed(work, thread).low, "speed", "inch")
        found.append(SpinInch(thread, work, 5.0 * math.ceil(low / 5)))
    return found


@exercise(
    "spindle-speed-inch",
    cases=_inch_spins,
    mistakes={
        "forgot-twelve": lambda c: c.rpm / 12,
        "forgot-pi": lambda c: c.rpm * math.pi,
        "radius-for-diameter": lambda c: 2 * c.rpm,
    },
)
def spindle_speed_in_inches(case: SpinInch) -> Draft:
    rpm = NumberAsked(case.rpm, "rotation", "speed")
    around = NumberAsked(math.pi * case.thread.major, "length", "thickness")
    return Draft(
        rpm,
        (worked(_("Around the tap"), around, "π × {major}"), worked(_("Spindle speed"), rpm, "12 × {sfm} / {around}")),
        given={"sfm": bare_number(case.sfm), "around": around, "whole": whole_of(_("the export press"))},
    )


class MachineRun(NamedTuple):
    """A part and the cycle to tap it in a machine that takes its speed at once."""

    part: PressPart
    cycle: Cycle

    @property
    def plan(self) -> HolePlan:
        return self.cycle.plan

    @property
    def rpm(self) -> float:
        """Spindle speed [rpm]."""
        return self.cycle.spindle


def runs(parts: tuple[PressPart, ...], lengths: tuple[float, ...] = (2.5, 4.0)) -> list[MachineRun]:
    """Runs of blind parts on a drill press that does what it is told, over chamfers of so many threads."""
    found = []
    press = Machine.parse("drill press").with_(drill_depth_tolerance=0.0, tap_depth_tolerance=0.0, overrun=0.0)
    for part, threads in product(parts, lengths):
        plan = part.plan(threads)
        found.append(MachineRun(part, Cycle.make(plan, press.with_(return_ratio=1.0), part.workpiece)))
    return found


def _runs() -> list[MachineRun]:
    return runs(press_parts("blind", "metric"))


@exercise(
    "time-in-the-hole",
    cases=_runs,
    mistakes={
        "minutes-for-seconds": lambda c: c.cycle.turns / c.rpm,
        "forgot-the-start": lambda c: c.plan.turns / c.rpm * 60,
        "mm-for-turns": lambda c: c.cycle.travel / c.rpm * 60,
    },
)
def time_in_the_hole(case: MachineRun) -> Draft:
    cycle = case.cycle
    seconds = NumberAsked(cycle.time_in(), "time", "time")
    way = NumberAsked(cycle.travel, "length", "diameter")
    turns = NumberAsked(cycle.turns, "turns", "turns")
    return Draft(
        seconds,
        (
            worked(_("Way"), way, "{start} + {deep}"),
            worked(_("To that depth"), turns, "{way} / {pitch}"),
            worked(_("Time"), seconds, "{turns} / {rpm} × 60"),
        ),
        given={
            "start": length(cycle.start_height),
            "deep": length(case.plan.tap_depth),
            "rpm": bare_number(case.rpm),
            "way": way,
            "turns": turns,
        },
    )


@exercise("fill-the-cycle", cases=_runs)
def fill_the_cycle(case: MachineRun) -> Draft:
    cycle, part, plan = case.cycle, case.part, case.plan
    thread = part.thread
    rpm = spindle_speed(float(cycle.speed), thread.major)

    def asked(value: float, kind: str, tolerance: str, name: str, wrong: float, says: Sentence) -> NumberAsked:
        return NumberAsked(value, kind, tolerance, mistakes=(Slip(name, wrong, says),))

    chamfer_too = _("The chamfer goes in as well.")
    around = _("Around the tap it is π times the diameter.")
    multiply = _("Multiply pitch and turns.")
    numbers = (
        asked(rpm, "rotation", "speed", "forgot-pi", math.pi * rpm, around),
        asked(cycle.feed_per_minute, "feed", "feed", "divided-by-pitch", cycle.spindle / thread.lead, multiply),
        asked(plan.tap_depth, "length", "depth", "forgot-chamfer", part.depth, chamfer_too),
        asked(plan.turns, "turns", "turns", "forgot-chamfer", part.depth / thread.pitch, chamfer_too),
    )
    labels = (
        _("Spindle speed by the formula"),
        _("Feed for each minute at the rounded speed"),
        _("Depth of the tap's point"),
        _("Turns from face to depth"),
    )
    formulas = "1000 × {v} / (π × {major})", "{pitch} × {rpm}", "{depth} + {threads} × {pitch}", "{deep} / {pitch}"
    return Draft(
        BlanksAsked(tuple(map(Blank, ("spindle", "feed", "depth", "turns"), labels, numbers))),
        tuple(map(worked, labels, numbers, formulas)),
        given={
            "threads": bare_number(plan.threads),
            "speed": _cutting(float(cycle.speed)),
            "v": bare_number(float(cycle.speed)),
            "rpm": Quantity(cycle.spindle, "rotation"),
            "deep": numbers[2],
        },
    )
