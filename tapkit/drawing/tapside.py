"""The working end of a tap seen from the side: flutes, cutting faces, lands and thread ridges, by true projection."""

import math
from typing import NamedTuple

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.pen import Pen
from tapkit.geometry.solid import Solid

STEPS = 32
"""Samples in one pitch along the edges of the lands."""


class SideView(NamedTuple):
    """How a side view lies on the sheet: point at (x, y), `scale` pt a mm, `length` mm of the tap, the `turn` of flute
    1's edge from the eye [rad], and `up` +1, or −1 for a left-hand tap. It lies with the point at the left, or stands
    point down where `standing`."""

    x: float
    y: float
    scale: float
    length: float
    turn: float
    up: float = 1.0
    standing: bool = False

    def place(self, z, y) -> np.ndarray:
        """Points on the sheet, shape (n, 2), of z along the axis and y across it [mm]."""
        return self.grid(z, y).reshape(-1, 2)

    def grid(self, z, y) -> np.ndarray:
        """The same in the shape of the arrays, with one more axis of 2."""
        z, y = np.broadcast_arrays(np.asarray(z, float), np.asarray(y, float))
        along, across = self.scale * z, self.up * self.scale * y
        if self.standing:
            return np.stack([self.x - across, self.y + along], axis=-1)
        return np.stack([self.x + along, self.y + across], axis=-1)


def best_turn(s: Solid) -> float:
    """Angle of flute 1's edge from the eye that shows a cutting face well and nearly the full diameter."""
    land, step = s.land_angle, s.sector
    lead = np.linspace(0, step, 48, endpoint=False)[:, None] + step * np.arange(s.flutes)

    def reach(side: float) -> np.ndarray:
        off = (lead - land / 2 - side + np.pi) % (2 * np.pi) - np.pi
        return np.cos(np.maximum(np.abs(off) - land / 2, 0)).max(axis=1)

    face = (np.cos(lead + 0.3 * np.pi) > 0.97).any(axis=1)
    top, bottom = reach(np.pi / 2), reach(-np.pi / 2)
    shown = np.maximum(top, bottom) if s.flutes == 1 else np.minimum(top, bottom)
    best = int(np.argmax(shown + 0.12 * face))
    return float(lead[best, 0] + s.twist * s.tap.chamfer_length / 2)


class Lands(NamedTuple):
    """Every land that may be seen, arrays (lands, samples): angles from the eye of back and cutting edge [rad], and
    heights above the axis of both where they face the eye [mm]; `foot` the same angles of the inner end of the straight
    cutting face; `z` (samples,)."""

    z: np.ndarray
    heel: np.ndarray
    lead: np.ndarray
    foot: np.ndarray
    y_heel: np.ndarray
    y_lead: np.ndarray


def lands_of(view: SideView, s: Solid) -> Lands:
    """All lands in reach of the eye."""
    z = np.linspace(0, view.length, int(STEPS * view.length / s.pitch) + 2)
    lead, heel = (view.turn + s.land(0, share, z)[0] for share in (0.0, 1.0))
    foot = view.turn + s.edge(0, s.flute.face_end, z)
    first = math.floor((-np.pi - lead.max()) / s.sector) + 1
    last = math.ceil((np.pi - heel.min()) / s.sector) - 1
    copies = s.sector * np.arange(first, last + 1)[:, None]
    low, high = heel + copies, lead + copies
    return Lands(
        z, low, high, foot + copies, *(height(s, view, z, np.clip(a, -np.pi / 2, np.pi / 2)) for a in (low, high))
    )


def height(s: Solid, view: SideView, z: np.ndarray, theta: np.ndarray) -> np.ndarray:
    """Height above the axis of the lands at z and an angle from the eye [mm]."""
    return s.thread(theta - view.turn, z) * np.sin(theta)


