"""Marks as CSV for a gradebook, safe to open in any spreadsheet."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable

from tapkit.classroom.evidence import Problem
from tapkit.classroom.marking import Marks

_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?")
_SIGNS = "=+\\-@＝＋－＠﹦﹢﹣﹫⁼⁺⁻₌₊₋−"
"""What spreadsheets take for the begin of a formula, in every width."""
_STARTS = re.compile(rf"^[\s\"']*[{_SIGNS}]")
_INSIDE = re.compile(rf"([,;|，；｜､、\t]\s*[\"']?\s*)([{_SIGNS}])")


def safe_cell(value: object) -> str:
    """A cell that no spreadsheet takes for a formula: an apostrophe stands before what could be one.

    Also where the spreadsheet parts cells at another sign than we do. Plain numbers stay numbers.
    Source: OWASP, "CSV Injection".

    >>> [safe_cell(cell) for cell in ("=1+1", "-12.5", "-12°", "a;=1", "a;＝1", "6 mm")]
    ["'=1+1", '-12.5', "'-12°", "a;'=1", "a;'＝1", '6 mm']
    """
    text = " ".join("".join(c if c.isprintable() else " " for c in str(value)).split())
    if _NUMBER.fullmatch(text):
        return text
    text = _INSIDE.sub(r"\1'\2", text)
    return f"'{text}" if _STARTS.match(text) else text


def csv_text(rows: Iterable[Iterable[object]]) -> str:
    """Rows as CSV with safe cells, every cell quoted, and the mark by which spreadsheets know UTF-8."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n", quoting=csv.QUOTE_ALL)
    writer.writerows([safe_cell(cell) for cell in row] for row in rows)
    return "\ufeff" + out.getvalue()


def gradebook(marks: Marks) -> str:
    """One row for each learner: points for each exercise, the sum, percent, and how many were tried."""
    heads = ["id", "name", "group", *(e.name for e in marks.exercises), "points", "of", "percent", "tried"]
    rows: list[list[object]] = [heads]
    for one in marks.roster:
        own = marks.results[one.id]
        each = [own[e.name].points if own[e.name].counts else "" for e in marks.exercises]
        points, of = marks.points(one.id), len(marks.exercises)
        tried = sum(r.counts is not None for r in own.values())
        rows.append([one.id, one.name, one.group, *each, points, of, round(100 * points / of), tried])
    return csv_text(rows)


def details(marks: Marks) -> str:
    """One row for each answer: as typed, its verdict, and where it stands."""
    heads = ["id", "name", "exercise", "seed", "answer", "verdict", "mistake", "counts", "hints", "solution seen",
             "time", "file", "line"]  # fmt: skip
    rows: list[list[object]] = [heads]
    for one in marks.roster:
        for result in marks.results[one.id].values():
            for t in result.tries:
                g = t.given
                rows.append(
                    [one.id, one.name, g.exercise, g.seed, g.answer, t.verdict.kind, t.verdict.mistake or "",
                     "yes" if t is result.counts else "", g.hints, "yes" if g.seen else "", g.time, g.file, g.line]
                )  # fmt: skip
    return csv_text(rows)


def problem_list(problems: Iterable[Problem]) -> str:
    """One row for each line that was left out or looked strange."""
    return csv_text(
        [["file", "line", "learner", "what"], *((p.file, p.line or "", p.learner, p.text) for p in problems)]
    )
