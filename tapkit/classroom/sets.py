"""Sets of a class: chosen exercises under a title, their sheets, answers typed from paper, and marking them."""

import contextlib
import json
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from tapkit.classroom.corrections import corrections
from tapkit.classroom.evidence import Book
from tapkit.classroom.marking import How, Marks
from tapkit.classroom.marks import marks_of, write_marks
from tapkit.classroom.questions import MOST, exercise_set
from tapkit.classroom.roster import plain_id
from tapkit.classroom.schoolclass import SchoolClass
from tapkit.classroom.sheetpage import LearnerSheet
from tapkit.classroom.sheets import (
    CLASS,
    GRID,
    KEY,
    LATE,
    head_of,
    make_sheet,
    typed_answers,
    write_answers,
    write_sheets,
)
from tapkit.classroom.together import roll_forward
from tapkit.exercises.classtest import ClassTest, class_tests, read_test
from tapkit.exercises.exercise import Exercise
from tapkit.messages import _

SETTINGS = "set.json"


@dataclass(frozen=True)
class SheetSet:
    """A set of a class: its `folder`, its `title`, the names of its exercises; the `test` it is on the screen; the
    `units` the class had as it was made."""

    folder: Path
    title: str
    names: tuple[str, ...]
    test: ClassTest | None = None
    units: str = "metric"

    @property
    def exercises(self) -> tuple[Exercise, ...]:
        """The exercises in their order."""
        return exercise_set(", ".join(self.names))

    @property
    def prints(self) -> dict[str, Path]:
        """What can be printed, by a word: class, late, grid, key."""
        files = {
            "class": self.folder / "sheets" / CLASS,
            "late": self.folder / "sheets" / LATE,
            "grid": self.folder / "key" / GRID,
            "key": self.folder / "key" / KEY,
        }
        return {word: path for word, path in files.items() if path.is_file()}


def make_set(made: SchoolClass, title: str, names: Iterable[str], test: ClassTest | None = None) -> SheetSet:
    """A new set with sheets, answer grid and key for everybody, or the set of this title with those who came late. With
    a `test` it is the paper twin of that.

    Raises ValueError where nothing is chosen, or the title belongs to other exercises.
    """
    names, stem = tuple(names), plain_id(title)
    if not names:
        raise ValueError(_("choose one exercise at least"))
    if len(names) > MOST:
        raise ValueError(
            _("{count} exercises are too many for one sheet; choose {most} or fewer", count=len(names), most=MOST)
        )
    if not stem:
        raise ValueError(_("give the set a title, such as Test 1"))
    folder = made.folder.key / "sheets" / stem
    there = _read(folder)
    if there is not None and there.names != names:
        raise ValueError(_("the set {title} has other exercises; choose another title", title=there.title))
    if there is not None and (there.test is None) != (test is None):
        raise ValueError(_("there is a set {title} already; choose another title", title=there.title))
    units = test.units if test else there.units if there else made.units
    found = replace(there or SheetSet(folder, " ".join(title.split())[:80], names), test=test, units=units)
    head = head_of(test) if test else found.title
    told = {"title": found.title, "exercises": list(names), "test": test.cells() if test else None, "units": units}
    write_sheets(
        folder,
        sheets_of(made, found),
        title=head,
        seed=made.seed,
        paper=made.paper,
        mode=made.keeps_modes,
        settings={SETTINGS: json.dumps(told, ensure_ascii=False) + "\n"},
    )
    return found


def sheets_of(made: SchoolClass, one: SheetSet) -> list[LearnerSheet]:
    """The sheets of everybody in the class."""
    turn = one.test.turn if one.test else 0
    return [make_sheet(learner, one.exercises, made.seed, turn, one.units) for learner in made.roster]


def sets_of(made: SchoolClass) -> list[SheetSet]:
    """All sets of a class, by title."""
    place = made.folder.key / "sheets"
    found = (_read(folder) for folder in sorted(place.iterdir())) if place.is_dir() else ()
    sets = [one for one in found if one is not None]
    known = {one.title for one in sets}
    more = (one for one in class_tests()[0].values() if one.title not in known)
    return [*sets, *(SheetSet(place / plain_id(one.title), one.title, one.names, one, one.units) for one in more)]


def set_of(made: SchoolClass, title: str | None) -> SheetSet | None:
    """The set of a class with a title, None where there is none."""
    return next((one for one in sets_of(made) if one.title == title), None)


def _read(folder: Path) -> SheetSet | None:
    with contextlib.suppress(OSError, ValueError, KeyError, TypeError):
        roll_forward(folder)
        told = json.loads((folder / SETTINGS).read_text(encoding="utf-8"))
        test = read_test(told["test"]) if told.get("test") else None
        units = str(told.get("units", "metric"))
        return SheetSet(folder, str(told["title"]), tuple(map(str, told["exercises"])), test, units)
    return None


def typed(made: SchoolClass, one: SheetSet, learner: str) -> dict[str, str]:
    """What was typed from a learner's paper, by exercise."""
    row = typed_answers(one.folder, sheets_of(made, one)).get(learner, [])
    return dict(zip(one.names, row[3:]))


def type_in(made: SchoolClass, one: SheetSet, learner: str, answers: Mapping[str, str]) -> None:
    """Keep what stands on a learner's paper. OSError where it cannot be written."""
    sheets = sheets_of(made, one)
    rows = typed_answers(one.folder, sheets)
    own = next(s for s in sheets if s.learner.id == learner)
    rows[learner] = [learner, own.learner.name, own.code, *(answers.get(name, "") for name in one.names)]
    write_answers(one.folder, sheets, rows, made.keeps_modes)


def marks_of_set(made: SchoolClass, one: SheetSet, how: How) -> Marks:
    """The marks of a set from everything that came in; nothing is written."""
    book = Book(made.roster, made.seed, one.names, any_seed=made.any_seed, test=one.test, units=one.units)
    places, known = (one.folder / "key", made.folder.key / "typed"), corrections(made.folder.marks)
    return marks_of(book, how, made.records, places, made.copies, known)


def keep_marks(made: SchoolClass, one: SheetSet, marks: Marks, how: How) -> Path:
    """Write a marking beside all earlier ones; its folder."""
    page = write_marks(marks, made.folder.marks, one.title, one.title, how.separator)
    return page.parent


def latest(made: SchoolClass) -> Path | None:
    """The folder of the newest marking."""
    runs = [path for path in made.folder.marks.glob("marks-*") if (path / "gradebook.csv").is_file()]
    return max(runs, key=lambda path: (os.stat(path).st_mtime_ns, path.name), default=None)
