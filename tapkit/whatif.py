"""What if: one job with one or two things changed over a range, all combinations at once.

All go through `mechanics.sweep` together, ten thousand in about a second. A combination that cannot be ground or
drilled gives nan, and its reason is kept.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from tapkit import door
from tapkit.mechanics import chipflow, chipreach, chiproom, expected, rake, sweep
from tapkit.mechanics.toothload import reground
from tapkit.messages import Sentence, _
from tapkit.parameters import Parameter, changed, parameters, used_in

if TYPE_CHECKING:
    from tapkit.operation import Operation


NO_END = {"expected_high": "up", "margin_low": "down"}
"""Results that have no end where chips jam, and whether it is the upper or the lower one."""


class Sweep(NamedTuple):
    """All combinations. `x` values (columns,), `y` values (rows,) or None; `results` of arrays (rows, columns),
    or (columns,) with one quantity; `refused` the reasons found, each with how many combinations it refused."""

    x: np.ndarray
    y: np.ndarray | None
    results: sweep.Results
    refused: tuple[tuple[Sentence, int], ...]

    def of(self, result: str) -> np.ndarray:
        """One result by name, as "peak_torque"; ValueError with the names there are."""
        return getattr(self.results, quantity(result, "result").name)


def quantities(kind: str = "parameter") -> tuple[Parameter, ...]:
    """Everything that can be changed ("parameter") or read ("result"), in the order of the table `parameters`.

    >>> quantities()[0].label, quantities("result")[0].unit_in()
    ('Chamfer length', 'N·m')
    """
    return tuple(p for p in parameters() if p.owner == "result") if kind == "result" else used_in("sweep")


def quantity(name: str, kind: str = "parameter") -> Parameter:
    """One of them by key, or by name in the model."""
    for one in quantities(kind):
        if name in (one.key, one.name):
            return one
    known = ", ".join(q.name for q in quantities(kind))
    if kind == "result":
        raise ValueError(_("there is no result {name}; there are {known}", name=door.quoted(name), known=known))
    raise ValueError(_("there is no parameter {name}; there are {known}", name=door.quoted(name), known=known))


def run(job: "Operation", x: str, x_values: Any, y: str | None = None, y_values: Any = None) -> Sweep:
    """The job with `x`, and `y` where given, set to every value; results for all combinations.

    >>> from tapkit import Operation
    >>> job = Operation.parse("M10x1.5 plug", "through 8.5 mm x 15 mm", "C45")
    >>> run(job, "chamfer_threads", [2, 4, 8]).of("peak_torque").round(1)
    array([7.2, 7.8, 8.5])
    """
    first, columns = quantity(x), _values(x, x_values)
    second, rows = (None, None) if y is None else (quantity(y), _values(y, y_values))
    if second is not None and second.name == first.name:
        raise ValueError(_("{name} is changed twice; choose two different quantities, or one", name=door.quoted(x)))
    jobs, reasons = [], {}
    for v in [None] if rows is None else rows:
        for u in columns:
            changes = [(first, u)] if second is None else [(first, u), (second, v)]
            try:
                jobs.append(changed(job, changes))
            except ValueError as error:
                jobs.append(None)
                reasons[error.args[0]] = reasons.get(error.args[0], 0) + 1
    shape = (len(columns),) if rows is None else (len(rows), len(columns))
    results = sweep.Results(*(column.reshape(shape) for column in solve(jobs)))
    return Sweep(columns, rows, results, tuple(reasons.items()))


def jams(job: "Operation", x: str, values: np.ndarray) -> np.ndarray:
    """Whether chips jam with `x` set to each of many values, (values,) of bool; False where it cannot be set."""
    return ~np.isnan(jam_depths([_changed(job, quantity(x), float(value)) for value in values]))


def _changed(job: "Operation", one: Parameter, value: float) -> "Operation | None":
    try:
        return changed(job, [(one, value)])
    except ValueError:
        return None


def _values(name: str, values: Any) -> np.ndarray:
    found = np.atleast_1d(np.asarray(values, float))
    if found.ndim != 1 or not len(found) or not np.isfinite(found).all():
        raise ValueError(_("the values of {name} are not a list of plain numbers; give some like [2, 3, 4]", name=name))
    return found


def solve(jobs: "Sequence[Operation | None]", exact: bool = False) -> sweep.Results:
    """Results of many jobs, arrays (jobs,); nan where a job is None; `exact` as in `sweep.solve_jobs`."""
    table = np.full((len(sweep.Results._fields), len(jobs)), np.nan)
    there = [i for i, job in enumerate(jobs) if job is not None]
    if there:
        some = [jobs[i] for i in there]
        columns = _columns([_row(job) for job in some])
        table[:, there] = np.array(sweep.solve_jobs(sweep.Jobs(**columns, faults=[job.faults for job in some]), exact))
    return sweep.Results(*table)


def jam_depths(jobs: "Sequence[Operation | None]") -> np.ndarray:
    """Depth of the point [mm] from which chips jam, so that torque has no upper end; nan where they nowhere do.

    >>> from tapkit import Operation
    >>> deep = Operation.parse("M10 plug", "through 8.5 mm x 30 mm", "C45")
    >>> jam_depths([deep]).round(6) == round(deep.chip_room.jams_at, 6)
    array([ True])
    """
    there = [i for i, job in enumerate(jobs) if job is not None]
    found = np.full(len(jobs), np.nan)
    fates = dict(zip(there, _fates([jobs[i] for i in there])))
    for i in there:
        if jobs[i].peck:
            at = jobs[i].chip_room.jams_at
            found[i] = np.nan if at is None else at
    some = [i for i in there if fates[i] != chipreach.LEAVES and not jobs[i].peck]
    if not some:
        return found
    kept = [jobs[i] for i in some]
    columns = _columns([_room(jobs[i], fates[i]) for i in some])
    room = chiproom.KeptChips(**columns, fate=[fates[i] for i in some], faults=[job.faults for job in kept])
    for i, at, end in zip(some, *chiproom.packs_at(room)):
        jams = chipreach.jams_at(jobs[i].tap, jobs[i].hole, fates[i], None if np.isnan(at) else float(at), float(end))
        found[i] = np.nan if jams is None else jams
    return found


def _fates(jobs: "Sequence[Operation]") -> list[str]:
    """Where the chips of each job go, as in `chiproom`."""
    rows = [tuple(job.edge_angles.values()) for job in jobs]
    angles = dict(zip(("radial_rake", "axial_rake", "chamfer_angle"), np.array(rows, float).reshape(-1, 3).T))
    ways = rake.inclination(**angles)
    lifts = chipflow.axial_angle(chipflow.chip_vector(ways, **angles))
    return [
        chiproom.fate_of(chipflow.direction_in_words(way, lift, job.undecided_band), job.hole, _bulking(job))[0]
        for way, lift, job in zip(ways, lifts, jobs)
    ]


def _bulking(job: "Operation") -> chiproom.Bulking:
    return chiproom.bulking(job.workpiece, job.form_of_chips)


def _fit(job: "Operation") -> dict[str, Any]:
    """What `sweep.Jobs` and `chiproom.KeptChips` both hold of a job, by column."""
    tap, hole = reground(job.tap, job.faults), job.hole
    return dict(
        major=tap.thread.major,
        pitch=tap.thread.pitch,
        flutes=tap.flutes,
        chamfer_threads=tap.chamfer_threads,
        point_diameter=tap.point_diameter,
        radial_rake=tap.radial_rake,
        core=tap.core_diameter,
        land=tap.land_width,
        bore=hole.diameter,
        depth=hole.worked_depth(tap.thread.pitch),
        through=hole.is_through,
    )


def _room(job: "Operation", fate: str) -> dict[str, Any]:
    hole = job.hole
    return _fit(job) | dict(cylinder=hole.depth, cone=hole.cone_depth, loose=_bulking(job).going(fate).low)


def _row(job: "Operation") -> dict[str, Any]:
    tap, work = reground(job.tap, job.faults), job.workpiece
    at = expected.factors(tap, work, job.fluid, job.wear_factor)
    ends = dict(cut=at.cut, whole=at.whole, share=at.friction, fluid=at.fluid)
    return (
        _fit(job)
        | dict(axial_rake=tap.axial_rake, chamfer_angle=tap.chamfer_angle)
        | dict(kc11=work.kc11, mc=work.mc, gamma0=work.gamma0, edge_factor=job.edge_factor)
        | dict(rake_percent=job.rake_percent_per_degree, wear_factor=job.wear_factor)
        | dict(shear_at_breakage=job.shear_at_breakage, bending=job.bending_stress)
        | dict(rubbing_thickness=job.rubbing_thickness, chip_friction=job.chip_friction, scatter=at.scatter)
        | {f"{name}_{end}": getattr(ratio, end) for name, ratio in ends.items() for end in ("low", "high")}
    )


def _columns(rows: Sequence[dict[str, Any]]) -> dict[str, np.ndarray]:
    return {name: np.array([row[name] for row in rows], float) for name in rows[0]}
