"""Gauges, a wrong feed, going back and the feel of hands: oracles of another kind, and what each must do."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import jobs

from tapkit import Faults, Operation, Thread, tables
from tapkit.mechanics import expected, feed, gauges, goingback, hand
from tapkit.mechanics.caution import has_no_full_thread

JOB = Operation.parse("M10x1.5 plug", "through 8.5 mm x 15 mm", "C45")
BLIND = Operation.parse("M10x1.5 spiral-flute bottoming", "blind 8.5 mm x 25 mm", "C45")


# --- gauges -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("thread", "name", "low", "high"),
    [
        ("M6", "2", 5.385, 5.409),
        ("M10", "2", 9.068, 9.096),
        ("M10", "1", 9.040, 9.068),
        ("1/4-20", "H3", 0.2185 * 25.4, 0.2190 * 25.4),
        ("3/8-16", "H3", 0.3354 * 25.4, 0.3359 * 25.4),
        ("3/8-16", "H1", 0.3344 * 25.4, 0.3349 * 25.4),
        ("1/4-20", "", 0.2195 * 25.4, 0.2200 * 25.4),
        ("1-8", "H4", 0.9203 * 25.4, 0.9208 * 25.4),
        ("1 1/4-12", "H4", 1.1974 * 25.4, 1.1979 * 25.4),
    ],
)
def test_pitch_diameters_of_taps_as_tables_print_them(thread, name, low, high):
    """ISO 2857 classes as tap tables print them [memory]; ASME H limits as Machinery's Handbook, 31st ed., prints
    them (p. 972 and table 21); to the last printed digit."""
    found = gauges.tap_class(Thread.parse(thread), name)
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.0013)


@pytest.mark.parametrize("row", tables.rows("threads_unified"), ids=lambda r: f"{r['size']}-{r['threads_per_inch']}")
def test_the_tap_of_2b_goes_by_the_size_and_stays_in_the_lower_half(row):
    """The limit rises with the size, in steps of half a thousandth: H2 for #0-80, H5 for 1/4-20 and 3/4-10; nowhere
    past the middle of the tolerance by more than a tenth of a thousandth, so that a cut may grow and still gauge."""
    thread = Thread.parse(f"{row['size']}-{row['threads_per_inch']}")
    tap, limits = gauges.tap_class(thread), thread.limits
    assert "2B" in tap.made_for
    assert limits.pitch_min - 0.001 <= tap.low
    assert tap.high <= (limits.pitch_min + limits.pitch_max) / 2 + 0.0026


@pytest.mark.parametrize(("thread", "turns"), [("M10", 2), ("1/2-13", 3)])
def test_how_far_no_go_may_enter(thread, turns):
    """ISO 1502: two turns; ASME B1.2: three."""
    job = Operation.parse(f"{thread} plug", f"through {8.5 if turns == 2 else 10.7} mm x 15 mm", "C45")
    assert gauges.no_go_depth(job.tap.thread) == turns * job.tap.thread.pitch
    assert f"NO-GO may enter by {turns} turns" in job.gauges.sentence


@given(jobs())
def test_a_usual_tap_that_runs_true_passes_go(job):
    found = job.gauges
    assert found.go == gauges.IN
    assert found.mouth[0] <= found.inside[0] <= found.inside[1] <= found.mouth[1] + 1e-12
    assert ("NO-GO" in found.sentence) != has_no_full_thread(job.tap, job.hole)


@given(st.floats(0, 0.4), st.floats(0, 3), st.floats(0, 2))
def test_every_fault_widens_the_range_and_none_narrows_it(runout, tilt, error):
    found = JOB.with_(faults=Faults(runout=runout), tilt=tilt, feed_error=error).gauges
    assert found.inside[1] >= JOB.gauges.inside[1]
    assert found.mouth[1] - JOB.gauges.mouth[1] >= found.inside[1] - JOB.gauges.inside[1] - 1e-12
    assert found.inside[0] == pytest.approx(JOB.gauges.inside[0])


def test_runout_as_the_dial_reads_it_is_the_growth_at_the_mouth():
    """A tap that turns e off its axis sweeps a circle 2 e larger across: the dial's reading, no more and no less."""
    out = JOB.with_(faults=Faults(runout=0.08)).gauges
    assert out.mouth[1] - JOB.gauges.mouth[1] == pytest.approx(0.08)
    assert 0 < out.inside[1] - JOB.gauges.inside[1] < 0.08


@pytest.mark.parametrize(
    ("change", "no_go"),
    [
        (dict(), gauges.OUT),
        (dict(faults=Faults(runout=0.3)), gauges.PERHAPS),
        (dict(tap_class="3", feed_error=1.0), gauges.PERHAPS),
        (dict(feed_error=1.0, holder="float"), gauges.OUT),
        (dict(feed_error=1.0, holder="hand"), gauges.OUT),
    ],
)
def test_what_the_no_go_gauge_does(change, no_go):
    job = JOB.with_(**change)
    assert job.gauges.no_go == no_go
    assert (job.gauges.sentence in job.cautions) == (no_go != gauges.OUT)


