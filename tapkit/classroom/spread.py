"""The spread of a room's answers to one question: who has answered, what they say, and which are right."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from tapkit.classroom.room import Reply
from tapkit.exercises import answer
from tapkit.exercises.exercise import Question
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.options import ChoiceAsked
from tapkit.exercises.verdict import CANNOT_READ, NOT_ATTEMPTED, Verdict
from tapkit.messages import Sentence, _

BARS = 10
"""Different answers shown; the rest are counted together."""


class Bar(NamedTuple):
    """One answer: its `label`, who gave it, and the `verdict` on it."""

    label: str
    learners: tuple[str, ...]
    verdict: Verdict | None


class Spread(NamedTuple):
    """The answers of a room: `bars`, who has `answered`, who is `missing`, whose answer is `unreadable`."""

    bars: tuple[Bar, ...]
    answered: tuple[str, ...]
    missing: tuple[str, ...]
    unreadable: tuple[str, ...]

    @property
    def right(self) -> int:
        """How many are right."""
        return sum(len(b.learners) for b in self.bars if b.verdict and b.verdict.is_right)

    @property
    def sentence(self) -> Sentence:
        """Who has answered, in words."""
        of = len(self.answered) + len(self.missing)
        return (
            _("{answered} of {of} have answered.", answered=len(self.answered), of=of)
            if of
            else _("Nobody is in the room yet.")
        )


def spread_of_replies(question: Question, replies: Iterable[Reply], learners: Sequence[str]) -> Spread:
    """The spread of replies, and which of the learners are missing."""
    found = spread_of(question, ((one.learner, one.text) for one in replies))
    return found._replace(missing=tuple(one for one in learners if one not in set(found.answered)))


def spread_of(question: Question, given: Iterable[tuple[str, str]]) -> Spread:
    """Put answers by learners together: a choice by its options, a number by its value, all else by its words."""
    together: dict[tuple[float, str], list[str]] = defaultdict(list)
    verdicts: dict[tuple[float, str], Verdict] = {}
    answered, unreadable = [], []
    for learner, text in given:
        verdict = question.judge(text)
        if verdict.kind == NOT_ATTEMPTED:
            continue
        answered.append(learner)
        if verdict.kind == CANNOT_READ:
            unreadable.append(learner)
            continue
        key = _key(question, text)
        together[key].append(learner)
        verdicts.setdefault(key, verdict)
    bars = [Bar(key[1], tuple(together[key]), verdicts[key]) for key in sorted(together)]
    return Spread(_fewer(_with_all_options(question, bars)), tuple(answered), (), tuple(unreadable))


def _key(question: Question, text: str) -> tuple[float, str]:
    """Where an answer stands in order, and how it is shown."""
    ask = question.ask
    if isinstance(ask, ChoiceAsked):
        option, reason = answer.read_pick(text, *ask.words)
        letter = "ABCDEFGH"[option]
        return option + (reason or 0) / 10, letter if reason is None else f"{letter} {reason + 1}"
    if isinstance(ask, NumberAsked):
        read = answer.read_measurement(text, ask.kind)
        scale = 1.0 if read.factor is None else read.factor / ask.own
        if read.kind in (None, ask.kind):
            value = float(f"{read.value * scale:.4g}")
            return value, ask.text(value) if value else text[:30]
    return 0.0, " ".join(text.casefold().split())[:40]


def _with_all_options(question: Question, bars: list[Bar]) -> list[Bar]:
    """For a choice without reasons, the options nobody chose stand there too."""
    ask = question.ask
    if not isinstance(ask, ChoiceAsked) or ask.reasons:
        return bars
    known = {b.label: b for b in bars}
    letters = "ABCDEFGH"[: len(ask.options)]
    return [known.get(letter) or Bar(letter, (), question.judge(letter)) for letter in letters]


def _fewer(bars: list[Bar]) -> tuple[Bar, ...]:
    """The most given answers in their order; what is left over is counted together."""
    if len(bars) <= BARS:
        return tuple(bars)
    kept = sorted(bars, key=lambda b: -len(b.learners))[: BARS - 1]
    rest = tuple(who for b in bars if b not in kept for who in b.learners)
    return (*(b for b in bars if b in kept), Bar(_("other answers").said(), rest, None))
