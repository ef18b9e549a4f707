"""The drawing of a question as one line of HTML that needs nothing else: a picture with its words."""

from __future__ import annotations

import importlib
import io
import re
from base64 import b64encode
from collections.abc import Callable
from functools import lru_cache
from html import escape
from typing import Any

from tapkit.exercises import bank
from tapkit.exercises.exercise import Question, Sketch

SIZE = (5.9, 3.1)
"""Width and height on the paper [in]; letters come out at the sizes of the drawing's own style."""


def sketch_html(question: Question) -> str:
    """The drawing of a question, or its words where it has no picture on paper; empty where there is none."""
    return _picture(question.exercise.name, question.index) if question.sketch else ""


@lru_cache(maxsize=512)
def _picture(exercise: str, index: int) -> str:
    sketch = bank.exercise(exercise).questions[index].sketch
    alt = escape(sketch.alt)
    if drawing(sketch.name) is None:
        return f'<p class="words"><b>Drawing in words:</b> {alt}</p>'
    data = b64encode(svg(sketch)).decode()
    return f'<figure><img alt="{alt}" src="data:image/svg+xml;base64,{data}"></figure>'


def svg(sketch: Sketch, size: tuple[float, float] = SIZE) -> bytes:
    """The drawing as SVG, the same bytes every time on one machine."""
    import matplotlib
    from matplotlib.figure import Figure

    draw = drawing(sketch.name)
    figure = Figure(figsize=size)
    draw(figure.add_axes((0, 0, 1, 1)), sketch.model)
    out = io.BytesIO()
    with matplotlib.rc_context({"svg.hashsalt": "tapkit", "svg.fonttype": "path"}):
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return _short(out.getvalue().decode()).encode()


def drawing(name: str) -> Callable[[Any, Any], Any] | None:
    """The function that draws a sketch of this name on axes: `draw_NAME` of `tapkit.drawing.NAME`; None for none.

    A model that is a pair is what is drawn, and what of it is shown.
    """
    try:
        module = importlib.import_module(f"tapkit.drawing.{name}")
    except ModuleNotFoundError:
        return None
    draw = getattr(module, f"draw_{name}", None)
    if draw is None:
        return None
    return lambda axes, model: draw(axes, model[0], show=model[1]) if isinstance(model, tuple) else draw(axes, model)


def _short(text: str) -> str:
    """Coordinates of paths to a hundredth of a point, which no printer shows."""
    return re.sub(r' d="[^"]*"', lambda path: re.sub(r"(\d+\.\d{2})\d+", r"\1", path[0]), text)
