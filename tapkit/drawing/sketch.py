"""Drawings asked for by name: what exercises and paper sheets show beside a question."""

import importlib
import io
from collections.abc import Callable
from typing import Any, NamedTuple

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from tapkit.drawing import style
from tapkit.drawing.pen import masked
from tapkit.messages import _, listed

DPI = 96
"""Dots in an inch, as browsers count them."""


class SketchKind(NamedTuple):
    """One named drawing: the `module` here with its draw_ and update_ functions, size in CSS pixels, `more` arguments
    for drawing, and what the functions call it where not as the module."""

    module: str
    size: tuple[int, int]
    more: dict[str, Any]
    called: str = ""


KINDS = {
    "tip": SketchKind("tip", (640, 290), {}),
    "toothbars": SketchKind("toothbars", (640, 280), {"show": "area"}),
    "toothforces": SketchKind("toothbars", (640, 280), {"show": "force"}),
    "holeview": SketchKind("holeview", (560, 420), {}),
    "holeplan": SketchKind("holeplanview", (640, 420), {}, "holeplan"),
    "torquechart": SketchKind("torquechart", (640, 300), {}),
    "endview": SketchKind("endview", (420, 400), {}),
    "groove": SketchKind("groove", (560, 360), {}),
    "askew": SketchKind("askewview", (860, 480), {}, "askew"),
    "lean": SketchKind("leanview", (860, 480), {}, "lean"),
}
"""The drawings by name."""


def _function(what: str, name: str) -> Any:
    if name not in KINDS:
        raise ValueError(_("there is no drawing {name}; there are {known}", name=repr(name), known=listed(KINDS)))
    kind = KINDS[name]
    return getattr(importlib.import_module(f"tapkit.drawing.{kind.module}"), f"{what}_{kind.called or kind.module}")


def draw_sketch(figure: Figure, name: str, model: Any, system: str = "metric") -> Any:
    """Draw on an empty figure; returns the artists."""
    return _function("draw", name)(figure.add_axes((0, 0, 1, 1)), model, system=system, **KINDS[name].more)


def update_sketch(artists: Any, name: str, model: Any) -> None:
    """Change a drawing in place."""
    _function("draw", name).update(artists, model)


def describe_sketch(name: str, model: Any, system: str = "metric") -> str:
    """The drawing in words. It may name what an exercise asks: exercises bring words of their own."""
    return _function("describe", name)(model, system=system)


def figure_of(
    name: str, model: Any, system: str = "metric", *, scale: float = 1.0, mask: Callable[[str], str] | None = None
) -> Figure:
    """A figure of its own with the drawing; `mask` changes its texts."""
    width, height = KINDS[name].size
    figure = Figure(figsize=(width / DPI, height / DPI), dpi=DPI * scale, facecolor=style.PAPER)
    FigureCanvasAgg(figure)
    with masked(mask):
        draw_sketch(figure, name, model, system)
    return figure


def picture(
    name: str,
    model: Any,
    system: str = "metric",
    *,
    format: str = "png",
    scale: float = 2.0,
    mask: Callable[[str], str] | None = None,
) -> bytes:
    """The drawing as a PNG or SVG file; `scale` dots of a PNG for each CSS pixel."""
    file = io.BytesIO()
    more = {"pil_kwargs": {"compress_level": 6}} if format == "png" else {"metadata": {"Date": None}}
    figure_of(name, model, system, scale=scale, mask=mask).savefig(file, format=format, dpi=DPI * scale, **more)
    return file.getvalue()
