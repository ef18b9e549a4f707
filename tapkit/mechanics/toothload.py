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

import math
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any, NamedTuple

import numpy as np

from tapkit.geometry.hole import Hole
from tapkit.geometry.solid import solid
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import SQRT3, TAN30, Thread
from tapkit.mechanics.assumptions import check_limits
from tapkit.messages import Number, _, length, threads_of

NEGLIGIBLE = 1e-12
"""Areas below this share of P² are rounding, not metal."""

SHORTEST_CHAMFER = 0.5
"""A regrind leaves at least this many threads of chamfer."""

MOST_RUNOUT = 1.0
"""Runout beyond this [mm] is no fault of a tap any more."""


@dataclass(frozen=True, kw_only=True)
class Faults:
    """How a tap differs from a sound one turning true. Lengths in mm, angles in degrees.

    `first_tooth` f = z_0/(P/Z), in (0, 1]: where the grind happens to start the first tooth. `runout` of the whole
    tap as a dial reads it in one turn (twice the eccentricity), its high side at `runout_angle` from flute 1.
    `chamfer_runout`, read alike, the chamfer alone ground off the axis. `missing_teeth` by number, 1 at the point.
    `regrind_shorter` threads by which a regrind has shortened the chamfer, the point diameter kept. `flute_offsets`
    radial height added to the chamfer of each flute (an uneven regrind). A crooked start is no fault of the tap: see
    `crooked`.
    """

    first_tooth: float = 1.0
    runout: float = 0.0
    runout_angle: float = 0.0
    chamfer_runout: float = 0.0
    chamfer_runout_angle: float = 0.0
    missing_teeth: frozenset[int] = field(default_factory=frozenset)
    regrind_shorter: float = 0.0
    flute_offsets: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "missing_teeth", frozenset(self.missing_teeth))  # lists and sets are welcome
        object.__setattr__(self, "flute_offsets", tuple(self.flute_offsets))
        if not 0.001 <= self.first_tooth <= 1:
            raise ValueError(
                _(
                    "a first tooth at {share} of the tooth spacing is not possible; it lies in 0 to 1, above 0, "
                    "and 1 is usual",
                    share=Number(self.first_tooth),
                )
            )
        for value in (self.runout, self.chamfer_runout):
            if not 0 <= value <= MOST_RUNOUT:
                span = dict(most=length(MOST_RUNOUT), usual=length(0.03))
                raise ValueError(
                    _(
                        "a runout of {value} is outside 0 to {most}; {usual} is a common fault",
                        value=length(value),
                        **span,
                    )
                )
        check_limits(self)
        for value in self.flute_offsets:
            if not abs(value) <= MOST_RUNOUT:
                told = dict(value=length(value), most=length(MOST_RUNOUT))
                raise ValueError(_("a flute higher by {value} is not possible; {most} is the most either way", **told))
        wrong = [n for n in self.missing_teeth if not 1 <= n < 1e6 or n != int(n)]
        if wrong:
            raise ValueError(
                _(
                    "there is no tooth number {number}; teeth are numbered 1, 2, 3 … from the point",
                    number=Number(wrong[0]),
                )
            )

    @property
    def eccentricity(self) -> float:
        """How far the tap's own axis lies from the axis it turns about [mm]: half of what the dial reads."""
        return self.runout / 2

    @property
    def is_sound(self) -> bool:
        """Whether nothing is wrong with the tap."""
        wrong = self.runout or self.chamfer_runout or self.missing_teeth or self.regrind_shorter
        return not (wrong or any(self.flute_offsets))


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
    """The groove as a drawing wants it: `x` (nodes,) [mm] across it, every place where a line bends; `swept`
    (teeth + 1, nodes) radius [mm] before the first tooth and after each; `flute` (teeth,) from 1, `position` (teeth,)
    z_k [mm]."""

    x: np.ndarray
    swept: np.ndarray
    flute: np.ndarray
    position: np.ndarray


class Cutters(NamedTuple):
    """The teeth of one tap, or of many, by their lines. `crest` D/2, `pitch`, `slope` tan κ, `bore` D_h/2 [mm], shape
    (…, 1); `cone` (…, teeth) radius of each tooth's cone line at x = 0 (−inf for a lost tooth), `position` z_k,
    `flute` from 1; `shift` (…, outlines) radial shift [mm] of each V outline that occurs, and `outline` (…, teeth)
    which of them a tooth has: one for all, or one for each flute of a tap that runs out."""

    crest: np.ndarray
    pitch: np.ndarray
    slope: np.ndarray
    bore: np.ndarray
    cone: np.ndarray
    position: np.ndarray
    flute: np.ndarray
    shift: np.ndarray
    outline: np.ndarray


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


