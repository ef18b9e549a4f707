"""Every panel's picture, blitted over random moves, is to the pixel the one drawn all anew."""

import random

import numpy as np
import pytest

from tapkit import panels
from tapkit.panels.controls import Slider

NAMES = [
    "tip", "load", "groove", "section", "hole", "sayings", "drills", "holeplan", "choice", "cycle", "setup_card",
    "diagnosis",
]  # fmt: skip


def anew(stage):
    stage.figure.stale, stage._ground = True, None
    return stage._compose().copy()


def a_move(views, dice):
    """A random value for a random control, as a dict."""
    key, view = dice.choice(
        [(k, v) for k, v in views.items() if isinstance(v.spec, Slider) or hasattr(v.spec, "options")]
    )
    if isinstance(view.spec, Slider):
        return {key: view.low + view.spec.step * dice.randint(0, int((view.high - view.low) / view.spec.step))}
    option = dice.choice(view.widget.options)
    return {key: option[1] if isinstance(option, tuple) else option}


@pytest.mark.parametrize("name", NAMES)
def test_a_blitted_picture_is_the_one_drawn_anew(name):
    panel, dice = getattr(panels, name)(), random.Random(name)
    for number in range(12):
        if number == 6:
            panel.stage.sharpen()
        panel.set(**a_move(panel.controls.views, dice))
        if panel.problem is None:
            shown = panel.stage._compose().copy()
            assert np.array_equal(shown, anew(panel.stage)), (name, number)


def test_the_bench_too_and_an_untouched_side_is_not_drawn():
    bench, dice = panels.bench(), random.Random(1)
    drawn = []
    for side in "AABAB":
        bench.sides[side].set(**a_move(bench.sides[side].views, dice))
        bench._latest.do()
        if bench.problem is None:
            assert np.array_equal(bench.stage._compose().copy(), anew(bench.stage))
    bench.reset()
    stage = bench.stage
    original = stage._draw_anew
    stage._draw_anew = lambda axes, *rest: (drawn.append(axes), original(axes, *rest))
    bench.sides["A"].set(chamfer=3)
    bench._latest.do()
    assert len(stage.figure.axes) == 4
    assert len(drawn) == 2
