"""Plain spreadsheet files (CSV): read in any usual code and separator, written whole or not at all."""

import csv
import io
import os
import re
import tempfile
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import NamedTuple

from tapkit import filelock
from tapkit.messages import _

SEPARATORS = (";", "\t", ",")
SEPARATOR_TOLD = re.compile(r'"?sep=(.)"?[;,\t]*\r?\n')


class Table(NamedTuple):
    """A table as it was written: `heads`, `rows` of cells with the number of the `lines` each begins on, and the
    `separator`."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]
    separator: str


def read_sheet(content: bytes) -> Table:
    """A table from a file's bytes: UTF-8, UTF-16 or the code page of Western spreadsheets; semicolon, tab or comma
    between cells, as the headings have them, or as a first line `sep=;` says. Headings of one column take each line
    whole. Empty lines are left out; a row shorter than the headings is filled up, a longer one stays long.

    >>> read_sheet(b"sep=,\\r\\ntap,hole; core\\nM10 plug\\n").heads
    ('tap', 'hole; core')
    >>> read_sheet(b"tap;hole\\nM10 plug\\n")
    Table(heads=('tap', 'hole'), rows=(('M10 plug', ''),), lines=(2,), separator=';')
    """
    text, _encoding = decode(content)
    told = SEPARATOR_TOLD.match(text)
    text = text[told.end() :] if told else text
    first = next((row for row in text.splitlines() if row.strip()), "")
    separator = told[1] if told else max(SEPARATORS, key=first.count)
    if first.count(separator):
        found = list(_rows(text, separator))
    else:
        found = [(i, (row.strip().strip('"'),)) for i, row in enumerate(text.splitlines(), 1) if row.strip()]
    if not found:
        return Table((), (), (), separator)
    wide = len(found[0][1])
    rows = tuple(row + ("",) * (wide - len(row)) for _line, row in found[1:])
    return Table(found[0][1], rows, tuple(line + bool(told) for line, _row in found[1:]), separator)


def _rows(text: str, separator: str) -> Iterable[tuple[int, tuple[str, ...]]]:
    source, line = csv.reader(io.StringIO(text, newline=""), delimiter=separator), 1
    for row in source:
        if any(cell.strip() for cell in row):
            yield line, tuple(row)
        line = source.line_num + 1


def decode(data: bytes) -> tuple[str, str]:
    """The text of a file whose encoding nobody wrote down, and the encoding found.

    >>> decode("é".encode("utf-16"))[0], decode("é".encode("cp1252")), decode(b"\\xef\\xbb\\xbfid")[0]
    ('é', ('é', 'cp1252'), 'id')
    """
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        order = "utf-16"
    elif data[1:64:2].count(0) > len(data[1:64:2]) // 2:
        order = "utf-16-le"
    elif data[0:64:2].count(0) > len(data[0:64:2]) // 2:
        order = "utf-16-be"
    else:
        order = "utf-8-sig"
    try:
        return data.decode(order), order
    except UnicodeDecodeError:
        if order.startswith("utf-16"):
            raise ValueError(_("the list is cut off in the middle of a letter; save it again as CSV UTF-8")) from None
        return data.decode("cp1252", errors="replace"), "cp1252"


def text_of(table: Table) -> str:
    """A table as text, in its own separator."""
    out = io.StringIO()
    write = csv.writer(out, delimiter=table.separator, lineterminator="\n")
    write.writerow(table.heads)
    write.writerows(table.rows)
    return out.getvalue()


def bytes_of(file: str | Path) -> bytes:
    """The bytes of a file; ValueError in one sentence where it cannot be read."""
    try:
        return Path(file).read_bytes()
    except OSError as error:
        raise ValueError(_("cannot read {file}: {why}", file=str(file), why=error.strerror)) from None


def write(file: str | Path, text: str) -> None:
    """Write a file whole: beside it first, then in its place; ValueError in one sentence where that cannot be."""
    place, beside = Path(file), ""
    try:
        handle, beside = tempfile.mkstemp(dir=place.parent, prefix=place.name, suffix=".part")
        with os.fdopen(handle, "w", encoding="utf-8-sig", newline="") as out:
            out.write(text)
            out.flush()
            os.fsync(out.fileno())
        if place.exists():
            os.chmod(beside, place.stat().st_mode & 0o777)
        else:
            os.chmod(beside, 0o644)
        os.replace(beside, place)
    except OSError as error:
        if beside:
            Path(beside).unlink(missing_ok=True)
        raise _unwritable(place, error) from None


def rewrite(file: str | Path, changed: Callable[[Table], Table], heads: tuple[str, ...]) -> None:
    """A file with a change made to what it holds now, under a lock that lies beside it, so that nothing is lost where
    two write; a new file begins with `heads`. ValueError in one sentence where it cannot be written."""
    place = Path(file)
    try:
        handle = os.open(place.with_name(place.name + ".lock"), os.O_RDWR | os.O_CREAT, 0o666)
    except OSError as error:
        raise _unwritable(place, error) from None
    try:
        with filelock.locked(handle, timeout=20.0):
            before = read_sheet(bytes_of(place)) if place.exists() else Table((), (), (), ";")
            write(place, text_of(changed(before if before.heads else before._replace(heads=heads))))
    except filelock.StillLocked:
        raise ValueError(_("somebody else is writing to {file}; try again in a moment", file=str(place))) from None
    finally:
        os.close(handle)
        time.sleep(0.01)  # whoever waits looks oftener than that: a program that writes on and on keeps nobody out


def _unwritable(place: Path, error: OSError) -> ValueError:
    told = dict(file=str(place), why=error.strerror)
    return ValueError(_("cannot write {file}: {why}; name a file in a folder you may write in", **told))
