"""Shapes of single chips: a long curl, a short comma, powder."""

from __future__ import annotations

import math

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.motion_svg import element, num
from tapkit.drawing.motion_view import MotionView, kind_of

LIGHT, FAR = "#ecc48d", "#5f4a36"
"""The lit side of a chip, and what lies behind. Few strokes: in software each costs time in every frame."""
VARIANTS = 3
"""Shapes of each kind of chip."""
TURN = 2 * math.pi


def symbols(view: MotionView, name: str) -> str:
    """The drawn chips of a workpiece, `VARIANTS` of them, as elements `name`0, `name`1 …

    Each lies along +x: its tail, which hangs on the tooth, at the origin.
    """
    kind = kind_of(view.job)
    size = view.scale * view.major
    draw = {"long": _curl, "medium": _comma, "short": _powder}[kind.name]
    shapes = (draw(kind.length * size, kind.width * size, i) for i in range(VARIANTS))
    return "".join(element("g", shape, id=f"{name}{i}") for i, shape in enumerate(shapes))


def _curl(length: float, width: float, variant: int) -> str:
    """A long chip: a stub as it left the edge, then a flat band wound like a drawn-out spring."""
    stub, r, loops = 0.12 * length, width / 2, 6 + variant % 2
    step = (length - stub) / loops
    half, front, back = step / 2, [f"M0 0Q{num(0.7 * stub)} 0 {num(stub + 0.2 * step)} {num(r)}"], []
    for i in range(loops):
        x, low = stub + (i + 0.2) * step, r * (1 - 0.13 * math.cos(2.1 * i + 2 * variant))
        front.append(f"M{num(x)} {num(low)}{_bow(half, -2 * low)}")
        back.append(f"M{num(x + half)} {num(-low)}{_bow(half, 2 * low)}" if i < loops - 1 else "")
    band = 0.52 * step
    return _strokes("".join(back), (FAR, 0.75 * band)) + _strokes(
        "".join(front), (style.INK, band + 1.6), (LIGHT, band)
    )


def _bow(right: float, down: float) -> str:
    """Half a winding seen from the side: out level, across, and in level again."""
    return f"c{num(right)} 0 0 {num(down)} {num(right)} {num(down)}"


def _strokes(d: str, *layers: tuple[str, float]) -> str:
    look = dict(d=d, fill="none", stroke_linecap="round", stroke_linejoin="round")
    return "".join(element("path", stroke=colour, stroke_width=round(width, 1), **look) for colour, width in layers)


def _comma(length: float, width: float, variant: int) -> str:
    """A short chip: one bent piece, thick where it broke."""
    a, w = length, width * (1 + 0.2 * variant)
    d = (
        f"M0 0C{num(0.35 * a)} {num(-0.1 * w)} {num(0.8 * a)} {num(-0.15 * w)} {num(a)} {num(-w)}"
        f"C{num(1.2 * a)} {num(-0.05 * w)} {num(0.75 * a)} {num(0.85 * w)} 0 0Z"
    )
    return element("path", d=d, fill=LIGHT, stroke=style.INK, stroke_width=1.2, stroke_linejoin="round")


def _powder(length: float, width: float, variant: int) -> str:
    """Broken bits: a handful of grains and slivers that spread as they fly."""
    rng, out = np.random.default_rng(40 + variant), []
    for i in range(9):
        x = length * (0.05 + 0.95 * (i + float(rng.uniform(0, 0.8))) / 9)
        y = width * float(rng.uniform(-0.5, 0.5)) * (0.3 + x / length)
        turn, size = float(rng.uniform(0, TURN)), float(rng.uniform(0.014, 0.03)) * length / 0.24
        corners = [(0.0, 1.0), (1.9, 0.8), (3.4, 1.3), (4.6, 0.7)]
        points = [(x + r * size * math.cos(a + turn), y + r * size * math.sin(a + turn)) for a, r in corners]
        out.append("M" + "L".join(f"{num(px)} {num(py)}" for px, py in points) + "Z")
    return element("path", d="".join(out), fill=LIGHT, stroke=style.INK, stroke_width=1, stroke_linejoin="round")
