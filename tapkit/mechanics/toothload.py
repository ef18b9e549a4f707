"""What each chamfer tooth takes out of the thread groove: the swept envelope.

In the frame of the groove every tooth has the same V outline, cut off by its own piece of the chamfer cone.
Tooth k takes what reaches beyond all teeth before it:

    outline(x) = min(D/2, D/2 − (|x| − P/16) √3)
    cut_k(x)   = min(outline(x), d_p/2 + (z_k + x) tan κ)
    swept_k    = max(swept_{k−1}, cut_k),  swept_{−1} = D_h/2
    A_k        = ∫ (swept_k − swept_{k−1}) dx

Every line is straight, so all integrals are exact once x is cut at every crossing. A fault only changes
cut_k; the teeth behind take what it left. Derived for this project.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import SQRT3, TAN30, Thread

NEGLIGIBLE = 1e-12
"""Areas below this share of P² are rounding, not metal."""

SHORTEST_CHAMFER = 0.5
"""A regrind leaves at least this many threads of chamfer."""


@dataclass(frozen=True, kw_only=True)
class Faults:
    """How a tap differs from a sound one turning true. Lengths in mm, angles in degrees.

    `first_tooth` f = z_0/(P/Z), in (0, 1]: where the grind happens to start the first tooth. `runout` of the
    whole tap, its high side at `runout_angle` from flute 1. `chamfer_runout`, the chamfer alone ground off
    the axis. `missing_teeth` by number, 1 at the point. `regrind_shorter` threads by which a regrind has
    shortened the chamfer, the point diameter kept. `flute_offsets` radial height added to the chamfer of each
    flute (an uneven regrind). `tilt` of the tap's axis about its point.
    """

    first_tooth: float = 1.0
    runout: float = 0.0
    runout_angle: float = 0.0
    chamfer_runout: float = 0.0
    chamfer_runout_angle: float = 0.0
    missing_teeth: frozenset[int] = field(default_factory=frozenset)
    regrind_shorter: float = 0.0
    flute_offsets: tuple[float, ...] = ()
    tilt: float = 0.0
    tilt_angle: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "missing_teeth", frozenset(self.missing_teeth))  # lists and sets are welcome
        object.__setattr__(self, "flute_offsets", tuple(self.flute_offsets))
        if not 0 < self.first_tooth <= 1:
            raise ValueError(
                f"a first tooth at {self.first_tooth:g} of the tooth spacing is not possible; "
                "it lies in 0 to 1, above 0, and 1 is usual"
            )
        for what, value, top in (("runout", self.runout, 1.0), ("chamfer runout", self.chamfer_runout, 1.0)):
            if not 0 <= value <= top:
                raise ValueError(f"a {what} of {value:g} mm is outside 0 to {top:g} mm; 0.03 mm is a common fault")
        if not -5 <= self.tilt <= 5:
            raise ValueError(f"a tilt of {self.tilt:g}° is outside −5° to 5°; 1° is already seen by eye")
        wrong = [n for n in self.missing_teeth if n != int(n) or n < 1]
        if wrong:
            raise ValueError(f"there is no tooth number {wrong[0]}; teeth are numbered 1, 2, 3 … from the point")

    @property
    def is_sound(self) -> bool:
        """Whether nothing is wrong with the tap."""
        return self == Faults(first_tooth=self.first_tooth)


SOUND = Faults()


class ToothSlices(NamedTuple):
    """What each tooth takes, arrays of shape (teeth,), from the point to the last tooth that cuts.

    `number` from 1, `flute` from 1, `position` z_k of the tooth's middle from the point [mm], `area` of the
    chip's cross-section [mm2], `width` of the engaged edge [mm], `thickness` h = A/b [mm], `radius` of the
    slice's centre [mm], `start` and `end` of the slice along the axis from the point [mm], `lost` teeth.
    """

    number: np.ndarray
    flute: np.ndarray
    position: np.ndarray
    area: np.ndarray
    width: np.ndarray
    thickness: np.ndarray
    radius: np.ndarray
    start: np.ndarray
    end: np.ndarray
    lost: np.ndarray


class Envelope(NamedTuple):
    """Lines of the envelope: `x` (nodes,) [mm] across the groove, `swept` (teeth + 1, nodes) radius [mm]
    before the first tooth and after each, `cut` (teeth, nodes) radius each tooth alone would reach
    (−inf for a lost tooth), `tooth` (teeth,) numbers from 1, `flute` (teeth,) from 1, `position` (teeth,) z_k [mm]."""

    x: np.ndarray
    swept: np.ndarray
    cut: np.ndarray
    tooth: np.ndarray
    flute: np.ndarray
    position: np.ndarray


def groove_area(thread: Thread, hole_diameter: float) -> float:
    """Area of the thread groove above the hole [mm2]: (P/8) H_c + H_c² tan 30°, H_c = (D − D_h)/2.

    >>> round(groove_area(Thread.parse("M10x1.5"), 8.5), 6)
    0.465385
    """
    h = (thread.major - hole_diameter) / 2
    return thread.pitch / 8 * h + h**2 * TAN30


def steady_thickness(tap: Tap) -> float:
    """Chip thickness of a full chamfer tooth at right angles to its edge [mm]: h = (P/Z) sin κ."""
    return tap.tooth_spacing * math.sin(math.radians(tap.chamfer_angle))


def outline(x: np.ndarray, thread: Thread) -> np.ndarray:
    """Radius of the V outline of a full tooth at x across the groove [mm]; ISO 68-1, crest flat P/8."""
    return np.minimum(thread.major / 2, thread.major / 2 - (np.abs(x) - thread.pitch / 16) * SQRT3)


def reground(tap: Tap, faults: Faults) -> Tap:
    """The tap after the regrind among its faults: a shorter, steeper chamfer from the same point diameter."""
    if not faults.regrind_shorter:
        return tap
    if not 0 <= faults.regrind_shorter <= tap.chamfer_threads - SHORTEST_CHAMFER:
        raise ValueError(
            f"a regrind that takes {faults.regrind_shorter:g} threads is not possible on a chamfer of "
            f"{tap.chamfer_threads:g}; 0 to {max(tap.chamfer_threads - SHORTEST_CHAMFER, 0):g} works"
        )
    return tap.with_(chamfer_threads=tap.chamfer_threads - faults.regrind_shorter)


def envelope(tap: Tap, hole: Hole, faults: Faults = SOUND, x: np.ndarray | None = None) -> Envelope:
    """The running maximum over the teeth, at every x where any line bends or crosses (or at given x).

    Raises ValueError where nothing is left to cut.
    """
    check_fit(tap, hole)
    tap = reground(tap, faults)
    thread, slope = tap.thread, math.tan(math.radians(tap.chamfer_angle))
    k = np.arange(_teeth_needed(tap, hole, faults, slope))
    z = (faults.first_tooth + k) * tap.tooth_spacing
    whole, cone_only = _offsets(tap, faults, k, z)
    cone = tap.point_diameter / 2 + z * slope + whole + cone_only
    if x is None:
        x = _nodes(thread, hole.diameter / 2, slope, cone, np.unique(whole))
    cut = np.minimum(outline(x, thread)[None, :] + whole[:, None], cone[:, None] + slope * x[None, :])
    if faults.missing_teeth:
        cut[np.isin(k + 1, list(faults.missing_teeth))] = -np.inf
    bored = np.full((1, len(x)), hole.diameter / 2)
    swept = np.maximum.accumulate(np.vstack([bored, cut]), axis=0)
    return Envelope(x, swept, cut, k + 1, k % tap.flutes + 1, z)


def tooth_slices(tap: Tap, hole: Hole, faults: Faults = SOUND) -> ToothSlices:
    """What each tooth takes; exact for straight lines. Raises ValueError where nothing is left to cut.

    >>> tap = Tap.make("M10x1.5", chamfer=4.0, flutes=3, point_diameter=8.5)
    >>> slices = tooth_slices(tap, Hole.parse("through 8.5 mm x 15 mm"))
    >>> len(slices.area), round(float(slices.area.max()), 5)
    (13, 0.06145)
    """
    env = envelope(tap, hole, faults)
    slope = math.tan(math.radians(reground(tap, faults).chamfer_angle))
    dx = np.diff(env.x)
    below, above = env.swept[:-1], env.swept[1:]
    area = np.sum((_mean(above) - _mean(below)) * dx, axis=1)
    moment = np.sum((_mean_square(above) - _mean_square(below)) * dx, axis=1) / 2
    taken = (_mean(above) - _mean(below)) > NEGLIGIBLE * tap.thread.pitch
    width = _edge_length(env, taken, dx, slope)
    cuts = area > NEGLIGIBLE * tap.thread.pitch**2
    last = int(np.max(np.flatnonzero(cuts))) + 1 if cuts.any() else 0
    safe = np.where(cuts, area, 1.0)
    thickness = np.where(cuts, area / np.where(width > 0, width, 1.0), 0.0)
    radius = np.where(cuts, moment / safe, hole.diameter / 2)
    first_x = np.where(taken.any(axis=1), env.x[np.argmax(taken, axis=1)], 0.0)
    last_x = np.where(taken.any(axis=1), env.x[len(dx) - np.argmax(taken[:, ::-1], axis=1)], 0.0)
    columns = (
        env.tooth,
        env.flute,
        env.position,
        np.where(cuts, area, 0.0),
        np.where(cuts, width, 0.0),
        thickness,
        radius,
        env.position + first_x,
        env.position + last_x,
        np.isneginf(env.cut[:, 0]),
    )
    return ToothSlices(*(c[:last] for c in columns))


def check_fit(tap: Tap, hole: Hole) -> None:
    """Refuse a hole this tap cannot thread, saying what would work."""
    thread = tap.thread
    good = thread.hole_for_percent(75)
    if hole.diameter >= thread.major:
        raise ValueError(
            f"hole {hole.diameter:g} mm is wider than the thread's {thread.major:g} mm: nothing is left "
            f"to cut; try {good:.3g} mm"
        )
    smallest = thread.major - 1.5 * thread.pitch
    if hole.diameter < smallest:
        raise ValueError(
            f"hole {hole.diameter:g} mm is too small for {thread.designation}: the roots of the tap would "
            f"cut too; at least {smallest:.3g} mm, {good:.3g} mm is usual"
        )
    if tap.point_diameter > hole.diameter * (1 + 1e-9) + 1e-9:
        raise ValueError(
            f"a point of {tap.point_diameter:.4g} mm does not enter a hole of {hole.diameter:g} mm; give "
            f"the tap a point diameter below {hole.diameter:g} mm or drill {good:.3g} mm"
        )


def _offsets(tap: Tap, faults: Faults, k: np.ndarray, z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Radial shift of each whole tooth, and of its piece of the cone alone [mm]."""
    angle = 2 * np.pi * (k % tap.flutes) / tap.flutes
    whole = faults.runout * np.cos(angle - math.radians(faults.runout_angle))
    cone = faults.chamfer_runout * np.cos(angle - math.radians(faults.chamfer_runout_angle))
    cone = cone + z * math.tan(math.radians(faults.tilt)) * np.cos(angle - math.radians(faults.tilt_angle))
    if faults.flute_offsets:
        if len(faults.flute_offsets) != tap.flutes:
            raise ValueError(
                f"{len(faults.flute_offsets)} flute offsets were given for {tap.flutes} flutes; give one for each flute"
            )
        cone = cone + np.asarray(faults.flute_offsets)[k % tap.flutes]
    return np.where(np.abs(whole) < 1e-15, 0.0, whole), cone


