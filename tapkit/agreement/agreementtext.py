"""The table of agreement as plain text for a terminal, and as one page of HTML that needs nothing else."""

import shutil
from typing import NamedTuple

from tapkit.agreement.row import GROUPS, KINDS, SIGNS, Row
from tapkit.pages import page

KIND_VERBS = {
    "": "are independent of us",
    "construction": "hold by construction",
    "restated": "restate a source or a library's limits that our tables have too",
}

WHAT, VALUE, RATIO = 72, 20, 8
ONE_LINE = WHAT + 2 * VALUE + RATIO + 40
"""Terminals at least this wide get one line for each value, others two."""


def agreement_text(rows: list[Row], columns: int | None = None) -> str:
    """The whole table; the sources of a group are numbered below it."""
    columns = shutil.get_terminal_size((100, 24)).columns if columns is None else columns
    parts = [_group(heading, [r for r in rows if r.group == name], columns) for name, heading in GROUPS.items()]
    return "\n\n".join([grades_summary(rows), *(p for p in parts if p), grades_summary(rows)])


def grades_summary(rows: list[Row]) -> str:
    """How many rows there are of each grade, those that hold by construction or restate our source counted apart."""
    parts = [f"{len(rows)} values from outside"]
    for kind, verb in KIND_VERBS.items():
        some = [r for r in rows if r.kind == kind]
        if some:
            parts.append(f"{len(some)} {verb} ({'; '.join(_counts(some))})")
    return ", ".join(parts[:1]) + (": " + ", ".join(parts[1:]) if parts[1:] else "") + "."


def _counts(rows: list[Row]) -> list[str]:
    words = {"agrees": "agree", "near": "agree roughly or in part", "unknown": "nobody knows", "differs": "differ"}
    found = ((g, sum(r.grade == g for r in rows)) for g in SIGNS)
    return [f"{SIGNS[g]} {n} {words[g]}" for g, n in found if n or g == "differs"]


def _group(heading: str, rows: list[Row], columns: int) -> str:
    if not rows:
        return ""
    sources = list(dict.fromkeys(told(row) for row in rows))
    lines = [heading, "=" * len(heading), _line(columns, " ", "what", "they say", "we say", "ratio", "verdict")]
    for row in rows:
        says, ours = (printed_with_unit(v, row.unit) for v in (shown(row.says), row.ours_shown))
        verdict = f"{row.verdict} [{sources.index(told(row)) + 1}]"
        what = f"{row.figure}, {row.case}"
        lines.append(_line(columns, SIGNS[row.grade], what, says, ours, ratio_shown(row), verdict))
    return "\n".join([*lines, "", *(f"  [{i}] {s}" for i, s in enumerate(sources, start=1))])


def ratio_shown(row: Row) -> str:
    """Ratio of ours to theirs with four digits, or nothing."""
    return "" if row.ratio is None else f"{row.ratio:#.4g}"


def printed_with_unit(value: str, unit: str) -> str:
    """A value with its unit; a degree sign stands close."""
    return f"{value}{unit}" if unit == "°" else f"{value} {unit}".strip()


def shown(says: str) -> str:
    """A printed value with a true minus and a true dash.

    >>> shown("-12.0"), shown("2-5")
    ('−12.0', '2–5')
    """
    return "−" + says[1:] if says.startswith("-") else says.replace("-", "–") if says[:1].isdigit() else says


def told(row: Row) -> str:
    """Source and assumptions of a row in one sentence, and what kind of row it is."""
    assumed = f" (assumed: {row.assumed})" if row.assumed and row.assumed not in row.verdict else ""
    return row.source + assumed + (f" [{KINDS[row.kind]}]" if row.kind else "")


def _line(columns: int, sign: str, what: str, says: str, ours: str, ratio: str, verdict: str) -> str:
    if columns >= ONE_LINE:
        return f"{sign} {what:<{WHAT}} {says:>{VALUE}} {ours:>{VALUE}} {ratio:>{RATIO}}  {verdict}"
    return f"{sign} {what}\n  {says:>{VALUE}} {ours:>{VALUE}} {ratio:>{RATIO}}  {verdict}"


class Group(NamedTuple):
    """The rows of one group, and the sources they name, each once."""

    name: str
    heading: str
    rows: list[Row]
    sources: list[str]


def as_page(rows: list[Row]) -> str:
    """The whole page."""
    return page(
        "agreement.html",
        groups=[_page_group(name, rows) for name in GROUPS if any(r.group == name for r in rows)],
        summary=grades_summary(rows),
        signs=SIGNS,
        told=told,
        shown=shown,
        with_unit=printed_with_unit,
        ratio_shown=ratio_shown,
    )


def _page_group(name: str, rows: list[Row]) -> Group:
    own = [row for row in rows if row.group == name]
    return Group(name, GROUPS[name], own, list(dict.fromkeys(told(row) for row in own)))
