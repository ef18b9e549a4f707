"""How a question looks: style, the words under it, its parts as HTML."""

from __future__ import annotations

from base64 import b64encode
from functools import lru_cache
from html import escape
from typing import Any
from zlib import crc32

from tapkit import setupline
from tapkit.drawing import chipway, style
from tapkit.drawing.sketch import KINDS, picture
from tapkit.exercises.blanks import BlanksAsked, SettingAsked
from tapkit.exercises.exercise import Question, Sketch
from tapkit.exercises.options import ChoiceAsked, OrderAsked
from tapkit.exercises.verdict import CLOSE, RIGHT, Verdict
from tapkit.messages import _, said
from tapkit.operation import Operation
from tapkit.panels.card import round_page
from tapkit.panels.chips import draw as draw_film
from tapkit.panels.look import CHOICES, DARK
from tapkit.panels.panel import paragraph
from tapkit.panels.roundstage import film_told, in_two_ways, photographed

STYLE = f"""{CHOICES}{DARK}
.tapkit-quiz {{color: {style.INK}; font-size: 15px; line-height: 1.45; padding: 10px 14px 12px; overflow: visible;
  border: 1px solid {style.SOFT_INK}; border-left-width: 6px; border-radius: 4px; max-width: 62em;
  box-sizing: border-box}}
.tapkit-quiz .jupyter-widgets {{font-size: inherit; overflow: visible}}
.tapkit-quiz .jupyter-widget-Collapse-header {{color: {style.INK}}}
.tapkit-quiz .widget-html-content {{font-size: inherit; line-height: inherit}}
.tapkit-quiz .widget-html {{height: auto; margin: 0}}
.tapkit-quiz p {{margin: 0 0 6px; max-width: 52em; white-space: pre-line}}
.tapkit-quiz ul, .tapkit-quiz ol {{margin: 4px 0; padding-left: 1.6em}}
.tapkit-quiz .tapkit-head {{font-weight: 600}}
.tapkit-quiz img {{max-width: 100%; height: auto; display: block; margin: 6px 0}}
.tapkit-quiz .tapkit-row {{display: flex; flex-flow: row wrap; gap: 4px 20px; overflow: visible;
  align-items: flex-start}}
.tapkit-quiz .tapkit-row > .tapkit-answer {{flex: 1 1 320px; min-width: 260px; width: auto}}
.tapkit-quiz .tapkit-row > .tapkit-wide {{flex-basis: 100%}}
.tapkit-quiz .tapkit-row > .tapkit-told {{flex: 1 1 260px; max-width: 34em; width: auto}}
.tapkit-quiz .tapkit-gone.tapkit-gone {{display: none}}
.tapkit-quiz .tapkit-answer {{margin: 4px 0; gap: 4px}}
.tapkit-quiz .tapkit-answer .widget-label {{width: auto; max-width: none; height: auto; white-space: normal;
  text-align: left; font-size: inherit; color: inherit; min-width: 5.5em}}
.tapkit-quiz .tapkit-blanks .widget-label {{flex: 0 0 16em; max-width: 50%}}
.tapkit-quiz .tapkit-typing {{display: flex; align-items: center; gap: 8px; width: min(34em, 100%); margin: 2px 0}}
.tapkit-quiz .tapkit-typing input {{flex: 1 1 8em; min-width: 0; padding: 0 8px; box-sizing: border-box}}
.tapkit-quiz .tapkit-answer input[type=text] {{font-size: 17px; height: 2.1em; color: inherit;
  border: 1px solid {style.SOFT_INK}; border-radius: 3px; background: {style.PAPER}}}
.tapkit-quiz .tapkit-keys {{display: flex; flex-wrap: wrap; gap: 8px; padding: 6px 0 8px}}
.tapkit-quiz button {{width: auto; height: auto; font-size: 15px; line-height: 1; padding: 9px 14px; margin: 0;
  color: inherit; background: {style.PAPER}; border: 1px solid {style.SOFT_INK}; border-radius: 4px}}
.tapkit-quiz .tapkit-line button {{font-size: 13px; padding: 4px 9px}}
.tapkit-quiz button.tapkit-first {{background: {style.ACCENT}; color: {style.PAPER}; border-color: {style.ACCENT}}}
.tapkit-quiz button.tapkit-offered {{outline: 2px dashed {style.ACCENT}; outline-offset: 2px}}
.tapkit-quiz button:focus-visible, .tapkit-quiz input:focus-visible, .tapkit-quiz select:focus-visible,
.tapkit-quiz .noUi-handle:focus-visible {{outline: 3px solid {style.ACCENT}; outline-offset: 2px}}
.tapkit-quiz .tapkit-verdict {{border-left: 6px solid {style.SOFT_INK}; padding: 4px 12px; margin: 2px 0;
  max-width: 50em}}
.tapkit-quiz .tapkit-verdict.right {{border-color: {style.ACCENT}}}
.tapkit-quiz .tapkit-verdict.wrong {{border-color: {style.WARN}; border-left-style: double}}
.tapkit-quiz .tapkit-verdict.near {{border-left-style: dashed}}
.tapkit-quiz .tapkit-sign {{font-size: 21px; font-weight: 700; padding-right: 8px; vertical-align: -2px}}
.tapkit-quiz .tapkit-solution {{background: #f2f4f5; padding: 6px 14px; border-radius: 3px}}
.tapkit-quiz .tapkit-small {{color: #4a545e; font-size: 13px}}
.tapkit-quiz .tapkit-rule {{border-bottom: 1px solid {style.FAINT}; height: 1.9em}}
.tapkit-quiz .tapkit-blank {{border-bottom: 1px solid {style.INK}; display: inline-block; min-width: 14em}}
@media print {{.tapkit-quiz .tapkit-keys {{display: none}} .tapkit-quiz {{break-inside: avoid}}}}
"""