def draw_lands(pen: Pen, view: SideView, s: Solid, lands: Lands, kind: str = "edge") -> None:
    """Flutes as ground, then cutting faces, lands and their edges; `kind` of line for what is in sight."""
    z = lands.z
    top, bottom = silhouette(view, s, lands)
    pen.fill(np.vstack([view.place(z, top), view.place(z, bottom)[::-1]]), style.STEEL_DARK, z=1)
    for line in (top, bottom):
        pen.line(view.place(z, line), kind)
    _faces(pen, view, s, lands)
    for heel, lead, low, high in zip(lands.heel, lands.lead, lands.y_heel, lands.y_lead):
        for run in _runs((lead > -np.pi / 2) & (heel < np.pi / 2)):
            ring = [view.place(z[run], low[run]), view.place(z[run], high[run])[::-1]]
            pen.fill(np.vstack(ring), style.STEEL, z=1.4)
    for angle, y, edge in ((lands.heel, lands.y_heel, "thin"), (lands.lead, lands.y_lead, kind)):
        pen.strands(view.grid(z, y), np.abs(angle) < np.pi / 2, edge)


def _faces(pen: Pen, view: SideView, s: Solid, lands: Lands) -> None:
    """The straight cutting faces where the eye sees them: below the axis."""
    radius, z = s.flute.face_end, lands.z
    lead = np.clip(lands.lead, -0.85 * np.pi, 0)
    outer_y = height(s, view, z, lead)
    inner = np.clip(lands.foot, -np.pi / 2, 0)
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


def silhouette(view: SideView, s: Solid, lands: Lands) -> tuple[np.ndarray, np.ndarray]:
    """Upper and lower outline: the land nearest to the top, or the core where no land comes near."""
    found = []
    for side in (np.pi / 2, -np.pi / 2):
        near = np.clip(side, lands.heel, lands.lead)
        reach = np.abs(height(s, view, lands.z, near))
        reach = np.where(np.abs(near - side) < np.pi / 2, reach, 0.0).max(axis=0)
        reach = np.minimum(np.maximum(reach, s.core), s.cone(lands.z))
        found.append(reach * np.sign(side))
    return found[0], found[1]


def draw_ridges(pen: Pen, view: SideView, s: Solid) -> None:
    """Crest and root lines of the thread on the lands."""
    p, theta = s.pitch, np.linspace(-np.pi / 2, np.pi / 2, 49)
    base = s.ridge(theta - view.turn)
    first = -math.ceil(float(base.max()) / p) - 1
    turns = p * np.arange(first, first + math.ceil(view.length / p) + 4)
    offset = np.tile([-p / 16, p / 16, 7 * p / 16, 9 * p / 16], len(turns))[:, None]
    z = base + np.repeat(turns, 4)[:, None] + offset
    radius = np.minimum(np.where(np.abs(offset) < p / 8, s.outer, s.root), s.cone(z))
    seen = ~s.is_open(np.full(z.shape, s.outer), theta - view.turn, z)
    seen &= (z >= 0) & (z <= view.length) & (s.cone(z) > s.root)
    pen.strands(view.grid(z, radius * np.sin(theta)), seen, "thin", z=2.5)


def draw_ends(pen: Pen, view: SideView, s: Solid, lands: Lands) -> None:
    """The flat of the point, and the free-hand line where the view breaks off with paper behind it."""
    top, bottom = (line[[0, -1]] for line in silhouette(view, s, lands))
    pen.line(view.place([0, 0], [top[0], bottom[0]]), "edge")
    y = np.linspace(bottom[1], top[1], 60)
    z = view.length + (3 * np.sin(np.linspace(0, 3 * np.pi, 60)) - 4) / view.scale
    past, more = view.length + 9 / view.scale, 2 / view.scale
    rim = view.place(
        np.concatenate([[z[0]], z, [z[-1], past, past]]),
        np.concatenate([[y[0] - more], y, [y[-1] + more, y[-1] + more, y[0] - more]]),
    )
    pen.fill(rim, style.PAPER, z=3.5)
    pen.line(view.place(z, y), "thin", z=3.6)
