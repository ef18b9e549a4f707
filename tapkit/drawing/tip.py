"""Side view of a tap's working end: chamfer, teeth, flutes, and the dimensions a grinder sets. ISO 128, ISO 129-1."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from tapkit import units
from tapkit.drawing import dims, style, tipshape
from tapkit.drawing.label import text_width
from tapkit.drawing.pen import Box, Pen, text_box
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap

STEPS = 32
"""Samples in one pitch along the edges of the lands."""
MARGIN_LEFT, MARGIN_RIGHT, MARGIN_TOP, MARGIN_BOTTOM = 84.0, 60.0, 48.0, 48.0
MOST_THREADS = 9.0
"""Full threads drawn behind the chamfer at most."""


class View(NamedTuple):
    """How the side view lies on the sheet: point at (left, middle), `scale` pt a mm, `length` mm, the turn of flute
    1's edge from the eye [rad], and `up` +1, or −1 for a left-hand tap."""

    left: float
    middle: float
    scale: float
    length: float
    turn: float
    up: float

    def place(self, z, y) -> np.ndarray:
        """Points on the sheet, shape (n, 2), of z along the axis and y across it [mm]."""
        return self.grid(z, y).reshape(-1, 2)

    def grid(self, z, y) -> np.ndarray:
        """The same in the shape of the arrays, with one more axis of 2."""
        z, y = np.broadcast_arrays(np.asarray(z, float), np.asarray(y, float))
        return np.stack([self.left + self.scale * z, self.middle + self.up * self.scale * y], axis=-1)


def draw_tip(ax, tap: Tap, hole: Hole | None = None, *, system: str = "metric") -> Pen:
    """Side view of the tap's end with its dimensions, and the hole's walls where a hole is given."""
    pen = Pen(ax)
    pen.memory["system"] = system
    update_tip(pen, tap, hole)
    return pen


def update_tip(artists: Pen, tap: Tap, hole: Hole | None = None) -> None:
    """Change the side view in place."""
    pen = artists
    pen.clear()
    view = _view(pen, tap)
    lands = _all_lands(view, tap)
    _draw_lands(pen, view, tap, lands)
    _ridges(pen, view, tap)
    _outline(pen, view, tap, lands)
    _dimensions(pen, view, tap, lands, hole, pen.memory["system"])
    pen.flush()


def describe_tip(tap: Tap) -> str:
    """One or two sentences on the tap's end; also the alt text."""
    flutes = f"{tap.flutes} flute" + ("s" if tap.flutes > 1 else "")
    return (
        f"{tap.thread.designation} {tap.name} tap with {flutes}: its chamfer is {tap.chamfer_threads:.3g} threads or "
        f"{units.show(tap.chamfer_length, 'length')} long and rises at {units.show(tap.chamfer_angle, 'angle')} from a "
        f"point of {units.show(tap.point_diameter, 'length')}. {_flute_words(tap)}"
    )


def _flute_words(tap: Tap) -> str:
    turn = units.show(abs(tap.axial_rake), "angle")
    return {
        "straight": "The flutes run straight.",
        "spiral-point": f"The flutes run straight; at the point their faces are ground back at {turn}.",
        "spiral-flute": f"The flutes wind with the thread, {turn} to the axis.",
        "left-hand-flute": f"The flutes wind against the thread, {turn} to the axis.",
    }[tap.flute_form]


def _view(pen: Pen, tap: Tap) -> View:
    room = Box(MARGIN_LEFT, MARGIN_BOTTOM, pen.width - MARGIN_RIGHT, pen.height - MARGIN_TOP)
    wide, high = room.right - room.left, room.top - room.bottom
    least = tap.chamfer_length + 3.5 * tap.thread.pitch
    scale = min(high / tap.thread.major, wide / least)
    length = min(wide / scale, tap.chamfer_length + MOST_THREADS * tap.thread.pitch)
    left = room.left + (wide - length * scale) / 2
    up = 1.0 if tap.thread.hand == "right" else -1.0
    return View(left, (room.top + room.bottom) / 2, scale, length, _turn(tap), up)


