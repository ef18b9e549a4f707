"""How a question looks: style, the words under it, its parts as HTML."""

from base64 import b64encode
from collections.abc import Sequence
from functools import lru_cache
from typing import Any
from zlib import crc32

from markupsafe import Markup

from tapkit import setupline
from tapkit.drawing import chipway, style
from tapkit.drawing.sketch import KINDS, picture
from tapkit.exercises.blanks import BlanksAsked, SettingAsked
from tapkit.exercises.exercise import Question, Sketch
from tapkit.exercises.options import ChoiceAsked, OrderAsked
from tapkit.exercises.verdict import CLOSE, RIGHT, Verdict
from tapkit.messages import _
from tapkit.operation import Operation
from tapkit.panels.card import round_page
from tapkit.panels.chips import draw as draw_film
from tapkit.panels.look import CHOICES, DARK
from tapkit.panels.markup import joined, paragraph, points, tag
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
.tapkit-quiz :is(button, input, select):focus-visible {{outline: 3px solid {style.ACCENT}; outline-offset: 2px}}
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


def question_html(question: Question, head: Any) -> Markup:
    """Head and text of a question."""
    above = paragraph(head, look="tapkit-head") if head else Markup()
    return above + lines_html(question.text.split("\n"))


def asked_html(question: Question) -> Markup:
    """What stands between question and answer on the screen: things to put in order, requests to meet."""
    if isinstance(question.ask, OrderAsked):
        return lines_html(question.lines)
    if isinstance(question.ask, SettingAsked):
        return points(question.say(r.says) for r in question.ask.requests)
    return Markup()


def sketch_html(sketch: Sketch | None) -> Markup:
    """The drawing beside a question, as HTML that carries it along."""
    if sketch is None:
        return Markup()
    if sketch.name == "film":
        return Markup(_film_html(sketch.model, sketch.alt, sketch.system))
    data = b64encode(picture(sketch.name, sketch.model, sketch.system, mask=sketch.mask)).decode()
    width = KINDS[sketch.name].size[0]
    return tag("img", width=width, alt=sketch.alt, src=f"data:image/png;base64,{data}")


@lru_cache(maxsize=8)
def _film_html(job: Operation, alt: str, system: str) -> str:
    """The film of a cut in a frame of its own; on paper, and where scripts are not trusted, its still."""
    size, told = chipway.SIZE, film_told(job)
    still = photographed(draw_film, job, system, size)
    page = round_page(told.pop("tap"), told.pop("title"), alt, still, system, **told, plays=True)
    return in_two_ways(f"tapkit-film-{crc32(page.encode()):x}", still, alt, "", size, page)


def set_up_html(question: Question, *, live: bool = True) -> Markup:
    """The question's job as a line to copy: one click marks all of it, and where a page is `live` a button copies it.
    To be shown once it can tell no answer: put under a panel, it would compute most of them."""
    if question.draft.job is None:
        return Markup()
    line = setupline.Line(question.draft.job).said(question.draft.system)
    key = tag("button", _("Copy"), type="button", data_copy=line, data_copied=_("Copied")) if live else ""
    told, code = _("Its set-up, to copy under any panel:"), tag("code", line, style="user-select: all")
    return tag("p", told, " ", code, " ", key, class_="tapkit-small tapkit-line")


def lines_html(lines: Sequence[str]) -> Markup:
    """Options, items or blanks as they stand under the question."""
    return joined(map(paragraph, lines))


def verdict_html(verdict: Verdict, why: Any = "") -> Markup:
    """The verdict with its sign and words; the message of a right answer says so itself, and `why` follows it."""
    if verdict.is_right:
        told = (tag("b", verdict.message), " ", why)
    else:
        told = (tag("b", verdict.heading, "."), " ", verdict.message)
    look = "right" if verdict.kind == RIGHT else "near" if verdict.kind == CLOSE else "wrong" if verdict.counts else ""
    sign = tag("span", verdict.sign, class_="tapkit-sign", aria_hidden="true")
    return tag("div", sign, *told, class_=f"tapkit-verdict {look}")


def hints_html(hints: tuple[str, ...], no_more: bool) -> Markup:
    """The hints opened so far."""
    more = paragraph(_("There is no further hint. The worked solution helps on.")) if no_more else Markup()
    return points(hints, name="ol") + more if hints else Markup()


def solution_html(lines: tuple[str, ...]) -> Markup:
    """The worked solution, line by line."""
    return tag("div", tag("b", _("Worked solution")), lines_html(lines), class_="tapkit-solution")


def still_html(question: Question, head: Any, mark: str) -> Markup:
    """The question for a saved, printed or exported notebook; hidden where the live one is shown."""
    has_blanks = isinstance(question.ask, BlanksAsked | SettingAsked)
    lines = 0 if isinstance(question.ask, ChoiceAsked | OrderAsked) else 4
    parts = [
        question_html(question, head),
        sketch_html(question.sketch),
        lines_html(question.lines),
        paragraph(question.how, look="tapkit-small"),
        *[tag("div", "\xa0", class_="tapkit-rule")] * lines,
        "" if has_blanks else tag("p", _("Answer"), ": ", tag("span", "\xa0", class_="tapkit-blank")),
    ]
    return tag("div", tag("style", Markup(STYLE)), tag("div", *parts, class_="tapkit-quiz"), class_=mark)
