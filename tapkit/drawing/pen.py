"""The pen: draws on a sheet measured in points, into artists that are kept and changed in place.

A view is one function that puts strokes, fills and texts on a pen for a model (`drawn`). To draw is to do it on a new
pen, to update is to do it again on the same one: the pen fills the same few matplotlib artists anew. All its artists
are "animated": a plain redraw of the canvas leaves them out, so what it gives is the background to blit on, and a saved
figure holds everything. A pen is iterable: its artists in the order to be drawn.
"""

import contextlib
from collections.abc import Callable, Iterator, Sequence
from contextvars import ContextVar
from functools import lru_cache, wraps
from typing import Any, NamedTuple
from zlib import crc32

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import PathPatch
from matplotlib.path import Path

from tapkit import units
from tapkit.drawing import style
from tapkit.drawing.label import DESCENT, LINE_HEIGHT, LINE_STEP, Label, text_width
from tapkit.messages import said

_mask: ContextVar[Callable[[str], str] | None] = ContextVar("what texts become", default=None)


@contextlib.contextmanager
def masked(mask: Callable[[str], str] | None) -> Iterator[None]:
    """Texts are drawn as `mask` makes them, for as long as it holds; None leaves them as they are."""
    token = _mask.set(mask)
    try:
        yield
    finally:
        _mask.reset(token)


class Box(NamedTuple):
    """A rectangle on the sheet [pt]."""

    left: float
    bottom: float
    right: float
    top: float

    def grown(self, by: float) -> "Box":
        """The rectangle, wider by `by` on every side."""
        return Box(self.left - by, self.bottom - by, self.right + by, self.top + by)

    def meets(self, other: "Box") -> bool:
        """Whether two rectangles share any area."""
        return (
            self.left < other.right and other.left < self.right and self.bottom < other.top and other.bottom < self.top
        )

    def is_cut(self, start: Any, end: Any) -> bool:
        """Whether a straight line from point to point runs through the rectangle."""
        first, way = np.asarray(start, float), np.subtract(end, start)
        with np.errstate(divide="ignore", invalid="ignore"):
            shares = np.sort([(np.array(corner) - first) / way for corner in (self[:2], self[2:])], axis=0)
        return bool(max(0.0, np.nanmax(shares[0])) < min(1.0, np.nanmin(shares[1])))

    def inside(self, other: "Box") -> bool:
        """Whether this rectangle lies wholly in the other."""
        return (
            self.left >= other.left
            and self.right <= other.right
            and self.bottom >= other.bottom
            and self.top <= other.top
        )


def text_box(
    x: float, y: float, text: str, size: float, ha: str, va: str, rotation: float = 0, bold: bool = False
) -> Box:
    """The rectangle a text of one or more lines covers on the sheet; rotation 0 or 90."""
    lines = text.split("\n")
    width = max(text_width(line, size, bold) for line in lines)
    height = size * (LINE_HEIGHT + (len(lines) - 1) * LINE_STEP)
    if rotation:
        width, height = height, width
    left = {"left": x, "center": x - width / 2, "right": x - width}[ha]
    bottom = {"bottom": y, "center": y - height / 2, "top": y - height}[va]
    return Box(left, bottom, left + width, bottom + height)


