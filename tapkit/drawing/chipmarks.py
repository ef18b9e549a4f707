"""Loose chips as small marks: curls, commas or crumbs by the kind of metal, laid evenly without a pattern."""

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.pen import Box, Pen

CELL = {"long": 11.0, "medium": 9.0, "short": 5.5}
"""Side of the room one chip takes on the sheet when a place is packed full [pt], by kind."""
GOLDEN = (0.7548776662466927, 0.5698402909980532)
"""Steps of an even scatter in the plane; the plastic number's, after Roberts 2018 [memory]."""


def scatter(count: int, box: Box) -> np.ndarray:
    """Places in a rectangle, shape (count, 2), evenly spread; the first few stay where they are as more come."""
    k = np.arange(1, count + 1)[:, None]
    share = (0.5 + k * np.array(GOLDEN)) % 1
    return np.array([box.left, box.bottom]) + share * np.array([box.right - box.left, box.top - box.bottom])


def draw_chips(pen: Pen, places: np.ndarray, chips: str, *, size: float = 1.0) -> None:
    """Chips of one kind ("long", "medium" or "short") at places on the sheet."""
    shape = SHAPES[chips] * size
    for k, place in enumerate(places):
        turn = 2.4 * k
        spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        if chips == "short":
            pen.fill(shape @ spin + place, style.CHIP, z=4.2)
        else:
            pen.line(shape @ spin + place, "edge", colour=style.CHIP, z=4.2)


def _curl() -> np.ndarray:
    t = np.linspace(0, 2.2 * 2 * np.pi, 22)
    return np.column_stack([3.0 * np.cos(t) + 0.55 * t - 3.5, 3.4 * np.sin(t)])


def _comma() -> np.ndarray:
    t = np.linspace(-0.3, 1.25 * np.pi, 9)
    return np.column_stack([3.0 * np.cos(t), 3.0 * np.sin(t)]) * np.linspace(1.3, 0.7, 9)[:, None]


SHAPES = {
    "long": _curl(),
    "medium": _comma(),
    "short": np.array([[-1.6, -0.8], [0.4, -1.5], [1.7, 0.3], [0.2, 1.4], [-1.2, 1.0]]),
}
"""Outline of one chip [pt] by kind."""
