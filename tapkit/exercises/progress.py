"""What a record says about a learner: what is done, which mistakes recur, what to try next."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import NamedTuple

from tapkit import tables
from tapkit.exercises.bank import exercise_named, exercises
from tapkit.exercises.exercise import Exercise
from tapkit.exercises.lessons import FINAL
from tapkit.exercises.naming import WordAsked
from tapkit.exercises.options import ChoiceAsked, OrderAsked
from tapkit.exercises.record import BEGIN, TEST, Entry, History
from tapkit.exercises.verdict import MISTAKE, WRONG_KIND, Verdict
from tapkit.messages import Sentence, _, ngettext

SURE = 1
"""Right so often in a row without help, an exercise counts as sure; it comes back after some days."""
RECENT = 60
"""Mistakes are counted over so many of the last answers."""
RECURS = 2
"""A mistake made so often recurs."""


class Marked(NamedTuple):
    """An entry with its verdict, computed again from the answer and the seed. `outdated` where the exercise is
    no longer in the bank or its question has changed since; then there is no verdict."""

    entry: Entry
    verdict: Verdict | None
    outdated: bool = False


def verdict_on(entry: Entry) -> Marked:
    """The verdict on an entry. Pure but for the bank it looks into."""
    try:
        question = exercise_named(entry.exercise).variant(entry.seed).at_stage(entry.stage)
    except ValueError:
        return Marked(entry, None, True)
    if question.digest != entry.question:
        return Marked(entry, None, True)
    return Marked(entry, question.judge(entry.answer))


@dataclass(frozen=True)
class Standing:
    """How a learner stands with one exercise: `questions` tried, `right` of them, `row` right in a row without
    help, `last` time of an answer, `given` the questions answered, each with its answers in order."""

    exercise: Exercise
    questions: int = 0
    right: int = 0
    row: int = 0
    last: datetime | None = None
    given: tuple[tuple[Marked, ...], ...] = ()

    @property
    def state(self) -> str:
        """ "new", "begun" or "sure"."""
        if not self.questions:
            return "new"
        return "sure" if self.row >= SURE else "begun"

    @property
    def due(self) -> datetime | None:
        """When it should be done again, None where it never was."""
        return None if self.last is None else self.last + timedelta(days=_days(self.row))


@cache
def _spacing() -> tuple[float, ...]:
    return tuple(float(r["days"]) for r in tables.rows("practice_spacing"))


def _days(row: int) -> float:
    return _spacing()[min(row, len(_spacing()) - 1)]


class Recurring(NamedTuple):
    """A mistake made more than once: its `name`, how often, and the sentence that teaches."""

    name: str
    times: int
    message: str


class Suggestion(NamedTuple):
    """An exercise to try next, and why, in a sentence."""

    exercise: Exercise
    why: Sentence


@dataclass(frozen=True)
class Progress:
    """Everything a learner's page shows."""

    standings: tuple[Standing, ...]
    recurring: tuple[Recurring, ...]
    suggestions: tuple[Suggestion, ...]
    answers: int
    notes: tuple[Sentence, ...] = ()

    @property
    def note(self) -> str:
        """What is wrong with the record, empty where nothing is."""
        return " ".join(map(str, self.notes))

    def of(self, name: str) -> Standing:
        return next(s for s in self.standings if s.exercise.name == name)

    def is_done(self, lesson: int) -> bool:
        """Whether the core of a lesson is sure."""
        core = [s for s in self.standings if s.exercise.lesson == lesson and s.exercise.core]
        return bool(core) and all(s.state == "sure" for s in core)

    def state_of(self, lesson: int) -> str:
        """ "sure", "begun" or "new": how the core of a lesson stands."""
        states = {s.state for s in self.standings if s.exercise.lesson == lesson and s.exercise.core}
        return states.pop() if len(states) == 1 else "begun"

    def count(self, state: str, lesson: int | None = None) -> int:
        """How many exercises are "new", "begun" or "sure"."""
        return sum(s.state == state and lesson in (None, s.exercise.lesson) for s in self.standings)


def progress(history: History, now: datetime | None = None) -> Progress:
    """What a history says at a moment (now)."""
    now = now or datetime.now(UTC)
    marked = [verdict_on(e) for e in history.entries if e.stage != BEGIN]
    known = [m for m in marked if not m.outdated]
    standings = _standings(known)
    recurring = _recurring(known)
    notes = [history.note] if history.note else []
    old = len(marked) - len(known)
    if old:
        notes.append(
            ngettext(
                "{count} answer to a question that has changed since is not counted.",
                "{count} answers to questions that have changed since are not counted.",
                old,
            )
        )
    return Progress(standings, recurring, _suggestions(standings, recurring, now), len(known), tuple(notes))


