"""A set-up as one line: the whole of a job in words a machinist reads, to be copied, kept and read again.

    M10x1.5 spiral-point 4 threads, 3 flutes, hook 10°, point −12° | through 8.5 mm x 15 mm | C45, 10 m/min, oil

Tap, hole and metal stand between bars, in this order; behind each, after commas, stands what differs from the usual.
The words are those of the column `line` of the table `parameters`: what prints a line and what reads it are made from
the same rows. The line is a notation, as a thread's designation is, and the same in every language.
"""

import dataclasses
import difflib
import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from tapkit import door, spreadsheet, units
from tapkit.geometry import proportions
from tapkit.geometry.hole import Hole
from tapkit.geometry.tapname import chamfer_length, read_tap_name
from tapkit.geometry.thread import Thread
from tapkit.mechanics.toothload import Faults
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Quantity, _, listed, said
from tapkit.operation import Operation
from tapkit.parameters import Basis, Parameter, job_from, owner_of, parameters

EXAMPLE = "M10x1.5 spiral-point 4 threads, 3 flutes | through 8.5 mm x 15 mm | C45, 10 m/min, oil"
LONGEST = 1000
"""Characters beyond which a text is no set-up line."""

_SEGMENTS = {"tap": ("tap", "faults"), "hole": ("hole",), "job": ("job",)}
_NAMED = ("thread", "form", "chamfer", "kind", "hole", "depth", "work")
"""Keys that the first words between two bars say."""
SHORT, LONG = 5, 8
"""Digits one reads at a glance, so that a number with no more stays in the unit it is shown in; digits beyond which a
number was not written by hand."""
_COMMA = re.compile(r"\s*(?:[;\n]|,(?!\d)|(?<!\d),)\s*")


def is_line(text: str) -> bool:
    """Whether a text is meant as a set-up line: it has a bar."""
    return "|" in text


def values_of(job: Operation) -> dict[str, Any]:
    """Every value of a job by the keys of the table `parameters`; what is None is left out."""
    found = {
        p.key: getattr(owner_of(job, p), p.name) for p in parameters() if p.owner in ("tap", "hole", "faults", "job")
    }
    found |= {"thread": job.tap.thread.designation, "form": job.tap.flute_form, "work": _metal(job.workpiece)}
    return {key: value for key, value in found.items() if value is not None}


# --- printing -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Line:
    """A job that says itself as a set-up line in a system of units, or says why none can name it; one to be read alone,
    not `exact`, has all its lengths in that system, rounded as usual.

    >>> job = Operation.parse("M10x1.5 plug", "through 8.5 mm x 15 mm", "C45")
    >>> Line(job, exact=False).said("inch")
    'M10x1.5 straight-flute 4 threads | through 0.3346 in x 0.5906 in | C45'
    """

    job: Operation
    exact: bool = True

    def said(self, system: str = "metric") -> str:
        try:
            return line(self.job, system, exact=self.exact)
        except ValueError as error:
            return said(error, system)

    __str__ = said


def line(job: Operation, system: str = "metric", *, exact: bool = True) -> str:
    """The set-up line of a job; all that differs from the usual, to twelve digits, in the unit of `system`
    unless it was made in the other. Not `exact`, it is for reading alone: all in that system, rounded.

    Raises ValueError for a job of a thread or a metal of no table, which no line could name.

    >>> job = Operation.parse("M10x1.5 spiral-point plug", "through 8.5 mm x 15 mm", "1045", speed=10)
    >>> line(job.with_(tap=job.tap.with_(radial_rake=12)))
    'M10x1.5 spiral-point 4 threads, hook 12° | through 8.5 mm x 15 mm | C45, 10 m/min'
    """
    tap, hole = job.tap, job.hole
    size, deep = _made((hole.diameter, hole.depth), "length", system, exact)
    heads = {
        "tap": f"{_thread(tap.thread)} {tap.form.name(tap.thread.hand)} {_number(tap.chamfer_threads)} "
        + ("thread" if tap.chamfer_threads == 1 else "threads"),
        "hole": f"{hole.kind} {size} x {deep}",
        "job": _metal(job.workpiece),
    }
    return " | ".join(", ".join([head, *_differing(job, segment, system, exact)]) for segment, head in heads.items())


def _differing(job: Operation, segment: str, system: str, exact: bool) -> Iterator[str]:
    basis = Basis.of_job(job)
    for one in parameters():
        if one.owner not in _SEGMENTS[segment] or one.key in _NAMED or not one.line:
            continue
        value = getattr(owner_of(job, one), one.name)
        if not _alike(value, _usual(one, basis)):
            for each in sorted(value) if isinstance(value, frozenset) else [value]:
                yield _words(one, job, each).format(_value(one, each, system, exact))


