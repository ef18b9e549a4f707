"""The quiz without a browser: what the widgets say, what is written, what is locked, and what stays when exported."""

import re

import nbformat
import pytest
from markupsafe import escape
from nbclient import NotebookClient
from nbconvert import HTMLExporter

from tapkit import panels, setupline
from tapkit.exercises.bank import exercise_named, exercises
from tapkit.exercises.record import Record, read_record
from tapkit.panels.deck import VariantDeck, given_seed
from tapkit.panels.panel import VIEW


def typed(quiz, text):
    """Type a text and press Enter, as the browser tells it: both in one message."""
    quiz.answer_box.widget.hear({"press": "enter", "typed": {"answer": text}, "number": quiz.number})


def chosen(quiz, text):
    quiz.answer_box.fill(text)
    quiz.check_key.click()


def test_right_and_wrong_are_said_in_words_and_sign(record):
    quiz = panels.quiz("chamfer-length", seed=0, record=record)
    typed(quiz, "12 N")
    assert "✗" in quiz.verdict.value
    assert "Another kind of quantity" in quiz.verdict.value
    typed(quiz, quiz.attempt.question.right_text)
    assert "✓" in quiz.verdict.value
    assert "<b>That is right.</b> Each thread on the cone is one pitch long" in quiz.verdict.value
    assert 'class="tapkit-verdict right"' in quiz.verdict.value


def test_answers_are_recorded_as_typed_and_once(record):
    quiz = panels.quiz("chamfer-length", seed=0, record=record)
    for text in ("", "12 N", "12 N", "<b>1</b>"):
        typed(quiz, text)
    quiz.hint()
    typed(quiz, "1,25")
    found = read_record(record.path).entries
    assert [e.answer for e in found] == ["12 N", "<b>1</b>", "1,25"]
    assert [e.hints for e in found] == [0, 0, 1]
    assert {e.seed for e in found} == {0}
    assert "<b>1</b>" not in quiz.verdict.value


def test_an_answer_that_cannot_be_saved_is_judged_and_told(record, monkeypatch):
    quiz = panels.quiz("chamfer-length", seed=0, record=record)
    monkeypatch.setattr("os.open", lambda *a, **k: (_ for _ in ()).throw(OSError(28, "No space left on device")))
    typed(quiz, quiz.attempt.question.right_text)
    assert "<b>That is right.</b>" in quiz.verdict.value
    assert "not saved: the disk is full" in quiz.verdict.value
    monkeypatch.undo()
    typed(quiz, "2")
    assert "saved" not in quiz.verdict.value
    assert len(read_record(record.path).entries) == 2


def test_hints_then_solution(record):
    quiz = panels.quiz("chamfer-angle", seed=0, record=record)
    question = quiz.attempt.question
    quiz.hint_key.click()
    assert escape(question.hints[0]) in quiz.helped.value
    assert escape(question.hints[1]) not in quiz.helped.value
    for _ in range(3):
        quiz.hint_key.click()
    assert "no further hint" in quiz.helped.value
    assert "Worked solution" not in quiz.helped.value
    quiz.solve_key.click()
    assert escape(question.solution[-1]) in quiz.helped.value
    assert "<img" in quiz.helped.value, "the worked solution has its drawing"
    typed(quiz, question.right_text)
    assert read_record(record.path).entries[0].seen


def test_a_question_of_a_job_gives_its_set_up_line_once_it_tells_no_answer(record):
    for name in ("margin", "load-first-tooth", "most-loaded-tooth", "predict-where-chips-end"):
        quiz = panels.quiz(name, seed=0, record=record)
        question = quiz.attempt.question
        line = setupline.line(question.draft.job, question.draft.system)
        assert setupline.values(line, question.draft.system)
        shown = escape(line)
        whole = quiz.still() + quiz.asked.value + quiz.verdict.value + quiz.helped.value
        assert shown not in whole
        quiz.solve_key.click()
        assert shown in quiz.helped.value
        assert f'data-copy="{shown}"' in quiz.helped.value
    typed(quiz := panels.quiz("margin", seed=1, record=record), "1000000")
    assert "Its set-up" not in quiz.verdict.value
    typed(quiz, quiz.attempt.question.right_text)
    assert "Its set-up" in quiz.verdict.value
    assert exercise_named("chamfer-length").variant(0).draft.job is None


