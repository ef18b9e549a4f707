"""The set-up line under every panel: it is what the panel shows, takes another whole, refuses in one sentence."""

import os

import pytest

from tapkit import drawer, panels, setupline
from tapkit.panels import setupbox

WITH_LINE = [
    "load",
    "section",
    "hole",
    "groove",
    "tip",
    "chips",
    "drills",
    "holeplan",
    "diagnosis",
    "sayings",
    "thread_strength",
    "askew",
    "wrench",
    "choice",
    "cycle",
    "setup_card",
]
WHOLE = ["load", "section", "hole", "groove", "tip", "chips", "thread_strength", "askew"]
"""Panels whose model is made from the whole job."""
LINE = "M8x1.25 spiral-flute 2.5 threads, hook 12°, core 3.6 mm, runout 0.02 mm | blind 6.8 mm x 20 mm | X5CrNi18-10, wear factor 1.3"


@pytest.fixture(scope="module")
def shown():
    return {name: getattr(panels, name)() for name in WITH_LINE}


pytestmark = pytest.mark.usefixtures("in_a_folder")


@pytest.mark.parametrize("name", WITH_LINE)
def test_the_line_is_read_again_as_it_stands(shown, name):
    panel = shown[name].reset()
    box = panel.set_up
    assert setupline.line(setupline.parse(box.line)) == box.line
    before = vars(panel.values)
    box.hear({"line": box.line})
    assert vars(panel.values).items() >= {k: v for k, v in before.items() if k == "thread"}.items()
    assert panel.problem is None


@pytest.mark.parametrize("name", WITH_LINE)
def test_another_line_replaces_the_state_and_reset_brings_it_back(shown, name):
    panel = shown[name].reset()
    box, began = panel.set_up, panel.set_up.line
    box.hear({"line": LINE})
    assert panel.problem is None
    assert box.line.startswith("M8x1.25 ")
    assert setupline.parse(box.line).workpiece.name == "X5CrNi18-10"
    if name in WHOLE:
        extra = {"speed": setupline.parse(box.line).speed, "tilt": 0.0, "holder": "rigid"}
        assert setupline.parse(box.line).with_(**extra) == setupline.parse(LINE).with_(**extra)
    else:
        assert (
            name == "drills"
            or "no place for all of" in box.told
            or setupline.parse(box.line).tap == setupline.parse(LINE).tap
        )
    panel.reset()
    assert box.line == began


@pytest.mark.parametrize("name", WITH_LINE)
@pytest.mark.parametrize(
    ("line", "words"),
    [("M8 plug | sideways", "'sideways'"), ("hello", "'hello'"), ("M8 plug, hook 99° | through 6.8 x 9", "99"),
     ("M10 plug | through 11 mm x 15 mm", "11 mm"), ("M10 plug, tooth 1 lost, tooth 2 lost | through 8.5 mm x 15 mm", "lost")],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_a_sentence_and_changes_nothing(shown, name, line, words):
    panel = shown[name].reset()
    box, before, sentence = panel.set_up, panel.set_up.line, panel.sentence
    box.hear({"line": line})
    assert words in box.told, box.told
    assert (box.line, panel.sentence, panel.problem) == (before, sentence, None)


def test_lines_are_saved_once_and_listed_newest_first(tmp_path):
    panel = panels.load()
    for chamfer in (2, 5, 2):
        panel.set(chamfer=chamfer)
        panel.set_up.hear({"keep": True})
    assert panel.set_up.told == "Saved in my-set-ups.csv."
    assert [setupline.parse(line).tap.chamfer_threads for line in panel.set_up.kept] == [2.0, 5.0]
    assert list(panels.section().set_up.kept) == list(panel.set_up.kept)


def test_the_drawer_is_offered_and_its_tap_goes_into_the_panel(tmp_path, monkeypatch):
    shared = tmp_path / "shop" / "taps.csv"
    shared.parent.mkdir()
    monkeypatch.setenv("TAPKIT_DRAWER", str(shared))
    drawer.put(shared, {"name": "A7", "thread": "M10x1.5", "form": "spiral-flute", "radial rake": "14", "core": "4.1"})
    drawer.put(shared, {"name": "B1", "thread": "M6", "form": "straight", "regrinds": "2026-03-02 0.5 threads"})
    panel = panels.load(hole=8.6)
    box = panel.set_up
    assert list(box.taps) == ["A7", "B1"]
    box.hear({"tap": "A7"})
    tap = panel.model.tap
    assert (tap.radial_rake, tap.core_diameter, tap.flute_form, panel.model.hole.diameter) == (
        14,
        4.1,
        "spiral-flute",
        8.6,
    )
    box.hear({"tap": "B1"})
    assert panel.model.faults.regrind_shorter == 0.5
    assert panel.model.hole.diameter == pytest.approx(5.0)
    os.remove(shared)
    box.hear({"tap": "A7"})
    assert "no tap 'A7'" in box.told


def test_the_chooser_takes_taps_of_the_drawer_alone():
    panel = panels.choice()
    panel.set(own=True)
    assert "no tap for M10x1.5 in my drawer (my-taps.csv)" in panel.problem
    for name, form, rake in (("A7", "spiral-point", "9"), ("A8", "straight", "5")):
        drawer.put(setupbox.drawer_file(), {"name": name, "thread": "M10x1.5", "form": form, "radial rake": rake})
    panel.reset().set(own=True)
    assert panel.problem is None
    assert {j.own for j in (*panel.model.choice.ranked, *panel.model.choice.refused)} == {"A7", "A8"}
    assert "'A7' in my drawer" in panel.sentence


def test_both_set_ups_of_the_bench_take_lines():
    bench = panels.bench()
    before = bench.set_ups["A"].line
    bench.set_ups["B"].hear({"line": LINE})
    assert setupline.line(bench.jobs[1]) == LINE
    assert bench.set_ups["A"].line == before
    bench.set_ups["B"].hear({"line": "M10 plug | through 11 mm x 15 mm"})
    assert "11 mm" in bench.set_ups["B"].told
    assert setupline.line(bench.jobs[1]) == LINE
    bench.copy("B", "A")
    assert bench.set_ups["A"].line == LINE
