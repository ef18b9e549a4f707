"""The shape of a tap as a solid: flutes in cross-section, thread with chamfer and relief, point, neck and shank.

Frame: r from the axis, angle in the direction of cutting, z from the small end of the chamfer toward the shank.
Angles start at the cutting edge of flute 1 at full diameter, at z = 0 (on a spiral point: where that edge would stand
if its face were not ground back); flute j follows 2π/Z behind flute j − 1. In this frame a left-hand tap is the same
solid as a right-hand one; `cartesian` mirrors it. Lengths mm, angles in radians. Derived for this project from the
tap's own fields; what they leave open is in the tables `tap_grinding` and `tap_blanks`.
"""

import math
from functools import cache, cached_property, lru_cache
from typing import Any, NamedTuple

import numpy as np

from tapkit import tables
from tapkit.geometry import section
from tapkit.geometry.section import flute_half_angle
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import SQRT3


@cache
def finish(name: str) -> float:
    """One value of the table `tap_grinding`."""
    return float(tables.row("tap_grinding", name=name)["value"])


class TapBlank(NamedTuple):
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


class _FluteMeasures(NamedTuple):
    outer: Any
    core: Any
    half_angle: Any
    rake: Any
    face_end: Any


class FluteShape(_FluteMeasures):
    """Cross-section of one flute about its middle line, the cutting face on the side of negative angles.

    The face is straight at the radial rake from the edge in to `face_end`; a fillet leads on to the core circle; the
    back is the arc that touches the core circle and passes through the heel of the next land.
    Angles from the middle line: `face(r)` ≤ angle ≤ `heel(r)` is open, from the core outward.
    Radii `outer`, `core`, `face_end` in mm, `half_angle` and `rake` in radians: floats, or arrays of one shape.
    """

    @cached_property
    def offset(self) -> Any:
        """Distance of the face's line from the axis [mm], positive with positive rake: R sin γ."""
        return self.outer * np.sin(self.rake)

    @cached_property
    def fillet(self) -> Any:
        """Radius of the fillet that touches the face at `face_end` and the core circle [mm]."""
        return (self.face_end**2 - self.core**2) / (2 * np.maximum(self.core + self.offset, 0.05 * self.outer))

    @cached_property
    def bottom_start(self) -> Any:
        """Angle at which the fillet touches the core circle [rad]."""
        along = np.sqrt(np.maximum(self.face_end**2 - self.offset**2, 0.0))
        return -self.half_angle + self.rake + np.arctan2(self.fillet - self.offset, along)

    @cached_property
    def bottom_end(self) -> Any:
        """Angle at which the back leaves the core circle [rad]; 0 unless the fillet already lies past the middle."""
        return np.maximum(0.0, self.bottom_start)

    @cached_property
    def back(self) -> Any:
        """Curvature of the back [1/mm]; negative where it bulges."""
        return section.curvature(self.core, self.outer, self.half_angle - self.bottom_end)

    def face(self, r: Any) -> Any:
        """Angle of the cutting face at radius r [mm], not under the core."""
        r = np.maximum(r, self.core)
        line = -self.half_angle + self.rake - np.arcsin(np.clip(self.offset / r, -1, 1))
        return np.where(r >= self.face_end, line, self.bottom_start - section.arc_angle(self.core, 1 / self.fillet, r))

    def face_normal(self, r: Any) -> tuple[Any, Any]:
        """Unit normal of the face out of the metal: its parts outward and in the direction of cutting."""
        r = np.maximum(r, self.core)
        lean = np.arcsin(np.clip(self.offset / r, -1, 1))
        around = section.arc_angle(self.core, 1 / self.fillet, r)
        centre = self.core + self.fillet
        straight = r >= self.face_end
        out = np.where(straight, -np.sin(lean), (centre * np.cos(around) - r) / self.fillet)
        return out, np.where(straight, np.cos(lean), centre * np.sin(around) / self.fillet)

    def heel(self, r: Any) -> Any:
        """Angle of the back of the flute, which is the heel of the next land, at radius r [mm]."""
        return self.bottom_end + section.arc_angle(self.core, self.back, np.maximum(r, self.core))

    def heel_normal(self, r: Any) -> tuple[Any, Any]:
        """Unit normal of the back out of the metal: its parts outward and in the direction of cutting."""
        r, k = np.maximum(r, self.core), self.back
        around = section.arc_angle(self.core, k, r)
        centre = 1 + k * self.core
        return centre * np.cos(around) - k * r, -centre * np.sin(around)

    def area(self, out_to: Any = None) -> Any:
        """Area of the flute [mm2], out to the major diameter or to a smaller radius [mm]: ∫ (heel − face) r dr."""
        r = self.outer if out_to is None else np.clip(out_to, self.core, self.outer)
        curved, straight = np.minimum(r, self.face_end), np.maximum(r, self.face_end)
        level = (self.bottom_end - self.bottom_start) * (r**2 - self.core**2) / 2
        level = level + (self.bottom_start + self.half_angle - self.rake) * (straight**2 - self.face_end**2) / 2
        face = self._under_line(straight) - self._under_line(self.face_end)
        arcs = section.arc_area(self.core, 1 / self.fillet, curved) + section.arc_area(self.core, self.back, r)
        return level + face + arcs / 2

    def _under_line(self, r: Any) -> Any:
        """∫ asin(offset/r) r dr."""
        o = self.offset
        return (r**2 * np.arcsin(np.clip(o / r, -1, 1)) + o * np.sqrt(np.maximum(r**2 - o**2, 0.0))) / 2

    def nodes(self, count: int) -> tuple[np.ndarray, np.ndarray]:
        """Radii of points down the fillet of the face, and up the back; close together where both leave the core."""
        t = np.linspace(0, 1, count) ** 2
        return self.core + (self.face_end - self.core) * t[::-1], self.core + (self.outer - self.core) * t


