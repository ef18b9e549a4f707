"""The part cut open along the axis: hatched metal, the bore behind, and the thread as far as it is cut."""

from __future__ import annotations

import math

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.motion_svg import FINE, element, fine_path, path
from tapkit.drawing.motion_view import FRAME, MotionView, setting

HATCH_STEP = 9
"""Distance of the hatch lines [px]."""


def hatch_pattern(name: str) -> str:
    """The hatching of cut metal, thin lines at 45° (ISO 128-3), as a pattern."""
    s = HATCH_STEP * math.sqrt(2)
    line = element("path", d=f"M0 {s:.2f}L{s:.2f} 0", stroke=style.SOFT_INK, stroke_width=0.9, fill="none")
    corners = element(
        "path", d=f"M-1 1L1-1M{s - 1:.2f} {s + 1:.2f}l2-2", stroke=style.SOFT_INK, stroke_width=0.9, fill="none"
    )
    ground = element("rect", width=round(s, 2), height=round(s, 2), fill=style.PART)
    return element(
        "pattern",
        ground + line + corners,
        id=name,
        patternUnits="userSpaceOnUse",
        width=round(s, 2),
        height=round(s, 2),
    )


def bore_gradient(name: str, view: MotionView) -> str:
    """Light on the bore's far wall, across; also, as `name`f, for what is written fine."""
    r = view.job.hole.diameter / 2
    stops = ((0, "#8f887d"), (0.3, "#d9d2c6"), (0.62, "#f3eee6"), (1, "#9a9388"))
    content = "".join(element("stop", offset=o, stop_color=c) for o, c in stops)
    x1, x2 = sorted((float(view.x(-r)), float(view.x(r))))
    place = dict(gradientUnits="userSpaceOnUse", y1=0, y2=0)
    plain = element("linearGradient", content, id=name, x1=x1, x2=x2, **place)
    return plain + element("linearGradient", id=f"{name}f", href=f"#{name}", x1=x1 * FINE, x2=x2 * FINE, **place)


def bore_outline(view: MotionView) -> np.ndarray:
    """Outline of the plain drilled hole, (n, 2) px."""
    hole, r = view.job.hole, view.job.hole.diameter / 2
    if hole.is_through:
        return view.points(np.array([-r, -r, r, r]), np.array([0, -view.depth, -view.depth, 0]))
    tip = -view.depth - hole.cone_depth
    return view.points(np.array([-r, -r, 0, r, r]), np.array([0, -view.depth, tip, -view.depth, 0]))


def part_outline(view: MotionView) -> np.ndarray:
    """Outline of the block, (4, 2) px; its sides are breaks."""
    half = view.major / 2 + setting("wall") * view.major
    bottom = -view.depth if view.job.hole.is_through else (FRAME[1] + FRAME[3] + 20 - view.face) / -view.scale
    return view.points(np.array([-half, -half, half, half]), np.array([0, bottom, bottom, 0]))


def broken_side(x: float, top: float, bottom: float) -> np.ndarray:
    """A freehand break line down one side of the block (ISO 128-2, line 01.1.19), (n, 2) px."""
    y = np.arange(top, bottom + 1, 9.0)
    y[-1] = bottom
    sway = 3.0 * np.sin((y - top) / 21) + 1.6 * np.sin((y - top) / 7.7 + 1)
    return np.column_stack([x + sway, y])


def block(view: MotionView, hatch: str, bore: str) -> str:
    """The metal in section and the far wall of the plain hole."""
    corners, hole = part_outline(view), bore_outline(view)
    (left, top), (right, bottom) = corners.min(axis=0), corners.max(axis=0)
    sides = [broken_side(left, top, bottom), broken_side(right, top, bottom)]
    metal = np.vstack([sides[0], sides[1][::-1]])
    edge = dict(stroke=style.INK, fill="none", stroke_linejoin="round")
    parts = [
        element("path", d=path(metal, True), fill=f"url(#{hatch})"),
        element("path", d=path(hole, True), fill=f"url(#{bore})"),
        *(element("path", d=path(side), stroke_width=0.9, **edge) for side in sides),
        element("path", d=path(hole), stroke_width=1.7, **edge),
        *(_level(view, z, left, right, edge) for z in ((0.0, -view.depth) if view.job.hole.is_through else (0.0,))),
    ]
    if not view.job.hole.is_through and view.job.hole.cone_depth > 0:
        parts.append(element("path", d=path(hole[[1, 3]]), stroke_width=0.9, **edge))
    return "".join(parts)