def _words(one: Parameter, job: Operation, value: Any) -> str:
    """The printed spelling; a rake along the axis is named for what the flute form makes of it."""
    if one.key in ("flutes", "regrind"):
        return one.line[value == 1]
    if one.key != "axial_rake":
        return one.line[0]
    return one.line[{"point": 1, "helix": 2}.get(job.tap.form.path, 0)]


def _usual(one: Parameter, basis: Basis) -> Any:
    if one.owner == "tap":
        return one.usual(basis)
    return _defaults({"hole": Hole, "faults": Faults, "job": Operation}[one.owner])[one.name]


@cache
def _defaults(of: type) -> dict[str, Any]:
    missing = dataclasses.MISSING
    return {f.name: f.default if f.default_factory is missing else f.default_factory() for f in dataclasses.fields(of)}


def _alike(one: Any, other: Any) -> bool:
    if isinstance(one, float | int) and isinstance(other, float | int):
        return math.isclose(one, other, rel_tol=1e-12, abs_tol=1e-15)
    return one == other


def _number(value: float, digits: int = 12) -> str:
    return f"{value + 0.0:.{digits}g}".replace("-", "−")


def _value(one: Parameter, value: Any, system: str, exact: bool) -> str:
    if one.kind == "lengths":
        return " / ".join(_made(value, "length", system, exact))
    if isinstance(value, str):
        return value
    if one.quantity:
        return _made((value,), one.quantity, system, exact)[0]
    return _number(value) + (" %" if one.unit == "%" else "")


def _made(values: Iterable[float], kind: str, system: str, exact: bool) -> list[str]:
    """Values that stand together in the unit of a system, or all in that of the other where they were made there or a
    mixture is shorter there, so that 8.5 mm x 15 mm stays so and 0.201 in never stands beside millimetres. What the
    other system says comes from the digits of this one, so that a line that is read again says the same."""
    if not exact:
        return [_rounded(value, kind, system) for value in values]
    order = sorted(units.SYSTEMS, key=lambda s: s != system)
    here, there = (units.convert(1.0, kind, s) for s in order)
    own = [float(f"{value * here:.12g}") for value in values]
    printed = [{system: _number(n), order[1]: _number(n / here * there, 10)} for n in own]
    made = _made_in(printed)
    return [units.with_unit(each[made], kind, made) for each in printed]


def _rounded(value: float, kind: str, system: str) -> str:
    """A value in the unit of a system, to no more digits than one reads at a glance."""
    number = _number(units.convert(value, kind, system))
    is_short = len(re.sub(r"\D", "", number).strip("0")) <= SHORT
    return units.with_unit(number, kind, system) if is_short else said(Quantity(value, kind), system)


def _made_in(printed: list[dict[str, str]]) -> str:
    """The system in which values were written by hand: that where the longest of them has the fewest digits, the first
    where none is short."""

    def longest(system: str) -> float:
        digits = [len(re.sub(r"\D", "", each[system]).strip("0")) for each in printed]
        return max(max(d, SHORT) if 0 < d <= LONG else math.inf for d in digits)

    return min(printed[0], key=longest)


def _thread(thread: Thread) -> str:
    if Thread.parse(thread.designation) != thread:
        raise ValueError(
            _("a thread that {name} does not mean cannot stand in a set-up line", name=door.quoted(thread.designation))
        )
    return thread.designation


def _metal(work: Workpiece) -> str:
    for name in (work.name, f"{work.name} source {work.source[:1]}"):
        try:
            if Workpiece.parse(name) == work:
                return name
        except ValueError:
            break
    raise ValueError(_("{metal} is in no table, so it cannot stand in a set-up line", metal=door.quoted(work.name)))


# --- keeping ------------------------------------------------------------------------------------------


def kept(file: str | Path) -> tuple[str, ...]:
    """The set-up lines of a file, the newest first; none where there is no file. ValueError where it cannot be read."""
    if not Path(file).exists():
        return ()
    rows = spreadsheet.read_sheet(spreadsheet.bytes_of(file)).rows
    return tuple(dict.fromkeys(row[0] for row in reversed(rows) if is_line(row[0])))


def keep(file: str | Path, text: str) -> None:
    """Put a set-up line into a file of them, once; ValueError where it cannot be written."""

    def changed(table: spreadsheet.Table) -> spreadsheet.Table:
        rows = tuple(row for row in table.rows if row[0] != text)
        return table._replace(rows=(*rows, (text,)))

    spreadsheet.rewrite(file, changed, ("set-up",))


# --- reading ------------------------------------------------------------------------------------------


