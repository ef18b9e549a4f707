"""Tool angles and chip flow: against vectors, limits, and what the trade knows of flute forms."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import jobs

from tapkit import Operation, Tap
from tapkit.mechanics import chipflow, colwell, rake
from tapkit.mechanics.toothload import engaged_ends

angles = st.fixed_dictionaries(
    dict(radial_rake=st.floats(-10, 30), axial_rake=st.floats(-50, 50), chamfer_angle=st.floats(1, 60))
)


@given(angles)
def test_angles_by_planes_and_vectors(given_):
    """Inclination: angle of the edge to the plane square to the cut. Normal rake: in the plane square to the edge."""
    normal, edge = (
        chipflow.face_normal(radial_rake=given_["radial_rake"], axial_rake=given_["axial_rake"]),
        chipflow.chamfer_edge(**given_),
    )
    cut = np.array([0.0, 1.0, 0.0])
    assert normal @ edge == pytest.approx(0, abs=1e-12)
    assert math.degrees(math.asin(edge @ cut)) == pytest.approx(rake.inclination(**given_), abs=1e-9)
    across = cut - (cut @ edge) * edge  # the cut, seen in the plane square to the edge
    between = math.acos(min(1.0, normal @ across / np.linalg.norm(across)))
    assert math.degrees(between) == pytest.approx(abs(float(rake.normal_rake(**given_))), abs=1e-5)


@given(angles)
def test_the_chip_stays_in_the_face_and_leaves_inward(given_):
    flow = chipflow.chip_flow(**given_)
    normal = chipflow.face_normal(radial_rake=given_["radial_rake"], axial_rake=given_["axial_rake"])
    assert np.linalg.norm(flow.vector) == pytest.approx(1)
    assert normal @ np.array(flow.vector) == pytest.approx(0, abs=1e-12)
    inward = chipflow.across_face(**given_) @ np.array(flow.vector)
    assert math.degrees(math.acos(min(1.0, inward))) == pytest.approx(abs(flow.inclination), abs=1e-5)


@given(angles)
def test_on_the_plain_cylinder_the_inclination_is_the_axial_rake(given_):
    flat = given_ | dict(chamfer_angle=0.0)
    assert rake.inclination(**flat) == pytest.approx(-given_["axial_rake"], abs=1e-9)
    assert rake.orthogonal_rake(**flat) == pytest.approx(given_["radial_rake"], abs=1e-9)


@given(st.floats(-10, 30), st.floats(1, 60))
def test_at_the_neutral_axial_rake_the_edge_is_square_to_the_cut(radial, chamfer):
    neutral = rake.neutral_axial_rake(radial_rake=radial, chamfer_angle=chamfer)
    assert rake.inclination(radial_rake=radial, axial_rake=neutral, chamfer_angle=chamfer) == pytest.approx(0, abs=1e-9)


@given(angles)
def test_arrays_give_what_floats_give(given_):
    three = {k: np.full(3, v) for k, v in given_.items()}
    for f in (rake.inclination, rake.orthogonal_rake, rake.normal_rake):
        assert f(**three) == pytest.approx([float(f(**given_))] * 3)


@pytest.mark.parametrize(
    ("form", "chamfer", "goes"),
    [
        ("spiral-point", "plug", chipflow.AHEAD),
        ("left-hand-flute", "taper", chipflow.AHEAD),
        ("spiral-flute", "plug", chipflow.TO_SHANK),
        ("spiral-flute", "bottoming", chipflow.TO_SHANK),
        ("straight", "plug", chipflow.UNDECIDED),
        ("straight", "taper", chipflow.UNDECIDED),
        ("spiral-point", "bottoming", chipflow.UNDECIDED),
    ],
)
def test_where_the_trade_sends_the_chips(form, chamfer, goes):
    """Common practice (no source) for the first six; DIN 2197 pairs a spiral point with form B only."""
    job = Operation.parse(Tap.make("M10x1.5", form, chamfer), "through 8.5 mm x 15 mm")
    assert job.chip_flow.direction == goes


@pytest.mark.parametrize("band", [2.0, 5.0, 10.0])
def test_the_band_is_editable(band):
    words = [chipflow.direction_in_words(x, -1.0, band) for x in (band - 0.1, band, band + 0.1)]
    assert words == [chipflow.UNDECIDED, chipflow.AHEAD, chipflow.AHEAD]


# --- Colwell's chord ----------------------------------------------------------------------------------


@given(angles)
def test_colwell_seen_along_the_cut_is_square_to_the_chord(given_):
    for chord in (0.0, given_["chamfer_angle"], 40.0):
        eta = colwell.colwell_angle(chord_angle=chord, **given_)
        chip = chipflow.chip_vector(eta, **given_)
        along = np.array([math.sin(math.radians(chord)), math.cos(math.radians(chord))])
        assert chip[[0, 2]] @ along == pytest.approx(0, abs=1e-9)
        assert chip[0] < 0


@given(st.floats(1, 60))
def test_both_rules_agree_without_rake_and_inclination(chamfer):
    plain = dict(radial_rake=0.0, axial_rake=0.0, chamfer_angle=chamfer)
    two = colwell.colwell_chip_flow(chord_angle=chamfer, band=5, **plain)
    assert colwell.angle_between(chipflow.chip_flow(**plain), two) == pytest.approx(0, abs=1e-4)


def test_chords_of_full_teeth_lie_along_the_chamfer_and_of_the_first_along_the_axis():
    tap = Tap.make("M10x1.5", chamfer=6.0)
    job = Operation.parse(tap, "through 8.5 mm x 15 mm")
    angles_ = colwell.chord_angles(engaged_ends(job.tap, job.hole))
    cutting = np.flatnonzero(job.slices.area > 0)
    assert angles_[cutting[0]] == pytest.approx(0, abs=1e-9)
    assert angles_[cutting[6]] == pytest.approx(tap.chamfer_angle, abs=1e-9)


@given(jobs(faulty=True))
def test_the_mean_chord_lies_between_axis_and_flank(job):
    flow = job.chip_flow_colwell
    assert -90 <= flow.axial_angle <= 90
    assert flow.band == job.undecided_band
