"""The shaded tap on one sheet: from the side, straight on to the point, and what the signs mean."""

from typing import NamedTuple

import numpy as np
from matplotlib.figure import Figure

from tapkit.drawing import style
from tapkit.drawing.pen import Box, Pen
from tapkit.drawing.shaded import ShadedArtists, TapView, draw_shaded, update_shaded
from tapkit.messages import Quantity, Sentence, _

SIZE = (596, 560)
"""Size of the sheet [1/96 inch]."""
SPLIT, LOW = 0.6, 0.5
"""Share of the width the side view takes, and of the height the key takes beside it."""


class TapViewArtists(NamedTuple):
    """The side view, the view on to the point, and the key."""

    side: ShadedArtists
    point: ShadedArtists
    key: Pen


def draw_tapview(figure: Figure, view: TapView, *, system: str = "metric") -> TapViewArtists:
    """Both views and the key on an empty figure; returns the artists."""
    side = figure.add_axes((0, 0, SPLIT, 1))
    point, key = figure.add_axes((SPLIT, LOW, 1 - SPLIT, 1 - LOW)), figure.add_axes((SPLIT, 0, 1 - SPLIT, LOW))
    artists = TapViewArtists(
        draw_shaded(side, view),
        draw_shaded(point, TapView(view.tap, view.turn, 90.0), labels=False),
        Pen(key),
    )
    artists.key.memory.update(system=system)
    _key(artists, view)
    return artists


def update_tapview(artists: TapViewArtists, view: TapView) -> None:
    """Another tap, or the same held otherwise."""
    update_shaded(artists.side, view)
    update_shaded(artists.point, TapView(view.tap, view.turn, 90.0))
    _key(artists, view)


def _key(artists: TapViewArtists, view: TapView) -> None:
    """What the point view is, what the signs mean, and a rule for the size."""
    pen = artists.key
    pen.clear()
    y = pen.height - 6
    pen.text(pen.width / 2, y, _("straight on to the point"), ha="center", va="top")
    y -= 40
    for colour, hatched, words in (
        (style.STEEL_FACE, True, _("tooth that cuts")),
        ("#ded6ca", False, _("tooth that only guides")),
    ):
        box = pen.rectangle(Box(8, y - 8, 30, y + 8), colour)
        if hatched:
            pen.hatch(box, 45, 5.0, colour=style.SOFT_INK)
        pen.line(box, "thin", closed=True)
        y = _words(pen, y, words)
    pen.line([(8, y), (30, y)], "cutting", colour=style.WARN)
    y = _words(pen, y, _("cutting edge"))
    step = min(16.0, 100 / view.tap.flutes)
    for flute in range(1, view.tap.flutes + 1):
        pen.flute_mark(flute, 13 + step * (flute - 1), y, 9)
    pen.text(8 + step * view.tap.flutes, y, _flutes(view.tap.flutes), va="center")
    _rule(pen, artists, view)
    pen.flush()


def _flutes(count: int) -> Sentence:
    return _("flute 1 to {last}", last=count) if count > 1 else _("flute 1")


def _words(pen: Pen, y: float, words: Sentence) -> float:
    pen.text(38, y, words, va="center")
    return y - 27


def _rule(pen: Pen, artists: TapViewArtists, view: TapView) -> None:
    """A rule of a round length at the scale of the side view."""
    box = artists.side.pen.ax.bbox
    camera = view.camera(round(box.width), round(box.height))
    point = camera.scale * artists.side.pen.width / box.width
    unit = pen.unit("length")
    length = _round_below(90 / point * unit)
    drawn = length / unit * point
    pen.line([(10, 22), (10 + drawn, 22)], "edge")
    for x in (10.0, 10 + drawn):
        pen.line([(x, 17), (x, 27)], "edge")
    pen.text(18 + drawn, 22, Quantity(length / unit, "length", digits=3), va="center")


def _round_below(value: float) -> float:
    """The round number below a value: 1, 2 or 5 times a power of ten.

    >>> _round_below(7.3), _round_below(0.21)
    (5.0, 0.2)
    """
    decade = 10.0 ** np.floor(np.log10(value))
    return float(round(max(n for n in (1, 2, 5) if n * decade <= value * (1 + 1e-9)) * decade, 9))
