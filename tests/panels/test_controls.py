"""The state of a panel, and the controls that show it: values in tapkit's units whatever is shown."""

import math

import panelnames
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from moving import any_move, slide, type_in

from tapkit import panels
from tapkit.messages import said
from tapkit.panels import common
from tapkit.panels.bench import set_up_controls, sweep_controls
from tapkit.panels.controls import Controls
from tapkit.panels.state import State, TextEntry, Tick
from tapkit.parameters import job_from, parameters

ALL = (common.thread_pick(), common.form_pick(), *common.numbers("chamfer", "flutes", "axial_rake", "core", "hole"))
HOLE = (common.thread_pick(), common.number("hole"), common.number("speed"), Tick(key="on", label="On"))


def controls(*specs, **start):
    """Controls that tell at once what they show."""
    made = Controls(State.begin(specs or ALL, **start))
    made.on_change = made.tell
    return made


def item(made, key):
    return made.shown["items"][key]


def test_starts_and_units():
    made = controls(*HOLE)
    assert vars(made.values) == {"thread": "M10x1.5", "hole": 8.5, "speed": 10, "on": False}
    assert [item(made, k)["unit"] for k in ("hole", "speed")] == ["mm", "m/min"]
    assert item(made, "hole")["text"] == "8.5"
    assert isinstance(controls().values.flutes, int)


@pytest.mark.parametrize("typed", ["8½", "8 1/2", "8-1/2"])
def test_a_fraction_that_would_be_inches_is_asked_about(typed):
    made = controls(*HOLE)
    type_in(made, "hole", typed)
    assert made.values.hole == 8.5
    assert item(made, "hole")["said"].endswith("alone would be in inches; did you mean 8.5 mm? It stays at 8.5 mm.")


def test_positions_are_steps_of_the_scale():
    made = controls()
    shown = item(made, "hole")
    assert (shown["first"] * shown["step"], shown["count"]) == (pytest.approx(7.6), 51)
    slide(made, "hole", 7)
    assert made.values.hole == 7.95
    assert item(made, "hole")["text"] == "7.95"


def test_inches_are_shown_and_millimetres_given():
    made = controls(*HOLE)
    made.set_system("inch")
    assert item(made, "hole")["unit"] == "in"
    assert item(made, "hole")["text"] == "0.3346"
    assert made.values.hole == 8.5, "a switch of units changes nothing"
    slide(made, "hole", item(made, "hole")["position"] + 5)
    assert made.values.hole == pytest.approx(0.340 * 25.4)
    assert item(made, "speed")["unit"] == "sfm"
    made.set_system("metric")
    assert made.values.hole == pytest.approx(0.340 * 25.4)


def test_what_rests_on_the_thread_follows_it_in_whatever_order():
    one = State.begin(ALL).with_(core=3.5, hole=8.7, chamfer=2).with_(thread="M6x1")
    other = State.begin(ALL).with_(thread="M6x1").with_(chamfer=2)
    assert one.values == other.values
    assert one.values.hole == 5
    assert one.values.chamfer == 2
    both = State.begin(ALL).with_(thread="M6x1", hole=5.2)
    assert both.values.hole == 5.2


def test_a_form_brings_its_own_axial_rakes():
    made = controls()
    made.set(form="straight")
    assert made.values.axial_rake == 0
    assert item(made, "axial_rake")["count"] == 0, "nothing to move"
    made.set(form="spiral-flute")
    assert made.values.axial_rake > 0


@settings(max_examples=60, deadline=None)
@given(st.randoms(use_true_random=False))
def test_any_moves_leave_what_is_shown_and_the_state_alike(rng):
    """Copying and resetting after any moves give the whole state of the other, in any order."""
    a, b = controls(*set_up_controls()), controls(*set_up_controls(), form="spiral-flute")
    for _ in range(6):
        made, other = rng.sample([a, b], 2)
        any_move(made, rng.choice(list(vars(made.values))), rng)
        if rng.random() < 0.3:
            other.replace(other.state.like(made.state))
            assert other.values == made.values
            assert other.shown["items"] == made.shown["items"]
        if rng.random() < 0.2:
            made.reset()
            assert made.values == State.begin(set_up_controls(), **made.state.start).values
    for made in (a, b):
        for one in made.state.controls:
            shown, value = item(made, one.key), getattr(made.values, one.key)
            if "position" in shown and shown["count"]:
                assert made.state.at(one, shown["position"]) == pytest.approx(value, abs=0.51 * one.step)


