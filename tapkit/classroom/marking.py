"""Marks: every answer judged again from what was typed, tries put together, shared mistakes counted."""

import logging
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from tapkit.classroom.evidence import Book, Evidence, Given, Problem
from tapkit.classroom.roster import Roster
from tapkit.exercises import bank
from tapkit.exercises.answer import typed_shown
from tapkit.exercises.exercise import Exercise
from tapkit.exercises.verdict import (
    CANNOT_READ,
    CLOSE,
    MISTAKE,
    NOT_ATTEMPTED,
    RIGHT,
    Verdict,
    cannot_read,
    not_attempted,
)
from tapkit.messages import Sentence, _

COUNTED = ("first", "best", "last")
"""Which try of an exercise makes the mark."""
ORDER = (RIGHT, CLOSE)
"""What is better than the rest, best first."""


class How(NamedTuple):
    """How a set is marked: which try `count`s of `COUNTED`, whether right parts do (`partial`), points an exercise is
    `worth` (else 1), the `separator` of the gradebooks, whether `every` record of a learner counts."""

    count: str = "best"
    partial: bool = False
    worth: Mapping[str, float] = {}
    separator: str = "comma"
    every: bool = False


BEST = How()


class Try(NamedTuple):
    """One answer and its verdict. `shown` where the worked solution had been opened before, by the record's word."""

    given: Given
    verdict: Verdict

    @property
    def is_right(self) -> bool:
        return self.verdict.is_right and not self.given.seen

    def share(self, partial: bool) -> float:
        """How much of it counts, from 0 to 1."""
        return 0.0 if self.given.seen else self.verdict.credit if partial else float(self.verdict.is_right)


@dataclass(frozen=True)
class Result:
    """What one learner made of one exercise: all `tries` in order, and the one that `counts` (None for none).

    `worth` is what it can give; with `partial` credit an answer that is right in parts gives a share of it.
    """

    exercise: Exercise
    tries: tuple[Try, ...]
    counts: Try | None
    worth: float = 1.0
    partial: bool = False

    @property
    def verdict(self) -> Verdict:
        return self.counts.verdict if self.counts else not_attempted()

    @property
    def share(self) -> float:
        """How much of it counts, from 0 to 1: all for right without the worked solution, else nothing or a part."""
        return self.counts.share(self.partial) if self.counts else 0.0

    @property
    def points(self) -> float:
        """The share times what it is worth, to the hundredth."""
        return hundredths(self.worth * self.share)

    @property
    def is_unread(self) -> bool:
        """Whether there is an answer and none of it could be read, which is no zero before somebody has looked."""
        return self.verdict.kind == CANNOT_READ

    @property
    def note(self) -> Sentence | str:
        """What the mark alone does not say."""
        if self.counts and self.counts.verdict.is_right and self.counts.given.seen:
            return _("right after the worked solution")
        return ""

    @property
    def is_near(self) -> bool:
        """Whether it is close to right, or right with help."""
        return bool(self.note) or self.verdict.kind == CLOSE


class Shared(NamedTuple):
    """A mistake more than one learner made: where, its name, what it says, and who."""

    exercise: Exercise
    name: str
    says: str
    learners: tuple[str, ...]


@dataclass(frozen=True)
class Marks:
    """The marks of a class: results by learner id and exercise name, problems, and what is shared."""

    roster: Roster
    exercises: tuple[Exercise, ...]
    results: dict[str, dict[str, Result]]
    problems: tuple[Problem, ...]
    shared: tuple[Shared, ...]
    answers: int
    elsewhere: int = 0

    def points(self, learner: str) -> float:
        return hundredths(sum(one.points for one in self.results[learner].values()))

    def most(self, learner: str) -> float:
        """Points that can be had."""
        return hundredths(sum(one.worth for one in self.results[learner].values()))

    def right_share(self, exercise: Exercise) -> float:
        """Share of the learners who tried an exercise and have it right; 0 where nobody tried."""
        tried = [r[exercise.name] for r in self.results.values() if r[exercise.name].counts]
        return sum(one.share for one in tried) / len(tried) if tried else 0.0


