"""Dimensions after ISO 129-1: thin extension lines, slender filled arrows, the text above its line.

Every function draws on a pen and returns the box of the text. Points and lengths are in points on the sheet.
"""

from typing import Any

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.label import text_width
from tapkit.drawing.pen import Box, Pen

TIGHT = 2 * style.ARROW_LENGTH + 6
"""Below this length the arrows stand outside."""
LIFT = 1.0
"""Gap between a dimension line and its text."""


def horizontal(pen: Pen, x0: float, x1: float, y: float, text: Any, *, start: Any = (None, None), **look: Any) -> Box:
    """A level dimension from x0 to x1 at height y; `start` holds the heights the extension lines start from.

    Where text or arrows do not fit between, they stand outside, the text at the right or, with `side="left"`, left.
    """
    side = look.pop("side", "right")
    x0, x1 = min(x0, x1), max(x0, x1)
    for x, begin in zip((x0, x1), start):
        if begin is not None:
            _extension(pen, (x, begin), (x, y))
    size = look.get("size", style.TEXT)
    text = pen.say(text)
    width = text_width(text, size) + 6
    between = x1 - x0 >= max(TIGHT, width)
    reach = _arrows(pen, (x0, y), (x1, y))
    if between:
        return pen.text((x0 + x1) / 2, y + LIFT, text, ha="center", va="bottom", **look)
    end, sign = (x0, -1) if side == "left" else (x1, 1)
    pen.line([(end + sign * reach, y), (end + sign * (reach + width), y)])
    return pen.text(end + sign * (reach + width / 2), y + LIFT, text, ha="center", va="bottom", **look)


def vertical(pen: Pen, x: float, y0: float, y1: float, text: Any, *, start: Any = (None, None), **look: Any) -> Box:
    """An upright dimension from y0 to y1 at x, its text at the left of the line, read from the right.

    Where it does not fit between, arrows and text stand outside: the text above, or below with `side="below"`.
    """
    side = look.pop("side", "above")
    y0, y1 = min(y0, y1), max(y0, y1)
    for y, begin in zip((y0, y1), start):
        if begin is not None:
            _extension(pen, (begin, y), (x, y))
    size = look.get("size", style.TEXT)
    text = pen.say(text)
    width = text_width(text, size) + 6
    reach = _arrows(pen, (x, y0), (x, y1))
    if y1 - y0 >= max(TIGHT, width):
        middle = (y0 + y1) / 2
        return pen.text(x - LIFT, middle, text, ha="right", va="center", rotation=90, **look)
    end, sign = (y0, -1) if side == "below" else (y1, 1)
    half = width / 2
    middle = min(max(end + sign * (reach + half), half), pen.height - half)
    pen.line([(x, end + sign * reach), (x, middle + sign * half)])
    return pen.text(x - LIFT, middle, text, ha="right", va="center", rotation=90, **look)


def angular(pen: Pen, centre: Any, radius: float, a0: float, a1: float, text: Any, **look: Any) -> Box:
    """An angle between directions a0 and a1 [deg] about a centre, the text beyond the arc's middle or at `at`.

    `at` is (x, y, ha, va) for the text. Small angles get their arrows from outside.
    """
    at = look.pop("at", None)
    c = np.asarray(centre, float)
    arc(pen, c, radius, a0, a1)
    if at is None:
        m = np.radians((a0 + a1) / 2)
        x, y = c + (radius + 5) * np.array([np.cos(m), np.sin(m)])
        ha = "left" if np.cos(m) > 0.3 else "right" if np.cos(m) < -0.3 else "center"
        va = "bottom" if np.sin(m) > 0.3 else "top" if np.sin(m) < -0.3 else "center"
        at = (x, y, ha, va)
    return pen.text(at[0], at[1], text, ha=at[2], va=at[3], **look)


