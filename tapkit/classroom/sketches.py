"""The drawing of a question as one line of HTML that needs nothing else: a picture with its words."""

from __future__ import annotations

import io
import re
from base64 import b64encode
from functools import lru_cache

from markupsafe import Markup

from tapkit.drawing.sketch import DPI, KINDS
from tapkit.exercises import bank
from tapkit.exercises.exercise import Question, Sketch
from tapkit.messages import _, said

MM = 25.4 / DPI
"""Millimetres on paper of one CSS pixel."""


def sketch_html(question: Question) -> Markup:
    """The drawing of a question, or its words where it has no picture on paper; empty where there is none."""
    return _picture(question.exercise.name, question.index) if question.sketch else Markup()


@lru_cache(maxsize=512)
def _picture(exercise: str, index: int) -> Markup:
    sketch = bank.exercise(exercise).questions[index].sketch
    if sketch.name not in KINDS:
        return Markup("<p class=words><b>{}</b> {}</p>").format(_("Drawing in words:").said(), said(sketch.alt))
    data = b64encode(svg(sketch)).decode()
    width = f"{KINDS[sketch.name].size[0] * MM:.1f}"
    figure = Markup('<figure><img alt="{}" style="width:{}mm" src="data:image/svg+xml;base64,{}"></figure>')
    return figure.format(said(sketch.alt), width, data)


def svg(sketch: Sketch) -> bytes:
    """The drawing as SVG, the same bytes every time on one machine; letters as outlines, so that no font is needed."""
    import matplotlib

    from tapkit.drawing.sketch import figure_of

    out = io.BytesIO()
    with matplotlib.rc_context({"svg.hashsalt": "tapkit", "svg.fonttype": "path"}):
        figure_of(sketch.name, sketch.model).savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return _short(out.getvalue().decode()).encode()


def _short(text: str) -> str:
    """Coordinates of paths to a hundredth of a point, which no printer shows."""
    return re.sub(r' d="[^"]*"', lambda path: re.sub(r"(\d+\.\d{2})\d+", r"\1", path[0]), text)
