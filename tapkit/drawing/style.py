"""How every drawing looks: colours, marks, hatches, letters and lines.

The eight flute colours differ in lightness as well as in hue, so that they hold for colour-blind eyes and in grey
print (tests/drawing/test_style.py measures it); a mark and a hatch of its own go with every flute, so that colour is
never the only signal. Line types and widths after ISO 128-2, dimension arrows after ISO 129-1.

All lengths here are in points (1/72 inch) on the sheet. A picture made larger by its dots per inch grows evenly, text
and lines with it: `SCALES` holds the factors, and a sheet of 900 points at scale 1.5 is for the projector.
"""

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np

PAPER, INK, SOFT_INK, FAINT = "#ffffff", "#17202b", "#4d5865", "#c9d0d8"
STEEL, STEEL_DARK, STEEL_FACE = "#e4e8ec", "#b9c2cb", "#f6d9a8"
"""Fills of the tap: skin, flute, cutting face."""
PART, CHIP, CHIP_LIGHT, COOL = "#efe9df", "#8c6d4f", "#d9c6b0", "#d7ebf5"
"""Fills of the workpiece, of loose chips and of a chip in section, of room and of what lies under a curve."""
WARN, GOOD, ACCENT = "#b3202c", "#1d6f5c", "#1f5fa8"

FLUTES = ("#1c4b86", "#f0a63c", "#c1503a", "#a9ddd5", "#3f232a", "#9a7fe0", "#efebb4", "#8c4d5c")
"""Colour of each flute, 1 to 8."""
MARKS = ("circle", "square", "triangle", "diamond", "wedge", "cross", "hexagon", "star")
"""Mark of each flute, 1 to 8."""
HATCHES = ("none", "rising", "falling", "level", "crossed", "upright", "dots", "grid")
"""Hatch of each flute, 1 to 8."""

FONT = "DejaVu Sans"
"""The one font family; matplotlib brings it along."""
TEXT, SMALL, TITLE = 11.0, 10.0, 13.0
"""Sizes of letters [pt]; nothing is set smaller than SMALL."""

MM = 72 / 25.4
"""Points in a millimetre."""
WIDE, NARROW = 0.6 * MM, 0.3 * MM
"""Line widths, two to one as ISO 128-2 asks; 0.6 and 0.3 mm lie between its groups 0.5 and 0.7, for screens."""
ARROW_LENGTH, ARROW_ANGLE = 3.2 * MM, 15.0
"""Filled arrowhead: length [pt] and full angle [deg]; ISO 129-1 asks for a slender closed one of 15°."""
DIM_FROM, DIM_PAST = 1.5, 2.0 * MM
"""Gap at the outline and overhang past the arrow [pt]."""

SCALES = {"laptop": 1.0, "projector": 1.5}
"""Dots per inch times this; at 1.5 a sheet of the same pixels is two thirds as wide in points."""


class LineType(NamedTuple):
    """Width [pt] and dash pattern in multiples of the width; an empty pattern is a full line."""

    width: float
    dashes: tuple[float, ...] = ()


LINES = {
    "edge": LineType(WIDE),
    "thin": LineType(NARROW),
    "hair": LineType(NARROW * 0.6),
    "hidden": LineType(NARROW, (12, 3)),
    "centre": LineType(NARROW, (24, 3, 0.5, 3)),
    "phantom": LineType(NARROW, (24, 3, 0.5, 3, 0.5, 3)),
    "cutting": LineType(WIDE * 1.5),
    "bold": LineType(WIDE * 1.2),
    "bold dashed": LineType(WIDE * 1.2, (5, 2.5)),
    "worn": LineType(WIDE, (5, 2)),
}
"""Line types of ISO 128-2: visible edge (01.2), dimension and hatch (01.1), hidden edge (02.1), centre line (04.1),
neighbouring part (05.1); "hair" for grids, "cutting" for cutting edges, "bold" and "worn" for curves are ours."""


def flute_colour(flute: int) -> str:
    """Colour of a flute, counted from 1."""
    return FLUTES[(int(flute) - 1) % len(FLUTES)]


def flute_hatch(flute: int) -> str:
    """Name of a flute's hatch, counted from 1."""
    return HATCHES[(int(flute) - 1) % len(HATCHES)]


@lru_cache(maxsize=64)
def lightness(colour: str) -> float:
    """CIE lightness L* of a colour written as #rrggbb, 0 black to 100 white. Source: CIE 15.

    >>> lightness("#ffffff"), round(lightness("#808080"))
    (100.0, 54)
    """
    rgb = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    y = float(linear @ np.array([0.2126, 0.7152, 0.0722]))
    return round(116 * y ** (1 / 3) - 16 if y > 0.008856 else 903.3 * y, 3)


