"""Chip room: the ledger adds up, and packs where the trade says chips pack."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon
from strategies import jobs

from tapkit import Hole, Operation, Tap, Workpiece
from tapkit.geometry.solid import solid
from tapkit.mechanics import chiproom
from tapkit.mechanics.toothload import groove_area


def job(tap, hole, work="C45", **more):
    return Operation.parse(tap, hole, work, **more)


@given(jobs(faulty=True))
def test_all_that_is_cut_is_the_groove_turned_once_round_for_each_pitch(j):
    """Pappus: the groove's area times the way of its centre, for each pitch of a through hole."""
    thread, bore = j.tap.thread, j.hole.diameter / 2
    ledger = j.with_(hole=j.hole.with_(kind="through")).chip_room
    x = np.linspace(-thread.pitch / 2, thread.pitch / 2, 20001)
    crest = thread.major / 2
    r = np.maximum(bore, np.minimum(crest, crest - (np.abs(x) - thread.pitch / 16) * np.sqrt(3)))
    ring = np.pi * np.trapezoid(r**2 - bore**2, x)  # volume of the groove for one turn
    assert ledger.solid[-1] == pytest.approx(ring * j.hole.depth / thread.pitch, rel=1e-5)
    assert (np.diff(ledger.solid) >= -1e-12).all()


@given(jobs())
def test_the_ledger_is_whole(j):
    ledger = j.chip_room
    size = len(ledger.depth)
    for name in ("solid", "loose_low", "loose_high", "room_flutes", "room_below"):
        values = getattr(ledger, name)
        assert len(values) == size
        assert (values >= -1e-9).all()
        assert np.isfinite(values).all()
    assert ledger.loose_low == pytest.approx(ledger.bulking.low * ledger.solid)
    assert (ledger.room_below == 0).all() == j.hole.is_through
    if ledger.packs_at is not None:
        assert ledger.may_pack_at <= ledger.packs_at + 1e-9
        assert ledger.cautions
        at = np.interp(ledger.packs_at, ledger.depth, ledger.loose_low)
        assert at == pytest.approx(np.interp(ledger.packs_at, ledger.depth, ledger.room), rel=1e-6, abs=1e-9)


def test_room_of_the_flutes_inside_the_drilled_hole():
    """shapely: the circle of the hole less the tap's section, over the flutes."""
    tap = Tap.make("M10x1.5")
    disc = Point(0, 0).buffer(4.25, quad_segs=512)
    metal = Polygon(solid(tap).outline(nodes=400))
    assert chiproom.flute_room_per_mm(tap, 8.5) == pytest.approx(disc.difference(metal).area, rel=1e-4)


def test_room_below_the_point_is_cylinder_and_cone():
    hole = Hole.parse("blind 8.5 mm x 25 mm")
    left = chiproom.room_below(np.array([0.0, 20.0, 25.0, 30.0]), hole)
    area = np.pi * 8.5**2 / 4
    cone = area * hole.cone_depth / 3
    assert left == pytest.approx([area * 25 + cone, area * 5 + cone, cone, cone])
    assert chiproom.room_below(np.array([1.0]), Hole.parse("through 8 x 9")).tolist() == [0.0]


@pytest.mark.parametrize(
    ("tap", "hole", "work", "fate", "packs"),
    [
        ("M10 spiral-point plug", "through 8.5 x 15", "C45", "leaves", False),
        ("M10 spiral-point plug", "blind 8.5 x 25", "C45", "below the point", True),
        ("M10 spiral-flute bottoming", "blind 8.5 x 25", "C45", "leaves", False),
        ("M10 plug", "through 8.5 x 15", "C45", "stays", True),
        ("M10 plug", "through 8.5 x 15", "grey iron", "leaves", False),
        ("M10 plug", "blind 8.5 x 25", "grey iron", "stays", False),
        ("M10 plug", "blind 8.5 x 25", "C45", "stays", True),
    ],
)
def test_what_shops_know(tap, hole, work, fate, packs):
    """Common practice (no source): curls pack straight flutes and the floor below a spiral point, powder just fits."""
    ledger = job(tap, hole, work).chip_room
    assert ledger.fate == fate
    assert (ledger.packs_at is not None) == packs
    told = job(tap, hole, work).cautions
    assert any("full of" in c or "filled the flutes" in c or "keep part of their chips" in c for c in told) == packs


