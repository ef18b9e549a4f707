"""Where questions and parts of one's own lie: questions.csv and parts.csv in the folder the class shares, and beside
the workbooks. All that are there are read; a file changed since is read anew."""

import contextlib
import json
import os
from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache, reduce
from pathlib import Path
from typing import Any

from tapkit import spreadsheet
from tapkit.exercises import me, ownquestions
from tapkit.exercises.exercise import Exercise
from tapkit.exercises.ownquestions import HEADS, OwnFound, own_name, questions_of
from tapkit.exercises.ownvalues import PART_HEADS, part_of
from tapkit.messages import Sentence, _
from tapkit.planning.press import PressPart
from tapkit.spreadsheet import Table

QUESTIONS, PARTS, UNITS = "questions.csv", "parts.csv", "units.csv"
ROOM = "room"
UNITS_HEADS = ("class", "units")
LARGEST = 2**20
"""Bytes of a file that are read."""
_also: list[Path] = []


def look_in(*folders: Path) -> None:
    """Read the files of these folders too from now on, first of all: those of the class that is worked with."""
    _also[:] = folders


def own_folders() -> tuple[Path, ...]:
    """Folders in which the files may lie: of the class, then beside the workbooks."""
    room, klass, shared = os.environ.get("TAPKIT_ROOM"), os.environ.get("TAPKIT_CLASS"), me.class_folder()
    found = [*_also, *([Path(room)] if room else []), *([Path(klass) / ROOM] if klass else [])]
    found += [shared / ROOM, shared] if shared else []
    return tuple(dict.fromkeys([*found, *_shared(), Path(os.environ.get("TAPKIT_FOLDER") or ".")]))


def _classes() -> list[tuple[float, dict[str, Any]]]:
    """What an instructor's desk knows of its classes, each with the time it was worked with."""
    found = []
    for file in sorted((Path(os.environ.get("TAPKIT_FOLDER") or ".") / "classes").glob("*/key/class.json")):
        with contextlib.suppress(OSError, ValueError, TypeError):
            found.append((file.stat().st_mtime, dict(json.loads(file.read_text(encoding="utf-8")))))
    return found


def _shared() -> list[Path]:
    """Rooms of the classes in shared folders that an instructor has made at the desk."""
    return [Path(str(told["shared"])) / ROOM for _used, told in _classes() if told.get("shared")]


def units() -> str:
    """The units of the class that is worked with, "inch" or "metric"; of an instructor's classes the last one used."""
    rooms = [folder for folder in own_folders() if folder not in _shared() or folder in _also]
    told = next((row.get("units", "") for folder in rooms for row in _rows_or_none(folder / UNITS)), None)
    if told is None:
        told = max(_classes(), key=lambda one: one[0], default=(0.0, {}))[1].get("units")
    return "inch" if told == "inch" else "metric"


def _rows_or_none(file: Path) -> list[dict[str, str]]:
    with contextlib.suppress(OSError, ValueError):
        return _rows(file)
    return []


def give_units(folder: Path, name: str, chosen: str) -> None:
    """Say the units of a class where its learners' machines read them. ValueError where it cannot be written."""
    if chosen == "inch" or (folder / UNITS).exists():
        spreadsheet.write(folder / UNITS, spreadsheet.text_of(Table(UNITS_HEADS, ((name, chosen),), (), ";")))


def home() -> Path:
    """The folder a new question goes to: the one shared by the class that is worked with, or by all there is, where it
    may be written; else beside the workbooks."""
    *shared, own = (one for one in own_folders() if one.name == ROOM or one not in _also or one == own_folders()[-1])
    if len(_shared()) > 1:
        shared = [one for one in shared if one in _also or one not in _shared()]
    return next((f for f in shared if f.is_dir() and os.access(f, os.W_OK)), own)


def read_own_questions(ours: Callable[[], Mapping[str, Exercise]]) -> OwnFound:
    """All questions of one's own, and what is wrong in the files; `ours` gives the exercises a row may be like."""
    stamps = tuple(s for folder in own_folders() for name in (PARTS, QUESTIONS) if (s := _stamp(folder / name)))
    if not any(Path(path).name == QUESTIONS for path, *_rest in stamps):
        return OwnFound({}, ())
    return _read(stamps, ours)


def _stamp(path: Path) -> tuple[str, int, int] | None:
    try:
        seen = path.stat()
    except OSError:
        return None
    return (str(path), seen.st_mtime_ns, seen.st_size)


