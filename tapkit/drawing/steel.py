"""Light on ground steel: a small studio, and what a ground surface mirrors of it.

The surface mirrors the studio (soft boxes left and right, a pale floor and ceiling, and a dark wall behind the eye
with a small lamp in it), with a highlight drawn out across the marks of grinding. For a camera far away the mirrored
light depends on the normal and on the direction across the marks only, so it is laid down once in a table of pictures
of a ball, one for each direction. What the studio holds was chosen by eye.
"""

from functools import lru_cache
from typing import Any

import numpy as np

SIDE, DIRECTIONS = 64, 24
"""Size of one picture of a ball, and how many directions across the marks are told apart."""
SPREAD = 0.20
"""How far a ground surface scatters across its marks, as a change of the normal."""


def _band(value: Any, low: float, high: float, soft: float) -> Any:
    """1 between two angles, falling to 0 over a soft border [deg]."""
    up = np.clip((value - low) / soft + 0.5, 0, 1)
    down = np.clip((high - value) / soft + 0.5, 0, 1)
    return (up * up * (3 - 2 * up)) * (down * down * (3 - 2 * down))


def studio(x: Any, y: Any, z: Any) -> np.ndarray:
    """Light that comes from a direction (right, up, toward the eye), linear red, green, blue in the last axis."""
    azimuth = np.degrees(np.arctan2(x, z))
    height = np.degrees(np.arcsin(np.clip(y, -1, 1)))
    key = 2.3 * _band(azimuth, -76, -30, 15) * _band(height, -38, 66, 22)
    rim = 2.2 * _band(azimuth, 62, 112, 14) * _band(height, -60, 62, 20)
    top = 0.85 * _band(height, 48, 120, 30)
    floor = 0.42 * _band(height, -120, -34, 34)
    gobo = 1 - 0.6 * _band(azimuth, -18, 34, 18) * _band(height, -30, 40, 20)
    flash = 0.34 * _band(np.degrees(np.arccos(np.clip(z, -1, 1))), -90, 17, 22)
    room = 0.17 * (1 + 0.5 * y) * gobo + flash
    warm, cool, plain = np.array([1.0, 0.985, 0.95]), np.array([0.95, 0.98, 1.0]), np.array([0.97, 0.99, 1.0])
    return (
        key[..., None] * warm + rim[..., None] * cool + (top + room)[..., None] * plain + floor[..., None] * warm
    ).astype(np.float32)


@lru_cache(maxsize=1)
def ball() -> np.ndarray:
    """Mirrored light by direction across the marks and by normal, (DIRECTIONS, SIDE, SIDE, 3), float32."""
    step = np.linspace(-1, 1, SIDE)
    nx, ny = np.meshgrid(step, step)
    inside = np.minimum(1, 0.999 / np.maximum(np.hypot(nx, ny), 1e-9))
    nx, ny = nx * inside, ny * inside
    nz = np.sqrt(np.maximum(1 - nx**2 - ny**2, 1e-3))
    a = (np.arange(DIRECTIONS) * np.pi / DIRECTIONS)[:, None, None]
    along = nx * np.cos(a) + ny * np.sin(a)
    b = np.stack(np.broadcast_arrays(np.cos(a), np.sin(a), -along / nz))
    b /= np.sqrt((b**2).sum(0))
    return _mirrored(np.stack(np.broadcast_arrays(nx, ny, nz, a)[:3]).astype(np.float32), b.astype(np.float32))


def _mirrored(n: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Mean of the studio over normals scattered across the marks, with the mirror's gain at grazing sight."""
    total, weight = np.zeros((*n.shape[1:], 3), np.float32), 0.0
    for across in np.linspace(-2.0, 2.0, 9):
        w = np.exp(-0.5 * across**2)
        m = n + np.float32(SPREAD * across) * b
        m = m / np.sqrt((m**2).sum(0))
        mz = np.abs(m[2])
        total += np.float32(w) * studio(2 * mz * m[0], 2 * mz * m[1], 2 * mz * mz - 1)
        weight += w
    shine = 0.60 + 0.40 * (1 - np.clip(n[2], 0, 1)) ** 5
    return total / np.float32(weight) * shine[..., None].astype(np.float32)


def _between(layer: np.ndarray, nx: np.ndarray, ny: np.ndarray) -> np.ndarray:
    """One layer read between its values, (points, 3)."""
    table = ball().reshape(-1, 3)
    top = np.float32((SIDE - 1) * 0.999999)
    x, y = np.clip((nx + 1) / 2, 0, 1) * top, np.clip((ny + 1) / 2, 0, 1) * top
    column, row = x.astype(np.int32), y.astype(np.int32)
    x, y = (x - column)[:, None], (y - row)[:, None]
    at = (layer * SIDE + row) * SIDE + column
    upper = table.take(at, 0) * (1 - x) + table.take(at + 1, 0) * x
    lower = table.take(at + SIDE, 0) * (1 - x) + table.take(at + SIDE + 1, 0) * x
    return upper * (1 - y) + lower * y


def mirror(nx: np.ndarray, ny: np.ndarray, bx: np.ndarray, by: np.ndarray) -> np.ndarray:
    """Light mirrored by surface points, (points, 3): their normals and directions across the marks, as seen."""
    turn = (np.arctan2(by, bx) * np.float32(DIRECTIONS / np.pi)) % np.float32(DIRECTIONS)
    low = turn.astype(np.int32)
    share = (turn - low)[:, None]
    return _between(low % DIRECTIONS, nx, ny) * (1 - share) + _between((low + 1) % DIRECTIONS, nx, ny) * share


@lru_cache(maxsize=1)
def _curve() -> np.ndarray:
    """Display value 0–255 for linear light 0–1 in 4096 steps (sRGB)."""
    x = np.linspace(0, 1, 4097)
    s = np.where(x <= 0.0031308, 12.92 * x, 1.055 * np.maximum(x, 1e-9) ** (1 / 2.4) - 0.055)
    return np.round(255 * s).astype(np.uint8)


def developed(light: np.ndarray) -> np.ndarray:
    """Linear light of any brightness as linear picture values in 0–1, highlights rolled off."""
    light = light * np.sqrt(light + np.float32(0.08))  # a little more contrast in the dark
    return light * (1 + light * np.float32(1 / 12)) / (1 + light)


def encoded(picture: np.ndarray) -> np.ndarray:
    """Linear picture values 0–1 as sRGB bytes."""
    return _curve().take((picture * np.float32(4096)).astype(np.intp), mode="clip")