def flute_shape(*, diameter: Any, core: Any, land: Any, flutes: Any, radial_rake: Any, pitch: Any) -> FluteShape:
    """The flute of a tap, or of many at once, from D, core diameter, chord of a land, pitch [mm] and radial rake [deg].

    The face reaches to below the thread's root; where that cannot be ground, as far as it can.
    """
    values = (np.asarray(v, float) for v in (diameter, core, land, flutes, np.radians(radial_rake), pitch))
    diameter, core, land, flutes, rake, pitch = np.broadcast_arrays(*values)
    outer, core, share = diameter / 2, core / 2, np.pi / flutes
    half = flute_half_angle(diameter, land, flutes)
    deepest = np.maximum(core + 0.12 * (outer - core), np.abs(outer * np.sin(rake)) * 1.02)
    wanted = np.minimum(np.maximum(root_radius(outer, core, pitch) - 0.04 * outer, deepest), 0.97 * outer)
    end = np.maximum(wanted, 1.001 * core)
    shape = FluteShape(outer, core, half, rake, end)
    for far in (0.97 * outer, deepest):
        shape = _as_near_as_can_be(shape, np.maximum(far, 1.001 * core), share)
    return shape


def _as_near_as_can_be(shape: FluteShape, far: Any, share: Any) -> FluteShape:
    """Those that cannot be ground with the face's end moved toward a `far` one, no further than it must be."""
    left = _left_by_grinding(shape, share) < 0
    if not left.any():
        return shape
    some, far, share = FluteShape(*(v[left] for v in shape)), far[left], share[left]

    def at(step: Any) -> FluteShape:
        return some._replace(face_end=some.face_end + (far - some.face_end) * step)

    near, width = np.ones(len(share)), 1.0
    for parts in (5, 8, 8):  # the first that fits among as many steps, then between it and the one before
        tried = near - width * (np.arange(parts) / parts)[:, None]
        fits = _left_by_grinding(at(tried), share) >= 0
        near = np.where(fits, tried, near).min(axis=0)
        width /= parts
        if parts == 5:
            possible = fits.any(axis=0)
    more, less = _left_by_grinding(at(near - width * np.array([[0.0], [1.0]])), share)
    near = near - 0.99 * width * np.maximum(more, 0.0) / np.maximum(more - less, 1e-12)  # well within
    end = np.array(shape.face_end)
    end[left] = np.where(possible, at(near).face_end, some.face_end)
    return shape._replace(face_end=end)


def _left_by_grinding(shape: FluteShape, share: Any) -> Any:
    """Least of what is left between the fillet's end on the core and the flute's middle, and of a land behind a hooked
    face beyond half of it [rad]; less than 0 where it cannot be ground."""
    step = np.linspace(0, 1, 40).reshape(-1, *(1,) * np.ndim(shape.face_end))
    r = shape.core + (shape.outer - shape.core) * step
    land = (2 * share + shape.face(r) - shape.heel(r)).min(axis=0)
    return np.minimum(-shape.bottom_start, land - (share - shape.half_angle))


