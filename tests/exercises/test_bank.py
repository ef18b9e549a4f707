"""The whole bank: every variant of every exercise is solvable, told apart, in both units, and free of its answer."""

import re

import pytest

from tapkit.exercises import answer, verdict
from tapkit.exercises.bank import exercise_named, exercises, lessons
from tapkit.exercises.blanks import BlanksAsked, SettingAsked
from tapkit.exercises.exercise import STAGES, TOPICS
from tapkit.exercises.naming import WordAsked
from tapkit.exercises.number import NumberAsked, other_unit
from tapkit.exercises.options import ChoiceAsked, OrderAsked

ALL = exercises()
each = pytest.mark.parametrize("one", ALL, ids=lambda e: e.name)


def test_size_of_the_bank():
    assert len(ALL) >= 45
    assert len({e.kind for e in ALL}) == 9
    assert {e.topic for e in ALL} == set(TOPICS)
    for lesson in lessons():
        assert len(exercises(lesson=lesson)) >= 5, f"lesson {lesson}"


@each
def test_at_least_twenty_variants_that_differ(one):
    assert len(one) >= 20
    shown = {(q.text, q.lines, q.sketch and q.sketch.alt) for q in one.questions}
    assert len(shown) == len(one)


@each
def test_data_is_in_order(one):
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", one.name)
    assert one.level in (1, 2, 3)
    assert one.topic in TOPICS
    for question in one.questions:
        assert question.hints
        assert question.steps
        assert question.how
        assert len(question.text) < 700
        assert all(drawing is None or drawing.alt for drawing in (question.sketch, question.reveal))


def test_every_right_answer_is_given_its_reason_in_one_sentence():
    reasons = [str(one.why) for one in ALL]
    assert len(set(reasons)) == len(ALL)
    assert [r for r in reasons if not re.fullmatch(r"[A-Z](?:[^.]|\.\d)+\.", r) or len(r.split()) > 30] == []


@each
def test_right_answer_is_right_and_stays_right(one):
    for question in one.questions:
        assert question.judge(question.right_text).is_right, (question.text, question.right_text)
        assert question.judge(f"  {question.right_text.upper()} ").is_right or isinstance(
            question.ask, SettingAsked | BlanksAsked
        )


@each
def test_worked_solution_is_right_by_its_own_exercise(one):
    for question in one.questions:
        for step in question.steps:
            if step.number is not None:
                assert step.number.judge(step.number.text()).is_right, (question.solution, step.number)
                assert question.say(step.line).endswith(step.number.text())
        if isinstance(question.ask, NumberAsked):
            assert question.judge(question.right_text).is_right
            assert question.ask in [s.number for s in question.steps]
            assert question.solution[-1] == f"Answer: {question.right_text}"


@each
def test_known_mistakes_are_told_by_name(one):
    for question in one.questions:
        ask = question.ask
        if isinstance(ask, NumberAsked):
            assert len(ask.mistakes) >= 2, one.name
            assert ask.is_apart
            for slip in ask.mistakes:
                said = ask.judge(f"{slip.value / ask.own:.9g}")
                assert (said.kind, said.mistake) == (verdict.MISTAKE, slip.name), (question.text, slip)
        if isinstance(ask, WordAsked):
            assert len(ask.mistakes) >= 2
            for wrong in ask.mistakes:
                assert ask.judge(wrong.spellings[0]).mistake == wrong.name
        if isinstance(ask, BlanksAsked):
            for part in ask.parts:
                for slip in part.number.mistakes:
                    assert part.number.judge(f"{slip.value / part.number.own:.9g}").mistake == slip.name


@each
def test_every_wrong_option_teaches(one):
    for question in one.questions:
        if not isinstance(question.ask, ChoiceAsked):
            continue
        options, reasons = question.ask.options, question.ask.reasons
        assert len({o.text for o in options}) == len(options)
        assert len({r.text for r in reasons}) == len(reasons)
        right_reason = next((i for i, r in enumerate(reasons, start=1) if r.is_right), "")
        for letter, option in zip("ABCDEFGH", options):
            said = question.judge(f"{letter} {right_reason}")
            assert said.is_right == option.is_right
            assert said.mistake == option.name
            assert len(said.message) > 15 or said.is_right
        if one.kind == "choice with a reason":
            assert len(reasons) >= 3


@each
def test_orders_can_be_told_apart(one):
    for question in one.questions:
        if isinstance(question.ask, OrderAsked):
            assert question.ask.is_apart
            assert question.ask.shown not in (question.ask.items, question.ask.items[::-1])
            for wrong in question.ask.mistakes:
                assert question.judge(" ".join(question.ask.letters_of(wrong.texts))).mistake == wrong.name