class Pen:
    """Strokes, fills and texts on one axes, in points from its lower left corner.

    Parameters: `ax` the axes, whose own frame and ticks are switched off. `memory` is for what a drawing wants to
    keep from one update to the next, such as steady limits of an axis; `drawn` for what its artists show now.
    """

    def __init__(self, ax: Axes) -> None:
        ax.set_axis_off()
        self.ax = ax
        self.memory: dict[str, Any] = {}
        self.drawn: Any = None
        self.boxes: list[Box] = []
        self._paths: dict[tuple, list[tuple[np.ndarray, np.ndarray]]] = {}
        self._patches: dict[tuple, PathPatch] = {}
        self._texts: list[Label] = []
        self._used = 0
        self.measure()

    def measure(self) -> None:
        """Take the size of the axes anew."""
        self.width, self.height = (float(v) for v in self.ax.bbox.size / self.ax.figure.dpi * 72)
        self.ax.set_xlim(0, self.width)
        self.ax.set_ylim(0, self.height)

    @property
    def sheet(self) -> Box:
        return Box(0, 0, self.width, self.height)

    def __iter__(self) -> Iterator[Any]:
        yield from sorted(self._patches.values(), key=lambda p: p.get_zorder())
        yield from self._texts

    def clear(self) -> None:
        """Begin a new picture."""
        self._paths, self.boxes, self._used = {}, [], 0

    # --- strokes ----------------------------------------------------------------------------------

    def line(
        self, points: Any, kind: str = "thin", *, colour: str = style.INK, closed: bool = False, z: float = 3
    ) -> None:
        """A line through points, shape (n, 2); upright and level lines are kept apart to fall on whole pixels."""
        p = np.asarray(points, float).reshape(-1, 2)
        square = len(p) == 2 and bool(p[0, 0] == p[1, 0] or p[0, 1] == p[1, 1])
        self._paths.setdefault((z, "line", kind, colour, square), []).append(_coded(p, closed))

    def lines(self, many: Sequence[Any], kind: str = "thin", *, colour: str = style.INK) -> None:
        for points in many:
            self.line(points, kind, colour=colour)

    def strands(self, points: np.ndarray, seen: np.ndarray, kind: str = "thin", *, z: float = 3) -> None:
        """Many lines at once, `points` of shape (lines, samples, 2), drawn where `seen` (lines, samples) holds."""
        before = np.zeros_like(seen)
        before[:, 1:] = seen[:, :-1]
        codes = np.where(before, Path.LINETO, Path.MOVETO).astype(np.uint8)[seen]
        if len(codes):
            self._paths.setdefault((z, "line", kind, style.INK, False), []).append((points[seen], codes))

    def dashes(self, lines: np.ndarray, *, colour: str = style.INK, z: float = 3) -> None:
        """Many straight thin pieces at once, shape (pieces, 2, 2)."""
        if len(lines):
            codes = np.tile(np.array([Path.MOVETO, Path.LINETO], np.uint8), len(lines))
            self._paths.setdefault((z, "line", "thin", colour, False), []).append((lines.reshape(-1, 2), codes))

    def fills(self, rings: np.ndarray, colour: str, *, z: float = 1) -> None:
        """Many filled polygons of as many corners, shape (polygons, corners, 2)."""
        if len(rings):
            closed = np.concatenate([rings, rings[:, :1]], axis=1)
            codes = np.full(closed.shape[:2], Path.LINETO, np.uint8)
            codes[:, 0], codes[:, -1] = Path.MOVETO, Path.CLOSEPOLY
            self._paths.setdefault((z, "fill", colour, 1.0), []).append((closed.reshape(-1, 2), codes.ravel()))

    def fill(self, points: Any, colour: str, *, alpha: float = 1.0, z: float = 1) -> None:
        """A filled polygon without outline, shape (n, 2)."""
        p = np.asarray(points, float).reshape(-1, 2)
        self._paths.setdefault((z, "fill", colour, alpha), []).append(_coded(p, True))

    def rectangle(self, box: Box, colour: str | None = None, kind: str | None = None, *, z: float = 1) -> np.ndarray:
        """A rectangle, filled, outlined or both; returns its corners."""
        corners = np.array([[box.left, box.bottom], [box.right, box.bottom], [box.right, box.top], [box.left, box.top]])
        if colour:
            self.fill(corners, colour, z=z)
        if kind:
            self.line(corners, kind, closed=True)
        return corners

    def hatch(
        self, polygons: Any, angle: float = 45, spacing: float = 7.0, *, colour: str = style.INK, z: float = 1.5
    ) -> None:
        """Section hatching in a polygon or a list of them (one inside another leaves a hole)."""
        rings = polygons if isinstance(polygons, list) else [np.asarray(polygons, float)]
        self.dashes(style.hatch_lines(rings, angle, spacing), colour=colour, z=z)

    def arrow(self, tip: Any, toward: Any, *, colour: str = style.INK, size: float = 1.0, z: float = 4) -> None:
        """A filled slender arrowhead at `tip`, pointing in the direction `toward`."""
        d = np.asarray(toward, float)
        d = d / max(float(np.hypot(*d)), 1e-9) * style.ARROW_LENGTH * size
        side = np.array([-d[1], d[0]]) * np.tan(np.radians(style.ARROW_ANGLE / 2))
        tip = np.asarray(tip, float)
        self.fill([tip, tip - d + side, tip - d - side], colour, z=z)

    def flute_mark(self, flute: int, x: float, y: float, size: float = 9.0) -> None:
        """The mark of a flute, in its colour with an outline in ink."""
        shape = style.flute_mark(flute, x, y, size)
        self.fill(shape, style.flute_colour(flute), z=4.5)
        self.line(shape, "thin", closed=True, z=4.6)

    def flute_fill(self, flute: int, polygon: Any, *, spacing: float = 5.0, kind: str | None = None) -> None:
        """A polygon or a box in the colour and hatch of a flute, outlined by a `kind` of line or by none."""
        corners = self.rectangle(polygon) if isinstance(polygon, Box) else np.asarray(polygon, float)
        colour = style.flute_colour(flute)
        self.fill(corners, colour)
        self.dashes(style.flute_hatch_lines(flute, corners, spacing), colour=style.on_colour(colour), z=1.2)
        if kind:
            self.line(corners, kind, closed=True)

    def unit(self, kind: str) -> float:
        """How much one of our own units of a kind is in the system of units in `memory`."""
        return units.convert(1.0, kind, self.memory["system"])

    # --- texts ------------------------------------------------------------------------------------

    def say(self, text: Any) -> str:
        """A sentence, a quantity or a plain text as it is written here: in the system of units in `memory`."""
        words = text if isinstance(text, str) else said(text, self.memory.get("system", "metric"))
        mask = _mask.get()
        return mask(words) if mask else words

    def text(
        self,
        x: float,
        y: float,
        text: Any,
        *,
        size: float = style.TEXT,
        ha: str = "left",
        va: str = "bottom",
        rotation: float = 0,
        colour: str = style.INK,
        bold: bool = False,
        paper: bool = False,
    ) -> Box:
        """A text at (x, y), and the rectangle it covers; `paper` clears the ground behind it."""
        text = self.say(text)
        box = text_box(x, y, text, size, ha, va, rotation, bold)
        if paper:
            self.rectangle(box.grown(1.5), style.PAPER, z=4.8)
        self.boxes.append(box)
        share = {"left": 0.0, "center": 0.5, "right": 1.0}[ha]
        lines = text.split("\n")
        for k, line in enumerate(lines):
            up = size * (DESCENT + (len(lines) - 1 - k) * LINE_STEP)
            room = (box.top - box.bottom if rotation else box.right - box.left) - text_width(line, size, bold)
            anchor = (
                (box.right - up, box.bottom + share * room) if rotation else (box.left + share * room, box.bottom + up)
            )
            self._next_text().become(anchor, line, rotation, size, colour, bold)
        return box

    def _next_text(self) -> Label:
        if self._used == len(self._texts):
            self._texts.append(self.ax.add_artist(Label()))
        self._used += 1
        artist = self._texts[self._used - 1]
        artist.set_visible(True)
        return artist

    def is_free(self, box: Box, gap: float = 2.0) -> bool:
        """Whether a rectangle lies on the sheet and clear of all texts so far."""
        return box.inside(self.sheet) and not any(box.grown(gap).meets(b) for b in self.boxes)

    def is_clear(self, start: Any, end: Any) -> bool:
        """Whether a straight line from point to point runs clear of all texts so far."""
        return not any(box.is_cut(start, end) for box in self.boxes)

    def keep_clear(self, box: Box) -> None:
        """Keep later placed labels out of a rectangle."""
        self.boxes.append(box)

    def place(self, text: Any, spots: Sequence[tuple[float, float, str, str]], **look: Any) -> Box | None:
        """A text at the first free spot (x, y, ha, va) of several; None and nothing drawn where none is free."""
        text = self.say(text)
        size, bold, rotation = look.get("size", style.TEXT), look.get("bold", False), look.get("rotation", 0)
        for x, y, ha, va in spots:
            if self.is_free(text_box(x, y, text, size, ha, va, rotation, bold)):
                return self.text(x, y, text, ha=ha, va=va, **look)
        return None

    # --- into the artists -------------------------------------------------------------------------

    def flush(self) -> None:
        """Put what was drawn into the artists; those with nothing to show are hidden, those that stay not touched."""
        for key, parts in self._paths.items():
            patch = self._patches.get(key) or self._new_patch(key)
            path = _compound(parts)
            if not _alike(path, patch.get_path()):
                patch.set_path(path)
                patch.stale = True  # set_path does not say so itself
            patch.set_visible(True)
        for key in self._patches.keys() - self._paths.keys():
            self._patches[key].set_visible(False)
        for artist in self._texts[self._used :]:
            artist.set_visible(False)

    def _new_patch(self, key: tuple) -> PathPatch:
        z, what, *rest = key
        z += crc32(repr(key).encode()) / 2**32 * 1e-4  # of two on one layer the same is on top in every picture
        patch = PathPatch(Path(np.zeros((1, 2))), zorder=z, animated=True, clip_on=True)
        patch.set_label(f"{what} {' '.join(str(r) for r in rest[:-1])} {key[0]:g}")
        if what == "fill":
            patch.set(facecolor=rest[0], edgecolor="none", linewidth=0, alpha=rest[1])
        else:
            kind = style.LINES[rest[0]]
            patch.set(facecolor="none", edgecolor=rest[1], linewidth=kind.width, joinstyle="round")
            patch.set(capstyle="butt" if kind.dashes else "round")
            if kind.dashes:
                patch.set_linestyle((0, kind.dashes))
        self.ax.add_patch(patch)
        self._patches[key] = patch
        return patch


