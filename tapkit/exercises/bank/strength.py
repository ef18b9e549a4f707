"""Lesson 6, torque and strength: the handbook rule, stress in the core, margin against breakage, two hands."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import product
from typing import NamedTuple

from tapkit.exercises.bank.rows import an, cap, g, metric, mm
from tapkit.exercises.exercise import Draft, Mistake, Sketch, Step, exercise
from tapkit.exercises.number import Number
from tapkit.geometry.fluteform import form_of
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics import force, hand, torque, torsion
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.toothload import steady_thickness
from tapkit.mechanics.workpiece import Workpiece
from tapkit.operation import Operation
from tapkit.planning.press import PressPart, press_parts


@lru_cache(maxsize=512)
def through_job(
    part: PressPart, form: str = "straight", chamfer: str | float = "plug", thick: float | None = None
) -> Operation:
    """A tap through a part of the press, its own thickness or another [mm]."""
    return part.operation(part.tap(form, chamfer), thick)


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
        return float(torque.tooth_torque(self.force, self.radius))


@exercise(
    "torque-of-a-tooth",
    lesson=6,
    topic="torque and strength",
    level=1,
    kind="number",
    title="Torque of one tooth",
    cases=lambda: [Pull(t, f) for t, f in product(metric(5, 20), (85.0, 140.0, 230.0))],
    mistakes=(
        Mistake(
            "diameter-for-radius",
            lambda p: 2 * p.torque,
            "You took the diameter. The lever of a force goes from the axis: the radius.",
        ),
        Mistake(
            "divided-by-radius",
            lambda p: p.force / p.radius,
            "You divided. Force times lever is torque.",
        ),
    ),
)
def torque_of_a_tooth(pull: Pull) -> Draft:
    """Torque of one tooth."""
    asked = Number(pull.torque, "torque", "torque")
    return Draft(
        f"A tooth of {an(pull.thread.designation)} tap bears {g(pull.force)} N, {mm(pull.radius)} from the axis. "
        "What torque does this tooth need?",
        asked,
        ("Torque is force times lever.", "For N·m the lever must be in metres: 1000 mm are 1 m."),
        (Step(f"Torque: {g(pull.force)} N × {mm(pull.radius)} / 1000 = {{}}", asked),),
    )


class Rule(NamedTuple):
    """The handbook rule for one thread in one workpiece."""

    thread: Thread
    work: Workpiece

    @property
    def specific(self) -> float:
        """Specific cutting force at the chip thickness of a usual plug tap, rounded to 10 [N/mm2]."""
        h = steady_thickness(Tap.make(self.thread, "straight", "plug"))
        pull = float(force.cutting_force(width=1.0, thickness=h, kc11=self.work.kc11, mc=self.work.mc))
        return round(pull / h, -1)

    def torque(self, pitch_power: int = 2, major_power: int = 1) -> float:
        """Torque by the rule, with the powers of pitch and diameter as given [N·m]."""
        rule = torque.handbook_torque(pitch=self.thread.pitch, major=self.thread.major, specific_force=self.specific)
        return rule * self.thread.pitch ** (pitch_power - 2) * self.thread.major ** (major_power - 1)


@exercise(
    "handbook-torque",
    lesson=6,
    topic="torque and strength",
    level=2,
    kind="number",
    title="Torque by the handbook rule",
    cases=lambda: [
        Rule(t, Workpiece.parse(w)) for t, w in product(metric(5, 20), ("C45", "GJL-250", "AlCuMg1", "304"))
    ],
    mistakes=(
        Mistake(
            "pitch-not-squared",
            lambda r: r.torque(pitch_power=1),
            "The pitch is squared: a coarser groove is wider and deeper.",
        ),
        Mistake(
            "diameter-squared",
            lambda r: r.torque(major_power=2),
            "The diameter is not squared. It is only the lever.",
        ),
        Mistake(
            "diameter-for-radius",
            lambda r: 2 * r.torque(),
            "You divided by 4000. The rule divides by 8000.",
        ),
    ),
)
def handbook_torque(rule: Rule) -> Draft:
    """Torque by the handbook rule."""
    asked = Number(rule.torque(), "torque", "torque")
    p, d = g(rule.thread.pitch), g(rule.thread.major)
    return Draft(
        f"Estimate the torque to tap {rule.thread.designation} in {rule.work.printed} by the handbook rule. "
        f"The specific cutting force of so thin a chip is {g(rule.specific)} N/mm².",
        asked,
        (
            "The rule: M = P² · D · k / 8000, with P and D in mm, k in N/mm², M in N·m.",
            "It already counts some friction. Do not add more.",
        ),
        (
            Step(f"Pitch squared: {p} × {p} = {{}}", Number(rule.thread.pitch**2, "number", "thickness")),
            Step(f"Torque: {g(rule.thread.pitch**2)} × {d} × {g(rule.specific)} / 8000 = {{}}", asked),
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
    lesson=6,
    topic="torque and strength",
    level=2,
    kind="number",
    title="Stress by the textbook shortcut",
    cases=_twisted,
    mistakes=(
        Mistake(
            "radius-for-diameter",
            lambda c: 8 * c.shortcut,
            "You put the radius in. The rule 16 M / (π d³) wants the diameter.",
        ),
        Mistake(
            "bending-for-torsion",
            lambda c: 2 * c.shortcut,
            "32 belongs to bending. In torsion it is 16.",
        ),
        Mistake(
            "outside-for-core",
            lambda c: c.shortcut * (c.tap.core_diameter / c.tap.thread.major) ** 3,
            "You took the outside diameter. The flutes cut the lands apart: the core carries.",
        ),
    ),
)
def core_stress(case: Twisted) -> Draft:
    """Stress by the textbook shortcut."""
    tap = case.tap
    stress = Number(case.shortcut, "stress", "stress")
    modulus = math.pi * tap.core_diameter**3 / 16
    return Draft(
        f"{cap(an(tap.thread.designation))} tap with a core of {mm(tap.core_diameter)} bears {g(case.torque)} N·m. "
        "What is the shear stress by the textbook shortcut, as if the core circle carried alone?",
        stress,
        (
            "The shortcut: stress = 16 · M / (π · d³), d the core diameter.",
            "With M in N·m, multiply by 1000 for N·mm.",
        ),
        (
            Step(f"π · ({mm(tap.core_diameter)})³ / 16 = {{}}", Number(modulus, "volume", "area")),
            Step(f"Stress: {g(case.torque)} × 1000 / {g(modulus)} = {{}}", stress),
            Step(
                f"The true section bears {g(_true_stress(case), 3)} N/mm²: the lands carry too, "
                "so the shortcut is on the safe side."
            ),
        ),
        reveal=Sketch(
            "endview", tap, f"End view of the tap: {tap.flutes} flutes around a core of {mm(tap.core_diameter)}."
        ),
    )


def _true_stress(case: Twisted) -> float:
    tap = case.tap
    found = torsion.torsion(diameter=tap.thread.major, core=tap.core_diameter, land=tap.land_width, flutes=tap.flutes)
    return float(found.stress_per_torque) * case.torque


@exercise(
    "margin",
    lesson=6,
    topic="torque and strength",
    level=1,
    kind="number",
    title="Margin against breakage",
    cases=lambda: [through_job(p, f) for p, f in product(press_parts("through"), ("straight", "spiral-point"))],
    mistakes=(
        Mistake(
            "upside-down",
            lambda j: j.torque_curve.peak / j.breakage.torque,
            "The other way round: what it can bear over what it needs.",
        ),
        Mistake(
            "difference-for-ratio",
            lambda j: j.breakage.torque - j.torque_curve.peak,
            "You took the difference. A margin says how many times as much the tap bears.",
        ),
    ),
)
def margin(job: Operation) -> Draft:
    """Margin against breakage."""
    bears, needs = job.breakage.torque, job.torque_curve.peak
    asked = Number(job.breakage.margin, "times", "ratio")
    return Draft(
        f"{cap(an(job.tap.thread.designation))} {job.tap.name} tap in {job.workpiece.printed} needs {g(needs, 3)} N·m "
        f"at most. At the assumed stress it would break at {g(bears, 3)} N·m. What is its margin?",
        asked,
        ("Margin = torque at breakage / torque needed.",),
        (Step(f"Margin: {g(bears, 3)} / {g(needs, 3)} = {{}}", asked),),
        reveal=Sketch(
            "torquechart", job, f"Torque along the depth: {g(needs, 3)} N·m at most, breaks at {g(bears, 3)}."
        ),
    )


def _worn() -> float:
    return assumption("worn_factor").value


@exercise(
    "margin-of-a-worn-tap",
    lesson=6,
    topic="torque and strength",
    level=2,
    kind="number",
    title="The same tap, worn",
    cases=lambda: [through_job(p, f, n) for p, f, n in product(press_parts("through"), ("straight",), (4.0, 2.5))],
    mistakes=(
        Mistake(
            "upside-down",
            lambda j: j.breakage.margin * _worn(),
            "A worn tap needs more torque, so its margin is smaller.",
        ),
        Mistake(
            "unchanged",
            lambda j: j.breakage.margin,
            "That is the sharp tap's margin. Wear raises the torque it needs.",
        ),
        Mistake(
            "subtracted",
            lambda j: j.breakage.margin - _worn(),
            "You subtracted. So many times the torque means: divide.",
        ),
    ),
)
def margin_of_a_worn_tap(job: Operation) -> Draft:
    """The same tap, worn."""
    asked = Number(job.breakage.margin_worn, "times", "ratio")
    needs, bears = job.torque_curve.peak, job.breakage.torque
    return Draft(
        f"A sharp {job.tap.thread.designation} tap needs {g(needs, 3)} N·m in {job.workpiece.printed} and would "
        f"break at {g(bears, 3)} N·m. Worn, it needs {g(_worn())} times the torque. What is its margin then?",
        asked,
        ("First the torque of the worn tap.", "Then torque at breakage over that."),
        (
            Step(f"Torque, worn: {g(_worn())} × {g(needs, 3)} N·m = {{}}", Number(_worn() * needs, "torque", "torque")),
            Step(f"Margin: {g(bears, 3)} N·m / {g(_worn() * needs, 3)} N·m = {{}}", asked),
        ),
    )


class Wrench(NamedTuple):
    """A torque [N·m] on a tap wrench of some length over both handles [mm]."""

    part: PressPart
    torque: float
    length: float

    @property
    def force(self) -> float:
        """Force of each hand [N]."""
        return hand.force_of_each_hand(self.torque, self.length)


def _wrenches() -> list[Wrench]:
    found = []
    for part in press_parts():
        need = round(through_job(part, "straight", 4.0, 2 * part.thread.major).torque_curve.peak, 1)
        usual = hand.usual_wrench(part.thread.major)
        found += [Wrench(part, need, length) for length in (usual, round(0.8 * usual, -1))]
    return found


@exercise(
    "force-of-each-hand",
    lesson=6,
    topic="torque and strength",
    level=2,
    kind="number",
    title="What each hand must pull",
    cases=_wrenches,
    mistakes=(
        Mistake(
            "one-hand",
            lambda c: 2 * c.force,
            "You let one hand do it all. Two hands share: each has half the length as its lever.",
        ),
        Mistake(
            "half-of-half",
            lambda c: c.force / 2,
            "Each hand's lever is half the wrench, and there are two hands: the halves cancel.",
        ),
    ),
)
def force_of_each_hand(case: Wrench) -> Draft:
    """What each hand must pull."""
    newton = Number(case.force, "force", "force")
    return Draft(
        f"You tap the {case.part.name} by hand, {case.part.thread.designation}. It needs {g(case.torque, 3)} N·m. "
        f"The tap wrench is {mm(case.length)} long over both handles. How hard must each of two hands pull?",
        newton,
        (
            "Each hand has half the length as its lever, and there are two hands.",
            "So the force of each hand is the torque over the whole length.",
        ),
        (Step(f"Force of each hand: {g(case.torque, 3)} N·m × 1000 / {mm(case.length)} = {{}}", newton),),
    )


EXERCISES = (
    torque_of_a_tooth,
    handbook_torque,
    core_stress,
    margin,
    margin_of_a_worn_tap,
    force_of_each_hand,
)