def on_colour(colour: str) -> str:
    """Ink or paper, whichever reads better on a colour."""
    return INK if lightness(colour) > 55 else PAPER


def flute_mark(flute: int, x: float, y: float, size: float) -> np.ndarray:
    """Outline of a flute's mark about (x, y), shape (n, 2); all marks look about as large as a circle of `size`."""
    name = MARKS[(int(flute) - 1) % len(MARKS)]
    return _MARK_SHAPES[name] * (size / 2) + (x, y)


def _ring(count: int, start: float, radius: float = 1.0) -> np.ndarray:
    a = np.radians(start) + 2 * np.pi * np.arange(count) / count
    return radius * np.column_stack([np.cos(a), np.sin(a)])


def _star() -> np.ndarray:
    points = np.empty((10, 2))
    points[::2], points[1::2] = _ring(5, 90, 1.2), _ring(5, 126, 0.55)
    return points


def _plus() -> np.ndarray:
    arm = np.array([[-0.4, 1.1], [0.4, 1.1], [0.4, 0.4]])
    quarter = np.array([[0, 1], [-1, 0]])
    return np.vstack([arm @ np.linalg.matrix_power(quarter, k).T for k in range(4)])


_MARK_SHAPES = {
    "circle": _ring(24, 0),
    "square": _ring(4, 45, 1.25),
    "triangle": _ring(3, 90, 1.3) - np.array([0, 0.15]),
    "diamond": _ring(4, 0, 1.3),
    "wedge": _ring(3, -90, 1.3) + np.array([0, 0.15]),
    "cross": _plus(),
    "hexagon": _ring(6, 0, 1.1),
    "star": _star(),
}


def hatch_lines(polygons: list[np.ndarray], angle: float, spacing: float) -> np.ndarray:
    """Straight hatch lines inside polygons, shape (lines, 2, 2); a polygon inside another is a hole in it.

    `angle` of the lines [deg], `spacing` at right angles to them [pt].
    """
    a = math.radians(angle)
    turn = np.array([[math.cos(a), math.sin(a)], [-math.sin(a), math.cos(a)]])
    rings = [p @ turn.T for p in polygons]
    start = np.concatenate(rings)
    end = np.concatenate([part for p in rings for part in (p[1:], p[:1])])
    low, high = np.minimum(start[:, 1], end[:, 1]), np.maximum(start[:, 1], end[:, 1])
    levels = np.arange(np.ceil(low.min() / spacing), np.floor(high.max() / spacing) + 1)
    levels = (levels * spacing + 1e-7)[:, None]
    rise = end[:, 1] - start[:, 1]
    share = (levels - start[:, 1]) / np.where(rise == 0, 1.0, rise)
    x = np.where((low <= levels) & (levels < high), start[:, 0] + share * (end[:, 0] - start[:, 0]), np.inf)
    x.sort(axis=1)
    x = x[:, : x.shape[1] // 2 * 2].reshape(len(levels), x.shape[1] // 2, 2)
    inside = np.isfinite(x[..., 1])
    lines = np.empty((np.count_nonzero(inside), 2, 2))
    lines[..., 0] = x[inside]
    lines[..., 1] = levels[np.nonzero(inside)[0]]
    return lines @ turn


_HATCH_ANGLES = {
    "none": (),
    "rising": (45,),
    "falling": (-45,),
    "level": (0,),
    "crossed": (45, -45),
    "upright": (90,),
    "dots": (),
    "grid": (0, 90),
}


def flute_hatch_lines(flute: int, polygon: np.ndarray, spacing: float = 5.0) -> np.ndarray:
    """The hatch of a flute inside one polygon, shape (lines, 2, 2); the last few hundred are kept."""
    return _kept_hatch(flute_hatch(flute), np.ascontiguousarray(polygon, float).tobytes(), spacing)


@lru_cache(maxsize=512)
def _kept_hatch(name: str, points: bytes, spacing: float) -> np.ndarray:
    polygon = np.frombuffer(points).reshape(-1, 2)
    if name == "dots":
        return _dots(hatch_lines([polygon], 0, spacing), spacing)
    angles = _HATCH_ANGLES[name]
    return np.concatenate([np.empty((0, 2, 2)), *(hatch_lines([polygon], a, spacing) for a in angles)])


def _dots(lines: np.ndarray, spacing: float) -> np.ndarray:
    found = [[[x, y], [x + 0.8, y]] for (x0, y), (x1, _) in lines for x in np.arange(x0 + 1.5, x1 - 1.5, spacing)]
    return np.array(found).reshape(-1, 2, 2)
