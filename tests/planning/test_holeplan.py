"""The hole plan, held against every corner of its tolerances and against the cutting teeth themselves."""

import itertools
import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tapkit import Operation, Tap, Thread, Workpiece
from tapkit.messages import said
from tapkit.planning.holeask import COUNTERBORE, TOP, DrawingAsk, Tolerances
from tapkit.planning.holefit import (
    all_shop_means,
    chamfer_fits,
    changes,
    longest_chamfer,
    smallest_change,
)
from tapkit.planning.holeplan import HolePlan, plan_for
from tapkit.planning.machine import Machine, machine_names

SIZES = ["M4", "M6", "M8x1", "M10", "M16", "1/4-20", "3/8-24", "1/2-13"]
small = st.floats(0, 0.6)


@st.composite
def asks(draw):
    thread = Thread.parse(draw(st.sampled_from(SIZES)))
    d = thread.major
    bored = draw(st.sampled_from([0.0, 0.0, 0.3 * d, 1.2 * d]))
    face = draw(st.sampled_from([TOP, COUNTERBORE])) if bored else TOP
    full = draw(st.floats(0.5 * d, 3 * d)) + (bored if face == TOP else 0)
    return DrawingAsk(
        thread=thread,
        drill=thread.hole_for_percent(draw(st.floats(55, 83))),
        full_thread=full,
        face=face,
        thickness=full + bored + draw(st.floats(0, 2 * d)),
        floor=draw(st.floats(0, 3)),
        drill_angle=draw(st.sampled_from([90.0, 118.0, 135.0, 180.0])),
        counterbore_depth=bored,
        counterbore_diameter=2 * d if bored else 0.0,
        clearance=draw(st.sampled_from([None, 0.0, 1.0])),
        overrun=draw(small),
        center_length=draw(small),
        tolerances=Tolerances(
            drill_depth=draw(small), tap_depth=draw(small), thickness=draw(small), counterbore=draw(small)
        ),
    )


def corners(ask):
    """Every way the depths may fall: signs for drill, tap, thickness, counterbore; overrun none or all."""
    return itertools.product((-1, 1), (-1, 1), (-1, 1), (-1, 1), (0, 1))


@settings(deadline=None, max_examples=150)
@given(asks(), st.sampled_from([1.0, 1.5, 2.5, 4.0, 8.0]))
def test_worst_case_is_the_worst_corner(ask, threads):
    plan, t = HolePlan(ask, threads), ask.tolerances
    full, clear, floor = [], [], []
    for drill, tap, thick, seat, run in corners(ask):
        point = plan.tap_depth + tap * t.tap_depth
        zero = ask.counterbore_depth + seat * t.counterbore if ask.face == COUNTERBORE else 0.0
        cylinder = plan.cylinder + drill * t.drill_depth
        full.append(point - threads * ask.thread.pitch - zero)
        clear.append(cylinder - point - run * (ask.overrun + ask.center_length))
        cone = ask.drill / 2 / math.tan(math.radians(ask.drill_angle / 2))
        floor.append(ask.thickness + thick * t.thickness - cylinder - cone)
    assert min(full) == pytest.approx(ask.full_thread, abs=1e-9)
    assert min(clear) == pytest.approx(ask.kept_clear, abs=1e-9)
    assert min(floor) == pytest.approx(plan.floor_left, abs=1e-9)
    assert plan.fits == (min(floor) >= ask.floor - 1e-9)
    rows = {r.name: r for r in plan.stack()}
    assert (rows["full thread"].least, rows["full thread"].most) == pytest.approx((min(full), max(full)), abs=1e-9)
    gap = rows["free ahead of the tap"]
    assert (gap.least, gap.most) == pytest.approx((min(clear), max(clear)), abs=1e-9)
    assert rows["floor"].least == pytest.approx(min(floor), abs=1e-9)
    assert rows["floor"].likely <= (rows["floor"].most - rows["floor"].least) / 2 + 1e-12


@settings(deadline=None, max_examples=40)
@given(asks(), st.sampled_from([1.5, 2.5, 4.0]))
def test_the_cutting_teeth_leave_full_thread_where_the_plan_says(ask, threads):
    tap = Tap.make(ask.thread, "straight", threads)
    plan = plan_for(ask, tap)
    job = Operation(tap=tap, hole=plan.hole(), workpiece=Workpiece.parse("C45"))
    point = job.torque_curve.depth[-1]
    assert point == pytest.approx(plan.tap_depth - ask.start, abs=1e-9)
    last_cut = float(job.slices.end.max())
    finished = point - last_cut + ask.start
    assert finished >= plan.full_thread_end - tap.tooth_spacing - ask.thread.pitch / 8 - 1e-9


