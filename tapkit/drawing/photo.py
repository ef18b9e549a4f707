"""The picture of a tap: samples of its skin, lit as ground steel, on a pale backdrop.

It is the mean of several pictures shifted by parts of a pixel, for plates, sheets and paper; in the page a tap is drawn
by the browser, by the same light. Parts that cut are tinted and hatched, and their edges carry a line.
"""

import itertools
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from tapkit.drawing import raster, steel
from tapkit.geometry.skin import skin

X, Y, NX, NY, BX, BY, OPEN, ACROSS, EDGE, TINT, Z = range(11)
"""Traits of the samples: place in the picture, normal and direction across the marks of grinding as seen (right, up),
and the marks of the skin."""

PASSES = 2, 9
"""The least and the most shifted pictures that make one picture."""
MOST_PIXELS, FINE_PIXELS, BLOCK = 2_400_000, 600_000, 50_000
"""Pixels of all shifted pictures together, at the most; of the largest picture whose hollows are worked out at every
pixel; samples lit at a time, to spare memory."""
BAND_PIXELS = 150_000
"""Pixels of the bands in which a picture is made, one after the other: its samples need some 100 bytes a pixel."""

FACE_TINT = np.array([1.30, 0.80, 0.26], np.float32)
EDGE_COLOUR = np.array([0.42, 0.045, 0.02], np.float32)
HATCH, EDGE_WIDTH, MARK = 8.0, 1.5, 1.8
"""Spacing of the hatch on cutting faces, width of the line along their edges and of a mark of grinding [1/96 inch]."""
GRAIN = 0.11
"""How much brighter or darker one mark of grinding is than the next."""
NEARNESS = np.float32(0.16)
"""How much the direction to the eye changes over the picture's width or height."""
LAMP = np.float32(-0.22), np.float32(0.06)
"""Seen straight on to the point the tap is held aslant to the lamps by as much, else its end would mirror the dark."""
FADE, SHADOW = 0.09, 0.35
"""Share of the height over which the shank fades at the top; strength of the shadow on the backdrop."""


class Exposure(NamedTuple):
    """The samples of one view and the traits of its cells' corners (cells, 4, traits), what finds the nearest sample,
    and the one each pixel shows (−1 for none)."""

    samples: raster.Samples
    traits: np.ndarray
    visible: raster.Visibility
    shown: np.ndarray


@lru_cache(maxsize=2)
def exposure(camera: raster.Camera) -> Exposure:
    """What a camera sees of a tap; the last two are kept."""
    return _expose(camera)


def release() -> None:
    """Give up what is kept of the last pictures: samples and backdrops, some ten times the pictures' own size."""
    exposure.cache_clear()
    _backdrop.cache_clear()


def _expose(camera: raster.Camera, top: int = 0, bottom: int | None = None) -> Exposure:
    """What a camera sees in the rows from `top` to `bottom` of its picture."""
    s = skin(camera.tap)
    rotation = camera.rotation.astype(np.float32)
    normals = np.tensordot(rotation, s.normals, axes=1)
    across = np.tensordot(rotation[:2], s.across, axes=1)
    place = np.stack(camera.project(s.points))
    traits = np.concatenate([place[:2], normals[:2], across, s.marks]).transpose(2, 1, 0)
    edge = 0 if bottom is None else 1
    rows = (camera.height if bottom is None else bottom) - top + 2 * edge
    place[1] -= top - edge
    samples = raster.sample(place, normals[2].max(0) > -0.03, camera.width, rows)
    visible = raster.Visibility(samples, camera.width, rows, edge)
    return Exposure(samples, np.ascontiguousarray(traits), visible, visible.nearest())


def render(camera: raster.Camera, *, alone: bool = False) -> np.ndarray:
    """Picture of a tap, uint8 (height, width, 4): red, green, blue and opacity; `alone` without backdrop, clear around
    the tap."""
    light, cover, depth = _in_bands(camera)
    at, major = np.flatnonzero(cover > 0), camera.tap.thread.major
    every = 1 if camera.width * camera.height <= FINE_PIXELS else 2
    dark = _hollows(depth * np.float32(camera.scale), major * camera.scale, every)
    dark *= _distance(depth, major)
    light *= dark.ravel()[at, None]
    return _cut_out(light, cover, at) if alone else _composed(light, cover, at)


