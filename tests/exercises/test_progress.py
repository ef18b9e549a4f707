"""Attempts, what a record says about a learner, practice sessions, and the learner's page."""

import re
from datetime import UTC, datetime, timedelta

import pytest

from tapkit.exercises import lessonpage, verdict
from tapkit.exercises.attempt import Attempt
from tapkit.exercises.bank import exercise_named, exercises
from tapkit.exercises.practice import session
from tapkit.exercises.progress import mistakes_of, progress, standing, verdict_on
from tapkit.exercises.record import Entry, History

NOW = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
LENGTH = exercise_named("chamfer-length")


def entry(one, seed, answer, *, days=0.0, hints=0, seen=False, stage="whole", question=None):
    asked = one.variant(seed).at_stage(stage)
    when = (NOW - timedelta(days=days)).strftime("%Y-%m-%dT%H:%M:%SZ")
    return Entry(1, when, "", "", one.name, seed, stage, question or asked.digest, answer, hints, seen, "", "")


def right(one, seed, **more):
    stage = more.get("stage", "whole")
    return entry(one, seed, one.variant(seed).at_stage(stage).right_text, **more)


# --- one question -----------------------------------------------------------------------------------------


def test_an_attempt_counts_tries_not_what_cannot_be_read():
    attempt = Attempt(LENGTH.variant(1))
    assert attempt.answer("").kind == verdict.NOT_ATTEMPTED
    assert attempt.answer("what?").kind == verdict.CANNOT_READ
    assert attempt.tries == 0
    attempt.answer("12345")
    assert (attempt.tries, attempt.offers_solution) == (1, False)
    attempt.answer("12346")
    assert (attempt.tries, attempt.offers_solution, attempt.is_done) == (2, True, False)
    assert attempt.answer(attempt.question.right_text).is_right
    assert attempt.is_done


def test_the_same_answer_again_is_no_new_try():
    attempt = Attempt(LENGTH.variant(1))
    first = attempt.answer("12345")
    assert attempt.answer("12345") is first
    assert attempt.tries == 1
    assert attempt.given == ["12345"]


def test_hints_come_in_steps_and_help_is_noticed():
    attempt = Attempt(LENGTH.variant(1))
    assert attempt.open_hints == ()
    assert attempt.next_hint() == attempt.question.hints[0]
    assert attempt.open_hints == attempt.question.hints[:1]
    while attempt.next_hint():
        pass
    assert attempt.open_hints == attempt.question.hints
    attempt.answer(attempt.question.right_text)


def test_a_prediction_is_locked_by_the_first_answer():
    attempt = Attempt(exercise_named("predict-the-chip").variant(1))
    assert not attempt.is_locked
    attempt.answer("A")
    assert not attempt.is_locked, "without a reason it is no answer yet"
    attempt.answer("A 1")
    assert attempt.is_locked
    before = attempt.verdict
    assert attempt.answer(attempt.question.right_text) is before
    assert attempt.tries == 1
    assert attempt.offers_solution


# --- the record -------------------------------------------------------------------------------------------


def test_verdicts_are_computed_again():
    marked = verdict_on(right(LENGTH, 4))
    assert marked.verdict.is_right
    assert not marked.outdated
    assert verdict_on(entry(LENGTH, 4, "1 N")).verdict.kind == verdict.WRONG_KIND


@pytest.mark.parametrize("change", [{"exercise": "no-such-exercise"}, {"question": "00000000"}, {"stage": "half"}])
def test_a_question_that_has_changed_since_is_not_counted(change):
    old = right(LENGTH, 4)._replace(**change)
    assert verdict_on(old).outdated
    told = progress(History((old,)), NOW)
    assert told.answers == 0
    assert "changed since" in told.note


