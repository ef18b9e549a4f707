"""Text that draws fast: the picture of a text is kept.

Laying out and rasterizing a text costs matplotlib some 2 ms at every draw; a drawing with a dozen numbers that follow a
slider cannot afford that. On a pixel canvas a `Label` lays its kept picture down; anywhere else (SVG) it is a Text.
"""

from functools import lru_cache
from typing import Any

import numpy as np
from matplotlib.backend_bases import GraphicsContextBase
from matplotlib.colors import to_rgb
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.text import Text
from PIL import Image

from tapkit.drawing import style
from tapkit.drawing.matplotlibinternals import get_hinting_flag

NO_CLIP = GraphicsContextBase()
"""What a picture is laid down with: whole and opaque as it is."""
LINE_HEIGHT, LINE_STEP, DESCENT = 1.17, 1.4, 0.236
"""Height of a line, step from line to line, and depth below the baseline, in letter sizes (of DejaVu Sans)."""


@lru_cache(maxsize=2)
def _face(bold: bool) -> Any:
    return get_font(findfont(FontProperties(family=style.FONT, weight="bold" if bold else "normal")))


@lru_cache(maxsize=8192)
def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width of one line of text [pt] at a size [pt], as it comes out at 96 dots an inch."""
    return _coverage(text, round(size * 96 / 72, 3), bold)[0].shape[1] * 72 / 96


@lru_cache(maxsize=4096)
def _coverage(text: str, pixels: float, bold: bool) -> tuple[np.ndarray, int, int]:
    """How much of each pixel a line of text covers, 0 to 255; the rows below its baseline; its left bearing [px]."""
    face = _face(bold)
    face.set_size(pixels, 72)
    face.set_text(text, 0.0, flags=get_hinting_flag())
    face.draw_glyphs_to_bitmap(antialiased=True)
    return np.array(face.get_image()), round(face.get_descent() / 64), round(face.get_bitmap_offset()[0] / 64)


def _fitted(text: str, size: float, pixels: float, bold: bool) -> tuple[np.ndarray, int, int]:
    """The same as wide as the text was laid out with, whatever the size: finer letters run wider or narrower."""
    cover, below, bearing = _coverage(text, pixels, bold)
    wide = max(round(text_width(text, size, bold) * pixels / size), 1)
    if wide != cover.shape[1] and cover.size:
        cover = np.asarray(Image.fromarray(cover).resize((wide, len(cover)), Image.Resampling.LANCZOS))
    return cover, below, bearing


@lru_cache(maxsize=1024)
def _picture(
    text: str, size: float, pixels: float, bold: bool, colour: str, upright: bool
) -> tuple[np.ndarray, int, int]:
    cover, below, bearing = _fitted(text, size, pixels, bold)
    rgba = np.empty((*cover.shape, 4), np.uint8)
    rgba[..., :3] = np.round(255 * np.array(to_rgb(colour)))
    rgba[..., 3] = cover
    if upright:
        rgba = np.rot90(rgba)
    return np.ascontiguousarray(rgba[::-1]), below, bearing


class Label(Text):
    """A Text of one line, anchored at the left end of its baseline, level or read from the right (rotation 90)."""

    def __init__(self) -> None:
        super().__init__(0, 0, "", family=style.FONT, ha="left", va="baseline", zorder=6, rotation_mode="anchor")
        self.set_animated(True)
        self.set_clip_on(False)
        self._is: tuple[Any, ...] = ()

    def become(self, at: Any, text: str, rotation: float, size: float, colour: str, bold: bool) -> None:
        """Another text, place or look; nothing happens where all is as it was."""
        wanted = (float(at[0]), float(at[1]), text, rotation, size, colour, bold)
        if wanted == self._is:
            return
        self._is = wanted
        self.set_position(wanted[:2])
        self.set_text(text)
        self.set_rotation(rotation)
        self.set_fontsize(size)
        self.set_color(colour)
        self.set_fontweight("bold" if bold else "normal")

    def draw(self, renderer: Any) -> None:
        """Lay down the kept picture where the canvas takes pixels, else draw as any Text."""
        if not self.get_visible() or not self.get_text():
            return
        if not hasattr(renderer, "buffer_rgba"):
            super().draw(renderer)
            return
        at_x, at_y, text, rotation, size, colour, bold = self._is
        pixels, upright = round(renderer.points_to_pixels(size), 3), bool(rotation)
        x, y = self._pixel(at_x, at_y)
        rgba, below, bearing = _picture(text, size, pixels, bold, colour, upright)
        if upright:
            renderer.draw_image(NO_CLIP, round(x) - (rgba.shape[1] - below), round(y) + bearing, rgba)
        else:
            renderer.draw_image(NO_CLIP, round(x) + bearing, round(y) - below, rgba)
        self.stale = False

    def _pixel(self, x: float, y: float) -> tuple[float, float]:
        """The pixel of a place on its axes, whose scales are even; a third of the time the axes' transform takes."""
        (left, low), (right, high) = self.axes.bbox.get_points().tolist()
        (x0, y0), (x1, y1) = self.axes.viewLim.get_points().tolist()
        return left + (x - x0) * (right - left) / (x1 - x0), low + (y - y0) * (high - low) / (y1 - y0)
