"""The main picture of the chips in motion: part, tap, chips, and the room that fills, layer on layer.

Three frames of reference: the part stands still; the tap sinks by a pitch a turn ("down"); what belongs to the part but
is seen through a window that sinks with the tap is moved down with it and back up by as much ("up").
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from tapkit.drawing import motion_chips, motion_heap, motion_part, motion_shapes, style
from tapkit.drawing.motion_keys import Keys
from tapkit.drawing.motion_svg import FINE, SvgSheet, element, fine_path, num, path, text, window
from tapkit.drawing.motion_tap import MotionSkin, Outlines
from tapkit.drawing.motion_view import FRAME, MotionView
from tapkit.mechanics import chipflow
from tapkit.messages import _

WALLS = {"hollow": "h", "back": "w", "face": style.STEEL_FACE}
LANDS = {"land": "s", "shade": style.INK}
"""Layers of the tap under and over the chips: their fill, a colour or the last letter of a gradient."""
STEEL = {
    "s": ((0, "#7f8b97"), (0.33, "#fdfefe"), (0.66, "#cfd6dd"), (1, "#727e8a")),
    "h": ((0, "#8a95a0"), (0.45, "#c3cbd2"), (1, "#98a3ad")),
    "w": ((0, "#98a3ad"), (0.4, "#cdd4da"), (1, "#a0aab4")),
}
"""Light across the tap: skin of the lands, hollow and back of the flutes."""
CORE = "#8d98a3"
CURTAIN = 0.012
"""Share of the time in which the picture comes at the start and goes at the end, before it begins again."""
MOST_CHIPS, FEWER_CHIPS = 45, 30
"""Chips in one picture at most, and with a fine thread; it keeps the picture small."""


@dataclass(frozen=True)
class Scene:
    """The main picture; its names go into `sheet`; `lean` 1 leaves out the tap's
    outlines at rest, which only browsers without moving outlines need, and 2 draws
    teeth simpler and shows fewer chips too; `ask` leaves out everything that tells the chips' way."""

    view: MotionView
    sheet: SvgSheet
    lean: int = 0
    ask: bool = False

    @property
    def tag(self) -> str:
        """First letters of every name."""
        return self.sheet.tag

    @cached_property
    def skin(self) -> MotionSkin:
        """The tap's outlines."""
        return MotionSkin(self.view, simple=self.lean > 1)

    @cached_property
    def still(self) -> float:
        """Time of the still picture, past the middle, after whole turns: flute 1's edge is then well to the front."""
        return math.floor(0.62 * self.view.turns) * self.view.turn

    def svg(self) -> str:
        """The whole picture as one group inside its frame."""
        left, top, wide, high = FRAME
        ground = motion_part.block(self.view, f"{self.tag}m", f"{self.tag}b")
        moving = (
            self._sinking(self._windowed(motion_part.thread(self.view, f"{self.tag}b"), "v"))
            + motion_part.left_out(self.view)
            + self._unless_asked(motion_heap.heap, self.view, self.sheet, self.still)
            + self._sinking(self._tap(WALLS, core=True))
            + self._sinking(self._unless_asked(motion_heap.packed_heap, self.view, self.sheet, self.still))
            + self._unless_asked(self._chips)
            + self._sinking(self._tap(LANDS) + self._unless_asked(self._ways))
        )
        inside = ground + moving + self._unless_asked(self._way_out) + self._curtain()
        rim = element("rect", x=left, y=top, width=wide, height=high, rx=6, fill="none", stroke=style.FAINT)
        return window(inside, left, top, wide, high) + rim

    def _curtain(self) -> str:
        """Paper that hides the picture for a moment when it begins again."""
        left, top, wide, high = FRAME
        stops = [
            (0, "opacity:1;visibility:visible"),
            (CURTAIN, "opacity:0;visibility:hidden"),
            (1 - CURTAIN, "opacity:0;visibility:hidden"),
            (1, "opacity:1;visibility:visible"),
        ]
        name = self.sheet.animate("x", "visibility:hidden", stops, self.view.loop)
        return element("rect", x=left, y=top, width=wide, height=high, fill=style.PAPER, class_=name)

    def _unless_asked(self, draw: Callable[..., str], *args: Any) -> str:
        return "" if self.ask else draw(*args)

    def defs(self) -> str:
        """Gradients, hatching, windows and the shapes of chips."""
        return (
            motion_part.hatch_pattern(f"{self.tag}m")
            + motion_part.bore_gradient(f"{self.tag}b", self.view)
            + "".join(self._gradient(name, stops) for name, stops in STEEL.items())
            + element("clipPath", element("path", d=path(self._swept(), True)), id=f"{self.tag}v")
            + motion_shapes.symbols(self.view, f"{self.tag}q")
            + motion_heap.defs(self.view, self.tag)
            + element(
                "marker",
                element("path", d="M0 0L10 4L0 8z", fill=style.ACCENT),
                id=f"{self.tag}k",
                orient="auto",
                markerUnits="userSpaceOnUse",
                markerWidth=14,
                markerHeight=10,
                refX=8,
                refY=4,
            )
        )

    def _gradient(self, name: str, stops) -> str:
        r = round(self.view.scale * self.view.major / 2 * FINE, 1)
        content = "".join(element("stop", offset=o, stop_color=c) for o, c in stops)
        place = dict(gradientUnits="userSpaceOnUse", x1=-r, x2=r, y1=0, y2=0)
        return element("linearGradient", content, id=self.tag + name, **place)

    def _swept(self) -> np.ndarray:
        """Where the tap has cut: its outline, and everything above the chamfer."""
        up, wide = -2000.0, 1000.0
        shoulder = -self.view.scale * self.view.tap.chamfer_length
        sides = np.array([[-wide, up], [-wide, shoulder]])
        return np.vstack([sides, self.skin.envelope()[1:5], sides[::-1] * (-1, 1)])

    # --- what moves as a whole ------------------------------------------------------------------------

    def _moved(self, sign: int, time: float) -> str:
        return f"translateY({num(sign * float(self.view.y(self.view.tip(time))), 2)}px)"

    def _shift(self, content: str, sign: int) -> str:
        """A group that sinks with the tap (+1) or is held back by as much (−1)."""
        stops = [(share, "transform:" + self._moved(sign, share * self.view.loop)) for share in (0, 1)]
        still = "transform:" + self._moved(sign, self.still)
        return element("g", content, class_=self.sheet.animate("d" if sign > 0 else "u", still, stops, self.view.loop))

    def _sinking(self, content: str) -> str:
        return element("g", self._shift(content, 1), transform=f"translate({num(self.view.axis)})")

    def _windowed(self, content: str, window: str) -> str:
        back = element("g", content, transform=f"translate({num(-self.view.axis)})")
        return element("g", self._shift(back, -1), clip_path=f"url(#{self.tag}{window})")

    # --- the tap --------------------------------------------------------------------------------------

    def _tap(self, layers: dict[str, str], core: bool = False) -> str:
        half, high = (round(self.view.scale * v, 1) for v in (self.view.solid.core, self.skin.top))
        parts = [element("rect", x=-half, y=-high, width=2 * half, height=high, fill=CORE)] if core else []
        for layer, fill in layers.items():
            look = dict(fill=fill if fill.startswith("#") else f"url(#{self.tag}{fill})")
            look["opacity"] = ".28" if layer == "shade" else None
            parts.append(self._outlines(layer, **look))
        side = round(self.view.scale * self.view.major / 2 + 1, 1)
        return window("".join(parts), -side, -high, 2 * side, high)

    def _outlines(self, layer: str, **look) -> str:
        """One layer of the tap for every flute; later flutes run later and stand higher."""
        self._turning(layer)
        out = []
        for flute in range(1, self.view.tap.flutes + 1):
            up = -self.view.scale * self.view.pitch * (flute - 1) / self.view.tap.flutes
            phase = (math.pi / 2 - self.view.angle(flute, 0.0)) / (2 * math.pi) % 1
            rest = None
            if not (self.lean and self.sheet.moving):
                rest = fine_path(getattr(self._at_rest[flute - 1], layer))
            out.append(
                element(
                    "path",
                    d=rest,
                    class_=f"{self.tag}{layer}",
                    style=f"animation-delay:{num(-phase * self.view.turn, 3)}s" if self.sheet.moving else None,
                    transform=f"translate(0 {num(up, 2)})scale({1 / FINE:g})",
                    **look,
                )
            )
        return "".join(out)

    @cached_property
    def _at_rest(self) -> list[Outlines]:
        """Outlines of each flute's land in the still picture."""
        flutes = range(1, self.view.tap.flutes + 1)
        return [self.skin.outlines(self.view.angle(flute, self.still)) for flute in flutes]

    def _turning(self, layer: str) -> None:
        if not self.sheet.moving:
            return
        frames = self.skin.turned
        steps = len(frames) - 1
        stops = [(i / steps, f"d:path('{fine_path(getattr(f, layer))}')") for i, f in enumerate(frames)]
        self.sheet.animate(layer, "", stops, self.view.turn)
        run = f"animation-name:{self.sheet.keyframes(stops)}!important;animation-play-state:paused!important"
        self.sheet.calm(f".{self.tag} .{self.tag}{layer}{{{run}}}")  # at rest as after any whole turn

    # --- the chips ------------------------------------------------------------------------------------

    def _chips(self) -> str:
        keys, names = (
            Keys(self.view, self.sheet, self.still),
            [f"#{self.tag}q{i}" for i in range(motion_shapes.VARIANTS)],
        )
        ways = motion_chips.ways(self.view, FEWER_CHIPS if self.skin.is_fine else MOST_CHIPS)
        chips = "".join(keys.chip(way, names[i % len(names)]) for i, way in enumerate(ways))
        return element("g", chips, transform=f"translate({num(self.view.axis)})")

    # --- the still picture's arrows, and the way out ----------------------------------------------------

    def _ways(self) -> str:
        """Arrows on the teeth that face the viewer in the still picture: first along the computed direction, then where
        the flute takes the chip. Motion hides them."""
        out = []
        for way in motion_chips.in_metal(self.view, self.still):
            phi = math.remainder(way.edge_angle(self.still), 2 * math.pi)
            if -1.0 < phi < 0.15:
                out.append(self._way(way, phi))
        name = f"{self.tag}y"
        self.sheet.rule(f".{name}{{opacity:{int(not self.sheet.moving)}}}")
        if self.sheet.moving:
            self.sheet.calm(f".{name}{{opacity:1}}")
        return element("g", "".join(out), class_=f"ways {name}")

    def _way(self, way: motion_chips.Way, phi: float) -> str:
        vector, size = self.view.job.chip_flow.vector, self.view.scale * self.view.major
        first = self.view.on_screen(vector, phi) * 0.2 * size
        then = np.zeros(2)
        if self.view.job.chip_flow.direction != chipflow.UNDECIDED:
            then = way.channel(way.flute_angle(self.still, way.height)) * 0.34 * size
        start = np.array([self.view.hand * way.radius * math.cos(phi), -way.height]) * self.view.scale
        bend = 0.4 * first
        d = f"M{num(start[0], 2)} {num(start[1], 2)}l{num(first[0], 3)} {num(first[1], 3)}"
        if then.any():
            d += f"q{num(bend[0])} {num(bend[1])} {num(bend[0] + then[0])} {num(bend[1] + then[1])}"
        return element(
            "path",
            d=d,
            class_="way",
            fill="none",
            stroke=style.ACCENT,
            stroke_width=2.6,
            marker_end=f"url(#{self.tag}k)",
            data_tooth=way.tooth,
            data_angle=f"{math.degrees(phi):.4f}",
            data_vector=" ".join(f"{v:.6f}" for v in vector),
        )

    def _way_out(self) -> str:
        """One bold arrow beside the chamfer: which way the chips leave, or both ways and a question mark."""
        view, size = self.view, self.view.scale * self.view.major
        x = view.axis - 0.98 * size
        middle = float(view.y(view.tip(self.still) + 0.5 * view.tap.chamfer_length))
        half, head = 0.36 * size, 0.13 * size
        direction = view.job.chip_flow.direction
        up, down = (direction != d for d in (chipflow.AHEAD, chipflow.TO_SHANK))
        ends = [(middle - half, -1)] * up + [(middle + half, 1)] * down
        shaft = (middle - half + head * up, middle + half - head * down)
        d = f"M{num(x)} {num(shaft[0])}V{num(shaft[1])}"
        heads = "".join(f"M{num(x)} {num(y)}l{num(0.6 * head)} {num(-s * head)}h{num(-1.2 * head)}z" for y, s in ends)
        unsure = up and down
        dash = "9 7" if unsure else None
        halo = dict(stroke=style.PAPER, stroke_linejoin="round")
        parts = element("path", d=d + heads, fill=style.PAPER, stroke_width=15, **halo)
        parts += element("path", d=d, stroke=style.ACCENT, stroke_width=7, stroke_dasharray=dash)
        parts += element("path", d=heads, fill=style.ACCENT)
        word = self.sheet.said(_("chips ?") if unsure else _("chips"))
        y = middle + half + 22 if not down or unsure else middle - half - 10
        parts += text(
            x,
            y,
            word,
            text_anchor="middle",
            font_size=15,
            font_weight="bold",
            fill=style.ACCENT,
            stroke=style.PAPER,
            stroke_width=5,
            paint_order="stroke",
            stroke_linejoin="round",
        )
        return element("g", parts, class_="way-out")