def arc(pen: Pen, centre: Any, radius: float, a0: float, a1: float) -> None:
    """The arc of an angle between directions a0 and a1 [deg], with its arrows; a small angle gets them from outside."""
    c = np.asarray(centre, float)
    a0, a1 = min(a0, a1), max(a0, a1)
    small = np.radians(a1 - a0) * radius < 2.2 * style.ARROW_LENGTH
    spread = np.degrees(2.2 * style.ARROW_LENGTH / max(radius, 1)) if small else 0.0
    turn = np.radians(np.linspace(a0 - spread, a1 + spread, 40))
    pen.line(c + radius * np.column_stack([np.cos(turn), np.sin(turn)]), z=3.4)
    half = np.degrees(style.ARROW_LENGTH / max(radius, 1)) / 2
    for a, sign in ((a0, -1), (a1, 1)):
        sign = -sign if small else sign
        tip = c + radius * np.array([np.cos(np.radians(a)), np.sin(np.radians(a))])
        b = np.radians(a - sign * half)
        pen.arrow(tip, sign * np.array([-np.sin(b), np.cos(b)]))


def leader(pen: Pen, point: Any, elbow: Any, text: Any, *, end: str = "dot", **look: Any) -> Box:
    """A leader line from a text on its shelf to a point; it ends in a dot (on a surface) or an arrow (on a line)."""
    p, e = np.asarray(point, float), np.asarray(elbow, float)
    side = look.pop("side", None) or ("right" if e[0] >= p[0] else "left")
    size = look.get("size", style.TEXT)
    text = pen.say(text)
    width = max(text_width(line, size, look.get("bold", False)) for line in text.split("\n")) + 2
    far = e[0] + (width if side == "right" else -width)
    pen.line([p, e, (far, e[1])], z=4)
    if end == "dot":
        pen.fill(style.flute_mark(1, p[0], p[1], 3.6), style.INK, z=4)
    else:
        pen.arrow(p, p - e)
    return pen.text((e[0] + far) / 2, e[1] + LIFT, text, ha="center", va="bottom", **look)


def spaced(wanted: list[float], tall: float, low: float, high: float) -> list[float]:
    """Middles for labels of one height, as near to the wanted ones as fits without overlap, in falling order.

    >>> spaced([50.0, 48.0, 10.0], 10.0, 0.0, 100.0)
    [54.0, 44.0, 10.0]
    """
    groups: list[tuple[float, int]] = []  # first middle of a group that stands close, and how many
    for y in wanted:
        first, count = y, 1
        while groups and groups[-1][0] - groups[-1][1] * tall < first:
            above, more = groups.pop()
            first = (above * more + (first + more * tall) * count) / (more + count)
            count += more
        groups.append((first, count))
    return _kept_inside([first - i * tall for first, count in groups for i in range(count)], tall, low, high)


def _kept_inside(found: list[float], tall: float, low: float, high: float) -> list[float]:
    top = high - tall / 2
    for k, y in enumerate(found):
        found[k] = top = min(y, top)
        top -= tall
    bottom = low + tall / 2
    for k in range(len(found) - 1, -1, -1):
        found[k] = bottom = max(found[k], bottom)
        bottom += tall
    return found


def _extension(pen: Pen, begin: Any, end: Any) -> None:
    b, e = np.asarray(begin, float), np.asarray(end, float)
    length = float(np.hypot(*(e - b)))
    if length < 1e-6:
        return
    d = (e - b) / length
    pen.line([b + d * style.DIM_FROM, e + d * style.DIM_PAST])


def _arrows(pen: Pen, a: Any, b: Any) -> float:
    """A dimension line with its arrows, which stand outside where it is short; how far it reaches beyond its ends."""
    a, b = np.asarray(a, float), np.asarray(b, float)
    length = float(np.hypot(*(b - a)))
    d, out = (b - a) / max(length, 1e-9), 0.0 if length >= TIGHT else 2 * style.ARROW_LENGTH
    pen.arrow(a, d if out else -d)
    pen.arrow(b, -d if out else d)
    if out:
        pen.lines([[a - d * out, a], [b, b + d * out]])
    pen.line([a, b])
    return out
