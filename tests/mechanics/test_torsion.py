"""Torsion of the fluted section against finite elements, closed solutions and a finer fit."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapkit import Tap
from tapkit.geometry.section import Flute, outline
from tapkit.mechanics import torsion
from tapkit.mechanics.torsion import (
    BASIS,
    _solve,
    shortcut_stress,
    solve_arc,
    torque_at_breakage,
    torsion_many,
)


def by_finite_elements(diameter, core, land, flutes, mesh=0.0015):
    """J and peak shear of sectionproperties, live, on a polygon fine enough not to matter."""
    pytest.importorskip("sectionproperties")
    from sectionproperties.analysis import Section
    from sectionproperties.pre import Geometry
    from shapely.geometry import Polygon

    points = outline(diameter=diameter, core=core, land=land, flutes=flutes, flute_points=71, land_points=15)
    mesh_size = mesh * diameter**2
    found = Section(Geometry(Polygon(points[:-1])).create_mesh(mesh_sizes=[mesh_size]))
    found.calculate_geometric_properties()
    found.calculate_warping_properties()
    stress = found.calculate_stress(mzz=1000.0).get_stress()[0]["sig_zxy_mzz"]
    return found.get_j(), float(np.max(stress))


def practical(rng):
    """A section of the whole practical range: any that Tap allows, usual proportions ± a third."""
    while True:
        flutes = int(rng.integers(2, 9))
        usual = Tap.make("M10x1", flutes=flutes)
        core, land = usual.core_diameter * rng.uniform(0.7, 1.33), usual.land_width * rng.uniform(0.67, 1.33)
        try:
            Tap.make("M10x1", flutes=flutes, core_diameter=core, land_width=land)
        except ValueError:
            continue
        return 10.0, core, land, flutes


@pytest.mark.parametrize("seed", [*range(5), *(pytest.param(s, marks=pytest.mark.slow) for s in range(5, 25))])
def test_within_a_fifth_of_a_percent_of_finite_elements(seed):
    """sectionproperties 3.10, live, at random over the practical range of 2 to 8 flutes."""
    d, core, land, flutes = practical(np.random.default_rng(seed))
    J, stress = by_finite_elements(d, core, land, flutes)
    ours = torsion.torsion(diameter=d, core=core, land=land, flutes=flutes)
    assert pytest.approx(J, rel=0.002) == ours.J
    assert ours.stress_per_torque == pytest.approx(stress, rel=0.002)


@pytest.mark.parametrize(("core", "land"), [(3.6, 4.0), (3.6, 3.6), (3.6, 1.5), (6.0, 6.5)])
def test_two_flutes_hollow_flat_and_bulging(core, land):
    """sectionproperties 3.10, live; lands of 3.6 mm make the flutes of a 3.6 mm core flat."""
    J, stress = by_finite_elements(10.0, core, land, 2)
    ours = torsion.torsion(diameter=10.0, core=core, land=land, flutes=2)
    assert pytest.approx(J, rel=0.002) == ours.J
    assert ours.stress_per_torque == pytest.approx(stress, rel=0.002)


def test_a_full_circle_is_the_limit_of_shallow_flutes():
    """Closed solution of a circular shaft: J = π d⁴/32. Many shallow flutes come near it from below."""
    J = [torsion.torsion(diameter=10, core=c, land=3.5, flutes=8).J for c in (9.6, 9.9)]
    whole = math.pi * 10**4 / 32
    assert J[0] < J[1] < whole
    assert J[1] == pytest.approx(whole, rel=0.02)


@pytest.mark.parametrize("b", [0.05, 0.2, 0.5, 1.0])
def test_a_round_shaft_with_one_round_groove(b):
    """Weber's closed solution, groove of radius b centred on the rim of a shaft of R = 1: φ = (ρ² − b²)(2 cos ψ/ρ − 1)/2
    about the groove's centre, so the stress at its bottom is 2 − b (Timoshenko & Goodier, Theory of Elasticity, art. 107)."""
    beta = 2 * math.asin(b / 2)
    arc = Flute(*(np.array([v]) for v in (beta, 1 / b, b * (math.pi - beta) / 2, 1 - b)), np.array([1.0]))
    J, slope = solve_arc(np.array([1.0]), arc, BASIS)
    assert slope[0] == pytest.approx(2 - b, rel=1e-4)
    x, w = np.polynomial.legendre.leggauss(200)
    psi = math.acos(b / 2) * x
    rho = b + (2 * np.cos(psi) - b)[:, None] * (x + 1) / 2
    phi = (rho**2 - b**2) * (2 * np.cos(psi)[:, None] / rho - 1) / 2
    inner = (phi * rho) @ w * (2 * np.cos(psi) - b) / 2
    assert J[0] == pytest.approx(2 * math.acos(b / 2) * (inner @ w), rel=1e-5)


