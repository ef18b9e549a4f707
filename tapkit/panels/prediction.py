"""Predict first, then see: where the chips will go and why, locked before anything moves."""

from collections.abc import Callable

import ipywidgets
from markupsafe import Markup

from tapkit.drawing import style
from tapkit.exercises import locked
from tapkit.mechanics.chipflow import AHEAD, TO_SHANK, UNDECIDED, ChipFlow
from tapkit.messages import _, said
from tapkit.panels.answerkeys import AnswerChoices, AnswerKeys, OfferedChoice
from tapkit.panels.look import CHOICES
from tapkit.panels.markup import joined, paragraph, tag
from tapkit.panels.panel import hidden_style

WAYS = {TO_SHANK: _("Toward the shank"), AHEAD: _("Ahead of the point"), UNDECIDED: _("No clear way")}
"""What one can predict."""
IN_WORDS = {TO_SHANK: _("toward the shank"), AHEAD: _("ahead of the point"), UNDECIDED: _("no clear way")}
"""The same within a sentence."""
REASONS = {
    "lifted": _("The face leans with the helix, and the edge's inclination lifts the curl"),
    "driven": _("The face is turned back, and the edge's inclination drives the curl before the tap"),
    "neutral": _("The edge has almost no inclination, so small things decide"),
    "steep": _("The chamfer is too steep for the turn of the face"),
    "weight": _("Chips fall by their own weight"),
}
"""Why one can say so."""
ASKED = {"way": (_("1. Where will the chips go?"), WAYS), "reason": (_("2. Why?"), REASONS)}
LOOK = f"""{CHOICES}
.tapkit-predict {{border: 2px solid {style.ACCENT}; border-radius: 6px; padding: 8px 12px; overflow: visible;
  font-size: 15px}}
.tapkit-predict .widget-label {{width: auto; height: auto; font-weight: 600; font-size: inherit; white-space: normal}}
.tapkit-predict .tapkit-choice {{flex-direction: column}}
.tapkit-predict .tapkit-options {{flex: none}}
.tapkit-predict .widget-html, .tapkit-predict .widget-html-content {{height: auto; line-height: 1.35; font-size: 15px}}
.tapkit-predict button {{width: auto; height: auto; padding: 7px 12px; font-size: 15px; line-height: 1.1}}
"""


def right_reason(flow: ChipFlow) -> str:
    """Which of `REASONS` holds for a chip flow.

    >>> from tapkit.mechanics.chipflow import chip_flow
    >>> right_reason(chip_flow(radial_rake=10, axial_rake=-12, chamfer_angle=20))
    'steep'
    """
    if flow.direction == UNDECIDED:
        return "neutral" if abs(flow.inclination) < flow.band else "steep"
    return "lifted" if flow.direction == TO_SHANK else "driven"


class Prediction:
    """Two questions and a key that locks the answers; `on_lock` is called once. `way` and `reason` are the answers
    picked, None before."""

    def __init__(self, on_lock: Callable[[], None] = lambda: None) -> None:
        self.on_lock, self.is_locked, self._kept_as = on_lock, False, ""
        choices = {
            k: OfferedChoice(said(q), [said(t) for t in options.values()], [*options])
            for k, (q, options) in ASKED.items()
        }
        self.answers = AnswerChoices(choices, self.lock)
        self.keys = AnswerKeys(self.answers.take)
        self._lock = self.keys.add("lock", said(_("Lock my prediction")), self.lock, "tapkit-first")
        self.verdict = ipywidgets.HTML().add_class("tapkit-told")
        look = hidden_style(LOOK)
        self.widget = ipywidgets.VBox([look, self.answers, self.keys, self.verdict]).add_class("tapkit-predict")

    @property
    def way(self) -> str | None:
        return self.answers.value("way")

    @property
    def reason(self) -> str | None:
        return self.answers.value("reason")

    def pick(self, way: str, reason: str) -> "Prediction":
        self.answers.choose("way", way)
        self.answers.choose("reason", reason)
        return self

    def lock(self) -> None:
        """Keep the answers as they are, here and beside the record; a word where one is missing, nothing where all is
        locked already."""
        if self.is_locked:
            return
        if self.way is None or self.reason is None:
            self.verdict.value = paragraph(_("Choose an answer and a reason."))
            return
        unsaved = locked.lock(self._kept_as, {"way": self.way, "reason": self.reason}) if self._kept_as else None
        self._close()
        if unsaved:
            self.verdict.value += paragraph(unsaved)

    def take_up(self, name: str) -> None:
        """Be kept under a name, and locked at once where something is kept there."""
        self._kept_as, kept = name, locked.unlocked(name)
        if kept.get("way") in WAYS and kept.get("reason") in REASONS:
            self.pick(kept["way"], kept["reason"])
            self._close()

    def tell(self, flow: ChipFlow) -> None:
        """Say under the answers how they compare with a chip flow."""
        self.verdict.value = prediction_verdict(self.way, self.reason, flow)

    def _close(self) -> None:
        self.is_locked = self.answers.locked = self._lock.disabled = True
        self.on_lock()


def on_paper() -> Markup:
    """Both questions with their answers, and a line to write on."""
    asked = (
        paragraph(question) + tag("ol", *(tag("li", o) for o in options.values()), style=f"list-style:{kind}")
        for (question, options), kind in zip(ASKED.values(), ("upper-alpha", "decimal"))
    )
    blank = tag("span", "\xa0", style=f"border-bottom:1px solid {style.INK};display:inline-block;min-width:14em")
    return joined([*asked, tag("p", _("Answer"), ": ", blank)])


def prediction_verdict(way: str | None, reason: str | None, flow: ChipFlow) -> str:
    """How a prediction compares with the computed way, as HTML."""
    is_right, why = way == flow.direction, right_reason(flow)
    told = _("As you said: {way}.", way=IN_WORDS[flow.direction])
    if not is_right:
        told = _("You said: {own}. The model says: {way}.", own=IN_WORDS[way], way=IN_WORDS[flow.direction])
    because = (
        _("Your reason is right.")
        if reason == why
        else _("Your reason was not it. The reason: {reason}.", reason=REASONS[why])
    )
    colour = style.GOOD if is_right else style.WARN
    return tag("p", tag("b", told), style=f"margin:6px 0;color:{colour}") + paragraph(because)
