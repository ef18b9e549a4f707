"""Answers by variant, for the class book: the question of a seed with its answer, its solution and known mistakes."""

import ipywidgets
from markupsafe import escape

from tapkit.exercises import bank
from tapkit.exercises.exercise import Exercise, Question
from tapkit.exercises.number import NumberAsked
from tapkit.messages import _, said
from tapkit.panels.markup import BREAK, bold, joined, paragraph, points, tag
from tapkit.panels.onscreen import OnScreen
from tapkit.panels.text import CSS


def lesson_of(workbook: str) -> int:
    """The lesson's number at the start of a workbook's name.

    >>> lesson_of("03-the-load-on-each-tooth")
    3
    """
    if not (workbook[:2].isdigit() and bank.exercises(lesson=int(workbook[:2]))):
        example = "03-the-load-on-each-tooth"
        raise ValueError(
            _(
                "there are no exercises for {workbook!r}; write a lesson like {example!r}",
                workbook=workbook,
                example=example,
            )
        )
    return int(workbook[:2])


def answer_html(question: Question) -> str:
    """A question with its answer, solution and known mistakes."""
    ask = question.ask
    lines = question.text.split("\n")
    asked = tag("p", lines[0], *(joined((BREAK, escape(line))) for line in lines[1:]))
    slips = [
        _("{value}: {says}", value=ask.text(slip.value / ask.own), says=question.say(slip.says))
        for slip in (ask.mistakes if isinstance(ask, NumberAsked) else ())
    ]
    parts = [
        asked,
        points(question.lines),
        bold(_("Answer: {answer}", answer=question.right_words)),
        points(question.solution, name="ol"),
        bold(_("Known mistakes")) + points(slips) if slips else "",
    ]
    return tag("div", *parts, class_="tk-text")


class Answers(OnScreen):
    """The answers of one lesson on the screen; `question` is the one shown."""

    name = _("Panel: answers")

    def __init__(self, exercises: tuple[Exercise, ...]) -> None:
        options = [(e.title, e.name) for e in exercises]
        self._exercise = ipywidgets.Dropdown(options=options, description=said(_("Exercise")), layout={"width": "100%"})
        self._seed = ipywidgets.BoundedIntText(value=0, min=0, max=10**9, description=said(_("Variant, or seed")))
        for widget in (self._exercise, self._seed):
            widget.style.description_width = "initial"
            widget.observe(lambda _: self._show(), "value")
        self._body = ipywidgets.HTML()
        self.widget = ipywidgets.VBox([ipywidgets.HTML(CSS), self._exercise, self._seed, self._body])
        self._show()

    @property
    def question(self) -> Question:
        """The question of the exercise and seed chosen."""
        return bank.exercise_named(self._exercise.value).variant(self._seed.value)

    def _show(self) -> None:
        self._body.value = answer_html(self.question)

    def still(self) -> str:
        told = _("Answers by variant for: {titles}.", titles="; ".join(option[0] for option in self._exercise.options))
        return CSS + paragraph(told, look="tk-text tk-source")


def answers(workbook: str) -> Answers:
    """The answers of a workbook's exercises by seed, as `answers("03-the-load-on-each-tooth")`."""
    return Answers(bank.exercises(lesson=lesson_of(workbook), own=True))
