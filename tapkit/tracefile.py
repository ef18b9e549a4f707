"""Traces from files as machines and wrenches write them: any separator, decimal comma, lines before the headings, a row
of units, more columns than two; along depth or time, in torque, % or A."""

import re
from collections.abc import Sequence

import numpy as np

from tapkit import door, spreadsheet
from tapkit.measured import LEAST_READINGS, Trace
from tapkit.messages import _

LOADS = ("%", "a", "amp", "amps")
"""Units of a load that needs a scale."""
PREAMBLE = 60
"""Lines among which the headings are looked for."""


def trace_sheet(content: bytes) -> spreadsheet.Table:
    """The table of a log's bytes: what stands before the headings is left out, and a row of units below them is taken
    into them; lines keep their numbers.

    >>> log = "spindle log\\ndepth;torque\\nmm;N·m\\n0;0\\n1;2\\n2;3\\n".encode()
    >>> trace_sheet(log).heads
    ('depth [mm]', 'torque [N·m]')
    """
    lines = list(map(_parted, spreadsheet.decode(content)[0].splitlines()))
    for i, line in enumerate(lines[:PREAMBLE]):
        heads, above = _cells(line), _cells(next((one for one in reversed(lines[:i]) if one.strip()), ""))
        if len(above) == len(heads) > 1 and all(map(_is_unit, filter(None, heads))) and any(heads):
            heads = [f"{head} [{unit.strip('[]() ')}]" if unit else head for head, unit in zip(above, heads)]
        if {"length", "time"} & (kinds := {_kind(_unit(head)) for head in heads}) and {"torque", "load"} & kinds:
            between = _separator(line)
            text = "\n".join([*[""] * i, between.join(head.replace(",", " ") for head in heads), *lines[i + 1 :]])
            return spreadsheet.read_sheet(text.encode())
    return spreadsheet.read_sheet("\n".join(lines).encode())


def _parted(line: str) -> str:
    """A line with semicolons where its cells are parted by bars or spaces; one of other separators as it is."""
    if "|" in line:
        return re.sub(r"\s*\|\s*", ";", line.strip(" |"))
    if re.search(r"[;\t]|,\s", line):
        return line
    if re.fullmatch(r"[-+−\d.,eE\s]+", line):
        return re.sub(r"\s+", ";", line.strip())
    return line if "," in line else re.sub(r"\s{2,}|(?<=[])])\s+", ";", line.strip())


def _separator(line: str) -> str:
    return next((one for one in spreadsheet.SEPARATORS if one in line), ";")


def _cells(line: str) -> list[str]:
    return [cell.strip().strip('"') for cell in line.split(_separator(line))]


def _is_unit(text: str) -> bool:
    word = text.strip("[]() ")
    return word.lower() in LOADS or door.kind_of_unit(word) is not None


def traces_of(
    table: spreadsheet.Table, name: str, *, feed: float | None = None, scale: float | None = None
) -> tuple[Trace, ...]:
    """The traces of a table: a column of depth or time, one of torque, %, or A, units behind the headings:
    "depth [mm]; torque [N·m]", "time [s]; load [%]"; a column "hole" tells hole from hole, others are passed by.

    `feed` [mm/s] turns time into depth, `scale` [N·m] is one % or one A. Raises ValueError in one sentence with line
    and column.
    """
    if len(table.heads) < 2 or len(table.rows) < LEAST_READINGS:
        raise ValueError(
            _(
                "{file} holds no trace; write two columns under headings like 'depth [mm]; torque [N·m]', at least "
                "{least} readings",
                file=name,
                least=LEAST_READINGS,
            )
        )
    at = next((i for i, head in enumerate(table.heads) if head.strip().lower() in ("hole", "no", "no.")), None)
    along, across = _columns_of(table.heads, [i for i in range(len(table.heads)) if i != at])
    factors = {along: _along(table.heads[along], feed), across: _across(table.heads[across], scale)}
    columns = [
        [_number(row[i], line, table.heads[i]) * factor for line, row in zip(table.lines, table.rows)]
        for i, factor in factors.items()
    ]
    holes = [row[at].strip() if at is not None else "" for row in table.rows]
    depth, values = np.array(columns)
    found = []
    for hole in dict.fromkeys(holes):
        rows = np.flatnonzero([one == hole for one in holes])
        rows = rows[np.argsort(depth[rows], kind="stable")]
        found.append(Trace(depth[rows], values[rows]))
    return tuple(found)


def _columns_of(heads: Sequence[str], among: Sequence[int]) -> list[int]:
    """The columns of depth (or else time) and of load, by their units; the first two where the units do not tell."""
    kinds = {i: _kind(_unit(heads[i])) for i in among}
    along = [i for kind in ("length", "time") for i in among if kinds[i] == kind]
    across = [i for kind in ("torque", "load") for i in among if kinds[i] == kind]
    return [along[0], across[0]] if along and across else list(among[:2])


def _kind(unit: str) -> str:
    """The kind of a unit: "length", "time", "torque", "load" for % and A, or "" for another."""
    if unit.lower() in LOADS:
        return "load"
    for kind in ("length", "time", "torque") if unit else ():
        try:
            door.read(f"1 {unit}", kind)
            return kind
        except ValueError:
            pass
    return ""


def _unit(head: str) -> str:
    """The unit in brackets behind a heading, or its last word where that is one."""
    inside = head.replace("(", "[").replace(")", "]").partition("[")[2]
    last = head.replace(",", " ").split()[-1:]
    unit = inside.partition("]")[0].strip() or "".join(
        word for word in last if len(head) > len(word) and _is_unit(word)
    )
    pounds = re.fullmatch(r"(ft|in)[\s·*.-]*lbs?f?", unit, re.I)
    return f"{pounds[1].lower()}·lbf" if pounds else unit


def _along(head: str, feed: float | None) -> float:
    """How many mm one unit of the first column is."""
    unit = _unit(head)
    if not unit:
        raise ValueError(_("{head} bears no unit; write it like 'depth [mm]' or 'time [s]'", head=door.quoted(head)))
    if _kind(unit) == "time":
        if not feed:
            raise ValueError(_("a trace along time needs the feed: spindle speed times pitch"))
        return door.read(f"1 {unit}", "time") * feed
    return door.read(f"1 {unit}", "length")


def _across(head: str, scale: float | None) -> float:
    """How many N·m one unit of the second column is."""
    unit = _unit(head)
    if unit.lower() in LOADS:
        if not scale:
            raise ValueError(_("{head} needs a scale: how many N·m one {unit} is", head=door.quoted(head), unit=unit))
        return scale
    if not unit:
        raise ValueError(_("{head} bears no unit; write it like 'torque [N·m]' or 'load [%]'", head=door.quoted(head)))
    return door.read(f"1 {unit}", "torque")


def _number(text: str, line: int, head: str) -> float:
    try:
        value, rest = door.read_number(text)
        if rest or not np.isfinite(value):
            raise ValueError
    except ValueError:
        told = dict(line=line, head=door.quoted(head), text=door.quoted(text))
        raise ValueError(_("line {line}, column {head}: {text} is not a plain number", **told)) from None
    return value
