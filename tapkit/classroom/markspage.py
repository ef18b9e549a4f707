"""The marks of a class as one HTML page: what to teach tomorrow first, then everyone, then every line left out."""

from __future__ import annotations

from html import escape

from tapkit.classroom.marking import Marks, Result, Shared
from tapkit.classroom.roster import Learner
from tapkit.exercises.exercise import Exercise
from tapkit.exercises.verdict import CLOSE, HEADINGS, RIGHT, Verdict

STYLE = """
@page { size: A4; margin: 14mm; @bottom-center { content: "Marks · page " counter(page) " of " counter(pages);
  font: 9pt "DejaVu Sans", Verdana, Arial, sans-serif; color: #4d5865 } }
* { box-sizing: border-box }
html { -webkit-print-color-adjust: exact; print-color-adjust: exact }
body { font: 10.5pt/1.45 "DejaVu Sans", Verdana, Arial, sans-serif; color: #17202b; background: #fff;
  margin: 0 auto; max-width: 240mm }
h1 { font-size: 17pt; margin: 0 0 2mm } h2 { font-size: 13.5pt; margin: 9mm 0 2mm; break-after: avoid }
h3 { font-size: 11.5pt; margin: 5mm 0 1mm; break-after: avoid }
p { margin: 0 0 2mm } .soft { color: #4d5865 }
table { border-collapse: collapse; margin: 0 0 3mm }
th, td { text-align: left; vertical-align: top; padding: 1mm 2mm; border-bottom: 0.15mm solid #c9d0d8;
  overflow-wrap: anywhere }
thead th { border-bottom: 0.3mm solid #17202b; vertical-align: bottom } tr { break-inside: avoid }
thead { display: table-header-group }
.grid td, .grid thead th { text-align: center; padding: 0.9mm 1.4mm }
.grid tbody th { font-weight: normal; white-space: nowrap }
.grid .n { text-align: right } .grid th, .grid td { white-space: nowrap; overflow-wrap: normal }
.right { background: #d9efe4 } .close { background: #fdf0cf } .wrong { background: #f8dcd6 } .none { color: #4d5865 }
.shared { border-left: 1.2mm solid #1f5fa8; padding: 1mm 0 1mm 4mm; margin: 0 0 4mm; break-inside: avoid }
.shared p { margin: 0 0 0.5mm }
.bar { display: inline-block; height: 3mm; background: #1f5fa8; vertical-align: middle; margin-right: 2mm }
table.wide { width: 100%; table-layout: fixed }
.wide th:nth-child(1) { width: 27% } .wide th:nth-child(2) { width: 22% } .each th:nth-child(4) { width: 17mm }
 td.answer { font-family: "DejaVu Sans Mono", Consolas, monospace; font-size: 9.5pt }
@media screen { body { padding: 8mm } }
"""

ACROSS = 24
"""Exercises side by side in one table, so that it fits the paper."""
SHOWN_MOST = 400
"""Problems listed on the page; all of them stand in problems.csv."""


def marks_page(marks: Marks, *, title: str) -> str:
    """The whole page."""
    parts = [_head(marks, title), _tomorrow(marks), _grid(marks), _everyone(marks), _problems(marks)]
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{escape(title)}</title>\n'
        f"<style>{STYLE}</style></head>\n<body>\n" + "\n".join(parts) + "\n</body></html>\n"
    )


def _head(marks: Marks, title: str) -> str:
    said = f"{len(marks.roster)} learners, {len(marks.exercises)} exercises, {marks.answers} answers judged"
    more = f", {marks.elsewhere} answers to other questions (practice) not counted" if marks.elsewhere else ""
    left = f" {len(marks.problems)} lines need a look; they are at the end." if marks.problems else ""
    judged = f"{said}{more}. Every answer was judged again from what was typed.{left}"
    return f'<h1>{escape(title)}</h1><p class="soft">{judged}</p>'


def _tomorrow(marks: Marks) -> str:
    """The shared mistakes, most common first, and the exercises few have right."""
    shared = "".join(_one_shared(one, marks) for one in marks.shared[:12])
    none = "<p>No known mistake was made by more than one learner.</p>"
    return f"<h2>What to teach tomorrow</h2>{shared or none}{_hardest(marks)}"


def _one_shared(one: Shared, marks: Marks) -> str:
    names = {x.id: x.name for x in marks.roster}
    who = ", ".join(names[id] for id in one.learners)
    return (
        f'<div class="shared"><p><b>{len(one.learners)} learners: {escape(one.exercise.title)}</b> '
        f'<span class="soft">lesson {one.exercise.lesson}, {escape(one.exercise.topic)} · {escape(one.name)}</span></p>'
        f'<p>{escape(one.says)}</p><p class="soft">{escape(who)}</p></div>'
    )