def question_html(question: Question, head: Any) -> str:
    """Head and text of a question."""
    above = f'<p class="tapkit-head">{escape(said(head))}</p>' if head else ""
    text = "".join(f"<p>{escape(part)}</p>" for part in question.text.split("\n"))
    return above + text


def asked_html(question: Question) -> str:
    """What stands between question and answer on the screen: things to put in order, requests to meet."""
    if isinstance(question.ask, OrderAsked):
        return lines_html(question.lines)
    if isinstance(question.ask, SettingAsked):
        return "<ul>" + "".join(f"<li>{escape(question.say(r.says))}</li>" for r in question.ask.requests) + "</ul>"
    return ""


def sketch_html(sketch: Sketch | None) -> str:
    """The drawing beside a question, as HTML that carries it along."""
    if sketch is None:
        return ""
    if sketch.name == "film":
        return _film_html(sketch.model, sketch.alt, sketch.system)
    data = b64encode(picture(sketch.name, sketch.model, sketch.system, mask=sketch.mask)).decode()
    width = KINDS[sketch.name].size[0]
    return f'<img width="{width}" alt="{escape(sketch.alt)}" src="data:image/png;base64,{data}">'


@lru_cache(maxsize=8)
def _film_html(job: Operation, alt: str, system: str) -> str:
    """The film of a cut in a frame of its own; on paper, and where scripts are not trusted, its still."""
    size, told = chipway.SIZE, film_told(job)
    still = photographed(draw_film, job, system, size)
    page = round_page(told.pop("tap"), told.pop("title"), alt, still, system, **told, plays=True)
    return in_two_ways(f"tapkit-film-{crc32(page.encode()):x}", still, alt, "", size, page)


def set_up_html(question: Question, *, live: bool = True) -> str:
    """The question's job as a line to copy: one click marks all of it, and where a page is `live` a button copies it.
    To be shown once it can tell no answer: put under a panel, it would compute most of them."""
    if question.draft.job is None:
        return ""
    line = escape(setupline.Line(question.draft.job).said(question.draft.system))
    told = escape(said(_("Its set-up, to copy under any panel:")))
    words = [escape(said(word)) for word in (_("Copy"), _("Copied"))]
    button = f'<button type="button" data-copy="{line}" data-copied="{words[1]}">{words[0]}</button>' if live else ""
    return f'<p class="tapkit-small tapkit-line">{told} <code style="user-select: all">{line}</code> {button}</p>'


def lines_html(lines: tuple[str, ...]) -> str:
    """Options, items or blanks as they stand under the question."""
    return "".join(f"<p>{escape(line)}</p>" for line in lines)


def verdict_html(verdict: Verdict, why: Any = "") -> str:
    """The verdict with its sign and words; the message of a right answer says so itself, and `why` follows it."""
    message = escape(verdict.message)
    if verdict.is_right:
        told = f"<b>{message}</b> {escape(said(why))}"
    else:
        told = f"<b>{escape(said(verdict.heading))}.</b> {message}"
    look = "right" if verdict.kind == RIGHT else "near" if verdict.kind == CLOSE else "wrong" if verdict.counts else ""
    return (
        f'<div class="tapkit-verdict {look}"><span class="tapkit-sign" aria-hidden="true">{verdict.sign}</span>'
        f"{told}</div>"
    )


def hints_html(hints: tuple[str, ...], no_more: bool) -> str:
    """The hints opened so far."""
    if not hints:
        return ""
    more = paragraph(_("There is no further hint. The worked solution helps on.")) if no_more else ""
    return "<ol>" + "".join(f"<li>{escape(h)}</li>" for h in hints) + "</ol>" + more


def solution_html(lines: tuple[str, ...]) -> str:
    """The worked solution, line by line."""
    steps = "".join(f"<p>{escape(line)}</p>" for line in lines)
    title = escape(said(_("Worked solution")))
    return f'<div class="tapkit-solution"><b>{title}</b>{steps}</div>'


def still_html(question: Question, head: Any, mark: str) -> str:
    """The question for a saved, printed or exported notebook; hidden where the live one is shown."""
    has_blanks = isinstance(question.ask, BlanksAsked | SettingAsked)
    label = escape(said(_("Answer")))
    lines = 0 if isinstance(question.ask, ChoiceAsked | OrderAsked) else 4
    blank = '<div class="tapkit-rule">&nbsp;</div>' * lines
    blank += "" if has_blanks else f'<p>{label}: <span class="tapkit-blank">&nbsp;</span></p>'
    return (
        f'<div class="{mark}"><style>{STYLE}</style><div class="tapkit-quiz">{question_html(question, head)}'
        f"{sketch_html(question.sketch)}{lines_html(question.lines)}"
        f'<p class="tapkit-small">{escape(question.how)}</p>{blank}</div></div>'
    )