def drawn(**usual: Any) -> Callable[[Callable[..., None]], Any]:
    """Makes a view of the function that paints it: called with an axes it draws on a new pen, which it returns; its
    `update(pen, *model)` paints anew on that pen.

    It takes what the function takes, the `system` of units, and settings for the pen's memory, `usual` unless given.
    """

    def view(paint: Callable[..., None]) -> Any:
        def update(pen: Pen, *model: Any, **more: Any) -> None:
            pen.clear()
            paint(pen, *model, **more)
            pen.flush()

        @wraps(paint)
        def draw(ax: Axes, *model: Any, system: str = "metric", **more: Any) -> Pen:
            pen = Pen(ax)
            pen.memory.update(usual, system=system)
            pen.memory.update({key: more.pop(key) for key in usual.keys() & more.keys()})
            update(pen, *model, **more)
            return pen

        draw.update = update  # type: ignore[attr-defined]
        return draw

    return view


def _coded(points: np.ndarray, closed: bool) -> tuple[np.ndarray, np.ndarray]:
    """Points of one piece with their path codes."""
    if closed:
        points = np.concatenate([points, points[:1]])
    return points, _codes(len(points), closed)


@lru_cache(maxsize=256)
def _codes(count: int, closed: bool) -> np.ndarray:
    codes = np.full(count, Path.LINETO, np.uint8)
    codes[0] = Path.MOVETO
    if closed:
        codes[-1] = Path.CLOSEPOLY
    codes.setflags(write=False)
    return codes


def _alike(one: Path, other: Path) -> bool:
    """Whether two paths are the same, point by point."""
    return np.array_equal(one.vertices, other.vertices) and np.array_equal(one.codes, other.codes)


def _compound(parts: list[tuple[np.ndarray, np.ndarray]]) -> Path:
    """One path of many pieces."""
    return Path(np.concatenate([p for p, _ in parts]), np.concatenate([c for _, c in parts]))
