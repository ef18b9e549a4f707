"""The tip panel: what its controls stand for."""

import asyncio
import io
import time

import pytest
from PIL import Image

from tapkit import Tap
from tapkit.drawing import photo
from tapkit.geometry.fluteform import FLUTE_FORMS, form_of
from tapkit.panels import tip


@pytest.fixture(scope="module")
def panel():
    return tip()


def test_it_starts_on_a_spiral_point_plug_tap_of_usual_proportions(panel):
    panel.reset()
    assert panel.model.tap == Tap.parse("M10x1.5 spiral-point plug")
    assert panel.problem is None
    assert "form B" in panel.sentence


@pytest.mark.parametrize("form", FLUTE_FORMS)
def test_every_flute_form_brings_its_own_axial_rake_and_no_problem(panel, form):
    panel.reset().set(form=form)
    assert panel.problem is None
    assert panel.model.tap.flute_form == form
    slider = panel.controls.shown["items"]["axial_rake"]
    assert (slider["count"] == 0) == (form == "straight"), "a straight flute has no axial rake to set"
    if form != "straight":
        for end in form_of(form).axial_rakes:
            panel.set(axial_rake=end)
            assert panel.problem is None
            assert panel.model.tap.axial_rake == end


def test_left_hand_thread(panel):
    panel.reset().set(left=True)
    assert panel.model.tap.thread.hand == "left"
    assert "left-hand thread" in panel.sentence


def test_proportions_follow_the_thread(panel):
    panel.reset().set(thread="M24x3", form="straight")
    assert panel.model.tap == Tap.parse("M24x3 straight plug")


def test_what_cannot_be_ground_is_said_and_leaves_the_picture(panel):
    panel.reset()
    before = panel.stage.widget.value
    panel.set(flutes=6, core=3.0)
    assert panel.problem is not None
    assert "works" in panel.problem
    assert panel.stage.widget.value == before
    panel.reset()
    assert panel.problem is None


def test_at_rest_the_picture_is_the_full_one(panel):
    panel.reset().set(turn=10)
    shown = panel.stage.widget
    draft = shown.value
    assert shown.format == "jpeg"
    panel.stage.sharpen()
    assert shown.value != draft
    assert shown.format == "png"
    assert width_of(shown.value) == 2 * width_of(draft)


def test_start_values_are_taken():
    assert tip(form="spiral-flute", chamfer=1.5, lean=60).model.tap.name == "spiral-flute bottoming"


def width_of(picture):
    return Image.open(io.BytesIO(picture)).width


def test_at_rest_the_full_picture_is_made_beside_the_loop(panel):
    panel.reset().set(turn=24)
    draft, between = width_of(panel.stage.widget.value), []

    async def rest():
        panel.stage.sharpen()
        while width_of(panel.stage.widget.value) == draft and len(between) < 1000:
            between.append(time.monotonic())
            await asyncio.sleep(0.01)

    asyncio.run(rest())
    assert width_of(panel.stage.widget.value) == 2 * draft
    assert len(between) > 3, "the loop was free while the picture was made"


def test_a_move_while_the_full_picture_is_made_is_the_one_that_stays(panel):
    panel.reset().set(turn=36)
    draft = width_of(panel.stage.widget.value)

    async def move():
        panel.stage.sharpen()
        await asyncio.sleep(0.02)
        panel.set(turn=40)
        moved = panel.stage.widget.value
        await panel.stage._sharpening
        assert panel.stage.widget.value == moved

    asyncio.run(move())
    assert width_of(panel.stage.widget.value) == draft
    assert panel.model.turn == 40


def test_what_only_the_next_picture_of_the_same_view_would_need_is_let_go(panel):
    panel.reset().set(turn=44)
    shown = panel.stage.widget.value
    panel.stage.still()
    assert photo.exposure.cache_info().currsize > 0
    panel.stage.tidy()
    assert photo.exposure.cache_info().currsize == 0
    assert all("full" not in artist._made for artist in panel.stage._slow)
    assert panel.set(turn=46).set(turn=44).stage.widget.value == shown
