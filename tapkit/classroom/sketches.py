"""The drawing of a question as one line of HTML that needs nothing else: a picture with its words."""

from __future__ import annotations

import io
import re
from base64 import b64encode
from functools import lru_cache
from html import escape

from tapkit.drawing.sketch import DPI, KINDS
from tapkit.exercises import bank
from tapkit.exercises.exercise import Question, Sketch

MM = 25.4 / DPI
"""Millimetres on paper of one CSS pixel."""


def sketch_html(question: Question) -> str:
    """The drawing of a question, or its words where it has no picture on paper; empty where there is none."""
    return _picture(question.exercise.name, question.index) if question.sketch else ""


@lru_cache(maxsize=512)
def _picture(exercise: str, index: int) -> str:
    sketch = bank.exercise(exercise).questions[index].sketch
    alt = escape(sketch.alt)
    if sketch.name not in KINDS:
        return f'<p class="words"><b>Drawing in words:</b> {alt}</p>'
    data = b64encode(svg(sketch)).decode()
    width = KINDS[sketch.name].size[0] * MM
    return f'<figure><img alt="{alt}" style="width:{width:.1f}mm" src="data:image/svg+xml;base64,{data}"></figure>'


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
