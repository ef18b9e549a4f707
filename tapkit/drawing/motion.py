"""Chips in motion: the tap turning in its hole, cut open, and its chips leaving, as a picture that moves by itself."""

from __future__ import annotations

from html import escape

from tapkit.drawing import motion_words, style
from tapkit.drawing.motion_scene import Scene
from tapkit.drawing.motion_side import Side
from tapkit.drawing.motion_svg import Sheet, element, tag_of
from tapkit.drawing.motion_view import HEIGHT, WIDTH, View
from tapkit.operation import Operation

LARGE = 140_000
"""Longer pictures are written again without what only old browsers need."""
FONTS = f"'{style.FONT}',Verdana,sans-serif"


def chips_svg(job: Operation, *, system: str = "metric", seconds: float | None = None, moving: bool = True) -> str:
    """The moving picture as SVG text, under 150 000 bytes; it needs nothing else and no script.

    `system` "metric" or "inch"; `seconds` for one turn on the screen, None for the usual slowing, which hangs on the
    tap's size alone; `moving` False gives the still picture, with arrows on the teeth.
    """
    view = View(job, seconds)
    full = _picture(view, system, moving=moving)
    return full if len(full) < LARGE else _picture(view, system, moving=moving, lean=True)


def question_svg(job: Operation, *, system: str = "metric") -> str:
    """The same picture, still and without chips or anything that tells their way: for a prediction, as SVG text."""
    return _picture(View(job), system, moving=False, ask=True)


def _picture(view: View, system: str, *, moving: bool, lean: bool = False, ask: bool = False) -> str:
    sheet = Sheet(tag_of(view, system, moving, ask), moving)
    scene = Scene(view, sheet, lean, ask)
    side = Side(view, sheet, system, scene.still, ask)
    body = element("rect", width=WIDTH, height=HEIGHT, fill=style.PAPER) + scene.svg() + side.svg()
    title = "Where will the chips go?" if ask else motion_words.headline(view.job)
    words = motion_words.question(view) if ask else motion_words.describe(view, system)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="{sheet.tag}" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" '
        f'height="{HEIGHT}" role="img" aria-labelledby="{sheet.tag}1t {sheet.tag}1d" font-family="{FONTS}">'
        f'<title id="{sheet.tag}1t">{escape(title, quote=False)}</title>'
        f'<desc id="{sheet.tag}1d">{escape(words, quote=False)}</desc>'
        f"<style>{sheet.text()}</style><defs>{scene.defs()}</defs>{body}</svg>"
    )


def describe_motion(job: Operation, system: str = "metric", seconds: float | None = None) -> str:
    """What the moving picture shows, in two or three sentences; also its description for screen readers."""
    return motion_words.describe(View(job, seconds), system)


def describe_question(job: Operation) -> str:
    """What the picture without chips shows."""
    return motion_words.question(View(job))
