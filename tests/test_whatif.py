"""What-if over many taps: arrays against one by one, refusals, faults, and the speed of ten thousand."""

import time
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import jobs

from tapkit import Operation, whatif
from tapkit.mechanics import sweep, torsion
from tapkit.mechanics.toothload import reground, tooth_outline

JOB = Operation.parse("M10x1.5 plug", "through 8.5 mm x 15 mm", "C45")


def one_by_one(job):
    """The same results for one job, through `Operation`."""
    loads, flow, broken = job.tooth_loads, job.chip_flow, job.breakage
    ends = (job.expected_torque.low, job.expected_torque.high)
    top = int(np.argmax(loads.force)) if len(loads.force) else 0
    return sweep.Results(
        job.torque_curve.peak,
        *(float(end.total.max()) for end in ends),
        loads.force.max(initial=0.0),
        loads.area.max(initial=0.0),
        loads.thickness[top] if len(loads.force) else 0.0,
        (loads.area > 0).sum(),
        loads.rubbing.sum(),
        loads.force.sum(),
        loads.area.sum(),
        job.chip_room.full_ratio,
        job.edge_angles["chamfer_angle"],
        flow.inclination,
        flow.normal_rake,
        flow.axial_angle,
        job.axial_force,
        job.section.J,
        job.section.stress_per_torque,
        *broken.torque_range,
        *(s / t if t else np.inf for s, t in zip(broken.torque_range, reversed([float(e.total.max()) for e in ends]))),
    )


@given(st.lists(jobs(faulty=True), min_size=1, max_size=4), st.floats(0, 0.05))
def test_arrays_give_what_single_jobs_give(some, share):
    """Taps of all sizes, flutes, chamfers and faults in one array: padded teeth must not leak from one into another."""
    first = some[0]
    out = first.with_(faults=replace(first.faults, runout=share * first.tap.thread.pitch))
    many = whatif.solve([*some, None, out, JOB])
    for i, job in enumerate([*some, None, out, JOB]):
        if job is None:
            assert np.isnan(many.peak_torque[i])
            continue
        for name, one in zip(sweep.Results._fields, one_by_one(job)):
            rel = (
                2e-3
                if name in ("J", "stress_per_torque", "breaking_low", "breaking_high", "margin_low", "margin_high")
                else 1e-8
            )
            assert getattr(many, name)[i] == pytest.approx(one, rel=rel, abs=1e-9), name


def by_points(job, points=4000):
    """Areas by the running maximum on a fine grid: the model as it is written down."""
    tap, faults = reground(job.tap, job.faults), job.faults
    p, slope = tap.thread.pitch, np.tan(np.radians(tap.chamfer_angle))
    x = (np.arange(points) + 0.5) / points * p - p / 2
    swept, areas = np.full(points, job.hole.diameter / 2), []
    for k in range(len(job.slices.area)):
        z, turn = (faults.first_tooth + k) * tap.tooth_spacing, 2 * np.pi * (k % tap.flutes) / tap.flutes
        lift = faults.chamfer_runout / 2 * np.cos(turn - np.radians(faults.chamfer_runout_angle))
        lift += faults.flute_offsets[k % tap.flutes] if faults.flute_offsets else 0.0
        line = np.minimum(tooth_outline(x, tap.thread), tap.point_diameter / 2 + (z + x) * slope + lift)
        after = swept if k + 1 in faults.missing_teeth else np.maximum(swept, line)
        areas.append(np.sum(after - swept) * p / points)
        swept = after
    return np.array(areas)


@given(jobs(faulty=True))
def test_every_tooth_against_the_running_maximum_on_a_grid(job):
    scale = job.tap.thread.pitch**2
    assert job.slices.area == pytest.approx(by_points(job), abs=2e-4 * scale)


def test_one_and_two_quantities_have_their_shapes():
    one = whatif.run(JOB, "chamfer_threads", [2, 4, 8])
    two = whatif.run(JOB, "chamfer_threads", [2, 4, 8], "depth", [3, 15])
    assert one.of("peak_torque").shape == (3,)
    assert two.of("peak_torque").shape == (2, 3)
    assert two.of("peak_torque")[1] == pytest.approx(one.of("peak_torque"))