def test_standing_goes_from_new_to_begun_to_sure():
    assert progress(History(), NOW).of("chamfer-length").state == "new"
    assert standing(History((entry(LENGTH, 0, "12345"),)), LENGTH).state == "begun"
    once = History((right(LENGTH, 0),))
    assert standing(once, LENGTH).state == "sure"
    twice = History((right(LENGTH, 0), right(LENGTH, 1)))
    assert (standing(twice, LENGTH).state, standing(twice, LENGTH).row) == ("sure", 2)
    helped = History((right(LENGTH, 0), right(LENGTH, 1, hints=1)))
    assert standing(helped, LENGTH).row == 0  # help ends the row
    wrong = History((right(LENGTH, 0), right(LENGTH, 1), entry(LENGTH, 2, "12345")))
    assert (standing(wrong, LENGTH).row, standing(wrong, LENGTH).questions, standing(wrong, LENGTH).right) == (0, 3, 2)
    second_try = History((entry(LENGTH, 0, "12345"), right(LENGTH, 0), right(LENGTH, 1)))
    assert (standing(second_try, LENGTH).questions, standing(second_try, LENGTH).row) == (2, 1)


def test_a_lesson_done_once_well_is_ticked():
    core = exercises(lesson=1, core=True)
    done = History(tuple(right(e, 3) for e in core))
    assert progress(done, NOW).is_done(1)
    told = lessonpage.fragment(progress(done, NOW), when=NOW)
    assert "<h3>✓ 1 Reading a tap" in told
    assert told.index("Next:") < told.index("00-the-first-tap-by-hand.ipynb"), "lesson 0 is still to be done"
    assert not progress(History(done.entries[1:]), NOW).is_done(1)
    assert "variant 3" in lessonpage.fragment(progress(done, NOW), when=NOW, whole=True), (
        "what was answered, not counts alone"
    )
    assert "<h3>✓" not in lessonpage.fragment(progress(History(done.entries[1:]), NOW), when=NOW, whole=True)


def test_blank_steps_do_not_make_it_sure():
    angle = exercise_named("chamfer-angle")
    faded = History(tuple(right(angle, i, stage="faded-1") for i in range(3)))
    assert standing(faded, angle).row == 0
    assert standing(faded, angle).right == 3


def test_recurring_mistakes_are_counted_by_name():
    slips = []
    for seed in range(3):
        ask = LENGTH.variant(seed).ask
        wrong = next(m for m in ask.mistakes if m.name == "threads-times-diameter")
        slips.append(entry(LENGTH, seed, f"{wrong.value}"))
    slips.append(entry(LENGTH, 4, "12 N"))
    found = progress(History(tuple(slips)), NOW).recurring
    assert [(m.name, m.times) for m in found] == [("threads-times-diameter", 3)]
    assert "diameter" in found[0].message


def test_suggestions_are_spaced():
    fresh = progress(History(), NOW)
    assert [s.exercise.lesson for s in fresh.suggestions] == [0] * 5 + [1]
    names = [s.exercise.name for s in progress(History((entry(LENGTH, 0, "12345"),)), NOW).suggestions]
    assert names[0] == "chamfer-length"
    today = History((right(LENGTH, 0), right(LENGTH, 1)))
    assert "chamfer-length" not in [s.exercise.name for s in progress(today, NOW).suggestions]
    later = progress(History((right(LENGTH, 0, days=4), right(LENGTH, 1, days=4))), NOW).suggestions
    assert later[0].exercise is LENGTH
    assert "4 days ago" in later[0].why


def test_a_recurring_mistake_brings_an_exercise_that_knows_it():
    slips = []
    for seed in range(2):
        wrong = next(
            m for m in exercise_named("drill-cone").variant(seed).ask.mistakes if m.name == "diameter-for-radius"
        )
        slips.append(entry(exercise_named("drill-cone"), seed, f"{wrong.value}"))
    names = [s.exercise.name for s in progress(History(tuple(slips)), NOW).suggestions]
    trained = [e.name for e in exercises() if "diameter-for-radius" in mistakes_of(e)]
    assert set(names) & set(trained) - {"drill-cone"} or "drill-cone" in names


