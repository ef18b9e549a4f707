"""Lesson 4, the drill from the set, and what the hole does to the torque."""

from __future__ import annotations

from itertools import combinations, product

from tapkit import tables
from tapkit.exercises.bank.drilling import Wanted, neighbours
from tapkit.exercises.bank.rows import g, inch, metric, mm, unified
from tapkit.exercises.blanks import Request, Setting, Slider
from tapkit.exercises.choice import Order, WrongOrder
from tapkit.exercises.exercise import Draft, Mistake, Step, exercise
from tapkit.exercises.naming import Word, WrongWord
from tapkit.exercises.number import Number
from tapkit.geometry.drillsize import DrillSize, drill_set
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.operation import Operation
from tapkit.planning.drill import DrillFit, drills, nearest_drills
from tapkit.planning.press import PressPart, press_parts


def _metric_drill(wanted: Wanted, basis: str = "custom") -> DrillSize:
    return nearest_drills(wanted.thread, wanted.percent, drill_set("metric"), basis=basis, count=1)[0].drill


@exercise(
    "nearest-metric-drill",
    lesson=4,
    topic="drills and percent",
    level=2,
    kind="number",
    title="The nearest drill of the set",
    cases=lambda: [Wanted(t, p) for p, t in product((65.0, 70.0, 75.0), (*metric(4, 20), *unified(0.25, 0.5)))],
    mistakes=(
        Mistake(
            "not-a-drill",
            lambda w: w.hole,
            "That is the hole you worked out. Take the drill of the set that comes nearest to it.",
        ),
        Mistake(
            "wrong-neighbour",
            lambda w: (
                sorted(neighbours(drill_set("metric"), _metric_drill(w)), key=lambda d: abs(d.diameter - w.hole))[
                    0
                ].diameter
            ),
            "That drill is in the set, but another one comes nearer.",
        ),
        Mistake(
            "other-custom",
            lambda w: _metric_drill(w, "iso").diameter,
            "You worked with the basic height of ISO 68-1. The percent asked is by handbook custom.",
        ),
    ),
)
def nearest_metric_drill(wanted: Wanted) -> Draft:
    """The nearest drill of the set."""
    drill = _metric_drill(wanted)
    asked = Number(drill.diameter, "length", "drill")
    around = [d.name for d in neighbours(drill_set("metric"), drill)]
    return Draft(
        f"{wanted.thread.designation} shall get {g(wanted.percent)} % of thread by handbook custom. "
        f"The drill box holds the metric set: {_set_in_words()}. Which drill comes nearest?",
        asked,
        ("First work out the hole: major diameter less percent × 1.299 × pitch.", "Then take the nearest drill."),
        (
            Step("Hole by the formula: {}", Number(wanted.hole, "length", "diameter")),
            Step(f"Nearest drill, between {around[0]} and {around[1]} = {{}}", asked),
        ),
    )


def _set_in_words() -> str:
    runs = [r for r in tables.rows("drills_metric") if r["set"] == "metric" and 3 < float(r["from_mm"]) < 30]
    return ", ".join(f"{r['from_mm']} to {float(r['to_mm']):g} mm by {r['step_mm']} mm" for r in runs)


def _inch_cases() -> list[Wanted]:
    return [Wanted(t, p) for p, t in product((70.0, 75.0), unified(0.13, 0.75))]


@exercise(
    "inch-drill-by-name",
    lesson=4,
    topic="drills and percent",
    level=2,
    kind="number",
    title="Name the inch drill",
    cases=_inch_cases,
)
def inch_drill_by_name(wanted: Wanted) -> Draft:
    """Name the inch drill."""
    shelf = drills("fraction", "number", "letter")
    drill = nearest_drills(wanted.thread, wanted.percent, count=1)[0].drill
    smaller, larger = neighbours(shelf, drill)
    asked = Word(
        _spellings(drill),
        "Type the drill as the set calls it, like #60, Z or 63/64.",
        (
            WrongWord("next-smaller", _spellings(smaller), "That one is a size too small. Compare the diameters."),
            WrongWord("next-larger", _spellings(larger), "That one is a size too large. Compare the diameters."),
        ),
        "Work out the hole in inch, then look for the nearest drill.",
    )
    near = sorted({d.diameter: d for d in (smaller, drill, larger)}.values(), key=lambda d: d.diameter)
    return Draft(
        f"The export press needs {wanted.thread.designation} with {g(wanted.percent)} % of thread by handbook custom. "
        "From the inch sets (fractions, numbers, letters), which drill comes nearest?",
        asked,
        ("Hole in inch = diameter − percent × 1.299 / threads per inch.", "Then look it up in the table of drills."),
        (
            Step("Hole by the formula: {}", Number(wanted.hole, "length", "diameter", "inch")),
            *(Step(f"{d.name} has {d.diameter / 25.4:.4f} in.") for d in near),
            Step("The nearest one is taken."),
        ),
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
    lesson=4,
    topic="torque and strength",
    level=2,
    kind="number",
    title="What a tight hole costs",
    cases=_tight_and_loose,
    mistakes=(
        Mistake(
            "percent-for-torque",
            lambda c: c[1].percent / c[2].percent,
            "You compared the percents. A V gets wider as it gets higher, so the metal to cut grows faster.",
        ),
        Mistake(
            "upside-down",
            lambda c: 1 / _torque_ratio(c),
            "The other way round: the tight hole asks for more torque.",
        ),
        Mistake("no-difference", lambda c: 1.0, "The tap is the same, but it has more metal to cut."),
    ),
)
def torque_of_a_tight_hole(case: tuple[Thread, DrillFit, DrillFit]) -> Draft:
    """What a tight hole costs."""
    thread, tight, loose = case
    ratio = Number(_torque_ratio(case), "times", "ratio")
    return Draft(
        f"{thread.designation} in C45. Against a hole for 75 %, the cutting torque in a hole of {tight.drill.name} is "
        f"{g(tight.torque_ratio, 3)} times, in one of {loose.drill.name} {g(loose.torque_ratio, 3)} times as large. "
        f"The holes give {tight.percent:.0f} % and {loose.percent:.0f} % of thread. How many times the torque of the "
        "loose hole does the tight one ask?",
        ratio,
        ("Both torques are compared with the same third one.", "Divide one by the other."),
        (Step(f"Ratio: {g(tight.torque_ratio, 3)} / {g(loose.torque_ratio, 3)} = {{}}", ratio),),
    )