def test_the_solution_is_offered_after_two_tries(record):
    quiz = panels.quiz("chamfer-length", seed=0, record=record)
    typed(quiz, "12345")
    assert "worked solution is there" not in quiz.verdict.value
    typed(quiz, "12346")
    assert "worked solution is there" in quiz.verdict.value
    assert "tapkit-offered" in quiz.solve_key.looks
    typed(quiz, quiz.attempt.question.right_text)
    assert "tapkit-offered" not in quiz.solve_key.looks


def test_next_question_is_another_variant_and_clears_the_old_one(record):
    quiz = panels.quiz("chamfer-length", seed=0, record=record)
    seen = set()
    for _ in range(len(exercise_named("chamfer-length"))):
        seen.add(quiz.attempt.question.index)
        typed(quiz, "12345")
        quiz.hint_key.click()
        quiz.next_key.click()
        assert (quiz.verdict.value, quiz.helped.value, quiz.answer_box.text) == ("", "", "")
    assert len(seen) == len(exercise_named("chamfer-length"))
    assert quiz.in_page.turn == len(seen), "each time the answer gets the focus"


def test_a_key_takes_what_stands_in_the_box_and_only_of_the_question_shown(record):
    quiz = panels.quiz("chamfer-length", seed=0, record=record)
    right = quiz.attempt.question.right_text
    quiz.keys.hear({"press": "check", "typed": {"answer": right}, "chosen": {}, "number": 0})
    assert "That is right" in quiz.verdict.value
    for _ in range(2):  # a double click goes on by one
        quiz.keys.hear({"press": "next", "typed": {"answer": right}, "chosen": {}, "number": 0})
    assert (quiz.number, quiz.answer_box.text) == (1, "")
    quiz.keys.hear({"press": "check", "typed": {"answer": right}, "chosen": {}, "number": 0})
    assert len(read_record(record.path).entries) == 1


def test_a_key_takes_what_is_chosen(record):
    quiz = panels.quiz("steep-chamfer", seed=0, record=record)
    letter, reason = quiz.attempt.question.right_text.split()
    places = {"answer": "ABCD".index(letter), "reason": int(reason) - 1}
    quiz.keys.hear({"press": "check", "typed": {}, "chosen": places, "number": 0})
    assert "✓" in quiz.verdict.value


def test_a_kernel_started_anew_shows_what_was_answered(record):
    """The answer, its verdict, hints and solution are there again, and the question is that which was left."""
    first = panels.quiz("chamfer-length", seed=0, record=record)
    typed(first, "12 N")
    first.hint_key.click()
    typed(first, first.attempt.question.right_text)
    first.next_key.click()
    typed(first, "7")
    again = panels.quiz("chamfer-length", seed=0, record=Record(record.path))
    assert (again.number, again.answer_box.text, again.attempt.tries) == (1, "7", 1)
    assert again.verdict.value == first.verdict.value
    again.open(0)
    assert again.answer_box.text == again.attempt.question.right_text
    assert "That is right" in again.verdict.value
    assert all(escape(line) in again.helped.value for line in again.attempt.question.solution)
    assert escape(again.attempt.question.hints[0]) in again.helped.value
    again.check_key.click()
    assert len(read_record(record.path).entries) == 3, "shown again is not answered again"


@pytest.mark.parametrize("one", exercises(core=True), ids=lambda e: e.name)
def test_every_kind_of_answer_is_shown_again(record, one):
    first = panels.quiz(one.name, seed=2, record=record)
    first.answer_box.fill(first.attempt.question.right_text)
    first.check_key.click()
    again = panels.quiz(one.name, seed=2, record=Record(record.path))
    assert (again.answer_box.text, again.verdict.value) == (first.answer_box.text, first.verdict.value)
    assert again.attempt.is_locked == first.attempt.is_locked
    for quiz in (first, again):
        quiz.widget.close()


def test_a_late_word_of_an_earlier_question_is_let_pass(record):
    quiz = panels.exercises(lesson=3, record=record).quiz
    old = quiz.answer_box.widget
    quiz.use(VariantDeck(exercise_named("chamfer-length"), 0))
    old.hear({"press": "enter", "chosen": {"answer": 0, "reason": 0}, "typed": {}})
    quiz.keys.hear({"press": "check", "typed": {"answer": "5"}, "number": 0})
    assert read_record(record.path).entries == ()
    quiz.keys.hear({"press": "check", "typed": {"answer": "5"}, "number": quiz.turn})
    assert len(read_record(record.path).entries) == 1


