"""The rows behind the variants: listed threads, usual taps, parts of the press, workpieces."""

from __future__ import annotations

from functools import cache
from itertools import product

from tapkit import tables, units
from tapkit.exercises.exercise import Sketch
from tapkit.geometry.designation import standard_threads
from tapkit.geometry.drillsize import drill_set
from tapkit.geometry.fluteform import form_of
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.operation import Operation
from tapkit.planning.drill import chart_drill, nearest_drills
from tapkit.planning.press import PressPart


@cache
def metric(low: float = 3, high: float = 20, series: str | None = "coarse") -> tuple[Thread, ...]:
    """Listed metric threads by diameter [mm] and series; ISO 262 sizes for the coarse ones."""
    chosen = {f"M{r['major_mm']}x{r['pitch_mm']}" for r in tables.rows("threads_metric") if r["iso262"] == "yes"}
    return tuple(
        t
        for t in standard_threads()
        if low <= t.major <= high and (t.designation in chosen if series == "coarse" else True)
        if series in (None, t.series)
    )


@cache
def unified(low: float = 0.13, high: float = 1.0, series: str | None = None) -> tuple[Thread, ...]:
    """Listed unified threads by diameter [inch] and series."""
    return tuple(
        t
        for t in standard_threads("unified")
        if low <= t.major / 25.4 <= high + 1e-9 and series in (None, t.series) and t.series in ("UNC", "UNF")
    )


@cache
def usual_taps(*, low: float = 4, high: float = 16, forms: tuple[str, ...] = ("straight",)) -> tuple[Tap, ...]:
    """Taps of usual proportions: coarse metric threads with every named chamfer that goes with the flutes."""
    found = []
    for thread, form, row in product(metric(low, high), forms, tables.rows("chamfers")):
        if row["us"] in form_of(form).chamfers:
            found.append(Tap.make(thread, form, float(row["usual"])))
    return tuple(found)


def usual_hole(thread: Thread, percent: float | None = None) -> float:
    """Diameter of the wall chart's drill, or of the metric drill nearest to a percent of thread [mm]."""
    if percent is None:
        return chart_drill(thread).diameter
    return nearest_drills(thread, percent, drill_set("metric"), count=1)[0].drill.diameter


@cache
def sound_jobs(work: str = "C45", *, low: float = 5, high: float = 16) -> tuple[Operation, ...]:
    """Through-hole jobs in one workpiece over sizes, chamfers and flute counts."""
    found = []
    for thread, threads, flutes in product(metric(low, high), (1.5, 2.5, 4.0), (3, 4)):
        tap = Tap.make(thread, "straight", threads, flutes=flutes)
        hole = Hole(kind="through", diameter=usual_hole(thread), depth=2 * thread.major)
        found.append(Operation(tap=tap, hole=hole, workpiece=Workpiece.parse(work)))
    return tuple(found)


# --- numbers in sentences -----------------------------------------------------------------------------


def g(value: float, digits: int = 4) -> str:
    """A number with so many digits that count, with a true minus.

    >>> g(-12.0), g(0.46539, 3)
    ('−12', '0.465')
    """
    return f"{value:.{digits}g}".replace("-", "−")


def mm(value: float, decimals: int = 4) -> str:
    """A length in mm in words.

    >>> mm(8.5), mm(0.2034)
    ('8.5 mm', '0.2034 mm')
    """
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".")
    return f"{text.replace('-', '−')} mm"


def inch(value: float, decimals: int = 4) -> str:
    """A length given in mm, in inch in words.

    >>> inch(5.1054)
    '0.2010 in'
    """
    return f"{value / 25.4:.{decimals}f} in"


def size(value: float, part: PressPart) -> str:
    """A length given in mm, in the unit the part is drawn in."""
    return mm(value) if part.thread.system == "metric" else inch(value, 3)


def tip(tap: Tap) -> Sketch:
    """The side view of a tap with its dimensions."""
    length = f"{g(tap.chamfer_threads)} threads or {mm(tap.chamfer_length)}"
    return Sketch("tip", tap, f"Side view of the tap: chamfer {length} long, {deg(tap.chamfer_angle)} to the axis.")


def deg(value: float) -> str:
    """An angle in words.

    >>> deg(-12)
    '−12°'
    """
    return units.show(value, "angle")


def an(name: str) -> str:
    """A designation with its article.

    >>> an("M10x1.5"), an("1/4-20 UNC")
    ('an M10x1.5', 'a 1/4-20 UNC')
    """
    return f"{'an' if name[0] in 'AEFHILMNORSX8' else 'a'} {name}"


def cap(text: str) -> str:
    """A sentence's start, its first letter large and the rest untouched.

    >>> cap("an M10x1.5")
    'An M10x1.5'
    """
    text = str(text)
    return text[:1].upper() + text[1:]
