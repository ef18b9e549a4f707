"""Torsion of the true outline against finite elements on the same outline (sectionproperties), over usual taps."""

import numpy as np
import pytest
from sectionproperties.analysis import Section
from sectionproperties.pre import Geometry
from shapely import remove_repeated_points
from shapely.geometry import Polygon

from tapkit import Operation, Tap
from tapkit.geometry import section
from tapkit.geometry.solid import solid
from tapkit.mechanics import truetorsion
from tapkit.mechanics.torsion import torsion

GRID = [
    ("M3", 0),
    ("M4 spiral-point", 10),
    ("M6", 15),
    ("M10 spiral-point", 10),
    ("M20", 5),
    ("1/4-20", 12),
    ("M36", 15),
]


def by_elements(tap):
    """J [mm4] and peak shear [MPa per N·m] of the outline without its thread."""
    outline = remove_repeated_points(Polygon(solid(tap).outline(nodes=24)), 1e-6)  # the mesher falls over them
    shape = Geometry(outline)
    shape.create_mesh(mesh_sizes=[outline.area / 2000])
    found = Section(shape)
    found.calculate_geometric_properties()
    found.calculate_warping_properties()
    stress = found.calculate_stress(mzz=1000.0).get_stress()[0]
    return found.get_j(), float(np.max(stress["sig_zxy_mzz"]))


@pytest.mark.parametrize(("name", "rake"), GRID)
def test_both_agree_with_finite_elements(name, rake):
    tap = Tap.parse(name, radial_rake=rake)
    J, stress = by_elements(tap)
    ours = truetorsion.true_torsion(tap)
    assert pytest.approx(J, rel=3e-3) == ours.J
    assert ours.stress_per_torque == pytest.approx(stress, rel=5e-3)


@pytest.mark.parametrize("thin", [0.8, 1.25])
def test_cores_thinner_and_thicker_than_usual(thin):
    tap = Tap.parse("M10", radial_rake=10)
    tap = tap.with_(core_diameter=thin * tap.core_diameter)
    J, stress = by_elements(tap)
    ours = truetorsion.true_torsion(tap)
    assert (ours.J, ours.stress_per_torque) == (pytest.approx(J, rel=3e-3), pytest.approx(stress, rel=5e-3))


def test_a_fillet_past_the_middle_of_its_flute():
    """A face that leans back before wide lands: the back begins where the fillet ends."""
    tap = Tap.make("M10", flutes=3, core_diameter=2.25, land_width=4.2, radial_rake=-5)
    assert solid(tap).flute.bottom_start > 0
    J, stress = by_elements(tap)
    ours = truetorsion.true_torsion(tap)
    assert (ours.J, ours.stress_per_torque) == (pytest.approx(J, rel=2e-2), pytest.approx(stress, rel=3e-2))


def test_the_tap_breaks_as_the_true_outline_does_and_the_arcs_are_the_high_end():
    """Arcs bear more: by up to a third with three flutes at 15°, two thirds with two flutes."""
    for name, rake in GRID:
        tap = Tap.parse(name, radial_rake=rake)
        arcs, true = float(torsion(**section.measures(tap)).stress_per_torque), truetorsion.true_torsion(tap)
        assert 1.0 < true.stress_per_torque / arcs < (1.75 if tap.flutes == 2 else 1.4)
    job = Operation.parse("M10x1.5 straight plug", "through 8.5 mm x 20 mm", "C45")
    assert job.breakage.torque == pytest.approx(
        job.shear_at_breakage / truetorsion.true_torsion(job.tap).stress_per_torque
    )
    assert job.breakage.torque_range[1] > 1.2 * job.breakage.torque


def test_many_at_once_are_those_of_single_taps_and_quick_ones_near():
    rakes = np.linspace(0, 20, 2 * truetorsion.MANY)
    shape = dict(diameter=10.0, core=4.5, land=3.0, flutes=3, pitch=1.5)
    quick, few = truetorsion.many(radial_rake=rakes, **shape), truetorsion.many(radial_rake=rakes[::40], **shape)
    assert quick.J[::40] == pytest.approx(few.J, rel=1e-2)
    assert quick.stress_per_torque[::40] == pytest.approx(few.stress_per_torque, rel=1e-2)
    one = truetorsion.many(radial_rake=rakes[40], **shape)
    assert few.J[1] == pytest.approx(float(one.J), rel=1e-9)