def parse(text: str, system: str = "metric") -> Operation:
    """The job of a set-up line; bare numbers are in the unit of `system`.

    Raises ValueError with one sentence: what was read, what is wrong, what would be right.

    >>> job = parse("M10x1.5 spiral-point 4 threads, 3 flutes, hook 10°, point −12° | through 8.5 x 15 | C45, 10 m/min")
    >>> job.speed, job.tap.name, line(job)
    (10.0, 'spiral-point plug', 'M10x1.5 spiral-point 4 threads | through 8.5 mm x 15 mm | C45, 10 m/min')
    """
    return job_from(values(text, system))


def values(text: str, system: str = "metric") -> dict[str, Any]:
    """What a set-up line says, by the keys of the table `parameters`; what it leaves out is left out."""
    if len(text) > LONGEST:
        told = dict(n=len(text), example=door.quoted(EXAMPLE))
        raise ValueError(_("a text of {n} characters is no set-up line; write one like {example}", **told))
    parts = [[item for item in _COMMA.split(part.strip()) if item] for part in door.plain(text).split("|")]
    if not 2 <= len(parts) <= 3 or not all(parts):
        told = dict(text=door.quoted(text), example=door.quoted(EXAMPLE))
        raise ValueError(
            _("cannot read {text} as a set-up: tap, hole and metal stand between bars, like {example}", **told)
        )
    hole = Hole.parse(parts[1][0], system)
    found = tap_values(parts[0][0]) | {"kind": hole.kind, "hole": hole.diameter, "depth": hole.depth}
    found["work"] = _metal(Workpiece.parse(parts[2][0])) if len(parts) == 3 else "C45"
    for part in parts:
        for item in part[1:]:
            _put(found, *_item(item, system))
    return {"chamfer": chamfer_length("plug")} | found


def tap_values(text: str) -> dict[str, Any]:
    """Thread, flute form and chamfer of a tap's name, "M10x1.5 spiral-point 4 threads"."""
    named = read_tap_name(text)
    if named.thread is None:
        raise ValueError(_("{text} names no thread; write it like 'M10x1.5 spiral-point plug'", text=door.quoted(text)))
    threads = chamfer_length(named.chamfer) if isinstance(named.chamfer, str) else named.chamfer
    found = {"thread": named.thread.designation, "form": named.form or "straight"}
    counts = {"chamfer": threads, "flutes": None if named.flutes is None else proportions.whole_flutes(named.flutes)}
    return found | {key: value for key, value in counts.items() if value is not None}


def _put(found: dict[str, Any], one: Parameter, value: Any) -> None:
    """Set a value; a lost tooth joins those lost already, anything else is said once."""
    if one.key == "missing":
        found[one.key] = found.get(one.key, frozenset()) | {value}
    elif one.key in found:
        raise ValueError(_("{what} is said twice in one set-up; say it once", what=door.quoted(one.label)))
    else:
        found[one.key] = value


@cache
def _spellings() -> tuple[tuple[re.Pattern[str], Parameter], ...]:
    """Every spelling and its row, those with most words of their own first."""
    pairs = [(words, one) for one in parameters() for words in one.line]
    pairs.sort(key=lambda pair: -len(pair[0]))
    return tuple(
        (re.compile(re.escape(words).replace(r"\{\}", "(.+)").replace(r"\ ", r"\s*"), re.IGNORECASE), one)
        for words, one in pairs
    )


def _item(text: str, system: str) -> tuple[Parameter, Any]:
    """One thing that differs from the usual: its parameter and its value."""
    for pattern, one in _spellings():
        found = pattern.fullmatch(text)
        if not found:
            continue
        is_bare = pattern.pattern == "(.+)"
        if is_bare and one.quantity and not _is_of(text, one.quantity):
            continue
        try:
            return one, one.read(found[1].strip(), system)
        except ValueError as error:
            if is_bare:
                continue
            raise ValueError(_("{item}: {error}", item=door.quoted(text), error=error.args[0])) from None
    raise _unread(text)


def _unread(text: str) -> ValueError:
    """The error for an item no spelling fits, with the nearest spellings."""
    known = {_letters(words): words for one in parameters() for words in one.line}
    near = difflib.get_close_matches(_letters(text), known, 3, 0.6)
    item = door.quoted(text)
    if near:
        meant = listed([door.quoted(known[n].format("…")) for n in near], "or")
        return ValueError(_("cannot read {item} in a set-up; did you mean {meant}?", item=item, meant=meant))
    return ValueError(
        _(
            "cannot read {item} in a set-up; write what differs from the usual with its name, like {example}",
            item=item,
            example="'hook 10°', 'core 4.2 mm', 'runout 0.03 mm', 'holder float'",
        )
    )


def _letters(text: str) -> str:
    return " ".join(re.sub(r"[^a-z ]", "", text.lower()).split())


def _is_of(text: str, kind: str) -> bool:
    """Whether a text is a number with a unit of a kind of quantity."""
    try:
        unit = door.kind_of_unit(door.read_number(text)[1])
    except ValueError:
        return False
    return unit is not None and unit[0] == kind
