"""Holes: reading them, and their depths."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapkit import Hole


@pytest.mark.parametrize(
    ("text", "kind", "diameter", "depth"),
    [
        ("through 8.5 mm x 15 mm", "through", 8.5, 15.0),
        ("THROUGH 8,5 × 15", "through", 8.5, 15.0),
        ("blind 8.5 x 25 mm", "blind", 8.5, 25.0),
        ("blind: 0.201 in x 3/4 in", "blind", 0.201 * 25.4, 19.05),
        ("through 0.201 x 0.5 in", "through", 0.201 * 25.4, 12.7),
        ('blind 1 1/2" x 2"', "blind", 38.1, 50.8),
        ("through #7 x 0.5 in", "through", 0.201 * 25.4, 12.7),
    ],
)
def test_reading(text, kind, diameter, depth):
    hole = Hole.parse(text)
    assert (hole.kind, hole.diameter, hole.depth) == (kind, pytest.approx(diameter), pytest.approx(depth))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "8.5 x 15",
        "through 8.5",
        "through x 15",
        "through 0 x 15",
        "blind 8.5 x -3",
        "through 8.5 kg x 15",
        "blind 1e9 x 3",
        "t" * 999,
    ],
)
def test_what_is_no_hole_is_refused_with_a_good_example(text):
    with pytest.raises(ValueError, match=r"8\.5 mm") as caught:
        Hole.parse(text)
    assert "\n" not in str(caught.value)


@given(st.text(max_size=60).map(lambda t: "through " + t))
def test_any_text_gives_a_hole_or_one_sentence(text):
    try:
        hole = Hole.parse(text)
    except ValueError as error:
        said = str(error)
        assert said
        return
    assert hole.diameter > 0
    assert hole.depth > 0


@given(st.floats(1, 50), st.floats(1, 100), st.floats(60, 180))
def test_the_cone_of_a_drill(diameter, depth, angle):
    hole = Hole(kind="blind", diameter=diameter, depth=depth, drill_angle=angle)
    assert hole.cone_depth * math.tan(math.radians(angle) / 2) == pytest.approx(diameter / 2, abs=1e-9)
    assert hole.with_(kind="through").cone_depth == 0


def test_a_118_degree_point_is_three_tenths_of_the_diameter():
    """Common practice (no source): 0.3 D for a 118° point."""
    assert Hole.parse("blind 10 x 20").cone_depth == pytest.approx(3.0, abs=0.01)


@pytest.mark.parametrize(("clearance", "deep"), [(None, 23.5), (0.0, 25.0), (3.0, 22.0)])
def test_depth_of_the_taps_point(clearance, deep):
    assert Hole(kind="blind", diameter=8.5, depth=25, clearance=clearance).tap_depth(1.5) == deep


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (dict(kind="slot"), "through"),
        (dict(diameter=math.nan), "diameter"),
        (dict(depth=2000), "depth"),
        (dict(drill_angle=30), "60° to 180°"),
        (dict(clearance=25.0), "one pitch"),
        (dict(clearance=-1.0), "one pitch"),
    ],
)
def test_holes_that_cannot_be(change, says):
    with pytest.raises(ValueError, match=says):
        Hole(**(dict(kind="blind", diameter=8.5, depth=25.0) | change))


def test_a_hole_says_what_it_is():
    assert str(Hole.parse("blind 8.5 x 25")) == "blind 8.5 mm x 25 mm"
