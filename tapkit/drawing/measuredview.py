"""Measured torque over depth against the range to expect, the curve fitted to it, and the peaks from hole to hole."""

from typing import NamedTuple

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.chart import Chart, nice_ceiling
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.measured import Fit, Trace
from tapkit.messages import Unit, _
from tapkit.operation import Operation
from tapkit.traces import Wear

SHOWN = 400
"""Most readings of a trace that are drawn."""


class TracesShown(NamedTuple):
    """A job, the traces measured in it with their fits (the last is looked at), and the wear they show, or None."""

    job: Operation
    traces: tuple[Trace, ...]
    fits: tuple[Fit, ...]
    wear: Wear | None


@drawn()
def draw_measured(pen: Pen, told: TracesShown) -> None:
    """Trace and curve at the left, hole by hole at the right."""
    split = 0.64 * pen.width if told.wear else pen.width - 14
    _along(pen, told, Box(52, 58, split - 6, pen.height - 46))
    if told.wear:
        _holes(pen, told.wear, Box(split + 54, 58, pen.width - 14, pen.height - 46))


def _along(pen: Pen, told: TracesShown, box: Box) -> None:
    longs, turns = map(pen.unit, ("length", "torque"))
    found, trace, last = told.job.expected_torque, told.traces[-1], told.fits[-1]
    single = len(trace.depth) == 1
    deep = nice_ceiling(longs * max(float(found.depth[-1]), float(trace.depth.max()) - last.shift))
    most = max(float(found.high.total.max(initial=0)), float(trace.torque.max()), last.peak)
    least = min(0.0, float(trace.torque.min()) * turns * 1.1)
    chart = Chart(pen, box, x=(0.0, deep), y=(least, nice_ceiling(1.08 * most * turns)))
    chart.x_axis(_("depth of the point, {unit}", unit=Unit("length")))
    chart.y_axis(_("torque, {unit}", unit=Unit("torque")))
    x = found.depth * longs
    band = [chart.points(x, found.high.total * turns), chart.points(x, found.low.total * turns)[::-1]]
    pen.fill(np.vstack(band), style.COOL, z=0.4)
    for end in (found.low, found.high):
        pen.line(chart.points(x, end.total * turns), "thin", colour=style.SOFT_INK, z=0.6)
    every = max(1, len(trace.depth) // SHOWN)
    at = chart.points((trace.depth[::every] - last.shift) * longs, trace.torque[::every] * turns)
    at = at[(at[:, 0] >= box.left) & (at[:, 0] <= box.right)]
    if single:
        for point in at:
            _cross(pen, point, 6)
    else:
        pen.line(at, "thin", colour=style.WARN, z=1.6)
        seen = slice(None, len(last.curve))
        pen.line(chart.points((trace.depth[seen] - last.shift) * longs, last.curve * turns), "bold", z=2)
    _legend(pen, box, single)


def _cross(pen: Pen, point: np.ndarray, size: float) -> None:
    for dx, dy in ((size, size), (size, -size)):
        pen.line([(point[0] - dx, point[1] - dy), (point[0] + dx, point[1] + dy)], "bold", colour=style.WARN, z=3)


def _legend(pen: Pen, box: Box, single: bool) -> None:
    y, x = pen.height - 14, box.left
    pen.fill(pen.rectangle(Box(x, y - 5, x + 16, y + 5)), style.COOL)
    x = pen.text(x + 20, y, _("to expect, if no chips jam"), va="center", size=style.SMALL).right + 14
    pen.line([(x, y), (x + 18, y)], "thin", colour=style.WARN)
    x = pen.text(x + 22, y, _("measured"), va="center", size=style.SMALL).right + 14
    if not single:
        pen.line([(x, y), (x + 18, y)], "bold")
        pen.text(x + 22, y, _("fitted"), va="center", size=style.SMALL)


def _holes(pen: Pen, wear: Wear, box: Box) -> None:
    turns = pen.unit("torque")
    end = len(wear.holes) + 1.0
    if wear.crosses and wear.crosses[0] < 6 * end:
        end = max(end, 1.1 * min(wear.crosses[1] or wear.crosses[0], 3 * wear.crosses[0]))
    top = max(wear.bears, float(wear.peaks.max())) if end > len(wear.holes) + 1 else float(wear.peaks.max()) * 1.2
    chart = Chart(pen, box, x=(0.0, nice_ceiling(end)), y=(0.0, nice_ceiling(1.1 * top * turns)))
    chart.x_axis(_("hole"))
    chart.y_axis("", most=4)
    pen.text(box.left - 30, box.top + 8, _("largest torque"), size=style.TEXT)
    for hole, peak in zip(wear.holes, wear.peaks):
        _cross(pen, chart.points([hole], [peak * turns])[0], 3)
    for slope, kind in ((wear.growth, "bold"), *((wear.growth + s * wear.spread, "hidden") for s in (-1, 1))):
        middle, level = float(wear.holes.mean()), float(wear.peaks.mean())
        x = np.array([middle, chart.x[1]])
        y = (level + slope * (x - middle)) * turns
        inside = np.clip(y, 0, chart.y[1])
        x = x if inside[1] == y[1] or slope == 0 else np.array([middle, middle + (inside[1] / turns - level) / slope])
        pen.line(chart.points(x, inside), kind, z=1.5)
    if wear.bears * turns <= chart.y[1]:
        pen.line(chart.points(chart.x, [wear.bears * turns] * 2), "bold", colour=style.WARN)
        pen.text(box.left + 4, float(chart.up(wear.bears * turns)) + 4, _("the weakest tap breaks"),
                 size=style.SMALL, colour=style.WARN)  # fmt: skip
