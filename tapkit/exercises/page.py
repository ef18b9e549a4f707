"""The learner's own page as HTML that needs nothing else and prints on A4 and Letter."""

from __future__ import annotations

from datetime import UTC, datetime
from html import escape

from tapkit.exercises.bank import MODULES
from tapkit.exercises.progress import Progress, Standing

STATES = {"sure": ("●", "sure"), "begun": ("◐", "begun"), "new": ("○", "not begun")}
"""Sign and word for each state; the sign stands for those who do not see colour."""

STYLE = """
.tapkit-page {font: 15px/1.5 "DejaVu Sans", Verdana, Arial, sans-serif; color: #1a1f24; max-width: 56em}
.tapkit-page h2 {font-size: 22px; margin: 0 0 .3em}
.tapkit-page h3 {font-size: 17px; margin: 1.3em 0 .3em; border-bottom: 1px solid #6b7680}
.tapkit-page table {border-collapse: collapse; margin: .3em 0; font-size: inherit}
.tapkit-page th, .tapkit-page td {text-align: left !important; vertical-align: top; padding: .25em .9em .25em 0}
.tapkit-page td.number, .tapkit-page th.number {text-align: right !important; font-variant-numeric: tabular-nums}
.tapkit-page table {table-layout: fixed; width: 100%}
.tapkit-page td:nth-child(n+2), .tapkit-page th:nth-child(n+2) {white-space: nowrap; width: 13%;
  box-sizing: border-box}
.tapkit-page ul {margin: .2em 0; padding-left: 1.3em}
.tapkit-page li {margin: .25em 0}
.tapkit-page .note {border-left: 5px solid #9a6700; padding: .2em .8em; margin: .6em 0}
.tapkit-page .small {color: #4a545e; font-size: 13px}
@media print {.tapkit-page {font-size: 10pt; line-height: 1.3; max-width: none}
  .tapkit-page section {break-inside: avoid}
  .tapkit-page th, .tapkit-page td {padding: .1em .9em .1em 0} .tapkit-page h3 {margin-top: .7em; break-after: avoid}}
@page {margin: 14mm 16mm}
"""


def fragment(progress: Progress, *, name: str = "", when: datetime | None = None) -> str:
    """The page as a piece of HTML for a notebook."""
    when = when or datetime.now(UTC)
    who = f" of {escape(name)}" if name else ""
    note = f'<p class="note"><b>Note:</b> {escape(progress.note)}</p>' if progress.note else ""
    return (
        f'<style>{STYLE}</style><div class="tapkit-page"><h2>My page{who}</h2>'
        f'<p class="small">{when:%Y-%m-%d}. Counted from the answers in your record.</p>{note}'
        f"{_summary(progress)}{_next(progress)}{_mistakes(progress)}{_all(progress)}</div>"
    )


def document(progress: Progress, *, name: str = "", when: datetime | None = None) -> str:
    """The page as a whole file."""
    body = fragment(progress, name=name, when=when)
    head = '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>My page</title></head>'
    return f"{head}<body>{body}</body></html>\n"


def _summary(progress: Progress) -> str:
    total, sure = len(progress.standings), progress.count("sure")
    if not progress.answers:
        return "<p>Nothing answered yet. Begin with any exercise of lesson 1.</p>"
    begun = progress.count("begun")
    return (
        f"<p>{progress.answers} answer{'s' if progress.answers > 1 else ''} so far. Of {total} exercises <b>{sure}</b> "
        f"{'is' if sure == 1 else 'are'} sure and <b>{begun}</b> {'is' if begun == 1 else 'are'} begun.</p>"
    )


def _next(progress: Progress) -> str:
    if not progress.suggestions:
        return "<h3>What to try next</h3><p>Nothing is due today. Come back tomorrow.</p>"
    lines = "".join(
        f"<li><b>{escape(s.exercise.title)}</b> (lesson {s.exercise.lesson}, <code>{s.exercise.name}</code>). "
        f"{escape(s.why)}</li>"
        for s in progress.suggestions
    )
    return f"<h3>What to try next</h3><ul>{lines}</ul>"


def _mistakes(progress: Progress) -> str:
    if not progress.recurring:
        return "<h3>Mistakes that come back</h3><p>None.</p>"
    lines = "".join(
        f"<li><b>{escape(m.name.replace('-', ' '))}</b>, {m.times} times. {escape(m.message)}</li>"
        for m in progress.recurring[:8]
    )
    return f"<h3>Mistakes that come back</h3><ul>{lines}</ul>"


def _all(progress: Progress) -> str:
    head = (
        "<tr><th scope='col'>Exercise</th><th scope='col'>State</th><th scope='col' class='number'>Questions</th>"
        "<th scope='col' class='number'>Right</th><th scope='col'>Last</th></tr>"
    )
    parts = []
    for lesson in MODULES:
        mine = [s for s in progress.standings if s.exercise.lesson == lesson]
        rows = "".join(map(_row, mine))
        sure = sum(s.state == "sure" for s in mine)
        title = f"Lesson {lesson}: {sure} of {len(mine)} sure"
        parts.append(f"<section><h3>{title}</h3><table>{head}{rows}</table></section>")
    return "".join(parts)


def _lesson(title: str, table: str, is_begun: bool) -> str:
    """A lesson's exercises; those of a lesson not begun are folded, so that the page of a newcomer is short."""
    if is_begun:
        return f"<h3>{title}</h3>{table}"
    return f"<details><summary><b>{title}</b></summary>{table}</details>"


def _row(standing: Standing) -> str:
    sign, word = STATES[standing.state]
    last = f"{standing.last:%Y-%m-%d}" if standing.last else ""
    return (
        f"<tr><td>{escape(standing.exercise.title)}</td><td>{sign} {word}</td>"
        f"<td class='number'>{standing.questions or ''}</td><td class='number'>{standing.right or ''}</td>"
        f"<td>{last}</td></tr>"
    )
