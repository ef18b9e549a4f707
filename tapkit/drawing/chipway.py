"""A cut as a still: the tap in its hole, the part cut open, and arrows from the teeth in sight the way their chips go.

For paper, for saved notebooks that may run no script, and where the browser has no WebGL; else the film shows it.
"""

from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.transforms import Affine2D

from tapkit.drawing import filmwords, raster, style
from tapkit.drawing.label import text_width
from tapkit.drawing.pen import Pen
from tapkit.drawing.photo import render
from tapkit.drawing.raster import Camera
from tapkit.geometry.solid import cartesian, solid, turned
from tapkit.mechanics import toothload, torque
from tapkit.mechanics.chipflow import AHEAD, TO_SHANK
from tapkit.messages import Sentence, _
from tapkit.operation import Operation

SIZE = (860, 520)
"""Size of the sheet [1/96 inch]."""
WALL, FLOOR, ABOVE = 0.75, 0.35, 0.9
"""Metal beside the hole and under the drill's cone, and tap shown above the part, in major diameters."""
SHARE, MARGIN, ARROW, WAY = 0.56, 10.0, 36.0, 30.0
"""Share of the sheet's width for the picture, its border [pt]; length of a chip's arrow that lies in the sheet, and of
the arrow on the way out [pt]."""
HEAD = 1.6
"""Arrowheads are larger than those of dimensions by so much."""
DEEP = 0.7
"""How deep the point stands, as a share of the hole's depth at the most."""
BORE = ("#8d949b", "#a3aab1", "#bcc3c9", "#ced4d9", "#d8dde1", "#d2d7dc", "#c0c7cd", "#a8afb6", "#8f969d")
"""The wall of the hole behind the tap, from side to side."""


class TapInHole(Artist):
    """The tap's picture, clear around it, at its place in the part."""

    def __init__(self, axes: Axes) -> None:
        super().__init__()
        self.page: _Page | None = None
        self.set(zorder=2, animated=True)
        axes.add_artist(self)

    def draw(self, renderer: Any) -> None:
        """Lay the picture down."""
        if self.page is None or not self.get_visible():
            return
        fine = 1 if hasattr(renderer, "buffer_rgba") else 3
        dots = self.axes.bbox.width / self.page.pen.width  # pixels in a point of the sheet
        picture, (x, y) = self.page.picture(dots * fine)
        gc = renderer.new_gc()
        gc.set_clip_rectangle(self.axes.bbox)
        at = round(self.axes.bbox.x0 + dots * x), round(self.axes.bbox.y0 + dots * y)
        size = () if fine == 1 else (Affine2D().scale(picture.shape[1] / fine, picture.shape[0] / fine),)
        renderer.draw_image(gc, *at, np.ascontiguousarray(picture[::-1]), *size)
        gc.restore()
        self.stale = False


class Chipway(NamedTuple):
    """The tap's picture, and the pen with lines and words; iterable in the order to be drawn."""

    tap: TapInHole
    pen: Pen


def draw_chipway(ax: Axes, job: Operation, *, system: str = "metric", asking: bool = False) -> Chipway:
    """The still of a cut on an axes; `asking` without anything that tells the way of the chips."""
    artists = Chipway(TapInHole(ax), Pen(ax))
    artists.pen.memory.update(system=system, asking=asking)
    update_chipway(artists, job)
    return artists


def update_chipway(artists: Chipway, job: Operation) -> None:
    """Another job on the same artists."""
    pen = artists.pen
    pen.clear()
    page = artists.tap.page = _Page(pen, job)
    artists.tap.stale = True
    _part(pen, page)
    _words(pen, page)
    if not pen.memory["asking"]:
        _arrows(pen, page)
        _way_out(pen, page)
    pen.flush()


