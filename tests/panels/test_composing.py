"""Every panel's matplotlib picture, blitted over random moves, is to the pixel the one drawn all anew."""

import random

import numpy as np
import pytest
from moving import any_move, slide

from tapkit import panels
from tapkit.parameters import Parameter

NAMES = [
    "load", "groove", "section", "hole", "sayings", "drills", "holeplan", "choice", "cycle", "setup_card",
    "diagnosis",
]  # fmt: skip


def anew(stage):
    stage.figure.stale, stage._ground = True, None
    return stage._compose().copy()


@pytest.mark.parametrize("name", NAMES)
def test_a_blitted_picture_is_the_one_drawn_anew(name):
    panel, dice = getattr(panels, name)(), random.Random(name)
    for number in range(12):
        if number == 6:
            panel.stage.sharpen()
        any_move(panel.controls, dice.choice(list(vars(panel.values))), dice)
        if panel.problem is None:
            shown = panel.stage._compose().copy()
            assert np.array_equal(shown, anew(panel.stage)), (name, number)


def test_the_bench_too_and_an_untouched_side_is_not_drawn():
    bench, dice = panels.bench(), random.Random(1)
    drawn = []
    for side in "AABAB":
        any_move(bench.sides[side], dice.choice(list(vars(bench.sides[side].values))), dice)
        if bench.problem is None:
            assert np.array_equal(bench.stage._compose().copy(), anew(bench.stage))
    bench.reset()
    stage = bench.stage
    original = stage._draw_anew
    stage._draw_anew = lambda axes, *rest: (drawn.append(axes), original(axes, *rest))
    bench.sides["A"].set(chamfer=3)
    assert len(stage.figure.axes) == 4
    assert len(drawn) == 2


def told(panel):
    """All that the page is told, but which model of a widget is which."""
    rounds = [one for one in (panel.stage.widget, getattr(panel, "round", None)) if one]
    seen = [{key: value for key, value in w.get_state().items() if not key.startswith("_")} for w in rounds]
    return [panel.words.value, panel.set_up.line, panel.controls.shown["items"], panel.stage.still()], [
        {key: value for key, value in one.items() if key not in ("layout", "style")} for one in seen
    ]


@pytest.mark.parametrize("name", [*NAMES, "tip", "chips"])
def test_a_picture_made_ahead_is_the_one_made_when_asked_for(name):
    dice, ahead, asked = random.Random(name), getattr(panels, name)(), getattr(panels, name)()
    numbers = [c for c in ahead.controls.state.controls if isinstance(c, Parameter)]
    made, make = [], ahead.stage.prepare
    ahead.stage.prepare = lambda *what: (made.append(what), make(*what))
    used = 0
    for _number in range(5):
        one, way = dice.choice(numbers), dice.choice((-1, 1))
        for panel in (ahead, asked):
            at = panel.controls.shown["items"][one.key]["position"]
            for steps in range(1, 4):
                before = len(made)
                slide(panel.controls, one.key, at + way * steps)
                if panel is ahead:
                    used += panel.problem is None and len(made) == before
                    panel.look_ahead()
        assert told(ahead) == told(asked), (name, one.key, way)
    assert used > 4


def test_pictures_of_the_bench_made_ahead_are_those_made_when_asked_for():
    ahead, asked = panels.bench(), panels.bench()
    for side, key, steps in (("A", "chamfer", 3), ("B", "hole", 4), ("A", "axial_rake", 3)):
        for bench in (ahead, asked):
            at = bench.sides[side].shown["items"][key]["position"]
            for step in range(1, steps + 1):
                slide(bench.sides[side], key, at + step)
                if bench is ahead:
                    jobs = bench.jobs
                    bench.look_ahead()
                    assert bench.jobs is jobs
        assert ahead.table.value == asked.table.value
        assert ahead.still() == asked.still()
        for one, other in ((ahead.stage, asked.stage), (ahead.chart, asked.chart)):
            assert one.widget.value == other.widget.value
            assert one.widget.spots == other.widget.spots


def test_what_no_step_asked_for_is_not_made_ahead():
    panel = panels.load()
    at = panel.controls.shown["items"]["chamfer"]["position"]
    for moved in (lambda: slide(panel.controls, "chamfer", at + 5), lambda: panel.set(chamfer=4), panel.reset):
        moved()
        panel.look_ahead()
        assert panel.controls.next is None
    slide(panel.controls, "chamfer", 1)
    slide(panel.controls, "chamfer", 0)
    assert panel.controls.next is None  # the end of its range
