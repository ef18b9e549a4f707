"""`tapkit sheets`: paper exercise sheets for a class, each with its learner's own variants, and one key."""

import argparse
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

from tapkit.classroom.classargs import add_class, fill_in, set_asked_for, told_roster, writing
from tapkit.classroom.folder import write_safely
from tapkit.classroom.gradebook import csv_text
from tapkit.classroom.questions import MOST, questions_for
from tapkit.classroom.roster import Learner, numbered_rows
from tapkit.classroom.seeds import learner_seed, sheet_code
from tapkit.classroom.sheetlayout import PAPERS
from tapkit.classroom.sheetpage import LearnerSheet, class_page, grid_page, key_page, sheet_page
from tapkit.classroom.together import roll_forward, together
from tapkit.exercises.classtest import ClassTest
from tapkit.exercises.exercise import Exercise
from tapkit.messages import Sentence, _, ngettext, of_table
from tapkit.spreadsheet import decode

CLASS, LATE, GRID, KEY, ANSWERS = "class.html", "late.html", "grid.html", "key.html", "answers.csv"
"""Names of the files: all sheets to print, those of learners who came late, the right answers of all on one page, the
key, the list to type answers into."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Options of `tapkit sheets`."""
    add = parser.add_argument
    parser.epilog = (
        "Without a hub give --roster and --seed: tapkit sheets --roster roster.csv --set 3 --seed autumn --out DIR"
    )
    seed = _("class seed, any text; the same seed makes the same sheets")
    add_class(parser, test=_("a test of tests.csv: its paper twin"), seed=seed)
    add("--out", type=Path, required=True, help=str(_("folder to write to, made if it is not there")))
    add("--paper", choices=sorted(PAPERS), default="A4", help=str(_("paper size (default: A4)")))
    add("--title", help=str(_("title at the head of the sheets")))


def run(arguments: argparse.Namespace) -> int:
    """Write the sheets, the key and the list for typed answers."""
    fill_in(arguments, "roster", "seed")
    test, exercises, units = set_asked_for(arguments)
    if len(exercises) > MOST:
        raise ValueError(
            _(
                "the set {chosen!r} has {count} exercises, more than {most} on one sheet",
                chosen=arguments.chosen,
                count=len(exercises),
                most=MOST,
            )
        )
    title = arguments.title or (head_of(test) if test else _title(arguments.chosen))
    turn = test.turn if test else 0
    sheets = [make_sheet(one, exercises, arguments.seed, turn, units) for one in told_roster(arguments.roster)]
    with writing(arguments.out):
        write_sheets(arguments.out, sheets, title=title, seed=arguments.seed, paper=arguments.paper)
    place = arguments.out / "sheets"
    print(_("Print {file}: every sheet begins on a front page.", file=place / CLASS))
    print(ngettext("{count} sheet in {folder}", "{count} sheets in {folder}", len(sheets), folder=place))
    print(
        _(
            "The key for the instructor is {file}; keep that folder to yourself.",
            file=arguments.out / "key" / KEY,
        )
    )
    return 0


def head_of(test: ClassTest) -> Sentence | str:
    """The head of a test's paper twin: its title, and the minutes there are."""
    if not test.minutes:
        return test.title
    told = dict(title=test.title, minutes=f"{test.minutes:g}")
    return ngettext("{title} · {minutes} minute", "{title} · {minutes} minutes", 1 if test.minutes == 1 else 2, **told)


def make_sheet(
    learner: Learner, exercises: tuple[Exercise, ...], seed: str, turn: int = 0, units: str = "metric"
) -> LearnerSheet:
    """One learner's sheet of a set, and the code that tells it apart; of a test the questions of its `turn`."""
    code = sheet_code(learner_seed(seed, learner.id) + turn, [one.name for one in exercises], units)
    return LearnerSheet(learner, code, questions_for(exercises, seed, learner.id, turn, units))


