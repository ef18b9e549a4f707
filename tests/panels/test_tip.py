"""The tip panel: what its controls stand for."""

import html
import io

import pytest
from PIL import Image

from tapkit import Tap, panels
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
    before = panel.stage.widget.vertices
    panel.set(flutes=6, core=3.0)
    assert panel.problem is not None
    assert "works" in panel.problem
    assert panel.stage.widget.vertices == before
    panel.reset()
    assert panel.problem is None


def test_start_values_are_taken():
    panel = tip(form="spiral-flute", chamfer=1.5, tilt=60, turn=20, zoom=2)
    assert panel.model.tap.name == "spiral-flute bottoming"
    assert panel.stage.widget.view == {"turn": 20, "tilt": 60, "zoom": 2}
    assert panel.reset().stage.widget.view["tilt"] == 60


def test_the_hand_that_turns_it_moves_the_state_and_the_sentence_and_sends_no_tap(panel):
    panel.reset()
    shown, sent = panel.stage.widget, []
    shown.observe(lambda change: sent.append(change), "vertices")
    shown.view = {"turn": -30.0, "tilt": 90.0, "zoom": 1.5}
    assert (panel.values.turn, panel.values.lean, panel.values.zoom) == (-30, 90, 1.5)
    assert panel.sentence == shown.name
    assert "straight on to its point" in panel.sentence
    assert not sent
    panel.set(chamfer=2)
    assert len(sent) == 1
    assert shown.view["turn"] == -30


def test_the_sliders_of_the_hand_are_gone_from_the_screen(panel):
    shown = {control["key"] for group in panel.controls.spec for control in group["controls"]}
    assert shown == set(vars(panel.values)) - {"turn", "lean", "zoom"}


def test_a_browser_without_webgl_asks_for_stills_that_follow():
    panel = tip()
    assert not panel.stage.widget.still
    panel.stage.widget.wants_still = True
    first = panel.stage.widget.still
    panel.set(chamfer=2)
    assert Image.open(io.BytesIO(panel.stage.widget.still)).size == tuple(2 * n for n in panel.stage.size)
    assert panel.stage.widget.still != first


def test_what_is_saved_holds_the_still_and_a_page_that_turns():
    saved = tip().still()
    assert "<img" in saved.split("<iframe")[0]
    assert 'sandbox="allow-scripts"' in saved
    assert "function mount(" in html.unescape(saved.split("srcdoc=")[1])
    assert len(saved.encode()) < 1_200_000


@pytest.mark.parametrize("name", ["tip", "load", "bench"])
def test_no_word_of_a_missing_widget_stands_above_what_is_saved(name, monkeypatch):
    shown = []
    monkeypatch.setattr("tapkit.panels.panel.display", lambda thing, **how: shown.append(thing))
    getattr(panels, name)()._ipython_display_()
    assert ".jp-OutputArea-child:not(:has(> .jp-OutputArea-output > *))" in shown[-1].data
