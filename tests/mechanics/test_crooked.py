"""A crooked start: what it may never do, and oracles of another kind."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon, box
from strategies import jobs

from tapkit import Faults, Hole, Operation, Tap
from tapkit.mechanics import crooked, feed, truetorsion
from tapkit.mechanics.toothload import tooth_slices

JOB = Operation.parse("M10x1.5 plug", "through 8.5 mm x 15 mm", "C45")


@given(jobs(), st.floats(0, 3), st.floats(0.05, 2), st.sampled_from(feed.holders()))
def test_a_crooked_start_never_raises_the_margin(job, tilt, more, holder):
    once, worse = (job.with_(tilt=t, holder=holder).breakage for t in (tilt, tilt + more))
    assert worse.margin_middle <= once.margin_middle <= job.breakage.margin_middle
    assert worse.torque_range[0] <= once.torque_range[0] <= job.breakage.torque_range[0]


def test_a_rigid_holder_bends_most_and_a_float_not_at_all():
    rigid, hand, free = (JOB.with_(tilt=1.0, holder=h) for h in ("rigid", "hand", "float"))
    assert rigid.bending_stress > hand.bending_stress > free.bending_stress == 0
    margins = [job.breakage.margin_range[0] for job in (rigid, hand, free, JOB)]
    assert margins[0] < margins[1] < margins[2] == margins[3]


def test_bending_moment_against_a_beam_in_finite_differences():
    """E I w⁗ = 0 with w(0) = w'(0) = 0, w(L) = L tan θ and no moment at the end, solved on a grid."""
    length, d, modulus, tilt, n = 50.0, 8.0, 220e3, 1.0, 400
    h, stiff = length / n, modulus * math.pi * d**4 / 64
    rows, right = np.zeros((n + 3, n + 3)), np.zeros(n + 3)  # nodes −1 … n + 1
    for i in range(2, n + 1):
        rows[i, i - 2 : i + 3] = (1, -4, 6, -4, 1)
    rows[0, 1], rows[1, [0, 2]] = 1, (-1, 1)
    rows[n + 1, n + 1], right[n + 1] = 1, length * math.radians(tilt)
    rows[n + 2, n : n + 3] = (1, -2, 1)
    w = np.linalg.solve(rows, right)
    moment = stiff * (w[0] - 2 * w[1] + w[2]) / h**2 / 1000
    assert crooked.bending_moment(tilt=tilt, diameter=d, length=length, modulus=modulus) == pytest.approx(
        moment, rel=2e-3
    )


def test_torsion_and_bending_by_the_circle_of_mohr():
    """Half the difference of the principal stresses, from the eigenvalues of the stress tensor."""
    shear, bending = 310.0, 640.0
    principal = np.linalg.eigvalsh([[bending, shear], [shear, 0.0]])
    assert np.hypot(shear, bending / 2) == pytest.approx((principal[1] - principal[0]) / 2)
    job = JOB.with_(tilt=1.3)
    at_break = job.breakage.torque * truetorsion.true_torsion(job.tap).stress_per_torque
    assert np.hypot(at_break, job.bending_stress / 2) == pytest.approx(job.shear_at_breakage)


def test_least_and_most_of_a_tooth_by_polygons_of_two_shifted_holes():
    """Another kernel: the tooth's polygon less the hole moved to either side, as it lies at that tooth's depth."""
    job = JOB.with_(tilt=0.3)
    tap, found = job.tap, job.crooked
    slope, p = math.tan(math.radians(tap.chamfer_angle)), tap.thread.pitch
    lean = math.tan(math.radians(0.3))
    foot = 5 - (p / 2 - p / 16) * math.sqrt(3)
    vee = Polygon([(-p / 2, 0), (-p / 2, foot), (-p / 16, 5), (p / 16, 5), (p / 2, foot), (p / 2, 0)])
    for k in range(3):
        z = (1 + k) * tap.tooth_spacing
        areas = []
        for side in (1, -1):
            bore = 4.25 + side * (found.depth - z) * lean
            gone = box(-p, 0, p, bore)
            for j in range(k + 1):
                start = tap.point_diameter / 2 + (1 + j) * tap.tooth_spacing * slope
                cut = vee.intersection(Polygon([(-p, -9), (-p, start - p * slope), (p, start + p * slope), (p, -9)]))
                area, gone = cut.difference(gone).area, gone.union(cut)
            areas.append(area)
        assert (found.least[k], found.most[k]) == pytest.approx((min(areas), max(areas)), abs=1e-9)


def test_the_mean_of_a_turn_is_unchanged_to_first_order():
    """Halving a small tilt leaves a quarter of what the mean is off."""
    sound = JOB.slices.area
    off = []
    for tilt in (0.02, 0.01):
        mean = JOB.with_(tilt=tilt).crooked.mean
        off.append(np.abs(mean[: len(sound)] - sound).max())
    assert off[0] < 1e-4
    assert off[1] <= 0.3 * off[0] + 1e-12


def test_without_tilt_nothing_changes():
    assert JOB.crooked.least == pytest.approx(JOB.slices.area)
    assert JOB.crooked.most == pytest.approx(JOB.slices.area)
    assert JOB.crooked.percent == pytest.approx((JOB.tap.thread.percent(8.5),) * 2)
    assert JOB.crooked.side_force == pytest.approx(JOB.side_forces.resultant)
    assert JOB.cautions == JOB.with_(holder="float").cautions


@pytest.mark.parametrize("holder", feed.holders())
def test_it_is_told_in_both_systems(holder):
    told = JOB.with_(tilt=1.0, holder=holder).crooked.sentence
    assert "1° askew" in told.said()
    assert "lbf" in told.said("inch")


@pytest.mark.parametrize(
    ("tilt", "holder", "says"), [(9.0, "rigid", "outside 0° to 5°"), (1.0, "vice", "not a holder")]
)
def test_what_cannot_be(tilt, holder, says):
    with pytest.raises(ValueError, match=says):
        JOB.with_(tilt=tilt, holder=holder)


def test_a_tooth_that_does_not_exist_cannot_be_lost():
    with pytest.raises(ValueError, match="tooth 900 cannot be missing"):
        JOB.with_(faults=Faults(missing_teeth={900}))
    assert JOB.with_(faults=Faults(missing_teeth={20})).slices.area == pytest.approx(JOB.slices.area)


def test_runout_is_what_the_dial_reads():
    """A tap that turns about an axis e off its own reaches e further on its high side: the dial shows 2 e."""
    tap, hole = Tap.make("M10x1.5", chamfer=4.0), Hole.parse("through 8.5 mm x 15 mm")
    out = Faults(runout=0.04)
    assert out.eccentricity == 0.02
    wide = tooth_slices(tap, hole, out).area.sum() - tooth_slices(tap, hole).area.sum()
    assert wide == pytest.approx(0.02 * (1.5 / 8 + 2 * 0.75 / math.sqrt(3)), rel=0.15)
