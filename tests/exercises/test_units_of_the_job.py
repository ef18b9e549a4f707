"""A question of an inch job says inch everywhere, one of a metric job metric; examples of form are never the answer."""

import re

import pytest
from questionwords import words_of

from tapkit.exercises.answer import EXAMPLES
from tapkit.exercises.bank import exercises, lessons
from tapkit.exercises.blanks import BlanksAsked
from tapkit.exercises.options import ChoiceAsked, OrderAsked

each = pytest.mark.parametrize("one", exercises(), ids=lambda e: e.name)
METRIC = re.compile(r"\d ?(?:mm|cm|N·m|N|N/mm²|m/min|mm²|mm³)(?![\w·/²³])")
INCH = re.compile(r"(?<![\w.])(?:\d+(?:\.\d+)? ?(?:in²|in³|in·lbf|lbf|psi|ksi|sfm)|\d*\.\d{3,} in)(?![\w·²³])")


@each
def test_one_system_of_units_in_a_question(one):
    for question in one.questions:
        other = METRIC if question.draft.system == "inch" else INCH
        if one.name in ("pitch-from-inch-thread", "two-percents"):
            continue
        assert [text for text in words_of(question) if other.search(text)] == []


def test_inch_jobs_are_there():
    inch = {e.name for e in exercises() if any(q.draft.system == "inch" for q in e.questions)}
    assert len(inch) > 20


@each
def test_an_example_of_form_is_never_the_answer(one):
    for question in one.questions:
        typed = ("?", "x y z", "A", "1 N·m 2", "9", "M10", "plug")
        told = [question.how, *(question.judge(t).message for t in typed)]
        listed = [e for text in told for e in re.findall(r"like (.*?)(?:\.$|\. [A-Z]|$)", text)]
        examples = {*EXAMPLES, *(e.strip("“” ") for many in listed for e in re.split(r", | or ", many))}
        for example in examples:
            assert not question.judge(example).is_right, (example, question.text)


@each
def test_every_verdict_is_one_sentence_or_a_few(one):
    question = one.questions[0]
    for text in ("", "?", "x y z", "A 1", "B", "9", "1;2", "−3 mm", "4 threads", "1e99", "D, C, B, A"):
        message = question.judge(text).message
        assert message[:1].isupper() or not message[:1].isalpha(), message
        assert re.search(r"[.?!)]$", message), message
        assert not re.search(r"\.\.|\{|\}|  ", message), message


@each
def test_credit_goes_from_nothing_to_all(one):
    for question in one.questions[:3]:
        assert question.judge(question.right_text).credit == 1
        assert question.judge("").credit == 0
        ask = question.ask
        if isinstance(ask, ChoiceAsked) and ask.reasons:
            right = question.right_text.split()
            other = next(str(i) for i, r in enumerate(ask.reasons, start=1) if not r.is_right)
            assert question.judge(f"{right[0]} {other}").credit == 0.5
        if isinstance(ask, BlanksAsked):
            half = question.judge("; ".join(p.number.right_text if i else "" for i, p in enumerate(ask.parts)))
            assert half.credit == pytest.approx((len(ask.parts) - 1) / len(ask.parts))
        if isinstance(ask, OrderAsked):
            letters = question.right_text.split(", ")
            swapped = ", ".join([letters[1], letters[0], *letters[2:]])
            assert question.judge(swapped).credit == pytest.approx((len(letters) - 2) / len(letters))


def test_core_is_three_or_four_a_lesson():
    for lesson in lessons()[:-1]:
        core = exercises(lesson=lesson, core=True)
        assert 3 <= len(core) <= 4, lesson
        assert len(core) + len(exercises(lesson=lesson, core=False)) == len(exercises(lesson=lesson))
