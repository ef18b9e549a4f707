"""Chamfer and flute of a tap whose cutting edges wind round it, from crests seen where they meet an edge.

The outline of such a tap is another part of the land at every height, so no line along it is the chamfer. But an edge
is where its tap is whole, before any relief: each crest on it stands at a radius and an angle that follow from the
chamfer, the helix and the hook, and the picture shows where.
"""

import itertools
import math
from typing import NamedTuple

import numpy as np

from tapkit.geometry.tap import Tap

USUAL_LEAN, LEAST_PITCH = 0.1, 0.15
"""How far a tap leans to the camera at times [rad]; least pitch, in radii, whose ridge tells how far."""


class Edges(NamedTuple):
    """What is known of cutting edges that wind round a right-hand tap: its major diameter [mm], how many edges there
    are, their hook at the rim [deg]; `helical` where they wind beyond the chamfer too."""

    major: float
    count: int
    hook: float
    helical: bool

    @classmethod
    def of(cls, tap: Tap) -> "Edges":
        """The edges of a tap."""
        return cls(tap.thread.major, tap.flutes, tap.radial_rake, tap.form.is_helical)


def not_0(value: float) -> float:
    """A value to divide by."""
    return value or 1e-9


def wound(
    seen_x: np.ndarray, seen_z: np.ndarray, *, edges: Edges, side: float, pitch: float, away: float
) -> tuple[float, float, float, np.ndarray]:
    """Slope and length [mm] of a chamfer, how its cutting edges turn [rad/mm], and how much nearer than the axis six
    crests are (6,) [mm] of which it is seen how far they stand from the axis (6,) and from the point (6,) [mm].

    The first two are crests where they meet an edge on the front, the next two crests of the chamfer where they meet
    an edge near the outline, the last two crests on the outline. Distances from the axis are positive on the `side`
    of the chamfer, 1 to the right. A crest at an angle ψ from the middle is seen at r sin ψ, and nearer than the axis
    by r cos ψ. Along an edge ψ runs evenly, but for the hook, which turns what is further in; the edges stand evenly
    about the axis, and the ridge of the thread rises evenly, which tells the lean. A camera at `away` [mm] or more sees
    what is nearer larger: the middle of both is taken.
    """
    radius, x, z, slope, length, lean = edges.major / 2, seen_x, seen_z, 1.0, 0.0, 0.0
    step, hook, rise = 2 * math.pi / edges.count, math.radians(edges.hook), side * pitch / (2 * math.pi)

    def turned(r: np.ndarray) -> np.ndarray:
        """How far the hook turns an edge further in."""
        return side * (np.arcsin(np.clip(radius * math.sin(hook) / r, -1, 1)) - hook)

    for _round in range(16):
        r = np.clip(radius - (length - z[:4]) * slope, 0.3 * radius, radius)
        psi = np.arcsin(np.clip(x[:2] / r[:2], -1, 1))
        even = psi - turned(r[:2])
        twist = (even[1] - even[0]) / not_0(z[1] - z[0])
        far = even[0] + twist * (z[2:4] - z[0]) + turned(r[2:])
        far = far + step * round((math.pi / 2 - float(far.mean())) / step)
        tip = x[2:4] / np.sin(far)
        slope = (tip[1] - tip[0]) / not_0(z[3] - z[2])
        length = z[2] + (radius - tip[0]) / not_0(slope)
        near = np.concatenate([r * np.cos(np.concatenate([psi, far])), [0.0, 0.0]])
        if edges.helical and pitch > LEAST_PITCH * radius:
            off = z[:2, None] - z[4:] - rise * (psi[:, None] - np.copysign(math.pi / 2, x[4:]))
            off = (off + near[:2, None] * lean + pitch / 2) % pitch - pitch / 2
            lean = _lean(off.mean(axis=1), near[:2], pitch)
        larger = near / (2 * away)
        x, z = seen_x * (1 - larger), seen_z - (seen_z - seen_z.mean()) * larger - near * lean
    return slope, length, twist, near


def _lean(off: np.ndarray, near: np.ndarray, pitch: float) -> float:
    """By what angle a tap leans to the camera [rad] whose ridge is seen too high by `off` (2,), where it stands nearer
    than the axis by `near` (2,) [mm]: which turn of the thread is meant is what both agree on, the least lean first."""
    tried = []
    for turns in itertools.product((-1, 0, 1), repeat=2):
        high = off + pitch * np.array(turns)
        lean = float(high @ near / (near @ near))
        left = (high - near * lean) / (0.1 * pitch)
        tried.append((float(left @ left) + (lean / USUAL_LEAN) ** 2, lean))
    return min(tried)[1]
