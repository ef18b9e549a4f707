"""A tap as one sees it on the bench: ground steel, turned and tilted at will, its cutting teeth numbered.

The picture is made at the resolution of the canvas it is drawn on: for paper, plates and where the browser cannot draw.
"""

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.transforms import Affine2D

from tapkit.drawing import style
from tapkit.drawing.pen import Box, Pen, text_box
from tapkit.drawing.photo import exposure, render
from tapkit.drawing.raster import Camera
from tapkit.geometry.solid import cartesian, solid
from tapkit.geometry.tap import Tap
from tapkit.geometry.tapname import in_words
from tapkit.mechanics.chipflow import AHEAD, TO_SHANK, chip_flow
from tapkit.messages import Quantity, Sentence, _, angle, ngettext, of_table, threads_of

FINE = 200 / 72
"""Pixels in a point where the canvas has none of its own (SVG, PDF)."""
COARSE = 0.65
"""Labels find their places in a picture this much smaller."""
LABEL_GAP, LEADER = 11.0, 3.0
"""Room between the tap's outline and its labels, and between a label and its leader [pt]."""


class TeethSeen(NamedTuple):
    """Tips of the cutting teeth in a picture, arrays (teeth,): `number` from 1, `flute` from 1, `x` and `y` [pixels]
    from the upper left corner, `visible` whether nothing hides the tip."""

    number: np.ndarray
    flute: np.ndarray
    x: np.ndarray
    y: np.ndarray
    visible: np.ndarray


def tooth_points(camera: Camera) -> TeethSeen:
    """Where the tips of the chamfer teeth and of the first full tooth lie in a camera's picture."""
    s = solid(camera.tap)
    number = np.arange(1, s.chamfer_teeth + 2)
    flute, r, angle, z = s.tooth(number)
    x, y, depth = camera.project(cartesian(r, np.cos(angle), np.sin(angle), z, camera.tap.thread.hand))
    return TeethSeen(number, flute + 1, x, y, _unhidden(camera, x, y, depth))


def _unhidden(camera: Camera, x: np.ndarray, y: np.ndarray, depth: np.ndarray) -> np.ndarray:
    """Whether a pixel at or beside each point shows nothing that lies clearly in front of it."""
    seen = exposure(camera)
    nearest = np.where(seen.shown >= 0, seen.samples.place[2].take(seen.shown), -np.inf)
    inside = (x >= 1) & (x < camera.width - 1) & (y >= 1) & (y < camera.height - 1)
    column, row = (np.clip(v, 1, n - 2).astype(int) for v, n in ((x, camera.width), (y, camera.height)))
    around = [nearest[row + i, column + j] for i in (-1, 0, 1) for j in (-1, 0, 1)]
    slack = 0.03 * camera.tap.thread.major
    return inside & (np.min(around, axis=0) <= depth + slack) & (np.max(around, axis=0) > depth - 4 * slack)


@dataclass(frozen=True)
class TapView:
    """A tap and how it is held: `turn` [deg] in the direction of cutting, `tilt` [deg] 0 from the side, 90 straight on
    to the point, −90 on the shank; `zoom` 1 shows the whole thread."""

    tap: Tap
    turn: float = 0.0
    tilt: float = 18.0
    zoom: float = 1.0

    def camera(self, width: int, height: int, dots: float = 1.0) -> Camera:
        """The camera that takes it so, in a picture of a size in pixels, `dots` of them in 1/96 inch."""
        return Camera(self.tap, self.turn, self.tilt, width, height, self.zoom, dots)


class Photo(Artist):
    """The picture of a tap on an axes, made anew when its view or the canvas has changed."""

    def __init__(self, axes: Axes, view: TapView) -> None:
        super().__init__()
        self.view = view
        self._made: tuple[Camera, np.ndarray] | None = None
        self.set(zorder=0, animated=True)
        axes.add_artist(self)

    def pixels(self, width: int, height: int, dots: float = 1.0) -> np.ndarray:
        """The picture, uint8 (height, width, 4), of `dots` pixels in 1/96 inch; the last one is kept."""
        camera = self.view.camera(width, height, dots)
        if self._made is None or self._made[0] != camera:
            self._made = camera, render(camera)
        return self._made[1]

    def draw(self, renderer: Any) -> None:
        """Lay the picture down, pixel on pixel."""
        if not self.get_visible():
            return
        box = self.axes.bbox
        fine = 1 if hasattr(renderer, "buffer_rgba") else FINE
        width, height = (max(round(side * fine), 8) for side in (box.width, box.height))
        dots = fine * self.get_figure(root=True).dpi / 96
        rows = np.ascontiguousarray(self.pixels(width, height, dots)[::-1])
        gc = renderer.new_gc()
        if fine == 1:
            renderer.draw_image(gc, round(box.x0), round(box.y0), rows)
        else:
            renderer.draw_image(gc, box.x0, box.y0, rows, Affine2D().scale(box.width, box.height))
        gc.restore()
        self.stale = False


class ShadedArtists(NamedTuple):
    """The picture and the pen with its labels; iterable in the order to be drawn."""

    photo: Photo
    pen: Pen


def draw_shaded(ax: Axes, view: TapView, *, labels: bool = True) -> ShadedArtists:
    """A tap on an axes; returns the artists. `labels` numbers of the teeth."""
    pen = Pen(ax)
    pen.memory.update(labels=labels)
    artists = ShadedArtists(Photo(ax, view), pen)
    _label(artists)
    return artists


