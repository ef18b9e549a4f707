"""What the clues of a broken tap look like: one small sketch for each value that can be seen, drawn for this project.

All measures are in shares of the sketch's own box, x from −1 to 1 across and y from 0 (bottom) to 1 (top).
"""

import textwrap
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.chipmarks import draw_chips, scatter
from tapkit.drawing.pen import Box, Pen
from tapkit.messages import _, of_table, said
from tapkit.planning.diagnosis import clue_values

PITCH, OUTER, CORE = 0.1, 0.46, 0.3
"""Pitch, major and core radius of the tap drawn."""
CHAMFER = 4
"""Threads of its chamfer."""


class CluePad:
    """A pen in a box of its own."""

    def __init__(self, pen: Pen, box: Box) -> None:
        self.pen, self.box = pen, box
        self.half = min((box.right - box.left) / 2, (box.top - box.bottom) / 1.15)

    def at(self, points: object) -> np.ndarray:
        """Points (n, 2) on the sheet."""
        p = np.asarray(points, float).reshape(-1, 2)
        tall = self.box.top - self.box.bottom
        across = (self.box.left + self.box.right) / 2 + self.half * p[:, 0]
        return np.column_stack([across, self.box.bottom + tall * p[:, 1]])

    def fill(self, points: object, colour: str, *, z: float = 1.0, kind: str | None = "thin") -> None:
        """A filled shape with its outline."""
        corners = self.at(points)
        self.pen.fill(corners, colour, z=z)
        if kind:
            self.pen.line(corners, kind, closed=True, z=z + 0.05)

    def line(self, points: object, kind: str = "thin", colour: str = style.INK, z: float = 3.0) -> None:
        self.pen.line(self.at(points), kind, colour=colour, z=z)

    def hatch(self, rings: list[object], z: float = 0.8) -> None:
        """Metal in section."""
        self.pen.hatch([self.at(r) for r in rings], 45, 6, colour=style.SOFT_INK, z=z)

    def arrow(self, tip: tuple[float, float], toward: tuple[float, float], colour: str = style.WARN) -> None:
        """An arrow that points at something."""
        self.pen.arrow(self.at(tip)[0], toward, colour=colour, size=1.7)
        back = np.array(tip) - np.array([0.34, 0.3]) * np.array(toward) / np.hypot(*toward)
        self.line([back, tip], "thin", colour, z=4)

    def chips(self, kind: str, count: int, low: tuple[float, float], high: tuple[float, float], size: float) -> None:
        """Chips spread over a rectangle."""
        (left, bottom), (right, top) = self.at([low, high])
        draw_chips(self.pen, scatter(count, Box(left, bottom, right, top)), kind, size=size)


def draw_clue(pen: Pen, clue: str, value: str, box: Box) -> None:
    """The sketch of one value of a clue in a box."""
    SKETCHES[clue, value](CluePad(pen, box))


def draw_clues(pen: Pen, headings: dict[str, object], top: float) -> None:
    """A row of sketches for every clue that can be seen, below a height on the sheet [pt], each with its words."""
    rows = [clue for clue in headings if (clue, clue_values(clue)[0][0]) in SKETCHES]
    tall, wide = top / len(rows), pen.width / max(len(clue_values(clue)) for clue in rows)
    for i, clue in enumerate(rows):
        high = top - i * tall
        pen.text(10, high - 4, headings[clue], va="top", bold=True, colour=style.ACCENT)
        for k, (value, printed) in enumerate(clue_values(clue)):
            left = k * wide
            draw_clue(pen, clue, value, Box(left + 8, high - tall + 40, left + wide - 8, high - 24))
            words = "\n".join(textwrap.wrap(said(of_table(printed)), int(wide / 6.4)))
            pen.text(left + wide / 2, high - tall + 36, words, ha="center", va="top", size=style.SMALL)


# --- the tap ----------------------------------------------------------------------------------------


def _tap(pad: CluePad, point: float, top: float = 1.0, hit: tuple[int, ...] = (), gone: tuple[int, ...] = ()) -> None:
    """A tap from its point up to `top`; teeth `hit` in red, teeth `gone` broken off, both on the left side."""
    pad.fill([(-CORE, point), (CORE, point), (CORE, top), (-CORE, top)], style.STEEL)
    pad.fill([(-0.13, point), (0.13, point), (0.13, top), (-0.13, top)], style.STEEL_DARK, z=1.1)
    for k in range(int((top - point) / PITCH)):
        low, reach = point + k * PITCH, CORE + (OUTER - CORE) * min((k + 1) / CHAMFER, 1.0)
        for side in (-1, 1):
            tooth = [(side * CORE, low), (side * reach, low + 0.3 * PITCH), (side * reach, low + 0.6 * PITCH)]
            tooth.append((side * CORE, low + PITCH))
            if side < 0 and k in gone:
                ends = np.linspace(low, low + PITCH, 5)
                pad.line(np.column_stack([-CORE - 0.02 * np.array([0, 1, 0.2, 1, 0]), ends]), "edge", style.WARN)
            else:
                pad.fill(tooth, style.WARN if side < 0 and k in hit else style.STEEL, z=1.2)


