"""A learner's sheet as one HTML file that prints cleanly: questions, drawings, room to work and to answer."""

from __future__ import annotations

from html import escape

from tapkit.classroom.roster import Learner
from tapkit.classroom.sketches import sketch_html
from tapkit.exercises.blanks import Blanks, Setting
from tapkit.exercises.choice import Choice, Order
from tapkit.exercises.exercise import Question
from tapkit.exercises.number import Number

PAPERS = {"A4": "210mm 297mm", "Letter": "8.5in 11in"}

STYLE = """
@page { size: %s; margin: 16mm 16mm 18mm; @bottom-center { content: "%s · page " counter(page) " of " counter(pages);
  font: 9pt "DejaVu Sans", Verdana, Arial, sans-serif; color: #4d5865 } }
* { box-sizing: border-box }
html { -webkit-print-color-adjust: exact; print-color-adjust: exact }
body { font: 11pt/1.45 "DejaVu Sans", Verdana, Arial, sans-serif; color: #17202b; background: #fff;
  margin: 0 auto; max-width: 178mm }
header { border-bottom: 0.6mm solid #17202b; padding-bottom: 2.5mm; margin-bottom: 5mm }
header h1 { font-size: 17pt; line-height: 1.2; margin: 0 0 1.5mm }
header p { margin: 0; display: flex; justify-content: space-between; gap: 6mm; flex-wrap: wrap }
section { break-inside: avoid; margin: 0 0 6mm; padding-bottom: 4mm; border-bottom: 0.15mm solid #c9d0d8 }
section:last-of-type { border-bottom: 0 }
h2 { font-size: 12pt; margin: 0 0 1.5mm; break-after: avoid }
p { margin: 0 0 2mm }
figure { margin: 2mm 0 } figure img { display: block; max-width: 100%% }
ul { list-style: none; margin: 0 0 2mm; padding: 0 } li { margin: 0 0 0.8mm; padding-left: 8mm; text-indent: -6mm }
.lines { display: flex; gap: 8mm } .lines ul + ul { flex: 1 }
li.word { padding-left: 0; text-indent: 0; font-style: italic; margin-top: 0 }
.how { color: #4d5865; font-size: 10pt }
.work { height: 19mm; border: 0.15mm solid #c9d0d8; margin: 2mm 0 3mm; background-size: 5mm 5mm;
  background-image: radial-gradient(#aab4be 0.18mm, transparent 0.22mm) }
.answer { display: flex; flex-wrap: wrap; gap: 3mm 8mm; align-items: flex-end; margin: 0 }
.answer span { display: inline-flex; gap: 2.5mm; align-items: flex-end; white-space: nowrap }
.answer i { display: inline-block; border-bottom: 0.3mm solid #17202b; height: 8mm; min-width: 34mm }
.answer i.box { border: 0.3mm solid #17202b; min-width: 10mm; width: 10mm; height: 9mm }
.answer i.long { min-width: 110mm }
.words { border-left: 0.6mm solid #c9d0d8; padding-left: 3mm }
footer { font-size: 9pt; color: #4d5865 }
@media screen { body { padding: 8mm } }
"""

CARE = (
    "These numbers teach; they do not set a machine. At the machine follow its manual, the rules of your shop, local "
    "regulations and your instructor."
)


def sheet_page(learner: Learner, questions: tuple[Question, ...], *, title: str, code: str, paper: str = "A4") -> str:
    """One learner's sheet. `code` tells the sheet apart without telling its seed; `paper` is A4 or Letter."""
    running = _css_text(f"{learner.name} · {title}")
    body = "\n".join(_question(number, one) for number, one in enumerate(questions, start=1))
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{escape(title)}: {escape(learner.name)}'
        f"</title>\n<style>{STYLE % (PAPERS[paper], running)}</style></head>\n<body>\n<header><h1>{escape(title)}</h1>"
        f"<p><b>{escape(learner.name)}</b><span>{escape(_group(learner))}</span><span>Sheet {escape(code)}</span>"
        f"<span>Date ______________</span></p></header>\n{body}\n<footer>{escape(CARE)}</footer>\n</body></html>\n"
    )


def _group(learner: Learner) -> str:
    return f"{learner.group} · {learner.id}" if learner.group else learner.id


def _css_text(text: str) -> str:
    """Text safe inside a quoted CSS string inside a style element."""
    return "".join(c if c.isalnum() or c in " ·.,-" else f"\\{ord(c):x} " for c in text)


def _question(number: int, question: Question) -> str:
    text = "".join(f"<p>{escape(line)}</p>" for line in question.text.splitlines() if line.strip())
    return (
        f"<section><h2>{number}. {escape(question.exercise.title)}</h2>{text}{sketch_html(question)}"
        f'{_lines(question)}<p class="how">{escape(_how(question))}</p>{_space(question)}</section>'
    )


def _how(question: Question) -> str:
    if isinstance(question.ask, Setting):
        return "Write a value in every blank so that all requests are met."
    return question.how


def _lines(question: Question) -> str:
    """Options, with the reasons beside them; items; requests."""
    if isinstance(question.ask, Blanks) or not question.lines:
        return ""
    lines = list(question.lines)
    cut = lines.index("because") if "because" in lines else len(lines)
    columns = [lines[:cut], lines[cut:]] if cut < len(lines) else [lines]
    return f'<div class="lines">{"".join(_list(one) for one in columns)}</div>'


def _list(lines: list[str]) -> str:
    shown = (f"<li{' class=word' if x == 'because' else ''}>{escape(x)}</li>" for x in lines)
    return f"<ul>{''.join(shown)}</ul>"


def _space(question: Question) -> str:
    """Room to work and a place for the answer, by the kind of answer."""
    ask = question.ask
    if isinstance(ask, Number):
        return f'<div class="work"></div>{_answer(("Answer", ask.unit, ""))}'
    if isinstance(ask, Blanks):
        parts = [(p.label, p.number.unit, "") for p in ask.parts]
        return f'<div class="work"></div>{_answer(*parts)}'
    if isinstance(ask, Choice):
        reason = [("because", "", "box")] if ask.reasons else []
        return _answer(("Answer", "", "box"), *reason)
    if isinstance(ask, Order):
        return _answer(("Answer", "", "box"), *[("", "", "box")] * (len(ask.lines) - 1))
    if isinstance(ask, Setting):
        return ""
    return _answer(("Answer", "", "long"))


def _answer(*places: tuple[str, str, str]) -> str:
    shown = (f'<span>{escape(a)} <i class="{c}"></i> {escape(unit)}</span>' for a, unit, c in places)
    return f'<p class="answer">{"".join(shown)}</p>'