def _order_cases() -> list[tuple[DrillFit, ...]]:
    found = []
    for thread in metric(5, 16):
        fits = [nearest_drills(thread, p, count=1)[0] for p in (55.0, 62.0, 69.0, 76.0, 83.0)]
        fits = list({f.drill: f for f in fits}.values())
        found += list(combinations(fits, 4))
    return found


@exercise(
    "order-holes-by-torque",
    lesson=4,
    topic="torque and strength",
    level=1,
    kind="put in order",
    title="Which hole is hardest to tap",
    cases=_order_cases,
)
def order_holes_by_torque(fits: tuple[DrillFit, ...]) -> Draft:
    """Which hole is hardest to tap."""

    def text(fit: DrillFit) -> str:
        return f"hole {fit.drill.name}"

    right = sorted(fits, key=lambda f: -f.torque_ratio)
    swapped = (right[0], right[2], right[1], right[3])
    order = Order(
        tuple(map(text, right)),
        "from the most torque to the least",
        (WrongOrder("middle-swapped", tuple(map(text, swapped)), "The two in the middle are swapped."),),
        tuple(f.torque_ratio for f in right),
    )
    return Draft(
        f"One tap, {fits[0].thread.designation}, in C45, and four holes. Put the holes in order by the torque the tap "
        "needs: the most first.",
        order,
        ("A smaller hole leaves more metal to cut.",),
        tuple(
            Step(f"Hole {f.drill.name}: {f.percent:.0f} % of thread, torque {g(f.torque_ratio, 3)} times")
            for f in right
        ),
    )


def _setting_cases() -> list[tuple[PressPart, float, float]]:
    """Ranges of percent that the limit of the class cuts in two."""
    found = []
    for part, low in product(press_parts(), (56.0, 60.0, 64.0, 68.0)):
        at_limit = part.thread.percent(part.thread.limits.minor_max)
        if part.thread.major >= 3.9 and low + 4 < at_limit < low + 10:
            found.append((part, low, low + 14))
    return found


def _job(part: PressPart, hole: float) -> Operation:
    tap = Tap.make(part.thread, "straight", "plug")
    bored = Hole(kind="through", diameter=hole, depth=part.thread.major)
    return Operation(tap=tap, hole=bored, workpiece=part.workpiece)


@exercise(
    "set-the-hole",
    lesson=4,
    topic="drills and percent",
    level=2,
    kind="set the sliders",
    title="Set the hole for the metal",
    cases=_setting_cases,
)
def set_the_hole(case: tuple[PressPart, float, float]) -> Draft:
    """Set the hole for the metal."""
    part, low, high = case
    thread, limits = part.thread, part.thread.limits
    step = 0.05 if thread.major < 12 else 0.1
    shown = mm if thread.system == "metric" else inch
    first = round((thread.major - 1.25 * thread.pitch) / step) * step
    tries = [round(first + i * step, 3) for i in range(round(1.1 * thread.pitch / step) + 1)]
    good = [d for d in tries if low <= thread.percent(d) <= high and d <= limits.minor_max]
    setting = Setting(
        (Slider("hole", "Hole (mm)", tries[0], tries[-1], step, tries[0]),),
        (
            Request(
                f"Percent of thread by handbook custom between {g(low)} % and {g(high)} %.",
                lambda job: low <= thread.percent(job.hole.diameter) <= high,
                "percent-missed",
                "The percent of thread lies outside.",
            ),
            Request(
                f"The hole is not over the largest minor diameter of class {thread.tolerance}, "
                f"{shown(limits.minor_max)}.",
                lambda job: job.hole.diameter <= limits.minor_max + 1e-9,
                "over-the-limit",
                "The hole is over the limit of the class.",
            ),
        ),
        lambda values: _job(part, values["hole"]),
        {"hole": good[len(good) // 2] if good else tries[0]},
        "groove",
        {"thread": thread.designation, "work": part.workpiece.name},
    )
    return Draft(
        f"The {part.name} is {part.metal}, {thread.designation}. Set the hole.",
        setting,
        (
            "Percent = (major diameter − hole) / (1.299 × pitch) × 100.",
            "A larger hole spares the tap. The class of the thread says how large it may be.",
        ),
        (
            Step("Work out the holes for the two percents and stay between them."),
            Step("Then check the limit of the class."),
        ),
    )


EXERCISES = (
    nearest_metric_drill,
    inch_drill_by_name,
    torque_of_a_tight_hole,
    order_holes_by_torque,
    set_the_hole,
)
