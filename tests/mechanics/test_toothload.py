"""Tooth loads: against polygon clipping in an independent kernel, and properties over the whole domain."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon, box
from shapely.ops import unary_union
from strategies import fitting, mild_faults

from tapkit import Faults, Hole, Tap, Thread
from tapkit.mechanics.toothload import (
    check_fit,
    envelope,
    groove_area,
    steady_thickness,
    tooth_outline,
    tooth_slices,
)

M10 = Tap.make("M10x1.5", chamfer=4.0, point_diameter=8.5)
H85 = Hole.parse("through 8.5 mm x 15 mm")


def clipped(tap, hole, faults, count):
    """Areas by polygon clipping: each tooth's polygon less the union of all before it."""
    p, d, bore = tap.thread.pitch, tap.thread.major, hole.diameter / 2
    slope = math.tan(math.radians(tap.chamfer_angle))
    gone, areas = box(-p / 2, 0, p / 2, bore), []
    for k in range(count):
        z = (faults.first_tooth + k) * tap.tooth_spacing
        turn = 2 * math.pi * (k % tap.flutes) / tap.flutes
        out = faults.runout / 2 * math.cos(turn - math.radians(faults.runout_angle))
        cone = faults.chamfer_runout / 2 * math.cos(turn - math.radians(faults.chamfer_runout_angle))
        if faults.flute_offsets:
            cone += faults.flute_offsets[k % tap.flutes]
        crest, flat = d / 2 + out, p / 16
        foot = crest - (p / 2 - flat) * math.sqrt(3)
        vee = Polygon([(-p / 2, 0), (-p / 2, foot), (-flat, crest), (flat, crest), (p / 2, foot), (p / 2, 0)])
        start = tap.point_diameter / 2 + z * slope + cone + out
        under = Polygon([(-p, -1e3), (-p, start - p * slope), (p, start + p * slope), (p, -1e3)])
        tooth = Polygon() if k + 1 in faults.missing_teeth else vee.intersection(under)
        areas.append(tooth.difference(gone).area)
        gone = unary_union([gone, tooth])
    return np.array(areas)


@given(st.data())
def test_every_tooth_as_polygon_clipping_has_it(data):
    """shapely 2.x, clipping polygons: another method and another kernel, faults included."""
    tap, hole = data.draw(fitting(chamfer=(0.8, 6.0)))
    faults = data.draw(mild_faults(tap))
    faults = dataclasses.replace(faults, runout=data.draw(st.sampled_from((0.0, 0.02))) * tap.thread.pitch)
    ours = tooth_slices(tap, hole, faults).area
    theirs = clipped(tap, hole, faults, len(ours) + tap.flutes)
    scale = tap.thread.pitch**2
    assert ours == pytest.approx(theirs[: len(ours)], abs=1e-9 * scale)
    assert theirs[len(ours) :] == pytest.approx(0, abs=1e-9 * scale)


@given(st.data())
def test_the_whole_groove_is_cut_whatever_the_chamfer_suffers(data):
    tap, hole = data.draw(fitting())
    slices = tooth_slices(tap, hole, data.draw(mild_faults(tap)))
    assert slices.area.sum() == pytest.approx(groove_area(tap.thread, hole.diameter), rel=1e-9)


@given(st.data())
def test_no_load_is_negative_and_every_number_is_finite(data):
    tap, hole = data.draw(fitting())
    faults = dataclasses.replace(data.draw(mild_faults(tap)), runout=data.draw(st.floats(0, 0.05)) * tap.thread.pitch)
    slices = tooth_slices(tap, hole, faults)
    for name in ("area", "width", "thickness", "radius", "start", "end"):
        values = getattr(slices, name)
        assert np.isfinite(values).all(), name
        assert name in ("start", "end") or (values >= 0).all(), name
    assert (slices.end >= slices.start - 1e-12).all()
    assert (slices.radius <= tap.thread.major / 2 + faults.eccentricity + 1e-9).all()
    assert (slices.radius >= hole.diameter / 2 - 1e-9).all()


@given(fitting(), st.floats(-0.02, 0.02))
def test_equal_offsets_on_all_flutes_are_another_point_diameter(job, offset):
    tap, hole = job
    wider = tap.point_diameter + 2 * offset
    if not (wider <= hole.diameter and 0.2 * tap.thread.major < wider < tap.thread.major):
        return
    slope = (tap.thread.major - tap.point_diameter) / 2 / tap.chamfer_length
    longer = (tap.thread.major - wider) / 2 / slope / tap.thread.pitch
    if not 0.1 <= longer <= 20:
        return
    uneven = tooth_slices(tap, hole, Faults(flute_offsets=(offset,) * tap.flutes))
    other = tooth_slices(tap.with_(point_diameter=wider, chamfer_threads=longer), hole)
    n = min(len(uneven.area), len(other.area))
    assert uneven.area[:n] == pytest.approx(other.area[:n], abs=1e-9 * tap.thread.pitch**2)


@given(fitting(), st.floats(0, 0.03), st.floats(0, 360))
def test_runout_of_the_chamfer_is_one_offset_for_each_flute(job, share, angle):
    tap, hole = job
    e = share * tap.thread.pitch  # the dial reads 2 e
    turns = 2 * np.pi * np.arange(tap.flutes) / tap.flutes - math.radians(angle)
    once = tooth_slices(tap, hole, Faults(chamfer_runout=2 * e, chamfer_runout_angle=angle))
    again = tooth_slices(tap, hole, Faults(flute_offsets=tuple(e * np.cos(turns))))
    n = min(len(once.area), len(again.area))
    assert once.area[:n] == pytest.approx(again.area[:n], abs=1e-9 * tap.thread.pitch**2)


