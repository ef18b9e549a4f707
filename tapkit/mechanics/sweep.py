"""Many taps at once: load, torque, chip flow and torsion as arrays.

For a sound tap the cone of each tooth stands above that of the tooth before it, so the swept envelope has a
closed form, max(hole, min(outline, C_k + x tan κ)), and A_k = G(C_k) − G(C_{k−1}) with G the area swept by one
cone. All lines are straight: with every bend among the nodes the integrals are exact. Faulty taps need the
running maximum of `toothload` and are not for here.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from tapkit.geometry import section
from tapkit.geometry.thread import SQRT3
from tapkit.mechanics import force, rake, torsion
from tapkit.mechanics.toothload import NEGLIGIBLE

CHUNK = 1000
LOADS = (
    "peak_torque",
    "largest_force",
    "largest_area",
    "thickness",
    "cutting_teeth",
    "rubbing_teeth",
    "total_force",
    "groove_area",
)
"""Fields of `Results` that come from the teeth, in order."""


class Jobs(NamedTuple):
    """Many sound taps at work: arrays of one shape (jobs,). Lengths in mm, angles in degrees.

    `depth` the part's thickness of a through hole, or the depth the point reaches in a blind one.
    """

    major: Any
    pitch: Any
    flutes: Any
    chamfer_threads: Any
    point_diameter: Any
    radial_rake: Any
    axial_rake: Any
    core: Any
    land: Any
    hole_diameter: Any
    depth: Any
    through: Any
    first_tooth: Any
    kc11: Any
    mc: Any
    gamma0: Any
    tool_factor: Any
    rake_percent: Any
    wear_factor: Any
    friction_factor: Any
    shear_at_breakage: Any
    rubbing_thickness: Any
    chip_friction: Any


class Results(NamedTuple):
    """What comes out, arrays of shape (jobs,).

    `peak_torque` [N·m]; `largest_force` of a tooth [N], `largest_area` of a chip [mm2], `thickness` of the chip of that
    tooth [mm]; `cutting_teeth`, `rubbing_teeth` numbers; `total_force` of all teeth [N]; `groove_area` [mm2];
    `chamfer_angle`, `inclination`, `normal_rake`, `axial_angle` of the chip by Stabler's rule [deg]; `J` [mm4];
    `stress_per_torque` [MPa per N·m]; `breaking_torque` [N·m]; `margin` (nan where the flutes meet); `axial_force` [N],
    positive toward the shank; `full_ratio` bulking ratio at which flutes that keep every chip are full.
    """

    peak_torque: np.ndarray
    largest_force: np.ndarray
    largest_area: np.ndarray
    thickness: np.ndarray
    cutting_teeth: np.ndarray
    rubbing_teeth: np.ndarray
    total_force: np.ndarray
    groove_area: np.ndarray
    chamfer_angle: np.ndarray
    inclination: np.ndarray
    normal_rake: np.ndarray
    axial_angle: np.ndarray
    J: np.ndarray
    stress_per_torque: np.ndarray
    breaking_torque: np.ndarray
    margin: np.ndarray
    axial_force: np.ndarray
    full_ratio: np.ndarray


class Teeth(NamedTuple):
    """The teeth of many taps, arrays (jobs, teeth); fields as in `toothload.ToothSlices`, zero where no tooth cuts."""

    area: np.ndarray
    width: np.ndarray
    thickness: np.ndarray
    radius: np.ndarray
    start: np.ndarray
    end: np.ndarray


def make_jobs(**columns: Any) -> Jobs:
    """Jobs from columns of one shape or single values, all brought to float arrays of one shape."""
    arrays = np.broadcast_arrays(*(np.atleast_1d(np.asarray(columns[name], float)) for name in Jobs._fields))
    return Jobs(*arrays)


def solve(jobs: Jobs) -> Results:
    """Load, torque, flow and torsion of every job. Jobs must be possible and sound, κ under 60°."""
    count = np.ceil(_reach(jobs) / (jobs.pitch / jobs.flutes)).astype(int) + 1
    order = np.argsort(count)  # jobs with few teeth together, so that little is computed for nothing
    parts = []
    for rows in np.array_split(order, max(1, -(-len(order) // CHUNK))):
        some = Jobs(*(column[rows] for column in jobs))
        parts.append(_loads(some, int(count[rows].max())))
    back = np.argsort(order)
    *loads, volume = (np.concatenate(x)[back] for x in zip(*parts))
    flow, axial = _flow(jobs)
    room = jobs.flutes * section.flute_area(
        diameter=jobs.major, core=jobs.core, land=jobs.land, flutes=jobs.flutes, out_to=jobs.hole_diameter
    )
    total = loads[LOADS.index("total_force")]
    return Results(*loads, *flow, *_strength(jobs, loads[0]), axial * total, room / volume)


def cone_slope(jobs: Jobs) -> np.ndarray:
    """tan κ = (D − d_p)/(2 n P), shape (jobs,)."""
    return (jobs.major - jobs.point_diameter) / (2 * jobs.chamfer_threads * jobs.pitch)


def teeth(jobs: Jobs, count: int) -> Teeth:
    """What each of the first `count` teeth takes."""
    pitch, hole, slope = (v[:, None] for v in (jobs.pitch, jobs.hole_diameter / 2, cone_slope(jobs)))
    z = (jobs.first_tooth[:, None] + np.arange(count)) * (jobs.pitch / jobs.flutes)[:, None]
    cone = jobs.point_diameter[:, None] / 2 + z * slope
    lines = (jobs.major[:, None] / 2, pitch, hole, slope)
    bends = _bends(cone, *lines)
    swept, moment = _swept(cone, bends, *lines)
    area, moment = np.diff(swept, prepend=0.0, axis=1), np.diff(moment, prepend=0.0, axis=1)
    width, first, last = _edges(bends, slope)
    cuts = (area > NEGLIGIBLE * pitch**2) & (width > 0)
    safe = np.where(cuts, area, 1.0)
    return Teeth(
        np.where(cuts, area, 0.0),
        np.where(cuts, width, 0.0),
        np.where(cuts, area / np.where(cuts, width, 1.0), 0.0),
        np.where(cuts, moment / safe, hole),
        np.where(cuts, z + first, 0.0),
        np.where(cuts, z + last, 0.0),
    )


class _Bends(NamedTuple):
    """Where the lines of one cone bend or cross, x across the groove; (jobs, teeth) or (jobs, 1)."""

    half: np.ndarray
    flat: np.ndarray
    at_hole: np.ndarray
    at_left: np.ndarray
    at_crest: np.ndarray
    at_right: np.ndarray


def _bends(cone: np.ndarray, crest: Any, pitch: Any, hole: Any, slope: Any) -> _Bends:
    foot = crest + SQRT3 * pitch / 16
    return _Bends(
        (foot - hole) / SQRT3,
        pitch / 16,
        (hole - cone) / slope,
        (cone - foot) / (SQRT3 - slope),
        (crest - cone) / slope,
        (foot - cone) / (SQRT3 + slope),
    )


def _swept(cone: np.ndarray, bends: _Bends, crest: Any, pitch: Any, hole: Any, slope: Any) -> tuple[Any, Any]:
    """Area above the hole swept by each cone alone, and its moment ∫ (r² − r_h²)/2 dx."""
    b = bends
    x = np.stack(np.broadcast_arrays(-b.half, -b.flat, b.flat, b.half, b.at_hole, b.at_left, b.at_crest, b.at_right))
    x = np.sort(np.clip(x, -b.half, b.half), axis=0)
    foot = crest + SQRT3 * pitch / 16
    y = np.maximum(hole, np.minimum(np.minimum(foot - SQRT3 * np.abs(x), crest), cone + slope * x))
    dx, low, high = np.diff(x, axis=0), y[:-1], y[1:]
    area = np.sum(dx * (low + high), axis=0) / 2 - 2 * b.half * hole
    square = np.sum(dx * (low * low + low * high + high * high), axis=0) / 3
    return area, (square - 2 * b.half * hole**2) / 2


def _edges(bends: _Bends, slope: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Width of each slice, and its first and last x; the same rule as `toothload._edge_length`."""
    b = bends
    leaves = np.where(b.at_crest <= b.flat, b.at_crest, b.at_right)  # where a cone line comes out of the outline
    before_left, before_leaves, before_hole = (
        np.concatenate([np.full_like(v[:, :1], fill), v[:, :-1]], axis=1)
        for v, fill in ((b.at_left, -np.inf), (leaves, np.inf), (b.at_hole, np.inf))
    )
    first = np.maximum(np.maximum(-b.half, b.at_hole), before_left)
    last = np.minimum(b.half, before_leaves)
    long = np.sqrt(1 + slope**2)
    span = np.maximum(last - first, 0.0)
    sloped = np.clip(last - before_hole, 0.0, span)
    inner = span - sloped + sloped * long
    on_cone = np.maximum(np.minimum(last, leaves) - np.maximum(first, b.at_left), 0.0)
    on_crest = np.maximum(np.minimum(last, b.flat) - np.maximum(np.maximum(first, b.at_crest), -b.flat), 0.0)
    return (inner + on_cone * long + on_crest) / 2, first, last


