"""The lessons of the course: where they lie, what they are for, the words they bring; lesson 9 is the final test."""

from dataclasses import dataclass
from functools import cache

from tapkit import tables
from tapkit.exercises.bank import exercises
from tapkit.exercises.exercise import FINAL as FINAL
from tapkit.exercises.exercise import Exercise
from tapkit.messages import Sentence


@dataclass(frozen=True)
class Lesson:
    """A lesson: its `number`, the `file` of its workbook without ending, `title`, `goal`, `words` of the glossary and
    formulas by name (`named`)."""

    number: int
    file: str
    title: Sentence
    goal: Sentence
    words: tuple[str, ...]
    named: tuple[str, ...]

    @property
    def workbook(self) -> str:
        """Name of the file."""
        return f"{self.file}.ipynb"

    @property
    def core(self) -> tuple[Exercise, ...]:
        return exercises(lesson=self.number, core=True)

    @property
    def formulas(self) -> tuple[dict[str, str], ...]:
        known = {row["name"]: row for row in tables.rows("formulas")}
        return tuple(known[name] for name in self.named)

    @property
    def terms(self) -> tuple[dict[str, str], ...]:
        """The rows of its words in the glossary."""
        known = {row["term"]: row for row in tables.rows("glossary")}
        return tuple(known[word] for word in self.words)


@cache
def all_lessons() -> tuple[Lesson, ...]:
    """The lessons in their order, the final test last."""
    return tuple(
        Lesson(
            int(row["lesson"]),
            row["file"],
            Sentence(row["title"]),
            Sentence(row["goal"]),
            tuple(word for word in row["words"].split("|") if word),
            tuple(row["formulas"].split()),
        )
        for row in tables.rows("lessons")
    )


@cache
def taught() -> tuple[int, ...]:
    """The numbers of the lessons: of all but the final test."""
    return tuple(one.number for one in all_lessons() if one.number != FINAL)


def lesson(number: int) -> Lesson:
    """The lesson of a number, or the final test."""
    return next(one for one in all_lessons() if one.number == number)
