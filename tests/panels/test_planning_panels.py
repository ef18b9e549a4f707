"""The panels of the plans: they show, follow their controls, and say in a sentence what cannot be."""

import itertools

import pytest

from tapkit import panels
from tapkit.panels.fivechoices import PARTS, press_choices
from tapkit.panels.markup import table
from tapkit.panels.state import Pick
from tapkit.planning.press import press_part

NAMES = ("drills", "holeplan", "choice", "cycle", "setup_card", "diagnosis")


@pytest.fixture(scope="module")
def shown():
    return {name: getattr(panels, name)() for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_a_panel_starts_on_an_ordinary_case(shown, name):
    panel = shown[name].reset()
    assert panel.problem is None
    assert panel.sentence.endswith(".")
    still = panel.still()
    assert "<table" in still
    assert 'href="#take-care"' in still
    assert 'alt="' in still


@pytest.mark.parametrize("name", NAMES)
def test_every_choice_of_every_list_shows_or_says_why(shown, name):
    panel = shown[name].reset()
    for control in panel.spec.controls:
        if not isinstance(control, Pick) or control.key in ("thread", "work"):
            continue
        for _, value in control.pairs:
            panel.set(**{control.key: value})
            assert panel.problem is None or len(panel.problem) > 20, (control.key, value)
            assert "this panel cannot show that" not in str(panel.problem), (control.key, value, panel.problem)
        panel.reset()


@pytest.mark.parametrize("name", NAMES)
def test_other_threads_metals_and_units(shown, name):
    panel = shown[name].reset()
    for thread, work in itertools.product(("M3x0.5", "M24x3", "1/4-20 UNC", "#10-32 UNF"), ("EN-GJL-250", "Ti-6Al-4V")):
        panel.set(thread=thread, work=work)
        assert "this panel cannot show that" not in str(panel.problem), (thread, work, panel.problem)
    panel.set_system("inch")
    panel.set(thread="1/4-20 UNC")
    assert " in" in panel.still()
    panel.set_system("metric")
    panel.reset()


def test_hole_plan_says_what_to_change(shown):
    panel = shown["holeplan"].reset()
    panel.set(full=25, machine="drill press")
    assert "Ask the designer" in panel.sentence or "ask the designer" in panel.sentence
    assert "What would let it fit" in panel.still()
    panel.set(thickness=10)
    assert "deeper than the part" in panel.problem
    assert "Not possible" in panel.words.value


def test_drills_panel_reads_the_shelf(shown):
    panel = shown["drills"].reset()
    panel.set(shelf="8.2; 9,1")
    assert panel.model.fits[0].drill.name == "8.2 mm"
    panel.set(shelf="banana")
    assert "cannot read 'banana' on the shelf" in panel.problem


def test_choice_panel_tells_what_goes_wrong(shown):
    panel = shown["choice"].reset()
    panel.set(kind="blind", deep=20, form="spiral-point", chamfer="plug")
    told = panel.still()
    assert "You asked for a spiral-point plug tap" in told
    assert "below the point" in told
    panel.set(kind="through")
    assert "it is the model&#39;s own choice" in panel.still()


def test_cycle_panel_by_hand_has_no_speed(shown):
    panel = shown["cycle"].reset()
    panel.set(machine="hand")
    assert "By hand" in panel.sentence
    assert "spindle speed" not in panel.table.value


def test_set_up_card_is_saved(shown, tmp_path):
    panel = shown["setup_card"].reset()
    panel.set(part="crosshead <b>")
    path = panel.save(tmp_path / "cards")
    page = path.read_text(encoding="utf-8")
    assert "crosshead &lt;b&gt;" in page
    assert "qualified person" in page
    panel.set(thickness=10)
    with pytest.raises(ValueError, match="no card to save"):
        panel.save(tmp_path)
    (tmp_path / "file").write_text("")
    panel.reset()
    with pytest.raises(OSError, match="file"):
        panel.save(tmp_path / "file" / "under")


def test_diagnosis_panel_shows_the_run_asked_for(shown):
    panel = shown["diagnosis"].reset()
    panel.set(broke="chipped", kind="through", run="tilt")
    assert "tooth loads where the tap stood askew" in panel.sentence
    assert panel.model.shown.tilt > 0
    assert "What would tell them apart" in panel.still()


def test_five_choices_for_the_press():
    page = press_choices()
    for part in PARTS:
        assert part in page
    assert "invented" in page
    assert "spiral-point plug" in page
    with pytest.raises(ValueError, match="no part wheel"):
        press_part("wheel")


def test_the_debrief_comes_after_all_five_are_chosen_and_stays(tmp_path, monkeypatch):
    monkeypatch.setenv("TAPKIT_RECORDS", str(tmp_path))
    five = panels.five_choices()
    five.lock()
    assert "Still to choose: base" in five.said.value
    assert not five.debrief.value
    for part in PARTS:
        five.choose(part, "spiral-point", "plug")
    five.lock()
    assert five.is_locked
    assert all(pick.locked for pick in five.picks.values())
    assert "Your choices" in five.debrief.value
    assert panels.five_choices().debrief.value == five.debrief.value
    assert "what the trade says" in five.debrief.value
    assert "what the trade says" not in five.still()


def test_tables_escape_what_they_hold():
    made = table("a<b", ("h",), [("<i>", "=1")], ["bad"])
    assert "<i>" not in made
    assert 'class="number">1' in made
    assert 'class="bad"' in made