def test_leaving_the_box_is_no_answer(record):
    quiz = panels.quiz("chamfer-length", seed=0, record=record)
    quiz.answer_box.fill("12345")
    assert quiz.verdict.value == ""
    assert read_record(record.path).entries == ()
    quiz.check_key.click()
    assert [e.answer for e in read_record(record.path).entries] == ["12345"]


def test_a_choice_needs_its_reason(record):
    quiz = panels.quiz("steep-chamfer", seed=0, record=record)
    quiz.check_key.click()
    assert "Choose an answer and a reason" in quiz.verdict.value
    quiz.answer_box.fill("A")
    quiz.check_key.click()
    assert "reason is missing" in quiz.verdict.value
    chosen(quiz, quiz.attempt.question.right_text)
    assert "✓" in quiz.verdict.value


def test_a_prediction_is_locked_before_the_chips_are_shown(record):
    quiz = panels.quiz("predict-the-chip", seed=0, record=record)
    assert quiz.check_key.description == "Lock my prediction"
    assert quiz.reveal.value == ""
    wrong = next(f"{c} 1" for c in "ABC" if not quiz.attempt.question.judge(f"{c} 1").is_right)
    chosen(quiz, wrong)
    assert "<iframe" in quiz.reveal.value
    assert quiz.answer_box.widget.locked
    told = quiz.verdict.value
    chosen(quiz, quiz.attempt.question.right_text)
    assert quiz.verdict.value == told
    assert [e.answer for e in read_record(record.path).entries] == [wrong]
    quiz.next_key.click()
    assert quiz.reveal.value == ""
    assert not quiz.answer_box.widget.locked


def test_sliders_of_its_own_with_a_drawing_that_follows(record):
    quiz = panels.quiz("set-chips-ahead", seed=0, record=record)
    ask = quiz.attempt.question.ask
    assert all(escape(quiz.attempt.question.say(r.says)) in quiz.picture.value for r in ask.requests)
    before = bytes(quiz.answer_box.panel.stage.widget.value)
    quiz.check_key.click()
    assert "Not right" in quiz.verdict.value
    quiz.answer_box.panel.set(**ask.solution)
    assert bytes(quiz.answer_box.panel.stage.widget.value) != before
    quiz.check_key.click()
    assert "every request is met" in quiz.verdict.value


@pytest.mark.parametrize("name", [e.name for e in exercises(kind="set the sliders")])
def test_every_setting_has_sliders_that_reach_its_solution(record, name):
    quiz = panels.quiz(name, seed=1, record=record)
    quiz.answer_box.panel.set(**quiz.attempt.question.ask.solution)
    quiz.check_key.click()
    assert "✓" in quiz.verdict.value, quiz.answer_box.text
    assert quiz.answer_box.panel.stage.widget.tooltip
    assert not quiz.answer_box.panel.problem


def test_a_panel_of_the_workbook_can_answer(record):
    load = panels.load()
    quiz = panels.quiz("set-chips-ahead", seed=0, record=record, panel=load)
    ask = quiz.attempt.question.ask
    assert load.values.thread == ask.preset["thread"]
    assert load.values.chamfer == ask.start["chamfer"]
    load.set(**ask.solution)
    quiz.check_key.click()
    assert "every request is met" in quiz.verdict.value
    with pytest.raises(ValueError, match="no control 'chamfer'"):
        panels.quiz("set-chips-ahead", record=record, panel=panels.quiz("set-the-hole", record=record).answer_box.panel)


def test_blanks_each_have_a_box(record):
    quiz = panels.faded("chamfer-angle", blanks=2, seed=0, record=record)
    assert len(quiz.answer_box.widget.boxes) == 2
    quiz.check_key.click()
    assert "Fill the blanks" in quiz.verdict.value
    quiz.answer_box.widget.put(**{p.key: p.number.right_text for p in quiz.attempt.question.ask.parts})
    quiz.check_key.click()
    assert "All 2 are right" in quiz.verdict.value
    assert read_record(record.path).entries[0].stage == "faded-2"
    with pytest.raises(ValueError, match="1 or 2"):
        panels.faded("chamfer-angle", blanks=3)


def test_worked_example_shows_every_step(record):
    shown = panels.worked("chamfer-angle", seed=0)._repr_html_()
    questions = exercise_named("chamfer-angle").questions
    (solved,) = (q for q in questions if all(escape(line) in shown for line in q.solution))
    assert solved.index != panels.quiz("chamfer-angle", seed=0, record=record).attempt.question.index