def _level(view: MotionView, z: float, left: float, right: float, edge: dict) -> str:
    y, r = float(view.y(z)), view.job.hole.diameter / 2
    a, b = sorted((float(view.x(-r)), float(view.x(r))))
    gap = "" if z else f"M{a:.1f} {y:.1f}H{b:.1f}"
    return element("path", d=f"M{left:.1f} {y:.1f}H{a:.1f}M{b:.1f} {y:.1f}H{right:.1f}", stroke_width=1.7, **edge) + (
        element("path", d=gap, stroke_width=0.9, **edge) if gap else ""
    )


def groove_heights(view: MotionView, angle: float) -> np.ndarray:
    """Heights z of the finished thread's groove middles on the line φ = `angle` of the part [mm], within the hole."""
    p = view.pitch
    first = view.tip(0.0) + float(view.solid.ridge(view.start_angle - angle))
    low = max(-view.depth, -view.last + view.passed) - p
    n = np.arange(math.ceil((low - first) / p), math.floor((p / 2 - first) / p) + 1)
    return first + n * p


def thread(view: MotionView, bore: str) -> str:
    """The finished thread as grooves laid over the metal; what is not cut yet must be clipped off."""
    p, r, hole = view.pitch, view.major / 2, view.job.hole.diameter / 2
    half = view.tap.thread.groove_width(hole) / 2
    x = np.array([hole - 0.12, hole, r, r, hole, hole - 0.12])
    h = np.array([-half, -half, -p / 16, p / 16, half, half])
    low, out = -view.depth, []
    for side, angle in ((1, 0.0), (-1, math.pi)):
        for z in groove_heights(view, angle):
            corners = view.points(side * x, np.clip(z + h, low, 0))
            out.append(corners)
    look = dict(fill="none", stroke_linejoin="round", transform=f"scale({1 / FINE:g})")
    return (
        element("path", d=fine_path(out), fill=f"url(#{bore}f)", transform=look["transform"])
        + element(
            "path", d=fine_path(_far_lines(view), False), stroke=style.SOFT_INK, stroke_width=4, opacity=0.5, **look
        )
        + element("path", d=fine_path([c[1:5] for c in out], False), stroke=style.INK, stroke_width=7.5, **look)
    )


def _far_lines(view: MotionView) -> list[np.ndarray]:
    """The thread on the far wall: from a groove at the right up to the same groove, half a turn on, at the left."""
    r, p, out = view.job.hole.diameter / 2, view.pitch, []
    half = view.tap.thread.groove_width(r) / 2
    phi = np.linspace(0, math.pi, 5)
    for z in groove_heights(view, 0.0):
        for shift in (-half, half) if p * view.scale > 11 else (0.0,):
            heights = z + shift + p * phi / (2 * math.pi)
            if heights.min() > -view.depth and heights.max() < 0:
                out.append(view.points(r * np.cos(phi), heights))
    return out


def left_out(view: MotionView) -> str:
    """Two break lines across a part that is drawn shorter than it is, clear of where the point moves."""
    if not view.hidden:
        return ""
    high, low = (0.0, view.tip(0.0)) if view.passed else (view.tip(view.loop), -view.depth)
    corners = part_outline(view)
    left, right = corners[:, 0].min() - 8, corners[:, 0].max() + 8
    x = np.arange(left, right + 1, 9.0)
    sway = 3.0 * np.sin((x - left) / 21) + 1.6 * np.sin((x - left) / 7.7 + 1)
    middle = float(view.y((high + low) / 2))
    upper, lower = (np.column_stack([x, middle + shift + sway]) for shift in (-5, 5))
    line = dict(stroke=style.INK, stroke_width=0.9, fill="none")
    band = element("path", d=path(np.vstack([upper, lower[::-1]]), True), fill=style.PAPER)
    return band + element("path", d=path(upper), **line) + element("path", d=path(lower), **line)