def write_sheets(
    out: Path,
    sheets: list[LearnerSheet],
    *,
    title: Sentence | str,
    seed: str,
    paper: str,
    mode: int = 0o600,
    settings: Mapping[str, str] = MappingProxyType({}),
) -> None:
    """Sheets in out/sheets, key and answer list in out/key, which the owner alone may read unless `mode` lets others,
    and files of `settings` by name: all of them, or none where that cannot be.

    What was typed into the list stays; sheets of learners who came late stand in late.html, to be printed alone.
    Raises ValueError where the folder holds sheets of another set or seed.
    """
    typed = typed_answers(out, sheets)
    late = [one for one in sheets if typed and one.learner.id not in typed]
    with together(out) as stage:
        _write_pages(stage, sheets, late, title=title, paper=paper)
        (stage / "key").mkdir(mode=0o700 if mode == 0o600 else 0o770)
        write_safely(stage / "key" / KEY, key_page(sheets, title=title, seed=seed, paper=paper), mode=mode)
        write_safely(stage / "key" / GRID, grid_page(sheets, title=title, paper=paper), mode=mode)
        write_answers(stage, sheets, typed, mode)
        for name, text in settings.items():
            write_safely(stage / name, text, mode=mode)


def _write_pages(
    out: Path, sheets: list[LearnerSheet], late: list[LearnerSheet], *, title: Sentence | str, paper: str
) -> None:
    """Each learner's sheet, all of them, and those of late learners."""
    (out / "sheets").mkdir()
    for one in sheets:
        write_safely(out / "sheets" / f"sheet-{one.learner.id}.html", sheet_page(one, title=title, paper=paper))
    write_safely(out / "sheets" / CLASS, class_page(sheets, title=title, paper=paper))
    if late:
        write_safely(out / "sheets" / LATE, class_page(late, title=title, paper=paper))


def write_answers(out: Path, sheets: list[LearnerSheet], typed: Mapping[str, list[str]], mode: int = 0o600) -> None:
    """The list of typed answers, rows by id."""
    write_safely(out / "key" / ANSWERS, answer_list(sheets, typed), mode=mode)


def typed_answers(out: Path, sheets: list[LearnerSheet]) -> dict[str, list[str]]:
    """Rows of the list that lies there, by id. Raises ValueError where it is of another set or seed."""
    if out.is_dir():
        roll_forward(out)
    there = out / "key" / ANSWERS
    if not there.is_file():
        return {}
    text, _encoding = decode(there.read_bytes())
    rows = [cells for _line, cells in numbered_rows(text, ANSWERS)]
    own = {one.learner.id: one.code for one in sheets}
    found = {row[0]: row for row in rows[1:] if len(row) > 2}
    if not rows or rows[0] != _heads(sheets) or any(own.get(id, row[2]) != row[2] for id, row in found.items()):
        raise ValueError(
            _(
                "{out} already holds sheets of another set or seed, and perhaps typed answers; choose another folder "
                "with --out, or clear this one",
                out=out,
            )
        )
    return found


def _heads(sheets: list[LearnerSheet]) -> list[str]:
    return ["id", "name", "sheet", *(q.exercise.name for q in sheets[0].questions)]


def answer_list(sheets: list[LearnerSheet], typed: Mapping[str, list[str]] = MappingProxyType({})) -> str:
    """A CSV to type the answers from paper into; `tapkit marks` reads it among the records.

    `typed` are rows by id that are kept, those of learners who left too.
    """
    heads = _heads(sheets)
    empty = {one.learner.id: [one.learner.id, one.learner.name, one.code, *[""] * (len(heads) - 3)] for one in sheets}
    kept = {id: [cell.removeprefix("'") for cell in row] for id, row in typed.items()}
    return csv_text([heads, *(empty | kept).values()])


def _title(chosen: str) -> Sentence:
    """A heading from a set: "Exercises: lesson 3", and no more than "Exercises" for a list of names.

    >>> [str(_title(chosen)) for chosen in ("3", "tooth load", "chamfer-length, 2")]
    ['Exercises: lesson 3', 'Exercises: tooth load', 'Exercises']
    """
    chosen = " ".join(chosen.replace("-", " ").split())
    if "," in chosen or chosen == "all":
        return _("Exercises")
    if chosen.isdigit():
        return _("Exercises: lesson {number}", number=chosen)
    return _("Exercises: {topic}", topic=of_table(chosen))
