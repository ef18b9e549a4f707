"""The cycle: speeds, feeds, times by stepping the motion, and the flanks by widening a real groove."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapkit import Thread, Workpiece
from tapkit.mechanics.workpiece import workpiece_names
from tapkit.planning.cycle import Cycle, feed_error, feed_settings
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holeplan import HolePlan
from tapkit.planning.machine import Machine
from tapkit.planning.speed import (
    LEVELS,
    cutting_speed,
    round_down,
    spindle_speed,
    tapping_speed,
    tapping_speeds,
)

RIGID, PRESS, HAND = (Machine.parse(n) for n in ("rigid", "drill press", "hand"))


def plan_of(name="M10", full=20.0, threads=2.5):
    thread = Thread.parse(name)
    return HolePlan(DrawingAsk(thread=thread, drill=thread.hole_for_percent(75), full_thread=full), threads)


@pytest.mark.parametrize("name", workpiece_names())
def test_every_metal_has_a_slow_start(name):
    work = Workpiece.parse(name)
    for thread in (Thread.parse("M10"), Thread.parse("M10x1"), Thread.parse("1/4-20")):
        found = tapping_speeds(work, thread)
        assert found[0].level == "learner"
        lows = [s.low for s in found]
        assert lows == sorted(lows)
        assert all(s.source and s.low <= s.high for s in found)
        assert tapping_speed(work, thread).high <= tapping_speed(work, thread, "handbook").low


def test_hardened_steel_runs_slower_than_annealed_and_has_no_speed_of_the_annealed():
    """Common practice (no source): the harder the steel, the slower the tap."""
    thread = Thread.parse("M6")
    soft, firm, hard = (tapping_speeds(Workpiece.parse(n), thread) for n in ("4140", "4140 30 HRC", "4140 40 HRC"))
    for level in range(2):
        assert soft[level].low > firm[level].low > hard[level].low
    assert "made for hard steel" in hard[0].in_words()
    assert len(firm) == len(hard) == 2, "no handbook speed of 175 to 225 HB"


def test_a_level_the_table_lacks_falls_back_to_the_next_slower():
    assert tapping_speed(Workpiece.parse("brass"), Thread.parse("M6"), "handbook").level == "shop"
    with pytest.raises(ValueError, match="learner, shop and handbook"):
        tapping_speed(Workpiece.parse("brass"), Thread.parse("M6"), "expert")
    assert LEVELS == ("learner", "shop", "handbook")


@given(st.floats(0.5, 300), st.floats(1, 60))
def test_speed_and_rpm_are_inverse(speed, diameter):
    assert cutting_speed(spindle_speed(speed, diameter), diameter) == pytest.approx(speed, rel=1e-12)


@given(st.floats(1, 50_000))
def test_round_down_keeps_two_digits_and_never_speeds_up(rpm):
    got = round_down(rpm)
    assert 0.9 * rpm < got <= rpm * (1 + 1e-9)
    assert len(f"{got:.6g}".rstrip("0").replace(".", "").lstrip("0")) <= 2


def stepped_time(turns, speed, acceleration, steps=200_000):
    """Time from rest to rest by stepping along the way: v² = 2 a s from either end, at most `speed`."""
    s = (np.arange(steps) + 0.5) * turns / steps
    v = np.minimum(speed, np.sqrt(2 * acceleration * np.minimum(s, turns - s)))
    return float(np.sum(turns / steps / v))


@settings(deadline=None, max_examples=20)
@given(st.floats(60, 4000), st.floats(3, 60), st.floats(0.1, 3))
def test_time_against_stepping_the_motion(rpm, full, spin_up):
    cycle = Cycle(plan=plan_of(full=full), machine=RIGID.with_(spin_up=spin_up), rpm=rpm)
    assert cycle.time_in() == pytest.approx(stepped_time(cycle.turns, rpm / 60, cycle.acceleration), rel=2e-3)
    assert cycle.fastest <= cycle.spindle + 1e-9
    assert cycle.reaches_speed == (cycle.fastest > cycle.spindle - 1e-6)


def test_a_short_hole_never_sees_the_speed():
    cycle = Cycle(plan=plan_of("M6", full=4, threads=1.5), machine=RIGID, rpm=4000)
    assert not cycle.reaches_speed
    assert any("never reaches 4000 rpm" in c for c in cycle.cautions())
    slower = cycle.with_(rpm=round_down(cycle.fastest))
    assert slower.reaches_speed
    assert slower.time_in() == pytest.approx(cycle.time_in(), rel=0.05)


def test_a_late_spindle_is_told_where_to_start():
    cycle = Cycle(plan=plan_of(full=40), machine=RIGID, rpm=1500, approach=2.0)
    assert any("bites before the spindle is at speed" in c for c in cycle.cautions())
    ready = cycle.with_(approach=cycle.approach_at_speed)
    assert not any("bites before" in c for c in ready.cautions())


def test_feed_is_the_lead():
    for name in ("M10", "M6x0.75", "1/4-20", "1/2-13"):
        cycle = Cycle(plan=plan_of(name), machine=RIGID, rpm=500)
        assert cycle.feed_per_turn == cycle.thread.pitch
        assert cycle.feed_per_minute == pytest.approx(500 * cycle.thread.pitch)
        for setting in feed_settings(cycle):
            assert setting.per_turn == pytest.approx(cycle.thread.pitch, rel=1e-3)


def test_the_machine_caps_the_speed():
    cycle = Cycle(plan=plan_of("M3", full=6), machine=PRESS, rpm=3000)
    assert cycle.spindle == PRESS.top_speed
    assert any("over this machine's" in c for c in cycle.cautions())


def widened_pitch_diameter(thread, slip):
    """Pitch diameter of a groove swept axially by `slip`: where its width is P/2, found on the profile itself."""
    radius = np.linspace(thread.minor_diameter / 2, thread.major / 2 + thread.pitch, 400_001)
    width = np.array(thread.pitch / 8 + 2 * (thread.major / 2 - radius) * math.tan(math.pi / 6)) + slip
    return 2 * radius[np.argmin(abs(width - thread.pitch / 2))]


@pytest.mark.parametrize("name", ["M10", "1/4-20", "M6x0.75"])
def test_a_wrong_feed_widens_the_groove(name):
    thread, depth = Thread.parse(name), 18.0
    found = feed_error(thread, depth, thread.lead * 1.004)
    assert found.slip == pytest.approx(0.004 * depth)
    grown = widened_pitch_diameter(thread, found.slip) - widened_pitch_diameter(thread, 0.0)
    assert found.growth == pytest.approx(grown, abs=2e-5)
    assert found.share == pytest.approx(found.growth / (thread.limits.pitch_max - thread.limits.pitch_min))


def test_a_wrong_feed_by_holder_and_by_the_length_of_the_tap():
    thread = Thread.parse("M10")
    rigid, free, hand = (feed_error(thread, 20, 1.51, holder) for holder in ("rigid", "float", "hand"))
    assert rigid.force[0] > free.force[1] > hand.force[1] == 0
    assert rigid.growth > free.growth == hand.growth == 0
    assert "takes it up" in free.in_words()
    assert feed_error(thread, 200, 1.51).growth == feed_error(thread, 100, 1.51).growth
    assert feed_error(thread, 200, 1.51).slip == pytest.approx(2 * feed_error(thread, 100, 1.51).slip)


def test_the_words_on_a_wrong_feed_grow_graver():
    thread = Thread.parse("M10")
    told = [feed_error(thread, 20, thread.lead * (1 + e)).in_words() for e in (0, 0.0005, 0.003, 0.02)]
    for text, word in zip(told, ("nothing is out of step", "little of", "only just", "NO-GO")):
        assert word in text


def test_by_hand_there_is_no_speed_but_there_are_turns():
    cycle = Cycle.make(plan_of(), HAND, Workpiece.parse("C45"))
    told = {line.key for line in cycle.lines()}
    assert "turns" in told
    assert "tap depth" in told
    assert not told & {"spindle speed", "feed per turn", "time for one hole"}
    assert math.isinf(cycle.time)
    assert any("square" in c for c in cycle.cautions())


def walked(cycle, step=0.001):
    """Turns of the spindle in and out, by walking the hole: out where a peck is full, back where so many turns were
    cut since the last time."""
    lead, height = cycle.thread.lead, cycle.start_height
    deep, at, turns_in, turns_out = cycle.travel - height, 0.0, height / lead, 0.0
    since_out, since_back = 0.0, 0.0
    while at < deep - 1e-9:
        now = min(step, deep - at)
        at, turns_in = at + now, turns_in + now / lead
        since_out, since_back = since_out + now, since_back + now / lead
        if at >= deep - 1e-9:
            break
        if cycle.peck and since_out >= cycle.peck - 1e-9:
            turns_out, turns_in = turns_out + (at + height) / lead, turns_in + (at + height) / lead
            since_out = since_back = 0.0
        elif cycle.back_turns and since_back >= cycle.back_turns - 1e-9:
            turns_in, since_back = turns_in + 1.0, 0.0  # half a turn back, and half a turn to be there again
    return turns_in, turns_out + (deep + height) / lead


@pytest.mark.parametrize("machine", [RIGID, PRESS])
@pytest.mark.parametrize(
    ("peck", "back"), [(None, None), (6.0, None), (None, 2.0), (7.5, 2.0), (4.5, 1.0), (90.0, 99.0)]
)
def test_time_for_clearing_is_counted(machine, peck, back):
    cycle = Cycle.make(plan_of(), machine.with_(spin_up=0.0), Workpiece.parse("C45"), peck=peck, back_turns=back)
    there, out = walked(cycle)
    assert cycle.time_in() == pytest.approx(there * 60 / cycle.spindle, rel=1e-3)
    assert cycle.time_out() == pytest.approx(out * 60 / cycle.spindle / machine.return_ratio, rel=1e-3)
    plain = cycle.with_(peck=None, back_turns=None)
    assert cycle.time_clearing == pytest.approx(cycle.time - plain.time)
    slow = cycle.with_(machine=machine.with_(top_speed=3000, spin_up=2.0))
    assert slow.time >= cycle.time
    assert any(line.key == "clearing" for line in cycle.lines()) == bool(peck or back)


@pytest.mark.parametrize("system", ["metric", "inch"])
@pytest.mark.parametrize("machine", [RIGID, PRESS])
def test_lines_say_where_each_number_comes_from(system, machine):
    cycle = Cycle.make(plan_of("1/4-20", full=12.7), machine, Workpiece.parse("4140"), "shop")
    lines = cycle.lines(system)
    assert all(line.why for line in lines)
    text = " ".join(f"{x.what} {x.value}" for x in lines)
    assert (" in per turn" in text) == (system == "inch")
    assert "Machinery" not in text
    assert "common practice" in lines[0].why


def test_a_handbook_speed_carries_its_warning():
    cycle = Cycle.make(plan_of(), RIGID, Workpiece.parse("aluminium"), "handbook")
    assert "Machinery's Handbook" in cycle.source
    assert any("begin at a quarter" in c for c in cycle.cautions())


def test_center_tip_depth():
    plan = HolePlan(plan_of().ask.with_(center_length=3.0), 2.5)
    lines = {x.key: str(x.value) for x in Cycle(plan=plan, machine=RIGID, rpm=100).lines()}
    assert lines["center depth"] == f"{plan.tap_depth + 3:.2f} mm"


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (dict(), "needs a cutting speed"),
        (dict(speed=-3), "outside 0 to 1000"),
        (dict(rpm=1e9), "outside 0 to 100000"),
        (dict(rpm=100, approach=-1), "3 pitches are usual"),
    ],
)
def test_what_cannot_be_set_is_told(given, told):
    with pytest.raises(ValueError, match=told):
        Cycle(plan=plan_of(), machine=RIGID, **given)
    with pytest.raises(ValueError, match=r"the lead is 1\.5 mm"):
        feed_error(Thread.parse("M10"), 10, 0)


def test_by_the_minute_a_slow_spindle_feeds_more_in_each_turn_and_by_the_turn_it_does_not():
    """v = f n: the same feed by the minute over fewer turns; the shop's reason for the feed by the turn."""
    turn = Cycle(plan=plan_of(full=20), machine=RIGID, rpm=120, spindle_off=1.0)
    minute = turn.with_(feed_by="minute")
    assert turn.real_feed == turn.thread.lead
    assert minute.real_feed == pytest.approx(minute.feed_per_minute / (0.99 * minute.spindle))
    assert minute.feed_error(minute.real_feed).share > 1
    assert turn.feed_error(turn.real_feed).share == 0
    assert minute.with_(spindle_off=0.0).real_feed == minute.thread.lead
    with pytest.raises(ValueError, match="write turn or minute"):
        turn.with_(feed_by="clock")
