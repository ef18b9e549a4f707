"""The tap's surface against values worked out elsewhere: thread profile, chamfer cone, core, land, face and teeth."""

import math

import numpy as np
import pytest
from hypothesis import example, given
from strategies import fitting

from tapkit import Tap
from tapkit.geometry import section
from tapkit.geometry.solid import FluteShape, cartesian, finish, solid
from tapkit.mechanics.chipflow import face_normal
from tapkit.mechanics.toothload import tooth_outline

NAMES = (
    "M10x1.5 straight taper",
    "M10x1.5 spiral-point plug",
    "M10x1.5 spiral-flute bottoming",
    "M10x1.5 left-hand-flute plug",
    "M3 plug",
    "M24 plug",
    "1/4-20 plug",
    "M8x1-LH spiral-point plug",
)
taps = pytest.mark.parametrize("tap", [Tap.parse(n) for n in NAMES], ids=NAMES)


def just_behind_edge(s, flute, z, r=None):
    """Angle a hair behind the cutting edge of a flute."""
    return s.edge(flute, s.outer if r is None else r, z) - 1e-7


@taps
def test_crest_of_a_full_tooth_is_the_major_radius(tap):
    s = solid(tap)
    k = np.arange(s.chamfer_teeth + 2 * tap.flutes, s.chamfer_teeth + 6 * tap.flutes)
    _, _, angle, z = s.tooth(k)
    assert solid(tap).radius(angle - 1e-7, z) == pytest.approx(tap.thread.major / 2, abs=1e-9)


@taps
@pytest.mark.parametrize("share", [0.2, 0.5, 0.8])
def test_ridge_is_as_wide_as_the_groove_of_the_thread(tap, share):
    """Along a cutting edge the metal reaches past a radius over just the width `Thread.groove_width` gives there."""
    s, thread = solid(tap), tap.thread
    r = thread.major / 2 - share * (thread.major - thread.minor_diameter) / 2
    _, _, _, middle = s.tooth(s.chamfer_teeth + 3 * tap.flutes)
    z = middle + np.linspace(-0.5, 0.5, 20001) * thread.pitch
    inside = solid(tap).radius(just_behind_edge(s, (s.chamfer_teeth + 3 * tap.flutes - 1) % tap.flutes, z, r), z) >= r
    along_axis = inside.mean() * thread.pitch
    slant = 1 - thread.pitch * s.twist / (2 * math.pi)  # a helical edge meets the ridge over a longer piece
    assert along_axis * slant == pytest.approx(thread.groove_width(r), rel=3e-3)


@taps
def test_root_clears_the_minor_diameter_of_the_thread(tap):
    s = solid(tap)
    assert s.root < tap.thread.minor_diameter / 2
    assert s.root == pytest.approx(tap.thread.major / 2 - finish("root_depth") * math.sqrt(3) / 2 * tap.thread.pitch)


@taps
def test_chamfer_cone_cuts_the_crests_off(tap):
    s = solid(tap)
    z = np.linspace(0.0, tap.chamfer_length, 300)
    for flute in range(tap.flutes):
        cone = tap.point_diameter / 2 + z * (tap.thread.major - tap.point_diameter) / (2 * tap.chamfer_length)
        angle = s.edge(flute, cone, z)
        x = (z - s.ridge(angle) + tap.thread.pitch / 2) % tap.thread.pitch - tap.thread.pitch / 2
        whole = np.maximum(tooth_outline(x, tap.thread), s.root)
        r = np.minimum(cone, whole)
        found = solid(tap).radius(s.edge(flute, r, z) - 4e-3, z)
        assert found == pytest.approx(r, abs=4e-3 * tap.thread.major)
        assert (found <= cone + 1e-6).all()


@taps
def test_flutes_touch_the_core_circle_and_no_deeper(tap):
    s = solid(tap)
    angle = np.linspace(0, 2 * math.pi, 7201)
    for z in (0.1, 0.5 * tap.chamfer_length, s.blank.thread_end * 0.9):
        assert solid(tap).radius(angle, z).min() == pytest.approx(tap.core_diameter / 2, rel=1e-5)


