"""A class list as people have it: pasted from anywhere, numbered or not, with headings or without."""

import re

from tapkit.classroom.roster import Note, Roster, numbered_rows, roster_from
from tapkit.messages import _
from tapkit.spreadsheet import decode

_NUMBERED = re.compile(r"(?m)^[ \t]*\d{1,3}[.)]?[ \t]+(?=\D)")
GUESSED = {
    (False, 2): ("last", "first"),
    (True, 2): ("Nr.", "name"),
    (True, 3): ("Nr.", "last", "first"),
    (False, 3): ("last", "first", "group"),
    (True, 4): ("Nr.", "last", "first", "group"),
}
"""Headings of a list that has none, by whether its first column is numbers, and how many columns it has."""


def understood(data: bytes | str, name: str = "list") -> Roster:
    """The roster in what was pasted or loaded; lists without headings are read as last name, first name.

    Raises ValueError in one sentence for what is no list.

    >>> [one.name for one in understood("1. Moor, Kai\\n2. Berg, Uma\\n")]
    ['Kai Moor', 'Uma Berg']
    """
    data = data.encode() if isinstance(data, str) else data
    try:
        roster = roster_from(data, name)
        if not any(re.match(r"\d{1,3}[.)]?\s", one.name) for one in roster):
            return roster
    except ValueError:
        if not _is_plain_list(data, name):
            raise
    bare = _NUMBERED.sub("", decode(data)[0])
    return _guessed(bare, name)


def _is_plain_list(data: bytes, name: str) -> bool:
    """Whether these are rows of equal length, each with a name in it."""
    try:
        text = _NUMBERED.sub("", decode(data)[0])
        rows = [cells for _line, cells in numbered_rows(text, name) if any(cells)]
    except ValueError:
        return False
    lengths = {len(cells) for cells in rows}
    return lengths == {1} or (len(rows) > 1 and len(lengths) == 1 and (_all_numbers(rows), *lengths) in GUESSED)


def _guessed(text: str, name: str) -> Roster:
    rows = [cells for _line, cells in numbered_rows(text, name) if any(cells)]
    heads = GUESSED.get((_all_numbers(rows), len(rows[0])), ("name",))
    roster = roster_from("\n".join(["\t".join(heads), *("\t".join(cells) for cells in rows)]).encode(), name)
    told = _("there are no headings, so the columns were read as {heads}", heads=", ".join(heads))
    notes = tuple(note._replace(line=note.line - 1) for note in roster.notes)
    return Roster(roster.learners, (*notes, Note(1, told)) if len(heads) > 1 else notes)


def _all_numbers(rows: list[list[str]]) -> bool:
    return all(re.fullmatch(r"\d{1,3}[.)]?", cells[0]) for cells in rows if len(cells) > 1) and len(rows[0]) > 1
