"""Answering every question that a running workbook shows, through its own boxes and buttons.

It is imported in a kernel before the workbook's cells: `watch` notes every quiz that is made. `answer_all` then leaves
each blank, gives wrong answers, and gives the right one, and returns what went wrong as sentences.
"""

import html
import importlib
import re
import time

from tapkit.exercises.blanks import BlanksAsked, SettingAsked
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.options import ChoiceAsked, OrderAsked
from tapkit.exercises.verdict import NOT_ATTEMPTED
from tapkit.panels.controls import Controls

MADE, BEGAN = [], []
ALWAYS_WRONG = ("abc", "-7 N", "1e9", "0.0001 mm", "<b>8</b>", "=8e8", "; ;", "9" * 400)


def watch():
    """Note every quiz that is made from now on, none made before."""
    MADE.clear()
    BEGAN.append(time.process_time())
    quiz = importlib.import_module("tapkit.panels.quiz")
    build = quiz.Quiz._build
    if build.__name__ == "noted":
        return

    def noted(self):
        MADE.append(self)
        build(self)

    quiz.Quiz._build = noted


def fill(quiz, text):
    """Put an answer into the boxes, as a learner would, and press the button."""
    place, ask = quiz.answer_box, quiz.attempt.question.ask
    if isinstance(ask, ChoiceAsked):
        place.fill(text)
    elif isinstance(ask, BlanksAsked):
        place.widget.put(**dict(zip(place.widget.texts, map(str.strip, text.split(";")))))
    elif isinstance(ask, SettingAsked):
        place.panel.set(**{k.strip(): float(v) for k, v in (p.split("=") for p in text.split(";"))})
    else:
        place.fill(text)
    quiz.check_key.click()
    return quiz.attempt.verdict


def wrong_answers(ask):
    """Answers that are wrong: known mistakes, every other option, another order, sliders left as they were."""
    if isinstance(ask, ChoiceAsked):
        reasons = range(1, len(ask.reasons) + 1) or [""]
        every = [f"{c} {r}".strip() for c in "ABCDEFGH"[: len(ask.options)] for r in reasons]
        return [t for t in every if t != ask.right_text]
    if isinstance(ask, SettingAsked):
        return [ask.text_of(ask.start)]
    if isinstance(ask, OrderAsked):
        letters = ask.right_text.split()
        return [" ".join(letters[i:] + letters[:i]) for i in range(1, len(letters))] + [letters[0], "z z z"]
    if isinstance(ask, BlanksAsked):
        each = [wrong_answers(p.number)[:3] for p in ask.parts]
        return ["; ".join(texts) for texts in zip(*each)]
    if isinstance(ask, NumberAsked):
        return [ask.text(m.value / ask.own) for m in ask.mistakes] + [f"{ask.right * 1000:.6g}", *ALWAYS_WRONG]
    return [m.spellings[0] for m in getattr(ask, "mistakes", ())] + list(ALWAYS_WRONG)


def numbers_told(quiz):
    """The right values as typed, and what the learner reads beside the answer."""
    ask = quiz.attempt.question.ask
    asked = (
        [ask] if isinstance(ask, NumberAsked) else [p.number for p in ask.parts] if isinstance(ask, BlanksAsked) else []
    )
    said = html.unescape(re.sub(r"<[^>]+>", " ", quiz.verdict.value))
    return [n.right_text.split()[0] for n in asked], said


def one(quiz):
    """One question as it stands: blank, wrong, right."""
    question = quiz.attempt.question
    name = f"{question.exercise.name} {question.stage} {question.seed}"
    if not isinstance(question.ask, SettingAsked):
        quiz.check_key.click()
        if quiz.attempt.verdict.kind != NOT_ATTEMPTED:
            yield f"{name}: blank is {quiz.attempt.verdict.kind}"
    for text in wrong_answers(question.ask)[: 1 if quiz.attempt.is_prediction else None]:
        quiz.open(quiz.number, again=False)
        verdict = fill(quiz, text)
        values, said = numbers_told(quiz)
        if verdict.is_right or "✓" in said:
            yield f"{name}: {text[:40]!r} counts as right"
        if not said.strip():
            yield f"{name}: nothing is said about {text[:40]!r}"
        for value in values:
            if len(value) > 2 and value not in text and re.search(rf"(?<![\d.,]){re.escape(value)}(?![\d.,])", said):
                yield f"{name}: the verdict on {text[:40]!r} tells {value}: {said}"
    quiz.open(quiz.number, again=False)
    told = fill(quiz, question.right_text).is_right and ("✓" in quiz.verdict.value or "taken" in quiz.verdict.value)
    if not told:
        yield f"{name}: the right answer {question.right_text!r} is {quiz.attempt.verdict.kind}: {quiz.verdict.value}"


def exercise_sets():
    """The quizzes that have a list of exercises above them, with their lists."""
    for quiz in MADE:
        pick = quiz.widget.children[0]
        if isinstance(pick, Controls):
            yield quiz, pick


def answer_all():
    """What went wrong, how many questions were answered, and the seconds of work before this."""
    busy, trouble, count = time.process_time() - BEGAN[-1], [], 0
    lists = {id(quiz): pick for quiz, pick in exercise_sets()}
    for quiz in list(MADE):
        picks = [name for _text, name in lists[id(quiz)].state.controls[0].pairs] if id(quiz) in lists else [None]
        for place, pick in enumerate(picks):
            if pick is not None:
                lists[id(quiz)].hear({"key": "exercise", "pick": place})
                if quiz.attempt.question.exercise.name != pick:
                    trouble.append(f"{pick} was chosen and is not shown")
            trouble += one(quiz)
            count += 1
    return trouble, count, busy
