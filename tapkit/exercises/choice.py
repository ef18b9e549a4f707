"""Answers by letters: a choice with its reason, and things to be put in order."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, NamedTuple

from tapkit.exercises import answer
from tapkit.exercises.verdict import MISTAKE, RIGHT, WRONG, Verdict, cannot_read, not_attempted


def mixed(things: Sequence[Any], key: str) -> tuple[Any, ...]:
    """The things in an order that depends on `key` alone, the same on every machine.

    >>> mixed("ABCD", "x") == mixed("ABCD", "x"), sorted(mixed("ABCD", "y"))
    (True, ['A', 'B', 'C', 'D'])
    """
    places = sorted(range(len(things)), key=lambda i: hashlib.sha256(f"{key}/{i}".encode()).digest())
    return tuple(things[i] for i in places)


class Option(NamedTuple):
    """One answer to choose. A wrong one has the `name` of its mistake and a `message` that teaches; the right
    one has neither."""

    text: str
    name: str | None = None
    message: str = ""

    @property
    def is_right(self) -> bool:
        """Whether this is the option to choose."""
        return self.name is None


@dataclass(frozen=True)
class Choice:
    """One of several options, and where there are `reasons`, the reason for it.

    Exactly one option and one reason are right. `keep_order` where the options have an order of their own.
    """

    options: tuple[Option, ...]
    reasons: tuple[Option, ...] = ()
    keep_order: bool = False

    def __post_init__(self) -> None:
        for what, many in (("options", self.options), ("reasons", self.reasons)):
            if many and sum(o.is_right for o in many) != 1:
                raise ValueError(f"exactly one of the {what} must be right, not {sum(o.is_right for o in many)}")

    def shuffled(self, key: str) -> Choice:
        """The same choice with options and reasons in another order."""
        options = self.options if self.keep_order else mixed(self.options, f"{key}/options")
        return replace(self, options=options, reasons=mixed(self.reasons, f"{key}/reasons"))

    @property
    def how(self) -> str:
        """How to answer."""
        if self.reasons:
            return "Choose a letter, and the number of the reason. Written down: B 2."
        return "Choose a letter."

    @property
    def lines(self) -> tuple[str, ...]:
        """The options and reasons as they stand under the question."""
        options = [f"{letter}  {o.text}" for letter, o in zip("ABCDEFGH", self.options)]
        reasons = [f"{number}  {r.text}" for number, r in enumerate(self.reasons, start=1)]
        return (*options, *(["because"] if reasons else []), *reasons)

    @property
    def right_text(self) -> str:
        """The right answer as one types it."""
        letter = "ABCDEFGH"[next(i for i, o in enumerate(self.options) if o.is_right)]
        reason = next((f" {i}" for i, r in enumerate(self.reasons, start=1) if r.is_right), "")
        return letter + reason

    @property
    def right_words(self) -> str:
        """The right answer in words."""
        option = next(o.text for o in self.options if o.is_right)
        reason = next((r.text for r in self.reasons if r.is_right), "")
        return f"{self.right_text}: {option}" + (f", because {reason}" if reason else "")

    @property
    def mistakes(self) -> tuple[Option, ...]:
        """All wrong options and reasons."""
        return tuple(o for o in (*self.options, *self.reasons) if not o.is_right)

    def judge(self, text: object) -> Verdict:
        """The verdict on a letter, with the number of a reason where reasons are asked."""
        if answer.is_empty(text):
            return not_attempted("Choose an answer" + (" and a reason." if self.reasons else "."))
        try:
            picked, why = answer.read_pick(
                text, tuple(o.text for o in self.options), tuple(r.text for r in self.reasons)
            )
        except answer.ReadingError as error:
            return cannot_read(error)
        if self.reasons and why is None:
            return cannot_read("The reason is missing: write a letter and a number, like B 2.")
        option = self.options[picked]
        if not option.is_right:
            return Verdict(MISTAKE, option.message, option.name)
        if why is not None and not self.reasons[why].is_right:
            reason = self.reasons[why]
            return Verdict(MISTAKE, f"The choice is right, the reason is not. {reason.message}", reason.name)
        return Verdict(RIGHT, "That is right, and for the right reason." if self.reasons else "That is right.")


GAP = 0.05
"""Things to be put in order differ by this share from one to the next."""


class WrongOrder(NamedTuple):
    """A known wrong order: the `name` of the mistake, the `texts` in that order, the sentence that teaches."""

    name: str
    texts: tuple[str, ...]
    message: str


@dataclass(frozen=True)
class Order:
    """Things to be put in order. `items` in the right order; `shown` the order they stand in the question.

    `from_to` says the direction, "from the longest to the shortest chamfer"; `values` what they are ordered by,
    which must differ by `GAP` from one to the next.
    """

    items: tuple[str, ...]
    from_to: str
    mistakes: tuple[WrongOrder, ...] = ()
    values: tuple[float, ...] = ()
    shown: tuple[str, ...] = ()

    def shuffled(self, key: str) -> Order:
        """The same question with the items shown in another order, never in the right or the opposite one."""
        shown, turn = self.items, 0
        while shown in (self.items, self.items[::-1]) and len(self.items) > 2:
            shown, turn = mixed(self.items, f"{key}/{turn}"), turn + 1
        return replace(self, shown=shown)

    @property
    def letters(self) -> str:
        """The letters of the items."""
        return "ABCDEFGH"[: len(self.items)]

    @property
    def how(self) -> str:
        """How to answer."""
        return f"Write the letters {self.from_to}, each once, with commas between."

    @property
    def lines(self) -> tuple[str, ...]:
        """The items as they stand under the question."""
        return tuple(f"{letter}  {text}" for letter, text in zip(self.letters, self.shown or self.items))

    def letters_of(self, texts: tuple[str, ...]) -> tuple[str, ...]:
        """The letters of some items."""
        shown = self.shown or self.items
        return tuple(self.letters[shown.index(t)] for t in texts)

    @property
    def right_text(self) -> str:
        """The right answer as one types it."""
        return ", ".join(self.letters_of(self.items))

    @property
    def right_words(self) -> str:
        """The right answer in words."""
        return f"{self.right_text}: {'; '.join(self.items)}"

    @property
    def is_apart(self) -> bool:
        """Whether nothing is nearly equal, and right, opposite and known wrong orders all differ."""
        if any(abs(a - b) < GAP * max(abs(a), abs(b)) for a, b in pairwise(self.values)):
            return False
        orders = [self.items, self.items[::-1], *(m.texts for m in self.mistakes)]
        return len(set(self.items)) == len(self.items) and len(set(orders)) == len(orders)

    def judge(self, text: object) -> Verdict:
        """The verdict on a list of letters."""
        if answer.is_empty(text):
            return not_attempted("Write the letters in order and press Enter.")
        try:
            given = answer.read_letters(text, self.letters)
        except answer.ReadingError as error:
            return cannot_read(error)
        right = self.letters_of(self.items)
        if given == right:
            return Verdict(RIGHT, "That is right.")
        if given == right[::-1]:
            return Verdict(MISTAKE, f"This is the opposite order. It was asked {self.from_to}.", "opposite-order")
        for wrong in self.mistakes:
            if given == self.letters_of(wrong.texts):
                return Verdict(MISTAKE, wrong.message, wrong.name)
        misplaced = sum(a != b for a, b in zip(given, right))
        placed = len(right) - misplaced
        stand = "stands where it" if placed == 1 else "stand where they"
        return Verdict(WRONG, f"{placed or 'None'} of {len(right)} {stand} should.")
