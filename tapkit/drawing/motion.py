"""Chips in motion: the tap turning in its hole, cut open, and its chips leaving, as a picture that moves by itself."""

from __future__ import annotations

from base64 import b64encode
from html import escape

from markupsafe import Markup

from tapkit.drawing import motion_words, style
from tapkit.drawing.motion_scene import Scene
from tapkit.drawing.motion_side import Side
from tapkit.drawing.motion_svg import SvgSheet, element, tag_of
from tapkit.drawing.motion_view import HEIGHT, WIDTH, MotionView
from tapkit.messages import Sentence, said
from tapkit.operation import Operation
from tapkit.pages import page

LARGE = 140_000
"""Longer pictures are written again without what only old browsers need, then drawn simpler."""
EMPTY = "data:image/gif;base64,R0lGODlhAQABAIAAAAAAAP///yH5BAEAAAAALAAAAAABAAEAAAIBRAA7"
"""A picture of one clear pixel."""
FONTS = f"'{style.FONT}',Verdana,sans-serif"


def chips_svg(job: Operation, *, system: str = "metric", seconds: float | None = None, moving: bool = True) -> str:
    """The moving picture as SVG text, under 150 000 bytes; it needs nothing else and no script.

    `system` "metric" or "inch"; `seconds` for one turn on the screen, None for the usual slowing, which hangs on the
    tap's size alone; `moving` False gives the still picture, with arrows on the teeth.
    """
    view = MotionView(job, seconds)
    for lean in range(3):
        picture = _picture(view, system, moving=moving, lean=lean)
        if len(picture) < LARGE:
            break
    return picture


def question_svg(job: Operation, *, system: str = "metric") -> str:
    """The same picture, still and without chips or anything that tells their way: for a prediction, as SVG text."""
    return _picture(MotionView(job), system, moving=False, ask=True)


def _picture(view: MotionView, system: str, *, moving: bool, lean: int = 0, ask: bool = False) -> str:
    sheet = SvgSheet(tag_of(view, system, moving, ask), moving, system)
    scene = Scene(view, sheet, lean, ask)
    side = Side(view, sheet, scene.still, ask)
    body = element("rect", width=WIDTH, height=HEIGHT, fill=style.PAPER) + scene.svg() + side.svg()
    title = motion_words.QUESTION if ask else motion_words.headline(view.job)
    words = motion_words.question(view) if ask else motion_words.describe(view)
    title, words = (escape(sheet.said(part), quote=False) for part in (title, words))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="{sheet.tag}" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" '
        f'height="{HEIGHT}" role="img" aria-labelledby="{sheet.tag}1t {sheet.tag}1d" font-family="{FONTS}">'
        f'<title id="{sheet.tag}1t">{title}</title><desc id="{sheet.tag}1d">{words}</desc>'
        f"<style>{sheet.text()}</style><defs>{scene.defs()}</defs>{body}</svg>"
    )


def describe_motion(job: Operation, seconds: float | None = None) -> Sentence:
    """What the moving picture shows, in two or three sentences; also its description for screen readers."""
    return motion_words.describe(MotionView(job, seconds))


def describe_question(job: Operation) -> Sentence:
    """What the picture without chips shows."""
    return motion_words.question(MotionView(job))


# --- in a page ------------------------------------------------------------------------------------------
#
# Notebook front ends strip style sheets, inline SVG, frames and scripts from saved output they do not trust, but keep
# pictures, `<details>` and plain inline styles. So the moving picture lies as an image over the still one, inside a
# `<details>`: closed, the still picture with its arrows is seen. Where a page asks for less motion and the front end
# keeps `<picture>`, the moving image is an empty one.


def data_uri(svg: str) -> str:
    """A picture as an address that carries it."""
    return f"data:image/svg+xml;base64,{b64encode(svg.encode()).decode()}"


def saved_html(job: Operation, *, system: str = "metric", caption: str = "", mark: str = "") -> str:
    """The moving picture as HTML that needs nothing else, stopped by a press or the keyboard, without script or kernel.

    `caption` is HTML for under it, the description where empty; `mark` a class of the whole figure.
    """
    words = said(describe_motion(job), system)
    still, moving = (data_uri(chips_svg(job, system=system, moving=moves)) for moves in (False, True))
    values = dict(words=words, still=still, moving=moving, caption=Markup(caption), mark=mark, width=WIDTH, empty=EMPTY)
    return page("motion.html", system=system, **values)