@taps
def test_lands_are_as_wide_as_the_tap_says(tap):
    """Chord from edge to heel at the major diameter, from where the metal ends on a fine scan of one turn."""
    s = solid(tap)
    z = s.tooth(s.chamfer_teeth + 4 * tap.flutes)[3]
    angle = np.linspace(0, 2 * math.pi, 200001)
    z_all = z + 0 * angle  # on the flanks of other lands the radius is lower, so take what is not in a flute
    full = ~s.is_open(s.outer * (1 - 1e-9), angle, z_all)
    assert full.mean() * 2 * math.pi / tap.flutes == pytest.approx(
        2 * math.asin(tap.land_width / tap.thread.major), rel=1e-3
    )


@taps
def test_back_of_a_flute_is_the_arc_of_the_section(tap):
    """Against `geometry.section`, which draws the same arc by its curvature."""
    shape = solid(tap).flute
    assert shape.bottom_end == 0
    arc = section.flute(diameter=tap.thread.major, core=tap.core_diameter, land=tap.land_width, flutes=tap.flutes)
    x, y = arc.at(np.linspace(0, arc.half_length, 50))
    assert shape.heel(np.hypot(x, y)) == pytest.approx(np.arctan2(y, x), abs=1e-6)


@taps
def test_face_has_radial_and_axial_rake_at_the_edge(tap):
    """Normal from differences of the face itself, against the vector the mechanics uses."""
    s, z, h = solid(tap), 0.4 * tap.chamfer_length, 1e-6
    along_r = (s.edge(0, s.outer, z) - s.edge(0, s.outer - h, z)) / h
    along_z = (s.edge(0, s.outer, z + h) - s.edge(0, s.outer, z - h)) / (2 * h)
    n = np.array([-s.outer * along_r, 1.0, -s.outer * along_z])
    expected = face_normal(radial_rake=tap.radial_rake, axial_rake=tap.axial_rake)
    assert n / np.linalg.norm(n) == pytest.approx(expected, abs=1e-4)


@taps
def test_normals_of_face_and_back_are_square_to_them(tap):
    shape = solid(tap).flute
    for curve, normal in ((shape.face, shape.face_normal), (shape.heel, shape.heel_normal)):
        r = np.linspace(shape.core * 1.001, shape.outer, 200)
        r = r[np.abs(r - shape.face_end) > 1e-3]
        slope = (curve(r + 1e-7) - curve(r - 1e-7)) / 2e-7
        out, fore = normal(r)
        assert np.hypot(out, fore) == pytest.approx(1, abs=1e-9)
        tangent = np.hypot(1, r * slope)
        assert (out + fore * r * slope) / tangent == pytest.approx(0, abs=1e-4)


@pytest.mark.parametrize("rake", [-15, -5, 0, 10, 20, 35])
@pytest.mark.parametrize("flutes", range(1, 9))
def test_flute_shape_closes_for_any_rake_and_number(rake, flutes):
    try:
        tap = Tap.make("M10", flutes=flutes, radial_rake=rake)
    except ValueError:
        pytest.skip("cannot be ground")
    shape = solid(tap).flute
    r = np.linspace(shape.core, shape.outer, 400)
    face, heel = shape.face(r), shape.heel(r)
    assert isinstance(shape, FluteShape)
    assert np.isfinite(face).all()
    assert np.isfinite(heel).all()
    assert (heel - face >= -1e-9).all()
    assert face[-1] == pytest.approx(-shape.half_angle)
    assert heel[-1] == pytest.approx(shape.half_angle)
    assert np.abs(np.diff(face)).max() < 0.25, "the face has no jump"
    assert (face + 2 * math.pi / flutes - heel > 0.02).all(), "some land is left at every radius"


