"""Lesson 3, the load on each tooth: chip thickness, the groove, who carries most, and the force."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import product
from typing import NamedTuple

import numpy as np

from tapkit.exercises.bank.rows import an, cap, deg, g, metric, mm, sound_jobs, tip, usual_hole
from tapkit.exercises.choice import Choice, Option, Order, WrongOrder
from tapkit.exercises.exercise import Draft, Mistake, Sketch, Step, exercise
from tapkit.exercises.number import Number
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import TAN30
from tapkit.mechanics.toothload import groove_area, steady_thickness
from tapkit.mechanics.workpiece import Workpiece
from tapkit.operation import Operation
from tapkit.planning.press import PressPart, press_parts


def _taps() -> list[Tap]:
    return [Tap.make(t, "straight", n, flutes=z) for t, n, z in product(metric(5, 20), (1.5, 2.5, 4, 7), (2, 3, 4))]


@exercise(
    "chip-thickness",
    lesson=3,
    topic="tooth load",
    level=2,
    kind="number",
    title="How thick is the chip",
    cases=_taps,
    mistakes=(
        Mistake(
            "forgot-flutes",
            lambda t: steady_thickness(t) * t.flutes,
            "You took the whole pitch. The flutes share it, so each tooth moves on by a part of it only.",
        ),
        Mistake(
            "forgot-chamfer-angle",
            lambda t: t.tooth_spacing,
            "That is the way along the axis. The chip is measured at right angles to the sloping edge.",
        ),
        Mistake(
            "cosine-for-sine",
            lambda t: t.tooth_spacing * math.cos(math.radians(t.chamfer_angle)),
            "Cosine and sine are swapped. On a long, flat chamfer the chip must be thin.",
        ),
    ),
)
def chip_thickness(tap: Tap) -> Draft:
    """How thick is the chip."""
    thickness = Number(steady_thickness(tap), "length", "thickness")
    angle = deg(round(tap.chamfer_angle, 1))
    return Draft(
        f"{cap(an(tap.thread.designation))} tap has {tap.flutes} flutes and a chamfer angle of {angle}. How thick is "
        "the chip of a full tooth on the chamfer, at right angles to its edge?",
        thickness,
        (
            "From one tooth to the next the tap moves on by pitch divided by flutes.",
            "On the sloping edge only the sine of the chamfer angle of that counts.",
        ),
        (
            Step(
                f"Tooth spacing: {mm(tap.thread.pitch)} / {tap.flutes} = {{}}",
                Number(tap.tooth_spacing, "length", "thickness"),
            ),
            Step(f"Chip thickness: {mm(tap.tooth_spacing)} × sin {angle} = {{}}", thickness),
        ),
        reveal=tip(tap),
    )


class Bored(NamedTuple):
    """A thread and the hole drilled for it [mm]."""

    thread: object
    hole: float

    @property
    def height(self) -> float:
        """Height above the hole on one side."""
        return (self.thread.major - self.hole) / 2


def _cut(bored: Bored) -> Operation:
    tap = Tap.make(bored.thread, "straight", "plug")
    hole = Hole(kind="through", diameter=bored.hole, depth=bored.thread.major)
    return Operation(tap=tap, hole=hole, workpiece=Workpiece.parse("C45"))


@exercise(
    "groove-area",
    lesson=3,
    topic="tooth load",
    level=3,
    kind="number",
    title="The groove all teeth share",
    cases=lambda: [Bored(t, usual_hole(t, p)) for t, p in product(metric(3, 24, None), (60.0, 70.0, 80.0))],
    mistakes=(
        Mistake(
            "diameter-for-radius",
            lambda b: b.thread.pitch / 8 * 2 * b.height + (2 * b.height) ** 2 * TAN30,
            "You took the whole difference of the diameters. The height on one side is half of it.",
        ),
        Mistake(
            "forgot-the-flat",
            lambda b: b.height**2 * TAN30,
            "You left out the flat at the bottom of the groove, an eighth of the pitch wide.",
        ),
        Mistake(
            "one-flank-only",
            lambda b: b.thread.pitch / 8 * b.height + b.height**2 * TAN30 / 2,
            "You counted one sloping flank. There are two.",
        ),
    ),
)
def groove_area_above_hole(bored: Bored) -> Draft:
    """The groove all teeth share."""
    thread, height = bored.thread, bored.height
    area = Number(groove_area(thread, bored.hole), "area", "area")
    return Draft(
        f"{thread.designation} is cut in a hole of {mm(bored.hole)}. All teeth together cut one groove out of the "
        "wall. How large is its cross-section?",
        area,
        (
            "The groove is a flat, P/8 wide, with a triangle on either side. H is its height on one side.",
            "Area = P/8 · H + H² · tan 30°.",
        ),
        (
            Step(
                f"Height on one side: ({mm(thread.major)} − {mm(bored.hole)}) / 2 = {{}}",
                Number(height, "length", "thickness"),
            ),
            Step(
                f"Middle strip: {mm(thread.pitch)} / 8 × {mm(height)} = {{}}",
                Number(thread.pitch / 8 * height, "area", "area"),
            ),
            Step(f"Whole groove: middle strip + {mm(height)}² × tan 30° = {{}}", area),
        ),
        reveal=Sketch("groove", _cut(bored), f"The groove of {thread.designation} above a hole of {mm(bored.hole)}."),
    )


def _worst(job: Operation) -> int:
    return int(np.argmax(job.tooth_loads.area))


def _working(job: Operation) -> int:
    return int((job.tooth_loads.area > 0.02 * job.tooth_loads.area.max()).sum())


def _bars(job: Operation) -> Sketch:
    said = "; ".join(f"tooth {n} {g(a, 2)}" for n, a in zip(job.tooth_loads.number, job.tooth_loads.area))
    return Sketch("toothbars", job, f"Chip area of each tooth in mm², counted from the point: {said}.")


@exercise(
    "most-loaded-tooth",
    lesson=3,
    topic="tooth load",
    level=1,
    kind="choice with a reason",
    title="Which tooth does the most",
    cases=lambda: [(p, n) for p, n in product(press_parts(), (2.5, 4.0, 5.0, 7.0)) if p.thread.major >= 4.9],
)
def most_loaded_tooth(case) -> Draft:
    """Which tooth does the most."""
    part, threads = case
    job = job_for(part, threads)
    full = np.flatnonzero(job.tooth_loads.thickness > 0.9 * steady_thickness(job.tap))
    places = {"first": full[0], "middle": full.mean(), "last": full[-1]}
    right = min(places, key=lambda k: abs(places[k] - _worst(job)))
    said = {
        "first": ("the first full tooth on the chamfer", "Its slice is wide, not narrow. Look at the groove."),
        "middle": ("a tooth in the middle of the chamfer", "The width falls from tooth to tooth. Where is it widest?"),
        "last": ("the last tooth of the chamfer", "It only widens the bottom of the groove: a narrow slice."),
        "same": ("all teeth of the chamfer the same", "The thickness is the same. The width is not."),
    }
    options = tuple(Option(t) if k == right else Option(t, f"load-{k}", m) for k, (t, m) in said.items())
    reasons = (
        Option("all full teeth cut equally thick, and it cuts the widest slice"),
        Option("it reaches deepest into the wall", "deepest-is-heaviest", "The deepest slice is also the narrowest."),
        Option("it meets the metal first, so its chip is thicker", "thicker-first", "The chips are equally thick."),
        Option("the tap turns fastest there", "faster", "All teeth turn together."),
    )
    return Draft(
        f"You tap the {part.name}, {part.thread.designation}, with a chamfer of {g(threads)} threads. "
        "Which tooth has to cut the most metal?",
        Choice(options, reasons),
        (
            "Every tooth moves on by the same step, so the chips are equally thick.",
            "The groove is a V. Where is it wide?",
        ),
        (
            Step(f"Teeth that cut: {_working(job)}, the largest slice on tooth {_worst(job) + 1} from the point."),
            Step("Every full tooth cuts equally thick. The V is widest near the hole, where the first ones cut."),
        ),
        reveal=_bars(job),
    )


@lru_cache(maxsize=512)
def job_for(part: PressPart, threads: float, flutes: int | None = None) -> Operation:
    """A straight-flute tap with a chamfer of so many threads through a thick part."""
    tap = Tap.make(part.thread, "straight", threads, flutes=flutes)
    hole = Hole(kind="through", diameter=part.bore, depth=2 * part.thread.major)
    return Operation(tap=tap, hole=hole, workpiece=part.workpiece)


@exercise(
    "load-first-tooth",
    lesson=3,
    topic="tooth load",
    level=2,
    kind="number",
    title="Share of the first full tooth",
    cases=lambda: sound_jobs(),
    mistakes=(
        Mistake(
            "even-share",
            lambda j: 100 / _working(j),
            "That would be an even share. The first full tooth takes a wider slice than the others.",
        ),
        Mistake(
            "against-the-others",
            lambda j: 100 * j.tooth_loads.area.max() / (j.groove_area - j.tooth_loads.area.max()),
            "You divided by what the other teeth take. Take the whole groove.",
        ),
        Mistake(
            "upside-down",
            lambda j: 100 * j.groove_area / j.tooth_loads.area.max(),
            "The division stands on its head: a tooth cannot take more than the whole groove.",
        ),
    ),
)
def load_first_tooth(job: Operation) -> Draft:
    """Share of the first full tooth."""
    worst, areas = _worst(job), job.tooth_loads.area
    share = Number(100 * float(areas[worst] / areas.sum()), "percent", "share")
    return Draft(
        f"An apprentice measures the chips of {an(job.tap.thread.designation)} tap with {job.tap.flutes} flutes and "
        f"{g(job.tap.chamfer_threads)} threads of chamfer. Tooth {worst + 1} takes {g(areas[worst], 4)} mm² of the "
        f"groove's {g(job.groove_area, 4)} mm². {_working(job)} teeth cut. What share of the groove is that?",
        share,
        ("A share is the part divided by the whole.", "Then times 100 for percent."),
        (Step(f"Share: {g(areas[worst], 4)} / {g(job.groove_area, 4)} × 100 = {{}}", share),),
        _bars(job),
    )


class Lost(NamedTuple):
    """A job and the number of a tooth that breaks off."""

    job: Operation
    tooth: int

    @property
    def before(self) -> float:
        """What the next tooth takes while the tap is sound [mm2]."""
        return float(self.job.tooth_loads.area[self.tooth])

    @property
    def own(self) -> float:
        """What the tooth itself takes while it is there [mm2]."""
        return float(self.job.tooth_loads.area[self.tooth - 1])


def _lost_cases() -> list[Lost]:
    found = []
    for job in sound_jobs():
        worst = _worst(job)
        found += [Lost(job, n) for n in range(worst + 1, min(worst + 4, _working(job) - 1))]
    return found


@exercise(
    "load-after-a-lost-tooth",
    lesson=3,
    topic="faults",
    level=2,
    kind="number",
    title="When a tooth chips off",
    cases=_lost_cases,
    mistakes=(
        Mistake(
            "unchanged",
            lambda c: c.before,
            "That is what it took before. The metal the lost tooth left is still in its way.",
        ),
        Mistake(
            "shared-by-all",
            lambda c: c.before + c.own / (_working(c.job) - 1),
            "You shared the lost tooth's work among all. The next tooth meets all of it.",
        ),
        Mistake(
            "half-of-it",
            lambda c: c.before + c.own / 2,
            "You gave it half. Nobody else passes there before it: it takes all of it.",
        ),
    ),
)
def load_after_a_lost_tooth(case: Lost) -> Draft:
    """When a tooth chips off."""
    faults = case.job.faults.__class__(missing_teeth=frozenset({case.tooth}))
    now = float(case.job.with_(faults=faults).tooth_loads.area[case.tooth])
    area = Number(now, "area", "area")
    return Draft(
        f"On {an(case.job.tap.thread.designation)} tap tooth {case.tooth} takes {g(case.own)} mm² and tooth "
        f"{case.tooth + 1} takes {g(case.before)} mm². Tooth {case.tooth} chips off. How much does tooth "
        f"{case.tooth + 1} take now?",
        area,
        (
            "The lost tooth leaves its slice standing.",
            "The next tooth comes by with the next flute and finds it there.",
        ),
        (
            Step(f"Own slice of tooth {case.tooth + 1}: {g(case.before)} mm²."),
            Step(f"Load now: {g(case.before)} mm² + {g(case.own)} mm² = {{}}", area),
        ),
        _bars(case.job),
    )


@exercise(
    "order-the-teeth",
    lesson=3,
    topic="tooth load",
    level=2,
    kind="put in order",
    title="From the busiest tooth to the idlest",
    cases=lambda: sound_jobs() + sound_jobs("AlCuMg1"),
)
def order_the_teeth(job: Operation) -> Draft:
    """From the busiest tooth to the idlest."""
    areas, worst, count = job.tooth_loads.area, _worst(job), len(job.tooth_loads.area)
    chosen = sorted(
        {worst, (2 * worst + count - 1) // 3, (worst + 2 * (count - 1)) // 3, count - 1} | {max(worst - 2, 0)}
    )
    chosen = [i for i in chosen if areas[i] > 0]
    right = sorted(chosen, key=lambda i: -areas[i])
    names = [f"tooth {job.tooth_loads.number[i]}" for i in right]
    order = Order(
        tuple(names),
        "from the largest slice to the smallest",
        (
            WrongOrder(
                "point-first",
                tuple(f"tooth {i + 1}" for i in chosen),
                "You went from the point up. The very first tooth barely touches the wall.",
            ),
        )
        if chosen not in (right, right[::-1])
        else (),
        tuple(float(areas[i]) for i in right),
    )
    return Draft(
        f"{cap(an(job.tap.thread.designation))} tap with {job.tap.flutes} flutes and {g(job.tap.chamfer_threads)} "
        f"threads of chamfer cuts {job.workpiece.printed}, hole {mm(job.hole.diameter)}. Put these teeth, counted from "
        "the point, in order: the one with the largest slice first.",
        order,
        (
            "The cone has to reach the wall before a tooth cuts fully.",
            "From the first full tooth on, the slice gets narrower.",
        ),
        tuple(Step(f"{cap(n)}: {g(float(areas[i]), 3)} mm²") for n, i in zip(names, right)),
        reveal=_bars(job),
    )


EXERCISES = (
    chip_thickness,
    groove_area_above_hole,
    most_loaded_tooth,
    load_first_tooth,
    load_after_a_lost_tooth,
    order_the_teeth,
)
