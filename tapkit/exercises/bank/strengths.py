"""Lesson 6, torque and strength: the handbook rule, stress in the core, margin against breakage, two hands."""

import math
from functools import lru_cache
from itertools import product
from typing import Any, NamedTuple

from tapkit.exercises.bank.rows import bare_number, metric
from tapkit.exercises.exercise import Draft, Sketch, Step, exercise, worked
from tapkit.exercises.number import NumberAsked
from tapkit.geometry.fluteform import form_of
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics import hand, torsion
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.force import cutting_force
from tapkit.mechanics.toothload import steady_thickness
from tapkit.mechanics.torque import handbook_torque as handbook_rule
from tapkit.mechanics.torque import tooth_torque
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Quantity, Span, _, force, length, stress, torque
from tapkit.operation import Operation
from tapkit.planning.press import PressPart, press_parts


@lru_cache(maxsize=512)
def through_job(
    part: PressPart, form: str = "straight", chamfer: str | float = "plug", thick: float | None = None
) -> Operation:
    """A tap through a part of the press, its own thickness or another [mm]."""
    return part.operation(part.tap(form, chamfer), thick)


def newtons(value: float, digits: int = 4) -> Quantity:
    """A force [N] with so many digits that count."""
    return force(value, digits=digits)


class Pull(NamedTuple):
    """A force on a tooth [N] at a radius [mm]."""

    thread: Thread
    force: float

    @property
    def radius(self) -> float:
        """Where the tooth cuts: midway between minor and major diameter."""
        return round((self.thread.major + self.thread.minor_diameter) / 4, 2)

    @property
    def torque(self) -> float:
        """Torque of the tooth [N·m]."""
        return float(tooth_torque(self.force, self.radius))


@exercise(
    "torque-of-a-tooth",
    cases=lambda: [Pull(t, f) for t, f in product(metric(5, 20), (85.0, 140.0, 230.0))],
    mistakes={"diameter-for-radius": lambda p: 2 * p.torque, "divided-by-radius": lambda p: p.force / p.radius},
)
def torque_of_a_tooth(pull: Pull) -> Draft:
    asked = NumberAsked(pull.torque, "torque", "torque")
    return Draft(
        asked,
        (worked(_("Torque"), asked, "{force} × {radius} / 1000"),),
        given=dict(force=newtons(pull.force), radius=length(pull.radius)),
    )


class Rule(NamedTuple):
    """The handbook rule for one thread in one workpiece."""

    thread: Thread
    work: Workpiece

    @property
    def specific(self) -> float:
        """Specific cutting force at the chip thickness of a usual plug tap, rounded to 10 [N/mm2]."""
        h = steady_thickness(Tap.make(self.thread, "straight", "plug"))
        pull = float(cutting_force(width=1.0, thickness=h, kc11=self.work.kc11, mc=self.work.mc))
        return round(pull / h, -1)

    def torque(self, pitch_power: int = 2, major_power: int = 1) -> float:
        """Torque by the rule, with the powers of pitch and diameter as given [N·m]."""
        rule = handbook_rule(pitch=self.thread.pitch, major=self.thread.major, specific_force=self.specific)
        return rule * self.thread.pitch ** (pitch_power - 2) * self.thread.major ** (major_power - 1)


@exercise(
    "handbook-torque",
    cases=lambda: [
        Rule(t, Workpiece.parse(w)) for t, w in product(metric(5, 20), ("C45", "GJL-250", "AlCuMg1", "304"))
    ],
    mistakes={
        "pitch-not-squared": lambda r: r.torque(pitch_power=1),
        "diameter-squared": lambda r: r.torque(major_power=2),
        "diameter-for-radius": lambda r: 2 * r.torque(),
    },
)
def handbook_torque(rule: Rule) -> Draft:
    asked = NumberAsked(rule.torque(), "torque", "torque")
    squared = NumberAsked(rule.thread.pitch**2, "number", "thickness")
    return Draft(
        asked,
        (worked(_("Pitch squared"), squared, "{p} × {p}"), worked(_("Torque"), asked, "{squared} × {d} × {k} / 8000")),
        given=dict(
            specific=stress(rule.specific),
            p=bare_number(rule.thread.pitch),
            d=bare_number(rule.thread.major),
            k=bare_number(rule.specific),
            squared=squared,
        ),
    )


class Twisted(NamedTuple):
    """A tap under a torque [N·m]."""

    tap: Tap
    torque: float

    @property
    def shortcut(self) -> float:
        """Stress of the core circle by the textbook shortcut [N/mm2]."""
        return float(torsion.shortcut_stress(self.tap.core_diameter)) * self.torque


def _twisted() -> list[Twisted]:
    forms = ("straight", "spiral-point", "spiral-flute")
    taps = [Tap.make(t, f, form_of(f).usual_chamfer) for t, f in product(metric(5, 20), forms)]
    return [
        Twisted(tap.with_(core_diameter=round(tap.core_diameter, 2)), round(0.012 * tap.thread.major**2.6, 1))
        for tap in taps
    ]


