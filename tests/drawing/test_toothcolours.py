"""The load on the teeth as colours, hatch and words: what the tap in the round is told, and its link with the bars."""

import itertools

import numpy as np
import pytest

from tapkit import panels
from tapkit.drawing.style import FLUTES
from tapkit.drawing.toothcolours import HATCH, RAMP, classes, linear, load_on_teeth, steps_of_load
from tapkit.operation import Operation

JOB = Operation.parse("M10x1.5 spiral-point plug", "through 8.5 mm x 15 mm", "C45")


def test_each_class_is_darker_and_hatched_closer_than_the_last():
    light = [float(np.dot([0.2126, 0.7152, 0.0722], [linear(c) for c in colour])) for colour in RAMP]
    assert all(a > 1.5 * b for a, b in itertools.pairwise(light))
    assert HATCH[0] == 0
    assert all(a > b for a, b in itertools.pairwise(HATCH[1:]))


def lab(rgb):
    """CIE L*a*b* of coded red, green, blue under D65. Source: CIE 15, IEC 61966-2-1."""
    to_xyz = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    x, y, z = np.array(to_xyz) @ [linear(c) for c in rgb] / [0.9505, 1.0, 1.089]
    x, y, z = (c ** (1 / 3) if c > 0.008856 else 7.787 * c + 16 / 116 for c in (x, y, z))
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def test_no_colour_of_a_load_is_one_of_a_flute():
    flutes = [lab([int(c[i : i + 2], 16) / 255 for i in (1, 3, 5)]) for c in FLUTES]
    assert min(np.linalg.norm(lab(a) - b) for a in RAMP for b in flutes) > 20


def test_all_classes_have_one_hue():
    hues = [np.degrees(np.arctan2(*lab(c)[:0:-1])) for c in RAMP]
    assert max(hues) - min(hues) < 20


def test_every_tooth_that_cuts_has_the_colour_of_its_force():
    every, steps, (top, _kinds) = load_on_teeth(JOB), steps_of_load(JOB), classes(JOB)
    loads, told = JOB.tooth_loads, [t for t in every if "colour" in t]
    assert [t["number"] for t in every] == loads.number.tolist()
    assert {t["number"] for t in every if "no contact" in t["words"]} == set(loads.number[loads.area == 0].tolist())
    assert [t["number"] for t in told] == loads.number[loads.area > 0].tolist()
    for tooth in told:
        force = loads.force[loads.number == tooth["number"]][0]
        place = next(i for i, step in enumerate(steps) if step["colour"] == tooth["colour"])
        assert top * place / len(RAMP) <= force <= top * (place + 1) / len(RAMP)
        assert tooth["share"] == pytest.approx(force / loads.force.max(), abs=1e-4)


def test_words_are_said_in_the_systems_units():
    assert "N" in load_on_teeth(JOB)[3]["words"]
    assert "lbf" in load_on_teeth(JOB, "inch")[3]["words"]
    assert "lbf" in steps_of_load(JOB, "inch")[0]["words"]


@pytest.mark.parametrize("make", [panels.load, panels.groove])
def test_a_picture_tells_where_each_tooth_lies_in_it(make):
    """Pointing is the browser's: it needs the place and the words of each tooth."""
    panel = make()
    loads = getattr(panel.model, "job", panel.model).tooth_loads
    words = {t["number"]: t["words"] for t in load_on_teeth(getattr(panel.model, "job", panel.model))}
    spots = panel.stage.widget.spots
    assert set(loads.number[loads.area > 0].tolist()) <= {number for number, _words, _places in spots}
    for number, told, places in spots:
        assert told == words.get(number, told)
        assert all(0 <= place <= 1 for place in places)
    bars = {number: places for number, _words, places in spots if min(places[1::2]) > 0.55}
    across = [places[0] for _number, places in sorted(bars.items())]
    assert across == sorted(across), "bars stand in order"
    panel.set(flutes=4)
    assert panel.stage.widget.spots != spots


def test_a_slider_of_the_load_panel_tells_the_teeth_anew():
    panel = panels.load()
    before = panel.round.teeth
    panel.set(chamfer=2)
    assert panel.round.teeth == load_on_teeth(panel.model) != before
