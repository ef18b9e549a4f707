"""Many jobs at once: a table of jobs in, a table of results out, each line's error beside it.

A column is a parameter of the table `parameters`, by its key or label ("chamfer", "Core diameter"), with the unit of
bare numbers in brackets where it is not that of the system ("core [in]"); or `tap` (a name, or a set-up line), `hole`
(a diameter, or "through 8.5 mm x 15 mm") and `work`. What a line leaves empty is usual. All jobs go through
`mechanics.sweep` together; torque at breakage of very many sections alike is taken from a lattice, within 0.1 % of that
of each alone. Where chips jam, the torque to expect has no upper end and the margin no lower one: "inf" and 0, with the
depth beside them.
"""

import csv
import io
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from tapkit import door, parameters, setupline, spreadsheet, units, whatif
from tapkit.geometry.hole import Hole
from tapkit.mechanics import sweep
from tapkit.messages import _, ngettext, said
from tapkit.spreadsheet import Table

TAP = "tap"
EVERY = 500
"""Jobs between two reports of progress."""

_TOLD: Callable[[int, int], None] = lambda done, of: None  # noqa: E731


class Batch(NamedTuple):
    """What came out: `results`, arrays (jobs,), nan where a job cannot be; `jams_at`, depth of the point from which
    chips jam [mm], nan where they do not: there the torque to expect has no upper end, and `results.expected_high` is
    infinite; and the sentence of each job that cannot be in `errors` (else None)."""

    results: sweep.Results
    jams_at: np.ndarray
    errors: tuple[Any, ...]


# --- jobs ---------------------------------------------------------------------------------------------


def results(columns: Mapping[str, Sequence[Any]], system: str = "metric", progress: Any = _TOLD) -> Batch:
    """Results of many jobs from columns of equal length: texts as people write them, or numbers in tapkit's units.

    `progress(done, of)` is called now and then: reading is half of the way, reckoning the other. Raises ValueError for
    a column that is no parameter, or no tap at all.

    >>> found = results({"tap": ["M10 plug", "M10 plug"], "hole": ["through 8.5 x 15"] * 2, "chamfer": [4, 0]})
    >>> found.results.peak_torque.round(1), str(found.errors[1])[:31]
    (array([7.8, nan]), 'a chamfer of 0 threads cannot b')
    """
    readers = [_reader(head, system) for head in columns]
    if not any(r.key in (TAP, "thread") for r in readers):
        raise ValueError(
            _("no column names a tap; call one {name} and write taps or whole set-ups in it", name="'tap'")
        )
    count = max(map(len, columns.values()), default=0)
    jobs, errors = [], []
    for i, cells in enumerate(zip(*columns.values(), strict=True)):
        job, error = _job(readers, cells)
        jobs.append(job)
        errors.append(error)
        if not (i + 1) % EVERY:
            progress(i + 1, 2 * count)
    found = whatif.solve(jobs)
    progress(round(1.8 * count), 2 * count)
    jams = whatif.jam_depths(jobs)
    progress(2 * count, 2 * count)
    jam = ~np.isnan(jams)
    ends = dict(expected_high=np.where(jam, np.inf, found.expected_high), margin_low=np.where(jam, 0, found.margin_low))
    return Batch(found._replace(**ends), jams, tuple(errors))


class Reader(NamedTuple):
    """How a column is read: its parameter's key, the unit of its bare numbers ("" none), the system."""

    key: str
    unit: str
    system: str


def _reader(head: str, system: str) -> Reader:
    found = column_reader(head)
    if found is None:
        raise ValueError(_("there is no parameter {name}", name=door.quoted(head)))
    return found._replace(system=system)


@lru_cache(maxsize=512)
def column_reader(head: str) -> Reader | None:
    """The reader of a column by its heading, None where it is no parameter."""
    name, unit = re.fullmatch(r"\s*(.*?)\s*(?:[\[(]([^\])]*)[\])])?\s*", head).groups("")  # type: ignore[union-attr]
    wanted = door.casefolded(name)
    if wanted in (TAP, "set up", "setup"):
        return Reader(TAP, unit, "metric")
    for spelled in ("key", "name", "label"):
        for one in parameters.parameters():
            if one.owner in ("tap", "hole", "faults", "job") and wanted == door.casefolded(getattr(one, spelled)):
                return Reader(one.key, unit, "metric")
    return None