@pytest.mark.parametrize(
    ("key", "text", "value"),
    [
        ("hole", "8,7", 8.7),
        ("hole", "#7", None),
        ("hole", "8.37", 8.37),
        ("hole", "R", 8.6106),
        ("hole", "11/32", 8.73125),
        ("hole", ".34 in", 8.636),
        ("chamfer", "bottoming", 1.5),
        ("chamfer", "3.5 threads", 3.5),
        ("thread", "m6x0,75", "M6x0.75"),
        ("thread", "1/4-20", "1/4-20 UNC"),
        ("flutes", "2.5", None),
        ("flutes", "9", None),
        ("core", "banana", None),
        ("thread", "M10x9", None),
    ],
)
def test_what_is_typed_is_read_or_refused_and_said(key, text, value):
    made = controls()
    before = vars(made.values)
    type_in(made, key, text)
    if value is None:
        assert vars(made.values) == before, "nothing is clamped"
        assert "stays at" in item(made, key)["said"]
    else:
        assert getattr(made.values, key) == pytest.approx(value)
        plain = text == item(made, key)["text"]
        assert ("said" in item(made, key)) != plain
    slide(made, "chamfer", 3)
    assert "said" not in item(made, key), "said once"


def test_what_is_typed_in_inches_is_inches():
    made = controls()
    made.set_system("inch")
    type_in(made, "hole", "0.332")
    assert made.values.hole == pytest.approx(0.332 * 25.4)
    type_in(made, "hole", "8.6 mm")
    assert made.values.hole == pytest.approx(8.6)


def test_one_change_is_told_once():
    told = []
    made = Controls(State.begin(ALL))
    made.on_change = lambda: told.append(1)
    slide(made, "chamfer", 3)
    made.set(thread="M6x1", hole=5.1)
    made.reset()
    made.set_system("inch")
    assert len(told) == 4


def test_reset_brings_back_the_case_a_panel_began_with():
    made = controls(thread="M8x1.25", chamfer=1.5)
    before = vars(made.values)
    made.set(thread="M24x3", core=10, form="straight")
    made.reset()
    assert vars(made.values) == before


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"hole": 100}, "outside 7.6 mm to 10.15 mm"),
        ({"x": 1}, "no control 'x'; there are thread"),
        ({"form": "straight", "axial_rake": 1}, "outside"),
        ({"hole": math.nan}, "no number"),
        ({"form": "wavy"}, "has no 'wavy'"),
    ],
)
def test_what_cannot_be_is_told(values, says):
    with pytest.raises(ValueError, match=says):
        controls().set(**values)


def test_an_entry_is_taken_as_it_is():
    made = controls(TextEntry(key="part", label="Part"))
    type_in(made, "part", " <b>")
    assert made.values.part == " <b>"


def test_every_control_of_the_bench_has_words_of_help():
    assert [c.key for c in set_up_controls() if not c.help] == []
    assert all(said(c.label) for c in set_up_controls())


@pytest.mark.parametrize("thread", common.thread_names())
def test_every_thread_offered_begins_with_a_job_that_can_be(thread):
    job = job_from(vars(State.begin(set_up_controls(), thread=thread).values))
    assert 65 < job.tap.thread.percent(job.hole.diameter) < 90


def test_the_pickers_hold_the_range_of_the_trade():
    names = common.thread_names()
    for wanted in ("M1.6x0.35", "M64x6", "#0-80 UNF", "1 1/2-6 UNC", "1/4-32 UNEF"):
        assert wanted in names


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_the_box_shows_every_step_of_its_slider(system):
    made = controls(*set_up_controls())
    made.set_system(system)
    for one in made.state.controls:
        if not hasattr(one, "step") or not (count := item(made, one.key)["count"]):
            continue
        for position in (0, 1, 7, count):
            slide(made, one.key, min(position, count))
            read = one.read(item(made, one.key)["text"], system)
            assert read == pytest.approx(getattr(made.values, one.key), rel=1e-6, abs=1e-9), (one.key, position)


def shown_controls():
    for name in panelnames.SPECIFIED:
        for one in getattr(panels, name)().spec.controls:
            if not isinstance(one, Tick | TextEntry) and getattr(one, "owner", "") != "exercise":
                yield name, one
    yield from (("bench", one) for one in (*set_up_controls(), *sweep_controls()))


def test_every_control_says_what_it_is():
    """A help of its own, which is not the label again: each list, and each parameter of the table that can be set."""
    rows = [("table", one) for one in parameters() if one.owner != "result"]
    for where, one in (*rows, *shown_controls()):
        told = said(one.help)
        assert len(told) > 12, (where, one.key)
        assert told.casefold() != said(one.label).casefold(), (where, one.key)
