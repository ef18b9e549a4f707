"""Bars of the load on each tooth, coloured, hatched and marked by flute."""

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.chart import Chart, flute_legend, nice_ceiling
from tapkit.drawing.label import LINE_HEIGHT, text_width
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.drawing.toothcolours import tooth_words
from tapkit.drawing.words import brief
from tapkit.messages import Unit, _, listed, ngettext, text
from tapkit.operation import Operation

SHOWS = {
    "force": ("force", _("cutting force on a tooth, {unit}", unit=Unit("force"))),
    "area": ("area", _("chip area of a tooth, {unit}", unit=Unit("area"))),
    "thickness": ("length", _("chip thickness at a tooth, {unit}", unit=Unit("length"))),
}
"""What bars can show: the kind of quantity, and the axis's title."""
ROOM_SHRINKS = 0.3
"""The scale is kept until the highest bar falls below this share of it."""


@drawn(show="force", limits=None)
def draw_toothbars(pen: Pen, job: Operation) -> None:
    """Bars of force, area or thickness per tooth.

    Lost teeth show as a cross, rubbing ones as a bar with no fill and a dashed outline. `limits` sets the top of the
    scale, in the unit shown, and the number of teeth once for all; without it they follow, unhurried, so that a change
    shows as growth. Raises ValueError where `show` is none of `SHOWS`.
    """
    show = pen.memory["show"]
    if show not in SHOWS:
        raise ValueError(_("bars of {show} are not known; they show {known}", show=repr(show), known=listed(SHOWS)))
    values = _values(pen, job)
    chart = Chart(pen, _plot_box(pen), x=_tooth_range(pen, len(values)), y=(0.0, _top(pen, values)))
    chart.y_axis(SHOWS[show][1])
    _tooth_axis(pen, chart, job)
    _bars(pen, chart, job, values)
    _legend(pen, job)


def hold_one_scale(artists: Sequence[Pen], jobs: Sequence[Operation]) -> None:
    """Have several charts keep the scale that suits the highest bar of all, from their next update on."""
    top = max(_suited(pen, _values(pen, job)) for pen, job in zip(artists, jobs))
    for pen in artists:
        pen.memory["held"] = top


def describe_toothbars(job: Operation, *, system: str = "metric") -> str:
    """One or two sentences on the load of the teeth; also the alt text."""
    loads = job.tooth_loads
    working = loads.area > 0
    if not working.any():
        return _("No tooth cuts.").said(system)
    worst = int(np.argmax(loads.force))
    rubbing, lost = int((loads.rubbing & working).sum()), loads.number[loads.lost]
    return text(
        ngettext("{count} tooth cuts.", "{count} teeth cut.", int(working.sum())),
        _(
            "Tooth {tooth} on flute {flute} carries the most, {force} on a chip {thickness} thick.",
            tooth=int(loads.number[worst]),
            flute=int(loads.flute[worst]),
            force=brief(loads.force[worst], "force"),
            thickness=brief(loads.thickness[worst], "length", 2),
        ),
        rubbing and ngettext("{count} tooth rubs more than it cuts.", "{count} teeth rub more than they cut.", rubbing),
        len(lost)
        and ngettext(
            "Tooth {lost} is missing.", "Teeth {lost} are missing.", len(lost), lost=listed([int(n) for n in lost])
        ),
    ).said(system)


def _values(pen: Pen, job: Operation) -> np.ndarray:
    show = pen.memory["show"]
    return getattr(job.tooth_loads, show) * pen.unit(SHOWS[show][0])


def _plot_box(pen: Pen) -> Box:
    return Box(56, 24, pen.width - 12, pen.height - 46)


def _top(pen: Pen, values: np.ndarray) -> float:
    if pen.memory["limits"]:
        return pen.memory["limits"][0]
    if "held" in pen.memory:
        return pen.memory["held"]
    return _suited(pen, values)


def _suited(pen: Pen, values: np.ndarray) -> float:
    peak = float(values.max(initial=0.0))
    top = pen.memory.get("top", 0.0)
    if peak > top or peak < ROOM_SHRINKS * top:
        top = pen.memory["top"] = scale_for(peak)
    return top or 1.0


def scale_for(peak: float) -> float:
    """Top of the scale for a highest bar."""
    return nice_ceiling(1.12 * peak)


def _tooth_range(pen: Pen, teeth: int) -> tuple[float, float]:
    room = pen.memory.get("room", 0)
    if pen.memory["limits"]:
        return 0.4, pen.memory["limits"][1] + 0.6
    if teeth > room or teeth < 0.5 * room:
        room = pen.memory["room"] = max(8, 4 * math.ceil(teeth / 4))
    return 0.4, room + 0.6


