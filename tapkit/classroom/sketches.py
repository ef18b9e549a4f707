"""The drawing of a question as one line of HTML that needs nothing else: a picture with its words."""

import io
import re
from base64 import b64encode
from functools import lru_cache

from markupsafe import Markup

from tapkit.drawing.sketch import DPI, KINDS
from tapkit.exercises.exercise import Exercise, Question, Sketch
from tapkit.messages import _, said

MM = 25.4 / DPI
"""Millimetres on paper of one CSS pixel."""


def printed_sketch(question: Question) -> Markup:
    """The drawing of a question, or its words where it has no picture on paper; empty where there is none."""
    return _picture(question.exercise, question.index) if question.sketch else Markup()


@lru_cache(maxsize=512)
def _picture(exercise: Exercise, index: int) -> Markup:
    sketch = exercise.questions[index].sketch
    if sketch.name not in KINDS:
        return Markup("<p class=words><b>{}</b> {}</p>").format(_("Drawing in words:").said(), said(sketch.alt))
    data = b64encode(svg(sketch)).decode()
    width = f"{KINDS[sketch.name].size[0] * MM:.1f}"
    figure = Markup(
        '<figure><img alt="{}" style="width:{}mm;max-width:100%" src="data:image/svg+xml;base64,{}"></figure>'
    )
    return figure.format(said(sketch.alt), width, data)


def shown_size(name: str) -> tuple[int, int] | None:
    """Width and height of a drawing [CSS pixels]; None for one that paper shows in words."""
    return KINDS[name].size if name in KINDS else None


def svg(sketch: Sketch) -> bytes:
    """The drawing as SVG, the same bytes every time on one machine; letters as outlines, so that no font is needed."""
    import matplotlib

    from tapkit.drawing.sketch import figure_of

    out = io.BytesIO()
    with matplotlib.rc_context({"svg.hashsalt": "tapkit", "svg.fonttype": "path"}):
        figure_of(sketch.name, sketch.model, sketch.system, mask=sketch.mask).savefig(
            out, format="svg", metadata={"Date": None, "Creator": None}
        )
    return _short(_grey(out.getvalue().decode())).encode()


def _grey(text: str) -> str:
    """Colours as the greys of the same lightness: ITU-R BT.709, item 3.2; hatches and marks tell them apart."""

    def grey(found: re.Match[str]) -> str:
        red, green, blue = (int(found[0][at : at + 2], 16) for at in (1, 3, 5))
        return "#" + f"{round(0.2126 * red + 0.7152 * green + 0.0722 * blue):02x}" * 3

    return re.sub(r"#[0-9a-fA-F]{6}\b", grey, text)


def _short(text: str) -> str:
    """Coordinates of paths to a hundredth of a point, which no printer shows."""
    return re.sub(r' d="[^"]*"', lambda path: re.sub(r"(\d+\.\d{2})\d+", r"\1", path[0]), text)
