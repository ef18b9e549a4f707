"""The tap seen from the front while it turns: its lands, cutting faces and flute backs as outlines that change.

Every outline is the straight view of the true skin (geometry/solid.py) at some fifteen angles of a turn; the browser
goes evenly from one to the next. All flutes share one set of outlines: flute j runs j/Z of a turn later and stands P/Z
further up. Places are counted from the middle of the point, y down.

What is out of sight must cover nothing: its outline closes on itself at the tap's side or at the core. A line that goes
out of sight at the left comes back at the right; all lines of one tooth jump together, so nothing is torn open.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from tapkit.drawing.motion_view import FRAME, MotionView
from tapkit.geometry.solid import Solid

FINE_THREAD, FINE_TWISTED = 34, 22
"""With more teeth in sight, on straight and on twisted flutes, each is drawn with two corners instead of four, and
fewer outlines make a turn."""
LEFT, RIGHT = -math.pi, 0.0
"""Angles φ of the tap's two sides, seen from above, counter-clockwise from the right; −π/2 is nearest the viewer."""
TURN = 2 * math.pi


class Outlines(NamedTuple):
    """Closed outlines of one land in one position, each a list of arrays (n, 2) in px: the `land` with its teeth,
    the `shade` of its threads' lower flanks, its cutting `face`, the `hollow` of the flute below that, and the `back`
    of the flute behind the land."""

    land: list[np.ndarray]
    shade: list[np.ndarray]
    face: list[np.ndarray]
    hollow: list[np.ndarray]
    back: list[np.ndarray]


class MotionLine(NamedTuple):
    """A line along the tap through the corners of its teeth: height `z` [mm], angle `theta` in the direction of
    cutting [rad] and radius `r` [mm], each of shape (teeth, corners)."""

    z: np.ndarray
    theta: np.ndarray
    r: np.ndarray