def _hole(pad: CluePad, floor: float = 0.16, half: float = OUTER + 0.02) -> None:
    """A blind hole in section, its top face at 0.72."""
    face, edge = 0.72, 0.8
    part = [(-edge, 0.0), (edge, 0.0), (edge, face), (-edge, face)]
    void = [(-half, face), (-half, floor), (0, floor - 0.08), (half, floor), (half, face)]
    pad.fill(part, style.PART, z=0.4)
    pad.hatch([part, void])
    pad.fill(void, style.PAPER, z=0.9)


def _land(angle: float, colour: str, pad: CluePad) -> None:
    """One land of the end view."""
    turn = np.radians(angle) + np.linspace(-0.5, 0.5, 12)
    outer = np.column_stack([0.74 * np.cos(turn), 0.48 + 0.5 * np.sin(turn)])
    inner = np.column_stack([0.36 * np.cos(turn[::-1]), 0.48 + 0.24 * np.sin(turn[::-1])])
    pad.fill(np.vstack([outer, inner]), colour, z=1.2)


# --- what broke, which teeth ------------------------------------------------------------------------------


def _snapped(pad: CluePad) -> None:
    _hole(pad)
    _tap(pad, 0.22, 0.56)
    break_ = [
        (x, 0.6 + 0.07 * x + y)
        for x, y in zip(np.linspace(-0.36, 0.36, 9), (0, 3, 1, 3, 0, 2, 1, 3, 0) * np.array(0.012))
    ]
    pad.fill([(-0.36, 0.54), *break_, (0.36, 0.54)], style.STEEL_DARK, z=1.6)
    upper = [(x, y + 0.16) for x, y in break_]
    pad.fill([*upper, (0.36, 1.0), (-0.36, 1.0)], style.STEEL, z=1.6)
    pad.arrow((0.44, 0.7), (-1, 0.4))


def _chipped(pad: CluePad) -> None:
    _tap(pad, 0.06, gone=(2, 3))
    pad.arrow((-0.46, 0.36), (1, 0))


def _worn(pad: CluePad) -> None:
    """One cutting edge from the side: the wear land behind it, and where the edge once was."""
    body = [(-0.8, 0.05), (-0.8, 0.9), (0.02, 0.9), (0.2, 0.66), (0.2, 0.36), (0.02, 0.05)]
    pad.fill(body, style.STEEL, kind="edge")
    pad.fill([(0.02, 0.9), (0.2, 0.66), (0.2, 0.5), (-0.1, 0.9)], "#ffffff", z=1.3)
    pad.line([(0.02, 0.9), (0.3, 0.9), (0.2, 0.5)], "hidden", style.WARN)
    pad.arrow((0.17, 0.76), (-1, -0.3))


def _bad_thread(pad: CluePad) -> None:
    _tap(pad, 0.44)
    _wall(pad, 0.36, rough=True)


def _end(pad: CluePad, hit: int) -> None:
    """The end of a tap with three lands, the first few of them `hit`."""
    turn = np.linspace(0, 2 * np.pi, 60)
    pad.fill(np.column_stack([0.38 * np.cos(turn), 0.48 + 0.255 * np.sin(turn)]), style.STEEL)
    for k, angle in enumerate((90, 210, 330)):
        _land(angle, style.WARN if k < hit else style.STEEL, pad)


# --- where, and the chips -----------------------------------------------------------------------------------


def _stands(pad: CluePad, point: float, up: bool = False) -> None:
    _with_chips(pad, point)
    pad.arrow((0.66, 1.0 if up else 0.74), (0, 1 if up else -1))


def _with_chips(pad: CluePad, point: float, *heaps: tuple[str, int, Any, Any, float]) -> None:
    _hole(pad)
    _tap(pad, point)
    for heap in heaps:
        pad.chips(*heap)


def _wound(pad: CluePad) -> None:
    _with_chips(pad, 0.3)
    t = np.linspace(0, 5 * 2 * np.pi, 160)
    pad.line(np.column_stack([0.6 * np.cos(t), 0.78 + 0.18 * t / t[-1] + 0.02 * np.sin(t)]), "edge", style.CHIP, z=4.2)


