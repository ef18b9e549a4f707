"""What the commands of a class share: their options, which a class folder on this machine can answer by itself."""

import argparse
import contextlib
import sys
from collections.abc import Iterator
from pathlib import Path

from tapkit.classroom.folder import ClassFolder
from tapkit.classroom.questions import exercise_set
from tapkit.classroom.roster import Roster, read_roster
from tapkit.exercises import ownfile
from tapkit.exercises.classtest import ClassTest, find_class_test
from tapkit.exercises.exercise import Exercise
from tapkit.messages import Sentence, _


def add_class(parser: argparse.ArgumentParser, *, test: Sentence, seed: Sentence) -> None:
    """The options, those that are asked of a class folder too, with what is said of a test and a seed."""
    add = parser.add_argument
    add("--class", dest="folder", type=Path, help=str(_("class folder of a hub; it knows roster, seed and records")))
    told = _("folder with questions.csv and parts.csv of your own (a class folder's are found by themselves)")
    add("--questions", type=Path, help=str(told))
    add("--roster", type=Path, help=str(_("CSV file with the learners (columns id and name)")))
    which = parser.add_mutually_exclusive_group(required=True)
    told = _("lesson, topic, names of exercises, 'own' or 'all'")
    which.add_argument("--set", dest="chosen", metavar="SET", help=str(told))
    which.add_argument("--test", metavar="TITLE", help=str(test))
    add("--seed", help=str(seed))


def fill_in(arguments: argparse.Namespace, *needed: str) -> None:
    """Fill in what was not given from the class folder. Raises ValueError that names what is missing."""
    room = [ClassFolder(arguments.folder).room, arguments.folder] if arguments.folder else []
    ownfile.look_in(*([arguments.questions] if arguments.questions else []), *room)
    if arguments.folder is not None:
        for name, value in known(ClassFolder(arguments.folder)).items():
            if getattr(arguments, name, "") is None:
                setattr(arguments, name, value)
    missing = [f"--{name}" for name in needed if getattr(arguments, name) is None]
    if missing:
        raise ValueError(
            _("{missing} must be given, or --class with the class folder of a hub", missing=", ".join(missing))
        )


def known(folder: ClassFolder) -> dict[str, Path | str]:
    """What a class folder knows. Raises ValueError where it may not be read or is none."""
    try:
        seed = folder.seed
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise ValueError(
            _(
                "cannot read the key of the class in {folder} ({why}); give a hub's class folder, as an instructor",
                folder=folder.root,
                why=why,
            )
        ) from None
    return {
        "roster": folder.roster_file,
        "seed": seed,
        "records": folder.learners,
        "copies": folder.copies,
        "out": folder.marks,
    }


def set_asked_for(arguments: argparse.Namespace) -> tuple[ClassTest | None, tuple[Exercise, ...], str]:
    """The test that was named, or None for a set; its exercises, and its units."""
    if not arguments.test:
        return None, exercise_set(arguments.chosen), ownfile.units()
    test = find_class_test(arguments.test)
    return test, test.exercises, test.units


def told_roster(path: Path) -> Roster:
    """The roster in a file; what was left out of it is told on stderr."""
    roster = read_roster(path)
    for note in roster.notes:
        print(f"{path.name}, {note}", file=sys.stderr)
    return roster


@contextlib.contextmanager
def writing(out: Path) -> Iterator[None]:
    """What is written into a folder; a ValueError in a sentence where it cannot be."""
    try:
        yield
    except OSError as error:
        raise ValueError(
            _("cannot write to {folder}: {why}; choose another --out", folder=out, why=error.strerror)
        ) from None
