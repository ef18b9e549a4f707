"""What counts as right on paper: all of it, with the tolerance, as an instructor marks by hand."""

import math
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from tapkit.exercises.blanks import BlanksAsked, SettingAsked, Slider
from tapkit.exercises.exercise import Exercise, Question
from tapkit.exercises.naming import TapAsked, WordAsked
from tapkit.exercises.number import NumberAsked
from tapkit.messages import Number, Sentence, _, catalogue, listed, said


def right_answers(question: Question) -> list[str]:
    """All that is right, a line for each way."""
    return list(_answers(question.exercise, question.index, catalogue()))


def short_answer(question: Question) -> str:
    """The right answer in a few signs, for the grid of a whole class."""
    ask = question.ask
    if isinstance(ask, BlanksAsked):
        return "; ".join(p.number.number() for p in ask.parts)
    if isinstance(ask, SettingAsked):
        return "; ".join(said(Number(ask.solution[s.field])) for s in ask.sliders) + " …"
    if isinstance(ask, NumberAsked):
        return ask.right_text
    return question.right_text


@lru_cache(maxsize=4096)
def _answers(exercise: Exercise, index: int, words: Any) -> tuple[str, ...]:
    """The answers said with the words of a catalogue, kept for each."""
    question = exercise.questions[index]
    ask = question.ask
    if isinstance(ask, NumberAsked):
        return (_with_tolerance(ask),)
    if isinstance(ask, BlanksAsked):
        return tuple(f"{said(p.label)}: {_with_tolerance(p.number)}" for p in ask.parts)
    if isinstance(ask, SettingAsked):
        return tuple(map(question.say, _settings(ask)))
    if isinstance(ask, TapAsked):
        return (said(ask.right_words),)
    if isinstance(ask, WordAsked):
        return tuple(ask.spellings)
    return (question.right_text,)


def _with_tolerance(ask: NumberAsked) -> str:
    """The number, and between which it may lie; a count alone."""
    if ask.tolerance == "count":
        return ask.right_text
    band = ask.band(ask.right)
    digits = max(0, math.ceil(-math.log10(band)) + 1)
    low, high = (Number(value, decimals=digits) for value in (ask.right - band, ask.right + band))
    return said(_("{right} ({low} to {high})", right=ask.right_text, low=low, high=high))


def _settings(ask: SettingAsked) -> Iterator[Sentence]:
    """What a setting must meet, and every one of one or two sliders that does; of more an example, and how far each
    slider may go from it alone."""
    yield _("right is every setting that meets all of this, to the number as said:")
    yield from (request.says for request in ask.requests)
    yield _(
        "in steps of {steps}",
        steps=listed(_("{slider} {step}", slider=s.label, step=Number(s.step)) for s in ask.sliders),
    )
    *outer, inner = sorted(ask.sliders, key=_steps)
    if len(outer) < 2:
        for value in _values(outer[0]) if outer else [None]:
            fixed = {outer[0].field: value} if outer and value is not None else {}
            spans = _spans(ask, inner, fixed)
            if spans and outer:
                yield _("{slider} {value}: {spans}", slider=outer[0].label, value=Number(value), spans=spans)
            elif spans:
                yield spans
        return
    yield _("for example: {settings}", settings=ask.settings)
    for one in ask.sliders:
        spans = _spans(ask, one, {f: v for f, v in ask.solution.items() if f != one.field})
        yield _("from there, this one alone: {spans}", spans=spans)
    yield _("any other one: type it at the desk, which says whether all is met")


def _spans(ask: SettingAsked, slider: Slider, fixed: dict[str, float]) -> Sentence | None:
    """Where a slider may stand with the others fixed, in words; None where nowhere."""
    fine = [v for v in _values(slider) if ask.judge(ask.text_of({**fixed, slider.field: v})).is_right]
    spans: list[list[float]] = []
    for value in fine:
        if spans and value - spans[-1][1] < 1.5 * slider.step:
            spans[-1][1] = value
        else:
            spans.append([value, value])
    if not spans:
        return None
    told = [_("{low} to {high}", low=Number(a), high=Number(b)) if b > a else Number(a) for a, b in spans]
    return _("{slider} {spans}", slider=slider.label, spans=listed(told))


def _steps(slider: Slider) -> int:
    return round((slider.high - slider.low) / slider.step)


def _values(slider: Slider) -> list[float]:
    return [round(slider.low + k * slider.step, 9) for k in range(_steps(slider) + 1)]
