"""Drawings asked for by name: every one that the bank asks for draws, as PNG and as SVG, and can be changed in place."""

import io

import numpy as np
import pytest
from matplotlib.figure import Figure
from PIL import Image

from tapkit.drawing import sketch
from tapkit.exercises.bank import exercises


def asked():
    found = {}
    for one in exercises():
        for question in (one.questions[0], one.questions[-1]):
            for drawing in (question.sketch, question.reveal):
                if drawing is not None and drawing.name != "film":
                    found.setdefault(drawing.name, []).append(drawing.model)
    return found


ASKED = asked()


def test_every_drawing_of_the_bank_is_known():
    assert set(ASKED) <= set(sketch.KINDS)


@pytest.mark.parametrize("name", sorted(ASKED))
def test_it_draws(name):
    for model in ASKED[name][:3]:
        image = Image.open(io.BytesIO(sketch.picture(name, model, scale=1.0)))
        assert image.size == sketch.KINDS[name].size
        assert np.asarray(image.convert("L")).std() > 10
    assert sketch.picture(name, ASKED[name][0], format="svg").lstrip().startswith(b"<?xml")


@pytest.mark.parametrize("name", sorted(set(ASKED) - {"toothbars"}))
def test_it_is_described(name):
    assert sketch.describe_sketch(name, ASKED[name][0]).strip().endswith(".")


def test_it_changes_in_place():
    first, second = ASKED["tip"][:2]
    figure = Figure(figsize=(6, 3))
    artists = sketch.draw_sketch(figure, "tip", first)
    before = {a.get_text() for a in figure.axes[0].texts if a.get_visible()}
    sketch.update_sketch(artists, "tip", second)
    assert {a.get_text() for a in figure.axes[0].texts if a.get_visible()} != before


def test_an_unknown_drawing_is_told():
    with pytest.raises(ValueError, match="there is no drawing"):
        sketch.draw_sketch(Figure(), "portrait", None)
