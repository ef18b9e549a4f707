"""The section of a part through a hole, upright on a sheet: its scale, its places, and the metal beside the hole."""

from typing import Any

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.pen import Pen


class HoleSection:
    """Scale and places on the sheet; depths t are below the top face, across is from the axis [mm].

    A view says what it must show: `above` the top face, `bottom` of the part, the `lowest` thing and half the width
    `outer` [mm], and the `margins` left, right, above and below [points].
    """

    above: float
    bottom: float
    lowest: float
    outer: float

    def place(self, pen: Pen, margins: tuple[float, float, float, float]) -> None:
        """Find the scale, the axis `x` and the top `face`."""
        left, right, top, bottom = margins
        wide, high = pen.width - left - right, pen.height - top - bottom
        self.scale = min(wide / (2 * self.outer), high / (self.above + self.lowest))
        spare = high - self.scale * (self.above + self.lowest)
        self.x = left + wide / 2
        self.face = pen.height - top - spare / 2 - self.scale * self.above

    def at(self, t: Any, across: Any) -> np.ndarray:
        """Points on the sheet, shape (n, 2)."""
        t, across = np.broadcast_arrays(np.asarray(t, float), np.asarray(across, float))
        return np.column_stack([self.x + self.scale * across, self.face - self.scale * t])

    def y(self, t: float) -> float:
        """Height on the sheet of a depth."""
        return float(self.face - self.scale * t)

    def metal(self, pen: Pen, left: np.ndarray, right: np.ndarray, void: np.ndarray, is_through: bool) -> np.ndarray:
        """Hatched metal about the hole's walls, its faces, free-hand breaks at the sides; gives their feet."""
        t = np.linspace(0, 1, 40)
        wave = 3 * np.sin(4 * np.pi * t)
        down = self.face - t * self.scale * self.bottom
        sides = [np.column_stack([self.x + s * self.scale * self.outer + wave, down]) for s in (-1, 1)]
        ring = np.vstack([sides[0], sides[1][::-1]])
        pen.fill(ring, style.PART, z=0.5)
        hatch = np.array(style.hatch_lines([ring, void], 45, 8))
        pen.dashes(hatch[np.ptp(hatch, axis=1).max(axis=1) > 1], colour=style.SOFT_INK, z=0.6)
        pen.fill(void, style.PAPER, z=0.7)
        pen.lines(sides, "thin")
        for side, edge in ((sides[0], left), (sides[1], right)):
            pen.line([side[0], edge[0]], "edge")
            pen.line(edge, "edge")
            if is_through:
                pen.line([side[-1], edge[-1]], "edge")
        return np.array([sides[0][-1], sides[1][-1]])

    def axis(self, pen: Pen, low: float) -> None:
        """The centre line, down to a depth."""
        over = 8 / self.scale
        pen.line(self.at([-self.above - over, low + over], [0, 0]), "centre", z=3.9)