def _tooth_axis(pen: Pen, chart: Chart, job: Operation) -> None:
    numbers = job.tooth_loads.number
    step_width = chart.across(2) - chart.across(1)
    every = next(n for n in (1, 2, 5, 10, 20, 50) if n * step_width > (18 if len(numbers) < 10 else 22))
    for n in numbers:
        if n == 1 or n % every == 0:
            chart.x_label(float(n), str(int(n)))
    pen.text(chart.box.left - 7, chart.box.bottom - 6, _("tooth"), ha="right", va="top", size=style.SMALL)
    last = float(chart.across(float(numbers[-1]))) if len(numbers) else chart.box.left
    if chart.box.right - last > 130:
        note = _("counted from the point")
        pen.text(chart.box.right, chart.box.bottom - 6, note, ha="right", va="top", size=style.SMALL)


def _bars(pen: Pen, chart: Chart, job: Operation, values: np.ndarray) -> None:
    loads = job.tooth_loads
    half = min(0.36 * (chart.across(2) - chart.across(1)), 22.0)
    mark = min(2 * half, 9.0)
    spots = pen.memory["spots"] = []
    for i, (number, flute, value) in enumerate(zip(loads.number, loads.flute, values)):
        rubs, lost = loads.rubbing[i], loads.lost[i]
        x, y = chart.across(float(number)), chart.up(float(value))
        low, high = chart.box.bottom - 3, max(y + 1.5 * mark, chart.box.bottom + 14) + 4
        corners = [(x - half - 3, low), (x + half + 3, low), (x + half + 3, high), (x - half - 3, high)]
        spots.append((int(number), tooth_words(job, i), corners))
        if lost:
            _cross(pen, x, chart.box.bottom + 8, min(half, 6.0))
            continue
        corners = np.array([[x - half, chart.box.bottom], [x + half, chart.box.bottom], [x + half, y], [x - half, y]])
        if rubs:
            pen.line(corners, "hidden", closed=True)
        elif value > 0:
            pen.flute_fill(int(flute), corners, kind="thin")
        pen.flute_mark(int(flute), x, y + mark * 0.75 + 1, mark)
    if len(values) and values.max() > 0:
        k = int(np.argmax(values))
        told, x, y = _figures(float(values[k])), chart.across(loads.number), chart.up(values)
        tops = np.where(np.arange(len(values)) == k, chart.box.bottom, y + 1.5 * mark)
        beside = _beside(told, x, tops, k, float(y[k]) + 0.75 * mark + 1, half)
        pen.place(told, [(float(x[k]), float(y[k]) + 1.4 * mark, "center", "bottom"), *beside], bold=True)


def _beside(told: str, x: np.ndarray, tops: np.ndarray, k: int, level: float, half: float) -> list[Any]:
    """Places beside the mark of the `k`-th bar, where a text lies on no mark and no bar of another."""
    wide, tall, found = text_width(told, style.TEXT, True), style.TEXT * LINE_HEIGHT, []
    for side, align in ((1, "right"), (-1, "left")):
        near = x[k] - side * (half + 3)
        others = np.abs(x - (near - side * wide / 2)) < half + wide / 2
        if tops[others].max(initial=0.0) < level - tall / 2:
            found.append((near, level, align, "center"))
    return found


def _figures(value: float) -> str:
    """Three figures, never a power of ten.

    >>> _figures(1432.0), _figures(52.94), _figures(0.0731)
    ('1432', '52.9', '0.0731')
    """
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"


def _cross(pen: Pen, x: float, y: float, r: float) -> None:
    pen.line([(x - r, y - r), (x + r, y + r)], "cutting", colour=style.WARN)
    pen.line([(x - r, y + r), (x + r, y - r)], "cutting", colour=style.WARN)


def _legend(pen: Pen, job: Operation) -> None:
    y, loads, many = pen.height - 14, job.tooth_loads, job.tap.flutes > 4
    x = flute_legend(pen, job.tap.flutes, y) + 6
    if loads.rubbing.any() or not many:
        pen.line(pen.rectangle(Box(x, y - 7, x + 20, y + 7)), "hidden", closed=True)
        x = pen.text(x + 25, y, _("rubs"), va="center").right + (6 if many else 14)
    if loads.lost.any() or not many:
        _cross(pen, x + 5, y, 5)
        pen.text(x + 15, y, _("lost"), va="center")