# --- the thread -------------------------------------------------------------------------------------------


def _wall(pad: CluePad, top: float = 0.86, *, rough: bool = False, wider: float = 0.0, upto: float = 0.0) -> None:
    """A tapped hole in section up to `top`; `wider` at the mouth, threads down to `upto`."""
    edge, inner, outer = 0.8, 0.38, 0.5
    part = [(-edge, 0.0), (edge, 0.0), (edge, top), (-edge, top)]
    pad.fill(part, style.PART, z=0.4)
    many = max(int((top - upto) / 0.09), 1)
    y = top - 0.09 * np.arange(2 * many + 1) / 2
    r = np.where(np.arange(len(y)) % 2, outer, inner) + wider * np.exp(-(top - y) / 0.2)
    if rough:
        y = np.repeat(y, 3)[1:-1]
        r = np.interp(np.arange(len(y)), np.arange(len(r)) * 3 - 1, r)
        r = r + 0.035 * np.sin(7.3 * np.arange(len(r)) + 1)
    y, r = np.append(y, 0.0), np.append(r, inner)
    void = np.vstack([np.column_stack([-r, y]), np.column_stack([r, y])[::-1]])
    pad.hatch([part, void])
    pad.fill(void, style.PAPER, z=0.9, kind="edge")


def _gauged(pad: CluePad, low: float, colour: str, words: object) -> None:
    """A plug gauge that stands in the hole down to `low`."""
    _wall(pad, 0.66)
    pad.fill([(-0.36, low), (0.36, low), (0.36, 0.76), (-0.36, 0.76)], style.STEEL, z=1.4)
    pad.fill([(-0.26, 0.76), (0.26, 0.76), (0.26, 1.0), (-0.26, 1.0)], colour, z=1.4)
    x, y = pad.at([(0.32, 0.9)])[0]
    pad.pen.text(x, y, words, va="center", size=style.SMALL, bold=True, colour=colour)


def _short(pad: CluePad) -> None:
    _wall(pad, upto=0.5)
    pad.line([(-0.6, 0.22), (0.6, 0.22)], "phantom", style.WARN, z=4)
    pad.arrow((0.62, 0.23), (0, -1))


SKETCHES: dict[tuple[str, str], Callable[[CluePad], None]] = {
    ("broke", "snapped"): _snapped,
    ("broke", "chipped"): _chipped,
    ("broke", "worn"): _worn,
    ("broke", "thread"): _bad_thread,
    ("teeth", "one tooth"): partial(_tap, point=0.06, hit=(CHAMFER - 1,)),
    ("teeth", "one flute"): partial(_end, hit=1),
    ("teeth", "first teeth"): partial(_tap, point=0.06, hit=(0, 1)),
    ("teeth", "last teeth"): partial(_tap, point=0.06, hit=(CHAMFER - 2, CHAMFER - 1)),
    ("teeth", "all alike"): partial(_end, hit=3),
    ("where", "start"): partial(_stands, point=0.62),
    ("where", "way in"): partial(_stands, point=0.42),
    ("where", "bottom"): partial(_stands, point=0.17),
    ("where", "way out"): partial(_stands, point=0.3, up=True),
    ("chips", "in the flutes"): lambda pad: _with_chips(pad, 0.22, ("long", 16, (-0.12, 0.3), (0.12, 0.95), 0.9)),
    ("chips", "below"): lambda pad: _with_chips(pad, 0.42, ("long", 26, (-0.36, 0.16), (0.36, 0.4), 0.9)),
    ("chips", "wound"): _wound,
    ("chips", "dust"): lambda pad: _with_chips(
        pad, 0.26, ("short", 26, (-0.8, 0.735), (-0.5, 0.85), 0.9), ("short", 26, (0.5, 0.735), (0.8, 0.85), 0.9)
    ),
    ("chips", "clear"): lambda pad: _with_chips(
        pad, 0.26, ("medium", 4, (-0.78, 0.76), (-0.55, 0.86), 1.2), ("medium", 4, (0.55, 0.76), (0.78, 0.86), 1.2)
    ),
    ("thread", "oversize"): partial(_gauged, low=0.16, colour=style.WARN, words=_("NO-GO")),
    ("thread", "rough"): partial(_wall, rough=True),
    ("thread", "bell-mouthed"): partial(_wall, wider=0.22),
    ("thread", "short"): _short,
    ("thread", "good"): partial(_gauged, low=0.1, colour=style.GOOD, words=_("GO")),
}
"""The sketch of each value of a clue; a sound cannot be drawn."""