def _in_bands(camera: raster.Camera) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Light of the pixels the tap touches (pixels, 3), how much of each pixel it covers and the depth there (−∞ where
    there is none), (height, width); band by band, so that it never needs the samples of all."""
    width, height = camera.width, camera.height
    count, found = passes(width, height), []
    cuts = np.linspace(0, height, -(-width * height // BAND_PIXELS) + 1).astype(int)
    for top, bottom in itertools.pairwise(cuts):
        seen = _expose(camera, int(top), int(bottom))
        some, depth = seen.shown >= 0, np.full(seen.shown.shape, -np.inf, np.float32)
        depth[some] = seen.samples.place[2].take(seen.shown[some])
        found.append((*_developed(seen, camera, count), depth))
    light, cover, depth = (np.concatenate(part) for part in zip(*found))
    return light, cover, depth


def passes(width: int, height: int) -> int:
    """How many shifted pictures make one: fewer where the pixels are small.

    >>> passes(420, 640), passes(840, 1280)
    (8, 2)
    """
    return int(np.clip(MOST_PIXELS // (width * height), *PASSES))


def _developed(seen: Exposure, camera: raster.Camera, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Mean light of the pixels the tap touches (pixels, 3), and how much of each pixel it covers (height, width)."""
    samples, traits, visible, first = seen
    found = [first.ravel(), *(visible.nearest(*shift).ravel() for shift in _shifts(count)[1:])]
    used = np.zeros(samples.cell.size + 1, bool)
    for index in found:
        used[index] = True
    shown = np.flatnonzero(used[:-1])
    colours = np.zeros((samples.cell.size + 1, 3), np.float32)  # the last stands for no sample
    for part in np.split(shown, range(BLOCK, shown.size, BLOCK)):
        colours[part] = _lit(samples.between(traits, part), camera)
    light, cover = np.zeros((first.size, 3), np.float32), np.zeros(first.size, np.float32)
    for index in found:
        light += colours.take(index, axis=0, mode="wrap")
        cover += index >= 0
    return light[cover > 0] / count, (cover / count).reshape(first.shape)


def _shifts(count: int) -> list[tuple[float, float]]:
    """Even spread of points over a pixel from its middle on, by the two-dimensional golden ratio."""
    return [((0.5 + i * 0.7548776662) % 1 - 0.5, (0.5 + i * 0.5698402909) % 1 - 0.5) for i in range(count)]


@lru_cache(maxsize=1)
def marks_of_grinding() -> np.ndarray:
    """Fine uneven lines, as a change of the normal across them, (4096,)."""
    rng = np.random.default_rng(7)
    fine, wide = rng.standard_normal(4098), rng.standard_normal(4120)
    wide = np.convolve(wide, np.hanning(25) / 5, mode="valid")
    return (np.convolve(fine, [0.25, 0.5, 0.25], mode="valid") + wide).astype(np.float32)


def _lit(traits: np.ndarray, camera: raster.Camera) -> np.ndarray:
    """Light from samples by their traits (traits, samples), linear picture values (samples, 3).

    The marks of grinding fade where they are seen so slanting that they would be finer than a pixel. The eye is near
    enough that the mirrored light changes over flat parts too.
    """
    scale = np.float32(camera.scale / camera.dots)
    x, y, nx, ny, bx, by, open_, across, edge, tint, z = traits
    lines = marks_of_grinding().take((across * (scale / np.float32(MARK))).astype(np.int32) & 4095)
    lines *= np.clip((bx * bx + by * by) * 2 - np.float32(0.6), 0, 1)
    slant = np.float32(0.07) * lines
    aside = np.float32(np.clip((camera.tilt - 45) / 45, 0, 1))
    nx = nx + NEARNESS * (x / camera.width - np.float32(0.5)) + slant * bx + aside * LAMP[0]
    ny = ny + NEARNESS * (np.float32(0.5) - y / camera.height) + slant * by + aside * LAMP[1]
    light = steel.mirror(nx, ny, bx, by)
    grain = np.maximum(1 + np.float32(GRAIN) * lines, 0)  # a scratch that mirrors more or less of the room
    light *= ((np.float32(0.10) + np.float32(0.90) * open_ * open_) * grain)[:, None]
    light = steel.developed(light * np.float32(1.9))
    face = np.flatnonzero(tint > 0.01)
    light[face] = _tinted(light[face], tint[face], (across[face] + z[face]) * (scale / np.float32(HATCH)))
    light[(edge * scale < EDGE_WIDTH) & (tint > 0.7)] = EDGE_COLOUR
    return light


def _tinted(light: np.ndarray, tint: np.ndarray, slant: np.ndarray) -> np.ndarray:
    """Cutting faces: a warm tint, and fine slanting lines as the second sign; `slant` in spacings of the hatch."""
    line = np.clip(1.6 - np.abs(slant % 1 - 0.5) * 9, 0, 1) * tint
    warm = 1 + tint[:, None] * (FACE_TINT - 1)
    return (light * 0.75 + 0.12) * warm * (1 - 0.35 * line[:, None])


def _hollows(depth: np.ndarray, major: float, every: int) -> np.ndarray:
    """Soft darkening of hollows by how much nearer the picture's depth is around each pixel, (height, width).

    `depth` and `major`, the major diameter, in pixels. Worked out at every pixel or at every second one.
    """
    height, width = depth.shape
    d = np.maximum(depth[::every, ::every], -1e5) / np.float32(every)
    h, w = d.shape
    total = np.zeros(d.shape, np.float32)
    for share, weight in ((0.01, 0.5), (0.02, 0.7), (0.04, 0.9), (0.07, 1.0), (0.12, 0.9)):
        step = max(round(share * major / every), 1)
        pad = np.pad(d, step, mode="edge")
        for dy, dx in ((0, 1), (1, 0), (0.7, 0.7), (0.7, -0.7)):
            y, x = round(step * dy), round(step * dx)
            a = pad[step + y : step + y + h, step + x : step + x + w] - d
            b = pad[step - y : step - y + h, step - x : step - x + w] - d
            lift = np.clip(a, -2 * step, 2 * step) + np.clip(b, -2 * step, 2 * step)
            total += np.float32(weight / step) * np.clip(lift, -0.5 * step, 2 * step)
    dark = np.where(d > -1e4, np.clip(1 - 0.045 * total, 0.25, 1.04), 1).astype(np.float32)
    for axis in (0, 1):
        dark = (np.roll(dark, 1, axis) + 2 * dark + np.roll(dark, -1, axis)) / 4
    return _repeated(dark, every)[:height, :width]


