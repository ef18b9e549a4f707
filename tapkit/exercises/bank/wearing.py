"""Lesson 7, what a choice costs: work of the hardest tooth, order of wear, plug against bottoming."""

from __future__ import annotations

from functools import lru_cache
from itertools import combinations, product
from typing import NamedTuple

import numpy as np

from tapkit.exercises.bank.rows import an, cap, g, mm
from tapkit.exercises.bank.strength import through_job
from tapkit.exercises.choice import Choice, Option, Order, WrongOrder
from tapkit.exercises.exercise import Draft, Mistake, Step, exercise
from tapkit.exercises.number import Number
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.operation import Operation
from tapkit.planning.press import PressPart, press_parts


class Pair(NamedTuple):
    """A part and two chamfers [threads], the short one first."""

    part: PressPart
    short: float
    long: float

    def job(self, threads: float) -> Operation:
        """The part tapped with a chamfer of so many threads."""
        return through_job(self.part, "straight", threads, 1.5 * self.part.thread.major)

    def hardest(self, threads: float) -> tuple[float, float]:
        """Force [N] and path in the metal [m] of the tooth that works hardest."""
        job = self.job(threads)
        k = int(np.argmax(job.tooth_duty.work))
        return float(job.tooth_loads.force[k]), float(job.tooth_duty.path[k]) / 1000

    def work(self, threads: float) -> float:
        """Work of the tooth that works hardest [N·m]."""
        force, path = self.hardest(threads)
        return force * path

    @property
    def ratio(self) -> float:
        """Work with the short chamfer over work with the long one."""
        return self.work(self.short) / self.work(self.long)


@exercise(
    "duty-of-the-hardest-tooth",
    lesson=7,
    topic="choice",
    level=3,
    kind="number",
    title="Which tap wears faster, and by how much",
    cases=lambda: [
        Pair(p, s, n) for p, s, n in product(press_parts(), (1.5, 2.5), (4.0, 5.0)) if p.thread.major >= 4.9
    ],
    mistakes=(
        Mistake(
            "upside-down",
            lambda c: 1 / c.ratio,
            "The other way round: the short chamfer works its teeth harder.",
        ),
        Mistake(
            "chamfer-ratio",
            lambda c: c.long / c.short,
            "You divided the chamfer lengths. Force does not grow as fast as the chips get thicker.",
        ),
    ),
)
def duty_of_the_hardest_tooth(case: Pair) -> Draft:
    """Which tap wears faster, and by how much."""
    asked = Number(case.ratio, "times", "ratio")
    (f1, s1), (f2, s2) = case.hardest(case.short), case.hardest(case.long)
    return Draft(
        f"{cap(an(case.part.thread.designation))} tap goes through {mm(1.5 * case.part.thread.major)} of "
        f"{case.part.metal}. With a chamfer of {g(case.short)} threads its hardest tooth bears {g(f1, 4)} N over "
        f"{g(s1, 4)} m; with {g(case.long)} threads, {g(f2, 4)} N over {g(s2, 4)} m. How many times the work has the "
        "hardest tooth of the short chamfer?",
        asked,
        ("Work is force times path.", "Divide the work with the short chamfer by the work with the long one."),
        (
            Step(f"Work, short chamfer: {g(f1, 4)} × {g(s1, 4)} = {{}}", Number(f1 * s1, "torque", "torque")),
            Step(f"Work, long chamfer: {g(f2, 4)} × {g(s2, 4)} = {{}}", Number(f2 * s2, "torque", "torque")),
            Step(f"Ratio: {g(f1 * s1, 4)} / {g(f2 * s2, 4)} = {{}}", asked),
            Step("It ranks the two taps. It says nothing about how many holes they last."),
        ),
    )


class Crib(NamedTuple):
    """A part and a tap by chamfer and flutes."""

    part: PressPart
    threads: float
    flutes: int

    @property
    def text(self) -> str:
        """The tap in words."""
        return f"chamfer {g(self.threads)} threads, {self.flutes} flutes"

    @property
    def work(self) -> float:
        """Work of its hardest tooth in one hole [N·m]."""
        return _hardest(self.part, self.threads, self.flutes)


@lru_cache(maxsize=1024)
def _hardest(part: PressPart, threads: float, flutes: int) -> float:
    tap = Tap.make(part.thread, "straight", threads, flutes=flutes)
    hole = Hole(kind="through", diameter=part.bore, depth=1.5 * part.thread.major)
    return float(Operation(tap=tap, hole=hole, workpiece=part.workpiece).tooth_duty.work.max())


def _cribs() -> list[tuple[Crib, ...]]:
    shapes = ((1.5, 3), (2.5, 2), (2.5, 4), (4.0, 2), (4.0, 4), (7.0, 3))
    fours = list(combinations(shapes, 4))
    chosen = [p for p in press_parts() if p.thread.major >= 5.9]
    return [tuple(Crib(p, n, z) for n, z in four) for k, p in enumerate(chosen) for four in fours[k % 3 :: 3]]


