"""Where one answers: a box for a text, buttons for a choice, boxes for blanks, sliders for a setting.

Each has `widget`, `text` (the answer as typed), `how` to answer, `is_wide`, `take(standing)` what stands on the screen,
`fill(text)` with an answer of the record, and `lock()`; `enter` is called when Enter is pressed.
"""

import contextlib
from collections.abc import Callable
from typing import Any

import ipywidgets

from tapkit import door
from tapkit.exercises import answer
from tapkit.exercises.blanks import BlanksAsked, SettingAsked
from tapkit.exercises.exercise import Question
from tapkit.exercises.options import ChoiceAsked
from tapkit.messages import _
from tapkit.panels.answerkeys import AnswerBoxes, AnswerChoices, AnswerState, OfferedChoice
from tapkit.panels.markup import paragraph

Enter = Callable[[], None]


class Answer:
    """What the places to answer in boxes or with buttons have in common."""

    is_wide = False
    widget: AnswerBoxes | AnswerChoices

    def take(self, standing: AnswerState) -> None:
        self.widget.take(standing)

    def lock(self) -> None:
        self.widget.locked = True


class TextAnswer(Answer):
    """One line for a number, a name or a list of letters."""

    def __init__(self, question: Question, enter: Enter, number: int) -> None:
        self.how = question.how
        self.widget = AnswerBoxes({"answer": str(_("Answer"))}, enter, number)

    @property
    def text(self) -> str:
        return self.widget.texts["answer"]

    def fill(self, text: str) -> None:
        self.widget.put(answer=text)


class ChoiceAnswer(Answer):
    """Round buttons for the options, and for the reasons."""

    def __init__(self, question: Question, enter: Enter, number: int) -> None:
        choice: ChoiceAsked = question.ask
        self.how = str(_("Choose an answer and a reason.") if choice.reasons else _("Choose an answer."))
        cut = len(choice.options)
        groups = {"answer": (str(_("Answer")), question.lines[:cut])}
        if choice.reasons:
            groups["reason"] = (question.lines[cut], question.lines[cut + 1 :])
        choices = {
            k: OfferedChoice(label, lines, [t.split()[0] for t in lines]) for k, (label, lines) in groups.items()
        }
        self.widget = AnswerChoices(choices, enter, number)

    @property
    def text(self) -> str:
        """Letter and number chosen, "B 2"."""
        return " ".join(self.widget.value(k) or "" for k in self.widget.choices).strip()

    def fill(self, text: str) -> None:
        for key, part in zip(self.widget.choices, text.split(), strict=False):
            if part in self.widget.choices[key].values:
                self.widget.choose(key, part)


class BlanksAnswer(Answer):
    """One line for each blank; Enter goes for the verdict."""

    def __init__(self, question: Question, enter: Enter, number: int) -> None:
        self.how = question.how
        self._ask: BlanksAsked = question.ask
        labels = {
            p.key: f"{i}  {p.label}" + (f", {p.number.unit}" if p.number.unit else "")
            for i, p in enumerate(self._ask.parts, start=1)
        }
        self.widget = AnswerBoxes(labels, enter, number)
        self.widget.add_class("tapkit-blanks")

    @property
    def text(self) -> str:
        values = self.widget.texts
        return self._ask.text_of(values) if any(v.strip() for v in values.values()) else ""

    def fill(self, text: str) -> None:
        self.widget.put(**dict(zip(self._ask.keys, _fields(text, self._ask.keys), strict=True)))


class SettingAnswer:
    """Sliders of this question's own, with their drawing; or those of a panel that stands in the workbook."""

    is_wide = True

    def __init__(self, question: Question, panel: Any = None) -> None:
        self.how = question.how
        self._ask: SettingAsked = question.ask
        self.panel = _own_panel(question) if panel is None else panel
        if panel is None:
            self.widget = self.panel.widget
        else:
            self._check_keys(panel)
            panel.set(**self._known(self._ask.preset), **self._ask.start)
            self.widget = ipywidgets.HTML(paragraph(_("Set the sliders of the panel above, then press Check.")))

    def take(self, standing: AnswerState) -> None:
        """Nothing: every move of a slider is a message of its own, in order."""

    def _known(self, values: Any) -> dict[str, Any]:
        return {k: v for k, v in values.items() if k in vars(self.panel.values)}

    def _check_keys(self, panel: Any) -> None:
        missing = [k for k in self._ask.keys if k not in vars(panel.values)]
        if missing:
            raise ValueError(
                _(
                    "this panel has no control {key}, which the question sets; leave the panel out",
                    key=door.quoted(missing[0]),
                )
            )

    @property
    def text(self) -> str:
        return self._ask.text_of({k: getattr(self.panel.values, k) for k in self._ask.keys})

    def fill(self, text: str) -> None:
        with contextlib.suppress(ValueError):  # an answer of an earlier version
            self.panel.set(**{k: float(t) for k, t in zip(self._ask.keys, _fields(text, self._ask.keys), strict=True)})

    def lock(self) -> None:
        """Sliders can always be moved."""


def _fields(text: str, keys: tuple[str, ...]) -> tuple[str, ...]:
    try:
        return answer.read_fields(text, keys)
    except answer.ReadingError:
        return ("",) * len(keys)


def _own_panel(question: Question) -> Any:
    from tapkit.drawing.sketch import KINDS, describe_sketch, draw_sketch, update_sketch
    from tapkit.panels import common
    from tapkit.panels.panel import Panel, PanelSpec

    ask: SettingAsked = question.ask
    name = ask.sketch
    controls = tuple(common.own_number(s.field, s.label, s.start, s.low, s.high, s.step) for s in ask.sliders)
    return Panel(
        PanelSpec(
            title=question.exercise.title,
            controls=controls,
            model_from=lambda values: ask.model_from(vars(values)),
            draw=lambda figure, model, system: draw_sketch(figure, name, model, system),
            update=lambda artists, model: update_sketch(artists, name, model),
            describe=lambda model, system: describe_sketch(name, model, system),
            size=KINDS[name].size,
            units=False,
        )
    )


def answer_for(question: Question, enter: Enter, panel: Any = None, number: int = 0) -> Any:
    """The fitting place to answer a question, the `number`-th of its quiz."""
    if isinstance(question.ask, SettingAsked):
        return SettingAnswer(question, panel)
    kinds = {ChoiceAsked: ChoiceAnswer, BlanksAsked: BlanksAnswer}
    return kinds.get(type(question.ask), TextAnswer)(question, enter, number)