def _distance(depth: np.ndarray, major: float) -> np.ndarray:
    """Less light on what lies far behind the nearest part, (height, width)."""
    behind = np.minimum(depth.max() - depth, 1e3)
    return 1 - np.float32(0.5) * np.clip((behind - 0.7 * major) / (2.2 * major), 0, 1)


def _repeated(small: np.ndarray, times: int) -> np.ndarray:
    return small if times == 1 else small.repeat(times, axis=0).repeat(times, axis=1)


def _composed(light: np.ndarray, cover: np.ndarray, at: np.ndarray) -> np.ndarray:
    """The tap on its backdrop as bytes; `light` of the pixels `at` alone."""
    height, width = cover.shape
    rise = np.clip(np.arange(height, dtype=np.float32) / (FADE * height), 0, 1)
    shown = cover * (rise * rise * (3 - 2 * rise))[:, None]
    back = _backdrop(-(-height // 2), -(-width // 2)) * (1 - SHADOW * _shadow(shown[::2, ::2]))[..., None]
    out = np.ascontiguousarray(_repeated(_bytes(back), 2)[:height, :width])
    row, column = np.divmod(at, width)
    behind = back.reshape(-1, 3).take((row // 2) * back.shape[1] + column // 2, axis=0)
    part = shown.ravel()[at]
    fade = part / cover.ravel()[at]
    out.ravel()[at] = _bytes(light * fade[:, None] + behind * (1 - part)[:, None])
    return out.view(np.uint8).reshape(height, width, 4)


def _cut_out(light: np.ndarray, cover: np.ndarray, at: np.ndarray) -> np.ndarray:
    """The tap alone, as clear around it as it covers little of a pixel; `light` of the pixels `at` alone."""
    out = np.zeros((*cover.shape, 4), np.uint8)
    part = cover.ravel()[at]
    flat = out.reshape(-1, 4)
    flat[at, :3] = steel.encoded(light / part[:, None])
    flat[at, 3] = np.rint(255 * part)
    return out


def _bytes(light: np.ndarray) -> np.ndarray:
    """Linear red, green, blue (…, 3) as opaque pixels of four bytes, uint32 (…)."""
    out = np.full((*light.shape[:-1], 4), 255, np.uint8)
    out[..., :3] = steel.encoded(light)
    return out.view(np.uint32)[..., 0]


@lru_cache(maxsize=8)
def _backdrop(height: int, width: int) -> np.ndarray:
    """Pale paper that turns white toward its borders, linear (height, width, 3)."""
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    x, y = 2 * x / max(width - 1, 1) - 1, 2 * y / max(height - 1, 1) - 1
    rim = np.clip((1 - np.abs(x)) / 0.5, 0, 1) * np.clip((1 - np.abs(y)) / 0.3, 0, 1)
    deep = (rim * rim * (3 - 2 * rim)) * (0.16 + 0.05 * y)
    return (1 - deep[..., None] * np.array([1.0, 0.93, 0.86], np.float32)).astype(np.float32)


def _shadow(cover: np.ndarray) -> np.ndarray:
    """The tap's soft shadow on the backdrop, (height, width) 0–1."""
    height, width = cover.shape
    k, reach = max(width // 60, 1), 5
    small = np.pad(cover, ((0, -height % k), (0, -width % k)))
    small = small.reshape(-(-height // k), k, -(-width // k), k).mean(axis=(1, 3))
    pad = np.roll(np.pad(small, 2 * reach), (1, 3), axis=(0, 1))
    kernel = np.hanning(2 * reach + 3)[1:-1].astype(np.float32)
    kernel /= kernel.sum()
    for axis in (0, 1):
        pad = sum(w * np.roll(pad, i - reach, axis=axis) for i, w in enumerate(kernel))
    return _enlarged(pad[2 * reach : -2 * reach, 2 * reach : -2 * reach], height, width, k)


def _enlarged(small: np.ndarray, height: int, width: int, times: float) -> np.ndarray:
    """A small picture drawn out smoothly to a size."""
    for axis, size in ((0, height), (1, width)):
        at = np.clip((np.arange(size) + 0.5) / times - 0.5, 0, small.shape[axis] - 1)
        low = np.minimum(at.astype(int), max(small.shape[axis] - 2, 0))
        share = (at - low).astype(np.float32)
        share = share[:, None] if axis == 0 else share[None, :]
        high = np.minimum(low + 1, small.shape[axis] - 1)
        small = small.take(low, axis) * (1 - share) + small.take(high, axis) * share
    return small
