"""The end of a term: a class packed into one file, and a class erased."""

import os
import shutil
import zipfile
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from tapkit.classroom.folder import free_place
from tapkit.classroom.schoolclass import SchoolClass
from tapkit.messages import Sentence, _

KEPT = (".jsonl", ".csv", ".html", ".json", ".txt")
LARGEST = 16 * 2**20


def archive(made: SchoolClass, place: Path) -> Path:
    """Pack records, sheets, keys and marks of a class into one file in `place`, whole or not at all; its path.

    What was read is compared with what lies in the file before it is put in place. Raises OSError.
    """
    place.mkdir(parents=True, exist_ok=True)
    part = place / ".archive.part"
    try:
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as out:
            for path in _files(made):
                out.write(path, f"{made.folder.root.name}/{path.relative_to(made.folder.root).as_posix()}")
        with zipfile.ZipFile(part) as packed:
            if (broken := packed.testzip()) is not None:
                raise OSError(f"{broken} was not packed whole")
        target = free_place(place / f"{made.folder.root.name}-{date.today():%Y-%m-%d}.zip", ".zip")
        os.replace(part, target)
        return target
    finally:
        part.unlink(missing_ok=True)


def _files(made: SchoolClass) -> Iterator[Path]:
    """What a class is made of; no link is followed, a learner's pictures and programs stay where they are."""
    for top in (made.folder.key, made.folder.marks, made.records):
        for inner, folders, names in os.walk(top, followlinks=False):
            folders[:] = sorted(f for f in folders if not f.startswith("."))
            for name in sorted(names):
                path = Path(inner) / name
                is_plain = path.suffix in KEPT and not path.is_symlink() and os.access(path, os.R_OK)
                if is_plain and path.stat().st_size <= LARGEST:
                    yield path


def erase_class(made: SchoolClass, typed: str) -> Sentence:
    """Remove a class of one's own for good, where its name was typed. ValueError where it was not."""
    if " ".join(typed.split()).casefold() != made.name.casefold():
        raise ValueError(_("to erase the class for good, type its name: {name}", name=made.name))
    shutil.rmtree(made.folder.root)
    return _(
        "{name} is erased, with records, sheets and marks. What lies in a shared folder lies there still.",
        name=made.name,
    )