def standing(history: History, one: Exercise) -> Standing:
    """How the learner of a history stands with one exercise."""
    mine = [verdict_on(e) for e in history.entries if e.exercise == one.name and e.stage not in (BEGIN, TEST)]
    return _standing(one, _rounds([m for m in mine if not m.outdated]).get(one.name, []))


def _standings(marked: Iterable[Marked]) -> tuple[Standing, ...]:
    rounds = _rounds(marked)
    return tuple(_standing(e, rounds.get(e.name, [])) for e in exercises(own=True))


def _rounds(marked: Iterable[Marked]) -> dict[str, list[list[Marked]]]:
    """For each exercise its questions, one after the other, each with its tries."""
    rounds: dict[str, list[list[Marked]]] = {}
    for one in marked:
        mine = rounds.setdefault(one.entry.exercise, [])
        key = (one.entry.seed, one.entry.stage)
        if mine and (mine[-1][0].entry.seed, mine[-1][0].entry.stage) == key:
            mine[-1].append(one)
        else:
            mine.append([one])
    return rounds


def _standing(one: Exercise, rounds: list[list[Marked]]) -> Standing:
    right = row = 0
    for tries in rounds:
        counted = [m for m in tries if m.verdict and m.verdict.counts]
        if not counted:
            continue
        solved = any(m.verdict.is_right for m in counted)
        first = counted[0]
        unaided = first.verdict.is_right and not first.entry.hints and not first.entry.seen
        right += solved
        if first.entry.stage == "whole":
            row = row + 1 if unaided else 0
    last = max((_time(m.entry.time) for r in rounds for m in r), default=None)
    return Standing(one, len(rounds), right, row, last, tuple(map(tuple, rounds)))


def _time(text: str) -> datetime:
    try:
        return datetime.strptime(text, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC)
    except ValueError:
        return datetime(2000, 1, 1, tzinfo=UTC)


def _recurring(marked: list[Marked]) -> tuple[Recurring, ...]:
    recent = [m.verdict for m in marked[-RECENT:] if m.verdict and m.verdict.kind in (MISTAKE, WRONG_KIND)]
    times = Counter(v.mistake for v in recent if v.mistake)
    said = {v.mistake: v.message for v in recent}
    return tuple(Recurring(name, n, said[name]) for name, n in times.most_common() if n >= RECURS)


def mistakes_of(one: Exercise) -> set[str]:
    """Names of the mistakes an exercise knows, as far as they are told without making its questions."""
    known = {m.name for m in one.mistakes}
    if "questions" in vars(one):
        ask = one.questions[0].ask
        known |= {m.name for m in ask.mistakes} if isinstance(ask, ChoiceAsked | OrderAsked | WordAsked) else set()
    return known


def _suggestions(
    standings: tuple[Standing, ...], recurring: tuple[Recurring, ...], now: datetime, most: int = 6
) -> tuple[Suggestion, ...]:
    found: dict[str, Suggestion] = {}
    standings = tuple(s for s in standings if s.exercise.lesson != FINAL)

    def suggest(one: Exercise, why: Sentence) -> None:
        if len(found) < most:
            found.setdefault(one.name, Suggestion(one, why))

    for s in sorted((s for s in standings if s.state == "begun"), key=lambda s: s.last):
        if s.row == 0 and s.due <= now:
            suggest(s.exercise, _("You have begun this one. Try another question of it."))
    for mistake in recurring[:3]:
        for s in standings:
            if s.state != "sure" and mistake.name in mistakes_of(s.exercise):
                again = ngettext(
                    "It trains what went wrong once.", "It trains what went wrong {count} times.", mistake.times
                )
                suggest(s.exercise, again)
                break
    for s in sorted((s for s in standings if s.last), key=lambda s: s.due):
        if s.due <= now:
            suggest(s.exercise, _ago((now - s.last).days))
    for s in standings:
        if s.state == "new":
            suggest(s.exercise, _("New, lesson {lesson}.", lesson=s.exercise.lesson))
    return tuple(found.values())


def _ago(days: int) -> Sentence:
    if days < 1:
        return _("Last done today. Time to see whether it still sits.")
    return ngettext(
        "Last done yesterday. Time to see whether it still sits.",
        "Last done {count} days ago. Time to see whether it still sits.",
        days,
    )