def test_a_tap_too_large_for_its_hole_is_told():
    fine = Operation.parse("M10x0.75 plug", "through 9.3 mm x 10 mm", "C45")
    wide = gauges.gauges(
        thread=fine.tap.thread,
        tap=gauges.TapClass("test", 9.7, 9.8, "", ""),
        parts=gauges.growths(thread=fine.tap.thread, runout=0, tilt=0, chamfer=0, feed=((0, 0), (0, 0))),
    )
    assert wide.no_go == gauges.IN
    assert "scrap" in wide.sentence
    small = gauges.gauges(thread=fine.tap.thread, tap=gauges.TapClass("t", 9.0, 9.1, "", ""), parts=wide.parts)
    assert small.go == gauges.OUT
    assert "GO gauge may stop" in small.sentence


def test_an_unknown_class_is_told_with_those_there_are():
    with pytest.raises(ValueError, match="no class 'H3'; there are 1, 2, 3"):
        JOB.with_(tap_class="H3")


# --- the feed -----------------------------------------------------------------------------------------


def test_slip_by_counting_the_teeth_that_pass_a_place():
    """Turn by turn: where the tap's threads stand against the groove cut first at one place."""
    pitch, length, depth, per_turn, place = 1.5, 24.0, 60.0, 1.507, 10.0
    turn = np.arange(0, depth / pitch, 1e-3)
    travel = turn * pitch  # of the point, followed by the thread in the hole
    passing = (travel >= place) & (travel <= place + length)  # the tap's thread lies at that place
    out = turn * (per_turn - pitch)
    swept = out[passing].max() - out[passing].min()
    found = feed.slip(off=per_turn - pitch, pitch=pitch, depth=depth, thread_length=length, at=place)
    assert found == pytest.approx(swept, rel=2e-3)


def test_growth_stops_at_the_length_of_the_tap_and_fades_to_the_bottom():
    deep = BLIND.with_(hole=BLIND.hole.with_(depth=80.0), feed_error=0.5)
    long = expected.thread_length(10.0)
    assert deep.feed_off().slip == pytest.approx(0.005 * 1.5 * long / 1.5)
    along = [deep.feed_off(at).growth[1] for at in (0, 40, 60, 70, deep.tapped_depth)]
    assert along == sorted(along, reverse=True)
    assert along[-1] == 0


def test_holders_rank_by_how_much_they_give():
    force = [JOB.with_(feed_error=0.5, holder=h).feed_off().force[1] for h in ("rigid", "float", "hand")]
    assert force[0] > 100 * force[1] > force[2] == 0
    spent = JOB.with_(feed_error=8.0, hole=JOB.hole.with_(depth=100.0), holder="float").feed_off()
    assert 0 < spent.growth[1] < JOB.with_(feed_error=8.0, hole=JOB.hole.with_(depth=100.0)).feed_off().growth[1]
    assert "does not give" in spent.sentence


@pytest.mark.parametrize(
    ("change", "says"), [(dict(feed_error=50.0), "off the lead is outside"), (dict(holder="vice"), "not a holder")]
)
def test_what_no_machine_does(change, says):
    with pytest.raises(ValueError, match=says):
        JOB.with_(**change)


# --- going back ---------------------------------------------------------------------------------------


@given(jobs())
def test_going_back_is_never_less_than_the_flanks_nor_more_than_flanks_and_cut(job):
    back, found = job.going_back, job.expected_torque
    assert (back.low <= back.high + 1e-12).all()
    assert back.low == pytest.approx(found.low.friction)
    most = found.high.friction + found.factors.cut.high * found.factors.scatter * job.torque_curve.peak
    assert (back.high <= most * (1 + 1e-9) + 1e-9).all()


def test_roots_by_a_plain_loop_over_flutes_and_teeth():
    job, depth = BLIND, np.array([0.5, 2.0, 4.0, 20.0])
    each = job.tooth_loads.force * job.slices.radius / 1000
    found = goingback.root_torque(depth, job.slices, each, job.hole, job.tap.flutes)
    for d, total in zip(depth, found):
        by_flute = {}
        for k, flute in enumerate(job.slices.flute):
            length = job.slices.end[k] - job.slices.start[k]
            share = min(max((d - job.slices.start[k]) / length, 0), 1) if length else 0
            if share * each[k] > 0:
                by_flute[flute] = share * each[k]
        assert total == pytest.approx(sum(by_flute.values()))


def test_no_root_is_left_behind_a_through_hole_nor_by_short_chips():
    end = JOB.expected_torque
    assert end.back.high[-1] == pytest.approx(end.high.friction[-1])
    iron = Operation.parse("M10x1.5 plug", "blind 8.5 mm x 25 mm", "grey iron")
    assert iron.going_back.high == pytest.approx(iron.expected_torque.high.friction)
    assert "leave no root" in iron.going_back.sentence
    assert "every root" in JOB.going_back.sentence
    one = goingback.going_back(
        depth=np.array([1.0]), friction=(np.ones(1), np.ones(1)), roots=np.ones(1), free=0.6, flutes=1, short=False
    )
    assert "not enough" in one.sentence


# --- by hand ------------------------------------------------------------------------------------------


def test_small_taps_break_before_hands_feel_it():
    small = Operation.parse("M3 plug", "through 2.5 mm x 4 mm", "C45").hand
    assert "feel comes too late" in small.feel
    assert "turn back and clear" in JOB.hand.feel
    assert hand.force_of_each_hand(JOB.expected_torque.peak[1], JOB.hand.wrench) == pytest.approx(
        JOB.hand.force_range[1]
    )
