"""Lesson 3, the load on each tooth: chip thickness, the groove, who carries most, and the force."""

import math
from functools import lru_cache
from itertools import product
from typing import NamedTuple

import numpy as np

from tapkit.exercises.bank.rows import (
    bare_number,
    metric,
    real_flutes,
    sound_jobs,
    tip_sketch,
    usual_hole,
)
from tapkit.exercises.exercise import Draft, Sketch, Step, exercise, worked
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.options import ChoiceAsked, OrderAsked, WrongOrder, in_a_row, options
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import TAN30
from tapkit.mechanics.toothload import groove_area, steady_thickness
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Quantity, Sentence, _, angle, length
from tapkit.operation import Operation
from tapkit.planning.press import PressPart, press_parts


def _taps() -> list[Tap]:
    sizes = ((t, n, z) for t, n in product(metric(5, 20), (1.5, 2.5, 4, 7)) for z in real_flutes(t))
    return [Tap.make(t, "straight", n, flutes=z) for t, n, z in sizes]


@exercise(
    "chip-thickness",
    cases=_taps,
    mistakes={
        "forgot-flutes": lambda t: steady_thickness(t) * t.flutes,
        "forgot-chamfer-angle": lambda t: t.tooth_spacing,
        "cosine-for-sine": lambda t: t.tooth_spacing * math.cos(math.radians(t.chamfer_angle)),
    },
)
def chip_thickness(tap: Tap) -> Draft:
    asked = NumberAsked(steady_thickness(tap), "length", "thickness")
    spacing = NumberAsked(tap.tooth_spacing, "length", "thickness")
    return Draft(
        asked,
        (
            worked(_("Tooth spacing"), spacing, "{pitch} / {flutes}"),
            worked(_("Chip thickness"), asked, "{spacing} × sin {chamfer_angle}"),
        ),
        reveal=tip_sketch(tap),
        given={"chamfer_angle": angle(tap.chamfer_angle), "spacing": spacing},
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
    cases=lambda: [Bored(t, usual_hole(t, p)) for t, p in product(metric(3, 24, None), (60.0, 70.0, 80.0))],
    mistakes={
        "diameter-for-radius": lambda b: b.thread.pitch / 8 * 2 * b.height + (2 * b.height) ** 2 * TAN30,
        "forgot-the-flat": lambda b: b.height**2 * TAN30,
        "one-flank-only": lambda b: b.thread.pitch / 8 * b.height + b.height**2 * TAN30 / 2,
    },
)
def groove_area_above_hole(bored: Bored) -> Draft:
    thread = bored.thread
    area = NumberAsked(groove_area(thread, bored.hole), "area", "area")
    height = NumberAsked(bored.height, "length", "thickness")
    strip = NumberAsked(thread.pitch / 8 * bored.height, "area", "area")
    return Draft(
        area,
        (
            worked(_("Height on one side"), height, "({major} − {hole}) / 2"),
            worked(_("Middle strip"), strip, "{pitch} / 8 × {height}"),
            worked(_("Whole groove"), area, "{strip} + ({height})² × tan 30°"),
        ),
        reveal=Sketch("groove", _cut(bored), _("The groove of {thread} above a hole of {hole}.")),
        given={"hole": length(bored.hole), "height": height, "strip": strip},
    )


def _worst(job: Operation) -> int:
    return int(np.argmax(job.tooth_loads.area))


def _working(job: Operation) -> int:
    return int((job.tooth_loads.area > 0.02 * job.tooth_loads.area.max()).sum())


def _bars(job: Operation) -> Sketch:
    loads = job.tooth_loads
    teeth = in_a_row(
        _("tooth {number} {area}", number=int(n), area=area(a, 2)) for n, a in zip(loads.number, loads.area)
    )
    return Sketch("toothbars", job, _("Chip area of each tooth, counted from the point: {teeth}.", teeth=teeth))