@lru_cache(maxsize=4)
def _read(stamps: tuple[tuple[str, int, int], ...], ours: Callable[[], Mapping[str, Exercise]]) -> OwnFound:
    parts: dict[str, PressPart] = {}
    found: dict[str, Exercise] = {}
    problems: list[Sentence] = []
    for path, _changed, size in sorted(stamps, key=lambda s: Path(s[0]).name != PARTS):
        told: list[Sentence] = []
        try:
            if size > LARGEST:
                raise ValueError(_("it has more than {most} bytes", most=LARGEST))
            table = spreadsheet.read_sheet(spreadsheet.bytes_of(path))
            if Path(path).name == PARTS:
                more_parts, told = parts_of(table)
                parts = more_parts | parts
            else:
                more, said = questions_of(table, parts, ours())
                found, told = more | found, list(said)
        except ValueError as error:
            told = [error.args[0]]
        problems += [_("{file}, {problem}", file=Path(path).name, problem=one) for one in told]
    return OwnFound(found, tuple(problems))


def parts_of(table: Table) -> tuple[dict[str, PressPart], list[Sentence]]:
    """The parts of a table by name, and a sentence for each row that cannot be used."""
    parts: dict[str, PressPart] = {}
    problems: list[Sentence] = []
    for line, row in list(zip(table.lines, table.rows))[: ownquestions.MOST_ROWS]:
        try:
            one = part_of(dict(zip(table.heads, row)))
            if one.part in parts:
                raise ValueError(_("there is a part {part} above already", part=one.part))
            parts[one.part] = one
        except ValueError as error:
            problems.append(_("line {line}, {error}", line=line, error=error.args[0]))
    return parts, problems


def own_parts() -> dict[str, PressPart]:
    """Parts of one's own by name, of all files."""
    found: dict[str, PressPart] = {}
    for folder in own_folders():
        if (folder / PARTS).is_file():
            found = parts_of(spreadsheet.read_sheet(spreadsheet.bytes_of(folder / PARTS)))[0] | found
    return found


def add_question(cells: Mapping[str, str], folder: Path | None = None) -> Path:
    """Write a row at the end of questions.csv, everything there left as it is; the file.

    Raises ValueError in one sentence, and writes nothing, where the row cannot be used or the file not be written.
    """
    one = ownquestions.question_of(cells, own_parts())
    return _append(cells, (folder or home()) / QUESTIONS, one.named)


def _append(cells: Mapping[str, str], file: Path, named: Any) -> Path:
    """Write a row at the end of a file, one at a time."""

    def changed(before: Table) -> Table:
        if _name_in(cells) in _names(before):
            raise ValueError(_("there is a question {title} already; give another title", title=named))
        return _with_row(before, cells)

    spreadsheet.rewrite(file, changed, tuple(head for head in HEADS if head != "name"))
    return file


def give_to(folder: Path, names: Iterable[str]) -> None:
    """Put one's own questions of these names into a folder that learners reach, with the parts beside them, where they
    are not there yet. Raises ValueError in one sentence where that cannot be."""
    wanted = {name for name in names if name.startswith("own-")} - _names(_sheet(folder / QUESTIONS))
    for place in own_folders() if wanted else ():
        rows = [row for row in _rows(place / QUESTIONS) if _name_in(row) in wanted]
        if place == folder or not rows:
            continue
        if (place / PARTS).is_file():
            _give_parts(_rows(place / PARTS), folder / PARTS)
        for row in rows:
            wanted.discard(_name_in(row))
            _append(row, folder / QUESTIONS, row.get("title", ""))


def _give_parts(rows: list[dict[str, str]], file: Path) -> None:
    """Write the parts that are not there yet at the end of a file."""

    def changed(before: Table) -> Table:
        there = {dict(zip(before.heads, row)).get("part") for row in before.rows}
        return reduce(_with_row, (row for row in rows if row.get("part") not in there), before)

    spreadsheet.rewrite(file, changed, tuple(rows[0]) if rows else PART_HEADS)


def _sheet(file: Path) -> Table:
    """The table of a file, an empty one where there is none."""
    return spreadsheet.read_sheet(spreadsheet.bytes_of(file)) if file.is_file() else Table((), (), (), ";")


def _rows(file: Path) -> list[dict[str, str]]:
    table = _sheet(file)
    return [dict(zip(table.heads, row)) for row in table.rows]


def _name_in(row: Mapping[str, str]) -> str:
    return own_name(row.get("name") or row.get("title") or "-0")


def _names(table: Table) -> set[str]:
    return {_name_in(dict(zip(table.heads, row))) for row in table.rows}


def _with_row(table: Table, cells: Mapping[str, str]) -> Table:
    heads = (*table.heads, *(head for head in cells if cells[head] and head not in table.heads))
    rows = tuple(row + ("",) * (len(heads) - len(row)) for row in table.rows)
    return table._replace(heads=heads, rows=(*rows, tuple(cells.get(head, "") for head in heads)))
