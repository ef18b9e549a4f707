"""Files with answers come in: dropped on the desk or found in a shared folder, under any name.

A record carries its learner's name, asked for once at Start here; the name of the file says nothing. What came in
before is never lost: a longer file of the same beginning takes the place of the shorter one, any other stands beside it
and counts only where the instructor says so.
"""

import os
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from tapkit.classroom.evidence import LARGEST, is_whole
from tapkit.classroom.folder import printable, read_untrusted, write_safely
from tapkit.classroom.recordcopy import LATER_MOST
from tapkit.classroom.roster import MAX_BYTES, Roster, numbered_rows, plain_id
from tapkit.classroom.schoolclass import SchoolClass
from tapkit.classroom.seeds import class_code
from tapkit.exercises import bank
from tapkit.exercises.record import BEGIN, Entry, parse_record
from tapkit.messages import Sentence, _, ngettext
from tapkit.spreadsheet import decode

RECORD, LIST, OTHER = "record", "list", "other"
"""Kinds of what comes in."""
MOST_SHARED = 2000
"""Files looked at in a shared folder."""


class Arrived(NamedTuple):
    """What came in: the `file`'s name, its `kind`, the id of its `learner` ("" where nobody in the class has the
    `name` it carries), its number of `answers`, what is said of it, and `others`, names in it that nobody has."""

    file: str
    kind: str
    learner: str
    name: str
    answers: int
    says: Sentence | str
    others: tuple[str, ...] = ()


def looked_at(file: str, data: bytes, roster: Roster) -> Arrived:
    """What a file is and whose; nothing is kept."""
    shown = printable(file)
    if len(data) > LARGEST:
        return Arrived(shown, OTHER, "", "", 0, _("is larger than any record; not taken"))
    if entries := parse_record(data).entries:
        return _record(shown, entries, roster)
    if _is_list(data, file):
        return Arrived(shown, LIST, "", "", 0, _("is a list of answers typed from paper"))
    return Arrived(
        shown, OTHER, "", "", 0, _("holds no answers; the file is called my-answers.jsonl or answers-….jsonl")
    )


def take(made: SchoolClass, file: str, data: bytes, learner: str = "") -> Arrived:
    """Take a file in; `learner` says whose it is where it does not say so itself.

    Raises OSError where it cannot be written; nothing is half-written then.
    """
    seen = looked_at(file, data, made.roster)
    if seen.kind == LIST:
        return _take_list(made, seen, data)
    seen = seen._replace(learner=learner or seen.learner)
    if seen.kind == OTHER or not seen.learner:
        return seen
    return seen._replace(says=_place(made.records / seen.learner / "records", seen, data, class_code(made.seed)))


def take_shared(made: SchoolClass) -> list[Arrived]:
    """Take in the records that learners handed in to the shared folder.

    Anybody may write there, under any name: a list of typed answers is believed only where the instructor drops it.
    """
    place = Path(made.shared) / "records"
    found = []
    for name in sorted(os.listdir(place))[:MOST_SHARED]:
        if name.startswith("."):
            continue
        try:
            data = read_untrusted(place / name, LARGEST)
            seen = looked_at(name, data, made.roster)
            found.append(seen._replace(says=_NOT_FROM_THERE) if seen.kind == LIST else take(made, name, data))
        except ValueError as error:
            found.append(Arrived(printable(name), OTHER, "", "", 0, error.args[0]))
    return found


def with_alias(made: SchoolClass, name: str, learner: str) -> SchoolClass:
    """The class in which a learner also goes by this name."""
    return replace(made, aliases={**made.aliases, plain_id(name): learner}) if plain_id(name) else made


def _record(file: str, entries: tuple[Entry, ...], roster: Roster) -> Arrived:
    names = Counter(entry.learner for entry in entries if entry.learner)
    name = names.most_common(1)[0][0] if names else ""
    one = roster.find(name) if name else None
    count = sum(entry.stage != BEGIN for entry in entries)
    if one is not None:
        says = ngettext("{count} answer of {name}", "{count} answers of {name}", count, name=one.name)
    elif name:
        says = _("{name} is not in the class; say who it is", name=printable(name))
    else:
        says = _("carries no name; say whose it is")
    others = tuple(printable(other) for other in names if other != name and roster.find(other) is None) if one else ()
    return Arrived(file, RECORD, one.id if one else "", printable(name), count, says, others)


def _place(folder: Path, seen: Arrived, data: bytes, code: str) -> Sentence:
    """Put a record beside what is there, never in place of other answers; what was done.

    A whole record goes before a damaged one, whichever came first: a damaged copy takes nothing from its true owner.
    """
    folder.mkdir(parents=True, exist_ok=True)
    names = [f"answers-{seen.learner}{f' ({n})' if n > 1 else ''}.jsonl" for n in range(1, LATER_MOST + 1)]
    there = [(folder / name).read_bytes() if (folder / name).exists() else b"" for name in names]
    main = there[0]
    if main.startswith(data):
        return _("is here already, with all its answers")
    if main and not data.startswith(main) and is_whole(data, code) and not is_whole(main, code):
        if not (free := [at for at, one in enumerate(there) if not one]):
            return _("is one record too many of one learner; not taken")
        write_safely(folder / names[free[0]], main, mode=0o600)
        write_safely(folder / names[0], data, mode=0o600)
        return _("is whole and counts; the damaged record that came before stands beside it")
    if any(one.startswith(data) for one in there):
        return _("is here already, with all its answers")
    at = next((at for at, one in enumerate(there) if data.startswith(one)), None)
    if at is None:
        return _("is one record too many of one learner; not taken")
    write_safely(folder / names[at], data, mode=0o600)
    return _BESIDE if at else ngettext("{count} answer taken in", "{count} answers taken in", seen.answers)


_NOT_FROM_THERE = _("is a list of typed answers; anybody may write there, so drop it on the desk where it is yours")
_BESIDE = _(
    "is a second record under the same name. The first one counts; where the learner worked on two machines, let both "
    "count when you mark"
)


def _is_list(data: bytes, file: str) -> bool:
    try:
        rows = list(numbered_rows(decode(data)[0], file))
    except ValueError:
        return False
    names = {one.name for one in bank.exercises(own=True)}
    return bool(rows) and "id" in rows[0][1] and any(cell in names for cell in rows[0][1]) and len(data) <= MAX_BYTES


def _take_list(made: SchoolClass, seen: Arrived, data: bytes) -> Arrived:
    """Keep a list of typed answers; an older one of the same name stays beside it, unread."""
    place = made.folder.key / "typed"
    place.mkdir(exist_ok=True)
    target = place / f"{plain_id(seen.file.rsplit('.', 1)[0]) or 'answers'}.csv"
    if target.exists() and target.read_bytes() != data:
        os.replace(target, target.with_suffix(".before"))
    write_safely(target, data, mode=made.keeps_modes)
    return seen._replace(says=_("answers typed from paper, taken in"))
