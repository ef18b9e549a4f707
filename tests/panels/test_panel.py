"""A panel: controls, picture, sentence; what cannot be is said, and the last good picture stays."""

import io
import re
from dataclasses import replace

import nbformat
import numpy as np
import pytest
from drawn import texts
from moving import slide
from nbclient import NotebookClient
from nbconvert import HTMLExporter
from PIL import Image

from tapkit import panels
from tapkit.messages import _
from tapkit.panels.panel import VIEW, Panel


@pytest.fixture
def load():
    return panels.load()


def test_it_starts_with_picture_and_sentence(load):
    assert load.problem is None
    assert "Tooth 5" in load.sentence
    picture = np.asarray(Image.open(io.BytesIO(bytes(load.stage.widget.value))).convert("L"))
    assert picture.std() > 20


def test_moving_a_slider_changes_both(load):
    before, words = bytes(load.stage.widget.value), load.sentence
    slide(load.controls, "chamfer", 2)
    assert bytes(load.stage.widget.value) != before
    assert load.sentence != words
    assert load.model.tap.chamfer_threads == 1.5
    assert load.stage.widget.tooltip == load.sentence


def test_what_cannot_be_is_a_sentence_and_the_last_picture_stays(load):
    before = bytes(load.stage.widget.value)
    load.set(hole=7.6)
    assert "too small" in load.problem
    assert bytes(load.stage.widget.value) == before
    assert "tapkit-old" in load.stage.widget._dom_classes
    assert "too small" in load.words.value
    load.set(hole=8.5)
    assert load.problem is None
    assert "tapkit-old" not in load.stage.widget._dom_classes


def test_a_wrong_number_is_never_markup(load):
    spec = load.spec.__class__(**{**vars(load.spec), "describe": lambda job, system: "<script>alert(1)</script>"})
    panel = Panel(spec)
    assert "<script>alert" not in panel.words.value + panel.still()


def test_an_unforeseen_error_is_a_sentence_too(load, monkeypatch, caplog):
    def broken(values):
        raise ZeroDivisionError("oops")

    spec = load.spec.__class__(**{**vars(load.spec), "model_from": broken})
    panel = Panel(spec)
    assert "press Reset" in panel.problem
    assert "oops" in panel.problem


def test_a_message_without_a_change_draws_nothing(load):
    pictures = load.stage.pictures
    slide(load.controls, "chamfer", load.controls.shown["items"]["chamfer"]["position"])
    load._latest.ask()
    assert load.stage.pictures == pictures


def test_inch_and_back(load):
    words = load.sentence
    load.set_system("inch")
    load.set()
    assert load.model.hole.diameter == 8.5
    load.set_system("metric")
    load.set()
    assert load.sentence == words


def test_projector_size(load):
    load.set_size("projector")
    assert load.stage.widget.width == str(round(load.spec.size[0] * 1.5))
    assert "tapkit-projector" in load.widget._dom_classes


@pytest.mark.parametrize(
    ("name", "impossible"),
    [
        ("load", dict(hole=7.6)),
        ("holeplan", dict(full=25, thickness=20)),
        ("drills", dict(shelf="banana")),
        ("drills", dict(thread="M64x4", shelf="1 mm")),
        ("hole", dict(hole=7.6)),
        ("bench", dict(flutes=6, core=2.5)),
    ],
)
def test_the_last_possible_picture_follows_units_and_size(name, impossible, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    panel = getattr(panels, name)()
    many = name == "bench"
    one = panel.put(A=panel.sides["A"].state.with_(**impossible)) if many else panel.set(**impossible)
    assert one.problem
    words = {"metric": r"\d mm\b", "inch": r"\d in\b"}
    for system, other in (("inch", "metric"), ("metric", "inch")):
        panel.set_system(system)
        panel.put() if many else panel.set()
        assert panel.problem
        assert "tapkit-old" in panel.stage.widget._dom_classes
        if hasattr(panel, "table"):
            assert "tapkit-past" in panel.table._dom_classes, "numbers of what was possible are not shown"
        shown = "\n".join(t.get_text() for ax in panel.stage.figure.axes for t in texts(ax))
        assert re.search(words[system], shown)
        assert not re.search(words[other], shown), shown
        assert re.search(words[system], panel.table.value if hasattr(panel, "table") else shown)
    panel.set_size("projector")
    assert panel.stage.widget.width == str(round(panel.stage.size[0] * 1.5))


def test_a_start_may_be_given():
    assert panels.load(chamfer=1.5, thread="M6x1").model.tap.chamfer_threads == 1.5


@pytest.fixture(scope="module")
def ran():
    book = nbformat.v4.new_notebook()
    book.cells = [nbformat.v4.new_code_cell("from tapkit import panels\npanels.load()")]
    NotebookClient(book, timeout=120, kernel_name="python3").execute()
    return book


def test_a_saved_notebook_holds_view_picture_and_sentence(ran):
    view, still = ran.cells[0].outputs
    assert set(view.data) == {VIEW, "text/plain"}
    assert "data:image/png;base64," in still.data["text/html"]
    assert "carries the most" in still.data["text/html"]


@pytest.mark.parametrize("with_state", [True, False])
def test_an_exported_page_shows_picture_and_sentence_by_itself(ran, with_state):
    book = nbformat.from_dict(ran)
    if not with_state:
        book.metadata.pop("widgets", None)
    page, _ = HTMLExporter().from_notebook_node(book)
    figure = re.search(r'<figure class="(tapkit-\w+)".*?</figure>', page, re.DOTALL)
    assert 'alt="' in figure[0]
    assert "carries the most" in figure[0]
    before_state = page.split('<script type="application/vnd.jupyter.widget-state+json">')[0]
    assert f".{figure[1]} {{display: none}}" not in before_state, "only the live panel may hide it"


def test_a_load_panel_that_begins_with_what_cannot_be_says_so(monkeypatch):
    def model_from(values):
        raise ValueError(_("the thread is as deep as the sea"))

    made = panels.load.__globals__["spec"]()
    monkeypatch.setitem(panels.load.__globals__, "spec", lambda: replace(made, model_from=model_from))
    assert "deep as the sea" in panels.load().words.value
