"""Lesson 4, the drill from the set, and what the hole does to the torque."""

from itertools import combinations, product

from tapkit import tables
from tapkit.exercises.bank.drilling import Wanted, neighbours
from tapkit.exercises.bank.rows import bare_number, metric, unified
from tapkit.exercises.blanks import Request, SettingAsked, Slider
from tapkit.exercises.exercise import Draft, Step, exercise, worked
from tapkit.exercises.naming import WordAsked, WrongWord
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.options import OrderAsked, WrongOrder
from tapkit.geometry.drillsize import DrillSize, drill_set
from tapkit.geometry.hole import Hole
from tapkit.geometry.thread import Thread
from tapkit.messages import Listed, Number, Sentence, _, length, listed
from tapkit.operation import Operation
from tapkit.planning.drill import DrillFit, drills, nearest_drills
from tapkit.planning.press import PressPart, press_parts, whole_of


def _metric_drill(wanted: Wanted, basis: str = "custom") -> DrillSize:
    return nearest_drills(wanted.thread, wanted.percent, drill_set("metric"), basis=basis, count=1)[0].drill


@exercise(
    "nearest-metric-drill",
    cases=lambda: [Wanted(t, p) for p, t in product((60.0, 65.0, 70.0, 75.0, 80.0), metric(4, 24))],
    mistakes={
        "not-a-drill": lambda w: w.hole,
        "wrong-neighbour": lambda w: (
            sorted(neighbours(drill_set("metric"), _metric_drill(w)), key=lambda d: abs(d.diameter - w.hole))[
                0
            ].diameter
        ),
        "other-custom": lambda w: _metric_drill(w, "iso").diameter,
    },
)
def nearest_metric_drill(wanted: Wanted) -> Draft:
    drill = _metric_drill(wanted)
    asked = NumberAsked(drill.diameter, "length", "drill")
    hole = NumberAsked(wanted.hole, "length", "diameter")
    smaller, larger = (d.name for d in neighbours(drill_set("metric"), drill))
    return Draft(
        asked,
        (
            worked(_("Hole"), hole, "{major} − {percent} / 100 × 1.299 × {pitch}"),
            worked(_("Nearest drill, between {smaller} and {larger}"), asked),
        ),
        given={"percent": bare_number(wanted.percent), "set": _set_in_words(), "smaller": smaller, "larger": larger},
    )


def _set_in_words() -> Listed:
    runs = [r for r in tables.rows("drills_metric") if r["set"] == "metric" and 3 < float(r["from_mm"]) < 30]
    return listed(
        _(
            "{low} to {high} by {step}",
            low=bare_number(float(r["from_mm"])),
            high=length(float(r["to_mm"])),
            step=length(float(r["step_mm"])),
        )
        for r in runs
    )


def _inch_cases() -> list[Wanted]:
    return [Wanted(t, p) for p, t in product((70.0, 75.0), unified(0.13, 0.75))]


@exercise("inch-drill-by-name", cases=_inch_cases)
def inch_drill_by_name(wanted: Wanted) -> Draft:
    shelf = drills("fraction", "number", "letter")
    drill = nearest_drills(wanted.thread, wanted.percent, count=1)[0].drill
    smaller, larger = neighbours(shelf, drill)
    asked = WordAsked(
        _spellings(drill),
        _("Type the drill as the set calls it, like #60, Z or 63/64."),
        (
            WrongWord("next-smaller", _spellings(smaller), _("That one is a size too small. Compare the diameters.")),
            WrongWord("next-larger", _spellings(larger), _("That one is a size too large. Compare the diameters.")),
        ),
        _("Work out the hole in inch, then look for the nearest drill."),
    )
    near = sorted({d.diameter: d for d in (smaller, drill, larger)}.values(), key=lambda d: d.diameter)
    hole = NumberAsked(wanted.hole, "length", "diameter")
    return Draft(
        asked,
        (
            worked(_("Hole"), hole, "{major} − {percent} / 100 × 1.299 / {tpi}"),
            *(
                Step(_("{drill} has {diameter}.", drill=d.name, diameter=length(d.diameter, inch_decimals=4)))
                for d in near
            ),
            Step(_("The nearest one is taken.")),
        ),
        given={
            "percent": bare_number(wanted.percent),
            "tpi": bare_number(wanted.thread.threads_per_inch),
            "whole": whole_of(_("The export press")),
        },
    )


def _spellings(drill: DrillSize) -> tuple[str, ...]:
    return (drill.name, f"{drill.diameter / 25.4:.4f}", f"{drill.diameter / 25.4:.3f}".lstrip("0"))


def _tight_and_loose() -> list[tuple[Thread, DrillFit, DrillFit]]:
    found = []
    for thread, (tight, loose) in product(metric(5, 20), ((82.0, 55.0), (82.0, 62.0), (75.0, 55.0))):
        fits = [nearest_drills(thread, p, count=1)[0] for p in (tight, loose)]
        found.append((thread, *fits))
    return found


