"""Side view of a tap's working end: chamfer, teeth, flutes, and the dimensions a grinder sets. ISO 128, ISO 129-1."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from tapkit import units
from tapkit.drawing import dims, style, tipshape
from tapkit.drawing.pen import Box, Pen
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
        z, y = np.broadcast_arrays(np.asarray(z, float), np.asarray(y, float))
        return np.column_stack([self.left + self.scale * z.ravel(), self.middle + self.up * self.scale * y.ravel()])


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
    _lands(pen, view, tap)
    _ridges(pen, view, tap)
    _outline(pen, view, tap)
    _dimensions(pen, view, tap, hole, pen.memory["system"])
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
    """Angle of flute 1's edge so that a flute or a land faces the eye, whichever shows the full diameter better."""
    half = tipshape.land_angle(tap) / 2
    middle = float(tipshape.twist(tap, tap.chamfer_length / 2))

    def shows(offset: float) -> float:
        lands = offset + 2 * np.pi * np.arange(tap.flutes) / tap.flutes
        gap = np.abs((lands - np.pi / 2 + np.pi) % (2 * np.pi) - np.pi)
        return -max(float(gap.min()) - half, 0.0)

    facing_flute = np.pi / tap.flutes
    best = facing_flute if shows(facing_flute) >= shows(0.0) else 0.0
    return best + half - middle


def _lands(pen: Pen, view: View, tap: Tap) -> None:
    z = np.linspace(0, view.length, int(STEPS * view.length / tap.thread.pitch) + 2)
    top, bottom = _silhouette(view, tap, z)
    pen.fill(np.vstack([view.place(z, top), view.place(z, bottom)[::-1]]), style.STEEL_DARK, z=1)
    for line in (top, bottom):
        pen.line(view.place(z, line), "edge")
    for copy in _copies(tap, view):
        lead = view.turn + tipshape.edge_angle(tap, 1, z) + copy
        heel = view.turn + tipshape.heel_angle(tap, 1, z) + copy
        _face(pen, view, tap, z, lead)
        _land(pen, view, tap, z, heel, lead)


def _copies(tap: Tap, view: View) -> np.ndarray:
    """Turns of the land that bring every land seen from the front into reach."""
    step = 2 * np.pi / tap.flutes
    reach = abs(float(tipshape.twist(tap, view.length))) + 2 * np.pi
    n = math.ceil(reach / step) + 1
    return step * np.arange(-n, n + 1)


def _land(pen: Pen, view: View, tap: Tap, z: np.ndarray, heel: np.ndarray, lead: np.ndarray) -> None:
    seen = (lead > -np.pi / 2) & (heel < np.pi / 2)
    for run in _runs(seen):
        zr = z[run]
        low, high = (np.clip(a[run], -np.pi / 2, np.pi / 2) for a in (heel, lead))
        y_low, y_high = _height(tap, view, zr, low), _height(tap, view, zr, high)
        pen.fill(np.vstack([view.place(zr, y_low), view.place(zr, y_high)[::-1]]), style.STEEL, z=1.4)
    for edge, kind in ((heel, "thin"), (lead, "edge")):
        for run in _runs((edge > -np.pi / 2) & (edge < np.pi / 2)):
            pen.line(view.place(z[run], _height(tap, view, z[run], edge[run])), kind)


def _runs(mask: np.ndarray) -> list[slice]:
    """Stretches of at least two samples in which a mask holds."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], mask.astype(np.int8), [0]])))
    return [slice(a, b) for a, b in zip(edges[::2], edges[1::2]) if b - a > 1]


def _height(tap: Tap, view: View, z: np.ndarray, theta: np.ndarray) -> np.ndarray:
    return tipshape.tooth_radius(tap, z, theta - view.turn) * np.sin(theta)


def _face(pen: Pen, view: View, tap: Tap, z: np.ndarray, lead: np.ndarray) -> None:
    """The cutting face where the eye sees it: below the axis, from the edge in to the core."""
    inner_r = 0.5 * tap.core_diameter * 1.04
    inner = lead - float(tipshape.rake_lag(tap, inner_r))
    for run in _runs((lead > -np.pi / 2) & (lead < 0)):
        outer_y = _height(tap, view, z[run], lead[run])
        inner_y = np.maximum(inner_r * np.sin(np.clip(inner[run], -np.pi / 2, 0)), outer_y)
        pen.fill(np.vstack([view.place(z[run], outer_y), view.place(z[run], inner_y)[::-1]]), style.STEEL_FACE, z=1.2)
        pen.line(view.place(z[run], inner_y), "thin")


def _silhouette(view: View, tap: Tap, z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Upper and lower outline: the land nearest to the top, or the core where no land comes near."""
    found = []
    for side in (np.pi / 2, -np.pi / 2):
        best = np.full_like(z, tap.core_diameter / 2)
        for copy in _copies(tap, view):
            lead = view.turn + tipshape.edge_angle(tap, 1, z) + copy
            heel = view.turn + tipshape.heel_angle(tap, 1, z) + copy
            near = np.clip(side, heel, lead)
            reach = np.where(np.abs(near - side) < np.pi / 2, _height(tap, view, z, near) * np.sign(side), 0.0)
            best = np.maximum(best, reach)
        found.append(np.minimum(best, tipshape.cone_radius(tap, z)) * np.sign(side))
    return found[0], found[1]