def _turn(tap: Tap) -> float:
    """Angle of flute 1's edge from the eye that shows a cutting face well and nearly the full diameter."""
    land, step = tipshape.land_angle(tap), 2 * np.pi / tap.flutes
    lead = np.linspace(0, step, 48, endpoint=False)[:, None] + step * np.arange(tap.flutes)

    def reach(side: float) -> np.ndarray:
        off = (lead - land / 2 - side + np.pi) % (2 * np.pi) - np.pi
        return np.cos(np.maximum(np.abs(off) - land / 2, 0)).max(axis=1)

    face = (np.cos(lead + 0.22 * np.pi) > 0.97).any(axis=1)
    best = int(np.argmax(np.minimum(reach(np.pi / 2), reach(-np.pi / 2)) + 0.12 * face))
    return float(lead[best, 0]) - float(tipshape.twist(tap, tap.chamfer_length / 2))


class Lands(NamedTuple):
    """Every land that may be seen, arrays (lands, samples): angles from the eye of back and cutting edge [rad], and
    heights above the axis of both where they face the eye [mm]; `z` (samples,)."""

    z: np.ndarray
    heel: np.ndarray
    lead: np.ndarray
    y_heel: np.ndarray
    y_lead: np.ndarray


def _all_lands(view: View, tap: Tap) -> Lands:
    z = np.linspace(0, view.length, int(STEPS * view.length / tap.thread.pitch) + 2)
    step = 2 * np.pi / tap.flutes
    lead = view.turn + tipshape.edge_angle(tap, 1, z)
    heel = view.turn + tipshape.heel_angle(tap, 1, z)
    first = math.floor((-np.pi - lead.max()) / step) + 1
    last = math.ceil((np.pi - heel.min()) / step) - 1
    copies = step * np.arange(first, last + 1)[:, None]
    low, high = heel + copies, lead + copies
    return Lands(z, low, high, *(_height(tap, view, z, np.clip(a, -np.pi / 2, np.pi / 2)) for a in (low, high)))


def _height(tap: Tap, view: View, z: np.ndarray, theta: np.ndarray) -> np.ndarray:
    return tipshape.tooth_radius(tap, z, theta - view.turn) * np.sin(theta)


def _draw_lands(pen: Pen, view: View, tap: Tap, lands: Lands) -> None:
    """Flutes as ground, then cutting faces, lands and their edges."""
    z = lands.z
    top, bottom = _silhouette(view, tap, lands)
    pen.fill(np.vstack([view.place(z, top), view.place(z, bottom)[::-1]]), style.STEEL_DARK, z=1)
    for line in (top, bottom):
        pen.line(view.place(z, line), "edge")
    _faces(pen, view, tap, lands)
    for heel, lead, low, high in zip(lands.heel, lands.lead, lands.y_heel, lands.y_lead):
        for run in _runs((lead > -np.pi / 2) & (heel < np.pi / 2)):
            ring = [view.place(z[run], low[run]), view.place(z[run], high[run])[::-1]]
            pen.fill(np.vstack(ring), style.STEEL, z=1.4)
    for angle, y, kind in ((lands.heel, lands.y_heel, "thin"), (lands.lead, lands.y_lead, "edge")):
        pen.strands(view.grid(z, y), np.abs(angle) < np.pi / 2, kind)


def _faces(pen: Pen, view: View, tap: Tap, lands: Lands) -> None:
    """The cutting faces where the eye sees them: below the axis, from the edge in to the core."""
    radius, z = 0.5 * tap.core_diameter, lands.z
    lead = np.clip(lands.lead, -0.85 * np.pi, 0)
    outer_y = _height(tap, view, z, lead)
    inner = np.clip(lead - float(tipshape.rake_lag(tap, radius)), -np.pi / 2, 0)
    inner_y = np.maximum(radius * np.sin(inner), outer_y)
    seen = (lands.lead > -0.85 * np.pi) & (lands.lead < 0)
    for row, outer, within in zip(seen, outer_y, inner_y):
        for run in _runs(row):
            ring = [view.place(z[run], outer[run]), view.place(z[run], within[run])[::-1]]
            pen.fill(np.vstack(ring), style.STEEL_FACE, z=1.2)
    pen.strands(view.grid(z, inner_y), seen & (inner_y > outer_y), "thin", z=1.3)


