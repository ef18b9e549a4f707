"""The teach view: a plan that fits the lesson's time, and a screen that shows learners nothing of the instructor's."""

import json
import re
from pathlib import Path

import nbformat
import panelnames
import pytest

from tapkit import panels, tables
from tapkit.classroom.room import Room
from tapkit.classroom.roster import roster_from
from tapkit.classroom.schoolclass import make_class
from tapkit.drawing import plates
from tapkit.exercises import bank
from tapkit.exercises.lessons import taught
from tapkit.panels.teach import POLL, Teach, turns

WORKBOOKS = Path(__file__).parents[2] / "workbooks"
LESSONS = taught()
each_lesson = pytest.mark.parametrize("lesson", LESSONS)


def book(lesson):
    (path,) = [p for p in WORKBOOKS.glob(f"0{lesson}-*.ipynb") if "start" not in p.name]
    return nbformat.read(path, as_version=4)


@each_lesson
def test_the_minutes_of_the_plan_are_those_of_the_lesson(lesson):
    said = "\n".join(c.source for c in book(lesson).cells)
    assert sum(turn.minutes for turn in turns(lesson)) == int(re.search(r"\*\*Time\.\*\* (\d+) minutes", said)[1])


@each_lesson
def test_everything_a_step_names_is_there_and_belongs_to_the_lesson(lesson):
    shown = "\n".join(c.source for c in book(lesson).cells)
    for turn in turns(lesson):
        if turn.live.startswith(POLL):
            assert bank.exercise_named(turn.live.removeprefix(POLL)).lesson == lesson
        elif turn.live:
            assert turn.live in panelnames.SPECIFIED
        if turn.picture:
            assert turn.picture in plates.PLATES
        assert turn.title
        assert turn.shown
    assert any(turn.live.startswith("panels.") or turn.live in shown for turn in turns(lesson) if turn.live)


@each_lesson
def test_the_plan_has_everything_and_escapes(lesson):
    page = panels.lesson_plan(lesson)._repr_html_()
    questions = [row for row in tables.rows("room_questions") if row["lesson"] == str(lesson)]
    assert len(questions) == 3
    assert page.count("<li>") == 3
    assert "<svg" in page
    assert page.count("<tr>") == len(turns(lesson)) + 1


def test_a_lesson_without_a_plan_is_refused():
    for show in (panels.teach, panels.lesson_plan):
        with pytest.raises(ValueError, match="no plan for lesson 9"):
            show(9)


@pytest.fixture
def classroom(instructor):
    (instructor / "shared").mkdir()
    roster = roster_from(b"id,name\nkai,Kai\nlea,Lea\nnoa,Noa\n")
    make_class(instructor / "classes", "T1", "shared", roster, shared=instructor / "shared")
    return instructor


def test_the_screen_shows_no_notes_no_answers_and_stops_at_its_ends(classroom):
    view = Teach(3)
    hidden = [turn.notes for turn in turns(3)]
    hidden += [row["answer"] for row in tables.rows("room_questions") if row["lesson"] == "3"]
    for number in range(len(turns(3))):
        state = json.dumps({k: v for k, v in view.slide.get_state().items() if k != "picture"}, default=str)
        assert not [words for words in hidden if words in state]
        assert view.number == number
        assert view.slide.step["last"] == (number == len(turns(3)) - 1)
        view.slide._handle_custom_msg({"by": 1}, [])
    assert view.number == len(turns(3)) - 1
    view.go(-1)
    assert view.live.widget in view._place.children
    view.go(-99)
    assert view.slide.step["first"]


def test_a_panel_stays_as_it_was_left(classroom):
    view = Teach(3)
    view.go(1)
    view.live.set(chamfer=8)
    view.go(1)
    view.go(-1)
    assert view.live.values.chamfer == 8


def test_the_poll_of_a_step_is_chosen_and_knows_the_size_of_the_class_without_a_hub(classroom):
    view = Teach(3)
    assert view.live.pick.value == "most-loaded-tooth"
    assert "There are 3 learners in the class." in view.live.body.value
    view.live.ask()
    room = Room(classroom / "shared" / "room")
    assert room.current().exercise == "most-loaded-tooth"
    room.answer(room.current(), "kai", "A")
    view.live.look()
    assert "1 of 3" in view.live.body.value


def test_without_a_folder_that_leads_to_learners_hands_are_counted(classroom):
    make_class(classroom / "classes", "T2", "paper", roster_from(b"id,name\nkai,Kai\nlea,Lea\nnoa,Noa\ntom,Tom\n"))
    front = Teach(3).live
    assert "There are 4 learners in the class." in front.body.value, "the class made last is the one worked with"
    front.ask()
    right = front.hands.counts["ABCDEFGH".index(bank.exercise_named("most-loaded-tooth").variant(1).right_text[0])]
    assert "0 of 4" in front.body.value
    right.value = 2
    front.hands.counts[-1 if right is front.hands.counts[0] else 0].value = 1
    assert "3 of 4" in front.body.value
    front.go_on()
    front.go_on()
    assert "2 of 3 have it right" in front.body.value
    front.ask()
    assert {box.value for box in front.hands.counts} == {0}, "the next question begins with no hands"


def test_hands_for_a_number_are_read_from_a_line(classroom):
    make_class(classroom / "classes", "T2", "paper", roster_from(b"id,name\nkai,Kai\nlea,Lea\nnoa,Noa\n"))
    front = panels.tally(lesson=4)
    front.pick.value = "percent-of-a-hole"
    front.ask()
    right = bank.exercise_named("percent-of-a-hole").variant(1).right_text
    front.hands.line.value = f"{right}: 2; 12: 1"
    assert "3 of 3" in front.body.value
    front.hands.line.value = "70 percent 3"
    assert "write an answer, a colon and its hands" in front.body.value


def test_in_a_lesson_its_own_questions_alone_appear(classroom, monkeypatch):
    assert "hidden" in panels.lesson_room(3)._repr_html_()
    monkeypatch.setenv("TAPKIT_ROOM", str(classroom / "shared" / "room"))
    Room(classroom / "shared" / "room").ask("most-loaded-tooth", 1)
    assert panels.lesson_room(3).asked.exercise == "most-loaded-tooth"
    elsewhere = panels.lesson_room(4)
    assert elsewhere.asked is None
    assert "A question of lesson 3 is asked now" in elsewhere.said.value


def test_training_topics_name_lessons_that_are_there():
    page = panels.training_topics()._repr_html_()
    assert "&lt;" not in page
    named = {n for row in tables.rows("training_topics") for n in row["lessons"].split()}
    assert named == {str(n) for n in LESSONS}
    assert "Choosing the tap drill" in page
    assert "4 Drill and percent of thread" in page