@exercise(
    "order-by-wear",
    lesson=7,
    topic="choice",
    level=2,
    kind="put in order",
    title="Which tap wears first",
    cases=_cribs,
)
def order_by_wear(cribs: tuple[Crib, ...]) -> Draft:
    """Which tap wears first."""
    right = sorted(cribs, key=lambda c: -c.work)
    by_flutes = sorted(cribs, key=lambda c: (c.flutes, c.threads))
    order = Order(
        tuple(c.text for c in right),
        "from the one that wears first to the one that lasts longest",
        (
            WrongOrder(
                "flutes-alone",
                tuple(c.text for c in by_flutes),
                "You went by the flutes alone. Teeth come from flutes and threads of chamfer together.",
            ),
        ),
        tuple(c.work for c in right),
    )
    part = cribs[0].part
    return Draft(
        f"Four straight-flute taps {part.thread.designation} for {part.metal}. Wear goes with the work of the hardest "
        "tooth. Put them in order: the one that wears first comes first.",
        order,
        ("Count the teeth on the chamfer: threads times flutes.", "Fewer teeth, thicker chips, more force on each."),
        tuple(
            Step(f"{cap(c.text)}: {g(c.threads * c.flutes)} teeth, hardest tooth {g(c.work, 3)} N·m a hole")
            for c in right
        ),
    )


class Change(NamedTuple):
    """What happens to tooth load and peak torque when a short chamfer replaces a long one."""

    pair: Pair
    thick: float

    def job(self, threads: float) -> Operation:
        """The job in a part of this thickness."""
        return through_job(self.pair.part, "straight", threads, self.thick)

    @property
    def torque(self) -> float:
        """Peak torque, short over long."""
        return self.job(self.pair.short).torque_curve.peak / self.job(self.pair.long).torque_curve.peak

    @property
    def load(self) -> float:
        """Force on the hardest tooth, short over long."""
        return float(
            self.job(self.pair.short).tooth_loads.force.max() / self.job(self.pair.long).tooth_loads.force.max()
        )


def _changes() -> list[Change]:
    found = []
    for part, share in product(press_parts(), (0.25, 1.5)):
        case = Change(Pair(part, 1.5, 7.0), round(share * part.thread.major, 1))
        if part.thread.major >= 4.9 and part.workpiece.mc > 0.12 and abs(case.torque - 1) > 0.1:
            found.append(case)
    return found


@exercise(
    "what-it-costs",
    lesson=7,
    topic="choice",
    level=3,
    kind="choice with a reason",
    title="What a shorter chamfer costs",
    cases=_changes,
)
def what_it_costs(case: Change) -> Draft:
    """What a shorter chamfer costs."""
    part, more = case.pair.part, case.torque > 1
    texts = {
        (True, True): "the hardest tooth bears more, and the tap needs more torque",
        (True, False): "the hardest tooth bears more, and the tap needs less torque",
        (False, True): "the hardest tooth bears less, and the tap needs more torque",
        (False, False): "the hardest tooth bears less, and the tap needs less torque",
    }
    options = tuple(
        Option(text)
        if key == (True, more)
        else Option(
            text,
            "tooth-load" if not key[0] else "peak-torque",
            "Fewer teeth share the same groove: what does each bear?"
            if not key[0]
            else "Look at how many teeth are in the metal at once, and how thin their chips are.",
        )
        for key, text in texts.items()
    )
    thin = "in so thin a part most of the long chamfer never cuts at once, and the short one does"
    thick = "with all teeth in, few thick chips cost less force than many thin ones"
    reasons = (
        Option(thin if more else thick),
        Option(thick if more else thin, "wrong-thickness", "Compare the part's thickness with the long chamfer."),
        Option("the groove gets smaller", "smaller-groove", "The groove is the same, whoever cuts it."),
    )
    pitch = part.thread.pitch
    return Draft(
        f"A test plate of {part.metal} is {mm(case.thick)} thick and drilled for {part.thread.designation}. "
        "A taper tap with 7 threads of chamfer is replaced by a bottoming tap with 1.5. What changes?",
        Choice(options, reasons),
        (
            f"The long chamfer measures {mm(7 * pitch)}. Is all of it ever in the plate?",
            "Load of a tooth and torque of the tap are two questions.",
        ),
        (
            Step(f"Hardest tooth: {g(case.load, 3)} times the force."),
            Step(f"Peak torque: {g(case.torque, 3)} times."),
            Step(f"Why: {thin if more else thick}."),
        ),
    )


EXERCISES = (duty_of_the_hardest_tooth, order_by_wear, what_it_costs)