@exercise(
    "core-stress",
    cases=_twisted,
    mistakes={
        "radius-for-diameter": lambda c: 8 * c.shortcut,
        "bending-for-torsion": lambda c: 2 * c.shortcut,
        "outside-for-core": lambda c: c.shortcut * (c.tap.core_diameter / c.tap.thread.major) ** 3,
    },
)
def core_stress(case: Twisted) -> Draft:
    tap = case.tap
    asked = NumberAsked(case.shortcut, "stress", "stress")
    modulus = NumberAsked(math.pi * tap.core_diameter**3 / 16, "volume", "area")
    return Draft(
        asked,
        (
            worked(_("Section modulus of the core circle"), modulus, "π × ({core})³ / 16"),
            worked(_("Stress"), asked, "{torque} × 1000 / {modulus}"),
            Step(_("The true section bears {true}: the lands carry too, so the shortcut is on the safe side.")),
        ),
        reveal=Sketch("endview", tap, _("End view of the tap: {flutes} flutes around a core of {core}.")),
        given=dict(torque=torque(case.torque, digits=4), modulus=modulus, true=stress(_true_stress(case))),
    )


def _true_stress(case: Twisted) -> float:
    tap = case.tap
    found = torsion.torsion(diameter=tap.thread.major, core=tap.core_diameter, land=tap.land_width, flutes=tap.flutes)
    return float(found.stress_per_torque) * case.torque


@exercise(
    "margin",
    cases=lambda: _free_jobs(("straight", "spiral-point"), ("plug",)),
    mistakes={
        "upside-down": lambda j: _most(j) / _weakest(j),
        "difference-for-ratio": lambda j: _weakest(j) - _most(j),
    },
    likely={
        "least-for-most": lambda j: _weakest(j) / j.expected_torque.peak[0],
        "strong-for-weak": lambda j: j.breakage.torque_range[1] / _most(j),
    },
)
def margin(job: Operation) -> Draft:
    asked = NumberAsked(_weakest(job) / _most(job), "times", "ratio")
    return Draft(
        asked,
        (worked(_("Least margin"), asked, "{weakest} / {most}"),),
        reveal=Sketch("torquechart", job, _("Torque along the depth: {needs} expected, breaks at {bears}.")),
        given=_needs_and_bears(job),
    )


def _needs_and_bears(job: Operation) -> dict[str, Any]:
    """What is said of a tap's torque: what it needs and what it bears."""
    low, high = job.expected_torque.peak
    return {
        "needs": Span(low, high, "torque", digits=3),
        "most": torque(high, digits=3),
        "bears": Span(*job.breakage.torque_range, "torque", digits=3),
        "weakest": torque(_weakest(job), digits=3),
    }


def _worn() -> float:
    return assumption("worn_factor").value


@exercise(
    "margin-of-a-worn-tap",
    cases=lambda: _free_jobs(("straight", "spiral-point"), ("plug", 3.5)),
    mistakes={
        "upside-down": lambda j: _weakest(j) / _most(j) * _worn(),
        "unchanged": lambda j: _weakest(j) / _most(j),
        "subtracted": lambda j: _weakest(j) / _most(j) - _worn(),
    },
)
def margin_of_a_worn_tap(job: Operation) -> Draft:
    asked = NumberAsked(_weakest(job) / (_worn() * _most(job)), "times", "ratio")
    worn = NumberAsked(_worn() * _most(job), "torque", "torque")
    return Draft(
        asked,
        (worked(_("Torque, worn"), worn, "{factor} × {most}"), worked(_("Margin"), asked, "{weakest} / {worn}")),
        given=_needs_and_bears(job) | {"factor": bare_number(_worn()), "worn": worn},
    )


class Wrench(NamedTuple):
    """Torque to expect, least and most [N·m], on a tap wrench of some length over both handles [mm]."""

    part: PressPart
    needs: tuple[float, float]
    length: float

    @property
    def force(self) -> float:
        """Force of each hand at the most [N]."""
        return hand.force_of_each_hand(self.needs[1], self.length)


def _wrenches() -> list[Wrench]:
    found = []
    for part in press_parts():
        need = through_job(part, "straight", 4.0, 2 * part.thread.major).expected_torque.peak
        step = 10.0 if part.system == "metric" else 25.4
        usual = hand.usual_wrench(part.thread.major)
        found += [Wrench(part, need, step * round(share * usual / step)) for share in (1.0, 0.8)]
    return found


@exercise(
    "force-of-each-hand",
    cases=_wrenches,
    mistakes={"one-hand": lambda c: 2 * c.force, "half-of-half": lambda c: c.force / 2},
)
def force_of_each_hand(case: Wrench) -> Draft:
    part = case.part
    asked = NumberAsked(case.force, "force", "force")
    return Draft(
        asked,
        (
            worked(
                _("Force of each hand"),
                asked,
                "{most} × 1000 / {wrench}" if part.system == "metric" else "{most} / {wrench}",
            ),
        ),
        given={
            "needs": Span(*case.needs, "torque", digits=3),
            "most": torque(case.needs[1], digits=3),
            "wrench": length(case.length),
        },
    )


def _weakest(job: Operation) -> float:
    """The least torque at which the tap of a job may break [N·m]."""
    return job.breakage.torque_range[0]


def _most(job: Operation) -> float:
    """The most torque expected of a job [N·m]."""
    return job.expected_torque.peak[1]


def _free_jobs(forms: tuple[str, ...], chamfers: tuple[str | float, ...]) -> list[Operation]:
    """Jobs in which no chips jam."""
    jobs = (through_job(p, f, n) for p, f, n in product(press_parts("through"), forms, chamfers))
    return [job for job in jobs if job.expected_torque.open_from is None]
