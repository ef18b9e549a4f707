"""Breakage, side and axial forces, duty, hand tapping and cautions."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import jobs

from tapkit import Faults, Operation, Tap
from tapkit.mechanics import caution, duty, hand, sideforce, truetorsion
from tapkit.mechanics.breakage import breakage
from tapkit.mechanics.chipflow import chip_flow
from tapkit.mechanics.torque import TorqueCurve
from tapkit.reporttext import as_text

ORDINARY = ("M10x1.5 spiral-point plug", "through 8.5 mm x 15 mm", "C45")


def ordinary(**more):
    return Operation.parse(*ORDINARY, **more)


# --- breakage -----------------------------------------------------------------------------------------


@given(jobs())
def test_margins_hang_together(job):
    b = job.breakage
    assert b.torque == pytest.approx(job.shear_at_breakage / truetorsion.true_torsion(job.tap).stress_per_torque)
    assert b.torque_range[0] <= b.torque <= b.torque_range[1]
    if job.torque_curve.peak == 0:
        return
    low, high = job.expected_torque.peak
    assert b.margin_range == pytest.approx((b.torque_range[0] / high, b.torque_range[1] / low))
    assert b.margin_range[0] <= b.margin_middle <= b.margin_range[1]
    assert b.margin_middle_worn == pytest.approx(b.margin_middle / 1.4)
    curve = job.torque_curve
    assert curve.at(b.weakest[0]) == pytest.approx(curve.peak)
    assert bool(b.cautions) == (b.torque < 2 * high)


def test_a_job_already_worn_is_not_worn_twice():
    fresh, worn = ordinary().breakage, ordinary(wear_factor=1.4).breakage
    assert worn.margin_middle_worn == pytest.approx(worn.margin_middle)
    assert worn.margin_range[0] < fresh.margin_range[0] / 1.4


def test_nothing_cut_never_breaks():
    idle = TorqueCurve(np.array([0.0, 1.0]), np.zeros(2))
    still = Operation.parse("M10 plug", "blind 8.5 x 0.8").expected_torque
    found = breakage(
        section=ordinary().section,
        true=truetorsion.true_torsion(ordinary().tap),
        curve=idle,
        expected=still,
        shear_at_breakage=1400,
    )
    assert math.isinf(found.margin_range[0])
    assert still.peak == (0, 0)
    assert "far above" in found.told()


def test_a_low_margin_is_told_with_its_range():
    weak = Operation.parse("M10x1.5 plug", "through 8.5 mm x 15 mm", "4140 40 HRC", wear_factor=1.5)
    assert any("may break" in c and "times the torque expected" in c for c in weak.cautions)


# --- side and axial forces ----------------------------------------------------------------------------


@given(st.floats(0.0, 1.0), st.floats(-10, 30))
def test_without_inclination_the_thrust_is_merchants(friction, rake):
    """Merchant 1945: F_t/F_c = tan(β − γ), β the friction angle."""
    flow = chip_flow(radial_rake=rake, axial_rake=0.0, chamfer_angle=1e-7)
    ratios = sideforce.force_ratios(friction, flow.vector, radial_rake=rake, axial_rake=0.0)
    assert -ratios[0] == pytest.approx(math.tan(math.atan(friction) - math.radians(rake)), abs=1e-6)
    assert ratios[1] == pytest.approx(1.0)
    assert ratios[2] == pytest.approx(0.0, abs=1e-6)


@given(jobs())
def test_flutes_add_up_to_the_teeth(job):
    angles = {k: v for k, v in job.edge_angles.items() if k != "chamfer_angle"}
    ratios = sideforce.force_ratios(job.chip_friction, job.chip_flow.vector, **angles)
    pull = job.tooth_loads.force
    whole = sideforce.flute_forces(pull, job.slices.flute, job.tap.flutes, ratios)
    assert whole[:, 1].sum() == pytest.approx(pull.sum())
    assert whole[:, 2].sum() == pytest.approx(job.axial_force, abs=1e-9)
    assert job.side_forces.resultant <= np.hypot(whole[:, 0], whole[:, 1]).sum() + 1e-9


def unbalance(job):
    """The side force over the cutting force of all teeth and its thrust."""
    angles = {k: v for k, v in job.edge_angles.items() if k != "chamfer_angle"}
    radial, against, _ = sideforce.force_ratios(job.chip_friction, job.chip_flow.vector, **angles)
    return job.side_forces.resultant / (np.hypot(radial, against) * job.tooth_loads.force.sum())


@pytest.mark.parametrize("flutes", range(2, 9))
def test_many_equal_teeth_on_each_flute_nearly_cancel_and_a_fault_does_not(flutes):
    tap = Tap.make("M20x2.5", chamfer=6.0, flutes=flutes)
    sound = Operation.parse(tap, "through 17.5 mm x 40 mm")
    out = unbalance(sound.with_(faults=Faults(chamfer_runout=0.05)))
    assert unbalance(sound) < 0.05
    assert out > 4 * unbalance(sound)
    assert out > 0.1


def test_the_high_side_of_a_runout_turns_the_side_force_with_it():
    def way(angle):
        tap = Tap.make("M20x2.5", chamfer=8.0, flutes=4)
        fault = Faults(chamfer_runout=0.05, chamfer_runout_angle=angle)
        s = Operation.parse(tap, "through 17.5 mm x 40 mm", faults=fault).side_forces
        return math.degrees(math.atan2(s.fy, s.fx))

    assert (way(90.0) - way(0.0)) % 360 == pytest.approx(90, abs=8)


def test_one_flute_has_nothing_opposite_it():
    assert unbalance(Operation.parse(Tap.make("M10x1.5", flutes=1), "through 8.5 mm x 15 mm")) == pytest.approx(1.0)


def test_axial_force_of_the_flute_forms():
    """Common practice (no source): a right-hand helix draws the tap in, a spiral point pushes back."""
    low, high = dict(chip_friction=0.3), dict(chip_friction=0.8)
    drawn = Operation.parse("M10x1.5 spiral-flute plug", "blind 8.5 mm x 25 mm")
    assert drawn.with_(**low).axial_force < drawn.with_(**high).axial_force < 0 < ordinary(**low).axial_force
    low_helix = Operation.parse(Tap.make("M10x1.5", "spiral-flute", axial_rake=5.0), "blind 8.5 mm x 25 mm")
    assert low_helix.with_(**low).axial_force < 0 < low_helix.with_(**high).axial_force


# --- duty ---------------------------------------------------------------------------------------------


@given(jobs())
def test_duty_is_the_work_of_the_torque_and_shares_add_up(job):
    """Force × path of all teeth is the work under the torque curve (but for the small rise of the helix)."""
    through = job.with_(hole=job.hole.with_(kind="through"))
    curve = through.torque_curve
    work = np.sum((curve.torque[1:] + curve.torque[:-1]) / 2 * np.diff(curve.depth)) * 2 * np.pi / job.tap.thread.pitch
    assert through.tooth_duty.work.sum() == pytest.approx(work, rel=0.02)
    alone = through.duty_against(through)
    assert alone.total_relative == pytest.approx(1)
    assert alone.hardest_relative == pytest.approx(1)


def test_a_bottoming_taps_hardest_tooth_works_about_twice_as_hard_as_a_plugs():
    """Common practice (no source): bottoming taps wear faster than plug taps."""
    found = Operation.parse("M10x1.5 bottoming", "through 8.5 mm x 15 mm", "C45").duty
    assert 1.6 < found.hardest_relative < 2.6
    assert str(found.reference) == "M10x1.5 straight-flute plug, 3 flutes"


def test_a_reference_that_cuts_nothing_is_refused():
    one = ordinary().tooth_duty
    idle = one._replace(work=np.zeros_like(one.work))
    with pytest.raises(ValueError, match="nothing can be compared"):
        duty.compare(one, idle, "an idle tap")


# --- by hand ------------------------------------------------------------------------------------------


def test_a_tap_wrench_divides_the_torque():
    found = ordinary(wrench_length=400.0).hand
    assert [f * 400 / 1000 for f in found.force_range] == pytest.approx(ordinary().expected_torque.peak)
    assert np.array(found.breaking_range) * 400 / 1000 == pytest.approx(ordinary().breakage.torque_range)


@pytest.mark.parametrize(("size", "length"), [("M3", 125), ("M8", 180), ("M10", 280), ("M30", 750), ("M36", 750)])
def test_usual_wrenches(size, length):
    """DIN 1814 sizes [memory]."""
    assert hand.usual_wrench(Tap.make(size).thread.major) == length


@given(jobs())
def test_half_a_turn_back_is_always_enough(job):
    if job.tap.flutes > 1:
        assert 0 < hand.least_turn_back(job.tap) < 0.5


@pytest.mark.parametrize("bad", [dict(wrench=5.0), dict(wrench=math.nan)])
def test_what_no_hand_can_do(bad):
    with pytest.raises(ValueError, match="outside"):
        hand.by_hand(tap=Tap.make("M10"), torque=(6, 9), breaking=(20, 30), **bad)


def test_hand_says_when_hands_are_too_strong_or_too_weak():
    small = Operation.parse("M3 plug", "through 2.5 mm x 4 mm", "brass")
    large = Operation.parse("M24 plug", "through 21 mm x 24 mm", "C45")
    assert "without noticing" in as_text(small, "metric")
    assert "strain" in as_text(large, "metric")
    iron = Operation.parse("M24 plug", "through 21 mm x 24 mm", "GG25")
    assert "not a jerk or a lean" in iron.hand.feel
    assert "springs" not in iron.hand.feel


# --- cautions -----------------------------------------------------------------------------------------


def test_an_ordinary_job_has_no_caution():
    assert ordinary().cautions == ()


@pytest.mark.parametrize(
    ("tap", "hole", "work", "more", "says"),
    [
        ("M10 plug", "through 8.2 x 15", "C45", {}, "under the smallest minor diameter"),
        ("M10 plug", "through 9.2 x 15", "C45", {}, "over the largest minor diameter"),
        ("M10 plug", "blind 8.5 x 7", "C45", {}, "no full thread is cut"),
        ("M10 spiral-point bottoming", "through 8.5 x 15", "C45", {}, "does not send its chips ahead"),
        ("M10 spiral-point plug", "blind 8.5 x 25", "C45", {}, "space below the point is full"),
        ("M6x0.5 taper", "through 5.5 x 10", "304", {}, "hardens where it is rubbed"),
        (
            "M10 plug",
            "through 8.5 x 15",
            "brass",
            dict(faults=Faults(missing_teeth=frozenset({4}))),
            "tooth 4 is missing",
        ),
        (
            "M10 plug",
            "through 8.5 x 15",
            "brass",
            dict(faults=Faults(missing_teeth=frozenset({4, 2}))),
            "teeth 2 and 4 are",
        ),
        ("M3 spiral-point plug", "through 2.5 x 5", "brass", {}, "friction leads"),
        ("M10 taper", "through 8.5 x 15", "brass", {}, "thinner than the 0.05"),
    ],
)
def test_cautions(tap, hole, work, more, says):
    found = [str(c) for c in Operation.parse(tap, hole, work, **more).cautions]
    assert any(says in c for c in found), found
    assert all("\n" not in str(c) and len(str(c)) < 330 for c in found)


def test_thick_chips_are_told_too():
    assert "thicker" in caution.of_thickness(np.array([3.0]), np.array([100.0]))[0]
    assert caution.of_thickness(np.array([3.0]), np.array([0.0])) == []
