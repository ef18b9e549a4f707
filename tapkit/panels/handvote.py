"""A vote by hand: how many hands there were for each answer, where learners have no screen of their own."""

import re
from collections.abc import Callable, Iterator, Sequence

import ipywidgets

from tapkit.classroom.spread import Bar, Spread, spread_of
from tapkit.exercises.exercise import Question
from tapkit.exercises.options import ChoiceAsked
from tapkit.messages import _, said
from tapkit.panels.markup import tag

MOST = 99
"""Hands for one answer."""


class HandVote:
    """Boxes for the hands: one for each option of a choice, else a line for answers and their hands."""

    def __init__(self, changed: Callable[[], None]) -> None:
        self._changed = changed
        self.counts: list[ipywidgets.BoundedIntText] = []
        self.line: ipywidgets.Text | None = None
        self.widget = ipywidgets.Box().add_class("tapkit-hands")

    def ask(self, question: Question) -> None:
        """Boxes for a question, all empty."""
        ask = question.ask
        self.counts, self.line = [], None
        head = ipywidgets.HTML(tag("b", _("Hands")))
        if isinstance(ask, ChoiceAsked):
            self.counts = [
                ipywidgets.BoundedIntText(value=0, min=0, max=MOST, description="ABCDEFGH"[n])
                for n in range(len(ask.options))
            ]
        else:
            hint = said(_("an answer: its hands; another answer: its hands"))
            self.line = ipywidgets.Text(placeholder=hint, continuous_update=False, description=said(_("Answers")))
        boxes = [*self.counts, *([self.line] if self.line else [])]
        for box in boxes:
            box.observe(lambda _change: self._changed(), "value")
        self.widget.children = (head, *boxes)

    @property
    def votes(self) -> tuple[tuple[str, int], ...]:
        """Answers and their hands. ValueError where the line cannot be read."""
        if self.line is not None:
            return tuple(_read(self.line.value))
        return tuple(("ABCDEFGH"[n], box.value) for n, box in enumerate(self.counts))


def _read(line: str) -> Iterator[tuple[str, int]]:
    for part in filter(str.strip, line.split(";")):
        found = re.fullmatch(r"\s*(.+?)\s*:\s*(\d{1,2})\s*", part)
        if not found:
            raise ValueError(
                _("cannot read {part!r}; write an answer, a colon and its hands, such as 8.5 mm: 3", part=part[:40])
            )
        yield found[1], int(found[2])


def spread_of_hands(question: Question, votes: Sequence[tuple[str, int]], learners: Sequence[str]) -> Spread:
    """The spread of a vote. Nobody's name stands on a hand; of the class, as many are missing as hands are."""
    hands = [answer for answer, count in votes for _hand in range(count)]
    names = [f"hand {number}" for number in range(len(hands))]
    ask = question.ask
    if not isinstance(ask, ChoiceAsked):
        found = spread_of(question, zip(names, hands))
    else:
        reason = question.right_text[1:]
        bars = tuple(
            Bar(letter, tuple(n for n, hand in zip(names, hands) if hand == letter), question.judge(letter + reason))
            for letter, _count in votes
        )
        found = Spread(bars, tuple(names), (), ())
    return found._replace(missing=tuple(learners[len(hands) :]))
