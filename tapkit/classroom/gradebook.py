"""Marks as CSV for a gradebook, safe to open in any spreadsheet, and as one page."""

import contextlib
import csv
import io
import re
from collections.abc import Iterable

from tapkit.classroom.evidence import Problem
from tapkit.classroom.marking import Marks, hundredths
from tapkit.classroom.roster import Learner
from tapkit.exercises.exercise import Exercise
from tapkit.messages import Number, _
from tapkit.pages import PAGE, PAGES, page

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


SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t"}
"""Signs between cells, by name. With semicolons decimals have commas, as spreadsheets expect that use them."""


def csv_text(rows: Iterable[Iterable[object]], separator: str = "comma") -> str:
    r"""Rows as CSV with safe cells, every cell quoted, and the mark by which spreadsheets know UTF-8.

    >>> csv_text([["a", 0.5]], "semicolon").strip("\ufeff\r\n")
    '"a";"0,5"'
    """
    out = io.StringIO()
    writer = csv.writer(out, delimiter=SEPARATORS[separator], lineterminator="\r\n", quoting=csv.QUOTE_ALL)
    comma = separator == "semicolon"
    for row in rows:
        writer.writerow([safe_cell(str(c).replace(".", ",") if comma and isinstance(c, float) else c) for c in row])
    return "\ufeff" + out.getvalue()


def gradebook(marks: Marks, separator: str = "comma") -> str:
    """One row for each learner: points for each exercise ("?" for an answer that nobody could read yet), the sum,
    percent, and how many were tried."""
    heads = ["id", "name", "group", *(e.name for e in marks.exercises), "points", "of", "percent", "tried"]
    rows: list[list[object]] = [heads]
    for one in marks.roster:
        own = marks.results[one.id]
        each = ["?" if r.is_unread else r.points if r.counts else "" for r in (own[e.name] for e in marks.exercises)]
        points, of = marks.points(one.id), marks.most(one.id)
        tried = sum(r.counts is not None for r in own.values())
        rows.append([one.id, one.name, one.group, *each, points, of, round(100 * points / of) if of else "", tried])
    return csv_text(rows, separator)


def set_points(marks: Marks, name: str) -> str:
    """Points of one set, as `all_sets` reads them again."""
    rows = [[name, one.id, marks.points(one.id), marks.most(one.id)] for one in marks.roster]
    return csv_text([["set", "id", "points", "of"], *rows])


def all_sets(roster: Iterable[Learner], runs: Iterable[str], separator: str = "comma") -> str:
    """One gradebook over all sets: a row for each learner, points of the newest run of each set, and the sum.

    `runs` are texts of `set_points`, the newest last; what is no such text is passed over.
    """
    newest: dict[str, dict[str, tuple[float, float]]] = {}
    for text in runs:
        for row in csv.DictReader(io.StringIO(text.removeprefix("\ufeff"))):
            with contextlib.suppress(KeyError, TypeError, ValueError):
                newest.setdefault(row["set"], {})[row["id"]] = (float(row["points"]), float(row["of"]))
    names = sorted(newest)
    rows: list[list[object]] = [["id", "name", "group", *names, "points", "of"]]
    for one in roster:
        own = [newest[name].get(one.id) for name in names]
        sums = [hundredths(sum(pair[at] for pair in own if pair)) for at in (0, 1)]
        shown = ["" if pair is None else hundredths(pair[0]) for pair in own]
        rows.append([one.id, one.name, one.group, *shown, *sums])
    return csv_text(rows, separator)


def answer_details(marks: Marks, separator: str = "comma") -> str:
    """One row for each answer: as typed, what it means if an instructor said so, its verdict, and where it stands."""
    heads = ["id", "name", "exercise", "seed", "answer", "means", "verdict", "mistake", "counts", "hints",
             "solution seen", "time", "file", "line"]  # fmt: skip
    rows: list[list[object]] = [heads]
    for one in marks.roster:
        for result in marks.results[one.id].values():
            for t in result.tries:
                g = t.given
                rows.append(
                    [one.id, one.name, g.exercise, g.seed, g.answer, g.means, t.verdict.kind, t.verdict.mistake or "",
                     "yes" if t is result.counts else "", g.hints, "yes" if g.seen else "", g.time, g.file, g.line]
                )  # fmt: skip
    return csv_text(rows, separator)


def problem_list(problems: Iterable[Problem], separator: str = "comma") -> str:
    """One row for each line that was left out or looked strange."""
    return csv_text(
        [["file", "line", "learner", "what"], *((p.file, p.line or "", p.learner, p.text) for p in problems)], separator
    )


# --- the page: what to teach tomorrow first, then everyone, then every line left out ----------------------------------

ACROSS = 24
"""Exercises side by side in one table, so that it fits the paper."""
SHOWN_MOST = 400
"""Problems listed on the page; all of them stand in problems.csv."""


def marks_page(marks: Marks, *, title: str) -> str:
    """The whole page."""
    numbered = list(enumerate(marks.exercises, start=1))
    return page(
        "marks.html",
        marks=marks,
        title=title,
        most=SHOWN_MOST,
        shown=lambda points: points if isinstance(points, int) else Number(points, decimals=2),
        foot=_("Marks · page {page} of {pages}", page=PAGE, pages=PAGES),
        names={one.id: one.name for one in marks.roster},
        tried=_tried(marks),
        blocks=[numbered[at : at + ACROSS] for at in range(0, len(numbered), ACROSS)],
        done_by=lambda learner: [r for r in marks.results[learner.id].values() if r.tries],
    )


def _tried(marks: Marks) -> list[tuple[Exercise, float]]:
    """The exercises that somebody tried and the share that is right, the lowest first."""
    tried = [e for e in marks.exercises if any(r[e.name].counts for r in marks.results.values())]
    return sorted(((e, marks.right_share(e)) for e in tried), key=lambda pair: pair[1])
