"""How tall a text gets on paper, reckoned before it is printed, from the widths of DejaVu Sans.

The other letters a page may fall back on are as wide or narrower, so that what is reckoned is enough.
"""

from functools import cache

POINT = 25.4 / 72
"""Millimetres of a typographic point."""
SPARE = 1.03


def lines_of(text: str, *, width: float, size: float) -> int:
    """Lines that a text takes in a column of a width [mm] at a size of letters [pt], a break at every blank."""
    return sum(_lines(part, width, size) for part in text.splitlines() or [""])


def _lines(text: str, width: float, size: float) -> int:
    count, at, blank = 1, 0.0, width_of(" ", size)
    for word in text.split():
        long = width_of(word, size)
        if at and at + blank + long > width:
            count, at = count + 1, long
        else:
            at += long + (blank if at else 0.0)
        while at > width:  # a word longer than the line is broken
            count, at = count + 1, at - width
    return count


def width_of(text: str, size: float) -> float:
    """Width of a text [mm] at a size of letters [pt], with a little to spare."""
    return SPARE * size * POINT * sum(map(_advance, text))


@cache
def _advance(sign: str) -> float:
    """Width of one sign at size 1."""
    font = _font()
    font.load_char(ord(sign))
    return (font.get_char_index(ord(sign)) and font.load_char(ord(sign)).linearHoriAdvance / 65536 / 100) or 0.8


@cache
def _font():
    from matplotlib import font_manager
    from matplotlib.ft2font import FT2Font

    font = FT2Font(font_manager.findfont("DejaVu Sans"))
    font.set_size(100, 72)
    return font
