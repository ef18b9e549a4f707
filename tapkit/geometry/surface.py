"""The shape of a tap as a solid: flutes in cross-section, thread with chamfer and relief, point, neck and shank.

Frame: r from the axis, angle in the direction of cutting, z from the small end of the chamfer toward the shank.
Angles start at the cutting edge of flute 1 at full diameter, at z = 0 (on a spiral point: where that edge would stand
if its face were not ground back); flute j follows 2π/Z behind flute j − 1. In this frame a left-hand tap is the same
solid as a right-hand one; `cartesian` mirrors it. Lengths mm, angles in radians. Derived for this project from the
tap's own fields; what they leave open is in the tables `tap_grinding` and `tap_blanks`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from typing import Any, NamedTuple

import numpy as np

from tapkit import tables
from tapkit.geometry.tap import Tap, flute_half_angle
from tapkit.geometry.thread import SQRT3


@cache
def finish(name: str) -> float:
    """One value of the table `tap_grinding`."""
    for row in tables.rows("tap_grinding"):
        if row["name"] == name:
            return float(row["value"])
    raise ValueError(f"the table tap_grinding has no row {name!r}")


class Blank(NamedTuple):
    """What stands behind the thread, all in mm: end of the thread, radius of the neck and z where it ends, radius of
    the shank and z where its drawn part ends, z where the flutes start to run out and where they are gone, radius of
    the wheel that made them, radius and height of the centre on the point (negative where it is bored)."""

    thread_end: float
    neck_radius: float
    neck_end: float
    shank_radius: float
    shank_end: float
    flute_end: float
    flute_gone: float
    wheel_radius: float
    centre_radius: float
    centre_height: float


@dataclass(frozen=True)
class FluteShape:
    """Cross-section of one flute about its middle line, the cutting face on the side of negative angles.

    The face is straight at the radial rake from the edge in to `face_end`; a fillet leads on to the core circle; the
    back is the arc that touches the core circle and passes through the heel of the next land.
    Angles from the middle line: `face(r)` ≤ angle ≤ `heel(r)` is open, from the core outward.
    """

    outer: float
    core: float
    half_angle: float
    rake: float
    face_end: float

    @cached_property
    def offset(self) -> float:
        """Distance of the face's line from the axis [mm], positive with positive rake: R sin γ."""
        return self.outer * math.sin(self.rake)

    @cached_property
    def fillet(self) -> float:
        """Radius of the fillet that touches the face at `face_end` and the core circle [mm]."""
        return (self.face_end**2 - self.core**2) / (2 * max(self.core + self.offset, 0.05 * self.outer))

    @cached_property
    def bottom_start(self) -> float:
        """Angle at which the fillet touches the core circle [rad]."""
        along = math.sqrt(max(self.face_end**2 - self.offset**2, 0.0))
        return -self.half_angle + self.rake + math.atan2(self.fillet - self.offset, along)

    @cached_property
    def bottom_end(self) -> float:
        """Angle at which the back leaves the core circle [rad]; 0 unless the fillet already lies past the middle."""
        return max(0.0, self.bottom_start)

    @cached_property
    def back(self) -> float:
        """Half the curvature of the back [1/mm]; negative where it bulges: k = (R cos β − r_c)/(R² − r_c²)."""
        opening = self.outer * math.cos(self.half_angle - self.bottom_end)
        return (opening - self.core) / (self.outer**2 - self.core**2)

    def _on_fillet(self, r: np.ndarray) -> np.ndarray:
        centre = self.core + self.fillet
        cosine = (r**2 + centre**2 - self.fillet**2) / (2 * centre * r)
        return np.arccos(np.clip(cosine, -1, 1))

    def face(self, r: np.ndarray) -> np.ndarray:
        """Angle of the cutting face at radius r [mm], not under the core."""
        r = np.maximum(r, self.core)
        line = -self.half_angle + self.rake - np.arcsin(np.clip(self.offset / r, -1, 1))
        return np.where(r >= self.face_end, line, self.bottom_start - self._on_fillet(r))

    def face_normal(self, r: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Unit normal of the face out of the metal: its parts outward and in the direction of cutting."""
        r = np.maximum(r, self.core)
        lean = np.arcsin(np.clip(self.offset / r, -1, 1))
        around = self._on_fillet(r)
        centre = self.core + self.fillet
        straight = r >= self.face_end
        out = np.where(straight, -np.sin(lean), (centre * np.cos(around) - r) / self.fillet)
        return out, np.where(straight, np.cos(lean), centre * np.sin(around) / self.fillet)

    def heel(self, r: np.ndarray) -> np.ndarray:
        """Angle of the back of the flute, which is the heel of the next land, at radius r [mm]."""
        return self.bottom_end + self._on_back(np.maximum(r, self.core))

    def _on_back(self, r: np.ndarray) -> np.ndarray:
        return np.arccos(np.clip(self.core / r + self.back * (r**2 - self.core**2) / r, -1, 1))

    def heel_normal(self, r: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Unit normal of the back out of the metal: its parts outward and in the direction of cutting."""
        r = np.maximum(r, self.core)
        around = self._on_back(r)
        scale = 1 / (1 - 2 * self.back * self.core)
        return (np.cos(around) - 2 * self.back * r) * scale, -np.sin(around) * scale


class Solid:
    """A tap ready to be asked for its surface; make it with `solid(tap)`, which keeps the last few."""

    def __init__(self, tap: Tap) -> None:
        self.tap = tap
        self.outer = tap.thread.major / 2
        self.pitch = tap.thread.pitch
        self.flutes = tap.flutes
        self.sector = 2 * math.pi / tap.flutes
        self.slope = math.tan(math.radians(tap.chamfer_angle))
        core = tap.core_diameter / 2
        self.root = max(self.outer - finish("root_depth") * tap.thread.height, 1.01 * core)
        self.flute = _flute(tap, core, self.root)
        self.land_angle = self.sector - 2 * self.flute.half_angle
        self.blank = _blank(tap, core, self.root)
        lead = math.tan(math.radians(tap.axial_rake)) / self.outer
        self.twist = lead if tap.form.is_helical else 0.0
        self.gash = -lead if tap.form.is_ground_back else 0.0
        self.gash_end = _gash_end(tap, self.gash, self.land_angle)
        self.first_tooth = self.pitch / tap.flutes
        self.first_angle = float(self.edge(0, self.outer, self.first_tooth))

    # --- flutes ---

    def middle(self, flute: Any, z: Any) -> Any:
        """Angle of the middle line of a flute (from 0) at z."""
        return self.flute.half_angle - self.sector * flute - self.twist * z

    def ground_back(self, z: Any) -> Any:
        """Angle by which a spiral point's face is ground back at z."""
        return self.gash * np.maximum(self.gash_end - z, 0.0)

    def turning(self, z: Any, face: bool = True) -> Any:
        """How the angle of a face (or of a back) grows with z [rad/mm]."""
        return -self.twist + (self.gash * (np.asarray(z) < self.gash_end) if face else 0.0) + 0.0 * np.asarray(z)

    def lift(self, z: Any) -> Any:
        """How far a flute's bottom has risen where the wheel ran out, at z [mm]."""
        return np.maximum(z - self.blank.flute_end, 0.0) ** 2 / (2 * self.blank.wheel_radius)

    def edge(self, flute: Any, r: Any, z: Any) -> Any:
        """Angle of the cutting face of a flute (from 0) at radius r and z."""
        return self.middle(flute, z) + self.flute.face(r - self.lift(z)) - self.ground_back(z)

    def heel(self, flute: Any, r: Any, z: Any) -> Any:
        """Angle of the heel of the land behind a flute, at radius r and z."""
        return self.middle(flute, z) - self.sector + self.flute.heel(r - self.lift(z))

    # --- thread ---

    def ridge(self, angle: Any) -> Any:
        """z of the middle of the thread's ridge at an angle; the other turns stand a pitch apart."""
        return self.first_tooth - self.pitch * (angle - self.first_angle) / (2 * math.pi)

    def cone(self, z: Any) -> Any:
        """Radius of the chamfer cone at z [mm]."""
        return self.tap.point_diameter / 2 + z * self.slope

    def across(self, x: Any) -> Any:
        """Place across the thread from the middle of the nearest turn's ridge, −P/2 to P/2 [mm]."""
        return (x + self.pitch / 2) % self.pitch - self.pitch / 2

    def outline(self, x: Any) -> Any:
        """Radius of the whole thread at x from the middle of its ridge [mm]: crest flat P/8, 60°, root flat."""
        flank = self.outer - (np.abs(x) - self.pitch / 16) * SQRT3
        return np.clip(flank, self.root, self.outer)

    def relief(self, behind: Any, land: Any) -> tuple[Any, Any]:
        """How far thread and chamfer lie inward at an angle behind the edge of a land of an angle [mm]."""
        margin = finish("thread_margin") * land
        thread = self.outer * math.tan(math.radians(finish("thread_relief"))) * np.maximum(behind - margin, 0.0)
        return thread, self.outer * math.tan(math.radians(finish("chamfer_relief"))) * behind

    def body(self, angle: Any, z: Any) -> Any:
        """Radius of the tap before its flutes are cut, at an angle and z [mm]; relief included."""
        angle, z = np.asarray(angle, float), np.asarray(z, float)
        x = self.across(z - self.ridge(angle))
        plain = np.minimum(self.outline(x), self.cone(z))
        flute, _ = self.place(angle, z)
        land = self.edge(flute, plain, z) - self.heel(flute, plain, z)
        behind = np.clip(self.edge(flute, plain, z) - angle, 0.0, land)  # over a flute nothing is relieved further
        thread, chamfer = self.relief(behind, land)
        threaded = np.minimum(self.outline(x) - thread, self.cone(z) - chamfer)
        return np.where(z < self.blank.thread_end, threaded, self.behind_thread(z))

    def behind_thread(self, z: Any) -> Any:
        """Radius of neck and shank at z [mm], a cone of 45° between them."""
        b = self.blank
        return np.clip(b.neck_radius + (z - b.neck_end), *sorted((b.neck_radius, b.shank_radius)))

    def place(self, angle: Any, z: Any) -> tuple[Any, Any]:
        """The flute (from 0) whose land or opening an angle lies in at z, and the angle from that flute's middle."""
        half = self.flute.half_angle
        turns = np.floor((half - (np.asarray(angle) - self.middle(0, z))) / self.sector)
        return turns % self.flutes, np.asarray(angle) - self.middle(0, z) + turns * self.sector

    def is_open(self, r: Any, angle: Any, z: Any) -> Any:
        """Whether a point lies in a flute."""
        _, off = self.place(angle, z)
        low = r - self.lift(z)
        open_ = (off > self.flute.face(low) - self.ground_back(z)) & (off < self.flute.heel(low))
        return open_ & (low > self.flute.core)

    def is_metal(self, r: Any, angle: Any, z: Any) -> Any:
        """Whether a point lies in the tap; the centre at the point is left out."""
        inside = (np.asarray(z) >= 0) & (np.asarray(z) <= self.blank.shank_end)
        return inside & (r <= self.body(angle, z)) & ~self.is_open(r, angle, z)

    def radius(self, angle: Any, z: Any) -> Any:
        """Radius of the outermost metal at an angle and z [mm]."""
        angle, z = np.broadcast_arrays(np.asarray(angle, float), np.asarray(z, float))
        high = np.array(self.body(angle, z))
        low = np.minimum(np.full(high.shape, self.flute.core) + self.lift(z), high)
        hollow = self.is_open(high, angle, z)
        for _ in range(40):  # a bisection; the flute's wall is crossed once
            half = (low + high) / 2
            gap = self.is_open(half, angle, z)
            high, low = np.where(gap & hollow, half, high), np.where(gap, low, half)
        return np.where(hollow, low, self.body(angle, z))

    # --- teeth ---

    def tooth(self, number: Any) -> tuple[Any, Any, Any, Any]:
        """Flute (from 0), radius, angle and z of the tip of tooth `number` (from 1) on its cutting edge.

        Along an edge that is not straight the teeth stand a little off P/Z, because the ridge meets it sooner or
        later; z is solved by a few steps of the same equation."""
        k = np.asarray(number) - 1
        flute = k % self.flutes
        z = self.first_tooth + k * self.pitch / self.flutes
        for _ in range(8):
            angle = self.edge(flute, self.outer, z) - 2 * math.pi * (k // self.flutes)
            z = self.ridge(angle)
        r = np.minimum(self.outer, self.cone(z))
        return flute, r, self.edge(flute, r, z), z

    @property
    def chamfer_teeth(self) -> int:
        """How many teeth stand on the chamfer."""
        numbers = np.arange(1, int(self.flutes * (self.tap.chamfer_threads + 2)) + 2)
        return int((self.tooth(numbers)[3] <= self.tap.chamfer_length + 1e-9).sum())


@lru_cache(maxsize=32)
def solid(tap: Tap) -> Solid:
    """The tap's surface, ready to be asked."""
    return Solid(tap)


def radius(theta: Any, z: Any, tap: Tap) -> np.ndarray:
    """Radius of the outermost metal of a tap [mm].

    Parameters: `theta` angle in the direction of cutting from the cutting edge of flute 1 [rad], `z` from the small
    end of the chamfer [mm]; arrays that broadcast. Returns an array of their common shape.

    >>> tap = Tap.parse("M10x1.5 plug")
    >>> middle = solid(tap).flute.half_angle
    >>> round(float(radius(middle, 3.0, tap)) * 2 / tap.core_diameter, 6)
    1.0
    """
    return solid(tap).radius(theta, z)


def cartesian(r: Any, cosine: Any, sine: Any, z: Any, hand: str = "right") -> np.ndarray:
    """Right-handed x, y, z [mm] of points at a radius and an angle (by its cosine and sine), shape (3, …).

    A right-hand tap turns clockwise seen from its shank, against the mathematical sense about +z; a left-hand tap is
    its mirror image.
    """
    side = -1.0 if hand == "right" else 1.0
    return np.stack(np.broadcast_arrays(r * cosine, side * r * sine, z))


def turned(vector: tuple[Any, Any, Any], cosine: Any, sine: Any, hand: str = "right") -> np.ndarray:
    """A vector (outward, in the direction of cutting, axial) at an angle as right-handed x, y, z, shape (3, …)."""
    out, fore, axial = vector
    side = -1.0 if hand == "right" else 1.0
    return np.stack(np.broadcast_arrays(out * cosine - fore * sine, side * (out * sine + fore * cosine), axial))


def _flute(tap: Tap, core: float, root: float) -> FluteShape:
    outer, rake = tap.thread.major / 2, math.radians(tap.radial_rake)
    half = flute_half_angle(tap.thread.major, tap.land_width, tap.flutes)
    deepest = max(core + 0.12 * (outer - core), abs(outer * math.sin(rake)) * 1.02)
    wanted = min(max(root - 0.04 * outer, deepest), 0.97 * outer)
    tries = [*np.linspace(wanted, 0.97 * outer, 6), *np.linspace(wanted, deepest, 6)[1:]]
    shapes = [FluteShape(outer, core, half, rake, max(float(end), 1.001 * core)) for end in tries]
    return next((s for s in shapes if _can_be_ground(s, math.pi / tap.flutes)), shapes[0])


def _can_be_ground(shape: FluteShape, half_sector: float) -> bool:
    """Whether the fillet touches the core before the flute's middle, and a hooked face leaves half the land."""
    r = np.linspace(shape.core, shape.outer, 40)
    left = (2 * half_sector + shape.face(r) - shape.heel(r)).min()
    return shape.bottom_start <= 0 and bool(left >= half_sector - shape.half_angle)


def _gash_end(tap: Tap, gash: float, land_angle: float) -> float:
    """Length over which a spiral point is ground back: the chamfer and a thread more, or what the land allows."""
    if not gash:
        return 0.0
    whole = (tap.chamfer_threads + finish("gash_past_chamfer")) * tap.thread.pitch
    return min(whole, (1 - finish("gash_land_left")) * land_angle / gash)


def _blank(tap: Tap, core: float, root: float) -> Blank:
    d, pitch = tap.thread.major, tap.thread.pitch
    rows = tables.rows("tap_blanks")
    sizes = [float(r["major_mm"]) for r in rows]
    length = float(np.interp(d, sizes, [float(r["thread_length_mm"]) for r in rows]))
    shank = float(np.interp(d, sizes, [float(r["shank_mm"]) for r in rows])) / 2
    end = max(length, (tap.chamfer_threads + 4) * pitch)
    neck = max(min(root - 0.02 * d, shank), core * 1.02)
    wheel = finish("wheel_radius") * d
    gone = end + math.sqrt(2 * wheel * (neck - core))
    neck_end = max(end + (finish("neck_length") * d if shank > neck else 0.0), gone)
    pointed = d <= finish("male_centre") and tap.chamfer_threads >= 3
    centre = core * (0.8 if pointed else 0.4)
    height = centre / math.tan(math.radians(finish("centre_angle") / 2))
    return Blank(
        end, neck, neck_end, max(shank, neck), neck_end + finish("shank_shown") * d,
        end, gone, wheel, centre, height if pointed else -height,
    )  # fmt: skip