@exercise(
    "most-loaded-tooth",
    cases=lambda: [(p, n) for p, n in product(press_parts(), (2.5, 4.0, 5.0, 7.0)) if p.thread.major >= 4.9],
)
def most_loaded_tooth(case) -> Draft:
    part, threads = case
    job = job_for(part, threads)
    full = np.flatnonzero(job.tooth_loads.thickness > 0.9 * steady_thickness(job.tap))
    places = {"point": 0, "first": full[0], "last": full[-1]}
    right = min(places, key=lambda k: abs(places[k] - _worst(job)))
    return Draft(
        ChoiceAsked(options(right, "most-loaded-tooth", "load"), options("", "most-loaded-tooth reasons")),
        (
            Step(_("The first teeth at the point are smaller than the hole, or just reach its wall.")),
            Step(_("Teeth that cut: {working}, the largest slice on tooth {worst} from the point.")),
            Step(_("Every full tooth cuts equally thick. The V is widest near the hole, where the first ones cut.")),
        ),
        reveal=_bars(job),
        given={"threads": bare_number(threads), "working": _working(job), "worst": _worst(job) + 1},
    )


@lru_cache(maxsize=512)
def job_for(part: PressPart, threads: float, flutes: int | None = None) -> Operation:
    """A straight-flute tap with a chamfer of so many threads through a thick part."""
    tap = Tap.make(part.thread, "straight", threads, metal=part.workpiece, flutes=flutes)
    hole = Hole(kind="through", diameter=part.bore, depth=2 * part.thread.major)
    return Operation(tap=tap, hole=hole, workpiece=part.workpiece)


@exercise(
    "load-first-tooth",
    cases=lambda: sound_jobs(),
    mistakes={
        "even-share": lambda j: 100 / _working(j),
        "against-the-others": lambda j: 100 * j.tooth_loads.area.max() / (j.groove_area - j.tooth_loads.area.max()),
        "upside-down": lambda j: 100 * j.groove_area / j.tooth_loads.area.max(),
    },
)
def load_first_tooth(job: Operation) -> Draft:
    worst, areas = _worst(job), job.tooth_loads.area
    share = NumberAsked(100 * float(areas[worst] / areas.sum()), "percent", "share")
    return Draft(
        share,
        (worked(_("Share"), share, "{own} / {groove} × 100"),),
        _bars(job),
        given=dict(worst=worst + 1, own=area(areas[worst]), groove=area(job.groove_area), working=_working(job)),
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
    cases=_lost_cases,
    mistakes={
        "unchanged": lambda c: c.before,
        "shared-by-all": lambda c: c.before + c.own / (_working(c.job) - 1),
        "half-of-it": lambda c: c.before + c.own / 2,
    },
)
def load_after_a_lost_tooth(case: Lost) -> Draft:
    faults = case.job.faults.__class__(missing_teeth=frozenset({case.tooth}))
    now = float(case.job.with_(faults=faults).tooth_loads.area[case.tooth])
    asked = NumberAsked(now, "area", "area")
    return Draft(
        asked,
        (Step(_("Own slice of tooth {next}: {before}.")), worked(_("Load now"), asked, "{before} + {own}")),
        _bars(case.job),
        given=dict(lost=case.tooth, next=case.tooth + 1, own=area(case.own), before=area(case.before)),
    )


@exercise("order-the-teeth", cases=lambda: sound_jobs() + sound_jobs("AlCuMg1"))
def order_the_teeth(job: Operation) -> Draft:
    areas, worst, count = job.tooth_loads.area, _worst(job), len(job.tooth_loads.area)
    thirds = {worst, (2 * worst + count - 1) // 3, (worst + 2 * (count - 1)) // 3, count - 1, max(worst - 2, 0)}
    chosen = [i for i in sorted(thirds) if areas[i] > 0]
    right = sorted(chosen, key=lambda i: -areas[i])

    def names(teeth: list[int]) -> tuple[Sentence, ...]:
        return tuple(_("tooth {number}", number=i + 1) for i in teeth)

    from_point = WrongOrder(
        "point-first", names(chosen), _("You went from the point up. The very first tooth barely touches the wall.")
    )
    order = OrderAsked(
        names(right),
        _("from the largest slice to the smallest"),
        () if chosen in (right, right[::-1]) else (from_point,),
        tuple(float(areas[i]) for i in right),
    )
    return Draft(
        order,
        tuple(Step(_("Tooth {number}: {area}", number=i + 1, area=area(float(areas[i]), 3))) for i in right),
        reveal=_bars(job),
    )


def area(value: float, digits: int = 4) -> Quantity:
    """A small area [mm2] to stand in a sentence."""
    return Quantity(value, "area", digits=digits)
