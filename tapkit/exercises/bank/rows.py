"""The rows behind the variants: listed threads, usual taps, parts of the press, workpieces."""

from __future__ import annotations

import math
from functools import cache
from itertools import product
from typing import NamedTuple

from tapkit import tables, units
from tapkit.exercises.exercise import Sketch
from tapkit.geometry.designation import standard_threads
from tapkit.geometry.fluteform import form_of
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.operation import Operation
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holeplan import HolePlan


class Part(NamedTuple):
    """A part of the apple press (invented): `depth` is the thickness of a through part, or the full thread
    wanted in a blind hole [mm]."""

    part: str
    press: str
    thread: Thread
    hole: str
    depth: float
    workpiece: Workpiece

    @property
    def name(self) -> str:
        """The part and its press in words."""
        return f"{self.part} of the {self.press} press"

    @property
    def is_through(self) -> bool:
        """Whether the hole goes through."""
        return self.hole == "through"

    @property
    def metal(self) -> str:
        """The workpiece as the trade prints it."""
        return self.workpiece.printed


@cache
def parts(hole: str | None = None, system: str | None = None) -> tuple[Part, ...]:
    """Parts of the press by kind of hole and system of thread."""
    rows = [
        Part(
            r["part"],
            r["press"],
            Thread.parse(r["thread"]),
            r["hole"],
            float(r["depth_mm"]),
            Workpiece.parse(r["workpiece"]),
        )
        for r in tables.rows("press_parts")
    ]
    return tuple(p for p in rows if hole in (None, p.hole) and system in (None, p.thread.system))


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


def blind_ask(part: Part, threads: float, floor: float = 2.0, **more: float) -> DrawingAsk:
    """A blind hole for a part, in metal thick enough for a chamfer of so many threads with a floor to spare."""
    thread = part.thread
    ask = DrawingAsk(thread=thread, drill=usual_hole(thread), full_thread=part.depth, floor=floor, **more)
    deep = HolePlan(ask, threads).drill_point
    return ask.with_(thickness=math.ceil(deep + floor + 1.0))


def usual_hole(thread: Thread, percent: float = 75.0) -> float:
    """The metric drill nearest to a percent of thread, or the exact diameter of a unified thread [mm]."""
    from tapkit.geometry.drillsize import drill_set

    exact = thread.hole_for_percent(percent)
    if thread.system == "unified":
        return exact
    return min(drill_set("metric"), key=lambda d: abs(d.diameter - exact)).diameter


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


def size(value: float, part: Part) -> str:
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
    return text[:1].upper() + text[1:]