@given(st.integers(2, 8), st.floats(0.3, 0.6), st.floats(0.1, 0.4), st.floats(0.2, 50))
def test_size_only_scales(flutes, core, land, factor):
    """J grows with the fourth power of size, stress for a torque falls with the third."""
    try:
        one = torsion.torsion(diameter=10, core=10 * core, land=10 * land, flutes=flutes)
    except ValueError:
        return
    two = torsion.torsion(diameter=10 * factor, core=10 * core * factor, land=10 * land * factor, flutes=flutes)
    assert pytest.approx(one.J * factor**4, rel=1e-6) == two.J
    assert two.stress_per_torque == pytest.approx(one.stress_per_torque / factor**3, rel=1e-6)


@settings(max_examples=80)
@given(st.integers(2, 8), st.floats(0.15, 0.8), st.floats(0.04, 0.8))
def test_the_fit_and_a_finer_one_agree(flutes, core, land):
    """Over all that Tap allows; a much finer fit stands in for the truth."""
    try:
        Tap.make("M10x0.5", flutes=flutes, core_diameter=10 * core, land_width=10 * land)
    except ValueError:
        return
    given_ = (np.array([float(flutes)]), np.array([core]), np.array([land]))
    finer = _solve(*given_, torsion.SeriesBasis(24, 5, 4, 14, 160, 90))
    J, slope = _solve(*given_)
    assert J[0] == pytest.approx(finer[0][0], rel=0.002)
    assert slope[0] == pytest.approx(finer[1][0], rel=0.002)


def test_many_at_once_are_the_single_ones():
    rng = np.random.default_rng(7)
    d, core, land, flutes = (np.array(v) for v in zip(*(practical(rng) for _ in range(40))))
    many = torsion_many(diameter=d, core=core, land=land, flutes=flutes)
    for i in range(40):
        one = torsion.torsion(diameter=d[i], core=core[i], land=land[i], flutes=int(flutes[i]))
        assert many.J[i] == pytest.approx(one.J, rel=1e-9)
        assert many.stress_per_torque[i] == pytest.approx(one.stress_per_torque, rel=1e-9)
    grid = torsion_many(diameter=10.0, core=np.array([[3.5], [4.0]]), land=np.array([2.8, 3.0, 3.2]), flutes=3)
    assert grid.J.shape == (2, 3)


def test_flutes_that_meet_are_nan_among_many_and_refused_alone():
    both = torsion_many(diameter=10.0, core=np.array([2.0, 5.0]), land=np.array([3.0, 2.2]), flutes=4)
    assert np.isnan(both.J[0])
    assert np.isfinite(both.J[1])
    with pytest.raises(ValueError, match="nearly meet"):
        torsion.torsion(diameter=10.0, core=2.0, land=3.0, flutes=4)


@pytest.mark.parametrize(("flutes", "core", "land", "low", "high"), [(4, 6.5, 2.5, 1.1, 1.6), (2, 3.0, 4.2, 4.0, 6.5)])
def test_the_shortcut_overstates_the_stress(flutes, core, land, low, high):
    """From 1.3 times (thick core, four flutes) to 5 times (thin core, two flutes)."""
    found = torsion.torsion(diameter=10.0, core=core, land=land, flutes=flutes)
    assert low < found.shortcut_stress / found.stress_per_torque < high
    assert found.shortcut_stress == pytest.approx(16000 / math.pi / core**3)
    assert float(shortcut_stress(core)) == pytest.approx(float(found.shortcut_stress))


def test_breaking_torque_is_stress_over_stress_per_torque():
    found = torsion.torsion(diameter=10.0, core=4.0, land=3.0, flutes=3)
    assert torque_at_breakage(found, 1400) == pytest.approx(1400 / found.stress_per_torque)
    assert found.stress_per_torque * torque_at_breakage(found, 1400) == pytest.approx(1400)
