"""Decks: which question comes next, and what stands above and below it."""

from __future__ import annotations

import os
from typing import Any, Protocol

from tapkit.exercises import practice
from tapkit.exercises.exercise import Exercise, Question
from tapkit.exercises.practice import Item
from tapkit.exercises.progress import SURE, standing
from tapkit.exercises.record import Record

STAGE_WORDS = {
    "worked": "worked example",
    "faded-1": "one step is blank",
    "faded-2": "two steps are blank",
    "whole": "on your own",
}


def own_seed() -> int:
    """The learner's seed: TAPKIT_SEED where a class has set it, else 0."""
    text = os.environ.get("TAPKIT_SEED", "0")
    return int(text) if text.isdigit() and len(text) < 20 else 0


class Deck(Protocol):
    """A pile of questions."""

    farewell: str

    def at(self, number: int) -> Question | None:
        """The question of a number from 0; None past the end."""

    def head(self, number: int) -> str:
        """What stands above it."""

    def standing(self, number: int, record: Record) -> str:
        """What stands below it."""


class VariantDeck:
    """The variants of one exercise at one stage, without end."""

    farewell = ""

    def __init__(self, exercise: Exercise, seed: int, stage: str = "whole") -> None:
        self.exercise, self.seed, self.stage = exercise, seed, stage

    def at(self, number: int) -> Question:
        """Every variant once, then from the first again."""
        return self.exercise.variant(self.seed + number).at_stage(self.stage)

    def head(self, number: int) -> str:
        """Title and number, and the variant by which an instructor finds the answer."""
        count = len(self.exercise)
        stage = "" if self.stage == "whole" else f" · {STAGE_WORDS[self.stage]}"
        variant = (self.seed + number) % count
        return f"{self.exercise.title}{stage} · question {number % count + 1} of {count} · variant {variant}"

    def standing(self, number: int, record: Record) -> str:
        """How the learner stands with this exercise."""
        now = standing(record.history(), self.exercise)
        if not now.questions:
            return f"Right without help {SURE} times in a row, it counts as sure."
        tried = f"{now.questions} question{'s' if now.questions > 1 else ''} tried, {now.right} right"
        if now.state == "sure":
            return f"{tried}. Sure: right {now.row} times in a row without help."
        return f"{tried}, {now.row} in a row without help. {SURE} in a row make it sure."


class SessionDeck:
    """The steps of a practice session."""

    farewell = "This session is at its end. Run the cell again for another one, or look at your page."

    def __init__(self, items: tuple[Item, ...]) -> None:
        self.items = items

    @classmethod
    def make(cls, **wanted: Any) -> SessionDeck:
        """The deck of a session; see `practice.session`."""
        return cls(practice.session(**wanted))

    def at(self, number: int) -> Question | None:
        """The step of a number."""
        return self.items[number].question if number < len(self.items) else None

    def head(self, number: int) -> str:
        """Place in the session, title, and stage."""
        item = self.items[number]
        title = item.question.exercise.title
        return f"Practice, step {number + 1} of {len(self.items)} · {title} · {STAGE_WORDS[item.stage]}"

    def standing(self, number: int, record: Record) -> str:
        """How far the session is."""
        left = len(self.items) - number - 1
        return "The last step of this session." if not left else f"{left} step{'s' if left > 1 else ''} to go."
