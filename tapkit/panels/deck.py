"""Decks: which question comes next, and what stands above and below it."""

import os
from functools import cached_property
from typing import Any, Protocol

from tapkit.exercises import ownfile, practice
from tapkit.exercises.exercise import Exercise, Question
from tapkit.exercises.progress import standing
from tapkit.exercises.record import Record
from tapkit.messages import Sentence, _, ngettext

STAGE_WORDS = {
    "worked": _("worked example"),
    "faded-1": _("one step is blank"),
    "faded-2": _("two steps are blank"),
    "whole": _("on your own"),
}


def given_seed() -> int:
    """The learner's seed: TAPKIT_SEED where a class has set it, else 0."""
    text = os.environ.get("TAPKIT_SEED", "0")
    return int(text) if text.isdigit() and len(text) < 20 else 0


class Deck(Protocol):
    """A pile of questions."""

    farewell: Sentence | str
    takes_up: bool
    """Whether answers of the record are shown again: in questions that stay, not in a session made to practise."""

    def at(self, number: int) -> Question | None:
        """The question of a number from 0; None past the end."""

    def head(self, number: int) -> Sentence:
        """What stands above it."""

    def standing(self, number: int, record: Record) -> Sentence:
        """What stands below it."""


class VariantDeck:
    """The variants of one exercise at one stage, without end."""

    farewell, takes_up = "", True

    def __init__(self, exercise: Exercise, seed: int, stage: str = "whole") -> None:
        self.exercise, self.seed, self.stage, self.units = exercise, seed, stage, ownfile.units()

    @cached_property
    def _turns(self) -> list[int]:
        """How far behind the first seed each question stands: in an inch class those of inch threads come first."""
        turns = range(len(self.exercise))
        return sorted(turns, key=lambda n: self.exercise.variant(self.seed + n).draft.system != self.units)

    def seed_of(self, number: int) -> int:
        """The seed of the question of a number: every variant once, then from the first again."""
        if self.units != "inch":
            return self.seed + number
        again, turn = divmod(number, len(self.exercise))
        return self.seed + again * len(self.exercise) + self._turns[turn]

    def at(self, number: int) -> Question:
        return self.exercise.variant(self.seed_of(number)).at_stage(self.stage)

    def head(self, number: int) -> Sentence:
        """Title and number, and the variant by which an instructor finds the answer."""
        count = len(self.exercise)
        place = dict(number=number % count + 1, count=count, variant=self.seed_of(number) % count)
        if self.stage == "whole":
            return _("{title} · question {number} of {count} · variant {variant}", title=self.exercise.title, **place)
        return _(
            "{title} · {stage} · question {number} of {count} · variant {variant}",
            title=self.exercise.title,
            stage=STAGE_WORDS[self.stage],
            **place,
        )

    def standing(self, number: int, record: Record) -> Sentence:
        now = standing(record.history(), self.exercise)
        if not now.questions:
            return _("Right at the first try and without help, it counts as sure.")
        tried = ngettext(
            "{count} question tried, {right} right",
            "{count} questions tried, {right} right",
            now.questions,
            right=now.right,
        )
        if now.state == "sure":
            return _("{tried}. Sure: the last one was right without help.", tried=tried)
        return _("{tried}. One right at the first try and without help makes it sure.", tried=tried)


class SessionDeck:
    """The steps of a practice session."""

    farewell = _("This session is at its end. Run the cell again for another one, or look at your page.")
    takes_up = False

    def __init__(self, items: tuple[Question, ...]) -> None:
        self.items = items

    @classmethod
    def make(cls, **wanted: Any) -> "SessionDeck":
        """The deck of a session; see `practice.session`."""
        return cls(practice.session(**wanted))

    def at(self, number: int) -> Question | None:
        return self.items[number] if number < len(self.items) else None

    def head(self, number: int) -> Sentence:
        item = self.items[number]
        return _(
            "Practice, step {number} of {count} · {title} · {stage}",
            number=number + 1,
            count=len(self.items),
            title=item.exercise.title,
            stage=STAGE_WORDS[item.stage],
        )

    def standing(self, number: int, record: Record) -> Sentence:
        left = len(self.items) - number - 1
        if not left:
            return _("The last step of this session.")
        return ngettext("{count} step to go.", "{count} steps to go.", left)