# --- practice ---------------------------------------------------------------------------------------------


def test_a_session_goes_worked_faded_whole():
    items = session(topic="hole plans", level=2, seed=3)
    by_name = {}
    for item in items:
        by_name.setdefault(item.exercise.name, []).append(item)
    assert 1 <= len(by_name) <= 4
    for steps in by_name.values():
        stages = [s.stage for s in steps]
        assert stages == [s for s in ("worked", "faded-1", "faded-2", "whole") if s in stages]
        assert stages[0] == "worked"
        assert stages[-1] == "whole"
        assert len({s.index for s in steps}) == len(steps), "every step has another variant"
    assert all(e.exercise.topic == "hole plans" for e in items)


def test_a_session_follows_what_the_learner_can_do():
    known = tuple(right(e, i) for e in exercises(topic="cycle", level=1) for i in range(2))
    told = progress(History(known), NOW)
    assert {i.stage for i in session(topic="cycle", level=1, progress=told)} == {"whole"}
    assert {i.stage for i in session(topic="cycle", level=1)} == {"worked", "faded-1", "faded-2", "whole"}


def test_sessions_differ_by_seed_and_repeat_with_it():
    def names(seed):
        return [(i.exercise.name, i.index) for i in session(topic="drills and percent", seed=seed)]

    assert names(1) == names(1)
    assert len({tuple(names(s)) for s in range(6)}) > 3


def test_a_session_that_cannot_be():
    with pytest.raises(ValueError, match="no topic"):
        session(topic="knitting")
    with pytest.raises(ValueError, match="leave the level out"):
        session(topic="safe work", level=3)


# --- the page ---------------------------------------------------------------------------------------------


def test_the_page_shows_what_is_done_what_recurs_and_what_comes_next():
    slips = []
    for seed in range(2):
        wrong = LENGTH.variant(seed).ask.mistakes[0]
        slips.append(entry(LENGTH, seed, f"{wrong.value}"))
    history = History((*slips, right(LENGTH, 5), right(LENGTH, 6)))
    text = lessonpage.fragment(progress(history, NOW), name="<Ada> & Bo", when=NOW, whole=True)
    assert "&lt;Ada&gt; &amp; Bo" in text
    assert "What to try next" in text
    assert "<b>2 times:</b> You shared the length among the flutes." in text
    assert "● sure" in text
    assert "2026-03-02" in text
    assert "Length of the chamfer, and comes back on 2026-03-" in text
    assert text.count("<section><h3>") == 10
    assert ".ipynb" not in text, "a printed page leads nowhere"
    assert "@media print" in text
    assert "http" not in text.replace("http-equiv", "")


def test_an_empty_page_says_where_to_begin():
    text = lessonpage.fragment(progress(History(), NOW), when=NOW)
    assert "Nothing answered yet" in text
    assert re.search(r"Next:</b> <a[^>]*>0 The first tap by hand</a>", text)
    assert "Mistakes" not in text, "no wall of what is not begun"
    assert text.index("<details>") < text.index("not begun")


def test_own_questions_stand_on_ones_page_too(tmp_path, monkeypatch):
    monkeypatch.setenv("TAPKIT_ROOM", str(tmp_path))
    heads = "title;lesson;text;set-up;varies;asked"
    row = "My chamfer;1;A tap {thread}, {chamfer} threads. How long?;M10 plug | through 8.5 x 15 | C45;chamfer = 4"
    (tmp_path / "questions.csv").write_text(f"{heads}\n{row};chamfer_length\n", encoding="utf-8")
    one = exercise_named("own-my-chamfer")
    found = progress(History((right(one, 0),), ()), NOW)
    assert found.of("own-my-chamfer").state == "sure"
    assert "My chamfer" in lessonpage.fragment(found)
