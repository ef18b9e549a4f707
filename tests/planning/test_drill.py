"""Choosing a drill for a thread."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapkit import Hole, Operation, Tap, Thread, Workpiece
from tapkit.geometry.designation import standard_threads
from tapkit.geometry.drillsize import drill_set, read_size
from tapkit.planning.drill import (
    DrillFit,
    advised_drills,
    chart_drill,
    drilled_size,
    drills,
    nearest_drills,
    read_shelf,
    wanted_percent,
)

EVERY = [t for t in standard_threads() + standard_threads("unified") if t.major <= 100]
"""Every listed thread that a twist drill of our sets can serve."""


@settings(deadline=None, max_examples=60)
@given(st.sampled_from(EVERY), st.floats(50, 83), st.sampled_from(["custom", "iso"]))
def test_the_nearest_drill_is_nearest(thread, percent, basis):
    found = nearest_drills(thread, percent, drills(), basis=basis, count=4)
    wanted = thread.hole_for_percent(percent, basis)
    away = [abs(f.drill.diameter - wanted) for f in found]
    assert away == sorted(away)
    usable = [d for d in drills() if thread.major - 1.3 * thread.pitch <= d.diameter < thread.major]
    assert away[0] == pytest.approx(min(abs(d.diameter - wanted) for d in usable), abs=1e-6)


def test_both_percents_differ_by_the_two_heights():
    for thread in EVERY[::7]:
        fit = nearest_drills(thread, 75, drills(), count=1)[0]
        assert fit.percent_iso / fit.percent == pytest.approx(6 / 5, rel=1e-9)


def test_limits_agree_with_the_thread():
    thread = Thread.parse("M10")  # minor diameter 8.376 to 8.676 mm
    told = {d: DrillFit(thread, read_size(d)).own_limits for d in ("8.3", "8.4", "8.5", "8.6", "8.7")}
    assert told == {"8.3": "under", "8.4": "within", "8.5": "within", "8.6": "within", "8.7": "over"}
    assert DrillFit(thread, read_size("8.7")).over_limit == pytest.approx(8.7 - 8.676, abs=1e-9)
    assert DrillFit(thread, read_size("8.3")).over_limit == pytest.approx(8.3 - 8.376, abs=1e-9)


def test_a_drill_is_judged_by_the_holes_it_cuts():
    thread = Thread.parse("M10")  # a drill cuts some 0.07 to 0.18 mm wide here, 0.11 mm on average
    told = {d: DrillFit(thread, read_size(d)).limits for d in ("8.2", "8.3", "8.5", "8.6", "8.7")}
    assert told == {"8.2": "under", "8.3": "within", "8.5": "within", "8.6": "may be over", "8.7": "over"}
    fit = DrillFit(thread, read_size("8.5"))
    assert fit.percent_cut < fit.percent
    assert fit.percent_cut == pytest.approx(thread.percent(drilled_size(8.5).mean))


@pytest.mark.parametrize("thread", EVERY[::5], ids=lambda t: t.designation)
def test_the_wall_charts_drill_goes_first_unless_it_cannot_keep_the_class(thread):
    chart = DrillFit(thread, chart_drill(thread))
    if chart.limits in ("within", "may be over") and chart.percent <= 80:
        assert advised_drills(thread, 75)[0].on_chart


@pytest.mark.parametrize("size", ["M3", "M5", "M8", "M10", "M12", "M16", "M20", "M24"])
def test_the_wall_charts_drill_is_not_left_for_a_percent_or_two(size):
    thread = Thread.parse(size)
    assert advised_drills(thread, 70)[0].on_chart


def test_the_limits_of_a_class_are_honoured():
    thread = Thread.parse("M10")
    for tolerance, name in (("", "8.5 mm"), ("4H", "8.4 mm"), ("5H", "8.5 mm"), ("7H", "8.5 mm")):
        best = advised_drills(thread, 75, tolerance=tolerance)[0]
        assert (best.drill.name, best.limits) == (name, "within")


def test_of_ones_own_shelf_the_best_is_taken():
    thread, shelf = Thread.parse("M10"), read_shelf("8.2, 8.4, 8.6, 8.8")
    assert advised_drills(thread, 75, shelf)[0].drill.name == "8.4 mm"


def test_torque_ratio_is_that_of_two_operations():
    thread, tap = Thread.parse("M10"), Tap.make("M10", "straight", "plug")
    peak = [
        Operation(
            tap=tap, hole=Hole(kind="through", diameter=d, depth=60), workpiece=Workpiece.parse("C45")
        ).torque_curve.peak
        for d in (8.7, thread.hole_for_percent(75))
    ]
    assert DrillFit(thread, read_size("8.7")).torque_ratio == pytest.approx(peak[0] / peak[1], rel=1e-9)


def test_a_wider_drill_always_costs_less_torque():
    ratios = [DrillFit(Thread.parse("1/4-20"), d).torque_ratio for d in drill_set("number")[2:9]]
    assert ratios == sorted(ratios)


def test_the_shelf_limits_the_choice():
    shelf = read_shelf("6.5, 6.8, 7, F, 27/64")
    found = nearest_drills(Thread.parse("M8"), 75, shelf, count=9)
    assert next(f.drill.name for f in found) == "6.8 mm"
    assert {f.drill.name for f in found} <= {d.name for d in shelf}
    with pytest.raises(ValueError, match=r"no drill of these can be used for M20x2\.5; the wall chart's is 17\.5 mm"):
        nearest_drills(Thread.parse("M20"), 75, shelf)


@pytest.mark.parametrize("percent", [-1, 0, 20, 101, float("nan")])
def test_a_percent_out_of_reach_is_told(percent):
    with pytest.raises(ValueError, match="50 to 83 is usual"):
        nearest_drills(Thread.parse("M8"), percent)


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("6.8, 8.5, #7, F, 27/64", ["#7", "F", "6.8 mm", "8.5 mm", "27/64"]),
        ("6.8,8.5,#7,F,27/64", ["#7", "F", "6.8 mm", "8.5 mm", "27/64"]),
        ("6,8; 8,5; #7", ["#7", "6.8 mm", "8.5 mm"]),
        ("6,8, 8,5", ["6.8 mm", "8.5 mm"]),
        ("6,8", ["6.8 mm"]),
        ("8.5\n6.8", ["6.8 mm", "8.5 mm"]),
        ("#3 to #1", ["#3", "#2", "#1"]),
        ("A-C", ["A", "B", "C"]),
        ("1/4 to 5/16 by 1/32", ["1/4", "9/32", "5/16"]),
        ("5 to 6 by 0.5", ["5 mm", "5.5 mm", "6 mm"]),
        ("8.5, 8.5 mm, #7, 0.201 in", ["#7", "8.5 mm"]),
    ],
)
def test_shelves_as_people_write_them(text, names):
    assert [d.name for d in read_shelf(text)] == names


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("6.8, banana", "cannot read 'banana' on the shelf"),
        ("", "shelf is empty"),
        ("6,8,10", "read in two ways"),
        ("1 to 13", "needs a step"),
        ("1 to 300 by 0.1", "at most 500"),
        ("x" * 3000, "short list"),
    ],
)
def test_shelves_that_cannot_be_read(text, told):
    with pytest.raises(ValueError, match=told):
        read_shelf(text)


def test_a_drill_cuts_wide():
    for size in (1.0, 3.3, 8.5, 12.7, 25.4, 40.0):
        least, mean, most, source = drilled_size(size)
        assert size < least < mean < most < size + 0.25
        assert "Machinery's Handbook" in source


def test_wanted_percent_follows_the_metal_and_the_depth():
    steel, tough = Workpiece.parse("C45"), Workpiece.parse("304")
    assert wanted_percent(steel).percent == 75
    assert wanted_percent(tough).percent < wanted_percent(steel).percent
    assert wanted_percent(steel, full_thread=20, major=10).percent < wanted_percent(steel).percent
    assert "deep hole" in wanted_percent(steel, full_thread=20, major=10).reason


def test_every_drill_is_told_in_one_sentence():
    for name in ("8.3", "8.5", "8.8"):
        told = DrillFit(Thread.parse("M10"), read_size(name)).in_words()
        assert str(told).endswith(".")
        assert "handbook custom" in told