@settings(deadline=None, max_examples=80)
@given(asks())
def test_the_longest_chamfer_just_fits(ask):
    longest = longest_chamfer(ask)
    assume(0.2 < longest < 19)
    assert HolePlan(ask, longest).spare == pytest.approx(0, abs=1e-9)
    assert HolePlan(ask, longest - 0.05).fits
    assert not HolePlan(ask, longest + 0.05).fits
    for fit in chamfer_fits(ask):
        assert fit.fits == (fit.threads <= longest + 1e-9)
        assert fit.spare == pytest.approx((longest - fit.threads) * ask.thread.pitch, abs=1e-9)


@settings(deadline=None, max_examples=80)
@given(asks(), st.sampled_from([1.5, 4.0]))
def test_every_change_called_enough_makes_the_plan_fit(ask, threads):
    plan = HolePlan(ask, threads)
    found = changes(ask, threads, Workpiece.parse("aluminium"))
    assert bool(found) == (not plan.fits)
    for change in found:
        tried = HolePlan(change.changed, change.threads)
        assert change.enough == tried.fits
        assert change.gains >= -1e-9
        assert change.what
        assert change.cost
    if found:
        best = smallest_change(ask, threads)
        assert best is not None, "a thicker part is always enough"
        assert best.enough
        assert HolePlan(best.changed, best.threads).fits


@settings(deadline=None, max_examples=60)
@given(asks())
def test_what_the_designer_is_asked_for_is_no_more_than_is_missing(ask):
    plan = HolePlan(ask, 1.5)
    assume(not plan.fits)
    thicker = next(c for c in changes(ask, 1.5) if "thicker" in c.what)
    assert thicker.changed.thickness - ask.thickness == pytest.approx(-plan.spare, abs=1e-9)
    assert not HolePlan(ask.with_(thickness=ask.thickness - plan.spare - 0.01), 1.5).fits
    shallower = [c for c in changes(ask, 1.5) if "full thread" in c.what]
    if shallower:
        assert ask.full_thread - shallower[0].changed.full_thread == pytest.approx(-plan.spare, abs=1e-9)


def test_the_shop_does_what_it_can_before_the_designer_is_asked():
    ask = DrawingAsk(thread=Thread.parse("M10"), drill=8.5, full_thread=20, thickness=30, floor=2)
    tight = ask.on(Machine.parse("drill press"))
    assert [c.who for c in changes(tight)] == sorted([c.who for c in changes(tight)], reverse=True)
    assert smallest_change(tight).who == "shop"
    assert all_shop_means(tight).fits
    hopeless = tight.with_(thickness=23)
    assert not all_shop_means(hopeless).fits
    assert smallest_change(hopeless).who == "designer"


def test_less_engagement_is_told_against_the_metal():
    ask = DrawingAsk(thread=Thread.parse("M6"), drill=5, full_thread=12, thickness=16)
    told = next(c for c in changes(ask, 4, Workpiece.parse("aluminium")) if "full thread" in c.what)
    assert "under the 2 D usual in wrought aluminium" in told.cost
    told = next(c for c in changes(ask, 4, Workpiece.parse("C45")) if "full thread" in c.what)
    assert "still at least 1 D" in told.cost


def test_through_hole():
    ask = DrawingAsk(thread=Thread.parse("M8"), drill=6.8, kind="through", thickness=12)
    plan = HolePlan(ask, 4)
    assert plan.tap_depth == pytest.approx(12 + 4 * 1.25)
    assert plan.sticks_out == pytest.approx(5)
    assert plan.turns == pytest.approx(17 / 1.25)
    assert plan.fits
    boxed = ask.with_(room_below=4.0)
    assert HolePlan(boxed, 4).spare == pytest.approx(-1)
    assert [f.fits for f in chamfer_fits(boxed)] == [False, False, True, True]
    assert str(smallest_change(boxed, 4).what).startswith("a plug chamfer of 3.2 threads")
    assert HolePlan(ask, 4).hole().is_through


def test_through_hole_worst_case_counts_every_tolerance():
    t = Tolerances(tap_depth=0.3, thickness=0.2)
    ask = DrawingAsk(thread=Thread.parse("M8"), drill=6.8, kind="through", thickness=12, overrun=1, tolerances=t)
    plan = HolePlan(ask, 2.5)
    deepest_part, shallowest_tap = 12.2, plan.tap_depth - 0.3
    assert shallowest_tap - 2.5 * 1.25 == pytest.approx(deepest_part)
    assert plan.sticks_out == pytest.approx(plan.tap_depth + 0.3 + 1 - 11.8)


