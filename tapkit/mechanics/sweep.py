"""Many taps at once: the functions of load, torque, chip flow and torsion asked with arrays of taps."""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from tapkit.mechanics import (
    chipflow,
    chiproom,
    expected,
    force,
    published,
    rake,
    sideforce,
    toothload,
    torque,
    torsion,
    truetorsion,
)
from tapkit.mechanics.breakage import breaking_ends, margin
from tapkit.mechanics.toothload import Faults

CHUNK = 16_000
"""Teeth computed together: enough that numpy's own cost is spread, few enough that they stay in the cache."""


NOT_OF_TEETH = {"core", "land", "shear_at_breakage", "bending", "chip_friction"}
"""Columns of `Jobs` that the load on the teeth does not depend on."""


class Jobs(NamedTuple):
    """Many taps at work: arrays of one shape (jobs,), and the `faults` of each. Lengths in mm, angles in degrees.

    `depth` the part's thickness of a through hole, or the depth the point reaches in a blind one; `chamfer_threads`
    after any regrind; from `cut_low` to `fluid_high` what makes the sum of tooth forces a torque to expect, as in
    `expected.Factors`.
    """

    major: Any
    pitch: Any
    flutes: Any
    chamfer_threads: Any
    point_diameter: Any
    radial_rake: Any
    axial_rake: Any
    chamfer_angle: Any
    core: Any
    land: Any
    bore: Any
    depth: Any
    through: Any
    kc11: Any
    mc: Any
    gamma0: Any
    edge_factor: Any
    rake_percent: Any
    wear_factor: Any
    shear_at_breakage: Any
    bending: Any
    rubbing_thickness: Any
    chip_friction: Any
    cut_low: Any
    cut_high: Any
    whole_low: Any
    whole_high: Any
    share_low: Any
    share_high: Any
    scatter: Any
    fluid_low: Any
    fluid_high: Any
    faults: Sequence[Faults]


class Results(NamedTuple):
    """What comes out, arrays of shape (jobs,).

    `peak_torque` of the tooth forces, `expected_low` and `expected_high` of the torque to expect as long as chips do
    not
    jam [N·m]; `largest_force` of a tooth [N], `largest_area` of a chip [mm2], `thickness` of the chip of that
    tooth [mm]; `cutting_teeth`, `rubbing_teeth` numbers; `total_force` of all teeth [N]; `groove_area` [mm2];
    `full_ratio` bulking ratio at which flutes that keep every chip are full; `chamfer_angle`, `inclination`,
    `normal_rake`, `axial_angle` of the chip by Stabler's rule [deg]; `axial_force` [N], positive toward the shank; `J`
    [mm4]; `stress_per_torque` [MPa per N·m]; `breaking_low`, `breaking_high` torque at breakage [N·m], `margin_low`,
    `margin_high` against the torque to expect (nan where the flutes meet).
    """

    peak_torque: np.ndarray
    expected_low: np.ndarray
    expected_high: np.ndarray
    largest_force: np.ndarray
    largest_area: np.ndarray
    thickness: np.ndarray
    cutting_teeth: np.ndarray
    rubbing_teeth: np.ndarray
    total_force: np.ndarray
    groove_area: np.ndarray
    full_ratio: np.ndarray
    chamfer_angle: np.ndarray
    inclination: np.ndarray
    normal_rake: np.ndarray
    axial_angle: np.ndarray
    axial_force: np.ndarray
    J: np.ndarray
    stress_per_torque: np.ndarray
    breaking_low: np.ndarray
    breaking_high: np.ndarray
    margin_low: np.ndarray
    margin_high: np.ndarray


