"""Make a question of this: a row of the class's own file from what a panel shows, for instructors alone."""

import panelnames
import pytest

from tapkit import panels, spreadsheet
from tapkit.exercises import bank
from tapkit.panels.questionmaker import MakerBox, QuestionMaker, own_questions


def keys(widget):
    """All buttons below a widget."""
    found = [widget] if getattr(widget, "description", "") == "Make a question of this" else []
    return found + [one for child in getattr(widget, "children", ()) for one in keys(child)]


def maker_of(panel):
    """The form under a panel, once its key was pressed."""
    (key,) = keys(panel.widget)
    key.click()
    (form,) = [one for one in panel.widget.children if isinstance(one, MakerBox)]
    return form


def opened(**values):
    panel = panels.load()
    panel.set(**values)
    made = QuestionMaker(lambda: (panel.spec.set_up(panel.model, panel.values), panel.system), lambda: None)
    return panel, made


def filled(made, **values):
    """What stands in the form: fields as they begin, what is suggested, and what was typed."""
    return {f["key"]: f["value"] for f in made.form.fields} | made.form.suggested | values


@pytest.mark.parametrize("name", panelnames.SPECIFIED)
def test_every_panel_has_the_key_for_instructors_and_none_for_learners(name, instructor, monkeypatch):
    assert maker_of(getattr(panels, name)()).children
    monkeypatch.setenv("TAPKIT_LEARNER", "kai")
    assert keys(getattr(panels, name)().widget) == []


def test_the_form_goes_away_again_and_the_bench_has_one(instructor):
    bench = panels.bench()
    before = bench.widget.children
    form = maker_of(bench)
    assert form.children[2].suggested["text"].startswith("The set-up: {set-up}.")
    form.children[2]._handle_custom_msg({"press": "close", "values": {}}, [])
    assert bench.widget.children == before


def test_a_question_is_tried_then_kept_and_asked_like_ours(instructor):
    _panel, made = opened(thread="M12x1.75")
    values = filled(made, title="How long", **{"mistake 1": "pitch", "says 1": "One thread alone."})
    made.hear({"press": "try", "values": values})
    assert "Answer, which learners do not see" in made.told.value
    assert "One thread alone." in made.told.value
    assert not (instructor / "questions.csv").exists()
    made.hear({"press": "keep", "values": values})
    one = bank.exercise_named("own-how-long")
    assert "M12x1.75" in one.questions[0].text
    assert one in bank.exercises(lesson=1, own=True)
    assert "own-how-long" in [e.name for e in panels.exercises(lesson=1, core=False).chosen]
    made.hear({"press": "keep", "values": values})
    assert "there is a question How long already" in made.told.value
    assert len(spreadsheet.read_sheet((instructor / "questions.csv").read_bytes()).rows) == 1
    assert "<td>How long</td>" in own_questions().shown.value


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"title": ""}, "column 'title'"),
        ({"title": "A", "values": "two"}, "column 'varies'"),
        ({"title": "A", "text": "How long?"}, "column 'text'"),
        ({"title": "A", "mistake 1": "beauty", "says 1": "Ugly."}, "column 'mistake 1'"),
        ({"title": "A", "kind": "choose the largest", "compared": "2"}, "column 'compare'"),
    ],
)
def test_what_cannot_be_is_said_and_nothing_is_written(values, told, instructor):
    _panel, made = opened()
    made.hear({"press": "keep", "values": filled(made, **values)})
    assert told.replace("'", "&#39;") in made.told.value
    assert not (instructor / "questions.csv").exists()


@pytest.mark.parametrize("kind", ["choose the smallest", "from largest to smallest", "choose"])
def test_other_kinds_begin_with_something_that_can_be_asked(kind, instructor):
    _panel, made = opened()
    asked = {"kind": kind, "asked": "largest_force", "varies": "thread", "words": "chip_direction"}
    made.hear({"changed": "kind", "values": filled(made, **asked)})
    made.hear({"press": "try", "values": filled(made, title="Mine", **asked)})
    assert "can be asked." in made.told.value
    assert all(q.judge(q.right_text).is_right for q in made.made(filled(made, title="Mine", **asked)).questions)


def test_every_suggestion_of_values_can_be_read(instructor):
    _panel, made = opened()
    fields = {f["key"]: f for f in made.form.fields}
    for key, _label in fields["varies"]["options"][1:]:
        made.hear({"changed": "varies", "values": filled(made, varies=key)})
        made.made(filled(made, title="Mine", varies=key))