def test_deeper_drilling_gives_a_spiral_point_its_room():
    """The clearance is what holds the chips of a spiral point in a blind hole: enough of it and nothing packs."""
    tap = Tap.make("M10x1.5", "spiral-point", "plug")
    depth = 12.0
    packed = [
        job(tap, Hole(kind="blind", diameter=8.5, depth=depth + gap, clearance=gap)).chip_room.packs_at is not None
        for gap in (2.0, 60.0)
    ]
    assert packed == [True, False]


@pytest.mark.parametrize(("size", "low", "high"), [("M6", 1.9, 2.5), ("M16", 2.7, 3.4)])
def test_ratio_at_which_straight_flutes_are_full(size, low, high):
    """Full at about 2.3 (M6) to 3.1 (M16) with the thread cut to its full basic depth."""
    tap = Tap.make(size, point_diameter=Tap.make(size).thread.minor_diameter - 0.01)
    found = job(tap, Hole(kind="through", diameter=tap.thread.minor_diameter, depth=20)).chip_room
    assert low < found.full_ratio < high


@given(st.sampled_from(["C45", "304", "grey iron", "aluminium", "AlSi", "brass", "titanium", "GJS-400"]))
def test_every_metal_has_a_ratio_for_every_form(name):
    for form in (None, *chiproom.FORMS):
        found = chiproom.bulking(Workpiece.parse(name), form)
        assert 1 < found.low < found.high < 100
        assert found.source


def test_a_form_of_chip_may_be_given_and_changes_the_ledger():
    curls = job("M10 plug", "blind 8.5 x 25", chip_form="loose curls").chip_room
    broken = job("M10 plug", "blind 8.5 x 25", chip_form="broken").chip_room
    assert curls.packs_at < broken.packs_at
    with pytest.raises(ValueError, match="not a form of chip"):
        _ = job("M10 plug", "blind 8.5 x 25", chip_form="ribbons").chip_room


def test_volume_for_a_millimetre():
    j = job("M10 plug", "through 8.5 x 15")
    per_mm = chiproom.volume_per_mm(j.slices, 1.5)
    centre = (j.slices.area @ j.slices.radius) / j.slices.area.sum()
    assert per_mm == pytest.approx(2 * np.pi * centre * groove_area(j.tap.thread, 8.5) / 1.5)


@pytest.mark.parametrize(
    ("work", "form", "solid", "loose"),
    [
        ("C45", "broken", 490, (55, 75)),
        ("C45", "tight curls", 490, (30, 45)),
        ("C45", "loose curls", 490, (10, 25)),
        ("EN-GJL-250", "fine", 482, (125, 180)),
        ("brass", "fine", 558, (150, 200)),
        ("6061-T6", "fine", 169, (50, 60)),
        ("6061-T6", "broken", 169, (20, 25)),
        ("6061-T6", "tight curls", 169, (10, 15)),
        ("6061-T6", "loose curls", 169, (5, 10)),
    ],
)
def test_how_loose_chips_lie_is_what_bulk_weights_say(work, form, solid, loose):
    """Weights in lb/ft3 of solid metal and of its chips in bulk: Guide to Metal Chips, Types and Weights, 2002, a sheet
    of a maker of chip conveyors; "broken" sixes and nines, "tight" heavy and "loose" light turnings."""
    found = chiproom.bulking(Workpiece.parse(work), form)
    assert (found.low, found.high) == pytest.approx((solid / loose[1], solid / loose[0]), rel=0.05)
    assert found.ahead <= found.low


@pytest.mark.parametrize("size", ["M5", "M8", "M10", "M16"])
def test_about_a_diameter_must_be_left_below_a_spiral_point_for_a_thread_a_diameter_deep(size):
    """Common practice (no source): about as much as the thread is deep. The ratio `ahead` was chosen for that, so this holds
    the choice and is no check from outside: 1.4 diameters are enough in each size, half a diameter jams."""
    tap = Tap.make(size, "spiral-point", "plug")
    bore, major = tap.thread.major - tap.thread.pitch, tap.thread.major

    def left(below):
        deep = major + tap.chamfer_length
        hole = Hole(kind="blind", diameter=bore, depth=deep + below, clearance=below)
        return Operation(tap=tap, hole=hole, workpiece=Workpiece.parse("C45")).chip_room

    assert left(1.4 * major).jams_at is None
    assert left(0.5 * major).jams_at < major + tap.chamfer_length