def _reach(jobs: Jobs) -> np.ndarray:
    left = jobs.pitch / 16 + (jobs.major - jobs.hole_diameter) / 2 / SQRT3
    at_hole = (jobs.hole_diameter - jobs.point_diameter) / 2 / cone_slope(jobs) + left
    return np.maximum(jobs.chamfer_threads * jobs.pitch + jobs.pitch / 16, at_hole)


def _loads(jobs: Jobs, count: int) -> tuple[np.ndarray, ...]:
    found = teeth(jobs, count)
    angles = _angles(jobs)
    factor = (
        force.rake_factor(
            normal_rake=rake.normal_rake(**angles), test_rake=jobs.gamma0, percent_per_degree=jobs.rake_percent
        )
        * jobs.tool_factor
        * jobs.wear_factor
    )
    pull = force.cutting_force(
        width=found.width,
        thickness=found.thickness,
        kc11=jobs.kc11[:, None],
        mc=jobs.mc[:, None],
        factor=factor[:, None],
    )
    top = np.argmax(pull, axis=1)
    row = np.arange(len(top))
    return (
        peak_torque(found, pull * found.radius / 1000 * jobs.friction_factor[:, None], jobs.depth, jobs.through),
        pull[row, top],
        found.area.max(axis=1),
        found.thickness[row, top],
        (found.area > 0).sum(axis=1),
        force.rubs(found.thickness, jobs.rubbing_thickness[:, None]).sum(axis=1),
        pull.sum(axis=1),
        found.area.sum(axis=1),
        2 * np.pi * np.sum(found.radius * found.area, axis=1) / jobs.pitch,
    )


