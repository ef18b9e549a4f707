"""Torque along the depth, fresh and worn, against the torque at breakage."""

from __future__ import annotations

import numpy as np

from tapkit import units
from tapkit.drawing import style
from tapkit.drawing.chart import Chart, nice_ceiling
from tapkit.drawing.pen import Box, Pen
from tapkit.drawing.words import brief
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.breakage import Breakage
from tapkit.messages import Number, Sentence, Unit, _, text, torque
from tapkit.operation import Operation

FARTHEST = 7.0
"""The line of breakage is drawn while it lies within this many times the peak; beyond, it is told at the top."""


def draw_torquechart(ax, job: Operation, *, depth: float | None = None, system: str = "metric") -> Pen:
    """Torque against the depth of the tap's point, with a pointer at a depth [mm] where one is given."""
    pen = Pen(ax)
    pen.memory["system"] = system
    update_torquechart(pen, job, depth)
    return pen


def update_torquechart(artists: Pen, job: Operation, depth: float | None = None) -> None:
    """Change the chart in place; the axes stay while the curves fit them."""
    pen = artists
    pen.clear()
    system, curve, ends = pen.memory["system"], job.torque_curve, job.breakage
    chart = _chart(pen, job)
    chart.x_axis(_("depth of the point, {unit}", unit=Unit("length")))
    chart.y_axis(_("torque, {unit}", unit=Unit("torque")))
    longs, turns = units.convert(1, "length", system), units.convert(1, "torque", system)
    fresh = chart.points(ends.depth * longs, ends.torque_fresh * turns)
    worn = chart.points(ends.depth * longs, ends.torque_worn * turns)
    pen.fill(np.vstack([fresh, [fresh[-1, 0], chart.box.bottom], [fresh[0, 0], chart.box.bottom]]), style.COOL, z=0.4)
    pen.line(worn, "worn", colour=style.FLUTES[2])
    pen.line(fresh, "bold", colour=style.ACCENT)
    _breakage(pen, chart, job, turns)
    if depth is not None:
        _pointer(pen, chart, depth * longs, curve.at(depth) * turns, torque(curve.at(depth)))
    _margins(pen, chart, job, longs, turns)
    _names(pen, chart, fresh, worn, job)
    pen.flush()


def describe_torquechart(job: Operation, depth: float | None = None, *, system: str = "metric") -> str:
    """One or two sentences on the torque and the margin; also the alt text."""
    curve, ends = job.torque_curve, job.breakage
    low, high = (brief(v, "length") for v in ends.weakest)
    peak = brief(curve.peak, "torque")
    if low.said(system) == high.said(system):
        most = _("The torque is largest at {depth} of depth, {torque}.", depth=low, torque=peak)
    else:
        most = _("The torque is largest from {low} to {high} of depth, {torque}.", low=low, high=high, torque=peak)
    now = None
    if depth is not None:
        now = _("At {depth} it is {torque}.", depth=brief(depth, "length"), torque=brief(curve.at(depth), "torque"))
    return text(most, now, margin_of(ends)).said(system)


def margin_of(ends: Breakage) -> Sentence:
    """Where the tap would break, and how far off that is."""
    return _(
        "The tap would break at about {torque}: a margin of {fresh} when fresh and {worn} when worn.",
        torque=brief(ends.torque, "torque"),
        fresh=Number(ends.margin, decimals=1),
        worn=Number(ends.margin_worn, decimals=1),
    )


def _chart(pen: Pen, job: Operation) -> Chart:
    system, memory = pen.memory["system"], pen.memory
    deep = float(job.torque_curve.depth[-1]) * units.convert(1, "length", system)
    worn = float(job.breakage.torque_worn.max(initial=0)) * units.convert(1, "torque", system)
    strength = job.breakage.torque * units.convert(1, "torque", system)
    peak = job.torque_curve.peak * units.convert(1, "torque", system)
    wanted = 1.12 * strength if strength < FARTHEST * max(peak, 1e-9) else 1.9 * worn
    wanted = max(wanted, 1.25 * worn)
    if deep > memory.get("deep", 0) or deep < 0.45 * memory["deep"]:
        memory["deep"] = nice_ceiling(deep * 1.05)
    if wanted > memory.get("top", 0) or wanted < 0.45 * memory["top"]:
        memory["top"] = nice_ceiling(wanted or 1.0)
    box = Box(52, 44, pen.width - 14, pen.height - 44)
    return Chart(pen, box, x=(0.0, memory["deep"]), y=(0.0, memory["top"]))


