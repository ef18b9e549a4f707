"""Lesson 8, at the machine: spindle speed, time, and a whole cycle."""

from __future__ import annotations

import math
from itertools import product
from typing import NamedTuple

from tapkit import door, units
from tapkit.exercises.bank.rows import g, inch, metric, mm, unified
from tapkit.exercises.blanks import Blank, Blanks
from tapkit.exercises.exercise import Draft, Mistake, Step, exercise
from tapkit.exercises.number import Number, Slip
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece, workpiece_names
from tapkit.planning.cycle import Cycle
from tapkit.planning.holeplan import HolePlan
from tapkit.planning.machine import Machine
from tapkit.planning.press import PressPart, press_parts
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
    for thread, name in product(threads, workpiece_names()):
        work = Workpiece.parse(name)
        found.append(Spin(thread, work, tapping_speed(work, thread).low))
    return found


@exercise(
    "spindle-speed",
    lesson=8,
    topic="cycle",
    level=1,
    kind="number",
    title="Spindle speed from cutting speed",
    cases=lambda: _spins(metric(4, 24)),
    mistakes=(
        Mistake(
            "forgot-pi",
            lambda c: 1000 * c.speed / c.thread.major,
            "You left out π. In one turn the edge runs once around: π times the diameter.",
        ),
        Mistake(
            "radius-for-diameter",
            lambda c: 2 * c.rpm,
            "You took the radius. Around the tap it is π times the diameter.",
        ),
        Mistake(
            "upside-down",
            lambda c: math.pi * c.thread.major * c.speed,
            "You multiplied speed and way around. The larger the tap, the slower it must turn: divide.",
        ),
    ),
)
def spindle_speed_metric(case: Spin) -> Draft:
    """Spindle speed from cutting speed."""
    rpm = Number(case.rpm, "rotation", "speed")
    around = math.pi * case.thread.major
    return Draft(
        f"You start {case.thread.designation} in {case.work.printed} at a cutting speed of {g(case.speed)} m/min. "
        "How fast must the spindle turn?",
        rpm,
        (
            "In one turn the edge runs π times the diameter.",
            "Turn m/min into mm/min, then share it: 1000 · v / (π · D).",
        ),
        (
            Step(f"Around the tap: π × {mm(case.thread.major)} = {{}}", Number(around, "length", "thickness")),
            Step(f"Spindle speed: 1000 × {g(case.speed)} / {g(around)} = {{}}", rpm),
            Step("Set the next slower speed the machine has."),
        ),
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
    lesson=8,
    topic="cycle",
    level=2,
    kind="number",
    title="Spindle speed with feet and inches",
    cases=_inch_spins,
    mistakes=(
        Mistake(
            "forgot-twelve",
            lambda c: c.rpm / 12,
            "The speed is in feet, the diameter in inches. One foot is twelve inches.",
        ),
        Mistake(
            "forgot-pi",
            lambda c: c.rpm * math.pi,
            "You left out π: around the tap it is π times the diameter.",
        ),
        Mistake(
            "radius-for-diameter",
            lambda c: 2 * c.rpm,
            "You took the radius. Around the tap it is π times the diameter.",
        ),
    ),
)
def spindle_speed_in_inches(case: SpinInch) -> Draft:
    """Spindle speed with feet and inches."""
    rpm = Number(case.rpm, "rotation", "speed")
    around = math.pi * case.thread.major
    return Draft(
        f"For the export press you tap {case.thread.designation} (major diameter {inch(case.thread.major)}) in "
        f"{case.work.printed} at {g(case.sfm)} feet a minute. How fast must the spindle turn?",
        rpm,
        ("Twelve inches make a foot.", "Spindle speed = 12 · v / (π · D), with v in feet a minute and D in inches."),
        (
            Step(
                f"Around the tap: π × {inch(case.thread.major)} = {{}}",
                Number(around, "length", "thickness", "inch"),
            ),
            Step(f"Spindle speed: 12 × {g(case.sfm)} / {g(around / 25.4)} = {{}}", rpm),
        ),
    )


class Run(NamedTuple):
    """A part and the cycle to tap it in a machine that takes its speed at once."""

    part: PressPart
    cycle: Cycle

    @property
    def plan(self) -> HolePlan:
        """The hole plan."""
        return self.cycle.plan

    @property
    def rpm(self) -> float:
        """Spindle speed [rpm]."""
        return self.cycle.spindle


def _runs() -> list[Run]:
    found = []
    press = Machine.parse("drill press").with_(drill_depth_tolerance=0.0, tap_depth_tolerance=0.0, overrun=0.0)
    for part, threads in product(press_parts("blind", "metric"), (2.5, 4.0)):
        plan = part.plan(threads)
        found.append(Run(part, Cycle.make(plan, press.with_(return_ratio=1.0), part.workpiece)))
    return found


