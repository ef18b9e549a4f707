"""A drawer of taps of one's own: a plain spreadsheet file, one tap a row, shared in a class or a shop folder.

Columns, in any order and separator: name, thread (or `tap`, a whole name such as "M10x1.5 spiral-point plug"), form,
flutes, chamfer, radial rake, axial rake, core, land, point diameter, class, wear factor, with the unit of bare numbers
in brackets; coating, condition, and regrinds: "2026-03-02 0.5 threads, 2026-09-14 0.25 threads", each with the length
of chamfer it took. Other columns are the owner's and stay as they are. What a row leaves empty is usual.

Whoever writes holds a lock, reads the file anew and puts it whole in place, so nothing is lost when two write.
"""

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

from tapkit import batch, door, parameters, spreadsheet
from tapkit.geometry.tap import Tap
from tapkit.mechanics import gauges
from tapkit.mechanics.toothload import Faults, reground
from tapkit.messages import Sentence, _
from tapkit.spreadsheet import Table

OWN = ("name", "coating", "condition", "regrinds")
"""Columns that are no parameters."""
HEADS = ("name", "thread", "form", "flutes", "chamfer", "radial rake", "axial rake", "core", "land", "class", *OWN[1:])
"""Headings of a new drawer."""
_REGRIND = re.compile(r"(\d{4}-\d\d-\d\d)(?:[\s:]+([\d.,/]+)\s*(?:threads?)?)?", re.IGNORECASE)


class Regrind(NamedTuple):
    """A regrind: its date and the threads of chamfer it took."""

    date: datetime.date
    shorter: float


@dataclass(frozen=True, kw_only=True)
class OwnTap:
    """One tap of the drawer: its `name`, the `tap` as it was new, its `values` by key of the table `parameters` (wear,
    class, chamfer lost in regrinds among them), and what its owner wrote of it."""

    name: str
    tap: Tap
    values: Mapping[str, Any]
    coating: str = ""
    condition: str = ""
    regrinds: tuple[Regrind, ...] = ()

    @property
    def now(self) -> Tap:
        """The tap as it is after its regrinds."""
        return reground(self.tap, Faults(regrind_shorter=self.values.get("regrind", 0.0)))


class Contents(NamedTuple):
    """What a drawer holds: `taps` by name, and `problems`, a sentence for each row that cannot be read."""

    taps: dict[str, OwnTap]
    problems: tuple[Sentence, ...]


# --- reading ------------------------------------------------------------------------------------------


def contents(file: str | Path, system: str = "metric") -> Contents:
    """The taps of a drawer; bad rows become sentences with line and column, the good ones stay usable.

    A file that is not there yet is an empty drawer. Raises ValueError where it cannot be read at all.
    """
    if not Path(file).exists():
        return Contents({}, ())
    return taps_of(spreadsheet.read_sheet(spreadsheet.bytes_of(file)), system)


def taps_of(table: Table, system: str = "metric") -> Contents:
    """The taps of a table."""
    taps: dict[str, OwnTap] = {}
    problems: list[Sentence] = []
    for line, row in zip(table.lines, table.rows):
        try:
            if len(row) > len(table.heads):
                raise ValueError(_("there are {n} cells under {heads} headings", n=len(row), heads=len(table.heads)))
            one = own_tap(dict(zip(table.heads, row)), system)
            if one.name in taps:
                raise ValueError(_("column 'name': there is a {name} above already", name=door.quoted(one.name)))
            taps[one.name] = one
        except ValueError as error:
            problems.append(_("line {line}: {error}", line=line, error=error.args[0]))
    return Contents(taps, tuple(problems))