def mark(book: Book, found: Evidence, how: How = BEST) -> Marks:
    """Judge all answers and put them together; of a test the first try counts."""
    exercises = tuple(bank.exercise_named(name) for name in book.exercises)
    count = "first" if book.test else how.count
    tries: dict[tuple[str, str], list[Try]] = defaultdict(list)
    answers, told = 0, list(found.problems)
    for one in found.given:
        verdict = judged(one.exercise, one.seed, one.stage, one.means or one.answer)
        if verdict.kind == NOT_ATTEMPTED:
            continue
        if _is_changed(one):
            told.append(Problem(one.file, one.line, one.learner, _CHANGED))
        tries[one.learner, one.exercise].append(Try(one, verdict))
        answers += 1
        if verdict.kind == CANNOT_READ and one.sheet:
            told.append(_unread(one, verdict))
    results = {
        who.id: {e.name: _result(e, tuple(tries[who.id, e.name]), count, how.worth.get(e.name, 1.0), how.partial)
                 for e in exercises}
        for who in book.roster
    }  # fmt: skip
    shared = _shared(results, exercises)
    return Marks(book.roster, exercises, results, tuple(told), shared, answers, found.elsewhere)


_CHANGED = _("the question reads otherwise now than when it was answered; look at this answer yourself")


def _is_changed(one: Given) -> bool:
    """Whether a question of the class's own was written anew after it was answered."""
    if not (one.question and one.exercise.startswith("own-")):
        return False
    try:
        return bank.exercise_named(one.exercise).variant(one.seed).at_stage(one.stage).digest != one.question
    except ValueError:
        return True


def _unread(one: Given, verdict: Verdict) -> Problem:
    """An answer from paper that cannot be read: never a silent zero."""
    text = _(
        "sheet {sheet}, {exercise}: {typed} counts as no answer yet; look at the paper, correct the cell and mark "
        "again. {why}",
        sheet=one.sheet,
        exercise=one.exercise,
        typed=typed_shown(one.answer),
        why=verdict.says,
    )
    return Problem(one.file, one.line, one.learner, text)


def hundredths(number: float) -> float:
    """A number to the hundredth; a whole one without its ".0"."""
    return int(number) if number == int(number) else round(number, 2)


def judged(exercise: str, seed: int, stage: str, answer: str) -> Verdict:
    """The verdict on an answer, computed from exercise, seed and what was typed; from nothing else."""
    try:
        return _judged(bank.exercise_named(exercise), seed, stage, answer)
    except Exception:
        logging.getLogger("tapkit").exception("an answer to %s could not be judged", exercise)
        return cannot_read(_("This answer could not be judged. Look at it yourself."))


@lru_cache(maxsize=100_000)
def _judged(exercise: Exercise, seed: int, stage: str, answer: str) -> Verdict:
    """The same, kept; of an exercise itself, as one of the class's own may be written anew."""
    return exercise.variant(seed).at_stage(stage).judge(answer)


def _result(exercise: Exercise, tries: tuple[Try, ...], count: str, worth: float, partial: bool) -> Result:
    real = [one for one in tries if one.verdict.counts] or list(tries)
    if not real:
        return Result(exercise, (), None, worth, partial)

    def rank(one: Try) -> tuple[bool, float, int]:
        near = ORDER.index(one.verdict.kind) if one.verdict.kind in ORDER else 9
        return not one.is_right, -one.share(partial), near

    counts = {"first": real[0], "best": min(real, key=rank), "last": real[-1]}[count]
    return Result(exercise, tries, counts, worth, partial)


def _shared(results: dict[str, dict[str, Result]], exercises: Sequence[Exercise]) -> tuple[Shared, ...]:
    """Named mistakes that two or more learners made in any try, the most common first."""
    who: dict[tuple[str, str], list[str]] = defaultdict(list)
    says: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for learner, own in results.items():
        for name, result in own.items():
            for mistake, message in {m: s for t in result.tries for m, s in _mistakes(t.verdict)}.items():
                who[name, mistake].append(learner)
                says[name, mistake][message] += 1
    by_name = {e.name: e for e in exercises}
    found = [
        Shared(by_name[name], mistake, says[name, mistake].most_common(1)[0][0], tuple(ids))
        for (name, mistake), ids in who.items()
        if len(ids) > 1
    ]
    return tuple(sorted(found, key=lambda s: (-len(s.learners), s.exercise.lesson, s.exercise.name, s.name)))


def _mistakes(verdict: Verdict) -> list[tuple[str, str]]:
    """Names and sentences of the mistakes in a verdict and its parts."""
    if verdict.parts:
        return [pair for part in verdict.parts for pair in _mistakes(part)]
    return [(verdict.mistake, verdict.message)] if verdict.mistake and verdict.kind == MISTAKE else []