def tooth_outline(x: np.ndarray, thread: Thread) -> np.ndarray:
    """Radius of the V outline of a full tooth at x across the groove [mm]; ISO 68-1, crest flat P/8."""
    return _vee(x, thread.major / 2, thread.pitch)


def _vee(x: np.ndarray, crest: Any, pitch: Any) -> np.ndarray:
    return np.minimum(crest, crest - (np.abs(x) - pitch / 16) * SQRT3)


def reground(tap: Tap, faults: Faults) -> Tap:
    """The tap after the regrind among its faults: a shorter, steeper chamfer from the same point diameter."""
    if not faults.regrind_shorter:
        return tap
    if not 0 <= faults.regrind_shorter <= tap.chamfer_threads - SHORTEST_CHAMFER + 1e-9:
        raise ValueError(
            _(
                "a regrind that takes {taken} is not possible on a chamfer of {threads}; 0 to {most} works",
                taken=threads_of(faults.regrind_shorter),
                threads=Number(tap.chamfer_threads),
                most=Number(max(tap.chamfer_threads - SHORTEST_CHAMFER, 0)),
            )
        )
    return tap.with_(chamfer_threads=tap.chamfer_threads - faults.regrind_shorter)


def cutters(jobs: Any) -> Cutters:
    """Teeth of many taps in holes: `jobs` with columns (taps,) `major`, `pitch`, `flutes`, `chamfer_threads` as
    reground, `point_diameter`, `bore`, and `faults` of each."""
    names, faults = ("major", "pitch", "chamfer_threads", "point_diameter", "bore"), jobs.faults
    d, p, n, point, hole = (np.asarray(getattr(jobs, name), float)[:, None] for name in names)
    z = np.asarray(jobs.flutes, int)[:, None]
    slope = (d - point) / (2 * n * p)
    reach = np.maximum(n * p, (hole - point) / 2 / slope + (d - hole) / 2 / SQRT3) + p / 16
    first = np.array([f.first_tooth for f in faults])[:, None]
    faulty = [i for i, fault in enumerate(faults) if not fault.is_sound]
    counts = [_count(reach[i, 0], p[i, 0], z[i, 0], slope[i, 0], faults[i]) for i in faulty]
    k = np.arange(max([math.ceil((reach * z / p).max()) + 1, *counts]))
    position, flute = (first + k) * p / z, k % z
    cone = point / 2 + position * slope
    runs_out = any(f.runout for f in faults)
    shift, outlines = np.zeros((len(d), int(z.max()) if runs_out else 1)), flute if runs_out else np.zeros_like(flute)
    for i in faulty:
        whole, alone = _offsets(int(z[i, 0]), faults[i])
        if runs_out:
            shift[i, : len(whole)] = whole
        cone[i] += (whole + alone)[flute[i]]
        cone[i, [t - 1 for t in faults[i].missing_teeth if t <= len(k)]] = -np.inf
    return Cutters(d / 2, p, slope, hole / 2, cone, position, flute + 1, shift, outlines)


def slices(teeth: Cutters) -> ToothSlices:
    """What each tooth takes, arrays (…, teeth); exact for straight lines. Teeth that take nothing are kept."""
    heights = _highest_cones(teeth)
    x = _nodes(teeth, heights)
    below, above = _swept(teeth, heights[..., :-1, :], x), _swept(teeth, heights[..., 1:, :], x)
    dx = np.diff(x)
    gain = _mean(above) - _mean(below)
    area = np.sum(gain * dx, axis=-1)
    moment = np.sum((_mean_square(above) - _mean_square(below)) * dx, axis=-1) / 2
    taken = gain > NEGLIGIBLE * teeth.pitch[..., None]
    width = _edge_length(below, above, taken, dx, teeth.slope[..., None])
    cuts = area > NEGLIGIBLE * teeth.pitch**2
    first, last = np.argmax(taken, axis=-1), dx.shape[-1] - np.argmax(taken[..., ::-1], axis=-1)
    first, last = (np.take_along_axis(x, i[..., None], -1)[..., 0] for i in (first, last))
    some = taken.any(axis=-1)
    return ToothSlices(
        np.broadcast_to(np.arange(1, area.shape[-1] + 1), area.shape),
        teeth.flute,
        teeth.position,
        np.where(cuts, area, 0.0),
        np.where(cuts, width, 0.0),
        np.where(cuts, area, 0.0) / np.where(cuts & (width > 0), width, 1.0),
        np.where(cuts, moment, teeth.bore) / np.where(cuts, area, 1.0),
        teeth.position + np.where(some, first, 0.0),
        teeth.position + np.where(some, last, 0.0),
        np.isneginf(teeth.cone),
    )


