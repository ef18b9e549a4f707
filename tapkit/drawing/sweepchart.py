"""A what-if chart: one result against one thing changed, a curve for each job, and where each job stands now."""

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.chart import Chart, nice_ceiling
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.messages import Number, Sentence, _, listed, text


class Scrap(NamedTuple):
    """A stretch of x where the thread is scrap, or may be, and `why`: the hole is over its limit, GO stops, or NO-GO
    goes in."""

    low: float
    high: float
    why: str


OVER, GO, NO_GO, MAYBE = "over", "go", "no-go", "maybe"
"""Why a thread is scrap: its hole is too large, GO stops, NO-GO goes in; or it may be, as NO-GO may go in."""


class Curve(NamedTuple):
    """A curve of the chart: `name`, `x` and `y` (points,) with nan where there is nothing, the job's own point `here`
    (x, y) or None, where chips `jams` (points,) of bool, None for nowhere, and where the thread is `scrap`: stretches
    of x."""

    name: Any
    x: np.ndarray
    y: np.ndarray
    here: tuple[float, float] | None
    jams: np.ndarray | None = None
    scrap: Sequence[Scrap] = ()


class SweepPicture(NamedTuple):
    """What the chart shows: curves, the titles of its axes with their units, and which end is `open` where chips jam:
    "up", "down" or "" for a result that has both ends all the same."""

    curves: Sequence[Curve]
    x_title: Any
    y_title: Any
    open: str = ""


KINDS = ("bold", "bold dashed")
MARKS = (1, 3)
"""Flutes whose colours and marks the two curves borrow."""


@drawn()
def draw_sweepchart(pen: Pen, picture: SweepPicture) -> None:
    """The curves of a sweep. The second curve is dashed and marked with squares."""
    x_low, x_high, y_low, y_high = _limits(picture)
    box = Box(64, 48, pen.width - 16, pen.height - 58)
    chart = Chart(pen, box, x=(x_low, x_high), y=(y_low, y_high))
    chart.y_axis(picture.y_title)
    chart.x_axis(picture.x_title)
    left = 8.0
    for k, curve in enumerate(picture.curves):
        _open(pen, chart, curve, k, picture.open)
        _curve(pen, chart, curve, k)
        left = _legend(pen, curve.name, k, left)
    _scrap(pen, chart, picture.curves)
    if not any(np.isfinite(c.y).any() for c in picture.curves):
        middle = (box.left + box.right) / 2, (box.bottom + box.top) / 2
        pen.text(*middle, _("nothing in this range can be made"), ha="center")


def describe_sweepchart(picture: SweepPicture, system: str = "metric") -> str:
    """What the curves do, in a sentence or two; also the alt text."""
    parts = []
    for curve in picture.curves:
        good = np.isfinite(curve.y)
        if not good.any():
            parts.append(_("{name} cannot be made anywhere in this range.", name=curve.name))
            continue
        parts += [*_jammed(curve, picture.open), *_scrapped(curve)]
        x, y = curve.x[good], curve.y[good]
        low, high = int(np.argmin(y)), int(np.argmax(y))
        if np.ptp(y) <= 1e-9 * max(1.0, abs(float(y[0]))):
            parts.append(_("{name} stays at {value}.", name=curve.name, value=Number(float(y[0]))))
        else:
            at = dict(low=y[low], low_at=x[low], high=y[high], high_at=x[high])
            parts.append(
                _(
                    "{name} runs from {low} (at {low_at}) to {high} (at {high_at}).",
                    name=curve.name,
                    **{key: Number(float(value)) for key, value in at.items()},
                )
            )
    titles = _("{result} against {changed}:", result=picture.y_title, changed=picture.x_title)
    return text(titles, *parts).said(system)


def _limits(picture: SweepPicture) -> tuple[float, float, float, float]:
    x = np.concatenate([c.x for c in picture.curves])
    y = np.concatenate([c.y[np.isfinite(c.y)] for c in picture.curves])
    x_low, x_high = float(x.min()), float(x.max())
    if x_high <= x_low:
        x_low, x_high = x_low - 0.5, x_high + 0.5
    if not len(y):
        return x_low, x_high, 0.0, 1.0
    high, low = float(y.max()), float(y.min())
    top = nice_ceiling(1.05 * high) if high > 0 else 0.0
    bottom = -nice_ceiling(-1.05 * low) if low < 0 else 0.0
    return x_low, x_high, bottom, top if top > bottom else bottom + 1.0


def _curve(pen: Pen, chart: Chart, curve: Curve, k: int) -> None:
    points = chart.points(curve.x, np.nan_to_num(curve.y))
    for piece in _pieces(np.isfinite(curve.y)):
        if len(piece) > 1:
            pen.line(points[piece], KINDS[k % 2], colour=style.flute_colour(MARKS[k % 2]))
        else:
            pen.flute_mark(MARKS[k % 2], *points[piece[0]], 5)
    if curve.here is not None and np.isfinite(curve.here[1]) and chart.x[0] <= curve.here[0] <= chart.x[1]:
        pen.flute_mark(MARKS[k % 2], float(chart.across(curve.here[0])), float(chart.up(curve.here[1])), 11)