def _job(readers: Sequence[Reader], cells: Sequence[Any]) -> tuple[Any, Any]:
    """A job, or None and the sentence that says why there is none."""
    values: dict[str, Any] = {}
    try:
        for reader, cell in zip(readers, cells):
            if isinstance(cell, str):
                values.update(read_cell(reader, cell) if cell.strip() else ())
            elif cell is not None:
                values[reader.key] = cell
        if "thread" not in values:
            raise ValueError(_("no tap is named in this line; write one like 'M10x1.5 spiral-point plug'"))
        if "hole" not in values:
            raise ValueError(_("no hole is given in this line; write one like 'through 8.5 mm x 15 mm'"))
        return parameters.job_from(values), None
    except ValueError as error:
        return None, error.args[0]
    except (TypeError, OverflowError) as error:
        return None, str(error)


@lru_cache(maxsize=65536)
def read_cell(reader: Reader, text: str) -> tuple[tuple[str, Any], ...]:
    """What a cell says, by key."""
    if reader.key == TAP:
        whole = setupline.is_line(text)
        return tuple((setupline.values(text, reader.system) if whole else setupline.tap_values(text)).items())
    if reader.key == "hole" and re.search(r"(?i)\b(through|thru|blind)\b", text):
        hole = Hole.parse(text, reader.system)
        return ("kind", hole.kind), ("hole", hole.diameter), ("depth", hole.depth)
    if reader.key in ("thread", "form", "work", "kind"):
        return ((reader.key, text.strip()),)
    one = parameters.find(reader.key)
    try:
        bare = bool(reader.unit) and re.fullmatch(r"[\d\s.,/+−-]+", text.strip()) is not None
        return ((reader.key, one.read(f"{text} {reader.unit}" if bare else text, reader.system)),)
    except ValueError as error:
        raise ValueError(_("{key}: {error}", key=reader.key, error=error.args[0])) from None


# --- tables -------------------------------------------------------------------------------------------


def read_table(content: bytes, name: str = "the table") -> Table:
    """A table of jobs from a file's bytes; see `spreadsheet.read_sheet`. ValueError where it holds none."""
    found = spreadsheet.read_sheet(content)
    if not found.rows:
        raise ValueError(
            _("{file} holds no jobs; write a line of headings such as 'tap;hole', and jobs below", file=name)
        )
    return found


def solve_table(table: Table, system: str = "metric", progress: Any = _TOLD) -> tuple[Batch, tuple[str, ...]]:
    """Results of a table's jobs, and the headings that are no parameters and were passed by."""
    at = [i for i, head in enumerate(table.heads) if column_reader(head)]
    wide = len(table.heads)
    columns = {table.heads[i]: [row[i] for row in table.rows] for i in at}
    found = results(columns, system, progress)
    errors = tuple(
        _("this line has {n} cells, and the heading has {wide}", n=len(row), wide=wide) if len(row) > wide else error
        for row, error in zip(table.rows, found.errors)
    )
    return found._replace(errors=errors), tuple(h for i, h in enumerate(table.heads) if i not in at and h.strip())


def written(table: Table, found: Batch, system: str = "metric") -> str:
    """The table with results and errors beside each line, as text."""
    out = io.StringIO()
    write = csv.writer(out, delimiter=table.separator, lineterminator="\n")
    asked = whatif.quantities("result")
    heads = [f"{q.key} [{q.unit_in(system)}]" if q.unit_in(system) else q.key for q in asked]
    write.writerow([*table.heads, *heads, f"jams_at [{units.unit_label('length', system)}]", "error"])
    columns = [_converted(getattr(found.results, q.name), q.quantity, system) for q in asked]
    columns.append(_converted(found.jams_at, "length", system))
    for row, numbers, error in zip(table.rows, zip(*columns), found.errors):
        shown = ["" if error is not None or n != n else f"{n:.6g}" for n in numbers]
        write.writerow([*row, *shown, "" if error is None else said(error, system)])
    return out.getvalue()


def _converted(values: np.ndarray, kind: str | None, system: str) -> list[float]:
    return (values * units.convert(1.0, kind, system) if kind else values).tolist()


def run(file: str, out: str, system: str = "metric", progress: Any = _TOLD) -> Iterator[Any]:
    """Read a file of jobs and write its results, whole or not at all; sentences on how it went."""
    table = read_table(spreadsheet.bytes_of(file), file)
    found, passed_by = solve_table(table, system, progress)
    spreadsheet.write(out, written(table, found, system))
    if passed_by:
        yield _("passed by, being no parameters: {heads}", heads=", ".join(map(door.quoted, passed_by)))
    wrong = sum(error is not None for error in found.errors)
    yield ngettext(
        "{file}: {count} job, {wrong} of them with an error",
        "{file}: {count} jobs, {wrong} of them with an error",
        len(table.rows), file=out, wrong=wrong,
    )  # fmt: skip