def own_tap(cells: Mapping[str, str], system: str = "metric") -> OwnTap:
    """The tap of one row, by its cells under their headings; ValueError names the column that cannot be read."""
    own, values = dict.fromkeys(OWN, ""), {}
    for head, cell in cells.items():
        if (name := head.strip().lower()) in OWN:
            own[name] = cell.strip()
        elif cell.strip():
            values |= _values(head, cell, system)
    if not own["name"]:
        raise ValueError(_("column 'name': the tap has no name; write one of its own, like 'A7'"))
    if "thread" not in values:
        raise ValueError(_("column 'thread': no thread is named; write it like M10x1.5"))
    regrinds = _regrinds(own.pop("regrinds"))
    if regrinds:
        values["regrind"] = values.get("regrind", 0.0) + sum(one.shorter for one in regrinds)
    tap = parameters.tap_from(values)
    reground(tap, Faults(regrind_shorter=values.get("regrind", 0.0)))
    if values.get("tap_class"):
        gauges.tap_class(tap.thread, values["tap_class"])
    return OwnTap(tap=tap, values=values, regrinds=regrinds, **own)


def _values(head: str, cell: str, system: str) -> dict[str, Any]:
    reader = batch.column_reader("tap_class" if head.strip().lower() == "class" else head)
    if reader is None:
        return {}
    try:
        found = dict(batch.read_cell(reader._replace(system=system), cell))
        if reader.key == "thread":
            parameters.tap_from(found)
        if reader.key == "form":
            found["form"] = batch.read_cell(reader._replace(key=batch.TAP), f"M10 {cell}")[1][1]
    except ValueError as error:
        raise ValueError(_("column {head}: {error}", head=door.quoted(head), error=error.args[0])) from None
    return found


def _regrinds(text: str) -> tuple[Regrind, ...]:
    found = []
    for part in filter(None, (p.strip() for p in re.split(r"[,;](?!\d)|(?<!\d)[,;]|\n|\s/\s", text))):
        told = _REGRIND.fullmatch(part)
        try:
            date = datetime.date.fromisoformat(told[1] if told else part)
        except ValueError:
            raise ValueError(
                _(
                    "column 'regrinds': cannot read {text}; write the day and the threads of chamfer taken, like "
                    "'2026-03-02 0.5 threads'",
                    text=door.quoted(part),
                )
            ) from None
        found.append(Regrind(date, door.read_number(told[2])[0] if told and told[2] else 0.0))
    return tuple(sorted(found))


# --- writing ------------------------------------------------------------------------------------------


def put(file: str | Path, cells: Mapping[str, str], system: str = "metric") -> OwnTap:
    """Put a tap in the drawer, in place of the one of its name where there is one; everything else stays as it is.

    `cells` are texts by heading. Raises ValueError, and writes nothing, for a tap that cannot be read.
    """
    one = own_tap(cells, system)

    def changed(table: Table) -> Table:
        new = [head for head in cells if door.casefolded(head) not in map(door.casefolded, table.heads)]
        heads = (*table.heads, *new)
        mine = {door.casefolded(head): cell for head, cell in cells.items()}
        rows = [row + ("",) * (len(heads) - len(row)) for row in table.rows]
        at = next((i for i, row in enumerate(rows) if _name(heads, row) == one.name), None)
        before = rows[at] if at is not None else ("",) * len(heads)
        row = tuple(mine.get(door.casefolded(head), cell) for head, cell in zip(heads, before)) + before[len(heads) :]
        rows[len(rows) if at is None else at : len(rows) if at is None else at + 1] = [row]
        return table._replace(heads=heads, rows=tuple(rows))

    spreadsheet.rewrite(file, changed, HEADS)
    return one


def take_out(file: str | Path, name: str) -> None:
    """Take a tap out of the drawer; ValueError where there is none of that name."""

    def changed(table: Table) -> Table:
        rows = tuple(row for row in table.rows if _name(table.heads, row) != name)
        if len(rows) == len(table.rows):
            raise ValueError(_("there is no tap {name} in the drawer", name=door.quoted(name)))
        return table._replace(rows=rows)

    spreadsheet.rewrite(file, changed, HEADS)


def _name(heads: tuple[str, ...], row: tuple[str, ...]) -> str:
    return next((cell.strip() for head, cell in zip(heads, row) if door.casefolded(head) == "name"), "")
