"""Answers by letters: a choice with its reason, and things to be put in order."""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, reduce
from itertools import pairwise
from typing import Any, NamedTuple

from tapkit import tables
from tapkit.exercises import answer
from tapkit.exercises.verdict import MISTAKE, WRONG, Verdict, cannot_read, not_attempted, right
from tapkit.messages import Sentence, _, ngettext, of_table


def mixed(things: Sequence[Any], key: str) -> tuple[Any, ...]:
    """The things in an order that depends on `key` alone, the same on every machine.

    >>> mixed("ABCD", "x") == mixed("ABCD", "x"), sorted(mixed("ABCD", "y"))
    (True, ['A', 'B', 'C', 'D'])
    """
    places = sorted(range(len(things)), key=lambda i: hashlib.sha256(f"{key}/{i}".encode()).digest())
    return tuple(things[i] for i in places)


class Option(NamedTuple):
    """One answer to choose. A wrong one has the `name` of its mistake and what it `says` to teach; the right
    one has neither."""

    text: Sentence | str
    name: str | None = None
    says: Sentence | str = ""

    @property
    def is_right(self) -> bool:
        """Whether this is the option to choose."""
        return self.name is None


Known = Mapping[str, tuple[Any, Any]]
"""Words to choose, and what is said where they are wrong, by the mistake or by the case they are right in."""


def options(right: str, known: str | Known, prefix: str = "") -> tuple[Option, ...]:
    """Options that are `known`, or those of an exercise, "NAME", or its reasons, "NAME reasons"; the one of the key
    `right` is right, the others are named "prefix-key", or by their key alone."""
    known = known_options(known) if isinstance(known, str) else known
    return tuple(
        Option(text) if key == right else Option(text, "-".join([*filter(None, [prefix]), *key.split()]), says)
        for key, (text, says) in known.items()
    )


@cache
def known_options(of: str) -> Known:
    """The options or reasons of an exercise, in the table `exercise_words`."""
    name, _space, reasons = of.partition(" ")
    wanted = {"exercise": name, "part": "reason" if reasons else "option"}
    rows = (row for row in tables.rows("exercise_words") if wanted.items() <= row.items())
    return {row["name"]: (of_table(row["words"]), of_table(row["says"])) for row in rows}


@dataclass(frozen=True)
class ChoiceAsked:
    """One of several options, and where there are `reasons`, the reason for it.

    Exactly one option and one reason are right. `keep_order` where the options have an order of their own.
    """

    options: tuple[Option, ...]
    reasons: tuple[Option, ...] = ()
    keep_order: bool = False

    def __post_init__(self) -> None:
        for what, many in (("options", self.options), ("reasons", self.reasons)):
            if many and sum(o.is_right for o in many) != 1:
                found = sum(o.is_right for o in many)
                raise ValueError(_("exactly one of the {what} must be right, not {found}", what=what, found=found))

    def shuffled(self, key: str) -> "ChoiceAsked":
        """The same choice with options and reasons in another order."""
        options = self.options if self.keep_order else mixed(self.options, f"{key}/options")
        return replace(self, options=options, reasons=mixed(self.reasons, f"{key}/reasons"))

    @property
    def how(self) -> Sentence:
        if self.reasons:
            return _("Choose a letter, and the number of the reason. Write both, the letter first.")
        return _("Choose a letter.")

    @property
    def lines(self) -> tuple[Sentence, ...]:
        options = [_line(letter, o.text) for letter, o in zip("ABCDEFGH", self.options)]
        reasons = [_line(number, r.text) for number, r in enumerate(self.reasons, start=1)]
        return (*options, *([_("because")] if reasons else []), *reasons)

    @property
    def right_text(self) -> str:
        letter = "ABCDEFGH"[next(i for i, o in enumerate(self.options) if o.is_right)]
        reason = next((f" {i}" for i, r in enumerate(self.reasons, start=1) if r.is_right), "")
        return letter + reason

    @property
    def words(self) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """The texts of the options and of the reasons."""
        return tuple(str(o.text) for o in self.options), tuple(str(r.text) for r in self.reasons)

    @property
    def right_words(self) -> Sentence:
        option = next(o.text for o in self.options if o.is_right)
        if not self.reasons:
            return _("{letter}: {option}", letter=self.right_text, option=option)
        reason = next(r.text for r in self.reasons if r.is_right)
        return _("{letter}: {option}; because {reason}", letter=self.right_text, option=option, reason=reason)

    @property
    def mistakes(self) -> tuple[Option, ...]:
        """All wrong options and reasons."""
        return tuple(o for o in (*self.options, *self.reasons) if not o.is_right)

    def judge(self, text: object) -> Verdict:
        """The verdict on a letter, with the number of a reason where reasons are asked."""
        if answer.is_empty(text):
            return not_attempted(_("Choose an answer and a reason.") if self.reasons else _("Choose an answer."))
        try:
            picked, why = answer.read_pick(text, *self.words)
        except answer.ReadingError as error:
            return cannot_read(error)
        if self.reasons and why is None:
            return cannot_read(_("The reason is missing: write a letter and the number of a reason."))
        option = self.options[picked]
        if not option.is_right:
            return Verdict(MISTAKE, option.says, option.name)
        if why is not None and not self.reasons[why].is_right:
            reason = self.reasons[why]
            says = _("The choice is right, the reason is not. {why}", why=reason.says)
            return Verdict(MISTAKE, says, reason.name, partly=0.5)
        return right(_("That is right, and for the right reason.")) if self.reasons else right()