def root_radius(outer: Any, core: Any, pitch: Any) -> Any:
    """Radius of the bottom of the tap's own thread [mm], a little outside the core."""
    return np.maximum(outer - finish("root_depth") * SQRT3 / 2 * pitch, 1.01 * core)


class Solid:
    """A tap ready to be asked for its shape; make it with `solid(tap)`, which keeps the last few."""

    def __init__(self, tap: Tap, first_tooth: float = 1.0) -> None:
        self.tap = tap
        self.outer = tap.thread.major / 2
        self.core = tap.core_diameter / 2
        self.pitch = tap.thread.pitch
        self.flutes = tap.flutes
        self.sector = 2 * math.pi / tap.flutes
        self.slope = math.tan(math.radians(tap.chamfer_angle))
        self.root = float(root_radius(self.outer, self.core, self.pitch))
        shape = flute_shape(radial_rake=tap.radial_rake, pitch=self.pitch, **section.measures(tap))
        self.flute = FluteShape(*map(float, shape))
        self.land_angle = self.sector - 2 * self.flute.half_angle
        self.blank = _blank(tap, self.core, self.root)
        lead = math.tan(math.radians(tap.axial_rake)) / self.outer
        self.twist = lead if tap.form.is_helical else 0.0
        self.gash = -lead if tap.form.is_ground_back else 0.0
        self.gash_end = _gash_end(tap, self.gash, self.land_angle)
        self.first_tooth = first_tooth * self.pitch / tap.flutes
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
        """Angle of the cutting face of a flute (from 0) at radius r and z, before the flutes run out."""
        return self.middle(flute, z) + self.flute.face(r) - self.ground_back(z)

    def heel(self, flute: Any, r: Any, z: Any) -> Any:
        """Angle of the heel of the land behind a flute, at radius r and z, before the flutes run out."""
        return self.middle(flute, z) - self.sector + self.flute.heel(r)

    def land(self, flute: Any, share: Any, z: Any, *, threaded: bool = True) -> tuple[Any, Any]:
        """Angle and radius of the land behind a flute at a share of its width, 0 at the edge to 1 at the heel, at z;
        on thread and chamfer with their relief, or on the major diameter."""
        r = self.outer + 0.0 * (np.asarray(share) + flute + z)
        for _ in range(4 if threaded else 1):
            edge = self.edge(flute, r, z)
            land = edge - self.heel(flute, r, z)
            angle = edge - land * share
            r = np.maximum(self.relieved(angle, z, land * share, land), self.core) if threaded else r
        return angle, r

    # --- sections square to the axis ---

    def area(self, z: float | None = None) -> float:
        """Area of the section with lands on the major diameter [mm2], at z or behind what is ground back (None)."""
        ground = 0.0 if z is None else float(self.ground_back(z)) * (self.outer**2 - self.core**2) / 2
        return math.pi * self.outer**2 - self.flutes * (float(self.flute.area()) + ground)

    def outline(self, z: float | None = None, *, threaded: bool = False, turn: float = 0.0, nodes: int = 14) -> Any:
        """Closed outline of the section at z [mm] or behind what is ground back (None), shape (points, 2) [mm].

        It runs in the direction of cutting, counter-clockwise; the middle of flute 1 stands at the angle `turn` [rad].
        Each flute begins with the two ends of the straight part of its face. The lands lie on the major diameter, or
        where `threaded` on thread and chamfer with their relief.
        """
        z = self.gash_end if z is None else z
        face, back = self.flute.nodes(nodes)
        bottom = np.linspace(self.flute.bottom_start - self.ground_back(z), self.flute.bottom_end, nodes)[1:-1]
        share = np.linspace(1, 0, (8 if threaded else 1) * nodes)
        found = []
        for flute in -np.arange(self.flutes):  # the flute before this one stands ahead of it
            start = self.land(flute, 0.0, z, threaded=threaded)[1]
            angle, top = self.land(flute - 1, share, z, threaded=threaded)
            down, up = np.append(start, face[face < start]), np.append(back[back < top[0]], top[0])
            found += [(down, self.edge(flute, down, z)), (self.core + 0 * bottom, self.middle(flute, z) + bottom)]
            found += [(up, self.heel(flute - 1, up, z)), (top[1:-1], angle[1:-1])]
        r, angle = (np.concatenate(part) for part in zip(*found))
        angle = angle + turn - self.middle(0, z)
        return np.column_stack([r * np.cos(angle), r * np.sin(angle)])

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

    def profile(self, x: Any) -> Any:
        """Radius of the whole thread at x from the middle of its ridge [mm]: crest flat P/8, 60°, root flat."""
        flank = self.outer - (np.abs(x) - self.pitch / 16) * SQRT3
        return np.clip(flank, self.root, self.outer)

    def thread(self, angle: Any, z: Any) -> Any:
        """Radius of thread and chamfer at an angle and z [mm], before flutes are cut and lands relieved."""
        return np.minimum(self.profile(self.across(z - self.ridge(angle))), self.cone(z))

    def relief(self, behind: Any, land: Any) -> tuple[Any, Any]:
        """How far thread and chamfer lie inward at an angle behind the edge of a land of an angle [mm]."""
        margin = finish("thread_margin") * land
        thread = self.outer * math.tan(math.radians(finish("thread_relief"))) * np.maximum(behind - margin, 0.0)
        return thread, self.outer * math.tan(math.radians(finish("chamfer_relief"))) * behind

    def relieved(self, angle: Any, z: Any, behind: Any, land: Any) -> Any:
        """Radius of thread and chamfer at an angle and z [mm], relieved as an angle behind the edge of a land asks."""
        thread, chamfer = self.relief(behind, land)
        return np.minimum(self.profile(self.across(z - self.ridge(angle))) - thread, self.cone(z) - chamfer)

    def body(self, angle: Any, z: Any) -> Any:
        """Radius of the tap before its flutes are cut, at an angle and z [mm]; relief included."""
        angle, z = np.asarray(angle, float), np.asarray(z, float)
        plain = self.thread(angle, z)
        _, off = self.place(angle, z)
        edge = self.flute.face(plain) - self.ground_back(z)
        land = edge + self.sector - self.flute.heel(plain)
        behind = np.clip(edge - off, 0.0, land)  # over a flute nothing is relieved further
        return np.where(z < self.blank.thread_end, self.relieved(angle, z, behind, land), self.behind_thread(z))

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
        face, heel = self.flute.face(low) - self.ground_back(z), self.flute.heel(low)
        under = off + self.sector < heel  # a back may be hollowed out under the land ahead of its own flute
        return ((off > face) & (off < heel) | under) & (low > self.core)

    def radius(self, angle: Any, z: Any) -> Any:
        """Radius of the outermost metal at an angle and z [mm].

        >>> s = solid(Tap.parse("M10x1.5 plug"))
        >>> round(float(s.radius(s.flute.half_angle, 3.0)) * 2 / s.tap.core_diameter, 6)
        1.0
        """
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

    def turn_of(self, angle: Any, z: Any) -> Any:
        """Whole turns of the thread from its first ridge to the tooth at an angle, counted on beyond a turn, and z: on
        the land of a flute (from 0) that is tooth number 1 + flute + Z · turns."""
        return np.floor((z - self.ridge(angle)) / self.pitch + 0.5)

    @property
    def chamfer_teeth(self) -> int:
        """How many teeth stand on the chamfer."""
        numbers = np.arange(1, int(self.flutes * (self.tap.chamfer_threads + 2)) + 2)
        return int((self.tooth(numbers)[3] <= self.tap.chamfer_length + 1e-9).sum())


@lru_cache(maxsize=32)
def solid(tap: Tap, first_tooth: float = 1.0) -> Solid:
    """The shape of a tap whose first tooth stands a share of P/Z from the point."""
    return Solid(tap, first_tooth)


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


def _gash_end(tap: Tap, gash: float, land_angle: float) -> float:
    """Length over which a spiral point is ground back: the chamfer and a thread more, or what the land allows."""
    if not gash:
        return 0.0
    whole = (tap.chamfer_threads + finish("gash_past_chamfer")) * tap.thread.pitch
    return min(whole, (1 - finish("gash_land_left")) * land_angle / gash)


def _blank(tap: Tap, core: float, root: float) -> TapBlank:
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
    return TapBlank(
        end, neck, neck_end, max(shank, neck), neck_end + finish("shank_shown") * d,
        end, gone, wheel, centre, height if pointed else -height,
    )  # fmt: skip
