"""The final test: five parts of the press, the first answer counts, and the sign of its record."""

import pytest

from tapkit.exercises import finaltest, lessonpage
from tapkit.exercises.bank import exercises
from tapkit.exercises.lessons import FINAL, all_lessons, lesson
from tapkit.exercises.record import Record

SEED = 11


@pytest.fixture
def record(tmp_path):
    return Record(tmp_path / "my-answers.jsonl")


def answered(record, questions, wrong=""):
    for question in questions:
        other = next(text for text in ("A 1", "B 2") if text != question.right_text)
        record.add(question, other if question.exercise.name == wrong else question.right_text)


@pytest.mark.parametrize("seed", range(0, 60, 7))
def test_a_test_is_on_five_parts_of_the_press(seed):
    texts = [one.variant(seed).text for one in exercises(lesson=FINAL)]
    parts = ("drain valve", "thrust plate", "spout plate", "frame bracket", "crosshead", "guide block", "base")
    named = [next(p for p in parts if f"the {p} of the" in t.lower()) for t in texts]
    assert len(set(named)) == 5


def test_five_right_answers_are_five_marks_and_the_next_test_is_another(record):
    now = finaltest.sitting(record.history(), SEED)
    assert len(now.left) == 5
    answered(record, now.left)
    (done,) = finaltest.finished(record.history(), SEED)
    assert done.marks == (1, 1, 1, 1, 1)
    after = finaltest.sitting(record.history(), SEED)
    assert len(after.left) == 5
    assert not {q.text for q in after.left} & {q.text for q in now.left}


def test_the_first_answer_counts_and_what_cannot_be_read_is_none(record):
    first, *rest = finaltest.sitting(record.history(), SEED).left
    record.add(first, "")
    record.add(first, "spiral-point taper" if "taper" not in first.right_text else "spiral-point plug")
    record.add(first, first.right_text)
    answered(record, rest)
    (done,) = finaltest.finished(record.history(), SEED)
    assert done.marks[0] < 1
    assert done.marks[1:] == (1, 1, 1, 1)


def test_parts_of_a_plan_give_parts_of_a_mark(record):
    questions = finaltest.sitting(record.history(), SEED).left
    plan = next(q for q in questions if q.exercise.name == "final-plan")
    one, *others = plan.right_text.split("; ")
    record.add(plan, "; ".join([one, *("1 mm" for _ in others)]))
    answered(record, [q for q in questions if q is not plan])
    (done,) = finaltest.finished(record.history(), SEED)
    assert done.marks == (1, 1, 0.25, 1, 1)


def test_practice_with_other_questions_does_not_count(record):
    answered(record, [one.variant(SEED + 20) for one in exercises(lesson=FINAL)])
    assert len(finaltest.sitting(record.history(), SEED).left) == 5


def test_the_sign_fits_its_line_and_no_other():
    line = finaltest.Checked("Kai / Moor", "2026-03-02", 7, (1.0, 1.0, 0.5, 1.0, 0.0)).line
    read = finaltest.check(f"  {line.lower().replace('kai / moor', 'Kai / Moor')} ")
    assert (read.name, read.seed, read.points, read.is_passed) == ("Kai / Moor", 7, 3.5, False)
    for old, new in (("Kai", "Lea"), ("03-02", "03-03"), ("/ 7 /", "/ 8 /"), ("0.5", "1")):
        with pytest.raises(ValueError, match="sign does not fit"):
            finaltest.check(line.replace(old, new))
    with pytest.raises(ValueError, match="belongs to nobody"):
        finaltest.check(line, "")
    assert finaltest.check(line, "kai") == read


@pytest.mark.parametrize("text", ["", "x", "a/b/c/d/e", "n / 2026-03-02 / 7 / 1..1 / BCDFG-HJKLM", "/" * 5000])
def test_a_line_that_cannot_be_read_is_told_in_one_sentence(text):
    with pytest.raises(ValueError, match=r"wanted|numbers"):
        finaltest.check(text)


def test_the_record_holds_answers_and_a_line_that_can_be_checked(record):
    answered(record, finaltest.sitting(record.history(), SEED).left, wrong="final-choose")
    (done,) = finaltest.finished(record.history(), SEED)
    told = lessonpage.record(done, name="Kai <Moor>", whole=True)
    assert finaltest.check(done.line("Kai <Moor>")).is_passed
    assert "Kai &lt;Moor&gt;" in told
    assert all(task.given.entry.answer in told for task in done.tasks)
    assert "<script" not in told


def test_every_lesson_is_in_the_table_with_words_and_formulas_that_there_are():
    assert [one.number for one in all_lessons()] == list(range(FINAL + 1))
    for one in all_lessons():
        told = lessonpage.lesson_page(one, whole=True)
        assert all(e.title.replace("'", "&#39;") in told for e in one.core)
        assert len(one.terms) == len(one.words)
    assert "quick rule" in lessonpage.lesson_page(lesson(4)).lower()
