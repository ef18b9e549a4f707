"""Marks: every answer judged again from what was typed, tries put together, shared mistakes counted."""

from __future__ import annotations

import logging
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from tapkit.classroom.evidence import Given, Problem
from tapkit.classroom.roster import Roster
from tapkit.exercises import bank
from tapkit.exercises.exercise import Exercise
from tapkit.exercises.verdict import CLOSE, MISTAKE, NOT_ATTEMPTED, RIGHT, Verdict, cannot_read, not_attempted
from tapkit.messages import Sentence, _

COUNTED = ("first", "best", "last")
"""Which try of an exercise makes the mark."""
ORDER = (RIGHT, CLOSE)
"""What is better than the rest, best first."""


class Try(NamedTuple):
    """One answer and its verdict. `shown` where the worked solution had been opened before, by the record's word."""

    given: Given
    verdict: Verdict

    @property
    def is_right(self) -> bool:
        return self.verdict.is_right and not self.given.seen


@dataclass(frozen=True)
class Result:
    """What one learner made of one exercise: all `tries` in order, and the one that `counts` (None for none)."""

    exercise: Exercise
    tries: tuple[Try, ...]
    counts: Try | None

    @property
    def verdict(self) -> Verdict:
        """The verdict that counts."""
        return self.counts.verdict if self.counts else not_attempted()

    @property
    def points(self) -> int:
        """1 for right without the worked solution, else 0."""
        return int(self.counts is not None and self.counts.is_right)

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

    def points(self, learner: str) -> int:
        """Points of one learner."""
        return sum(one.points for one in self.results[learner].values())

    def right_share(self, exercise: Exercise) -> float:
        """Share of the learners who tried an exercise and have it right; 0 where nobody tried."""
        tried = [r[exercise.name] for r in self.results.values() if r[exercise.name].counts]
        return sum(one.points for one in tried) / len(tried) if tried else 0.0


def mark(
    roster: Roster,
    exercises: Sequence[Exercise],
    given: Iterable[Given],
    problems: Iterable[Problem] = (),
    *,
    count: str = "best",
    elsewhere: int = 0,
) -> Marks:
    """Judge all answers and put them together; `count` says which try makes the mark ("first", "best", "last")."""
    tries: dict[tuple[str, str], list[Try]] = defaultdict(list)
    answers = 0
    for one in given:
        verdict = judged(one.exercise, one.seed, one.stage, one.answer)
        if verdict.kind != NOT_ATTEMPTED:
            tries[one.learner, one.exercise].append(Try(one, verdict))
            answers += 1
    results = {one.id: {e.name: _result(e, tuple(tries[one.id, e.name]), count) for e in exercises} for one in roster}
    shared = _shared(results, exercises)
    return Marks(roster, tuple(exercises), results, tuple(problems), shared, answers, elsewhere)


@lru_cache(maxsize=100_000)
def judged(exercise: str, seed: int, stage: str, answer: str) -> Verdict:
    """The verdict on an answer, computed from exercise, seed and what was typed; from nothing else."""
    try:
        return bank.exercise(exercise).variant(seed).at_stage(stage).judge(answer)
    except Exception:
        logging.getLogger("tapkit").exception("an answer to %s could not be judged", exercise)
        return cannot_read(_("This answer could not be judged. Look at it yourself."))


def _result(exercise: Exercise, tries: tuple[Try, ...], count: str) -> Result:
    real = [one for one in tries if one.verdict.counts] or list(tries)
    if not real:
        return Result(exercise, (), None)
    best = min(real, key=lambda t: (not t.is_right, ORDER.index(t.verdict.kind) if t.verdict.kind in ORDER else 9))
    return Result(exercise, tries, {"first": real[0], "best": best, "last": real[-1]}[count])


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
