"""The load on the teeth as colours, hatch and words: what the tap in the round is told, and its link with the bars."""

import itertools

import numpy as np
import pytest

from tapkit import panels
from tapkit.drawing.toothcolours import HATCH, RAMP, classes, linear, load_on_teeth, steps_of_load
from tapkit.operation import Operation

JOB = Operation.parse("M10x1.5 spiral-point plug", "through 8.5 mm x 15 mm", "C45")


def test_each_class_is_darker_and_hatched_closer_than_the_last():
    light = [float(np.dot([0.2126, 0.7152, 0.0722], [linear(c) for c in colour])) for colour in RAMP]
    assert all(a > 1.5 * b for a, b in itertools.pairwise(light))
    assert HATCH[0] == 0
    assert all(a > b for a, b in itertools.pairwise(HATCH[1:]))


def test_every_tooth_that_cuts_has_the_colour_of_its_force():
    told, steps, (top, _kinds) = load_on_teeth(JOB), steps_of_load(JOB), classes(JOB)
    loads = JOB.tooth_loads
    assert [t["number"] for t in told] == loads.number[loads.area > 0].tolist()
    for tooth in told:
        force = loads.force[loads.number == tooth["number"]][0]
        place = next(i for i, step in enumerate(steps) if step["colour"] == tooth["colour"])
        assert top * place / len(RAMP) <= force <= top * (place + 1) / len(RAMP)
        assert tooth["share"] == pytest.approx(force / loads.force.max(), abs=1e-4)


def test_words_are_said_in_the_systems_units():
    assert "N" in load_on_teeth(JOB)[0]["words"]
    assert "lbf" in load_on_teeth(JOB, "inch")[0]["words"]
    assert "lbf" in steps_of_load(JOB, "inch")[0]["words"]


def test_pointing_at_a_tooth_lights_its_bar_and_no_other():
    panel = panels.load()
    before = panel.stage.widget.value
    panel.round.pointed = 5
    lit = panel.stage.widget.value
    panel.round.pointed = 6
    assert len({before, lit, panel.stage.widget.value}) == 3
    panel.round.pointed = 0
    assert panel.stage.widget.value == before


def test_a_slider_of_the_load_panel_tells_the_teeth_anew():
    panel = panels.load()
    before = panel.round.teeth
    panel.set(chamfer=2)
    assert panel.round.teeth == load_on_teeth(panel.model) != before