def _teeth_needed(tap: Tap, hole: Hole, faults: Faults, slope: float) -> int:
    """Enough teeth that one sound tooth of every flute behind the chamfer is among them."""
    p, hc = tap.thread.pitch, (tap.thread.major - hole.diameter) / 2
    left = p / 16 + hc / SQRT3
    reach = max(tap.chamfer_length + p / 16, (hole.diameter - tap.point_diameter) / 2 / slope + left)
    wander = faults.chamfer_runout + max((abs(o) for o in faults.flute_offsets), default=0.0)
    wander += (reach + p) * math.tan(math.radians(abs(faults.tilt)))
    reach += wander / max(slope - math.tan(math.radians(abs(faults.tilt))), 0.2 * slope)
    count = math.ceil(reach / tap.tooth_spacing) + 2 * tap.flutes
    while all(n in faults.missing_teeth for n in range(count - tap.flutes + 1, count + 1)):
        count += tap.flutes
    return min(count + sum(n > count - tap.flutes for n in faults.missing_teeth), 2000)


def _nodes(thread: Thread, hole_radius: float, slope: float, cone: np.ndarray, shifts: np.ndarray) -> np.ndarray:
    """Every x in the groove where two of the lines cross or one bends, sorted."""
    p16, half = thread.pitch / 16, thread.pitch / 2
    crest = thread.major / 2 + shifts
    foot = crest + p16 * SQRT3  # flanks: y = foot ± √3 x
    parts = [np.array([-half, -p16, 0.0, p16, half]), (foot - hole_radius) / SQRT3, (hole_radius - foot) / SQRT3]
    with np.errstate(divide="ignore", invalid="ignore"):
        parts += [
            (hole_radius - cone) / slope,
            ((crest[None, :] - cone[:, None]) / slope).ravel(),
            ((foot[None, :] - cone[:, None]) / (slope - SQRT3)).ravel(),
            ((foot[None, :] - cone[:, None]) / (slope + SQRT3)).ravel(),
        ]
    if len(shifts) > 1:
        between = (crest[None, :] - foot[:, None]).ravel() / SQRT3
        apex = (foot[None, :] - foot[:, None]).ravel() / (2 * SQRT3)
        parts += [between, -between, apex]
    x = np.concatenate(parts)
    return np.unique(x[np.isfinite(x) & (np.abs(x) <= half)])


