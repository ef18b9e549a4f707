"""The rows behind the variants: listed threads, usual taps, parts of the press, workpieces."""

from collections.abc import Sequence
from functools import cache
from itertools import product

from tapkit import tables
from tapkit.exercises.exercise import Sketch
from tapkit.exercises.options import OrderAsked, WrongOrder
from tapkit.geometry.designation import standard_threads
from tapkit.geometry.drillsize import drill_set
from tapkit.geometry.fluteform import form_of
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece, workpiece_names
from tapkit.messages import Number, Sentence, _, angle, length, of_table
from tapkit.operation import Operation
from tapkit.planning.drill import chart_drill, nearest_drills
from tapkit.planning.press import parts_in_place


def metric(low: float = 3, high: float = 20, series: str | None = "coarse") -> tuple[Thread, ...]:
    """Listed metric threads by diameter [mm] and series; ISO 262 sizes for the coarse ones. Where parts of one's own
    stand in place of the press, theirs."""
    if parts_in_place():
        return _own_threads("metric", low, high) if series != "fine" else ()
    return _metric(low, high, series)


@cache
def _metric(low: float, high: float, series: str | None) -> tuple[Thread, ...]:
    chosen = {f"M{r['major_mm']}x{r['pitch_mm']}" for r in tables.rows("threads_metric") if r["iso262"] == "yes"}
    return tuple(
        t
        for t in standard_threads()
        if low <= t.major <= high and (t.designation in chosen if series == "coarse" else True)
        if series in (None, t.series)
    )


def _own_threads(system: str, low: float, high: float) -> tuple[Thread, ...]:
    """Threads of parts of one's own, each once, from the smallest to the largest diameter [mm]."""
    threads = {p.thread.designation: p.thread for p in parts_in_place()}.values()
    fit = (t for t in threads if t.system == system and low - 1e-9 <= t.major <= high + 1e-9)
    return tuple(sorted(fit, key=lambda t: t.major))


def every(step: int) -> slice:
    """Each so many of a long list of cases; all of them where parts of one's own stand in place of the press."""
    return slice(None, None, 1 if parts_in_place() else step)


def unified(low: float = 0.13, high: float = 1.0, series: str | None = None) -> tuple[Thread, ...]:
    """Listed unified threads by diameter [inch] and series, or those of parts of one's own."""
    if parts_in_place():
        return _own_threads("unified", low * 25.4, high * 25.4)
    return _unified(low, high, series)


@cache
def _unified(low: float, high: float, series: str | None) -> tuple[Thread, ...]:
    return tuple(
        t
        for t in standard_threads("unified")
        if low <= t.major / 25.4 <= high + 1e-9 and series in (None, t.series) and t.series in ("UNC", "UNF")
    )


def metals() -> tuple[str, ...]:
    """Workpieces of the table by name, or those of parts of one's own."""
    return tuple(dict.fromkeys(p.workpiece.name for p in parts_in_place())) or workpiece_names()


def usual_taps(*, low: float = 4, high: float = 16, forms: tuple[str, ...] = ("straight",)) -> tuple[Tap, ...]:
    """Taps of usual proportions: coarse metric threads with every named chamfer that goes with the flutes."""
    found = []
    for thread, form, row in product(metric(low, high), forms, tables.rows("chamfers")):
        if row["us"] in form_of(form).chamfers:
            found.append(Tap.make(thread, form, float(row["usual"])))
    return tuple(found)


def has_one_order(steps: Sequence[dict[str, str]]) -> bool:
    """Whether no two of the steps may change places: rows of a table with the column `free`."""
    free = [row["free"] for row in steps if row["free"]]
    return len(free) == len(set(free))


def first_to_last(rows: Sequence[dict[str, str]]) -> OrderAsked:
    """Five steps of a table, to be put in their order."""
    steps = tuple(of_table(row["step"]) for row in rows)
    late, swapped = (*steps[1:], steps[0]), (*steps[:3], steps[4], steps[3])
    wrong = (
        WrongOrder("first-step-last", late, _("Your last step belongs at the very beginning.")),
        WrongOrder("end-swapped", swapped, _("The beginning is right. The last two are swapped.")),
    )
    return OrderAsked(steps, _("from the first to the last"), wrong)


def real_flutes(thread: Thread) -> tuple[int, ...]:
    """Numbers of flutes that straight-flute taps of a size come with. Common practice (no source)."""
    return (2, 3) if thread.major < 6 else (3, 4)


def usual_hole(thread: Thread, percent: float | None = None) -> float:
    """Diameter of the wall chart's drill, or of the metric drill nearest to a percent of thread [mm]."""
    if percent is None:
        return chart_drill(thread).diameter
    return nearest_drills(thread, percent, drill_set("metric"), count=1)[0].drill.diameter


def sound_jobs(work: str = "C45", *, low: float = 5, high: float = 16) -> tuple[Operation, ...]:
    """Through-hole jobs in one workpiece over sizes, chamfers and flute counts."""
    found = []
    for thread, threads, flutes in product(metric(low, high), (1.5, 2.5, 4.0), (3, 4)):
        tap = Tap.make(thread, "straight", threads, flutes=flutes)
        hole = Hole(kind="through", diameter=usual_hole(thread), depth=2 * thread.major)
        found.append(Operation(tap=tap, hole=hole, workpiece=Workpiece.parse(work)))
    return tuple(found)


def bare_number(value: float, digits: int = 4) -> Number:
    """A number without a unit, to so many digits that count.

    >>> str(bare_number(-12.0)), str(bare_number(0.46539, 3))
    ('−12', '0.465')
    """
    return Number(value, digits)


def tip_sketch(tap: Tap) -> Sketch:
    """The side view of a tap with its dimensions."""
    alt = _(
        "Side view of the tap: chamfer {threads} threads or {length} long, {angle} to the axis.",
        threads=bare_number(tap.chamfer_threads),
        length=length(tap.chamfer_length),
        angle=angle(tap.chamfer_angle),
    )
    return Sketch("tip", tap, alt)


def between(cell: str) -> Sentence:
    """A range as tables write it, in words.

    >>> str(between("3-5"))
    '3 to 5'
    """
    low, high = cell.split("-")
    return _("{low} to {high}", low=low, high=high)