@exercise(
    "time-in-the-hole",
    lesson=8,
    topic="cycle",
    level=2,
    kind="number",
    title="How long the tap is on its way in",
    cases=_runs,
    mistakes=(
        Mistake(
            "minutes-for-seconds",
            lambda c: c.cycle.turns / c.rpm,
            "That is in minutes. There are 60 seconds in one.",
        ),
        Mistake(
            "forgot-the-start",
            lambda c: c.plan.turns / c.rpm * 60,
            "You counted from the face. The tap starts above it.",
        ),
        Mistake(
            "mm-for-turns",
            lambda c: c.cycle.travel / c.rpm * 60,
            "You took the way in mm for turns. One turn is one pitch.",
        ),
    ),
)
def time_in_the_hole(case: Run) -> Draft:
    """How long the tap is on its way in."""
    cycle, pitch = case.cycle, case.part.thread.pitch
    seconds = Number(cycle.time_in(), "time", "time")
    return Draft(
        f"The {case.part.name}, {case.part.thread.designation}: the tap starts {mm(cycle.start_height)} above the face "
        f"and goes {mm(case.plan.tap_depth)} deep, at {g(case.rpm)} rpm. How many seconds is it on its way in?",
        seconds,
        ("Way / pitch = turns.", "Turns / rpm is in minutes; times 60 for seconds."),
        (
            Step(
                f"Way: {mm(cycle.start_height)} + {mm(case.plan.tap_depth)} = {{}}",
                Number(cycle.travel, "length", "diameter"),
            ),
            Step(f"Turns: {mm(cycle.travel)} / {mm(pitch)} = {{}}", Number(cycle.turns, "turns", "turns")),
            Step(f"Time: {g(cycle.turns)} / {g(case.rpm)} × 60 = {{}}", seconds),
        ),
    )


@exercise(
    "fill-the-cycle",
    lesson=8,
    topic="cycle",
    level=3,
    kind="fill the plan",
    title="A whole tapping cycle",
    cases=_runs,
)
def fill_the_cycle(case: Run) -> Draft:
    """A whole tapping cycle."""
    cycle, part, plan = case.cycle, case.part, case.plan
    thread = part.thread
    rpm = spindle_speed(float(cycle.speed), thread.major)
    spin = Number(
        rpm,
        "rotation",
        "speed",
        mistakes=(Slip("forgot-pi", math.pi * rpm, "around the tap it is π times the diameter."),),
    )
    feed = Number(
        cycle.feed_per_minute,
        "feed",
        "feed",
        mistakes=(Slip("divided-by-pitch", cycle.spindle / thread.lead, "multiply pitch and turns."),),
    )
    depth = Number(
        plan.tap_depth,
        "length",
        "depth",
        mistakes=(Slip("forgot-chamfer", part.depth, "the chamfer goes in as well."),),
    )
    turns = Number(
        plan.turns,
        "turns",
        "turns",
        mistakes=(Slip("forgot-chamfer", part.depth / thread.pitch, "the chamfer goes in as well."),),
    )
    blanks = Blanks(
        (
            Blank("spindle", "Spindle speed by the formula", spin),
            Blank("feed", "Feed for each minute at the rounded speed", feed),
            Blank("depth", "Depth of the tap's point", depth),
            Blank("turns", "Turns from face to depth", turns),
        )
    )
    return Draft(
        f"Set up the {part.name}: {thread.designation} in {part.metal}, {mm(part.depth)} of full thread, chamfer "
        f"{g(plan.threads)} threads, cutting speed {g(float(cycle.speed))} m/min. The machine is set to the speed by "
        "the formula, rounded down to two digits.",
        blanks,
        (
            "Spindle speed: 1000 · v / (π · D). Feed: pitch times the rpm that is set.",
            "Depth: full thread plus chamfer. Turns: depth over pitch.",
        ),
        (
            Step(
                f"Spindle speed by the formula: 1000 × {g(float(cycle.speed))} / (π × {g(thread.major)}) = {{}}", spin
            ),
            Step(f"Feed for each minute: {g(thread.pitch)} × {g(cycle.spindle)} = {{}}", feed),
            Step(f"Depth of the tap's point: {g(part.depth)} + {g(plan.threads)} × {g(thread.pitch)} = {{}}", depth),
            Step(f"Turns: depth / {g(thread.pitch)} = {{}}", turns),
        ),
    )


EXERCISES = (
    spindle_speed_metric,
    spindle_speed_in_inches,
    time_in_the_hole,
    fill_the_cycle,
)
