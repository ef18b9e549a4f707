"""Cutting force and torque: Kienzle's law, torque along the depth, and its properties over the whole domain."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import jobs

from tapkit import Operation, Tap, Workpiece
from tapkit.mechanics import force, torque
from tapkit.mechanics.assumptions import assumption


@given(st.floats(0.01, 3), st.floats(0.005, 2), st.floats(500, 3000), st.floats(0.05, 0.4))
def test_kienzle_as_printed_in_its_other_form(width, thickness, kc11, mc):
    """F = b h k_c with k_c = k_c1.1 / h^m_c; a straight line of slope 1 − m_c on double logarithmic paper."""
    f = force.cutting_force(width=width, thickness=thickness, kc11=kc11, mc=mc)
    assert f == pytest.approx(width * thickness * kc11 / thickness**mc, rel=1e-12)
    twice = force.cutting_force(width=width, thickness=2 * thickness, kc11=kc11, mc=mc)
    assert math.log2(twice / f) == pytest.approx(1 - mc, abs=1e-9)


def test_no_chip_no_force():
    assert force.cutting_force(width=[1.0, 0.0], thickness=[0.0, 0.1], kc11=2000, mc=0.2).tolist() == [0.0, 0.0]


@pytest.mark.parametrize(("rake", "k"), [(6, 1.0), (16, 0.9), (-4, 1.1), (200, 0.3)])
def test_one_percent_for_a_degree_of_rake(rake, k):
    """Dietrich & Tschätsch, Praxis der Zerspantechnik; below 0.3 the straight line is not carried on."""
    assert float(force.rake_factor(normal_rake=rake, test_rake=6)) == pytest.approx(k)


def test_rubbing_below_its_limit_only_where_there_is_a_chip():
    assert force.rubs([0.0, 0.009, 0.011]).tolist() == [False, True, False]
    assert force.rubs(0.02, 0.03)


@given(jobs(faulty=True))
def test_torque_is_continuous_along_the_depth_and_never_negative(job):
    curve = job.torque_curve
    assert (curve.torque >= 0).all()
    assert (np.diff(curve.depth) > 0).all()
    assert curve.torque[0] == pytest.approx(0, abs=1e-9)
    mid = (curve.depth[1:] + curve.depth[:-1]) / 2
    lever = job.tooth_loads.force * job.slices.radius / 1000
    for step in (-1e-9, 0.0, 1e-9):
        here = torque.share_in_metal(mid + step, job.slices, job.hole) @ lever
        assert here == pytest.approx((curve.torque[1:] + curve.torque[:-1]) / 2, rel=1e-6, abs=1e-6 * lever.sum())
    slope = np.abs(np.diff(curve.torque) / np.diff(curve.depth))
    steepest = np.sum(lever / np.maximum(job.slices.end - job.slices.start, 1e-9))
    assert (slope <= 2 * steepest * (1 + 1e-6) + 1e-6).all()


@given(jobs())
def test_deep_enough_the_torque_is_the_sum_of_all_teeth(job):
    whole = job.tooth_loads.force @ job.slices.radius / 1000
    assert job.torque_curve.peak <= whole * (1 + 1e-9)
    deep = job.with_(hole=job.hole.with_(depth=1000.0))
    assert deep.torque_curve.peak == pytest.approx(whole, rel=1e-9)


@given(jobs())
def test_a_through_hole_ends_without_torque_and_a_blind_one_at_its_depth(job):
    through = job.with_(hole=job.hole.with_(kind="through")).torque_curve
    assert through.torque[-1] == pytest.approx(0, abs=1e-9)
    blind = job.with_(hole=job.hole.with_(kind="blind")).torque_curve
    assert blind.depth[-1] == pytest.approx(job.hole.with_(kind="blind").tap_depth(job.tap.thread.pitch))
    assert (np.diff(blind.torque) >= -1e-9).all()


@given(jobs())
def test_wear_and_tool_scale_the_torque(job):
    base = job.torque_curve.peak
    assert job.with_(wear_factor=1.3).torque_curve.peak == pytest.approx(1.3 * base)
    assert job.with_(tool_factor=1.0).torque_curve.peak == pytest.approx(base / 1.2)


def test_the_work_of_the_torque_is_the_work_of_the_teeth():
    """Energy: ∫ T dφ over the whole hole is Σ F · 2π r · turns in the metal."""
    job = Operation.parse("M10x1.5 plug", "through 8.5 mm x 15 mm")
    curve = job.torque_curve
    turned = np.sum((curve.torque[1:] + curve.torque[:-1]) / 2 * np.diff(curve.depth)) * 2 * np.pi / 1.5
    by_teeth = np.sum(job.tooth_loads.force * 2 * np.pi * job.slices.radius / 1000 * 15 / 1.5)
    assert turned == pytest.approx(by_teeth, rel=1e-9)


def test_two_sayings_meet():
    """A bottoming tap's hardest tooth bears about twice a plug tap's; a long chamfer needs more torque in a thick part and
    less in a thin one (M8, 9 against 1.5 threads: the two cross near 6 mm)."""
    short, plug, long = (
        Operation.parse(Tap.make("M8x1.25", chamfer=n, point_diameter=6.5), "through 6.8 mm x 25 mm")
        for n in (1.5, 4, 9)
    )
    assert 1.7 < short.tooth_loads.force.max() / plug.tooth_loads.force.max() < 2.4
    thin = [j.with_(hole=j.hole.with_(depth=3.0)).torque_curve.peak for j in (short, long)]
    assert thin[1] < thin[0]
    assert long.torque_curve.peak > short.torque_curve.peak
    depths = np.arange(3, 12, 0.25)
    peaks = [[j.with_(hole=j.hole.with_(depth=float(t))).torque_curve.peak for t in depths] for j in (short, long)]
    crossing = depths[int(np.argmax(np.array(peaks[1]) > np.array(peaks[0])))]
    assert 5.0 <= crossing <= 7.5


def test_reading_the_curve():
    curve = Operation.parse("M10x1.5 plug", "through 8.5 mm x 15 mm").torque_curve
    assert curve.at(curve.depth[curve.torque.argmax()]) == pytest.approx(curve.peak)
    assert curve.at(-1) == pytest.approx(0)
    assert curve.at(0.5 * (curve.depth[2] + curve.depth[3])) == pytest.approx((curve.torque[2] + curve.torque[3]) / 2)


def test_workpieces_by_other_names_and_sources():
    assert Workpiece.parse("304").hardens
    assert Workpiece.parse("grey iron") == Workpiece.parse("GG 25")
    assert Workpiece.parse("C45", "B").kc11 == 1659
    assert Workpiece.parse("titanium").cautions()
    for bad in (("unobtainium", None), ("C45", "Q")):
        with pytest.raises(ValueError, match="in the table"):
            Workpiece.parse(*bad)


def test_assumptions_know_their_range():
    one = assumption("wear_factor")
    assert one.low <= one.value <= one.high
    assert one.source
    with pytest.raises(ValueError, match="no row with name 'luck'"):
        assumption("luck")
