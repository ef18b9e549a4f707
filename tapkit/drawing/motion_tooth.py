"""One chamfer tooth, its cutting face straight toward the viewer, with the chip's direction by both rules."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from tapkit.drawing import motion_shapes, style
from tapkit.drawing.motion_svg import SvgSheet, element, num, path, text
from tapkit.drawing.motion_view import MotionView
from tapkit.messages import _

THREADS = 2.2
"""Height of the picture in pitches."""
ARROW = 112
"""Length of a chip's arrow [px]."""
LEAVING = 0.45
"""Turns in which a chip grows and leaves here, again and again."""


@dataclass(frozen=True)
class Tooth:
    """The picture of one tooth in the box (left, top, width, height) [px], centred on the height of its cut;
    `ask` leaves the arrows out."""

    view: MotionView
    sheet: SvgSheet
    box: tuple[float, float, float, float]
    ask: bool = False

    @cached_property
    def at(self) -> tuple[int, int, float, float]:
        """Number and flute of the tooth shown, radius and height of its slice [mm]: a middle tooth of flute 1."""
        s = self.view.job.slices
        own = np.flatnonzero((s.flute == 1) & (s.area > 0))
        own = own if len(own) else np.flatnonzero(s.area > 0)
        k = int(own[len(own) // 2])
        return int(s.number[k]), int(s.flute[k]), float(s.radius[k]), float(s.position[k])

    def spots(self, radius, height) -> np.ndarray:
        """Places in the picture [px], as at φ = 0."""
        left, top, wide, high = self.box
        scale, (_, _, r, z) = high / (THREADS * self.view.pitch), self.at
        x = left + wide * (0.74 if self.view.hand > 0 else 0.26)
        right = x + self.view.hand * scale * (np.asarray(radius, float) - r)
        right, down = np.broadcast_arrays(right, top + high / 2 - scale * (np.asarray(height, float) - z))
        return np.column_stack([right.ravel(), down.ravel()])

    def svg(self) -> str:
        """The picture in its frame."""
        left, top, wide, high = self.box
        tag, spot = self.sheet.tag, dict(x=left, y=top, width=wide, height=high)
        profile, face = self._outlines()
        window = element("clipPath", element("rect", rx=6, **spot), id=f"{tag}i")
        inside = (
            element("rect", fill=f"url(#{tag}m)", **spot)
            + element("path", d=path(face, True), fill=style.STEEL_FACE)
            + element("path", d=path(profile), fill="none", stroke=style.INK, stroke_width=2.2, stroke_linejoin="round")
            + ("" if self.ask else self._arrows())
            + self._ends()
        )
        rim = element("rect", rx=6, fill="none", stroke=style.SOFT_INK, **spot)
        return element("defs", window) + element("g", inside, clip_path=f"url(#{tag}i)") + rim

    def _outlines(self) -> tuple[np.ndarray, np.ndarray]:
        """The edge with its teeth, and the face inside of it."""
        _, flute, r, z = self.at
        heights = z + np.linspace(-0.6, 0.6, 161) * THREADS * self.view.pitch
        heights = heights[heights >= 0]
        profile = _bends(self.spots(self.view.solid.land(flute - 1, 0.0, heights)[1], heights))
        return profile, np.vstack([profile, self.spots(r - 8 * self.view.pitch, heights[[-1, 0]])])

    def _arrows(self) -> str:
        """The chip's direction by both rules, the line square to the axis, and a chip that goes."""
        job, (_, _, r, z) = self.view.job, self.at
        start = self.spots(r, z)[0]
        level = start + np.array([-self.view.hand * 1.25 * ARROW, 0])
        square = element(
            "path", d=path([start, level]), stroke=style.SOFT_INK, stroke_width=1.1, stroke_dasharray="12 3 2 3"
        )
        other = self._arrow(start, job.chip_flow_colwell.vector, "chip-colwell", style.SOFT_INK, "6 4")
        return (
            square
            + other
            + self._chip(start)
            + self._arrow(start, job.chip_flow.vector, "chip-vector", style.ACCENT, None)
        )

    def _arrow(self, start: np.ndarray, vector, name: str, colour: str, dashes: str | None) -> str:
        step = self.view.on_screen(vector, 0.0) * ARROW
        along = step / np.hypot(*step)
        side = np.array([-along[1], along[0]])
        tip, neck = start + step, start + step - 13 * along
        line = element(
            "path",
            d=f"M{num(start[0], 2)} {num(start[1], 2)}l{num(step[0], 3)} {num(step[1], 3)}",
            class_=name,
            data_angle=0,
            data_vector=" ".join(f"{v:.6f}" for v in vector),
            stroke=colour,
            stroke_width=3.2,
            stroke_dasharray=dashes,
            fill="none",
        )
        return line + element("path", d=path([tip, neck + 4.6 * side, neck - 4.6 * side], True), fill=colour)

    def _chip(self, start: np.ndarray) -> str:
        """A chip growing on the edge along the computed direction, then leaving along it."""
        if not self.sheet.moving:
            return ""
        step = self.view.on_screen(self.view.job.chip_flow.vector, 0.0)
        angle = num(float(np.degrees(np.arctan2(step[1], step[0]))), 1)

        def pose(way: float, size: float, seen: int) -> str:
            x, y = (num(v) for v in start + way * ARROW * step)
            return f"transform:translate({x}px,{y}px)rotate({angle}deg)scale({size:g});opacity:{seen}"

        stops = [(0, pose(0, 0.05, 1)), (0.55, pose(0.1, 0.8, 1)), (0.85, pose(0.6, 0.8, 1)), (1, pose(0.9, 0.8, 0))]
        name = self.sheet.animate("l", "opacity:0", stops, LEAVING * self.view.turn)
        return element("use", href=f"#{self.sheet.tag}q{motion_shapes.VARIANTS - 1}", class_=name)

    def _ends(self) -> str:
        """Which way is the shank, which the point."""
        left, top, wide, high = self.box
        x = left + (10 if self.view.hand > 0 else wide - 10)
        look = dict(font_size=14, fill=style.INK, text_anchor=None if self.view.hand > 0 else "end")
        return text(x, top + 20, self.sheet.said(_("↑ shank")), **look) + text(
            x, top + high - 9, self.sheet.said(_("↓ point")), **look
        )


def _bends(points: np.ndarray) -> np.ndarray:
    """The same line through its ends and the points where it bends."""
    step = np.diff(points, axis=0)
    turn = np.abs(step[1:, 0] * step[:-1, 1] - step[1:, 1] * step[:-1, 0]) > 1e-3
    return points[np.concatenate([[True], turn, [True]])]