def _mean(y: np.ndarray) -> np.ndarray:
    return (y[:, 1:] + y[:, :-1]) / 2


def _mean_square(y: np.ndarray) -> np.ndarray:
    a, b = y[:, :-1], y[:, 1:]
    return (a * a + a * b + b * b) / 3


def _edge_length(env: Envelope, taken: np.ndarray, dx: np.ndarray, slope: float) -> np.ndarray:
    """Width of each slice: the mean of its two long sides, inner (swept before) and outer (the edge).

    So that h = A/b is exactly (P/Z) sin κ on every full chamfer tooth. The short sides of a slice lie
    along the flanks; they count only where the flank alone is shaved (a tap that runs out).
    """
    steep = 0.5 * (slope + SQRT3) if slope < SQRT3 else np.inf
    rise_in = np.abs(np.diff(env.swept[:-1], axis=1)) / np.where(dx > 0, dx, 1.0)
    rise_out = np.abs(np.diff(env.swept[1:], axis=1)) / np.where(dx > 0, dx, 1.0)
    inner = np.where(taken, np.hypot(1.0, rise_in) * dx, 0.0)
    outer = np.where(taken & ((rise_out < steep) | (rise_in > steep)), np.hypot(1.0, rise_out) * dx, 0.0)
    return (inner.sum(axis=1) + outer.sum(axis=1)) / 2