def update_shaded(artists: ShadedArtists, view: TapView) -> None:
    """Another tap or another view on the same artists."""
    photo = artists.photo
    if view != photo.view:
        photo.view, photo.stale = view, True
    _label(artists)


def _label(artists: ShadedArtists) -> None:
    """Numbers beside the cutting teeth in sight, with the mark of their flute."""
    pen = artists.pen
    pen.clear()
    if pen.memory["labels"]:
        box, dots = pen.ax.bbox, pen.ax.get_figure().dpi / 96
        width, height = (max(round(side * COARSE), 8) for side in (box.width, box.height))
        camera = artists.photo.view.camera(width, height, dots * COARSE)
        edges = _outline(exposure(camera).shown >= 0)
        for side in (-1, 1):
            _label_side(pen, tooth_points(camera), edges, side, pen.width / width)
    pen.flush()


def _outline(mask: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Leftmost and rightmost covered pixel of every row, (height,) each; the middle where a row is empty."""
    width = mask.shape[1]
    some = mask.any(axis=1)
    left = np.where(some, mask.argmax(axis=1), width // 2)
    return left, np.where(some, width - 1 - mask[:, ::-1].argmax(axis=1), width // 2)


def _label_side(pen: Pen, teeth: TeethSeen, edges: tuple[np.ndarray, np.ndarray], side: int, point: float) -> None:
    """Labels left (side −1) or right (+1) of the tap, from the point up, each where there is room."""
    height = edges[0].size
    middle = np.median((edges[0] + edges[1]) / 2)
    wanted = teeth.visible & ((teeth.x > middle) == (side > 0))
    order = np.flatnonzero(wanted)[np.argsort(-teeth.y[wanted])]
    for i in order:
        x, y = teeth.x[i], teeth.y[i]
        row = slice(max(int(y) - 8, 0), min(int(y) + 9, height))
        edge = edges[1][row].max() if side > 0 else edges[0][row].min()
        at = edge * point + side * LABEL_GAP
        up = (height - y) * point
        text = str(int(teeth.number[i]))
        mark = at + side * 5
        spot = mark + side * 8
        box = text_box(spot, up, text, style.SMALL, "left" if side > 0 else "right", "center")
        whole = Box(min(box.left, mark - 5), box.bottom, max(box.right, mark + 5), box.top)
        if not pen.is_free(whole, 0.5):
            continue
        pen.line([(x * point + side * LEADER, up), (at, up)], "thin", colour=style.SOFT_INK)
        pen.flute_mark(int(teeth.flute[i]), mark, up, 8)
        pen.text(spot, up, text, size=style.SMALL, ha="left" if side > 0 else "right", va="center")
        pen.keep_clear(whole)


def describe_shaded(view: TapView) -> Sentence:
    """What the picture shows: the tap by its names, what its tip tells, and from where it is seen."""
    tap = view.tap
    flow = chip_flow(radial_rake=tap.radial_rake, axial_rake=tap.axial_rake, chamfer_angle=tap.chamfer_angle)
    chips = {AHEAD: _("Chips go ahead of the point."), TO_SHANK: _("Chips come out toward the shank.")}
    return _(
        "{tap} {shape} {chips} {seen}",
        tap=_named(tap),
        shape=_(tap.form.shape, angle=angle(abs(tap.axial_rake))),
        chips=chips.get(flow.direction) or of_table(tap.form.doubt),
        seen=_seen(Quantity(view.turn, "angle", 0), view.tilt),
    )


def _named(tap: Tap) -> Sentence:
    named = dict(thread=tap.thread.designation, tap=in_words(tap))
    whole = _("{thread} {tap} tap for a left-hand thread", **named)
    return ngettext(
        "{tap} (British: {british}; {form}): {count} flute, chamfer of {threads} at {angle}.",
        "{tap} (British: {british}; {form}): {count} flutes, chamfer of {threads} at {angle}.",
        tap.flutes,
        tap=whole if tap.thread.hand == "left" else _("{thread} {tap} tap", **named),
        british=of_table(tap.british_name),
        form=_("DIN 2197 form {letter}", letter=tap.din_form) if tap.din_form else _("no form of DIN 2197"),
        threads=threads_of(tap.chamfer_threads, digits=4),
        angle=angle(tap.chamfer_angle, decimals=1),
    )


def _seen(turn: Quantity, tilt: float) -> Sentence:
    """From where a tap is seen: whole sentences, so that each language may order its words."""
    given = dict(tilt=Quantity(abs(tilt), "angle", 0), turn=turn)
    if abs(tilt) >= 89:
        still = _("Seen straight on to its point."), _("Seen straight on to its shank.")
        turned = _("Seen straight on to its point, turned {turn}."), _("Seen straight on to its shank, turned {turn}.")
    elif abs(tilt) < 0.5:
        still, turned = (_("Seen from the side."),) * 2, (_("Seen from the side, turned {turn}."),) * 2
    else:
        still = (
            _("Seen from the side, tilted {tilt} toward the point."),
            _("Seen from the side, tilted {tilt} toward the shank."),
        )
        turned = (
            _("Seen from the side, tilted {tilt} toward the point, turned {turn}."),
            _("Seen from the side, tilted {tilt} toward the shank, turned {turn}."),
        )
    return (turned if abs(turn.value) >= 0.5 else still)[tilt < 0].of(**given)