@each
def test_units_right_both_ways(one):
    for question in one.questions:
        numbers = [question.ask] if isinstance(question.ask, NumberAsked) else []
        numbers += [p.number for p in question.ask.parts] if isinstance(question.ask, BlanksAsked) else []
        for number in numbers:
            _both_units(number)
            if number.kind not in ("number", "tooth number", "flute number"):
                wrong = "8 N" if number.kind != "force" else "8 mm"
                assert number.judge(wrong).kind == verdict.WRONG_KIND


def _both_units(number):
    other = other_unit(number.kind, number.system)
    if other is None:
        return
    label, factor = other
    assert number.judge(f"{number.right / factor:.9g} {label}").is_right
    bare = number.judge(f"{number.right / factor:.9g}")
    assert bare.mistake in ("inch-for-mm", "mm-for-inch")


@each
def test_text_and_hints_are_free_of_the_answer(one):
    for question in one.questions:
        assert not question.gives_away


@each
def test_no_verdict_tells_the_right_value(one):
    for question in one.questions:
        if isinstance(question.ask, NumberAsked):
            right = question.right_text.split()[0]
            told = [question.say(m.says) for m in question.ask.mistakes] + [
                question.judge(t).message for t in ("", "x", "1e9", "-7")
            ]
            if len(right) > 2:
                assert not any(re.search(rf"(?<![\d.]){re.escape(right)}(?![\d.])", t) for t in told)


@each
def test_faded_stages_ask_for_the_last_steps(one):
    for question in one.questions[:6]:
        for stage in STAGES:
            faded = question.at_stage(stage)
            assert faded.judge(faded.right_text).is_right
            if faded.stage.startswith("faded"):
                assert isinstance(faded.ask, BlanksAsked)
                assert len(faded.ask.parts) == int(stage[-1])
                assert faded.digest != question.digest
    with pytest.raises(ValueError, match="no stage"):
        one.questions[0].at_stage("half")


@each
def test_same_seed_same_question(one):
    asked = [one.variant(seed) for seed in range(len(one))]
    assert len({q.index for q in asked}) == len(one)
    again = one.variant(3)
    assert (again.text, again.lines, again.right_text) == (asked[3].text, asked[3].lines, asked[3].right_text)
    assert one.variant(3 + len(one)).digest == again.digest
    assert one.variant(2**52 + 1).text


@each
def test_settings_can_be_missed_in_more_than_one_way(one):
    for question in one.questions[::6]:
        if isinstance(question.ask, SettingAsked):
            ask, missed = question.ask, set()
            for slider in ask.sliders:
                for value in [slider.low + i * (slider.high - slider.low) / 60 for i in range(61)]:
                    said = ask.judge(ask.text_of({**ask.solution, slider.field: value}))
                    missed.add(said.mistake)
            missed.add(ask.judge(ask.text_of(ask.start)).mistake)
            assert len(missed - {None}) >= 2


def test_no_wrong_option_is_as_good_as_the_right_one():
    """Common practice (no source): marking out before clamping or after it; a tap that stands on the floor, on packed
    chips, or springs, is stopped and turned back in each case."""
    stop = ("stop, turn back and do not try again harder", "stop at once and turn back with small movements")
    for question in exercise_named("what-the-turn-tells").questions:
        assert not all(any(one in line for line in question.lines) for one in stop), question.lines
    for question in exercise_named("order-by-hand").questions:
        text = " ".join(question.lines)
        assert not ("scriber" in text and "clamp the part" in text), text
    for question in exercise_named("order-at-the-machine").questions:
        text = " ".join(question.lines)
        assert not ("set its zero" in text and "enter their lengths" in text), text
    for question in exercise_named("plan-that-fails").questions:
        parts = [line.split(":")[0].split(maxsplit=1)[1] for line in question.lines if "thick" in line]
        assert len(set(parts)) == 4, parts
    for question in exercise_named("predict-where-chips-end").questions:
        assert not ("through hole" in question.text and "axial rake 0°" in question.text), question.text


def test_settings_and_taps_are_those_of_the_trade():
    """Radial rake by the metal, lifting flutes for long chips, no large tap with two flutes (common practice)."""
    for name in ("set-chips-ahead", "set-chips-up"):
        assert not any(
            "EN-GJL" in q.text or "brass" in q.text or " base " in q.text for q in exercise_named(name).questions
        )
    for name in ("chip-thickness", "teeth-on-the-chamfer", "order-by-strength"):
        for question in exercise_named(name).questions:
            for line in (question.text, *question.lines):
                size = re.search(r"M(\d+)", line)
                assert not (size and int(size[1]) >= 6 and "2 flutes" in line), line


def test_names_and_lookups():
    assert exercise_named(ALL[0].name) is ALL[0]
    with pytest.raises(ValueError, match="did you mean"):
        exercise_named("chamfer-lenght")
    assert all(e.level == 1 for e in exercises(level=1))
    assert max(len(q.right_text) for e in ALL for q in e.questions) < answer.MAX_ANSWER