def _open(pen: Pen, chart: Chart, curve: Curve, k: int, end: str) -> None:
    """Where chips jam: a hatched band from the curve to the end of the chart, with an arrow that it goes on."""
    if not end or curve.jams is None:
        return
    box, up = chart.box, end == "up"
    edge = box.top if up else box.bottom
    for piece in _pieces(curve.jams & np.isfinite(curve.y)):
        points = chart.points(curve.x[piece], curve.y[piece])
        if len(piece) == 1:
            points = points + np.array([[-4.0, 0.0], [4.0, 0.0]])
        band = np.vstack([points, [(points[-1][0], edge), (points[0][0], edge)]])
        pen.hatch([band], (45, 135)[k % 2], 8, colour=style.flute_colour(MARKS[k % 2]), z=0.8)
        start, stop = float(points[0][0]), float(points[-1][0])
        x = (start + stop) / 2
        for share in (0.04, 0.96):
            pen.arrow((start + share * (stop - start), edge), (0, 1 if up else -1), colour=style.WARN)
        told = _("{name}: chips jam, no upper end", name=curve.name) if up else _("{name}: chips jam", name=curve.name)
        y = box.top - 8 - 16 * k if up else box.bottom + 8 + 16 * k
        spots = [(x, y, "center", "top" if up else "bottom"), (start, y, "left", "top" if up else "bottom")]
        spots.append((stop, y, "right", "top" if up else "bottom"))
        pen.place(told, spots, size=style.SMALL, bold=True, colour=style.WARN, paper=True)


def _scrap(pen: Pen, chart: Chart, curves: Sequence[Curve]) -> None:
    """Where the thread is scrap, by its hole or by its gauges: the ground in red, from a dashed line on."""
    box = chart.box
    points = np.vstack([chart.points(c.x, c.y) for c in curves])

    def far(left: float) -> Callable[[float], float]:
        near = points[(np.abs(points[:, 0] - left - 40) < 60) & np.isfinite(points[:, 1]), 1]
        return lambda y: -min(float(np.abs(near - y).min(initial=np.inf)), 24.0)

    for found in dict.fromkeys(one for curve in curves for one in curve.scrap):
        left, right = (float(chart.across(x)) for x in found[:2])
        corners = [(left, box.bottom), (right, box.bottom), (right, box.top), (left, box.top)]
        pen.fill(corners, style.WARN, alpha=0.05 if found.why == MAYBE else 0.1, z=0.5)
        for x in (left, right):
            if box.left + 1 < x < box.right - 1 or x == left:
                pen.line([(x, box.bottom), (x, box.top)], "hidden", colour=style.WARN, z=2)
        told = _marked(found.why, listed(c.name for c in curves if found in c.scrap))
        heights = sorted((box.bottom + s * (box.top - box.bottom) for s in (0.5, 0.3, 0.7, 0.1, 0.9)), key=far(left))
        spots = [(x, y, ha, "center") for y in heights for x, ha in ((left + 5, "left"), (left - 5, "right"))]
        pen.place(told, spots, size=style.SMALL, bold=True, colour=style.WARN, paper=True)


def _marked(why: str, names: Sentence) -> Sentence:
    return {
        OVER: _("{names}: scrap", names=names),
        GO: _("{names}: scrap, GO stops", names=names),
        NO_GO: _("{names}: scrap, NO-GO goes in", names=names),
        MAYBE: _("{names}: NO-GO may go in", names=names),
    }[why]


def _scrapped(curve: Curve) -> list[Sentence]:
    """Where the thread is scrap, in words."""
    low, high = curve.x.min(), curve.x.max()
    return [_told(curve.name, found, _where(found, low, high)) for found in curve.scrap]


def _where(found: Scrap, low: float, high: float) -> Sentence:
    a, b = Number(float(found.low)), Number(float(found.high))
    if found.low > low and found.high >= high:
        return _("above {start}", start=a)
    if found.low <= low and found.high < high:
        return _("below {end}", end=b)
    return _("everywhere") if found.low <= low else _("from {low} to {high}", low=a, high=b)


def _told(name: Any, found: Scrap, where: Sentence) -> Sentence:
    return {
        OVER: _("With {name} the thread is scrap {where}: the hole is over its limit.", name=name, where=where),
        GO: _("With {name} the thread is scrap {where}: the GO gauge stops.", name=name, where=where),
        NO_GO: _("With {name} the thread is scrap {where}: the NO-GO gauge goes in.", name=name, where=where),
        MAYBE: _("With {name} the NO-GO gauge may go in {where}: the thread may be scrap.", name=name, where=where),
    }[found.why]


def _jammed(curve: Curve, end: str) -> list[Sentence]:
    """Where chips jam, in words."""
    if not end or curve.jams is None or not curve.jams.any():
        return []
    if curve.jams.all():
        where = _("everywhere")
    else:
        where = listed(
            _("from {low} to {high}", low=Number(float(curve.x[p[0]])), high=Number(float(curve.x[p[-1]])))
            for p in _pieces(curve.jams)
        )
    told = dict(name=curve.name, where=where)
    if end == "up":
        return [_("With {name} chips jam {where}: there the torque has no upper end.", **told)]
    return [_("With {name} chips jam {where}: there a tap can break at any torque.", **told)]


def _pieces(good: np.ndarray) -> list[np.ndarray]:
    """Runs of indices where the mask holds."""
    index = np.flatnonzero(good)
    return [p for p in np.split(index, np.flatnonzero(np.diff(index) > 1) + 1) if len(p)]


def _legend(pen: Pen, name: Any, k: int, left: float) -> float:
    y = pen.height - 14
    pen.line([(left, y), (left + 30, y)], KINDS[k % 2], colour=style.flute_colour(MARKS[k % 2]))
    pen.flute_mark(MARKS[k % 2], left + 15, y, 9)
    return pen.text(left + 36, y, name, va="center").right + 20