def _runs(mask: np.ndarray) -> list[slice]:
    """Stretches of at least two samples in which a mask holds."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], mask.astype(np.int8), [0]])))
    return [slice(a, b) for a, b in zip(edges[::2], edges[1::2]) if b - a > 1]


def _silhouette(view: View, tap: Tap, lands: Lands) -> tuple[np.ndarray, np.ndarray]:
    """Upper and lower outline: the land nearest to the top, or the core where no land comes near."""
    found = []
    for side in (np.pi / 2, -np.pi / 2):
        near = np.clip(side, lands.heel, lands.lead)
        reach = np.abs(_height(tap, view, lands.z, near))
        reach = np.where(np.abs(near - side) < np.pi / 2, reach, 0.0).max(axis=0)
        reach = np.minimum(np.maximum(reach, tap.core_diameter / 2), tipshape.cone_radius(tap, lands.z))
        found.append(reach * np.sign(side))
    return found[0], found[1]


def _ridges(pen: Pen, view: View, tap: Tap) -> None:
    """Crest and root lines of the thread on the lands."""
    p, root = tap.thread.pitch, tipshape.root_radius(tap)
    theta = np.linspace(-np.pi / 2, np.pi / 2, 49)
    base = tipshape.crest_place(tap, theta - view.turn)
    first = -math.ceil(float(base.max()) / p) - 1
    turns = p * np.arange(first, first + math.ceil(view.length / p) + 4)
    offset = np.tile([-p / 16, p / 16, 7 * p / 16, 9 * p / 16], len(turns))[:, None]
    z = base + np.repeat(turns, 4)[:, None] + offset
    behind = (view.turn + tipshape.twist(tap, z) - theta) % (2 * np.pi / tap.flutes)
    cone = tipshape.cone_radius(tap, z)
    radius = np.where(np.abs(offset) < p / 8, tap.thread.major / 2, root)
    seen = (behind <= tipshape.land_angle(tap)) & (behind >= tipshape.gash(tap, z))
    seen &= (z >= 0) & (z <= view.length) & (cone > root)
    pen.strands(view.grid(z, np.minimum(radius, cone) * np.sin(theta)), seen, "thin", z=2.5)


def _outline(pen: Pen, view: View, tap: Tap, lands: Lands) -> None:
    """Point, envelope of the crests, core, axis, and the break at the right."""
    r, end = tap.thread.major / 2, view.length
    top, bottom = (line[[0, -1]] for line in _silhouette(view, tap, lands))
    pen.line(view.place([0, 0], [top[0], bottom[0]]), "edge")
    cone = [0, tap.chamfer_length, end]
    _break(pen, view, float(top[1]), float(bottom[1]))
    for side in (1, -1):
        pen.line(view.place(cone, side * np.array([tap.point_diameter / 2, r, r])), "phantom", z=3.8)
        pen.line(view.place([0, end], [side * tap.core_diameter / 2] * 2), "hidden")
    over = 12 / view.scale
    pen.line(view.place([-over, end + over], [0, 0]), "centre", z=3.8)


def _break(pen: Pen, view: View, top: float, bottom: float) -> None:
    """The free-hand line where the view breaks off, and paper behind it."""
    y = np.linspace(bottom, top, 60)
    z = view.length + (3 * np.sin(np.linspace(0, 3 * np.pi, 60)) - 4) / view.scale
    wave = view.place(z, y)
    x, (low, high) = wave[:, 0].max() + 10, sorted((wave[0, 1], wave[-1, 1]))
    ring = wave if wave[0, 1] < wave[-1, 1] else wave[::-1]
    corners = [(x, high + 2), (x, low - 2)]
    pen.fill(np.vstack([ring[:1] - (0, 2), ring, ring[-1:] - (0, -2), corners]), style.PAPER, z=3.5)
    pen.line(wave, "thin", z=3.6)


def _dimensions(pen: Pen, view: View, tap: Tap, lands: Lands, hole: Hole | None, system: str) -> None:
    thread, show = tap.thread, lambda v: units.show(v, "length", system, decimals=2 if system == "metric" else 3)
    r, p = thread.major / 2, thread.pitch
    x0, xc, xe = view.place([0, tap.chamfer_length, view.length], 0)[:, 0]
    low, high = view.middle - r * view.scale, view.middle + r * view.scale
    point = tap.point_diameter / 2 * view.scale
    dims.upright(
        pen, x0 - 26, view.middle - point, view.middle + point, "⌀ " + show(tap.point_diameter), start=(x0, x0)
    )
    dims.upright(pen, xe + 34, low, high, "⌀ " + show(thread.major), start=(xe, xe))
    threads = f"{tap.chamfer_threads:.3g} threads = {show(tap.chamfer_length)}"
    dims.level(pen, x0, xc, low - 26, threads, start=(view.middle - point, low))
    _pitch(pen, view, tap, high, show(p))
    _chamfer_angle(pen, view, tap, high)
    _rake_note(pen, view, tap, lands, low - 26)
    if hole is not None:
        _hole(pen, view, hole, x0, show(hole.diameter))


def _pitch(pen: Pen, view: View, tap: Tap, high: float, text: str) -> None:
    """The pitch between the last two crests at the top."""
    p, side = tap.thread.pitch, np.pi / 2 * view.up
    crest = float(tipshape.crest_place(tap, side - view.turn))
    z1 = crest + p * math.floor((view.length - crest - p / 8) / p)
    x0, x1 = (view.left + view.scale * z for z in (z1 - p, z1))
    dims.level(
        pen, x0, x1, high + 20, f"P {text}", start=(high, high), side="left" if x1 > pen.width - 150 else "right"
    )


def _chamfer_angle(pen: Pen, view: View, tap: Tap, high: float) -> None:
    """The angle between chamfer and cylinder, beside the end of the chamfer."""
    xc = view.left + view.scale * tap.chamfer_length
    reach = min(0.9 * view.scale * tap.chamfer_length, 120.0)
    pen.line([(xc - reach - 16, high), (xc, high)])
    text = units.show(tap.chamfer_angle, "angle")
    at = (xc - reach - 6, high + 3, "right", "bottom")
    dims.angle(pen, (xc, high), reach, 180, 180 + tap.chamfer_angle, text, at=at)


def _rake_note(pen: Pen, view: View, tap: Tap, lands: Lands, y: float) -> None:
    """The axial rake, led from a cutting edge in sight to the free end of the lower row."""
    if tap.axial_rake == 0:
        return
    text = "axial rake " + units.show(tap.axial_rake, "angle")
    seen = (lands.lead > -1.1) & (lands.lead < 0.7)
    near = tipshape.gash_length(tap) * 0.6 or tap.chamfer_length + 2 * tap.thread.pitch
    cost = np.where(seen, np.abs(lands.z - near), np.inf)
    if not np.isfinite(cost).any():
        return
    row, k = np.unravel_index(int(np.argmin(cost)), cost.shape)
    point = view.place(lands.z[k], lands.y_lead[row, k])[0]
    right = view.left + view.scale * view.length - 4
    left = right - text_width(text, style.TEXT) - 2
    box = text_box(left, y + dims.LIFT, text, style.TEXT, "left", "bottom")
    if pen.is_free(box, gap=8):
        dims.leader(pen, point, (left, y), text, end="arrow", side="right")


def _hole(pen: Pen, view: View, hole: Hole, x0: float, text: str) -> None:
    half = hole.diameter / 2 * view.scale
    for y in (view.middle - half, view.middle + half):
        pen.line([(x0 - 60, y), (x0 + view.scale * view.length, y)], "phantom", colour=style.ACCENT)
    dims.upright(pen, x0 - 50, view.middle - half, view.middle + half, "hole ⌀ " + text, colour=style.ACCENT)
