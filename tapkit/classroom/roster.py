"""The roster: who is in the class, read from the CSV file of any spreadsheet.

Spreadsheets write commas, semicolons or tabs, with or without a byte-order mark, in UTF-8, UTF-16 or an old
Windows code page. All are read; what was left out or doubtful is told by line, and the rest is used.
"""

import csv
import io
import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

from tapkit.messages import Sentence, _, listed
from tapkit.spreadsheet import decode

MAX_BYTES = 4_000_000
MAX_LEARNERS = 5_000
MAX_NAME = 120
ID = re.compile(r"[a-z0-9][a-z0-9._-]{0,31}")
"""What an id looks like once it is in plain form: it names folders, files and accounts."""

HEADINGS = {
    "id": "id learner learnerid login loginid user username userid account studentid number matriculation",
    "name": "name fullname learnername student studentname participant",
    "first": "first firstname given givenname forename vorname prenom nombre nome",
    "last": "last lastname surname family familyname nachname nom apellido apellidos cognome sobrenome",
    "row": "nr no pos lfdnr",
    "group": "group class section team course klasse",
}
"""Words at the head of a column, without spaces, accents or case, and what each means."""

_LETTERS = str.maketrans({"ß": "ss", "ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i"})


class Learner(NamedTuple):
    """One learner: `id` in plain form (a-z, 0-9, . _ -), the name as written, the group, the line of the file."""

    id: str
    name: str
    group: str = ""
    line: int = 0


class Note(NamedTuple):
    """Something to know about one line of a file."""

    line: int
    text: Sentence | str

    def __str__(self) -> str:
        return str(_("line {line}: {text}", line=self.line, text=self.text))


@dataclass(frozen=True)
class Roster:
    """The learners in file order, and what was noticed on the way."""

    learners: tuple[Learner, ...]
    notes: tuple[Note, ...] = ()
    aliases: Mapping[str, str] = field(default_factory=dict)
    """Ids by other names, in plain form, that a learner goes by."""

    def __iter__(self) -> Iterator[Learner]:
        return iter(self.learners)

    def __len__(self) -> int:
        return len(self.learners)

    def find(self, wanted: str) -> Learner | None:
        """The learner with this id, other name or whole name in any case, or None. Zeros that a spreadsheet took off a
        number do not matter; nor does which of two names comes first."""
        plain = plain_id(wanted)
        plain = plain if plain in self._by_id else self.aliases.get(plain, plain)
        if plain in self._by_id:
            return self._by_id[plain]
        near = [one for one in self.learners if plain.isdigit() and one.id.lstrip("0") == plain]
        near = near or [one for one in self.learners if plain and _words(one.name) == _words(wanted)]
        return near[0] if len(near) == 1 else None

    def one(self, id: str) -> Learner:
        """The same; ValueError where there is nobody."""
        found = self.find(id)
        if found is None:
            raise ValueError(_("nobody in this class is called {name}", name=id[:40]))
        return found

    @cached_property
    def _by_id(self) -> dict[str, Learner]:
        return {one.id: one for one in self.learners}


def _words(name: str) -> list[str]:
    return sorted(filter(None, re.split(r"[-._]+", plain_id(name))))


_DEVICE = re.compile(r"con|prn|aux|nul|com[0-9]|lpt[0-9]")
"""Names that Windows keeps for devices, with any ending."""


def plain_id(text: str) -> str:
    """An id in plain form: lower case, accents taken off, a hyphen for whatever else stands between; it names a folder
    on every system, Windows too, where some names are taken.

    >>> plain_id("Zoë Müller-Łuk"), plain_id(" A.17 "), plain_id("王"), plain_id("Con")
    ('zoe-muller-luk', 'a.17', '', 'id-con')
    """
    lower = unicodedata.normalize("NFKD", text.casefold().translate(_LETTERS))
    bare = "".join(c for c in lower if not unicodedata.combining(c))
    found = re.sub(r"[^a-z0-9._]+", "-", bare)[:32].strip("-._")
    return f"id-{found}" if _DEVICE.fullmatch(found.split(".")[0]) else found