@dataclass(frozen=True)
class MotionSkin:
    """Lines along the tap from which its outlines are made, for one view; lengths mm, angles rad. `simple` where the
    picture would be too large."""

    view: MotionView
    simple: bool = False

    @property
    def solid(self) -> Solid:
        """The tap as it cuts."""
        return self.view.solid

    @cached_property
    def top(self) -> float:
        """Length of tap shown, from its point."""
        above = (self.view.face - FRAME[1]) / self.view.scale
        return above + max(self.view.last - self.view.passed, 0) + 2 * self.view.pitch

    # --- lines along the tap --------------------------------------------------------------------------

    @cached_property
    def _along(self) -> np.ndarray:
        return np.linspace(-2 * self.view.pitch, self.top, 400)

    def _phase(self, theta: np.ndarray) -> np.ndarray:
        """Distance along a line θ(z) from the thread ridge through its first tooth; a tooth stands at every pitch."""
        return self._along - self.solid.ridge(theta)

    def _edge_at(self, z: np.ndarray) -> np.ndarray:
        return self.solid.edge(0, self.solid.outer, z)

    def _heel_at(self, z: np.ndarray) -> np.ndarray:
        return self.solid.heel(0, self.solid.outer, z)

    @cached_property
    def _teeth(self) -> np.ndarray:
        """Teeth, counted in pitches, that lie on both the edge and the heel of the land."""
        ends = [self._phase(line(self._along))[[0, -1]] / self.view.pitch for line in (self._edge_at, self._heel_at)]
        low, high = max(e[0] for e in ends), min(e[1] for e in ends)
        return np.arange(math.ceil(low + 0.5), math.floor(high - 0.5) + 1)

    @property
    def is_fine(self) -> bool:
        """Whether teeth are drawn simpler, as so many are in sight."""
        return self.simple or len(self._teeth) > (FINE_TWISTED if self.solid.twist else FINE_THREAD)

    @cached_property
    def steps(self) -> int:
        """Outlines in a turn."""
        return 10 if self.simple else 12 if self.is_fine else 15

    def _line(self, theta_at: Callable[[np.ndarray], np.ndarray]) -> MotionLine:
        p = self.view.pitch
        corners = np.array([-8, 0] if self.is_fine else [-7, -1, 1, 7]) * p / 16
        place = self._teeth[:, None] * p + corners
        z = np.interp(place, self._phase(theta_at(self._along)), self._along)
        theta = theta_at(z)
        return MotionLine(z, theta, self.solid.thread(theta, np.maximum(z, 0)))

    @cached_property
    def edge(self) -> MotionLine:
        """The cutting edge."""
        return self._line(self._edge_at)

    @cached_property
    def heel(self) -> MotionLine:
        """The heel of the land, through the same threads."""
        return self._line(self._heel_at)

    @cached_property
    def _lag(self) -> np.ndarray:
        """How far the corners of the cutting edge lie behind its outermost line, by the radial rake."""
        return self._behind(self.edge.r)

    def _behind(self, r: np.ndarray | float) -> np.ndarray:
        return self.solid.flute.face(self.solid.outer) - self.solid.flute.face(r)

    # --- outlines -------------------------------------------------------------------------------------

    @cached_property
    def turned(self) -> list[Outlines]:
        """Outlines at even steps through one turn, from φ = 90° on."""
        return [self.outlines(math.pi / 2 - TURN * i / self.steps) for i in range(self.steps + 1)]

    def outlines(self, turned: float) -> Outlines:
        """Outlines of flute 1's land when its edge at the point stands at φ = `turned` [rad]."""
        land, shade = self._land(turned)
        return Outlines([land], shade, *self._walls(turned))

    def _land(self, turned: float) -> tuple[np.ndarray, list[np.ndarray]]:
        """The land between edge and heel, and on it the root of each thread with the flank above, in shade."""
        edge, heel = turned - self.edge.theta + self._lag, turned - self.heel.theta
        middle = (edge.mean(axis=1, keepdims=True) + heel.mean(axis=1, keepdims=True)) / 2
        whole = TURN * np.floor((middle + 0.75 * TURN) / TURN)  # the land's middle in −270° … 90°
        edge, heel = edge - whole, heel - whole
        x_edge, x_heel = (
            line.r * np.cos(np.clip(a, LEFT, RIGHT)) for line, a in ((self.edge, edge), (self.heel, heel))
        )
        hidden = (edge >= RIGHT) | (heel <= LEFT)
        front = self._at(x_edge, self.edge.z)
        rear = self._at(np.where(hidden, x_edge, x_heel), np.where(hidden, self.edge.z, self.heel.z))
        width = self.edge.z.shape[1]
        ends = (
            (slice(0, None, 2), slice(1, None, 2)) if self.is_fine else (slice(3, -width, width), slice(5, None, width))
        )
        quads = np.stack([front[ends[0]], rear[ends[0]], rear[ends[1]], front[ends[1]]], axis=1)
        return np.vstack([front, rear[::-1]]), list(quads)

    def _walls(self, turned: float) -> tuple[list[np.ndarray], list[np.ndarray], list[np.ndarray]]:
        """The cutting face, the hollow below it down to the flute's bottom, and the flute's back up to the heel."""
        (z, theta, r), (zh, theta_h, rh) = self._grouped(self.edge), self._grouped(self.heel)
        edge, ends = turned - theta, [0, -1] if self.solid.twist or self.solid.gash else [0]
        inner, core, half_flute = self.solid.flute.face_end, self.solid.core, self.solid.flute.half_angle
        rim = self._seen(edge, r, -self._behind(r))
        foot = self._seen(edge, inner, -self._behind(inner))[:, ends]
        rim, foot = _closed(rim, foot)
        floor = np.minimum(self._seen(edge, core, half_flute)[:, ends], foot)
        mirrored = -math.pi - (turned - theta_h)  # in a mirror the back of a flute is a face
        top = ends if self.is_fine else slice(None)
        heel = self._seen(mirrored, self.view.major / 2 if self.is_fine else rh, 0.0)[:, top]
        heel, bottom = _closed(heel, self._seen(mirrored, core, half_flute)[:, ends])
        return (
            [self._strip((rim, z), (foot, z[:, ends]))],
            [self._strip((foot, z[:, ends]), (floor, z[:, ends]))],
            [self._strip((-heel, zh[:, top]), (-bottom, zh[:, ends]))],
        )

    def _grouped(self, line: MotionLine) -> MotionLine:
        """The line in groups of one tooth, or of three where there are many; each has straight foot and floor."""
        size = 3 if self.is_fine else 1
        whole = len(line.z) // size * size
        return MotionLine(*(v[-whole:].reshape(whole // size, -1) for v in line))

    def _seen(self, phi: np.ndarray, radius: np.ndarray | float, ahead: np.ndarray | float) -> np.ndarray:
        """Where a line of a cutting face shows, x [mm], shape (teeth, corners); it lies `ahead` of its edge [rad].

        What has turned past the right side shows as far as it stands out beside the core; what has gone round the
        left side shows no more.
        """
        whole = TURN * np.floor((phi.mean(axis=1, keepdims=True) + 0.625 * TURN) / TURN)
        phi = phi - whole
        x = radius * np.cos(phi - ahead)
        x = np.where((phi > 0) & (phi - ahead > 0), np.maximum(x, self.solid.core), x)
        x = np.where(phi > 0.5 * math.pi, self.solid.core, x)
        return np.where(phi < LEFT, -self.view.major / 2, x)

    def _strip(self, one: tuple, other: tuple) -> np.ndarray:
        return np.vstack([self._at(*one), self._at(*other)[::-1]])

    def _at(self, x: np.ndarray, z: np.ndarray) -> np.ndarray:
        """Places from the middle of the point [px], shape (n, 2)."""
        return self.view.scale * np.column_stack([self.view.hand * np.ravel(x), -np.ravel(z)])

    def envelope(self) -> np.ndarray:
        """Outline of the tap's whole round shape from its point up, (6, 2) px: chamfer cone and cylinder."""
        tap, r = self.view.tap, self.solid.outer
        tip, n = tap.point_diameter / 2, tap.chamfer_length
        return self._at(np.array([-r, -r, -tip, tip, r, r]), np.array([self.top, n, 0, 0, n, self.top]))


def _closed(rim: np.ndarray, foot: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rim and foot of a wall. A foot beyond its rim means that the wall has turned away: on the far half both meet."""
    least = rim.min(axis=1, keepdims=True)
    gone = (least < 0) & (foot >= least).any(axis=1, keepdims=True)
    return np.where(gone, least, rim), np.where(gone, least, np.minimum(foot, least))