def _hardest(marks: Marks) -> str:
    """Share right of each exercise that somebody tried, the lowest first, as bars with their numbers."""
    tried = [e for e in marks.exercises if any(r[e.name].counts for r in marks.results.values())]
    if not tried:
        return ""
    rows = "".join(
        f'<tr><td>{escape(e.title)}</td><td><span class="bar" style="width:{40 * marks.right_share(e):.1f}mm"></span>'
        f"{100 * marks.right_share(e):.0f} %</td></tr>"
        for e in sorted(tried, key=marks.right_share)
    )
    return (
        "<h3>Right, of those who tried</h3><table><thead><tr><th>Exercise</th><th>Share right</th></tr></thead>"
        f"<tbody>{rows}</tbody></table>"
    )


def _grid(marks: Marks) -> str:
    """Learners down, exercises across by number, in blocks that fit the paper, with the list of numbers below."""
    listed = "".join(f"<li>{escape(e.title)} <span class=soft>({escape(e.name)})</span></li>" for e in marks.exercises)
    numbered = list(enumerate(marks.exercises, start=1))
    blocks = [numbered[at : at + ACROSS] for at in range(0, len(numbered), ACROSS)]
    tables = "".join(_block(block, marks) for block in blocks)
    return (
        "<h2>Everyone at a glance</h2><p>✓ right · (✓) right after the worked solution · ≈ close · ✗ not right · "
        f"○ no answer</p>{tables}<ol>{listed}</ol>"
    )


def _block(numbered: list[tuple[int, Exercise]], marks: Marks) -> str:
    heads = "".join(f'<th scope="col">{n}</th>' for n, _ in numbered)
    rows = "".join(_grid_row(one, [e for _, e in numbered], marks) for one in marks.roster)
    return (
        f'<table class="grid"><thead><tr><th></th>{heads}<th class="n">Points</th></tr></thead>'
        f"<tbody>{rows}</tbody></table>"
    )


def _grid_row(learner: Learner, exercises: list[Exercise], marks: Marks) -> str:
    own = marks.results[learner.id]
    cells = "".join(f'<td class="{_class(own[e.name])}">{_sign(own[e.name])}</td>' for e in exercises)
    points = f"{marks.points(learner.id)} of {len(own)}"
    return f'<tr><th scope="row">{escape(learner.name)}</th>{cells}<td class="n">{points}</td></tr>'


def _class(result: Result) -> str:
    if result.counts is None:
        return "none"
    if result.points:
        return "right"
    return "close" if result.verdict.kind == CLOSE or result.note else "wrong"


def _sign(result: Result) -> str:
    return "(✓)" if result.note else result.verdict.sign


def _everyone(marks: Marks) -> str:
    parts = [_learner(one, marks) for one in marks.roster]
    return "<h2>Each learner</h2>" + "".join(parts)


def _learner(learner: Learner, marks: Marks) -> str:
    done = [r for r in marks.results[learner.id].values() if r.tries]
    about = f"{learner.id}, {marks.points(learner.id)} points"
    head = f"<h3>{escape(learner.name)} <span class=soft>{escape(about)}</span></h3>"
    if not done:
        return f"{head}<p>No answers.</p>"
    rows = "".join(_result_row(one) for one in done)
    heads = "".join(f"<th>{h}</th>" for h in ("Exercise", "Answer as typed", "Verdict", "Tries"))
    return f'{head}<table class="wide each"><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>'


def _result_row(result: Result) -> str:
    typed = result.counts.given.answer if result.counts else ""
    return (
        f'<tr><td>{escape(result.exercise.title)}</td><td class="answer">{escape(typed[:120])}</td>'
        f'<td class="{_class(result)}">{_sign(result)} {escape(_words(result.verdict, result.note))}</td>'
        f"<td>{len(result.tries)}</td></tr>"
    )


def _words(verdict: Verdict, note: str) -> str:
    if verdict.kind == RIGHT:
        return note or "right"
    return f"{HEADINGS[verdict.kind]}: {verdict.message}"


def _problems(marks: Marks) -> str:
    if not marks.problems:
        return ""
    rows = "".join(
        f"<tr><td>{escape(p.file)}</td><td>{p.line or ''}</td><td>{escape(p.text)}</td></tr>"
        for p in marks.problems[:SHOWN_MOST]
    )
    more = len(marks.problems) - SHOWN_MOST
    rest = f"<p>{more} more stand in problems.csv.</p>" if more > 0 else ""
    heads = "<thead><tr><th>File</th><th>Line</th><th>What</th></tr></thead>"
    return f'<h2>Lines that need a look</h2><table class="wide">{heads}<tbody>{rows}</tbody></table>{rest}'
