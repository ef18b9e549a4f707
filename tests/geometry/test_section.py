"""The fluted section: closed formulas against the polygon of its outline, and its limits."""

import math
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

from tapkit import Tap
from tapkit.geometry import section

CASES = [  # flutes, core, land; D = 10
    (1, 4.0, 5.0),
    (2, 3.6, 4.2),
    (2, 3.6, 1.0),  # bulging flutes
    (3, 3.5, 3.0),
    (4, 5.0, 2.2),
    (5, 5.3, 1.8),
    (6, 5.7, 1.5),
    (8, 6.2, 1.2),
]


def kwargs(flutes, core, land):
    return dict(diameter=10.0, core=core, land=land, flutes=flutes)


def area(**measures):
    """The circle D less the flutes."""
    arc = section.flute(**measures)
    return math.pi * arc.outer_radius**2 - measures["flutes"] * section.arc_area(
        arc.core_radius, arc.curvature, arc.outer_radius
    )


@pytest.mark.parametrize("case", CASES)
def test_areas_are_those_of_the_polygon(case):
    """shapely's area of a fine polygon of the outline."""
    fine = Polygon(section.outline(**kwargs(*case), flute_points=2001, land_points=1001))
    assert fine.is_valid
    assert float(area(**kwargs(*case))) == pytest.approx(fine.area, rel=1e-5)


@pytest.mark.parametrize("case", CASES)
def test_flutes_touch_the_core_and_lands_lie_on_the_major_diameter(case):
    flutes, core, land = case
    points = section.outline(**kwargs(*case), flute_points=401, land_points=101)
    radius = np.hypot(*points.T)
    assert radius.min() == pytest.approx(core / 2, abs=1e-4)
    assert radius.max() == pytest.approx(5.0, abs=1e-12)
    assert len(points) == flutes * (401 + 101) + 1
    assert points[0] == pytest.approx(points[-1])
    first, last = points[400], points[502]  # last point of flute 1, first of flute 2
    if flutes > 1:
        assert np.hypot(*(first - last)) == pytest.approx(land, abs=1e-9)


@pytest.mark.parametrize("case", CASES)
def test_every_flute_is_an_arc_of_one_circle(case):
    arc = section.flute(**kwargs(*case))
    x, y = arc.at(np.linspace(-1, 1, 11) * arc.half_length)
    assert np.hypot(x - arc.centre, y) == pytest.approx(abs(float(arc.radius)), rel=1e-9)
    assert (x[5], y[5]) == pytest.approx((case[1] / 2, 0))


@pytest.mark.parametrize("case", [c for c in CASES if c[0] > 2])
def test_the_neck_is_the_least_thickness_of_a_land(case):
    """shapely: the least way through the land between two neighbouring flutes."""
    points = section.outline(**kwargs(*case), flute_points=2001, land_points=3)
    one = LineString(points[:2001])
    other = LineString(points[2004:4005])
    assert float(section.neck(**kwargs(*case))) == pytest.approx(one.distance(other), rel=1e-4)


def test_through_flat_the_formulas_do_not_jump():
    """Two flutes: between hollow and bulging there is a land at which the flute is flat."""
    flat = 10 * math.sin(math.pi / 2 - math.acos(0.36))
    whole = [float(area(**kwargs(2, 3.6, flat + step))) for step in (-1e-6, -1e-9, 0.0, 1e-9, 1e-6)]
    areas = [(math.pi * 25 - area) / 2 for area in whole]
    assert np.ptp(areas) < 1e-4
    segment = 25 * math.acos(0.36) - 1.8 * math.sqrt(25 - 1.8**2)
    assert areas[2] == pytest.approx(segment, rel=1e-9)  # a flat flute leaves a circular segment
    assert abs(float(section.flute(**kwargs(2, 3.6, flat)).curvature)) < 1e-12


def test_arrays_give_what_single_sections_give():
    many = area(
        diameter=10.0,
        core=np.array([c[1] for c in CASES]),
        land=np.array([c[2] for c in CASES]),
        flutes=np.array([c[0] for c in CASES]),
    )
    assert many == pytest.approx([float(area(**kwargs(*c))) for c in CASES], rel=1e-12)


@given(st.integers(3, 8), st.floats(0.15, 0.85), st.floats(0.04, 0.9))
def test_a_tap_either_has_a_whole_section_or_says_why_not(flutes, core, land):
    try:
        tap = Tap.make("M10x0.5", flutes=flutes, core_diameter=10 * core, land_width=10 * land)
    except ValueError as error:
        said = str(error)
    else:
        said = ""
    if said:
        assert re.search(r"works\b", said)
        return
    shape = Polygon(section.tap_outline(tap, flute_points=101, land_points=101))
    assert shape.is_valid
    assert shape.contains(Point(0, 0))
    assert shape.area == pytest.approx(float(area(**section.measures(tap))), rel=1e-3)


def test_flutes_that_meet_are_refused_in_one_sentence():
    with pytest.raises(ValueError, match=r"nearly meet under the lands.*thicker core or narrower lands works"):
        Tap.make("M10x1.5", flutes=4, core_diameter=2.0, land_width=3.0)