def _ridges(pen: Pen, view: View, tap: Tap) -> None:
    """Crest and root lines of the thread on the lands."""
    p = tap.thread.pitch
    theta = np.linspace(-np.pi / 2, np.pi / 2, 49)
    base = tipshape.crest_place(tap, theta - view.turn)
    first = -math.ceil((float(base.max())) / p) - 1
    step = 2 * np.pi / tap.flutes
    land = tipshape.land_angle(tap)
    for turn in range(first, first + math.ceil(view.length / p) + 4):
        for offset in (-p / 16, p / 16, 7 * p / 16, 9 * p / 16):
            z = base + turn * p + offset
            behind = (view.turn + tipshape.twist(tap, z) - theta) % step
            on_land = (behind <= land) & (behind >= tipshape.gash(tap, z)) & (z >= 0) & (z <= view.length)
            ridge = offset in (-p / 16, p / 16)
            radius = tap.thread.major / 2 if ridge else tipshape.root_radius(tap)
            if ridge:
                on_land &= tipshape.cone_radius(tap, z) > tipshape.root_radius(tap)
            else:
                on_land &= tipshape.cone_radius(tap, z) > radius
            y = np.minimum(radius, tipshape.cone_radius(tap, z)) * np.sin(theta)
            for run in _runs(on_land):
                pen.line(view.place(z[run], y[run]), "thin", z=2.5)


def _outline(pen: Pen, view: View, tap: Tap) -> None:
    """Point, envelope of the crests, core, axis, and the break at the right."""
    r, end = tap.thread.major / 2, view.length
    top, bottom = _silhouette(view, tap, np.array([0.0, end]))
    pen.line(view.place([0, 0], [top[0], bottom[0]]), "edge")
    cone = [0, tap.chamfer_length, end]
    for side in (1, -1):
        pen.line(view.place(cone, side * np.array([tap.point_diameter / 2, r, r])), "phantom")
        pen.line(view.place([0, end], [side * tap.core_diameter / 2] * 2), "hidden")
    over = 12 / view.scale
    pen.line(view.place([-over, end + over], [0, 0]), "centre")
    y = np.linspace(bottom[1], top[1], 60)
    wave = 3 / view.scale * np.sin(np.linspace(0, 3 * np.pi, 60))
    pen.line(view.place(end + wave, y), "thin")


def _dimensions(pen: Pen, view: View, tap: Tap, hole: Hole | None, system: str) -> None:
    thread, show = tap.thread, lambda v: units.show(v, "length", system, decimals=2 if system == "metric" else 3)
    r, p = thread.major / 2, thread.pitch
    (x0, _), (xc, yc), (xe, ye) = view.place([0, tap.chamfer_length, view.length], [0, r, r])
    low, high = view.middle - r * view.scale, view.middle + r * view.scale
    point = tap.point_diameter / 2 * view.scale
    dims.upright(
        pen, x0 - 26, view.middle - point, view.middle + point, "⌀ " + show(tap.point_diameter), start=(x0, x0)
    )
    dims.upright(pen, xe + 34, low, high, "⌀ " + show(thread.major), start=(xe, xe))
    threads = f"{tap.chamfer_threads:.3g} threads = {show(tap.chamfer_length)}"
    dims.level(pen, x0, xc, low - 26, threads, start=(view.middle - point, low))
    _pitch(pen, view, tap, high, show(p))
    _chamfer_angle(pen, view, tap, min(yc, high) if view.up > 0 else high)
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


def _hole(pen: Pen, view: View, hole: Hole, x0: float, text: str) -> None:
    half = hole.diameter / 2 * view.scale
    for y in (view.middle - half, view.middle + half):
        pen.line([(x0 - 60, y), (x0 + view.scale * view.length, y)], "phantom", colour=style.ACCENT)
    dims.upright(pen, x0 - 50, view.middle - half, view.middle + half, "hole ⌀ " + text, colour=style.ACCENT)
