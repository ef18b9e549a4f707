"""The instructor's key as one HTML file: right answers, known mistakes, seeds, and the worked solutions."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import NamedTuple

from tapkit.classroom.roster import Learner
from tapkit.classroom.sheetpage import PAPERS
from tapkit.exercises.blanks import Blanks
from tapkit.exercises.choice import Choice, Order
from tapkit.exercises.exercise import Question
from tapkit.exercises.number import Number

STYLE = """
@page { size: %s; margin: 14mm; @bottom-center { content: "Key · page " counter(page) " of " counter(pages);
  font: 9pt "DejaVu Sans", Verdana, Arial, sans-serif; color: #4d5865 } }
* { box-sizing: border-box }
body { font: 10pt/1.4 "DejaVu Sans", Verdana, Arial, sans-serif; color: #17202b; background: #fff; margin: 0 auto;
  max-width: 186mm }
h1 { font-size: 16pt; margin: 0 0 2mm } h2 { font-size: 12pt; margin: 6mm 0 1mm; break-after: avoid }
h3 { font-size: 10.5pt; margin: 4mm 0 1mm; break-after: avoid }
p { margin: 0 0 1.5mm } .soft { color: #4d5865 }
table { border-collapse: collapse; width: 100%%; margin: 0 0 3mm }
th, td { text-align: left; vertical-align: top; padding: 0.9mm 1.8mm; border-bottom: 0.15mm solid #c9d0d8;
  overflow-wrap: break-word; hyphens: none }
td.wrong { width: 40%% } td.answer { width: 19%% } td.n, th.n { padding-left: 0 }
th { border-bottom: 0.3mm solid #17202b; font-size: 10pt } tr { break-inside: avoid }
td.n, th.n { text-align: right; white-space: nowrap; width: 1%% } td.answer { font-weight: bold }
ol { margin: 0 0 2mm; padding-left: 6mm } article { break-inside: avoid }
@media screen { body { padding: 8mm } }
"""


class Sheet(NamedTuple):
    """One learner's sheet: whose it is, its code, its questions."""

    learner: Learner
    code: str
    questions: tuple[Question, ...]


def key_page(sheets: Iterable[Sheet], *, title: str, seed: str, paper: str = "A4") -> str:
    """The key of a whole class."""
    sheets = list(sheets)
    learners = "\n".join(_learner(one) for one in sheets)
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>Key: {escape(title)}</title>\n'
        f"<style>{STYLE % PAPERS[paper]}</style></head>\n<body><h1>Key: {escape(title)}</h1>"
        f'<p class="soft">For instructors only. Class seed: {escape(seed)}. {len(sheets)} sheets.</p>\n'
        f"{learners}\n<h1>Worked solutions</h1>\n{_solutions(sheets)}\n</body></html>\n"
    )


def _learner(sheet: Sheet) -> str:
    rows = "".join(_row(number, one) for number, one in enumerate(sheet.questions, start=1))
    whose = f"{sheet.learner.id} · sheet {sheet.code}"
    return (
        f'<h2>{escape(sheet.learner.name)} <span class="soft">{escape(whose)}</span></h2>'
        "<table><thead><tr><th class=n>No.</th><th>Exercise</th><th>Right answer</th><th>Known mistakes</th>"
        f"<th class=n>Variant</th><th class=n>Seed</th></tr></thead><tbody>{rows}</tbody></table>"
    )


def _row(number: int, question: Question) -> str:
    together: dict[str, list[str]] = {}
    for value, name in known_mistakes(question):
        together.setdefault(name, []).append(value)
    wrong = (
        "<br>".join(escape(f"{', '.join(values)}: {name.replace('-', ' ')}") for name, values in together.items())
        or "–"
    )
    return (
        f"<tr><td class=n>{number}</td><td>{escape(question.exercise.title)}</td>"
        f'<td class="answer">{escape(question.right_text)}</td><td class="wrong">{wrong}</td>'
        f"<td class=n>{question.index + 1}</td><td class=n>{question.seed}</td></tr>"
    )


def known_mistakes(question: Question) -> list[tuple[str, str]]:
    """What a learner writes and the name of the mistake it comes from, for all that are known."""
    ask = question.ask
    if isinstance(ask, Number):
        return [(ask.text(slip.value / ask.own), slip.name) for slip in ask.mistakes]
    if isinstance(ask, Choice):
        options = [(letter, o.name) for letter, o in zip("ABCDEFGH", ask.options) if not o.is_right]
        return options + [(str(n), r.name) for n, r in enumerate(ask.reasons, start=1) if not r.is_right]
    if isinstance(ask, Order):
        orders = [(", ".join(ask.letters_of(m.texts)), m.name) for m in ask.mistakes]
        return [*orders, (", ".join(ask.letters_of(ask.items[::-1])), "opposite-order")]
    if isinstance(ask, Blanks):
        return [
            (f"{p.label} {p.number.text(s.value / p.number.own)}", s.name) for p in ask.parts for s in p.number.mistakes
        ]
    return []


def _solutions(sheets: list[Sheet]) -> str:
    """Every variant that somebody has, once, with who has it."""
    used: dict[tuple[str, int], tuple[Question, list[str]]] = {}
    for sheet in sheets:
        for one in sheet.questions:
            used.setdefault((one.exercise.name, one.index), (one, []))[1].append(sheet.learner.id)
    order = {name: place for place, name in enumerate(dict.fromkeys(key[0] for key in used))}
    shown = sorted(used.items(), key=lambda item: (order[item[0][0]], item[0][1]))
    return "\n".join(_solution(question, who) for _, (question, who) in shown)


def _solution(question: Question, who: list[str]) -> str:
    steps = "".join(f"<li>{escape(line)}</li>" for line in question.solution)
    lines = "".join(f"<br>{escape(line)}" for line in question.lines)
    return (
        f"<article><h3>{escape(question.exercise.title)}, variant {question.index + 1} "
        f'<span class="soft">{escape(", ".join(who))}</span></h3><p>{escape(question.text)}{lines}</p>'
        f"<ol>{steps}</ol></article>"
    )
