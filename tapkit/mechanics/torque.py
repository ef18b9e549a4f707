"""Torque along the depth: a tooth counts while it is in the metal."""

from typing import Any, NamedTuple

import numpy as np

from tapkit.geometry.hole import Hole
from tapkit.mechanics.toothload import ToothSlices


class TorqueCurve(NamedTuple):
    """Cutting torque [N·m] at each depth of the tap's point below the top face [mm]; straight in between."""

    depth: np.ndarray
    torque: np.ndarray

    @property
    def peak(self) -> float:
        """Largest torque on the curve [N·m]."""
        return float(self.torque.max(initial=0.0))

    def at(self, depth: float) -> float:
        """Torque with the point at a depth [N·m]."""
        return float(np.interp(depth, self.depth, self.torque))


class Holes(NamedTuple):
    """What is asked of a hole, for many: arrays (jobs, 1). `depth` of the part or of a blind hole's cylinder, `end`
    where the point stops in a blind one [mm]."""

    is_through: np.ndarray
    depth: np.ndarray
    end: np.ndarray
    diameter: Any = None
    cone_depth: Any = None

    def tap_depth(self, pitch: Any) -> np.ndarray:
        """Depth the point reaches in a blind hole [mm]."""
        return self.end


def tooth_torque(force: np.ndarray, radius: np.ndarray) -> np.ndarray:
    """Torque of each tooth [N·m] from force [N] and radius [mm]: F r / 1000."""
    return force * radius / 1000


def share_in_metal(depth: np.ndarray, slices: ToothSlices, hole: Any) -> np.ndarray:
    """How much of each tooth's slice is in the metal, shape (…, depths, teeth), 0 to 1.

    A slice goes in as its span along the axis passes the top face, and comes out at the bottom face of a
    through hole. `hole` is a Hole, or arrays of the same names (…, 1) for many taps.
    """
    per_mm = 1 / np.maximum(slices.end - slices.start, 1e-9)[..., None, :]
    ahead = np.asarray(depth, float)[..., :, None] * per_mm
    ahead -= slices.start[..., None, :] * per_mm
    entered = np.clip(ahead, 0, 1)
    if np.any(hole.is_through):
        ahead -= np.where(hole.is_through, hole.depth, 1e9)[..., None] * per_mm
        entered -= np.clip(ahead, 0, 1, out=ahead)
    return entered


def deepest_point(slices: ToothSlices, hole: Any, pitch: Any) -> Any:
    """Depth of the tap's point at the end of the cut [mm].

    Through: until the last cutting tooth has left the part. Blind: the drilled cylinder less the clearance.
    """
    last = np.where(slices.area > 0, slices.end, 0.0).max(axis=-1, initial=0.0, keepdims=np.ndim(hole.depth) > 0)
    return np.where(hole.is_through, hole.depth + last, hole.tap_depth(pitch))[()]


def first_touch(slices: ToothSlices) -> Any:
    """Depth of the point at which the first tooth may touch [mm]: 0, or a little before on a chamfer that runs out."""
    return np.where(slices.area > 0, slices.start, 0.0).min(axis=-1, initial=0.0)


def events(slices: ToothSlices, hole: Any, pitch: Any) -> np.ndarray:
    """Depths of the point at which a slice starts to enter or is in, starts to leave or is out, shape (…, depths),
    from the first touch to the end; not in order, and some more than once."""
    begin, end = first_touch(slices)[..., None], np.atleast_1d(deepest_point(slices, hole, pitch))
    ends = [slices.start, slices.end]
    if np.any(hole.is_through):
        ends += [slices.start + hole.depth, slices.end + hole.depth]
    return np.clip(np.concatenate([begin, end, *ends], axis=-1), begin, end)


def torque_at(depth: np.ndarray, slices: ToothSlices, force: np.ndarray, hole: Any) -> np.ndarray:
    """Torque of the teeth [N·m] with the point at each depth, shape (…, depths)."""
    return (share_in_metal(depth, slices, hole) @ tooth_torque(force, slices.radius)[..., None])[..., 0]


def torque_curve(slices: ToothSlices, force: np.ndarray, hole: Hole, pitch: float) -> TorqueCurve:
    """Cutting torque of one tap along the depth; its nodes are the `events`."""
    depth = np.unique(events(slices, hole, pitch))
    return TorqueCurve(depth, torque_at(depth, slices, force, hole))


def peak_torque(slices: ToothSlices, force: np.ndarray, hole: Any, pitch: Any) -> np.ndarray:
    """Largest torque along the depth [N·m] of many taps, shape (…): the curve turns down only where a slice is in, or
    starts to leave, so the largest is there or at the end."""
    end = np.atleast_1d(deepest_point(slices, hole, pitch))
    depth = np.minimum(np.concatenate([end, slices.end, slices.start + hole.depth], axis=-1), end)
    return torque_at(depth, slices, force, hole).max(axis=-1)


def handbook_torque(*, pitch: float, major: float, specific_force: float) -> float:
    """Torque by the handbook rule M = P² D k_c / 8000 [N·m], with P, D [mm] and k_c [N/mm2].

    It equals 1.27 to 1.43 times the pure cutting sum at usual holes, so friction is already in it.
    Source: general handbook rule [memory].

    >>> round(handbook_torque(pitch=1.5, major=10, specific_force=3000), 2)
    8.44
    """
    return pitch**2 * major * specific_force / 8000