@pytest.mark.parametrize("quantity", list(whatif.quantities()), ids=lambda q: q.name)
def test_everything_that_can_be_changed_can_be(quantity):
    start = {
        "diameter": 8.5,
        "depth": 15.0,
        "flutes": 3,
        "point_diameter": 8.0,
        "core_diameter": 4.0,
        "land_width": 3.2,
    }
    value = start.get(quantity.name, 1.0)
    base = JOB if quantity.name != "axial_rake" else Operation.parse("M10x1.5 spiral-flute plug", "through 8.5 x 15")
    value = 0.05 if "runout" in quantity.name else value
    found = whatif.run(base, quantity.name, [value])
    assert found.refused == ()
    assert np.isfinite(found.of("peak_torque")[0])
    assert found.of("peak_torque")[0] == pytest.approx(
        whatif.changed(base, [(quantity, value)]).torque_curve.peak, rel=1e-9
    )


@pytest.mark.parametrize("quantity", list(whatif.quantities("result")), ids=lambda q: q.name)
def test_everything_that_can_be_read_has_a_field(quantity):
    assert quantity.name in sweep.Results._fields
    assert len(whatif.quantities("result")) == len(sweep.Results._fields)


def test_what_cannot_be_ground_is_nan_with_its_reason():
    found = whatif.run(JOB, "core_diameter", [1.0, 4.0, 9.5])
    assert np.isnan(found.of("margin_low")).tolist() == [True, False, True]
    assert sum(n for _, n in found.refused) == 2
    assert all("cannot be ground" in reason for reason, _ in found.refused)


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (("luck", [1]), "no parameter 'luck'"),
        (("flutes", []), "not a list of plain numbers"),
        (("flutes", [np.nan]), "not a list of plain numbers"),
        (("flutes", [3], "flutes", [4]), "changed twice"),
    ],
)
def test_what_cannot_be_swept(args, says):
    with pytest.raises(ValueError, match=says):
        whatif.run(JOB, *args)
    with pytest.raises(ValueError, match="no result"):
        whatif.run(JOB, "flutes", [3]).of("luck")


@pytest.mark.bench
def test_ten_thousand_taps_against_a_plain_loop():
    """Budget 2 s for 10 000 taps through load, torque, flow and torsion, every section another; as a ratio: at least four
    times as fast, tap for tap, as a plain loop over single jobs."""
    torsion._unit_section.cache_clear()
    rng = np.random.default_rng(2)
    few = [
        whatif.changed(
            JOB,
            [(whatif.quantity("core_diameter"), c), (whatif.quantity("chamfer_threads"), n)],
        )
        for c, n in zip(rng.uniform(3.6, 4.8, 30), rng.uniform(1.2, 8.0, 30))
    ]
    t0 = time.perf_counter()
    for job in few:
        one_by_one(job)
    each = (time.perf_counter() - t0) / len(few)
    t0 = time.perf_counter()
    found = whatif.run(JOB, "core_diameter", np.linspace(3.6, 4.8, 100), "land_width", np.linspace(2.8, 3.6, 100))
    many = (time.perf_counter() - t0) / 10_000
    assert np.isfinite(found.of("margin_low")).all()
    assert many < each / 4


@pytest.mark.parametrize("tap", ["M10x1.5 plug", "M10x1.5 spiral-point plug", "M10x1.5 spiral-flute bottoming"])
@pytest.mark.parametrize("kind", ["through", "blind"])
@pytest.mark.parametrize(("what", "low", "high"), [("depth", 8, 60), ("hole_diameter", 8.2, 9.4)])
def test_where_chips_jam_is_told_as_each_job_tells_it(tap, kind, what, low, high):
    job = Operation.parse(tap, f"{kind} 8.5 mm x 30 mm", "C45")
    name = "diameter" if what == "hole_diameter" else what
    values = np.linspace(low, high, 41)
    each = [job.with_(hole=job.hole.with_(**{name: float(v)})).chip_room.jams_at is not None for v in values]
    assert whatif.jams(job, name, values).tolist() == each


def test_half_a_flute_is_refused_in_a_sentence():
    assert "2.5 flutes cannot be ground" in str(whatif.run(JOB, "flutes", [2, 2.5, 3]).refused[0][0])