class _Page:
    """Scale and place on the sheet [pt]: z up from the top face, x from the axis; the point at `depth`."""

    def __init__(self, pen: Pen, job: Operation) -> None:
        self.pen, self.job, self.solid = pen, job, solid(job.tap)
        hole, self.major = job.hole, job.tap.thread.major
        deepest = float(torque.deepest_point(job.slices, hole, job.tap.thread.pitch))
        self.depth = min(deepest, DEEP * hole.depth)
        self.wall = hole.diameter / 2 + WALL * self.major
        self.below = hole.depth + (0.6 * self.major if hole.is_through else hole.cone_depth + FLOOR * self.major)
        above = min(ABOVE * self.major, self._camera(1.0).length - self.depth)
        wide, high = SHARE * pen.width - 2 * MARGIN, pen.height - 2 * MARGIN
        self.scale = min(wide / (2 * self.wall), high / (self.below + above))
        self.axis = MARGIN + wide / 2
        self.face = pen.height - MARGIN - self.scale * above

    def _camera(self, scale: float) -> Camera:
        """The camera that sees the whole tap from the side at `scale` pixels in a mm."""
        camera = Camera(self.job.tap, 0.0, 0.0, 100, 100)
        low, high = camera.box
        wide, tall = 1.4 * self.major * scale, (high - low) * scale / (1 - 2 * raster.MARGIN)
        return Camera(self.job.tap, 0.0, 0.0, max(round(wide), 8), max(round(tall), 8))

    def at(self, x: Any, z: Any) -> np.ndarray:
        """Points on the sheet, (…, 2)."""
        x, z = np.broadcast_arrays(np.asarray(x, float), np.asarray(z, float))
        return np.stack([self.axis + self.scale * x, self.face + self.scale * z], axis=-1)

    def seen(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Points of the tap (3, n) on the sheet, (n, 2), and how near they are to the eye [mm]."""
        across, up, near = self._camera(1.0).rotation @ points
        return self.at(across, up - self.depth), near

    def picture(self, dots: float) -> tuple[np.ndarray, np.ndarray]:
        """The tap at `dots` pixels in a point, and its lower left corner on the sheet [pt]."""
        camera = self._camera(self.scale * dots)
        _x, y, _near = camera.project(np.zeros((3, 1)))
        made = render(replace(camera, dots=dots * 72 / 96), alone=True)
        corner = np.array([camera.width / 2, camera.height - float(y[0])]) / dots
        return made, self.at(0.0, -self.depth) - corner

    def groove(self, side: int) -> np.ndarray:
        """The wall of the hole at one side as far as the teeth have cut it, (n, 2) on the sheet."""
        job, s, pitch = self.job, self.solid, self.job.tap.thread.pitch
        env = toothload.envelope(job.tap, job.hole, job.faults)
        right = side * self._camera(1.0).rotation[0]
        hand = -1.0 if job.tap.thread.hand == "right" else 1.0
        z = np.linspace(0.0, -job.hole.depth, max(int(job.hole.depth / pitch * 48), 40))
        own = z + self.depth - s.ridge(np.arctan2(hand * right[1], right[0]))
        turn = np.round(own / pitch)
        passed = np.floor((z + self.depth - (own - turn * pitch) - env.position[0]) / job.tap.tooth_spacing + 1e-3) + 1
        rows = np.clip(passed, 0, len(env.swept) - 1).astype(int)
        x = own - turn * pitch
        r = np.array([np.interp(one, env.x, env.swept[row]) for one, row in zip(x, rows)])
        return self.at(side * r, z)


def _part(pen: Pen, page: _Page) -> None:
    """The part in section, hatched, and the wall of its hole behind the tap."""
    hole = page.job.hole
    r, deep, cone = hole.diameter / 2, hole.depth, 0.0 if hole.is_through else hole.cone_depth
    foot = -deep if hole.is_through else -page.below
    _bore(pen, page, r, deep, cone)
    for side in (-1, 1):
        groove, across = page.groove(side), side * np.array([r, page.wall, page.wall, r if hole.is_through else 0])
        wall = groove if hole.is_through else np.vstack([groove, page.at([0], [-deep - cone])])
        outside = page.at(across, [0, 0, foot, foot])
        ring = np.vstack([wall, outside[:0:-1]])
        pen.fill(ring, style.PART, z=2.4)
        pen.hatch(ring, 45, 7.0, z=2.5, colour=style.SOFT_INK)
        for line in (wall, outside):
            pen.line(line, "edge", z=2.6)


def _bore(pen: Pen, page: _Page, r: float, deep: float, cone: float) -> None:
    """The wall of the hole, in stripes from side to side, and behind it the grooves and the drill's cone."""
    wide = page.major / 2
    pen.fill(
        page.at([-wide, wide, wide, r, 0, -r, -wide], [0, 0, -deep, -deep, -deep - cone, -deep, -deep]), BORE[0], z=0.4
    )
    edges = np.sin(np.linspace(-np.pi / 2, np.pi / 2, len(BORE) + 1)) * r
    for left, right, grey in zip(edges, edges[1:], BORE):
        corners = np.array([right, min(max(left, 0.0), right), left])
        low = -deep - cone * (1 - np.abs(corners) / r)
        pen.fill(page.at([left, right, *corners], [0, 0, *low]), grey, z=0.5)


def _arrows(pen: Pen, page: _Page) -> None:
    """Where the chip leaves each tooth in sight by Stabler's rule, and by Colwell's at the nearest of them."""
    job, s = page.job, page.solid
    loads = job.tooth_loads
    number = loads.number[(loads.area > 0) & ~loads.lost & (loads.number <= s.chamfer_teeth + 1)]
    if not len(number):
        return
    _flute, r, angle, z = s.tooth(number)
    turn = np.cos(angle), np.sin(angle), job.tap.thread.hand
    tips = cartesian(r, *turn[:2], z, turn[2])
    spots, near = page.seen(tips)
    for (vector, kind, colour), teeth in zip(_rules(job), (near >= near.max(), near > 0)):
        steps = page.seen(tips + turned(vector, *turn))[0]
        for spot, step in zip(spots[teeth], (steps - spots)[teeth] / page.scale * ARROW):
            if np.hypot(*step) > 0.25 * ARROW:
                pen.line([spot, spot + 0.8 * step], kind, colour=colour, z=3.5)
                pen.arrow(spot + step, step, colour=colour, size=HEAD, z=3.6)


def _rules(job: Operation) -> list[tuple[tuple[float, float, float], str, str]]:
    """Vector, line and colour of the chip by Colwell's chord and by Stabler's rule."""
    return [
        (job.chip_flow_colwell.vector, "bold dashed", style.SOFT_INK),
        (job.chip_flow.vector, "bold", style.ACCENT),
    ]


def _way_out(pen: Pen, page: _Page) -> None:
    """A large arrow at the end where the chips come out."""
    way = page.job.chip_flow.direction
    if way == TO_SHANK:
        start, step = page.at(0.75 * page.major, 0), np.array([0.0, WAY])
    elif way == AHEAD:
        start, step = page.at(0, -page.depth), np.array([0.0, -WAY])
    else:
        return
    pen.line([start + 0.2 * step, start + 0.7 * step], "cutting", z=3.8)
    pen.arrow(start + 1.2 * step, step, size=1.3 * HEAD, z=3.9)


def _words(pen: Pen, page: _Page) -> None:
    """What is given; and what the arrows are, why the chips go there, and whether their room fills."""
    job = page.job
    left, y = SHARE * pen.width + 4, pen.height - 12.0
    if pen.memory["asking"]:
        _paragraph(pen, left, y, filmwords.QUESTION, bold=True)
        return
    y = _paragraph(pen, left, y, filmwords.HEADLINES[job.chip_flow.direction], bold=True) - 8
    for told, kind, colour in (
        (_("chip: {lift} (Stabler)", lift=filmwords.lift(job.chip_flow)), "bold", style.ACCENT),
        (_("chip: {lift} (Colwell)", lift=filmwords.lift(job.chip_flow_colwell)), "bold dashed", style.SOFT_INK),
    ):
        pen.line([(left, y - 7), (left + 20, y - 7)], kind, colour=colour)
        pen.arrow((left + 28, y - 7), (1, 0), colour=colour, size=HEAD)
        y = _paragraph(pen, left + 34, y, told) - 6
    for told in (filmwords.why(job), filmwords.way_out(job), filmwords.filling(job)):
        y = _paragraph(pen, left, y - 4, told) - 2


def _paragraph(pen: Pen, left: float, y: float, told: Sentence, bold: bool = False) -> float:
    """A sentence in lines down from y; the height below it."""
    size, line = style.TITLE if bold else style.TEXT, ""
    for word in [*pen.say(told).split(), None]:
        longer = f"{line} {word}".strip()
        if word is None or (line and text_width(longer, size, bold) > pen.width - MARGIN - left):
            y = pen.text(left, y, line, size=size, va="top", bold=bold).bottom - 2
            line = word or ""
        else:
            line = longer
    return y
