"""Torque to expect along the depth, in three shares and as a range, against the torque at breakage."""

import math

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.chart import Chart, nice_ceiling
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.drawing.words import brief
from tapkit.mechanics.breakage import Breakage
from tapkit.messages import Number, Sentence, Span, Unit, _, rough_depth, text, torque
from tapkit.operation import Operation

FARTHEST = 4.0
"""The line of breakage is drawn while it lies within this many times the most torque; beyond, it is told at the top."""

SHARES = (("cut", _("cut"), 1), ("crowding", _("chips crowd"), 3), ("friction", _("friction"), 2))
"""Each share with its words and the flute whose colour and hatch it has."""


@drawn()
def draw_torquechart(pen: Pen, job: Operation, depth: float | None = None) -> None:
    """Torque against the depth of the tap's point, with a pointer at a depth [mm] where one is given.

    The axes stay while the curves fit them.
    """
    chart = _chart(pen, job)
    chart.x_axis(_("depth of the point, {unit}", unit=Unit("length")))
    chart.y_axis(_("torque, {unit}", unit=Unit("torque")))
    longs, turns = map(pen.unit, ("length", "torque"))
    _breakage(pen, chart, job, turns)
    _shares(pen, chart, job, longs, turns)
    _open(pen, chart, job, longs)
    _published(pen, chart, job, longs, turns)
    if depth is not None:
        found = job.expected_torque
        ends = found.at(depth)
        told = Span(*ends, "torque", digits=2) if math.isfinite(ends[1]) else _("no upper end")
        _pointer(pen, chart, depth * longs, ends[0] * turns, told)


def describe_torquechart(job: Operation, depth: float | None = None, *, system: str = "metric") -> str:
    """The torque to expect, its shares, and the margin; also the alt text."""
    found = job.expected_torque
    now = None
    if depth is not None:
        now = torque_to_expect(job, depth)
    said_to_be = None
    if found.published is not None:
        said_to_be = _("The published formula gives {torque}.", torque=brief(found.published.torque, "torque"))
    return text(_("Torque to expect: {told}.", told=found.told()), now, said_to_be, margin_of(job.breakage)).said(
        system
    )


def torque_to_expect(job: Operation, depth: float) -> Sentence:
    """The torque to expect with the point at a depth [mm]."""
    low, high = job.expected_torque.at(depth)
    deep = brief(depth, "length")
    if not math.isfinite(high):
        return _("At {depth} chips jam: the torque has no upper end.", depth=deep)
    return _("At {depth} it is {span}.", depth=deep, span=Span(low, high, "torque", digits=2))


def margin_of(ends: Breakage) -> Sentence:
    """Where the tap would break, and how far off that is."""
    return (
        _(
            "The tap would break at {span}: {margin} the torque to expect.",
            span=Span(*ends.torque_range, "torque", digits=2),
            margin=ends.told(),
        )
        if ends.open_from is None
        else _(
            "The tap would break at {span}; it bears {margin}.",
            span=Span(*ends.torque_range, "torque", digits=2),
            margin=ends.told(),
        )
    )


def _chart(pen: Pen, job: Operation) -> Chart:
    memory, found = pen.memory, job.expected_torque
    longs, turns = map(pen.unit, ("length", "torque"))
    deep, most = float(found.depth[-1]) * longs, float(found.high.total.max(initial=0)) * turns
    if found.published is not None:
        most = max(most, found.published.torque * turns)
    strength = job.breakage.torque_range[0] * turns
    wanted = 1.15 * strength if strength < FARTHEST * max(most, 1e-9) else 1.5 * most
    wanted = max(wanted, 1.3 * most)
    if deep > memory.get("deep", 0) or deep < 0.45 * memory["deep"]:
        memory["deep"] = nice_ceiling(deep * 1.05)
    if "top" not in memory or wanted > memory["top"] or wanted < 0.45 * memory["top"]:
        memory["top"] = nice_ceiling(wanted or 1.0)
    box = Box(52, 44, pen.width - 14, pen.height - 62)
    return Chart(pen, box, x=(0.0, memory["deep"]), y=(0.0, memory["top"]))


def _shares(pen: Pen, chart: Chart, job: Operation, longs: float, turns: float) -> None:
    """The middle of each share, stacked; the two ends of the whole as lines; a legend at the top."""
    found = job.expected_torque
    x, below = found.depth * longs, np.zeros(len(found.depth))
    left, y = chart.box.left, pen.height - 28
    for name, words, flute in SHARES:
        above = below + (getattr(found.low, name) + getattr(found.high, name)) / 2 * turns
        band = np.vstack([chart.points(x, above), chart.points(x, below)[::-1]])
        pen.fill(band, style.flute_colour(flute), z=0.6)
        pen.line(chart.points(x, above), "thin", z=1.2)
        swatch = pen.rectangle(Box(left, y - 5, left + 13, y + 5))
        pen.fill(swatch, style.flute_colour(flute))
        left = pen.text(left + 17, y, words, va="center", size=style.SMALL).right + 10
        below = above
    for end, upto in ((found.low, np.ones_like(found.closed)), (found.high, found.closed)):
        pen.line(chart.points(x[upto], end.total[upto] * turns), "hidden", colour=style.INK, z=3)
    pen.line([(left, y), (left + 22, y)], "hidden", colour=style.INK)
    pen.text(left + 26, y, _("least, most"), va="center", size=style.SMALL)


