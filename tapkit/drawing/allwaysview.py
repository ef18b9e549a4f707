"""Every way to tap one hole: the torque each is to expect as a bar from least to most, beside what its tap bears."""

from tapkit.drawing import style
from tapkit.drawing.chart import Chart, nice_ceiling
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.messages import Unit, _
from tapkit.planning.allways import AllWays

NAMES = 310.0
"""Room for the names of the ways [pt]."""


@drawn()
def draw_allways(pen: Pen, model: AllWays) -> None:
    """A bar for each way."""
    turns = pen.unit("torque")
    ends = [way.operation.expected_torque.peak for way in model.ways]
    bears = [way.operation.breakage.torque_range[0] for way in model.ways]
    top = nice_ceiling(1.05 * turns * max(max(high for _low, high in ends), min(bears)))
    chart = Chart(pen, Box(NAMES, 46, pen.width - 20, pen.height - 34), x=(0.0, top), y=(0.0, 1.0))
    chart.x_axis(_("torque to expect, {unit}", unit=Unit("torque")))
    tall = (chart.box.top - chart.box.bottom) / len(model.ways)
    for i, (way, (low, high), least) in enumerate(zip(model.ways, ends, bears)):
        y = chart.box.top - (i + 0.5) * tall
        good = way.judged.advised
        pen.text(NAMES - 8, y, way.name, ha="right", va="center", size=style.SMALL)
        left, right = (float(chart.across(end * turns)) for end in (low, high))
        bar = pen.rectangle(Box(left, y - 0.26 * tall, max(right, left + 2), y + 0.26 * tall))
        pen.fill(bar, style.COOL if good else style.PAPER)
        if not good:
            pen.hatch(bar, 45, 7, colour=style.SOFT_INK)
        pen.line(bar, "thin", closed=True)
        open_from = way.operation.expected_torque.open_from
        if open_from is not None:
            pen.arrow((right + 24, y), (1, 0), colour=style.WARN)
            pen.line([(right, y), (right + 20, y)], "thin", colour=style.WARN)
        if least * turns <= top:
            x = float(chart.across(least * turns))
            pen.line([(x, y - 0.4 * tall), (x, y + 0.4 * tall)], "bold", colour=style.WARN)
    y = pen.height - 14
    x = 150.0
    pen.line([(x, y - 6), (x, y + 6)], "bold", colour=style.WARN)
    end = pen.text(x + 6, y, _("the weakest such tap breaks"), va="center", size=style.SMALL).right + 16
    swatch = pen.rectangle(Box(end, y - 5, end + 14, y + 5))
    pen.hatch(swatch, 45, 7, colour=style.SOFT_INK)
    pen.line(swatch, "thin", closed=True)
    end = pen.text(end + 19, y, _("will not do"), va="center", size=style.SMALL).right + 16
    pen.line([(end, y), (end + 14, y)], "thin", colour=style.WARN)
    pen.arrow((end + 18, y), (1, 0), colour=style.WARN)
    pen.text(end + 23, y, _("chips jam: no upper end"), va="center", size=style.SMALL)
