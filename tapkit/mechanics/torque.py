"""Torque along the depth: a tooth counts while it is in the metal."""

from __future__ import annotations

from typing import NamedTuple

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

    @property
    def peak_depth(self) -> float:
        """Depth at which the torque first reaches its peak [mm]."""
        return float(self.depth[int(np.argmax(self.torque >= self.peak - 1e-12))])

    def at(self, depth: float) -> float:
        """Torque with the point at a depth [N·m]."""
        return float(np.interp(depth, self.depth, self.torque))


def tooth_torque(force: np.ndarray, radius: np.ndarray) -> np.ndarray:
    """Torque of each tooth [N·m] from force [N] and radius [mm]: F r / 1000."""
    return force * radius / 1000


def share_in_metal(depth: np.ndarray, slices: ToothSlices, hole: Hole) -> np.ndarray:
    """How much of each tooth's slice is in the metal, shape (depths, teeth), 0 to 1.

    A slice goes in as its span along the axis passes the top face, and comes out at the bottom face of a
    through hole.
    """
    length = np.maximum(slices.end - slices.start, 1e-9)
    ahead = np.asarray(depth, float)[:, None] - slices.start[None, :]
    entered = np.clip(ahead / length, 0, 1)
    left = np.clip((ahead - hole.depth) / length, 0, 1) if hole.is_through else 0.0
    return entered - left


def deepest_point(slices: ToothSlices, hole: Hole, pitch: float) -> float:
    """Depth of the tap's point at the end of the cut [mm].

    Through: until the last cutting tooth has left the part. Blind: the drilled cylinder less the clearance.
    """
    if hole.is_through:
        return hole.depth + float(slices.end.max(initial=0.0))
    return hole.tap_depth(pitch)


def first_touch(slices: ToothSlices) -> float:
    """Depth of the point at which the first tooth may touch [mm]: 0, or a little before on a chamfer that runs out."""
    return min(0.0, float(slices.start[slices.area > 0].min(initial=0.0)))


def torque_curve(slices: ToothSlices, force: np.ndarray, hole: Hole, pitch: float) -> TorqueCurve:
    """Cutting torque along the depth; its nodes are the depths where a slice enters or leaves."""
    begin, end = first_touch(slices), deepest_point(slices, hole, pitch)
    events = [np.array([begin, end]), slices.start, slices.end]
    if hole.is_through:
        events += [slices.start + hole.depth, slices.end + hole.depth]
    depth = np.unique(np.clip(np.concatenate(events), begin, end))
    return TorqueCurve(depth, share_in_metal(depth, slices, hole) @ tooth_torque(force, slices.radius))


def handbook_torque(*, pitch: float, major: float, specific_force: float) -> float:
    """Torque by the handbook rule M = P² D k_c / 8000 [N·m], with P, D [mm] and k_c [N/mm2].

    It equals 1.27 to 1.43 times the pure cutting sum at usual holes, so friction is already in it.
    Source: general handbook rule [memory].

    >>> round(handbook_torque(pitch=1.5, major=10, specific_force=3000), 2)
    8.44
    """
    return pitch**2 * major * specific_force / 8000
