"""Hole plans against published worked examples."""

import pytest

from tapkit import Thread
from tapkit.geometry.drillsize import read_drill
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holefit import chamfer_fits, longest_chamfer
from tapkit.planning.holeplan import HolePlan

INCH = 25.4


def test_drill_point_of_a_5_8_11_hole():
    """Tooling & Production, August 2006, "Drilling depths for easy tapping": 5/8-11, 17/32 drill, 118° point.

    Its rule 0.3 D gives 0.159 in for the point, and 1.400 + 0.159 = 1.559 in to program.
    """
    ask = DrawingAsk(thread=Thread.parse("5/8-11"), drill=read_drill("17/32"), full_thread=1.0 * INCH)
    assert ask.cone_depth / INCH == pytest.approx(0.159, abs=0.001)
    plan = HolePlan(ask.with_(clearance=0.0), (1.4 - 1.0) * 11)
    assert plan.cylinder / INCH == pytest.approx(1.4, abs=1e-9)
    assert plan.drill_point / INCH == pytest.approx(1.559, abs=0.001)


def test_rule_for_a_135_degree_point():
    """The same article: 0.2 D for a 135° point; plain geometry gives 0.207 D, so the rule is 3.5 % short."""
    ask = DrawingAsk(thread=Thread.parse("5/8-11"), drill=read_drill("17/32"), full_thread=INCH, drill_angle=135)
    assert ask.cone_depth / ask.drill == pytest.approx(0.2, abs=0.0075)


def test_the_room_of_that_hole_takes_a_plug_tap_but_no_taper_tap():
    """The same article: 1.0 in of full thread in 1.4 in of drilled depth is "only 0.400 in" to work with."""
    ask = DrawingAsk(
        thread=Thread.parse("5/8-11"),
        drill=read_drill("17/32"),
        full_thread=1.0 * INCH,
        thickness=1.4 * INCH,
        drill_angle=180,
        clearance=0.0,
    )
    assert [f.fits for f in chamfer_fits(ask)] == [False, True, True, True]
    assert longest_chamfer(ask) == pytest.approx(0.4 * 11)


def test_shallow_m6_hole_of_a_training_college():
    """tte-lisa.ac.uk (a training college), page Taps & Dies: M6, thread 7 mm deep in a hole about 9 mm deep.

    A taper tap meets the bottom before there is full thread; the hole is finished with the (British) plug tap,
    which is the US bottoming tap.
    """
    ask = DrawingAsk(thread=Thread.parse("M6"), drill=5, full_thread=7, thickness=9, drill_angle=180, clearance=0.0)
    fits = {f.british: f.fits for f in chamfer_fits(ask)}
    assert not fits["taper"]
    assert not fits["second"]
    assert fits["plug"]
    assert HolePlan(ask, 8).tap_depth > 9