def tooth_slices(tap: Tap, hole: Hole, faults: Faults = SOUND) -> ToothSlices:
    """What each tooth of one tap takes, to the last that cuts. Raises ValueError where nothing is left to cut.

    >>> tap = Tap.make("M10x1.5", chamfer=4.0, flutes=3, point_diameter=8.5)
    >>> found = tooth_slices(tap, Hole.parse("through 8.5 mm x 15 mm"))
    >>> len(found.area), round(float(found.area.max()), 5)
    (13, 0.06145)
    """
    found = slices(cutters_of(tap, hole, faults))
    last = int(np.max(np.flatnonzero(found.area[0]), initial=-1)) + 1
    return ToothSlices(*(column[0, :last] for column in found))


def envelope(tap: Tap, hole: Hole, faults: Faults = SOUND, x: np.ndarray | None = None) -> Envelope:
    """The groove before the first tooth and after each, at every x where any line bends or crosses (or at given x)."""
    teeth = cutters_of(tap, hole, faults)
    heights = _highest_cones(teeth)
    x = np.unique(_nodes(teeth, heights)) if x is None else x
    return Envelope(x, _swept(teeth, heights, x)[0], teeth.flute[0], teeth.position[0])


def engaged_ends(tap: Tap, hole: Hole, faults: Faults = SOUND) -> np.ndarray:
    """Ends of the engaged edge of each tooth, flanks included, shape (teeth, 2, 2): first and last end, (axial, radial)
    [mm]; a tooth that cuts nothing gives nan."""
    teeth = cutters_of(tap, hole, faults)
    found, heights = slices(teeth), _highest_cones(teeth)
    at = np.stack([found.start - teeth.position, found.end - teeth.position], axis=-1)
    ends = np.stack([at + teeth.position[..., None], _swept(teeth, heights[..., 1:, :], at)], axis=-1)
    return np.where((found.end > found.start)[..., None, None], ends, np.nan)[0]


def cutters_of(tap: Tap, hole: Hole, faults: Faults = SOUND) -> Cutters:
    """The teeth of one tap, shape (1, teeth)."""
    check_fit(tap, hole)
    tap = reground(tap, faults)
    sizes = dict(major=[tap.thread.major], pitch=[tap.thread.pitch], flutes=[tap.flutes], bore=[hole.diameter])
    chamfer = dict(chamfer_threads=[tap.chamfer_threads], point_diameter=[tap.point_diameter])
    return cutters(SimpleNamespace(**sizes, **chamfer, faults=[faults]))


def check_teeth(tap: Tap, faults: Faults) -> None:
    """Refuse to lose a tooth that the tap does not have."""
    last = int((solid(tap).blank.thread_end / tap.tooth_spacing) - faults.first_tooth) + 1
    wrong = [n for n in faults.missing_teeth if n > last]
    if wrong:
        raise ValueError(
            _(
                "this tap has {last} teeth on its thread, so tooth {number} cannot be missing; teeth are numbered "
                "from the "
                "point",
                last=last,
                number=int(wrong[0]),
            )
        )


def check_fit(tap: Tap, hole: Hole) -> None:
    """Refuse a hole this tap cannot thread, saying what would work."""
    thread = tap.thread
    good, across = length(thread.hole_for_percent(75), decimals=1, inch_decimals=3), length(hole.diameter)
    if hole.diameter >= thread.major:
        raise ValueError(
            _(
                "hole {hole} is wider than the thread's {major}: nothing is left to cut; about {good} is usual",
                hole=across,
                major=length(thread.major),
                good=good,
            )
        )
    smallest = thread.major - 1.5 * thread.pitch
    if hole.diameter < smallest:
        raise ValueError(
            _(
                "hole {hole} is too small for {thread}: the roots of the tap would cut too; at least {smallest}, about "
                "{good} is usual",
                hole=across,
                thread=thread.designation,
                smallest=length(smallest),
                good=good,
            )
        )
    if tap.point_diameter > hole.diameter * (1 + 1e-9) + 1e-9:
        raise ValueError(
            _(
                "a point of {point} does not enter a hole of {hole}; give the tap a point diameter below {hole} or "
                "drill about {good}",
                point=length(tap.point_diameter),
                hole=across,
                good=good,
            )
        )


def _offsets(flutes: int, faults: Faults) -> tuple[np.ndarray, np.ndarray]:
    """Radial shift of the whole teeth of each flute, and of their pieces of the cone alone, (flutes,) [mm]."""
    turn = 2 * np.pi * np.arange(flutes) / flutes
    whole = faults.eccentricity * np.cos(turn - math.radians(faults.runout_angle))
    cone = faults.chamfer_runout / 2 * np.cos(turn - math.radians(faults.chamfer_runout_angle))
    if faults.flute_offsets:
        if len(faults.flute_offsets) != flutes:
            raise ValueError(
                _(
                    "{given} flute offsets were given for {flutes} flutes; give one for each flute",
                    given=len(faults.flute_offsets),
                    flutes=flutes,
                )
            )
        cone = cone + np.asarray(faults.flute_offsets)
    return np.where(np.abs(whole) < 1e-15, 0.0, whole), cone


