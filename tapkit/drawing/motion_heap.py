"""Room that fills with chips, by the ledger of chip room: the end of a blind hole, and flutes that keep their chips."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from tapkit.drawing import motion_part, style
from tapkit.drawing.motion_svg import SvgSheet, element, num, path, window
from tapkit.drawing.motion_view import MotionView, kind_of
from tapkit.mechanics import chiproom

STEPS = 10
"""Levels written for one picture; straight in between."""
TILE = 72
"""Side of the tile of packed chips [px]."""


def defs(view: MotionView, tag: str) -> str:
    """The look of packed chips, and the window of the bore; nothing where no chip stays."""
    if view.job.chip_room.fate == chiproom.LEAVES:
        return ""
    bore = element("path", d=path(motion_part.bore_outline(view), True))
    return _tile(view, f"{tag}p") + element("clipPath", bore, id=f"{tag}g")


def _tile(view: MotionView, name: str) -> str:
    rng, parts = np.random.default_rng(11), []
    draw = _speck if kind_of(view.job).name == "short" else _curl
    for _ in range(70):
        x, y = rng.uniform(0, TILE, 2)
        one = draw(float(rng.uniform(0, 2 * math.pi)))
        for dx in (-TILE, 0, TILE):
            for dy in (-TILE, 0, TILE):
                if -8 < x + dx < TILE + 8 and -8 < y + dy < TILE + 8:
                    parts.append(f"M{num(x + dx)} {num(y + dy)}{one}")
    ground = element("rect", width=TILE, height=TILE, fill="#8a6a4a")
    line = dict(fill="none", stroke_linecap="round")
    d = "".join(parts)
    strokes = element("path", d=d, stroke=style.INK, stroke_width=3.6, **line)
    strokes += element("path", d=d, stroke="#e0b070", stroke_width=2.3, **line)
    return element("pattern", ground + strokes, id=name, patternUnits="userSpaceOnUse", width=TILE, height=TILE)


def _curl(angle: float) -> str:
    dx, dy = 9 * math.cos(angle), 9 * math.sin(angle)
    return f"q{num(dx / 2 - dy)} {num(dy / 2 + dx)} {num(dx)} {num(dy)}"


def _speck(angle: float) -> str:
    return f"l{num(3 * math.cos(angle))} {num(3 * math.sin(angle))}"


def level_times(view: MotionView) -> list[float]:
    """Moments whose levels are written down [s]; straight in between."""
    return [float(t) for t in np.linspace(0, view.loop, STEPS + 1)]


def share_below(view: MotionView, time: float) -> float:
    """How full the space below the point of a blind hole is, 0 to 1, with the chips as tight as they lie."""
    room = view.job.chip_room
    if room.fate == chiproom.LEAVES:
        return 0.0
    loose, space = _at(view, time, room.loose_low), _at(view, time, room.room)
    return min(loose / space, 1.0) if space > 0 else float(loose > 0)


def share_in_flutes(view: MotionView, time: float) -> float:
    """How full the flutes are inside the hole, 0 to 1: with chips that stay, or with what finds no room below."""
    room = view.job.chip_room
    if room.fate != chiproom.BELOW:
        return share_below(view, time)
    loose, below, flutes = (_at(view, time, v) for v in (room.loose_low, room.room_below, room.room_flutes))
    return min(max((loose - below) / flutes, 0.0), 1.0) if flutes > 0 else 0.0


def _at(view: MotionView, time: float, values: np.ndarray) -> float:
    return float(np.interp(view.depth_at(time), view.job.chip_room.depth, values))


def level_below(view: MotionView, time: float) -> float:
    """Height z up to which chips fill the end of a blind hole, its cone first [mm]."""
    hole = view.job.hole
    across = math.pi * hole.diameter**2 / 4
    cone = across * hole.cone_depth / 3
    space = cone + across * max(view.tip(time) + view.depth, 0.0)
    filled = share_below(view, time) * space
    if filled <= cone:
        share = (filled / cone) ** (1 / 3) if cone else 0.0
        return -view.depth - hole.cone_depth * (1 - share)
    return -view.depth + (filled - cone) / across


def heap(view: MotionView, sheet: SvgSheet, still: float) -> str:
    """Chips below the point of a blind hole, rising as the tap comes down."""
    if view.job.hole.is_through or share_below(view, view.loop) <= 0:
        return ""
    content = element("path", d=path(motion_part.bore_outline(view), True), fill=f"url(#{sheet.tag}p)")
    rising = _below_level(view, sheet, still, "heap", lambda t: float(view.y(level_below(view, t))), content)
    return element("g", rising, clip_path=f"url(#{sheet.tag}g)", class_="heap")


def packed_heap(view: MotionView, sheet: SvgSheet, still: float) -> str:
    """Chips that fill the flutes inside the hole, from the point up, in the frame of the tap; they turn with it."""
    if share_in_flutes(view, view.loop) <= 0:
        return ""

    def top(time: float) -> float:
        inside = min(-view.tip(time), view.depth - min(view.depth + view.tip(time), 0.0))
        return -view.scale * share_in_flutes(view, time) * max(inside, 0.0)

    half, high = round(view.scale * view.job.hole.diameter / 2, 1), round(view.scale * (view.last - view.passed), 1)
    round_ = TILE * max(round(math.pi * view.scale * view.major / TILE), 1)
    roll = [(i, f"transform:translateX({-i * round_ if view.hand > 0 else (i - 1) * round_}px)") for i in (0, 1)]
    name = sheet.animate("roll", "", roll, view.turn)
    look = dict(fill=f"url(#{sheet.tag}p)", class_=name)
    chips = element("rect", x=-half, y=-high, width=2 * half + round_, height=high, **look)
    rising = _below_level(view, sheet, still, "pack", top, chips)
    return element("g", window(rising, -half, -high, 2 * half, high), class_="packed")


def _below_level(
    view: MotionView, sheet: SvgSheet, still: float, name: str, top: Callable[[float], float], content: str
) -> str:
    """Content seen below a level `top`(time) [px] only: a window at the level, its content held back by as much."""
    classes = [
        sheet.animate(
            name + letter,
            f"transform:translateY({num(sign * top(still))}px)",
            [(t / view.loop, f"transform:translateY({num(sign * top(t))}px)") for t in level_times(view)],
            view.loop,
        )
        for sign, letter in ((1, "a"), (-1, "z"))
    ]
    return element("g", window(element("g", content, class_=classes[1]), -2000, 0, 6000, 4000), class_=classes[0])
