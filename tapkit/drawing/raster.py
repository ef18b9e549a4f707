"""Skin cells to pixels: where the camera stands, which point of the skin each pixel shows, and nothing else.

Every cell is covered by a lattice of sample points so close that each pixel under it holds at least one; the nearest
sample wins the pixel. A lattice with steps of at most 0.7 pixels in both directions leaves no square of one pixel
empty, so the skin has no holes at any size. Pictures are antialiased by doing this again with the lattice shifted by
parts of a pixel; the samples, and so their light, stay the same.
"""

import math
from dataclasses import dataclass
from functools import cache, cached_property
from typing import NamedTuple

import numpy as np

from tapkit.geometry.solid import solid
from tapkit.geometry.tap import Tap

STEP = 0.7
"""Longest step between neighbouring samples [pixels]: 1/√2 keeps every pixel hit."""
STEPS = np.array([1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 26, 34, 44, 58, 76, 100, 130, 170, 220, 300, 400, 600, 900])
"""Numbers of samples along one side of a cell that are used; a cell takes the next larger one."""
MARGIN = 0.045
"""Empty border above and below the tap, as a share of the picture's height."""
FIRST_TURN = -68.0
"""Angle at which the edge of flute 1 stands at turn 0, so that its cutting face is in sight [deg]."""
DISTANCE = 7.0
"""Camera's distance as a multiple of the length in view."""


