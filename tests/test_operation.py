"""Whole jobs: properties over the whole domain, mirrors, inch and metric, and what cannot be."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import THREADS, fitting, jobs

from tapkit import Faults, Hole, Operation, Tap, Thread, Workpiece, door
from tapkit.mechanics.toothload import groove_area

CACHED = (
    "edge_angles", "slices", "tooth_loads", "torque_curve", "chip_flow", "chip_flow_colwell", "chip_room", "section",
    "breakage", "expected_torque", "side_forces", "axial_force", "duty", "hand", "groove_area", "cautions",
)  # fmt: skip


def numbers(result):
    """Every number in a result, however deep."""
    if isinstance(result, dict):
        result = tuple(result.values())
    if isinstance(result, tuple):
        return np.concatenate([numbers(v) for v in result]) if result else np.array([])
    if isinstance(result, np.ndarray) or (isinstance(result, (int, float)) and not isinstance(result, bool)):
        return np.atleast_1d(np.asarray(result, float)).ravel()
    return np.array([])


def deep(job):
    """Whether a plug tap, the reference of duty, cuts anything here."""
    return job.hole.is_through or job.hole.tap_depth(job.tap.thread.pitch) > 4 * job.tap.thread.pitch


@given(jobs(faulty=True))
def test_every_result_is_there_and_finite(job):
    if job.torque_curve.peak == 0 or not deep(job):
        return
    for name in CACHED:
        found = numbers(getattr(job, name))
        ok = np.isfinite(found) | (np.isposinf(found) & (name == "breakage"))
        assert ok.all(), name
    assert (job.tooth_loads.force >= 0).all()
    assert all(str(c) and "\n" not in str(c) for c in job.cautions)


@given(jobs(faulty=True))
def test_a_left_hand_job_mirrors_the_right_hand_one(job):
    thread = job.tap.thread
    mirrored = job.with_(tap=job.tap.with_(thread=dataclasses.replace(thread, hand="left")))
    for name in CACHED[:-1] if deep(job) else ("slices", "torque_curve", "section"):
        assert numbers(getattr(mirrored, name)) == pytest.approx(numbers(getattr(job, name)), nan_ok=True), name
    assert mirrored.chip_flow.direction == job.chip_flow.direction


@given(jobs(faulty=True))
def test_inch_and_metric_spellings_of_one_job_agree(job):
    """The same hole and tap, every length given in inches; to 1e-9."""
    tap, hole = job.tap, job.hole

    def inch(mm):
        return f"{mm / 25.4!r} in"

    again = Tap.make(
        tap.thread,
        tap.flute_form,
        tap.chamfer_threads,
        flutes=tap.flutes,
        radial_rake=tap.radial_rake,
        axial_rake=tap.axial_rake,
        point_diameter=door.length(inch(tap.point_diameter)),
        core_diameter=door.length(inch(tap.core_diameter)),
        land_width=door.length(inch(tap.land_width)),
    )
    other = Hole.parse(f"{hole.kind} {inch(hole.diameter)} x {inch(hole.depth)}")
    twin = job.with_(tap=again, hole=other)
    for name in ("section", "chip_flow"):
        assert numbers(getattr(twin, name)) == pytest.approx(numbers(getattr(job, name)), rel=1e-9, abs=1e-9), name
    along = np.linspace(0, job.torque_curve.depth[-1], 50)  # rounding may split a node in two, the curve stays
    curves = [np.interp(along, j.torque_curve.depth, j.torque_curve.torque) for j in (twin, job)]
    assert curves[0] == pytest.approx(curves[1], rel=1e-6, abs=1e-7 * job.torque_curve.peak + 1e-12)
    assert twin.axial_force == pytest.approx(job.axial_force, rel=1e-9, abs=1e-9)
    assert twin.breakage.torque == pytest.approx(job.breakage.torque, rel=1e-9)
    assert twin.torque_curve.peak == pytest.approx(job.torque_curve.peak, rel=1e-9, abs=1e-12)
    assert twin.slices.area.sum() == pytest.approx(job.slices.area.sum(), rel=1e-9)


def test_a_quarter_inch_thread_written_as_inch_and_as_millimetres():
    inch = Operation.parse("1/4-20 spiral-point plug", "through 0.201 in x 0.5 in", "1045")
    metric = Operation.parse(
        Tap.make(Thread("own", 6.35, 1.27), "spiral-point", "plug"), "through 5.1054 mm x 12.7 mm", "C45"
    )
    for name in ("torque_curve", "tooth_loads", "section", "chip_flow"):
        assert numbers(getattr(inch, name)) == pytest.approx(numbers(getattr(metric, name)), rel=1e-9), name


@given(fitting(), st.floats(1.5, 20))
def test_size_scales_loads_as_the_law_of_force_says(job, factor):
    """All lengths times s: areas s², forces s^(2 − m_c), torques s^(3 − m_c), stress for a torque s^−3."""
    tap, hole = job
    thread = tap.thread
    if not (thread.major * factor <= 300 and thread.pitch * factor <= 8):
        return
    big = Tap.make(
        Thread("big", thread.major * factor, thread.pitch * factor), tap.flute_form, tap.chamfer_threads,
        flutes=tap.flutes, radial_rake=tap.radial_rake, axial_rake=tap.axial_rake,
        point_diameter=tap.point_diameter * factor, core_diameter=tap.core_diameter * factor,
        land_width=tap.land_width * factor,
    )  # fmt: skip
    wide = Hole(kind=hole.kind, diameter=hole.diameter * factor, depth=hole.depth * factor)
    work = Workpiece.parse("C45")
    one, two = Operation(tap=tap, hole=hole, workpiece=work), Operation(tap=big, hole=wide, workpiece=work)
    assert two.tooth_loads.force.max() == pytest.approx(one.tooth_loads.force.max() * factor ** (2 - work.mc), rel=1e-6)
    assert two.torque_curve.peak == pytest.approx(one.torque_curve.peak * factor ** (3 - work.mc), rel=1e-6, abs=1e-12)
    assert two.section.stress_per_torque == pytest.approx(one.section.stress_per_torque / factor**3, rel=1e-6)


@pytest.mark.parametrize("flutes", range(1, 9))
@pytest.mark.parametrize("threads", [0.1, 0.5, 1.0, 4.0, 20.0])
def test_limits_of_flutes_and_chamfer(flutes, threads):
    job = Operation.parse(Tap.make("M10x1.5", chamfer=threads, flutes=flutes), "through 8.5 mm x 15 mm")
    assert job.slices.area.sum() == pytest.approx(groove_area(job.tap.thread, 8.5), rel=1e-9)
    assert math.isfinite(job.torque_curve.peak)
    assert job.torque_curve.peak > 0


@pytest.mark.parametrize("left", [1e-2, 1e-4, 1e-6, 1e-8])
def test_as_the_hole_grows_to_the_major_diameter_everything_vanishes(left):
    tap = Tap.make("M10x1.5")
    job = Operation.parse(tap, Hole(kind="through", diameter=10 - left, depth=15))
    assert 0 < job.slices.area.sum() < 0.2 * left
    assert job.torque_curve.peak < 60 * left**0.8
    assert job.breakage.margin_range[0] > 1


def test_more_flutes_share_the_load_and_cost_torque():
    """Thinner chips cost more for their area (h^−m_c): each tooth bears less, the whole more."""
    peaks, teeth = [], []
    for flutes in range(1, 9):
        job = Operation.parse(Tap.make("M10x1.5", flutes=flutes), "through 8.5 mm x 15 mm")
        peaks.append(job.torque_curve.peak)
        teeth.append(job.tooth_loads.force.max())
    assert peaks == sorted(peaks)
    assert teeth == sorted(teeth, reverse=True)


@given(st.sampled_from(THREADS), st.floats(50, 100), st.floats(1, 10))
def test_a_smaller_hole_needs_more_torque(thread, percent, less):
    one, two = (thread.hole_for_percent(p) for p in (percent, percent - less))
    tap = Tap.make(thread, point_diameter=min(one, thread.major - 1.3 * thread.pitch))
    jobs_ = [Operation.parse(tap, Hole(kind="through", diameter=d, depth=3 * thread.major)) for d in (one, two)]
    assert jobs_[0].torque_curve.peak > jobs_[1].torque_curve.peak


@pytest.mark.parametrize("speed", [0.0, -1.0, 2000.0])
def test_speeds_that_cannot_be(speed):
    with pytest.raises(ValueError, match="cutting speed"):
        Operation.parse("M10x1.5 plug", "through 8.5 mm x 15 mm", speed=speed)


def test_a_blind_hole_without_depth_for_a_tap():
    hole = Hole(kind="blind", diameter=8.5, depth=10.0, clearance=9.9999)
    assert Operation.parse("M10x1.5 plug", hole).torque_curve.peak >= 0
    for bad in ("through 10.5 mm x 5 mm", "through 7 mm x 5 mm"):
        with pytest.raises(ValueError, match="hole"):
            Operation.parse("M10x1.5 plug", bad)


def test_a_regrind_shows_in_the_angles():
    job = Operation.parse("M10x1.5 spiral-point plug", "through 8.5 x 15", faults=Faults(regrind_shorter=2.0))
    assert job.edge_angles["chamfer_angle"] > job.tap.chamfer_angle * 1.8
    assert any("does not send its chips ahead" in c for c in job.cautions)


def test_workpiece_and_parts_may_be_given_as_things():
    job = Operation.parse(Tap.make("M10"), Hole.parse("through 8.5 x 15"), Workpiece.parse("brass"))
    assert job.with_(speed=10.0).speed == 10.0
    assert job.workpiece.name == "CuZn40Pb2"


def test_jobs_that_differ_in_depth_alone_share_what_their_teeth_take():
    shallow, deep = (Operation.parse("M10 straight plug", f"blind 8.5 x {d}") for d in (15, 25))
    assert shallow.slices is deep.slices
    assert Operation.parse("M10 straight plug", "blind 8.6 x 15").slices is not deep.slices
    with pytest.raises(ValueError, match="read-only"):
        deep.slices.area[0] = 1


def test_missing_teeth_may_be_given_as_a_list():
    told = Operation.parse(
        "M10 straight plug", "blind 8.5 x 15", faults=Faults(missing_teeth=[3], flute_offsets=[0, 0, 0])
    )
    assert told == told.with_(faults=Faults(missing_teeth={3}, flute_offsets=(0, 0, 0)))
    assert told.slices.lost[2]
