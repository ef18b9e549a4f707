"""Strength of screw and thread: published stress areas, the ridge measured on its profile, limits."""

import math

import numpy as np
import pytest

from tapkit.geometry.thread import Thread
from tapkit.mechanics import threadstrength as ts
from tapkit.mechanics.workpiece import Workpiece

STEEL = Workpiece.parse("C45")

ISO_898 = [("M3", 5.03), ("M4", 8.78), ("M5", 14.2), ("M6", 20.1), ("M8", 36.6), ("M10", 58.0), ("M12", 84.3),
           ("M14", 115), ("M16", 157), ("M20", 245), ("M24", 353), ("M8x1", 39.2), ("M10x1.25", 61.2), ("M12x1.25", 92.1)]  # fmt: skip
"""Nominal stress area [mm2]. Source: ISO 898-1, tables 4 to 7 [memory]."""
ASME_B1_1 = [("1/4-20", 0.0318), ("5/16-18", 0.0524), ("3/8-16", 0.0775), ("1/2-13", 0.1419), ("3/4-10", 0.334)]
"""Tensile stress area [in2]. Source: ASME B1.1; Machinery's Handbook, 27th edition [memory]."""


@pytest.mark.parametrize(("name", "area"), ISO_898)
def test_stress_area_as_printed_in_iso_898(name, area):
    printed = 10 ** (math.floor(math.log10(area)) - 2)
    assert ts.stress_area(Thread.parse(name)) == pytest.approx(area, abs=0.51 * printed)


@pytest.mark.parametrize(("name", "area"), ASME_B1_1)
def test_stress_area_of_unified_threads(name, area):
    assert ts.stress_area(Thread.parse(name)) / 25.4**2 == pytest.approx(area, abs=0.00051 if area > 0.2 else 0.00006)


def test_limits_of_the_screw_as_in_iso_965():
    """M10 6g: major 9.968 to 9.732, pitch 8.994 to 8.862. Source: ISO 965-2 [memory]."""
    found = ts.screw_limits(Thread.parse("M10"))
    assert found.major_min == pytest.approx(9.732, abs=0.002)
    assert found.pitch_min == pytest.approx(8.862, abs=0.006)


def ridge(pitch, pitch_diameter, diameter, inwards):
    """Width of a 60° ridge at a diameter, counted on its outline; `inwards` for the ridge of the hole's thread."""
    z = np.linspace(0, pitch, 200_001)
    height = (pitch / 2 - np.abs(z - pitch / 2)) / math.tan(math.radians(30)) - pitch / 4 / math.tan(math.radians(30))
    radius = pitch_diameter / 2 + (-height if inwards else height)
    return np.mean(radius < diameter / 2 if inwards else radius > diameter / 2) * pitch


@pytest.mark.parametrize(("name", "hole"), [("M5", 4.2), ("M5", 4.3), ("M10", 8.5), ("M16", 14.0), ("1/2-13", 10.7)])
def test_shear_areas_are_the_ridge_s_width_round_the_hole(name, hole):
    thread = Thread.parse(name)
    limits, engaged = ts.screw_limits(thread), 2 * thread.major
    outside = ridge(thread.pitch, limits.pitch_min, hole, False)
    inside = ridge(thread.pitch, thread.limits.pitch_max, limits.major_min, True)
    turns = engaged / thread.pitch
    found = ts.external_shear_area(thread=thread, hole=hole, engaged=engaged)
    assert found == pytest.approx(math.pi * hole * outside * turns, rel=1e-3)
    found = ts.internal_shear_area(thread=thread, engaged=engaged)
    assert found == pytest.approx(math.pi * limits.major_min * inside * turns, rel=1e-3)


def bears(**changes):
    usual = dict(thread=Thread.parse("M10"), hole=8.5, engaged=8.0, workpiece=STEEL, screw="8.8")
    return ts.thread_strength(**usual | changes)


def test_at_the_length_needed_screw_and_thread_bear_the_same():
    short = bears(engaged=3.0)
    assert short.fails != "screw"
    again = bears(engaged=short.needed)
    assert again.least == pytest.approx(again.screw)
    assert bears(engaged=1.01 * short.needed).fails == "screw"
    assert bears(engaged=0.99 * short.needed).fails != "screw"


def test_a_larger_drill_weakens_the_screw_s_thread_alone():
    """The answer to the foreman of lesson 4."""
    small, large = bears(hole=8.5), bears(hole=8.8)
    assert large.external < small.external
    assert (large.internal, large.screw) == (small.internal, small.screw)


def test_a_nut_of_usual_height_tears_the_screw():
    """ISO 898-2: a nut 0.8 d high of the screw's own class is made so that the screw breaks, not the thread."""
    nut = ts.thread_strength(thread=Thread.parse("M10"), hole=8.5, engaged=8.4, workpiece=STEEL, screw="8.8")
    assert nut.needed < 8.4


@pytest.mark.parametrize(
    ("changes", "part"),
    [
        (dict(engaged=0.0), "is none"),
        (dict(engaged=math.nan), "is none"),
        (dict(screw="9.9"), "no tensile strength"),
        (dict(workpiece=Workpiece.parse("Ti-6Al-4V")), "no tensile strength"),
        (dict(hole=10.2), "no thread"),
    ],
)
def test_what_cannot_be_is_said(changes, part):
    with pytest.raises(ValueError, match=part):
        bears(**changes)
