"""A chart on a pen: a frame of two axes with a few round ticks, all in the pen's own artists."""

import math
from typing import Any

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.label import text_width
from tapkit.drawing.pen import Box, Pen
from tapkit.messages import _

ROUND = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)


def nice_ceiling(value: float) -> float:
    """The next round number at or above a value.

    >>> nice_ceiling(173), nice_ceiling(0.031)
    (200.0, 0.04)
    """
    if value <= 0:
        return 1.0
    decade = 10.0 ** math.floor(math.log10(value))
    return round(next(n for n in ROUND if n * decade >= value * (1 - 1e-9)) * decade, 12)


def round_steps(low: float, high: float, most: int = 6) -> list[float]:
    """Round tick values between two limits, at most `most` steps.

    >>> round_steps(0, 200, 5)
    [0.0, 50.0, 100.0, 150.0, 200.0]
    """
    rough = (high - low) / max(most, 1)
    decade = 10.0 ** math.floor(math.log10(rough))
    step = next(n for n in (1, 2, 5, 10) if n * decade >= rough * (1 - 1e-9)) * decade
    first = math.ceil(low / step - 1e-9)
    return [round(k * step, 12) for k in range(first, math.floor(high / step + 1e-9) + 1)]


def tick_text(value: float, step: float) -> str:
    """A tick's number with as many decimals as its step needs, and a true minus."""
    if not value:
        return "0"
    digits = max(0, -math.floor(math.log10(step) + 1e-9)) if step > 0 else 0
    return f"{value:.{digits}f}".replace("-", "−")


class Chart:
    """Maps data to the sheet in a box and draws axes.

    Parameters: `pen`; `box` of the plotting field [pt]; `x` and `y` limits in data units.
    """

    def __init__(self, pen: Pen, box: Box, *, x: tuple[float, float], y: tuple[float, float]) -> None:
        self.pen, self.box, self.x, self.y = pen, box, x, y
        pen.line([(box.left, box.bottom), (box.right, box.bottom)], "thin")
        pen.line([(box.left, box.bottom), (box.left, box.top)], "thin")

    def across(self, x: Any) -> Any:
        """Place on the sheet of a data value along x."""
        low, high = self.x
        return self.box.left + (np.asarray(x, float) - low) / (high - low) * (self.box.right - self.box.left)

    def up(self, y: Any) -> Any:
        """Place on the sheet of a data value along y."""
        low, high = self.y
        return self.box.bottom + (np.asarray(y, float) - low) / (high - low) * (self.box.top - self.box.bottom)

    def points(self, x: Any, y: Any) -> np.ndarray:
        """Places on the sheet of many data points, shape (n, 2)."""
        return np.column_stack([self.across(x), self.up(y)])

    def y_axis(self, title: Any, *, most: int | None = None) -> None:
        """Ticks, faint grid lines, and the title level above the axis."""
        room = self.box.top - self.box.bottom
        ticks = round_steps(*self.y, most or max(3, int(room / 26)))
        step = ticks[1] - ticks[0] if len(ticks) > 1 else 1.0
        for value in ticks:
            y = float(self.up(value))
            self.pen.line([(self.box.left - 4, y), (self.box.left, y)])
            if value > self.y[0]:
                self.pen.line([(self.box.left, y), (self.box.right, y)], "hair", colour=style.FAINT, z=0.5)
            self.pen.text(self.box.left - 7, y, tick_text(value, step), size=style.SMALL, ha="right", va="center")
        self.pen.text(6, self.box.top + 8, title, size=style.TEXT)

    def x_axis(self, title: Any) -> None:
        """Ticks and the title level below the axis."""
        room = self.box.right - self.box.left
        widest = 1.2 * text_width(f"{self.x[1]:.0f}", style.SMALL) + 8
        ticks = round_steps(*self.x, max(2, int(room / max(48, widest))))
        step = ticks[1] - ticks[0] if len(ticks) > 1 else 1.0
        for value in ticks:
            self.x_label(value, tick_text(value, step))
        self.pen.text(self.box.right, self.box.bottom - 39, title, size=style.TEXT, ha="right")

    def x_label(self, value: float, text: str) -> None:
        """One tick with its number."""
        x = float(self.across(value))
        self.pen.line([(x, self.box.bottom), (x, self.box.bottom - 4)])
        half = 0.6 * text_width(text, style.SMALL) + 2  # finer letters, as on the projector, run wider
        x = min(max(x, half), self.pen.width - half)
        self.pen.text(x, self.box.bottom - 6, text, size=style.SMALL, ha="center", va="top")


def flute_legend(pen: Pen, flutes: int, y: float) -> float:
    """Colour, hatch and mark of every flute in one row at height y; returns where the row ends."""
    wide, apart = (14, 8) if flutes > 4 else (20, 11)
    x = pen.text(8.0, y, _("flute"), va="center").right + apart - 3
    for flute in range(1, flutes + 1):
        pen.flute_fill(flute, Box(x, y - 7, x + wide, y + 7), kind="thin")
        pen.flute_mark(flute, x + wide + 9, y, 9)
        x = pen.text(x + wide + 17, y, str(flute), va="center").right + apart
    return x
