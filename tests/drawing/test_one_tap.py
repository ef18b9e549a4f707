"""One tap, one shape: the section's closed formula, its outline, the end view and the skin have the same area; how far the
arcs that torsion takes differ from it is bounded."""

import math

import numpy as np
import pytest
from drawn import area, figure, fills
from hypothesis import example, given, settings
from hypothesis import strategies as st
from manifold3d import CrossSection, FillRule
from shapely.geometry import Point, Polygon
from strategies import THREADS

from tapkit import Tap
from tapkit.drawing import endview, style
from tapkit.geometry import section
from tapkit.geometry.fluteform import FLUTE_FORMS
from tapkit.geometry.skin import END, skin
from tapkit.geometry.solid import flute_shape, solid
from tapkit.mechanics import chiproom, truetorsion
from tapkit.mechanics.torsion import torsion

SPIRAL_POINT = Tap.parse("M10x1.5 spiral-point plug")


@st.composite
def practical(draw):
    """Taps of usual proportions: any listed thread from M3, form, chamfer, radial rake 0° to 15°."""
    thread = draw(st.sampled_from([t for t in THREADS if t.major >= 3]))
    chamfer, rake = draw(st.floats(1.0, 10.0)), draw(st.floats(0, 15))
    return Tap.make(thread, draw(st.sampled_from(FLUTE_FORMS)), chamfer, radial_rake=rake)


def cut(cells, z):
    """Area of the closed skin cut square to the axis at z [mm2], cell by cell: Green's theorem over the pieces of its
    triangles that cross z, each turned to have the metal on its left."""
    total, body = 0.0, cells.part != END  # the centre at the point is no part of the section
    for corners in ((0, 1, 3), (0, 3, 2)):
        p, n = cells.points[:, corners][..., body].astype(float), cells.normals[:, corners][..., body].mean(axis=1)
        above = p[2] > z
        crossing = above.any(axis=0) & ~above.all(axis=0)
        p, n, above = p[:, :, crossing], n[:, crossing], above[:, crossing]
        odd = np.argmax(above == (above.sum(axis=0) == 1), axis=0)
        row = np.arange(odd.size)
        one, others = p[:, odd, row], [p[:, (odd + k) % 3, row] for k in (1, 2)]
        a, b = (one + (other - one) * (z - one[2]) / (other[2] - one[2]) for other in others)
        left = (b[0] - a[0]) * n[1] - (b[1] - a[1]) * n[0] > 0  # the normal is on the left: turn it
        total += np.sum((a[0] * b[1] - a[1] * b[0]) * np.where(left, -1, 1)) / 2
    return total


@settings(max_examples=60)
@given(practical(), st.floats(0, 1))
def test_the_formula_of_the_area_is_that_of_the_outline(tap, share):
    """shapely: a fine polygon of the outline, behind the point and where it is ground back."""
    s = solid(tap)
    for z in (None, share * tap.chamfer_length):
        metal = Polygon(s.outline(z, nodes=200))
        assert metal.is_valid
        assert s.area(z) == pytest.approx(metal.area, rel=2e-3)
    bore = tap.thread.major - 1.2 * tap.thread.pitch
    disc, metal = Point(0, 0).buffer(bore / 2, quad_segs=256), Polygon(s.outline(nodes=200))
    assert chiproom.flute_room_per_mm(tap, bore) == pytest.approx(disc.difference(metal).area, rel=2e-3)


@settings(max_examples=60)
@given(practical(), st.floats(0.0, 1.0))
def test_the_skin_cut_across_is_the_section_with_its_thread(tap, share):
    """manifold3d: the polygon of the section with thread, chamfer and relief, at any height of the tap; the first rows of
    cells from the point are longer."""
    s = solid(tap)
    z = (0.02 + 0.9 * share) * s.blank.thread_end
    wanted = CrossSection([s.outline(z, threaded=True, nodes=30)], FillRule.Positive).area()
    assert cut(skin(tap), z) == pytest.approx(wanted, rel=5e-3 if z > 2 * tap.thread.pitch else 2e-2)


@settings(max_examples=40)
@given(practical())
def test_the_end_view_draws_that_section(tap):
    _, ax = figure((8.96, 4.4))
    endview.draw_endview(ax, tap)
    (body, *_) = fills(ax, style.STEEL, 1)
    scale = np.ptp(body[:, 0]) / np.ptp(solid(tap).outline(turn=math.pi / 2 + math.pi / tap.flutes)[:, 0])
    assert area(body) / scale**2 == pytest.approx(solid(tap).area(), rel=5e-3)


def test_one_spiral_point_tap_has_one_area():
    """What stood at 36.95, 35.54 and 38.41 mm2 for the end view, the skin and torsion."""
    s = solid(SPIRAL_POINT)
    assert s.area() == pytest.approx(Polygon(s.outline()).area, rel=5e-3)
    shape = flute_shape(radial_rake=10.0, pitch=1.5, **section.measures(SPIRAL_POINT))
    assert s.area() == pytest.approx(math.pi * 25 - 3 * float(shape.area()), rel=1e-12)


def test_many_flutes_at_once_are_those_of_single_taps():
    taps = [
        Tap.make(t, flutes=z, radial_rake=r) for t in ("M3", "M10", "1/4-20") for z in (2, 3, 4) for r in (0, 10, 20)
    ]
    columns = dict(
        diameter=[t.thread.major for t in taps], core=[t.core_diameter for t in taps], pitch=[t.thread.pitch for t in taps],
        land=[t.land_width for t in taps], flutes=[t.flutes for t in taps], radial_rake=[t.radial_rake for t in taps],
    )  # fmt: skip
    room = flute_shape(**columns).area()
    assert room == pytest.approx([float(solid(t).flute.area()) for t in taps], rel=1e-12)


# --- what torsion leaves out -----------------------------------------------------------------------------


@given(practical())
@example(Tap.make("M40x2", "spiral-flute", radial_rake=0.0))
@example(Tap.make("#6-32 UNC", "spiral-point", radial_rake=15.0))
def test_the_arcs_of_torsion_have_nearly_the_area(tap):
    """Both sides of a flute an arc, against a face at its rake with a fillet: 4 % less to 19 % more area."""
    assert 0.96 < Polygon(section.tap_outline(tap, flute_points=201)).area / solid(tap).area() < 1.19


@pytest.mark.parametrize("rake", [0, 10, 15])
@pytest.mark.parametrize("name", ["M3", "M4 spiral-point", "M6", "M10 spiral-point", "M10 spiral-flute", "M20", "M36"])
def test_the_arcs_of_torsion_are_stiffer_than_the_true_outline(name, rake):
    """The more rake and the fewer flutes, the further off; that of the true outline is held against finite elements in
    tests/mechanics/test_truetorsion.py."""
    tap = Tap.parse(name, radial_rake=rake)
    stiffer = float(torsion(**section.measures(tap)).J) / truetorsion.true_torsion(tap).J
    assert 1.0 < stiffer < {0: 1.15, 10: 1.45, 15: 1.55}[rake] + (0.25 if tap.flutes == 2 else 0.0)
