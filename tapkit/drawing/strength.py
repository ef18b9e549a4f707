"""The strength of a tap against the torque to expect: fresh, worn, and at breakage, each with its range."""

from typing import NamedTuple

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.chart import Chart, nice_ceiling, round_steps, tick_text
from tapkit.drawing.label import text_width
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.drawing.torquechart import margin_of, margin_title
from tapkit.drawing.words import brief
from tapkit.messages import Number, Sentence, Span, Unit, _, stress, text
from tapkit.operation import Operation

LEFT, RIGHT, TOP, FACTS = 14.0, 16.0, 34.0, 118.0
"""Room around the bars, and for the facts below them [pt]."""
BAR = 20.0


class StrengthRow(NamedTuple):
    """One bar: words, torque [N·m], colour, flute whose hatch it has (0 for none), and its range or None."""

    words: Sentence
    torque: float
    colour: str
    hatch: int
    span: tuple[float, float] | None


@drawn()
def draw_strength(pen: Pen, job: Operation) -> None:
    """Bars of torque: what the cut needs and what breaks the tap, with the margin; below them the section's facts.

    The scale stays while the bars fit it.
    """
    turns = pen.unit("torque")
    rows = _rows(job)
    most = max(max(r.torque, r.span[1] if r.span else 0) for r in rows) * turns
    if "top" not in pen.memory or most > pen.memory["top"] or most < 0.4 * pen.memory["top"]:
        pen.memory["top"] = nice_ceiling(1.08 * most)
    box = Box(LEFT, FACTS + 40, pen.width - RIGHT, pen.height - TOP)
    chart = Chart(pen, box, x=(0, pen.memory["top"]), y=(0, len(rows)))
    _axis(pen, chart)
    for k, row in enumerate(rows):
        _bar(pen, chart, row, len(rows) - 1 - k, turns)
    pen.text(LEFT, pen.height - 8, margin_title(job.breakage), va="top", bold=True, size=style.TITLE)
    _facts(pen, job)


def describe_strength(job: Operation, system: str = "metric") -> str:
    """One or two sentences on the margin; also the alt text."""
    return text(_("Torque to expect: {told}.", told=job.expected_torque.told()), margin_of(job.breakage)).said(system)


def _rows(job: Operation) -> list[StrengthRow]:
    ends, found = job.breakage, job.expected_torque
    more = ends.margin_middle / ends.margin_middle_worn if np.isfinite(ends.margin_middle) else 1.0
    worn = tuple(more * t for t in found.peak)
    words = _("expected, worn (× {factor})", factor=Number(more, digits=2))
    return [
        StrengthRow(_("expected, fresh"), found.middle, style.ACCENT, 0, found.peak),
        StrengthRow(words, more * found.middle, style.FLUTES[2], 3, worn),
        StrengthRow(_("the tap breaks"), ends.torque, style.WARN, 0, ends.torque_range),
    ]


def _axis(pen: Pen, chart: Chart) -> None:
    box = chart.box
    ticks = round_steps(*chart.x, max(2, int((box.right - box.left) / 60)))
    for value in ticks:
        x = float(chart.across(value))
        pen.line([(x, box.bottom), (x, box.top)], "hair", colour=style.FAINT, z=0.5)
        pen.line([(x, box.bottom), (x, box.bottom - 4)])
        text = tick_text(value, ticks[1] - ticks[0])
        x = min(x, pen.width - 3 - text_width(text, style.SMALL) / 2)
        pen.text(x, box.bottom - 6, text, size=style.SMALL, ha="center", va="top")
    pen.text(box.right, box.bottom - 36, _("torque, {unit}", unit=Unit("torque")), ha="right")


def _bar(pen: Pen, chart: Chart, row: StrengthRow, place: int, turns: float) -> None:
    step = (chart.box.top - chart.box.bottom) / 3
    low = chart.box.bottom + place * step + 5
    tall = min(BAR, step - 26)
    end = float(chart.across(row.torque * turns))
    corners = pen.rectangle(Box(chart.box.left, low, end, low + tall))
    pen.fill(corners, row.colour)
    if row.hatch:
        pen.dashes(style.flute_hatch_lines(row.hatch, corners), colour=style.PAPER, z=1.3)
    pen.line(corners, "thin", closed=True)
    asked = Span(*row.span, "torque", digits=2) if row.span else brief(row.torque, "torque")
    told = _("{what}: {torque}", what=row.words, torque=asked)
    pen.text(chart.box.left + 3, low + tall + 1, told, paper=True)
    if row.span:
        a, b = (float(chart.across(t * turns)) for t in row.span)
        y = low + tall / 2
        pen.line([(a, y), (b, y)], "edge", z=3.5)
        for x in (a, b):
            pen.line([(x, y - 6), (x, y + 6)], "edge", z=3.5)


def _facts(pen: Pen, job: Operation) -> None:
    """The section in numbers, and what the sum leaves out."""
    s = job.section
    per = job.shear_at_breakage / job.breakage.torque if job.breakage.torque else 0.0
    shear = Span(*(per * t for t in job.expected_torque.peak), "stress", digits=2)
    ratio = float(s.shortcut_stress) / per if per else 0.0
    lines = (
        _("largest shear in the cut: {stress}", stress=shear),
        _("assumed to break at {stress}; line: its range", stress=stress(job.shear_at_breakage)),
        _("the core circle alone: {ratio} times that shear", ratio=Number(ratio, decimals=1)),
        _("least: true outline; most: flutes as arcs"),
        _("left out: helix, neck, thread notch, faces ground back"),
    )
    for k, line in enumerate(lines):
        pen.text(LEFT, FACTS - 18 - 17 * k - 20, line, size=style.SMALL)
