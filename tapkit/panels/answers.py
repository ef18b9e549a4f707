"""Answers by variant, for the class book: the question of a seed with its answer, its solution and known mistakes."""

from __future__ import annotations

import html

import ipywidgets
from IPython.display import HTML, display

from tapkit.exercises import bank
from tapkit.exercises.exercise import Exercise, Question
from tapkit.exercises.number import NumberAsked
from tapkit.messages import _, said
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
    lines = "".join(f"<li>{html.escape(line)}</li>" for line in question.lines)
    solution = "".join(f"<li>{html.escape(line)}</li>" for line in question.solution)
    ask = question.ask
    slips = "".join(
        f"<li>{html.escape(ask.text(slip.value / ask.own))}: {html.escape(question.say(slip.says))}</li>"
        for slip in (ask.mistakes if isinstance(ask, NumberAsked) else ())
    )
    mistakes = f"<p><b>{html.escape(said(_('Known mistakes')))}</b></p><ul>{slips}</ul>" if slips else ""
    answer = html.escape(said(_("Answer: {answer}", answer=question.right_words)))
    asked = html.escape(question.text).replace("\n", "<br>")
    return (
        f"<div class='tk-text'><p>{asked}</p><ul>{lines}</ul><p><b>{answer}</b></p><ol>{solution}</ol>{mistakes}</div>"
    )


class Answers:
    """The answers of one lesson on the screen; `question` is the one shown."""

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
        return bank.exercise(self._exercise.value).variant(self._seed.value)

    def _show(self) -> None:
        self._body.value = answer_html(self.question)

    def _ipython_display_(self) -> None:
        view = {"version_major": 2, "version_minor": 0, "model_id": self.widget.model_id}
        display({"application/vnd.jupyter.widget-view+json": view, "text/plain": said(_("Panel: answers"))}, raw=True)
        told = _("Answers by variant for: {titles}.", titles="; ".join(option[0] for option in self._exercise.options))
        display(HTML(f"{CSS}<p class='tk-text tk-source'>{html.escape(said(told))}</p>"))


def answers(workbook: str) -> Answers:
    """The answers of a workbook's exercises by seed, as `answers("03-the-load-on-each-tooth")`."""
    return Answers(bank.exercises(lesson=lesson_of(workbook), own=True))