def read_roster(path: str | Path) -> Roster:
    """The roster in a CSV file.

    Raises ValueError, in one sentence, for a file that is no roster at all; single lines that cannot be used
    are left out and told in `notes`.
    """
    path = Path(path)
    try:
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise ValueError(
            _("cannot read the roster {path}: {why}; give the path of a CSV file", path=path, why=error.strerror)
        ) from None
    return roster_from(data, path.name)


def roster_from(data: bytes, name: str = "roster") -> Roster:
    """The roster in the bytes of a CSV file called `name`."""
    if len(data) > MAX_BYTES:
        raise ValueError(
            _("{name} is larger than {most} MB, which no class list is", name=name, most=MAX_BYTES // 1000000)
        )
    if data[:4] in (b"PK\x03\x04", b"\xd0\xcf\x11\xe0"):
        raise ValueError(_("{name} is a workbook, not a CSV file; open it and save the list as CSV", name=name))
    text, code_page = decode(data)
    rows = list(numbered_rows(text, name))
    if not rows:
        raise ValueError(_("{name} is empty; the first line names the columns, such as id,name", name=name))
    columns, rows = _columns(rows, name)
    notes: list[Note] = []
    if code_page == "cp1252":
        notes.append(Note(1, _("read as a Windows code page; if accents look wrong, save the list as CSV UTF-8")))
    learners = tuple(_learners(rows, columns, notes))
    if not learners:
        why = listed(notes) if notes else _("no rows")
        raise ValueError(_("{name} has no learner below its first line ({why})", name=name, why=why))
    return Roster(learners, tuple(notes))


def numbered_rows(text: str, name: str) -> Iterator[tuple[int, list[str]]]:
    """Rows with the number of the line each starts on; `sep=;` on the first line is obeyed."""
    lines = text.splitlines(keepends=True)
    skipped, separator = 0, None
    if lines and (found := re.fullmatch(r'"?sep=(.)"?', lines[0].strip("\r\n"))):
        skipped, separator = 1, found[1]
    head = next((x for x in lines[skipped:] if x.strip(' ,;\t|\r\n"')), "")
    reader = csv.reader(io.StringIO("".join(lines[skipped:]), newline=""), delimiter=separator or _separator(head),
                        skipinitialspace=True, strict=True)  # fmt: skip
    start = skipped + 1
    try:
        for cells in reader:
            yield start, [_clean(c) for c in cells]
            start = reader.line_num + skipped + 1
            if start > MAX_LEARNERS * 4:
                raise ValueError(
                    _("{name} has more than {most} lines, which no class list has", name=name, most=MAX_LEARNERS * 4)
                )
    except csv.Error:
        raise ValueError(
            _('{name}, line {start}: a quotation mark is not closed; every " needs its partner', name=name, start=start)
        ) from None


def _separator(line: str) -> str:
    """The sign between cells: the most frequent candidate outside quotation marks."""
    outside = re.sub(r'"[^"]*"', "", line)
    return max(";\t,|", key=outside.count) if any(c in outside for c in ";\t,|") else ","


def _clean(cell: str) -> str:
    """A cell on one line, with signs one cannot see taken out."""
    seen = "".join(" " if c in "\r\n\t\u00a0" else c for c in cell if not _hidden(c))
    return " ".join(unicodedata.normalize("NFC", seen).split())


def _hidden(c: str) -> bool:
    return unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co") and c not in "\r\n\t\u200c\u200d"


def _columns(rows: list[tuple[int, list[str]]], name: str) -> tuple[dict[str, int], list[tuple[int, list[str]]]]:
    """Which column holds what, and the rows below the headings."""
    at = next((i for i, (_, cells) in enumerate(rows) if any(cells)), 0)
    meaning = {word: key for key, words in HEADINGS.items() for word in words.split()}
    columns: dict[str, int] = {}
    for number, cell in enumerate(rows[at][1]):
        key = meaning.get(re.sub(r"[^a-z]", "", plain_id(cell)))
        if key:
            columns.setdefault(key, number)
    if "first" in columns and "last" not in columns and "name" in columns:  # "Name;Vorname": the name is the last name
        columns["last"] = columns.pop("name")
    if columns.keys() & {"id", "name", "last"}:
        return columns, rows[at + 1 :]
    if not columns and all(len([c for c in cells if c]) <= 1 for _, cells in rows):
        return {"name": 0}, rows
    found = ", ".join(repr(cell) for cell in rows[at][1][:6])
    raise ValueError(
        _(
            "{name}, line {line}: {found} does not name the columns; write a first line such as id,name or first "
            "name,last name",
            name=name,
            line=rows[at][0],
            found=found,
        )
    )


def _learners(rows: list[tuple[int, list[str]]], columns: dict[str, int], notes: list[Note]) -> Iterator[Learner]:
    """Usable rows as learners; notes grow with the lines left out."""
    seen: dict[str, Learner] = {}
    for line, cells in rows:
        if not any(cells):
            notes.append(Note(line, _("empty row, skipped")))
            continue
        learner, trouble = _learner(line, cells, columns)
        if learner and learner.id in seen and (apart := _by_row(learner, cells, columns)):
            learner = apart
            told = _("{name} stands twice under two numbers; this one signs in as {id}", name=apart.name, id=apart.id)
            notes.append(Note(line, told))
        if learner and learner.id in seen:
            trouble = _twice(learner, seen[learner.id], "id" in columns)
        if trouble or learner is None:
            notes.append(Note(line, trouble))
            continue
        if len(seen) >= MAX_LEARNERS:
            raise ValueError(_("the list has more than {most} learners; split it into classes", most=MAX_LEARNERS))
        seen[learner.id] = learner
        yield learner


def _by_row(learner: Learner, cells: list[str], columns: dict[str, int]) -> Learner | None:
    """A second learner of the same name, told apart by the number before it."""
    number = plain_id(cells[columns["row"]]) if "row" in columns and columns["row"] < len(cells) else ""
    return learner._replace(id=f"{learner.id[:26]}-{number}") if number and "id" not in columns else None


def _learner(line: int, cells: list[str], columns: dict[str, int]) -> tuple[Learner | None, str]:
    """One row as a learner, or what is wrong with it."""
    cell = {key: cells[at] if at < len(cells) else "" for key, at in columns.items()}
    name = cell.get("name") or " ".join(x for x in (cell.get("first"), cell.get("last")) if x)
    given = cell.get("id") or name
    plain = plain_id(given)
    if "id" in columns and not cell["id"]:
        return None, _("{name} has no id, left out; fill in the id column", name=name or _("this row"))
    if len(name) > MAX_NAME:
        return None, _(
            "the name is {count} characters long, left out; shorten it to {most}", count=len(name), most=MAX_NAME
        )
    if not ID.fullmatch(plain):
        return None, _(
            "cannot make an id from {given!r}, left out; add an id of letters a-z and digits", given=given[:40]
        )
    return Learner(plain, name or given, cell.get("group", ""), line), ""


def _twice(learner: Learner, first: Learner, has_id: bool) -> str:
    """What to say when an id stands on two lines."""
    if learner.name == first.name and has_id:
        return _(
            "{name} ({id}) stands already on line {line}, skipped", name=learner.name, id=learner.id, line=first.line
        )
    if has_id:
        return _(
            "{name} has the id {id!r} that {other} has on line {line}, left out; give each learner an id of their own",
            name=learner.name,
            id=learner.id,
            other=first.name,
            line=first.line,
        )
    return _(
        "{name} stands already on line {line}, skipped; if these are two people, add an id "
        "column that tells them apart",
        name=learner.name,
        line=first.line,
    )