def test_counterbore_moves_the_start_and_its_tolerance_the_depth():
    base = dict(thread=Thread.parse("M10"), drill=8.5, full_thread=15, thickness=40)
    bore = dict(counterbore_diameter=18, counterbore_depth=6, tolerances=Tolerances(counterbore=0.1))
    plain, top, seat = (HolePlan(DrawingAsk(**base, **more), 2.5) for more in ({}, bore, {**bore, "face": COUNTERBORE}))
    assert top.tap_depth == plain.tap_depth
    assert seat.tap_depth == pytest.approx(plain.tap_depth + 6.1)
    assert top.engagement == pytest.approx(9)
    assert seat.engagement == pytest.approx(15)
    assert top.turns == pytest.approx((plain.tap_depth - 6) / 1.5)


def test_countersink_takes_from_the_engagement():
    ask = DrawingAsk(thread=Thread.parse("M10"), drill=8.5, full_thread=15, countersink_diameter=10.5)
    assert ask.countersink_depth == pytest.approx(1.0)
    assert HolePlan(ask, 2.5).engagement == pytest.approx(14.0)
    narrow = ask.with_(countersink_diameter=9.0)
    assert any("burr" in c for c in HolePlan(narrow, 2.5).cautions())


def test_cautions_speak_up():
    ask = DrawingAsk(thread=Thread.parse("M6"), drill=5, full_thread=10, thickness=12, clearance=0.2)
    told = " ".join(map(str, HolePlan(ask, 4).cautions()))
    for word in ("break through", "short by", "half a pitch", "male center"):
        assert word in told
    below = DrawingAsk(thread=Thread.parse("M6"), drill=5, kind="through", thickness=5, room_below=1.0)
    assert any("break out" in c for c in HolePlan(below, 1).cautions())


@pytest.mark.parametrize("name", machine_names())
def test_machines_bring_their_tolerances(name):
    machine = Machine.parse(name)
    ask = DrawingAsk(thread=Thread.parse("M10"), drill=8.5, full_thread=20).on(machine)
    assert ask.tolerances.drill_depth == machine.drill_depth_tolerance
    assert ask.overrun == pytest.approx(1.5 * machine.overrun)
    assert machine.source


def test_inch_and_metric_words_of_one_plan():
    ask = DrawingAsk(thread=Thread.parse("1/4-20"), drill=5.1054, full_thread=0.5 * 25.4, thickness=25.4)
    plan = HolePlan(ask, 4)
    assert "0.700 in" in said(plan.in_words(), "inch")
    assert "17.78 mm" in plan.in_words()


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (dict(kind="open"), "'through' or 'blind'"),
        (dict(kind="through"), "needs the thickness"),
        (dict(), "needs a depth of full thread"),
        (dict(full_thread=0), "above 0"),
        (dict(full_thread=20, thickness=10), "deeper than the part"),
        (dict(full_thread=10, face=COUNTERBORE), "no counterbore to measure from"),
        (dict(full_thread=10, face="bottom"), "measured from the"),
        (dict(full_thread=10, counterbore_depth=3), "both a diameter and a depth"),
        (dict(full_thread=10, counterbore_depth=3, counterbore_diameter=9), "does not let a 10 mm tap in"),
        (dict(full_thread=10, counterbore_depth=12, counterbore_diameter=19), "ends inside the counterbore"),
        (dict(full_thread=10, drill=12), "8.54 mm leaves 75 %"),
        (dict(full_thread=10, drill_angle=20), "118° is usual"),
        (dict(full_thread=-1), "outside 0 to 1000"),
        (dict(full_thread=math.nan), "outside 0 to 1000"),
        (dict(full_thread=10, countersink_angle=10, countersink_diameter=12), "90° is usual"),
    ],
)
def test_what_cannot_be_drawn_is_told(given, told):
    with pytest.raises(ValueError, match=told):
        DrawingAsk(**{"thread": Thread.parse("M10"), "drill": 8.5, **given})


def test_a_tap_for_another_thread_is_told():
    ask = DrawingAsk(thread=Thread.parse("M10"), drill=8.5, full_thread=20)
    with pytest.raises(ValueError, match=r"does not cut M10x1\.5"):
        plan_for(ask, Tap.make("M8"))
    with pytest.raises(ValueError, match="cannot be ground"):
        HolePlan(ask, 0)
    with pytest.raises(ValueError, match="no machine 'robot'"):
        Machine.parse("robot")