def _open(pen: Pen, chart: Chart, job: Operation, longs: float) -> None:
    """From where chips jam: a band without an upper end."""
    at = job.expected_torque.open_from
    if at is None:
        return
    found, box = job.expected_torque, chart.box
    x = float(chart.across(at * longs))
    end = float(chart.across(found.depth[-1] * longs))
    if end - x < 2:
        return
    corners = pen.rectangle(Box(x, box.bottom, end, box.top))
    pen.hatch([corners], 45, 7, colour=style.WARN, z=3.2)
    pen.line([(x, box.bottom), (x, box.top)], "thin", colour=style.WARN, z=3.4)
    for share in (0.3, 0.7):
        pen.arrow((x + share * (end - x), box.top), (0, 1), colour=style.WARN)
    told = _("chips jam from {depth}", depth=rough_depth(at))
    heights = [box.bottom + share * (box.top - box.bottom) for share in (0.92, 0.7, 0.6, 0.5, 0.8)]
    spots = [spot for y in heights for spot in ((x - 5, y, "right", "top"), (x + 5, y, "left", "top"))]
    spots += [(chart.box.right, y, "right", "top") for y in heights]
    pen.place(told, spots, bold=True, colour=style.WARN, paper=True)


def _published(pen: Pen, chart: Chart, job: Operation, longs: float, turns: float) -> None:
    """The published formula's own value, a mark where the torque is largest."""
    found = job.expected_torque
    if found.published is None:
        return
    middle = (found.low.total + found.high.total) / 2
    x = float(chart.across(found.depth[int(np.argmax(middle >= middle.max() - 1e-9))] * longs))
    y = float(chart.up(found.published.torque * turns))
    pen.fill(np.array([(x - 5, y), (x, y - 5), (x + 5, y), (x, y + 5)]), style.INK, z=4.5)
    pen.keep_clear(Box(x - 6, y - 6, x + 6, y + 6))
    told = _("published {torque}", torque=torque(found.published.torque, digits=2))
    spots = [(x - 9, y, "right", "center"), (x + 9, y, "left", "center"), (x, y + 9, "center", "bottom")]
    pen.place(told, spots, size=style.SMALL, paper=True)


def _pointer(pen: Pen, chart: Chart, depth: float, torque: float, text: Sentence | Span) -> None:
    x, y = float(chart.across(depth)), float(chart.up(torque))
    pen.line([(x, chart.box.bottom), (x, y)], "thin", z=4)
    pen.fill(style.flute_mark(1, x, y, 9), style.INK, z=4.5)
    pen.keep_clear(Box(x - 3, chart.box.bottom, x + 3, y + 5))
    under = y - chart.box.bottom > 26
    above = [(x + 8, y + 4, "left", "bottom"), (x - 8, y + 4, "right", "bottom")]
    below = [(x + 6, y - 5, "left", "top"), (x - 6, y - 5, "right", "top")] if under else []
    pen.place(text, below + above, bold=True, paper=True)


def _breakage(pen: Pen, chart: Chart, job: Operation, turns: float) -> None:
    """The least torque at which the tap breaks, as a line, or a note at the top where it lies far above."""
    ends = job.breakage
    y = float(chart.up(ends.torque_range[0] * turns))
    told = _("breaks at {span}", span=Span(*ends.torque_range, "torque", digits=2))
    pen.text(pen.width - 8, pen.height - 4, margin_title(ends), ha="right", va="top", bold=True)
    if y <= chart.box.top - 16:
        pen.line([(chart.box.left, y), (chart.box.right, y)], "phantom", colour=style.WARN, z=3.5)
        pen.text(chart.box.right, y + 2, told, ha="right", colour=style.WARN, bold=True, paper=True)
    else:
        x = chart.box.right - 6
        pen.text(x - 8, chart.box.top - 2, told, ha="right", va="top", colour=style.WARN, bold=True, paper=True)
        pen.line([(x, chart.box.top - 16), (x, chart.box.top - 2)], "thin", colour=style.WARN)
        pen.arrow((x, chart.box.top), (0, 1), colour=style.WARN)


def margin_title(ends: Breakage) -> Sentence:
    """The margin in a few words."""
    if not np.isfinite(ends.margin_range[1]):
        return _("margin far above")
    low, high = (Number(v, 2) for v in ends.margin_range)
    if ends.open_from is None:
        return _("margin {low} to {high}", low=low, high=high)
    at = rough_depth(ends.open_from)
    return _("margin {low} to {high} until {depth}", low=low, high=high, depth=at)
