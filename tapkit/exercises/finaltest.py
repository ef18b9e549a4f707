"""The final test: five parts of the press, one answer each; and the line by which an instructor checks a record of it.

Questions follow from the learner's seed and the turn. Of each question the first answer counts that could be read. The
line of a record holds name, day, seed, marks and a sign; the sign is computed from the rest, so that what was mistyped
or changed by hand is found. It is no proof against somebody who programs: marks computed from the records are
(`tapkit marks --set 9 --count first`).
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from tapkit.codes import keyed_number, letters
from tapkit.exercises.bank import exercises
from tapkit.exercises.exercise import Question
from tapkit.exercises.lessons import FINAL
from tapkit.exercises.progress import Marked, verdict_on
from tapkit.exercises.record import History
from tapkit.messages import Number, Sentence, _

SIGNS = 10
"""Letters of a sign."""
PASSED = 4.0
"""Marks of five that a test is passed with."""


class Task(NamedTuple):
    """A question of a test, and the answer that counts (None before there is one)."""

    question: Question
    given: Marked | None = None

    @property
    def credit(self) -> float:
        """How much of it is right, from 0 to 1."""
        return round(self.given.verdict.credit, 2) if self.given and self.given.verdict else 0.0


@dataclass(frozen=True)
class Sitting:
    """One test: the learner's `seed` and turn together, and its tasks."""

    seed: int
    tasks: tuple[Task, ...]

    @property
    def left(self) -> tuple[Question, ...]:
        """The questions that have no answer yet."""
        return tuple(t.question for t in self.tasks if t.given is None)

    @property
    def day(self) -> str:
        """The day of the last answer, "" before there is one."""
        return max((t.given.entry.time[:10] for t in self.tasks if t.given), default="")

    @property
    def marks(self) -> tuple[float, ...]:
        """The credit of each task."""
        return tuple(t.credit for t in self.tasks)

    def line(self, name: str) -> str:
        """The line an instructor checks."""
        return Checked(name, self.day, self.seed, self.marks).line


class Checked(NamedTuple):
    """What the line of a record says."""

    name: str
    day: str
    seed: int
    marks: tuple[float, ...]

    @property
    def points(self) -> float:
        """Marks in all."""
        return round(sum(self.marks), 2)

    @property
    def is_passed(self) -> bool:
        """Whether that is enough."""
        return self.points >= PASSED

    @property
    def sign(self) -> str:
        """Letters that follow from name, day, seed and marks."""
        number = keyed_number(str(self.seed), "final test", self._named, self.day, *map(_plain, self.marks))
        sign = letters(number, SIGNS)
        return f"{sign[:5]}-{sign[5:]}"

    @property
    def _named(self) -> str:
        return " ".join(self.name.split()) or "–"

    @property
    def line(self) -> str:
        return " / ".join((self._named, self.day, str(self.seed), " ".join(map(_plain, self.marks)), self.sign))

    @property
    def says(self) -> Sentence:
        """The line in words."""
        given = dict(name=self._named, day=self.day, points=Number(self.points), most=len(self.marks))
        if self.is_passed:
            return _("{name}, {day}: {points} of {most} marks. Passed.", **given)
        return _("{name}, {day}: {points} of {most} marks. Not passed.", **given)


def _plain(mark: float) -> str:
    return f"{mark:g}"


def sitting(history: History, seed: int) -> Sitting:
    """The test a learner sits: the first that is not finished. Its questions follow from their seed and the turn."""
    return _sittings(history, seed)[-1]


def finished(history: History, seed: int) -> tuple[Sitting, ...]:
    """The tests that are finished, in order."""
    return tuple(_sittings(history, seed)[:-1])


def _sittings(history: History, seed: int) -> list[Sitting]:
    names = {one.name for one in exercises(lesson=FINAL)}
    first: dict[tuple[str, int], Marked] = {}
    for entry in history.entries:
        if entry.exercise in names and entry.stage == "whole":
            marked = verdict_on(entry)
            if marked.verdict and marked.verdict.counts:
                first.setdefault((entry.exercise, entry.seed), marked)
    found: list[Sitting] = []
    while not found or not found[-1].left:
        found.append(_sitting(first, seed + len(found)))
    return found


def _sitting(first: dict[tuple[str, int], Marked], seed: int) -> Sitting:
    questions = (one.variant(seed) for one in exercises(lesson=FINAL))
    return Sitting(seed, tuple(Task(q, first.get((q.exercise.name, seed))) for q in questions))


def check(text: str, holder: str | None = None) -> Checked:
    """Read the line of a record, and check its sign. `holder` is whose seed it is, where a class knows; "" is nobody's.

    Raises ValueError that says what does not fit.
    """
    parts = [part.strip() for part in text.strip().split("/")]
    if len(parts) < 5:
        wanted = "Kai Moor / 2026-03-02 / 7 / 1 1 0.5 1 1 / BCDFG-HJKLM"
        raise ValueError(
            _(
                "five parts between strokes are wanted, name, day, seed, marks and sign, and this line has {count}; "
                "it looks like this: {line}",
                count=len(parts),
                line=wanted,
            )
        )
    name, (day, seed, marks, sign) = " / ".join(parts[:-4]), parts[-4:]
    if not (re.fullmatch(r"\d{1,19}", seed) and re.fullmatch(r"[\d. ]{1,60}", marks)):
        raise ValueError(
            _("seed and marks are numbers; here they are {seed} and {marks}", seed=seed[:30], marks=marks[:30])
        )
    read = Checked(name, day, int(seed), _numbers(marks.split()))
    if sign.upper().replace(" ", "") != read.sign:
        raise ValueError(_("the sign does not fit; name, day, seed or marks were mistyped or changed"))
    if holder == "":
        raise ValueError(_("the sign fits, but the seed {seed} belongs to nobody of this class", seed=seed))
    return read


def _numbers(marks: Iterable[str]) -> tuple[float, ...]:
    try:
        return tuple(map(float, marks))
    except ValueError:
        raise ValueError(
            _("marks are numbers such as 1 or 0.5; here they are {marks}", marks=" ".join(marks))
        ) from None