@taps
def test_teeth_stand_on_the_ridge_and_on_their_edge(tap):
    s = solid(tap)
    k = np.arange(1, 4 * tap.flutes)
    flute, _r, angle, z = s.tooth(k)
    off = (z - s.ridge(s.edge(flute, s.outer, z)) + tap.thread.pitch / 2) % tap.thread.pitch - tap.thread.pitch / 2
    assert off == pytest.approx(0, abs=1e-6)
    assert (flute == (k - 1) % tap.flutes).all()
    assert angle == pytest.approx(s.edge(flute, _r, z))
    assert z[0] == pytest.approx(tap.thread.pitch / tap.flutes, abs=1e-6)
    if tap.axial_rake == 0:
        assert np.diff(z) == pytest.approx(tap.tooth_spacing)


def test_spiral_point_is_ground_back_over_chamfer_and_one_thread():
    tap = Tap.parse("M10x1.5 spiral-point plug")
    s = solid(tap)
    assert s.gash_end == pytest.approx((tap.chamfer_threads + 1) * tap.thread.pitch)
    back = (s.edge(0, s.outer, s.gash_end) - s.edge(0, s.outer, 0.0)) * s.outer
    assert back == pytest.approx(s.gash_end * math.tan(math.radians(12)))
    assert s.edge(0, s.outer, s.gash_end + 3) == pytest.approx(s.edge(0, s.outer, s.gash_end))


def test_spiral_point_leaves_land_even_where_the_gash_would_take_it():
    tap = Tap.make("M10x1.5", "spiral-point", 10.0, axial_rake=-20.0)
    s = solid(tap)
    left = s.edge(0, s.outer, 0.0) - s.heel(0, s.outer, 0.0)
    assert left == pytest.approx(finish("gash_land_left") * s.land_angle)


def test_helix_turns_a_quarter_in_a_quarter_of_its_lead():
    tap = Tap.parse("M10x1.5 spiral-flute plug")
    s = solid(tap)
    lead = math.pi * 10 / math.tan(math.radians(tap.axial_rake))
    assert 1.0 + lead / 4 < s.blank.flute_end
    assert s.edge(0, 4.5, 1.0) - s.edge(0, 4.5, 1.0 + lead / 4) == pytest.approx(math.pi / 2)


def test_hand_mirrors_points():
    right = cartesian(2.0, math.cos(0.3), math.sin(0.3), 1.0, "right")
    left = cartesian(2.0, math.cos(0.3), math.sin(0.3), 1.0, "left")
    assert right * [1, -1, 1] == pytest.approx(left)


def test_right_hand_thread_rises_the_right_way():
    """On a right-hand screw with z up, going counter-clockwise seen from above climbs."""
    s = solid(Tap.parse("M10"))
    x0, x1 = (cartesian(5, math.cos(a), math.sin(a), s.ridge(a)) for a in (0.0, -0.1))
    counter_clockwise = x0[0] * x1[1] - x0[1] * x1[0] > 0
    assert counter_clockwise
    assert x1[2] > x0[2]


MANY = Tap.make(
    "M1.6x0.35", "left-hand-flute", 2.0, flutes=8, radial_rake=0.0, axial_rake=-37.0, point_diameter=1.5822265625
)
"""Eight flutes in so small a tap: lands narrow, flutes wide and shallow, once relieved below the core."""


@given(fitting().map(lambda pair: pair[0]))
@example(MANY)
def test_any_tap_has_a_surface_between_core_and_major(tap):
    s = solid(tap)
    angle = np.linspace(0, 2 * math.pi, 181)[:, None]
    r = solid(tap).radius(angle, np.linspace(0.0, s.blank.thread_end * 0.99, 25)[None, :])
    assert np.isfinite(r).all()
    assert (r <= tap.thread.major / 2 + 1e-9).all()
    assert (r >= min(tap.core_diameter, tap.point_diameter) / 2 * 0.85).all()
