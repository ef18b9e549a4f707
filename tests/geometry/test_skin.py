"""The skin against the solid it should bound: every cell lies on it, faces out, and all of them close."""

import numpy as np
import pytest
from drawn import is_metal
from hypothesis import given, settings
from strategies import fitting

from tapkit import Tap
from tapkit.geometry.skin import BLANK, END, FACE, LAND, skin
from tapkit.geometry.solid import solid

NAMES = (
    "M10x1.5 straight taper",
    "M10x1.5 spiral-point plug",
    "M10x1.5 spiral-flute bottoming",
    "M10x1.5 left-hand-flute plug",
    "M3 plug",
    "M24 plug",
    "M8x1-LH spiral-flute plug",
)
taps = pytest.mark.parametrize("tap", [Tap.parse(n) for n in NAMES], ids=NAMES)


def area_vectors(s):
    """Area of each cell as a vector out of the metal, (3, cells); two triangles a cell."""
    p = s.points.astype(float)
    a = (
        np.cross(p[:, 1] - p[:, 0], p[:, 3] - p[:, 0], axis=0) + np.cross(p[:, 3] - p[:, 0], p[:, 2] - p[:, 0], axis=0)
    ) / 2
    side = np.sign((a * s.normals.mean(axis=1)).sum(axis=0))
    return a * side


def polar(points, hand):
    side = -1.0 if hand == "right" else 1.0
    return np.hypot(points[0], points[1]), np.arctan2(side * points[1], points[0]), points[2]


@taps
def test_metal_on_one_side_and_none_on_the_other(tap):
    s, shape = skin(tap), solid(tap)
    weight = np.linalg.norm(area_vectors(s), axis=0)
    n = s.normals.mean(axis=1)
    middle = s.points.mean(axis=1)
    tested = (s.part != END) & (weight > 1e-3 * weight.max())
    for step, wanted in ((-0.01, True), (0.01, False)):
        metal = is_metal(shape, *polar(middle + step * shape.outer * n, tap.thread.hand))
        right = (weight * (metal == wanted))[tested].sum() / weight[tested].sum()
        assert right > 0.985


@taps
def test_all_cells_close(tap):
    """The areas of a closed surface add to nothing, as vectors (divergence theorem)."""
    a = area_vectors(skin(tap))
    assert np.linalg.norm(a.sum(axis=1)) < 2e-3 * np.linalg.norm(a, axis=0).sum()


@taps
def test_volume_is_that_of_the_solid(tap):
    """By the divergence theorem, against counting metal on a fine grid of the solid."""
    s, shape = skin(tap), solid(tap)
    volume = 0.0
    for a, b, c in ((0, 1, 3), (0, 3, 2)):
        p, q, r = (s.points[:, i].astype(float) for i in (a, b, c))
        area = np.cross(q - p, r - p, axis=0) / 2
        side = np.sign((area_vectors(s) * area).sum(axis=0))
        volume += (side * (area * (p + q + r) / 3).sum(axis=0)).sum() / 3
    b = shape.blank
    rng = np.random.default_rng(1)
    top = max(shape.outer, b.shank_radius)
    r = top * np.sqrt(rng.random(1_500_000))
    metal = is_metal(shape, r, 2 * np.pi * rng.random(r.size), b.shank_end * rng.random(r.size))
    expected = metal.mean() * np.pi * top**2 * b.shank_end + np.pi / 3 * b.centre_radius**2 * b.centre_height
    assert volume == pytest.approx(expected, rel=6e-3)


@taps
def test_normals_belong_to_their_cells(tap):
    s = skin(tap)
    a = area_vectors(s)
    size = np.linalg.norm(a, axis=0)
    n = s.normals.mean(axis=1)
    agree = (a * n).sum(axis=0) / np.maximum(size * np.linalg.norm(n, axis=0), 1e-12)
    assert (size * (agree > 0.97)).sum() / size.sum() > 0.99


def test_a_left_hand_tap_is_the_mirror_image():
    right, left = skin(Tap.parse("M10 spiral-flute plug")), skin(Tap.parse("M10-LH spiral-flute plug"))
    for a, b in ((right.points, left.points), (right.normals, left.normals)):
        assert a[0] == pytest.approx(b[0], abs=1e-5)
        assert a[1] == pytest.approx(-b[1], abs=1e-5)
        assert a[2] == pytest.approx(b[2], abs=1e-5)


def test_only_teeth_that_cut_are_fully_tinted():
    tap = Tap.parse("M10 plug")
    s = skin(tap)
    tint, z = s.marks[3], s.marks[4]
    assert (tint[:, s.part != FACE] == 0).all()
    assert tint[:, s.part == FACE][z[:, s.part == FACE] < tap.chamfer_length] == pytest.approx(1)
    assert tint[:, s.part == FACE].min() < 0.35
    assert {int(p) for p in np.unique(s.part)} == {LAND, FACE, 2, END, BLANK}


@settings(max_examples=40)
@given(fitting())
def test_any_tap_has_a_closed_skin(pair):
    tap, _ = pair
    s = skin(tap)
    for field in s[:4]:
        assert np.isfinite(field).all()
    a = area_vectors(s)
    assert np.linalg.norm(a.sum(axis=1)) < 1e-2 * np.linalg.norm(a, axis=0).sum()