@dataclass(frozen=True)
class Camera:
    """From the tap's x, y, z [mm] to pixels: x right, y down, depth toward the eye [mm].

    `turn` [deg] in the direction of cutting, `tilt` [deg] from the side (0) to straight on the point (90) or on the
    shank (−90), picture size in pixels, `zoom` 1 shows the whole thread and more makes the point larger, `dots` pixels
    in a point of the screen (1/96 inch), by which lines and hatches grow.
    """

    tap: Tap
    turn: float = 0.0
    tilt: float = 18.0
    width: int = 420
    height: int = 640
    zoom: float = 1.0
    dots: float = 1.0

    @cached_property
    def rotation(self) -> np.ndarray:
        """Rows: right, up, toward the eye, in the tap's x, y, z; shape (3, 3)."""
        side = -1.0 if self.tap.thread.hand == "right" else 1.0
        a, t = side * math.radians(self.turn + FIRST_TURN), math.radians(self.tilt)
        spin = np.array([[math.cos(a), -math.sin(a), 0], [math.sin(a), math.cos(a), 0], [0, 0, 1.0]])
        look = np.array([[0, 1, 0], [math.sin(t), 0, math.cos(t)], [math.cos(t), 0, -math.sin(t)]])
        return look @ spin

    @cached_property
    def length(self) -> float:
        """Length of the tap that fits in the picture from the side [mm]."""
        s = solid(self.tap)
        return min(s.blank.thread_end + 1.0 * s.outer, s.blank.shank_end) / self.zoom

    @cached_property
    def box(self) -> tuple[float, float]:
        """Lowest and highest place of what must be in the picture, from the end face's middle [mm]."""
        t, s = math.radians(self.tilt), solid(self.tap)
        radius = s.outer * abs(math.sin(t))
        tip = -max(s.blank.centre_height, 0.0) * math.cos(t)
        return min(-radius, tip), self.length * math.cos(t) + radius

    @cached_property
    def scale(self) -> float:
        """Pixels in a millimetre at the end face's distance."""
        low, high = self.box
        tall = (1 - 2 * MARGIN) * self.height / (high - low)
        return min(tall, 0.74 * self.width / (2 * solid(self.tap).outer))

    def project(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """x and y in pixels from the upper left corner and depth in mm of points (3, …)."""
        right, up, near = np.tensordot(self.rotation.astype(points.dtype), points, axes=1)
        low, high = self.box
        middle = (low + high) / 2
        size = self.scale / (1 - near / (DISTANCE * self.length * self.zoom))
        return self.width / 2 + right * size, self.height / 2 - (up * size - middle * self.scale), near


class Samples(NamedTuple):
    """Sample points of the skin that face the eye: `place` (3, samples) x, y [pixels] and depth; `cell` (samples,) the
    index of each one's cell and `share` its row in `shares` (rows, 4), how near it is to each corner."""

    place: np.ndarray
    cell: np.ndarray
    share: np.ndarray
    shares: np.ndarray

    def between(self, corners: np.ndarray, index: np.ndarray) -> np.ndarray:
        """Values at some samples from those at the corners (cells, 4, values), shape (values, samples)."""
        weights = self.shares.take(self.share.take(index), axis=0)
        return np.einsum("nj,njk->kn", weights, corners.take(self.cell.take(index), axis=0))


def _steps(length: np.ndarray) -> np.ndarray:
    """Place in STEPS of the number of samples for a side of a length in pixels."""
    return np.searchsorted(STEPS, np.minimum(np.ceil(length / STEP), STEPS[-1]))


@cache
def _weights(rows: int, columns: int) -> np.ndarray:
    """Shares of the four corners in each point of a lattice, (rows · columns, 4)."""
    v = ((np.arange(rows) + 0.5) / rows)[:, None]
    u = ((np.arange(columns) + 0.5) / columns)[None, :]
    return np.stack([(1 - v) * (1 - u), (1 - v) * u, v * (1 - u), v * u], axis=-1).reshape(-1, 4).astype(np.float32)


def _longer(x: np.ndarray, y: np.ndarray, sides: tuple[tuple[int, int], tuple[int, int]]) -> np.ndarray:
    """Length of the longer of two sides of every cell [pixels]."""
    return np.sqrt(np.max([(x[i] - x[j]) ** 2 + (y[i] - y[j]) ** 2 for i, j in sides], axis=0))


def sample(place: np.ndarray, facing: np.ndarray, width: int, height: int) -> Samples:
    """Cover the cells that face the eye and touch the picture with samples.

    `place` (3, 4, cells) x, y [pixels] and depth of the corners; `facing` (cells,) bool.
    """
    x, y = place[:2]
    seen = facing & (x.max(0) > 0) & (x.min(0) < width) & (y.max(0) > 0) & (y.min(0) < height)
    index = np.flatnonzero(seen)
    x, y = x[:, index], y[:, index]
    rows, columns = (_steps(_longer(x, y, s)) for s in (((0, 2), (1, 3)), ((0, 1), (2, 3))))
    kind = rows * STEPS.size + columns
    order = np.argsort(kind, kind="stable")
    return _covered(place[:, :, index[order]], index[order], kind[order])


def _covered(place: np.ndarray, index: np.ndarray, kind: np.ndarray) -> Samples:
    """Samples of cells in order of their kind of lattice."""
    starts = np.flatnonzero(np.diff(kind, prepend=-1))
    lattices = [_weights(STEPS[k // STEPS.size], STEPS[k % STEPS.size]) for k in kind[starts]]
    sizes = np.diff(np.append(starts, kind.size))
    total = int(sum(len(w) * n for w, n in zip(lattices, sizes)))
    points, cell, share = np.empty((3, total), np.float32), np.empty(total, np.int32), np.empty(total, np.int32)
    at = row = 0
    for a, n, weights in zip(starts, sizes, lattices):
        k = len(weights)
        here = slice(at, at + k * n)
        np.matmul(weights, place[:, :, a : a + n], out=points[:, here].reshape(3, k, n))
        cell[here].reshape(k, n)[:] = index[a : a + n]
        share[here].reshape(k, n)[:] = np.arange(row, row + k)[:, None]
        at, row = here.stop, row + k
    return Samples(points, cell, share, np.concatenate(lattices) if lattices else np.empty((0, 4), np.float32))


class Visibility:
    """Finds the nearest sample at every pixel; the same for any shift of the picture by parts of a pixel.

    `edge` rows at the top and at the bottom are left out: they hold what only a shift brings into sight.
    """

    def __init__(self, samples: Samples, width: int, height: int, edge: int = 0) -> None:
        self.size, self.edge = (height, width), edge
        self.x, self.y, depth = samples.place
        low, high = (float(depth.min()), float(depth.max())) if depth.size else (0.0, 1.0)
        level = ((depth - low) * (2**30 / max(high - low, 1e-9))).astype(np.int64)
        self.key = (level << 32) | np.arange(depth.size)

    def nearest(self, dx: float = 0.0, dy: float = 0.0) -> np.ndarray:
        """Index of the nearest sample at each pixel, −1 where there is none, (height, width)."""
        height, width = self.size
        column = np.clip(self.x + np.float32(dx + 1), 0, width + 1).astype(np.int32)
        row = np.clip(self.y + np.float32(dy + 1), 0, height + 1).astype(np.int32)
        best = np.full((height + 2) * (width + 2), -1, np.int64)
        np.maximum.at(best, row * (width + 2) + column, self.key)
        found = (best & 0xFFFFFFFF).astype(np.int32)
        found[best < 0] = -1
        return found.reshape(height + 2, width + 2)[1 + self.edge : height + 1 - self.edge, 1:-1]