def _line(sign: object, text: object) -> Sentence:
    return _("{sign}  {text}", sign=sign, text=text)


def in_a_row(items: Iterable[Sentence | str]) -> Sentence | str:
    """Things one after the other, parted by semicolons."""
    return reduce(lambda before, after: _("{before}; {after}", before=before, after=after), items)


GAP = 0.05
"""Things to be put in order differ by this share from one to the next."""


class WrongOrder(NamedTuple):
    """A known wrong order: the `name` of the mistake, the `texts` in that order, the sentence that teaches."""

    name: str
    texts: tuple[Sentence | str, ...]
    says: Sentence


@dataclass(frozen=True)
class OrderAsked:
    """Things to be put in order. `items` in the right order; `shown` the order they stand in the question.

    `from_to` says the direction, "from the longest to the shortest chamfer"; `values` what they are ordered by,
    which must differ by `GAP` from one to the next.
    """

    items: tuple[Sentence | str, ...]
    from_to: Sentence
    mistakes: tuple[WrongOrder, ...] = ()
    values: tuple[float, ...] = ()
    shown: tuple[Sentence | str, ...] = ()

    def shuffled(self, key: str) -> "OrderAsked":
        """The same question with the items shown in another order, never in the right or the opposite one."""
        shown, turn = self.items, 0
        while shown in (self.items, self.items[::-1]) and len(self.items) > 2:
            shown, turn = mixed(self.items, f"{key}/{turn}"), turn + 1
        return replace(self, shown=shown)

    @property
    def letters(self) -> str:
        return "ABCDEFGH"[: len(self.items)]

    @property
    def how(self) -> Sentence:
        return _("Write the letters {from_to}, each once, with commas between.", from_to=self.from_to)

    @property
    def lines(self) -> tuple[Sentence, ...]:
        return tuple(_line(letter, text) for letter, text in zip(self.letters, self.shown or self.items))

    def letters_of(self, texts: tuple[Sentence | str, ...]) -> tuple[str, ...]:
        """The letters of some items."""
        shown = self.shown or self.items
        return tuple(self.letters[shown.index(t)] for t in texts)

    @property
    def right_text(self) -> str:
        return ", ".join(self.letters_of(self.items))

    @property
    def solved(self) -> str:
        """The answer at the end of a solution: its letters, as the items stand in the question."""
        return self.right_text

    @property
    def right_words(self) -> Sentence:
        return _("{letters}: {items}", letters=self.right_text, items=in_a_row(self.items))

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
            return not_attempted(_("Write the letters in order and press Enter."))
        try:
            given = answer.read_letters(text, self.letters)
        except answer.ReadingError as error:
            return cannot_read(error)
        wanted = self.letters_of(self.items)
        if given == wanted:
            return right()
        if given == wanted[::-1]:
            says = _("This is the opposite order. It was asked {from_to}.", from_to=self.from_to)
            return Verdict(MISTAKE, says, "opposite-order")
        placed = sum(a == b for a, b in zip(given, wanted))
        share = placed / len(wanted)
        for wrong in self.mistakes:
            if given == self.letters_of(wrong.texts):
                return Verdict(MISTAKE, wrong.says, wrong.name, partly=share)
        if not placed:
            return Verdict(WRONG, _("None of them stands where it should."))
        says = ngettext(
            "{count} of {all} stands where it should.",
            "{count} of {all} stand where they should.",
            placed,
            all=len(wanted),
        )
        return Verdict(WRONG, says, partly=share)
