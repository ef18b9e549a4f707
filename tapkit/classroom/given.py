"""What an instructor gives to learners as files, where no folder is shared: questions, parts and tests of the class."""

from pathlib import Path

from tapkit import spreadsheet
from tapkit.classroom.folder import write_safely
from tapkit.exercises import ownfile
from tapkit.exercises.classtest import FILE as TESTS
from tapkit.exercises.ownfile import PARTS, QUESTIONS, UNITS, UNITS_HEADS
from tapkit.messages import Sentence, _, ngettext

HEADS = {
    TESTS: {"title", "exercises", "opens"},
    PARTS: {"part", "thread"},
    QUESTIONS: {"title", "lesson"},
    UNITS: set(UNITS_HEADS),
}
"""The files, and the headings by which each is known, whatever it is called."""
MOST = 50


def to_give() -> dict[str, Path]:
    """The files that are there to give, by name."""
    found: dict[str, Path] = {}
    for folder in ownfile.own_folders():
        for name in HEADS:
            if (folder / name).is_file():
                found.setdefault(name, folder / name)
    return found


def take_given(file: str, data: bytes, folder: Path) -> Sentence:
    """Put a file that was dropped beside the workbooks, under the name it is read by; what was done.

    An older one of other content stays beside it as it was. Raises ValueError where it is none of the files, OSError
    where it cannot be written; nothing is changed then.
    """
    table = spreadsheet.read_sheet(data[: ownfile.LARGEST])
    heads = {head.strip().lower() for head in table.heads}
    name = next((name for name, wanted in HEADS.items() if wanted <= heads), None)
    if name is None or len(data) > ownfile.LARGEST:
        raise ValueError(_("{file} holds no questions, parts, tests or units of a class", file=file[:80]))
    place = folder / name
    before = place.read_bytes() if place.exists() else data
    if before != data:
        stem = place.stem
        kept = (folder / f"{stem}-before{f'-{n}' if n > 1 else ''}.csv" for n in range(1, MOST))
        write_safely(next(one for one in kept if not one.exists() or one.read_bytes() == before), before)
    write_safely(place, data)
    return ngettext(
        "{file} is taken in, {count} row. Open a workbook anew to meet it.",
        "{file} is taken in, {count} rows. Open a workbook anew to meet them.",
        len(table.rows),
        file=name,
    )