@pytest.mark.parametrize("angle", [0.0, 77.0, 240.0])
def test_angles_close_the_circle(angle):
    one, other = (Faults(runout=0.03, runout_angle=a) for a in (angle, angle + 360))
    assert tooth_slices(M10, H85, one).area == pytest.approx(tooth_slices(M10, H85, other).area, abs=1e-12)


@pytest.mark.parametrize("flutes", range(1, 9))
def test_full_teeth_have_the_steady_thickness_and_fall_in_width(flutes):
    """h = (P/Z) sin κ on every full chamfer tooth: the radial infeed (P/Z) tan κ, seen square to the edge."""
    tap = Tap.make("M10x1.5", chamfer=6.0, flutes=flutes)
    s = tooth_slices(tap, H85)
    crests = tap.point_diameter / 2 + (s.position + 1.5 / 16) * math.tan(math.radians(tap.chamfer_angle))
    before = tap.point_diameter / 2 + (s.position - tap.tooth_spacing - 0.5 * 1.5) * math.tan(
        math.radians(tap.chamfer_angle)
    )
    full = (before > H85.diameter / 2) & (crests < tap.thread.major / 2)
    assert full.sum() >= flutes
    assert s.thickness[full] == pytest.approx(steady_thickness(tap), rel=1e-9)
    assert (np.diff(s.width[full]) < 0).all()


@pytest.mark.parametrize("threads", [0.1, 0.2, 0.5, 20.0])
@pytest.mark.parametrize("flutes", [1, 2, 8])
def test_very_short_and_very_long_chamfers(threads, flutes):
    tap = Tap.make("M10x1.5", chamfer=threads, flutes=flutes)
    s = tooth_slices(tap, H85)
    assert s.area.sum() == pytest.approx(groove_area(tap.thread, 8.5), rel=1e-9)
    assert np.isfinite(s.width).all()
    assert (s.width[s.area > 0] > 0).all()


@pytest.mark.parametrize("bore", [9.9, 9.99, 9.9999, 9.999999])
def test_a_hole_that_grows_to_the_major_diameter_leaves_nothing(bore):
    s = tooth_slices(M10, Hole(kind="through", diameter=bore, depth=15))
    h = (10 - bore) / 2
    assert s.area.sum() == pytest.approx(1.5 / 8 * h + h * h / math.sqrt(3), rel=1e-6)


def test_a_lost_tooth_passes_its_load_to_the_next_that_reaches_there():
    sound, lost = tooth_slices(M10, H85), tooth_slices(M10, H85, Faults(missing_teeth=frozenset({5})))
    assert lost.lost[4]
    assert lost.area[4] == 0
    assert lost.area[5] == pytest.approx(sound.area[4] + sound.area[5], rel=1e-9)
    assert lost.area[6:] == pytest.approx(sound.area[6:], abs=1e-12)


def test_the_envelope_at_given_x_only_grows():
    x = np.linspace(-0.75, 0.75, 301)
    env = envelope(M10, H85, x=x)
    assert env.swept.shape == (len(env.flute) + 1, 301)
    assert (np.diff(env.swept, axis=0) >= 0).all()
    assert env.swept[-1] == pytest.approx(np.maximum(tooth_outline(x, M10.thread), 4.25), abs=1e-12)


def test_the_basic_groove_has_the_areas_of_the_thread_standard():
    """ISO 68-1: 0.2368 P² at full basic depth, and 0.2068 P² at D_h = D − P (follows from the profile)."""
    thread = Thread.parse("M10x1.5")
    assert groove_area(thread, thread.minor_diameter) / 1.5**2 == pytest.approx(0.2368, abs=5e-5)
    assert groove_area(thread, 8.5) / 1.5**2 == pytest.approx(0.2068, abs=5e-5)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (dict(first_tooth=0.0), "first tooth"),
        (dict(first_tooth=1.2), "first tooth"),
        (dict(runout=-0.1), "runout"),
        (dict(chamfer_runout=2.0), "runout of 2 mm"),
        (dict(missing_teeth=frozenset({0})), "tooth number 0"),
        (dict(missing_teeth=frozenset({1.5})), "tooth number 1.5"),
    ],
)
def test_faults_that_cannot_be(change, says):
    with pytest.raises(ValueError, match=says):
        Faults(**change)


@pytest.mark.parametrize(
    ("bore", "point", "says"),
    [(10.2, None, "wider than the thread"), (7.0, None, "too small"), (8.0, 8.3, "does not enter")],
)
def test_holes_that_do_not_fit(bore, point, says):
    tap = Tap.make("M10x1.5", point_diameter=point)
    with pytest.raises(ValueError, match=says):
        check_fit(tap, Hole(kind="through", diameter=bore, depth=10))


def test_flute_offsets_must_be_one_for_each_flute():
    with pytest.raises(ValueError, match="2 flute offsets were given for 3 flutes"):
        tooth_slices(M10, H85, Faults(flute_offsets=(0.01, 0.0)))


def test_sound_means_nothing_but_the_first_tooth():
    assert Faults(first_tooth=0.4).is_sound
    assert not Faults(runout=0.01).is_sound
