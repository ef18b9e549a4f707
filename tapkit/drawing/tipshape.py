"""The skin of a tap as the line drawings need it: radius of the teeth, edges of the lands. Lengths mm, angles rad.

Angles are counted in the direction of cutting; for a left-hand tap the drawing is mirrored. Tooth 1 stands on the
cutting edge of flute 1 at the first tooth's place f P/Z from the point, and each later flute lies behind it.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from tapkit.geometry import section
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import SQRT3


def root_radius(tap: Tap) -> float:
    """Radius of the bottom of the tap's own thread [mm]: flanks down to the flat P/8, D/2 − (3/4) H."""
    return tap.thread.major / 2 - 0.75 * tap.thread.height


def cone_radius(tap: Tap, z: Any) -> np.ndarray:
    """Radius of the chamfer cone, and of the cylinder behind it, at z from the point [mm]."""
    slope = math.tan(math.radians(tap.chamfer_angle))
    return np.minimum(tap.point_diameter / 2 + np.asarray(z, float) * slope, tap.thread.major / 2)


def crest_place(tap: Tap, theta: Any, first_tooth: float = 1.0) -> np.ndarray:
    """Where the thread ridge's middle stands on the ray at theta from flute 1's edge, from the point [mm], modulo P.

    The ridge runs back as the ray runs forward: z = f P/Z − P θ/2π.
    """
    return first_tooth * tap.tooth_spacing - tap.thread.pitch * np.asarray(theta, float) / (2 * np.pi)


def tooth_radius(tap: Tap, z: Any, theta: Any, first_tooth: float = 1.0) -> np.ndarray:
    """Radius of a land at z from the point and theta from flute 1's edge [mm]: flanks of ISO 68-1, cut by the cone."""
    p, r = tap.thread.pitch, tap.thread.major / 2
    x = np.asarray(z, float) - crest_place(tap, theta, first_tooth)
    x = (x + p / 2) % p - p / 2
    ridge = np.clip(r - (np.abs(x) - p / 16) * SQRT3, root_radius(tap), r)
    return np.minimum(ridge, cone_radius(tap, z))


GASH_SHARE = 0.75
"""The spiral point's grind leaves at least a quarter of a land's width at the point; chosen for the drawings."""


def gash_length(tap: Tap) -> float:
    """How far a spiral point is ground back from the point [mm]: over the chamfer and one thread, or as far as the
    land's width allows; 0 for other taps."""
    if not tap.form.is_ground_back or tap.axial_rake == 0:
        return 0.0
    most = GASH_SHARE * tap.land_width / abs(math.tan(math.radians(tap.axial_rake)))
    return min(tap.chamfer_length + tap.thread.pitch, most)


def twist(tap: Tap, z: Any) -> np.ndarray:
    """Turn of the whole flute at z against the point [rad]; zero where flutes are straight.

    The face n ∝ (−tan γ_p, 1, tan γ_f) recedes by z tan γ_f along the cut, so θ = −z tan γ_f / (D/2).
    """
    z = np.asarray(z, float)
    if not tap.form.is_helical:
        return np.zeros_like(z)
    return -z * math.tan(math.radians(tap.axial_rake)) / (tap.thread.major / 2)


def gash(tap: Tap, z: Any) -> np.ndarray:
    """How far the cutting edge stands behind the flute's own edge at z [rad]: the spiral point's grind, else zero."""
    z = np.asarray(z, float)
    back = np.clip(gash_length(tap) - z, 0, None)
    return back * abs(math.tan(math.radians(tap.axial_rake))) / (tap.thread.major / 2)


def land_angle(tap: Tap) -> float:
    """Angle a land spans at the major diameter [rad]: 2 asin(land/D)."""
    return 2 * math.asin(min(tap.land_width / tap.thread.major, 1.0))


def edge_angle(tap: Tap, flute: int, z: Any) -> np.ndarray:
    """Angle of a flute's cutting edge at z [rad], from flute 1's edge at the point of an ungashed tap."""
    return -2 * np.pi * (flute - 1) / tap.flutes + twist(tap, z) - gash(tap, z)


def heel_angle(tap: Tap, flute: int, z: Any) -> np.ndarray:
    """Angle of the back edge of the land that follows a flute's cutting edge [rad]."""
    return -2 * np.pi * (flute - 1) / tap.flutes + twist(tap, z) - land_angle(tap)


def rake_lag(tap: Tap, radius: Any) -> np.ndarray:
    """How far the cutting face lies behind its edge at a smaller radius [rad]: tan γ_p (R − r)/r."""
    r = np.asarray(radius, float)
    return math.tan(math.radians(tap.radial_rake)) * (tap.thread.major / 2 - r) / r


FACE_SHARE, BLEND_FROM = 0.42, -0.25
"""The straight face reaches over this share of the flute's depth; it blends into the flute's arc from there to this
place along it (−1 at the cutting edge, 0 at the bottom). Chosen for the drawing."""


def flute_contour(tap: Tap, count: int = 24) -> np.ndarray:
    """One flute seen on the end, about its middle on the x axis, shape (points, 2) [mm], from the cutting edge to the
    back of the next land. The cut runs toward +y; the face stands at the radial rake, the rest is the arc of the
    section."""
    arc = section.flute(**section.measures(tap))
    edge = arc.outer_radius * np.array([np.cos(arc.half_angle), -np.sin(arc.half_angle)])
    inward, back = -edge / arc.outer_radius, np.array([-np.sin(arc.half_angle), -np.cos(arc.half_angle)])
    lean = math.radians(tap.radial_rake)
    face = math.cos(lean) * inward + math.sin(lean) * back
    depth = arc.outer_radius - arc.core_radius
    foot = edge + FACE_SHARE * depth * face
    rest = np.column_stack(arc.at(np.linspace(BLEND_FROM, 1, count) * arc.half_length))
    ahead = (rest[1] - rest[0]) / np.hypot(*(rest[1] - rest[0]))
    reach = 0.4 * float(np.hypot(*(rest[0] - foot)))
    t = np.linspace(0, 1, 12)[:-1, None]
    bend = (
        (1 - t) ** 3 * foot
        + 3 * (1 - t) ** 2 * t * (foot + reach * face)
        + 3 * (1 - t) * t**2 * (rest[0] - reach * ahead)
        + t**3 * rest[0]
    )
    return np.vstack([edge, bend, rest])


def end_outline(tap: Tap, turn: float = 0.0, land_points: int = 12) -> np.ndarray:
    """Closed outline of the tap seen on its end, shape (points, 2) [mm]; flute 1's middle at angle `turn` [rad]."""
    one = flute_contour(tap)
    half = float(section.flute(**section.measures(tap)).half_angle)
    across = np.linspace(half, 2 * np.pi / tap.flutes - half, land_points + 2)[1:-1]
    land = tap.thread.major / 2 * np.column_stack([np.cos(across), np.sin(across)])
    part = np.vstack([one, land]) @ np.array([1, 1j])
    turns = np.exp(1j * (turn + 2 * np.pi * np.arange(tap.flutes) / tap.flutes))
    whole = (turns[:, None] * part[None, :]).ravel()
    return np.column_stack([whole.real, whole.imag])
