"""Every panel's matplotlib picture, blitted over random moves, is to the pixel the one drawn all anew."""

import random

import numpy as np
import pytest
from moving import any_move

from tapkit import panels

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