def test_a_session_goes_on_to_its_end(record):
    quiz = panels.practice(topic="cycle", level=1, length=1, seed=0, record=record)
    assert "worked example" in quiz.asked.value
    assert quiz.place.children == ()
    for _ in range(10):
        quiz.next_key.click()
    assert "at its end" in quiz.verdict.value


def test_exercises_of_a_lesson_to_choose_from(record):
    chosen_set = panels.exercises(lesson=3, record=record)
    options = chosen_set.pick.spec[0]["controls"][0]["options"]
    assert len(options) == len(exercises(lesson=3))
    chosen_set.pick.hear(
        {"key": "exercise", "pick": next(i for i, o in enumerate(options) if "From the busiest tooth" in o)}
    )
    assert chosen_set.quiz.attempt.question.exercise.name == "order-the-teeth"
    assert all(escape(line) in chosen_set.quiz.picture.value for line in chosen_set.quiz.attempt.question.lines)
    with pytest.raises(ValueError, match="no exercise fits"):
        panels.exercises(lesson=99)


def test_every_exercise_opens(record):
    for one in exercises():
        quiz = panels.quiz(one.name, seed=0, record=record)
        assert escape(quiz.attempt.question.text.split("\n")[0]) in quiz.asked.value
        assert quiz.still()
        quiz.widget.close()


def test_an_error_inside_is_a_sentence(record, monkeypatch):
    quiz = panels.quiz("chamfer-length", seed=0, record=record)
    monkeypatch.setattr(record, "add", lambda *a, **k: 1 / 0)
    typed(quiz, "1")
    assert "Sorry" in quiz.verdict.value
    assert "ZeroDivisionError" in quiz.verdict.value


def test_the_class_gives_the_seed(monkeypatch, record):
    monkeypatch.setenv("TAPKIT_SEED", "41")
    assert panels.quiz("chamfer-length", record=record).attempt.question.seed == 41
    monkeypatch.setenv("TAPKIT_SEED", "x" * 50)
    assert given_seed() == 0


def test_my_page_counts_and_keeps_a_file(record):
    quiz = panels.quiz("chamfer-length", seed=0, record=record)
    typed(quiz, quiz.attempt.question.right_text)
    mine = panels.my_page(record=record)
    assert "1 answer so far" in mine.page_shown.value
    mine.save()
    place = record.path.parent / "my-page.html"
    assert place.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert "Saved as" in mine.said.value


def test_my_page_that_cannot_be_kept_says_so(record, monkeypatch):
    mine = panels.my_page(record=record)
    monkeypatch.setattr("pathlib.Path.write_text", lambda *a, **k: (_ for _ in ()).throw(OSError(28, "No space left")))
    mine.save()
    assert "Not saved: No space left" in mine.said.value


def test_an_exported_notebook_still_asks_the_question(tmp_path, monkeypatch):
    monkeypatch.setenv("TAPKIT_RECORDS", str(tmp_path))
    cells = ["from tapkit import panels\npanels.quiz('name-the-drawn-tap', seed=1)", "panels.my_page()"]
    book = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(c) for c in cells])
    NotebookClient(book, timeout=120, resources={"metadata": {"path": str(tmp_path)}}).execute()
    assert VIEW in book.cells[0].outputs[0].data
    page = HTMLExporter().from_notebook_node(book)[0]
    question = exercise_named("name-the-drawn-tap").variant(1)
    still = re.sub(r"<script.*?</script>", "", page, flags=re.DOTALL)
    assert escape(question.text) in still
    assert escape(question.sketch.alt) in still
    assert question.right_text not in still


def test_nothing_on_the_screen_tells_the_answer(record):
    for name in ("chamfer-length", "name-the-drawn-tap", "inch-drill-by-name"):
        quiz = panels.quiz(name, seed=3, record=record)
        shown = quiz.asked.value + quiz.picture.value + quiz.how.value + quiz.in_page.label
        shown = re.sub(r'src="data:[^"]*"', "", shown)
        assert quiz.attempt.question.right_text not in shown


def test_a_setting_without_a_job_offers_no_set_up_line(record):
    assert panels.quiz("set-chips-ahead", seed=0, record=record).answer_box.panel.set_up.layout.display == "none"
    assert panels.tip().set_up.layout.display != "none"