def peak_torque(found: Teeth, torque: np.ndarray, depth: np.ndarray, through: np.ndarray) -> np.ndarray:
    """Largest torque along the depth, shape (jobs,), from each tooth's own [N·m], (jobs, teeth).

    The curve is straight between the depths where a slice starts to enter, is in, starts to leave or is out; its slope
    changes there by torque / length of the slice.
    """
    length = np.maximum(found.end - found.start, 1e-9)
    change = torque / length
    leave = np.where(through.astype(bool), depth, np.inf)[:, None]
    at = np.concatenate([found.start, found.end, found.start + leave, found.end + leave], axis=1)
    bend = np.concatenate([change, -change, -change, change], axis=1)
    end = np.where(through.astype(bool), np.inf, depth)[:, None]
    at = np.minimum(at, np.minimum(end, 1e6))
    order = np.argsort(at, axis=1)
    at, bend = np.take_along_axis(at, order, 1), np.take_along_axis(bend, order, 1)
    rise = np.cumsum(bend, axis=1)[:, :-1] * np.diff(at, axis=1)
    return np.maximum(np.cumsum(rise, axis=1).max(axis=1), 0.0)


def _angles(jobs: Jobs) -> dict[str, np.ndarray]:
    return dict(
        radial_rake=jobs.radial_rake,
        axial_rake=jobs.axial_rake,
        chamfer_angle=np.degrees(np.arctan(cone_slope(jobs))),
    )


def chip_vectors(*, radial_rake: Any, axial_rake: Any, chamfer_angle: Any) -> tuple[np.ndarray, np.ndarray]:
    """Normal of the face and direction of the chip by Stabler's rule, each (…, 3); as `chipflow.chip_flow`.

    >>> chip = chip_vectors(radial_rake=10, axial_rake=40, chamfer_angle=15)[1]
    >>> float(np.degrees(np.arcsin(chip[2])).round(1))
    31.7
    """
    angles = dict(radial_rake=radial_rake, axial_rake=axial_rake, chamfer_angle=chamfer_angle)
    gp, gf, k = (np.radians(np.asarray(a, float)) for a in angles.values())
    lam = np.radians(rake.inclination(**angles))
    normal = np.stack(np.broadcast_arrays(-np.tan(gp), 1.0, np.tan(gf)), axis=-1)
    edge = np.stack(np.broadcast_arrays(np.sin(k), np.tan(lam), np.cos(k)), axis=-1)
    normal, edge = (v / np.linalg.norm(v, axis=-1, keepdims=True) for v in (normal, edge))
    inward = np.cross(normal, edge)
    inward = np.where(inward[..., :1] > 0, -inward, inward)
    return normal, np.cos(lam)[..., None] * inward - np.sin(lam)[..., None] * edge


def _flow(jobs: Jobs) -> tuple[tuple[np.ndarray, ...], np.ndarray]:
    """Angles of chamfer, edge and chip, and the axial force for a cutting force of 1 (as `sideforce.force_ratios`)."""
    angles = _angles(jobs)
    normal, chip = chip_vectors(**angles)
    push = -normal + jobs.chip_friction[:, None] * chip
    found = (
        angles["chamfer_angle"],
        rake.inclination(**angles),
        rake.normal_rake(**angles),
        np.degrees(np.arcsin(np.clip(chip[:, 2], -1, 1))),
    )
    return found, push[:, 2] / -push[:, 1]


def _strength(jobs: Jobs, peak: np.ndarray) -> tuple[np.ndarray, ...]:
    found = torsion.torsion_many(diameter=jobs.major, core=jobs.core, land=jobs.land, flutes=jobs.flutes)
    breaks = torsion.torque_at_breakage(found, jobs.shear_at_breakage)
    margin = np.divide(breaks, peak, out=np.full_like(breaks, np.inf), where=peak > 0)
    return found.J, found.stress_per_torque, breaks, margin
