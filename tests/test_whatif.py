"""What-if over many taps: arrays against one by one, refusals, faults, and the speed of ten thousand."""

import time

import numpy as np
import pytest
from hypothesis import given
from strategies import jobs

from tapkit import Faults, Operation, whatif
from tapkit.mechanics import sweep, torsion
from tapkit.mechanics.toothload import tooth_slices

JOB = Operation.parse("M10x1.5 plug", "through 8.5 mm x 15 mm", "C45")


@given(jobs())
def test_arrays_give_what_single_jobs_give(job):
    """Closed form against the running maximum: another way to the same numbers, over the whole domain."""
    many, one = whatif.solve([job, JOB]), whatif.one_by_one(job)
    for name in sweep.Results._fields:
        rel = 2e-3 if name in ("J", "stress_per_torque", "breaking_torque", "margin") else 1e-8
        assert getattr(many, name)[0] == pytest.approx(getattr(one, name), rel=rel, abs=1e-9), name


@given(jobs())
def test_every_tooth_of_the_closed_form(job):
    slices = tooth_slices(job.tap, job.hole, job.faults)
    found = sweep.teeth(whatif._columns([job]), len(slices.area))
    scale = job.tap.thread.pitch
    cuts = slices.area > 1e-9 * scale**2
    assert found.area[0] == pytest.approx(slices.area, abs=1e-10 * scale**2)
    for name in ("width", "thickness", "radius", "start", "end"):
        ours, theirs = getattr(found, name)[0][cuts], getattr(slices, name)[cuts]
        assert ours == pytest.approx(theirs, rel=1e-6, abs=1e-7 * scale), name


def test_one_and_two_quantities_have_their_shapes():
    one = whatif.run(JOB, "chamfer_threads", [2, 4, 8])
    two = whatif.run(JOB, "chamfer_threads", [2, 4, 8], "depth", [3, 15])
    assert one.of("peak_torque").shape == (3,)
    assert two.of("peak_torque").shape == (2, 3)
    assert two.of("peak_torque")[1] == pytest.approx(one.of("peak_torque"))
    assert two.x_quantity.label == "Chamfer length"
    assert two.y_quantity.unit_in() == "mm"


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


def test_faulty_taps_go_one_by_one_to_the_same_table():
    found = whatif.run(JOB, "runout", [0.0, 0.03])
    worse = JOB.with_(faults=Faults(runout=0.03))
    assert found.of("largest_force") == pytest.approx(
        [JOB.tooth_loads.force.max(), worse.tooth_loads.force.max()], rel=1e-9
    )


def test_steep_chamfers_go_one_by_one():
    found = whatif.run(JOB, "chamfer_threads", [0.2, 4])
    assert found.of("cutting_teeth")[0] == int(
        (whatif.changed(JOB, [(whatif.quantity("chamfer_threads"), 0.2)]).slices.area > 0).sum()
    )


def test_what_cannot_be_ground_is_nan_with_its_reason():
    found = whatif.run(JOB, "core_diameter", [1.0, 4.0, 9.5])
    assert np.isnan(found.of("margin")).tolist() == [True, False, True]
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
        whatif.one_by_one(job)
    each = (time.perf_counter() - t0) / len(few)
    t0 = time.perf_counter()
    found = whatif.run(JOB, "core_diameter", np.linspace(3.6, 4.8, 100), "land_width", np.linspace(2.8, 3.6, 100))
    many = (time.perf_counter() - t0) / 10_000
    assert np.isfinite(found.of("margin")).all()
    assert many < each / 4