def _count(reach: float, pitch: float, flutes: int, slope: float, faults: Faults) -> int:
    """Enough teeth that one sound tooth of every flute behind the chamfer is among them."""
    wander = faults.chamfer_runout / 2 + max((abs(o) for o in faults.flute_offsets), default=0.0)
    reach += wander / slope
    count, missing = math.ceil(reach * flutes / pitch) + 2 * flutes, faults.missing_teeth
    while all(n in missing for n in range(count - flutes + 1, count + 1)):
        count += flutes
    return min(count + sum(n > count - flutes for n in missing), 2000)


def _highest_cones(teeth: Cutters) -> np.ndarray:
    """The running maximum: highest cone line so far of each outline, shape (…, teeth + 1, outlines); −inf for none."""
    own = teeth.outline[..., None] == np.arange(teeth.shift.shape[-1])
    heights = np.where(own, teeth.cone[..., None], -np.inf)
    none = np.full_like(heights[..., :1, :], -np.inf)
    return np.concatenate([none, np.maximum.accumulate(heights, axis=-2)], axis=-2)


def _swept(teeth: Cutters, heights: np.ndarray, x: np.ndarray) -> np.ndarray:
    """Radius of the groove at x (…, teeth, nodes) where the cones have these heights (…, teeth, outlines)."""
    crest, pitch, slope, radius = (v[..., None] for v in (teeth.crest, teeth.pitch, teeth.slope, teeth.bore))
    vee, rise = _vee(x, crest, pitch), slope * x
    for i in range(heights.shape[-1]):
        radius = np.maximum(radius, np.minimum(vee + teeth.shift[..., i, None, None], heights[..., i, None] + rise))
    return radius


def _nodes(teeth: Cutters, heights: np.ndarray) -> np.ndarray:
    """Every x in the groove where a line of the groove before or after a tooth bends or crosses another, sorted,
    shape (…, teeth, nodes)."""
    half, flat, slope, bore = (v[..., None] for v in (teeth.pitch / 2, teeth.pitch / 16, teeth.slope, teeth.bore))
    crest = (teeth.crest + teeth.shift)[..., None, :]
    foot = crest + flat * SQRT3  # flanks: y = foot ± √3 x
    cones = np.concatenate([heights[..., :-1, :], teeth.cone[..., None]], axis=-1)
    fixed = [-half, -flat, 0 * flat, flat, half, (foot - bore) / SQRT3, (bore - foot) / SQRT3]
    if crest.shape[-1] > 1:
        ends = foot[..., :, None] - foot[..., None, :]
        apex, between = ends / (2 * SQRT3), (crest[..., :, None] - foot[..., None, :]) / SQRT3
        fixed += [v.reshape(*v.shape[:-2], -1) for v in (apex, between, -between)]
    with np.errstate(divide="ignore", invalid="ignore"):
        moving = [(bore - cones) / slope]
        for lines, steep in ((crest, slope), (foot, slope - SQRT3), (foot, slope + SQRT3)):
            cross = (lines[..., None, :] - cones[..., :, None]) / steep[..., None]
            moving.append(cross.reshape(*cross.shape[:-2], -1))
    shape = cones.shape[:-1]
    x = np.concatenate([np.broadcast_to(v, (*shape, v.shape[-1])) for v in fixed] + moving, axis=-1)
    x = np.where(np.isfinite(x), x, 0.0)
    return np.sort(np.clip(x, -half, half), axis=-1)


def _mean(y: np.ndarray) -> np.ndarray:
    return (y[..., 1:] + y[..., :-1]) / 2


def _mean_square(y: np.ndarray) -> np.ndarray:
    a, b = y[..., :-1], y[..., 1:]
    return (a * a + a * b + b * b) / 3


def _edge_length(below: np.ndarray, above: np.ndarray, taken: np.ndarray, dx: np.ndarray, slope: Any) -> np.ndarray:
    """Width of each slice: the mean of its two long sides, inner (swept before) and outer (the edge).

    So that h = A/b is exactly (P/Z) sin κ on every full chamfer tooth. The short sides of a slice lie
    along the flanks; they count only where the flank alone is shaved (a tap that runs out).
    """
    steep = np.where(slope < SQRT3, 0.5 * (slope + SQRT3), np.inf) * np.where(dx > 0, dx, 1.0)
    rise_in, rise_out = np.abs(np.diff(below)), np.abs(np.diff(above))
    inner = np.where(taken, np.hypot(dx, rise_in), 0.0)
    outer = np.where(taken & ((rise_out < steep) | (rise_in > steep)), np.hypot(dx, rise_out), 0.0)
    return (inner.sum(axis=-1) + outer.sum(axis=-1)) / 2