def _pointer(pen: Pen, chart: Chart, depth: float, torque: float, text: str) -> None:
    x, y = float(chart.across(depth)), float(chart.up(torque))
    pen.line([(x, chart.box.bottom), (x, y)], "thin", z=4)
    pen.fill(style.flute_mark(1, x, y, 9), style.INK, z=4.5)
    pen.keep_clear(Box(x - 3, chart.box.bottom, x + 3, y + 5))
    under = y - chart.box.bottom > 26
    above = [(x + 8, y + 4, "left", "bottom"), (x - 8, y + 4, "right", "bottom")]
    below = [(x + 6, y - 5, "left", "top"), (x - 6, y - 5, "right", "top")] if under else []
    pen.place(text, below + above, bold=True, paper=not under)


def _breakage(pen: Pen, chart: Chart, job: Operation, turns: float) -> None:
    """The line at which the tap breaks with the margins below it, or a note at the top where it lies far above."""
    ends = job.breakage
    y = float(chart.up(ends.torque * turns))
    told = _("breaks at about {torque}", torque=brief(ends.torque, "torque"))
    pen.text(pen.width - 8, pen.height - 6, margin_title(ends), ha="right", va="top", bold=True)
    if y <= chart.box.top:
        pen.line([(chart.box.left, y), (chart.box.right, y)], "phantom", colour=style.WARN, z=3.5)
        pen.text(chart.box.right, y + 2, told, ha="right", colour=style.WARN, bold=True)
    else:
        x = chart.box.right - 6
        pen.text(x - 8, chart.box.top - 2, told, ha="right", va="top", colour=style.WARN, bold=True)
        pen.line([(x, chart.box.top - 16), (x, chart.box.top - 2)], "thin", colour=style.WARN)
        pen.arrow((x, chart.box.top), (0, 1), colour=style.WARN)


def margin_title(ends: Breakage) -> Sentence:
    """Both margins in a few words."""
    fresh, worn = (Number(m, decimals=1) for m in (ends.margin, ends.margin_worn))
    return _("margin {fresh} fresh, {worn} worn", fresh=fresh, worn=worn)


def _margins(pen: Pen, chart: Chart, job: Operation, longs: float, turns: float) -> None:
    """The two margins as lengths from each curve's top to the line of breakage."""
    ends = job.breakage
    limit = float(chart.up(ends.torque * turns))
    low, high = ends.weakest
    if limit > chart.box.top or high <= low:
        return
    for share, top, margin in ((0.35, ends.torque_fresh, ends.margin), (0.65, ends.torque_worn, ends.margin_worn)):
        x, y = float(chart.across((low + share * (high - low)) * longs)), float(chart.up(top.max() * turns))
        if limit - y < 3 * style.ARROW_LENGTH or chart.across(high * longs) - chart.across(low * longs) < 40:
            continue
        pen.line([(x, y), (x, limit)])
        pen.keep_clear(Box(x - 2, y, x + 2, limit))
        pen.arrow((x, limit), (0, 1))
        pen.arrow((x, y), (0, -1))
        middle = (limit + y) / 2
        told = _("× {margin}", margin=Number(margin, decimals=1))
        pen.place(
            told,
            [(x + 4, middle, "left", "center"), (x - 4, middle, "right", "center")],
            paper=True,
        )


def _names(pen: Pen, chart: Chart, fresh: np.ndarray, worn: np.ndarray, job: Operation) -> None:
    """ "fresh" and "worn" beside their curves, where there is room."""
    more = max(assumption("worn_factor").value / job.wear_factor, 1.0)
    for points, words, colour, side in (
        (worn, _("worn, × {factor}", factor=Number(more, digits=2)), style.FLUTES[2], 1),
        (fresh, _("fresh"), style.ACCENT, -1),
    ):
        top = np.flatnonzero(points[:, 1] > points[:, 1].max() - 0.5)
        first, last = points[top[0]], points[top[-1]]
        spots = [(first + f * (last - first), "center") for f in (0.5, 0.15, 0.85)]
        spots += [(p, "right") for p in points[1 : top[0] + 1][::-1]] + [(p, "left") for p in points[top[-1] :]]
        va, off = ("bottom", 3) if side > 0 else ("top", -3)
        wanted = [(float(p[0]), float(p[1]) + off, ha, va) for p, ha in spots if p[1] > chart.box.bottom + 16]
        pen.place(words, wanted, colour=colour, size=style.SMALL)