def _torque_ratio(case: tuple[Thread, DrillFit, DrillFit]) -> float:
    return case[1].torque_ratio / case[2].torque_ratio


@exercise(
    "torque-of-a-tight-hole",
    cases=_tight_and_loose,
    mistakes={
        "percent-for-torque": lambda c: c[1].percent / c[2].percent,
        "upside-down": lambda c: 1 / _torque_ratio(c),
        "no-difference": lambda c: 1.0,
    },
)
def torque_of_a_tight_hole(case: tuple[Thread, DrillFit, DrillFit]) -> Draft:
    _thread, tight, loose = case
    ratio = NumberAsked(_torque_ratio(case), "times", "ratio")
    return Draft(
        ratio,
        (
            worked(_("Ratio"), ratio, "{tight_torque} / {loose_torque}"),
            Step(_("That is the metal to cut alone. Chips that crowd in a tight hole may add to it.")),
        ),
        given=dict(
            tight=tight.drill.name,
            loose=loose.drill.name,
            tight_torque=bare_number(tight.torque_ratio),
            loose_torque=bare_number(loose.torque_ratio),
            tight_percent=Number(tight.percent, decimals=0),
            loose_percent=Number(loose.percent, decimals=0),
        ),
    )


def _order_cases() -> list[tuple[DrillFit, ...]]:
    found = []
    for thread in metric(5, 16):
        fits = [nearest_drills(thread, p, count=1)[0] for p in (55.0, 62.0, 69.0, 76.0, 83.0)]
        fits = list({f.drill: f for f in fits}.values())
        found += list(combinations(fits, 4))
    return found


@exercise("order-holes-by-torque", cases=_order_cases)
def order_holes_by_torque(fits: tuple[DrillFit, ...]) -> Draft:
    def text(fit: DrillFit) -> Sentence:
        return _("hole {drill}", drill=fit.drill.name)

    right = sorted(fits, key=lambda f: -f.torque_ratio)
    swapped = (right[0], right[2], right[1], right[3])
    order = OrderAsked(
        tuple(map(text, right)),
        _("from the most torque to the least"),
        (WrongOrder("middle-swapped", tuple(map(text, swapped)), _("The two in the middle are swapped.")),),
        tuple(f.torque_ratio for f in right),
    )
    return Draft(
        order,
        tuple(
            Step(
                _(
                    "Hole {drill}: {percent} % of thread, tooth forces {torque} times",
                    drill=f.drill.name,
                    percent=Number(f.percent, decimals=0),
                    torque=bare_number(f.torque_ratio, 3),
                )
            )
            for f in right
        ),
    )


def _setting_cases() -> list[tuple[PressPart, float, float]]:
    """Ranges of percent that the limit of the class cuts in two."""
    found = []
    for part, low in product(press_parts(system="metric"), (56.0, 58.0, 60.0, 62.0, 64.0, 66.0, 68.0)):
        at_limit = part.thread.percent(part.thread.limits.minor_max)
        if part.thread.major >= 3.9 and low + 4 < at_limit < low + 10:
            found.append((part, low, low + 14))
    return found


def _job(part: PressPart, hole: float) -> Operation:
    tap = part.tap("straight", "plug")
    bored = Hole(kind="through", diameter=hole, depth=part.thread.major)
    return Operation(tap=tap, hole=bored, workpiece=part.workpiece)


@exercise("set-the-hole", cases=_setting_cases)
def set_the_hole(case: tuple[PressPart, float, float]) -> Draft:
    part, low, high = case
    thread, limits = part.thread, part.thread.limits
    step = 0.05 if thread.major < 12 else 0.1
    first = round((thread.major - 1.25 * thread.pitch) / step) * step
    tries = [round(first + i * step, 3) for i in range(round(1.1 * thread.pitch / step) + 1)]
    good = [d for d in tries if low <= thread.percent(d) <= high and d <= limits.minor_max]
    setting = SettingAsked(
        (Slider("hole", _("Hole (mm)"), tries[0], tries[-1], step, tries[0]),),
        (
            Request(
                _(
                    "Percent of thread by handbook custom between {low} % and {high} %.",
                    low=bare_number(low),
                    high=bare_number(high),
                ),
                lambda job: low <= thread.percent(job.hole.diameter) <= high,
                "percent-missed",
                _("The percent of thread lies outside."),
            ),
            Request(
                _(
                    "The hole is not over the largest minor diameter of class {tolerance}, {most}.",
                    tolerance=thread.tolerance,
                    most=length(limits.minor_max),
                ),
                lambda job: job.hole.diameter <= limits.minor_max + 1e-9,
                "over-the-limit",
                _("The hole is over the limit of the class."),
            ),
        ),
        lambda values: _job(part, values["hole"]),
        {"hole": good[len(good) // 2] if good else tries[0]},
        "groove",
        {"thread": thread.designation, "work": part.workpiece.name},
    )
    return Draft(
        setting,
        (
            Step(_("Work out the holes for the two percents and stay between them.")),
            Step(_("Then check the limit of the class.")),
        ),
    )
