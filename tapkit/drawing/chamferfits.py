"""Which chamfers fit a hole: a bar of room to spare for each, to the left where it is missing."""

import math

from tapkit.drawing import style
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.messages import Sentence, _, length, of_table, threads_of
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holefit import ChamferFit, chamfer_fits, longest_chamfer

TITLE, FOOT, SIDE = 24.0, 36.0, 10.0


@drawn()
def draw_chamferfits(pen: Pen, ask: DrawingAsk) -> None:
    """Every named chamfer and the room it leaves or lacks."""
    fits = chamfer_fits(ask)
    pen.text(SIDE, pen.height - TITLE + 4, _("Which chamfer fits?"), size=style.TEXT, bold=True)
    known = [abs(f.spare) for f in fits if math.isfinite(f.spare)]
    most = max([*known, ask.thread.pitch])
    tall = (pen.height - TITLE - FOOT) / len(fits)
    middle = pen.width / 2
    for i, fit in enumerate(fits):
        top = pen.height - TITLE - i * tall
        _row(pen, fit, Box(SIDE, top - tall, pen.width - SIDE, top), middle, most)
    pen.text(SIDE, 20, _longest(ask), size=style.SMALL)


def _longest(ask: DrawingAsk) -> Sentence:
    longest = longest_chamfer(ask)
    if math.isinf(longest):
        return _("nothing limits the chamfer")
    if longest < 1:
        return _("not even one thread of chamfer fits")
    threads = threads_of(math.floor(longest * 10 + 1e-6) / 10, digits=4)
    return _("longest that fits: {threads}", threads=threads)


def _row(pen: Pen, fit: ChamferFit, box: Box, middle: float, most: float) -> None:
    sign, colour = ("✓", style.GOOD) if fit.fits else ("✗", style.WARN)
    x = pen.text(box.left, box.top - 15, sign, size=style.TITLE, colour=colour, bold=True).right + 5
    right = pen.text(x, box.top - 15, of_table(fit.name), size=style.TEXT, bold=True).right
    pen.text(right + 6, box.top - 15, threads_of(fit.threads, digits=4), size=style.SMALL)
    pen.text(
        x, box.top - 28, _("British: {british}", british=of_table(fit.british)), size=style.SMALL, colour=style.SOFT_INK
    )
    low, high = box.top - 45, box.top - 32
    if math.isinf(fit.spare):
        pen.text(x, low, _("nothing limits it"), size=style.SMALL)
        return
    reach = (box.right - middle - 2) * min(abs(fit.spare) / most, 1.0)
    bar = Box(middle, low, middle + reach, high) if fit.fits else Box(middle - reach, low, middle, high)
    corners = pen.rectangle(bar, colour, "thin", z=1)
    if not fit.fits:
        pen.hatch(corners, 45, 5, colour=style.PAPER)
    pen.line([(middle, low - 3), (middle, high + 3)], "edge")
    room = length(abs(fit.spare), decimals=2, inch_decimals=3)
    words = _("{length} to spare", length=room) if fit.fits else _("{length} too deep", length=room)
    side, ha = (-5, "right") if fit.fits else (5, "left")
    pen.text(middle + side, (low + high) / 2, words, size=style.SMALL, ha=ha, va="center")