def solve_jobs(jobs: Jobs, exact: bool = False) -> Results:
    """Load, torque, flow and torsion of every job; jobs must be possible. Equal chamfers in equal holes are computed
    once, as equal sections are. `exact` as each alone, where very many sections are else taken from a lattice."""
    keys = [c for name, c in zip(Jobs._fields, jobs[:-1]) if name not in NOT_OF_TEETH]
    known = {id(f): i for i, f in enumerate(jobs.faults)}
    keys.append([known[id(f)] for f in jobs.faults])
    _rows, first, back = np.unique(np.column_stack(keys), axis=0, return_index=True, return_inverse=True)
    some = Jobs(*(c[first] for c in jobs[:-1]), [jobs.faults[i] for i in first])
    *loads, volume = (column[back.ravel()] for column in _in_chunks(some))
    loads.append(chiproom.full_ratio(chiproom.flute_room(jobs), volume))
    angles = _angles(jobs)
    chip = chipflow.chip_vector(rake.inclination(**angles), **angles)
    ratios = sideforce.force_ratios(jobs.chip_friction, chip, radial_rake=jobs.radial_rake, axial_rake=jobs.axial_rake)
    shape = dict(diameter=jobs.major, core=jobs.core, land=jobs.land, flutes=jobs.flutes)
    found = torsion.torsion_many(**shape, exact=exact)
    true = truetorsion.many(**shape, radial_rake=jobs.radial_rake, pitch=jobs.pitch, exact=exact)
    low, high = np.where(np.isnan(found.J), np.nan, breaking_ends(found, true, jobs.shear_at_breakage, jobs.bending))
    least, most = (loads[Results._fields.index(f"expected_{end}")] for end in ("low", "high"))
    return Results(
        *loads,
        jobs.chamfer_angle,
        rake.inclination(**angles),
        rake.normal_rake(**angles),
        chipflow.axial_angle(chip),
        ratios[:, 2] * loads[Results._fields.index("total_force")],
        found.J,
        found.stress_per_torque,
        low,
        high,
        margin(low, most),
        margin(high, least),
    )


def _in_chunks(jobs: Jobs) -> list[np.ndarray]:
    """`_loads` of all jobs, some at a time."""
    runs_out = np.array([f.runout > 0 for f in jobs.faults])
    size = jobs.chamfer_threads * jobs.flutes + 1000 * runs_out  # jobs alike together: little is computed for nothing
    order = np.argsort(size)
    parts, start = [], 0
    while start < len(order):
        count = max(1, int(CHUNK / (1.5 * size[order[start]] % 1000 + 12)))
        split = np.flatnonzero(runs_out[order[start : start + count]] != runs_out[order[start]])
        rows = order[start : start + (int(split[0]) if len(split) else count)]
        parts.append(_loads(Jobs(*(c[rows] for c in jobs[:-1]), [jobs.faults[i] for i in rows])))
        start += len(rows)
    return [np.concatenate(column)[np.argsort(order)] for column in zip(*parts)]


def _angles(jobs: Jobs) -> dict[str, np.ndarray]:
    return dict(radial_rake=jobs.radial_rake, axial_rake=jobs.axial_rake, chamfer_angle=jobs.chamfer_angle)


def _factors(jobs: Jobs) -> expected.Factors:
    columns = {name: getattr(jobs, name)[:, None] for name in Jobs._fields[:-1]}
    pairs = (published.Ratio(columns[f"{n}_low"], columns[f"{n}_high"]) for n in ("cut", "whole", "share", "fluid"))
    cut, whole, share, fluid = pairs
    return expected.Factors(cut, whole, share, columns["scatter"], fluid, np.maximum(columns["wear_factor"], 1.0))


def _loads(jobs: Jobs) -> tuple[np.ndarray, ...]:
    """The fields of `Results` that come from the teeth, in order, and the metal cut for each mm of thread [mm2]."""
    found = toothload.slices(toothload.cutters(jobs))
    k_rake = force.rake_factor(
        normal_rake=rake.normal_rake(**_angles(jobs)), test_rake=jobs.gamma0, percent_per_degree=jobs.rake_percent
    )
    pull = force.cutting_force(
        width=found.width,
        thickness=found.thickness,
        kc11=jobs.kc11[:, None],
        mc=jobs.mc[:, None],
        factor=(k_rake * jobs.edge_factor)[:, None],
    )
    holes = torque.Holes(jobs.through[:, None] > 0, jobs.depth[:, None], jobs.depth[:, None])
    ends = expected.peaks(
        at=_factors(jobs),
        slices=found,
        force=pull,
        hole=holes,
        pitch=jobs.pitch[:, None],
        major=jobs.major[:, None],
        half_chamfer=(jobs.chamfer_threads * jobs.pitch / 2)[:, None],
    )
    row, top = np.arange(len(pull)), np.argmax(pull, axis=1)
    return (
        torque.peak_torque(found, pull, holes, jobs.pitch[:, None]),
        *ends,
        pull[row, top],
        found.area.max(axis=1),
        found.thickness[row, top],
        (found.area > 0).sum(axis=1),
        force.rubs(found.thickness, jobs.rubbing_thickness[:, None]).sum(axis=1),
        pull.sum(axis=1),
        found.area.sum(axis=1),
        chiproom.volume_per_mm(found, jobs.pitch),
    )
