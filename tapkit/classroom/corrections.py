"""What an instructor says an unreadable answer means. What was written stays; the correction stands beside it."""

import csv
import io
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from tapkit.classroom.evidence import Given
from tapkit.classroom.folder import write_safely
from tapkit.classroom.gradebook import csv_text
from tapkit.classroom.marking import Marks, Try
from tapkit.exercises.me import on_one_line

FILE = "corrections.csv"
_HEADS = ["id", "exercise", "seed", "read", "means"]


class Correction(NamedTuple):
    """Of one answer: whose, to which question, as `read`, and what it `means`."""

    learner: str
    exercise: str
    seed: int
    read: str
    means: str


def corrections(marks_folder: Path) -> list[Correction]:
    """All corrections of a class, the newest of each answer."""
    try:
        text = (marks_folder / FILE).read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        return []
    found: dict[tuple[str, str, int, str], Correction] = {}
    for row in csv.DictReader(io.StringIO(text)):
        seed = (row.get("seed") or "").removeprefix("s")
        if seed.isdigit():
            one = Correction(row["id"], row["exercise"], int(seed), bare(row["read"]), bare(row["means"]))
            found[one[:4]] = one
    return list(found.values())


def keep_correction(marks_folder: Path, one: Correction, mode: int = 0o600) -> None:
    """Add a correction; an earlier one of the same answer goes."""
    others = [other for other in corrections(marks_folder) if other[:4] != one[:4]]
    rows = [[c.learner, c.exercise, f"s{c.seed}", c.read, c.means] for c in (*others, one)]
    write_safely(marks_folder / FILE, csv_text([_HEADS, *rows]), mode=mode)


def corrected(given: Iterable[Given], known: Iterable[Correction]) -> list[Given]:
    """Answers with what they mean, where that was said."""
    means = {one[:4]: one.means for one in known}
    return [g._replace(means=means.get((g.learner, g.exercise, g.seed, on_one_line(g.answer)), "")) for g in given]


def unread(marks: Marks) -> list[Try]:
    """Answers of which no mark can be made before somebody has looked, by learner and exercise."""
    own = (marks.results[one.id].values() for one in marks.roster)
    return [r.counts for results in own for r in results if r.is_unread and r.counts is not None]


def correction(given: Given, means: str) -> Correction:
    """That an answer means this."""
    return Correction(given.learner, given.exercise, given.seed, on_one_line(given.answer), on_one_line(means))


def bare(cell: str) -> str:
    """A cell without the apostrophe that keeps spreadsheets from reckoning."""
    return cell[1:] if cell[:1] == "'" and cell[1:2] in tuple("=+-@−'") else cell
