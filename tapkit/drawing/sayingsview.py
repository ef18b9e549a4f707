"""Two sayings in one picture: the sum of the tooth forces by the part's thickness, and one tooth's load."""

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.chart import Chart, nice_ceiling
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.messages import Number, Unit, _, threads_of
from tapkit.sayings import Sayings

LONG, SHORT = 1, 3
"""Flutes whose colours and marks stand for the long and the short chamfer."""


@drawn()
def draw_sayings(pen: Pen, found: Sayings) -> None:
    """The two sayings: torque at the left, teeth at the right."""
    split = 0.66 * pen.width
    _legend(pen, found)
    _torque(pen, found, Box(60, 52, split - 20, pen.height - 66))
    _teeth(pen, found, Box(split + 56, 52, pen.width - 14, pen.height - 66))


def _legend(pen: Pen, found: Sayings) -> None:
    left, y = 8.0, pen.height - 14
    for flute, kind, job in ((LONG, "bold", found.long), (SHORT, "bold dashed", found.short)):
        pen.line([(left, y), (left + 30, y)], kind, colour=style.flute_colour(flute))
        pen.flute_mark(flute, left + 15, y, 9)
        told = _("chamfer {threads}", threads=threads_of(job.tap.chamfer_threads, digits=4))
        left = pen.text(left + 37, y, told, va="center").right + 22


def _torque(pen: Pen, found: Sayings, box: Box) -> None:
    across, up = map(pen.unit, ("length", "torque"))
    top = nice_ceiling(1.06 * up * float(max(found.torque_long.max(), found.torque_short.max())))
    chart = Chart(pen, box, x=(0.0, across * float(found.thicknesses[-1])), y=(0.0, top))
    chart.y_axis(_("sum of the tooth forces alone, {unit}", unit=Unit("torque")))
    chart.x_axis(_("thickness of the part, {unit}", unit=Unit("length")))
    for torque, flute, kind in ((found.torque_long, LONG, "bold"), (found.torque_short, SHORT, "bold dashed")):
        points = chart.points(np.concatenate([[0.0], found.thicknesses]) * across, np.concatenate([[0.0], torque]) * up)
        pen.line(points, kind, colour=style.flute_colour(flute))
    if found.crossing is not None:
        x = float(chart.across(found.crossing * across))
        pen.line([(x, box.bottom), (x, box.top)], "hidden", colour=style.SOFT_INK)
        room = x < 0.6 * box.right
        pen.text(
            x + (6 if room else -6),
            box.bottom + 8,
            _("here they change places"),
            ha="left" if room else "right",
            paper=True,
        )
    x = float(chart.across(found.thickness * across))
    pen.line([(x, box.bottom), (x, box.top)], "thin")
    for job, flute in ((found.long, LONG), (found.short, SHORT)):
        pen.flute_mark(flute, x, float(chart.up(job.torque_curve.peak * up)), 11)


def _teeth(pen: Pen, found: Sayings, box: Box) -> None:
    force = [float(j.tooth_loads.force.max()) * pen.unit("force") for j in (found.long, found.short)]
    chart = Chart(pen, box, x=(0.0, 2.0), y=(0.0, nice_ceiling(1.12 * max(force))))
    pen.text(box.left - 40, box.top + 10, _("hardest-loaded tooth, {unit}", unit=Unit("force")), size=style.TEXT)
    for value, flute, x in zip(force, (LONG, SHORT), (0.5, 1.5)):
        left, right, y = float(chart.across(x - 0.3)), float(chart.across(x + 0.3)), float(chart.up(value))
        pen.flute_fill(flute, Box(left, box.bottom, right, y), kind="thin")
        pen.text((left + right) / 2, y + 4, Number(value), ha="center", bold=True)
        pen.flute_mark(flute, (left + right) / 2, box.bottom - 14, 10)
