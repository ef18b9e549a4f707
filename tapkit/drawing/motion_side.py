"""The column beside the moving picture: where the chips go and why, the room they fill, and how slowed it all is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from tapkit.drawing import motion_words, style
from tapkit.drawing.label import text_width
from tapkit.drawing.motion_heap import level_times
from tapkit.drawing.motion_svg import SvgSheet, element, num, text
from tapkit.drawing.motion_tooth import Tooth
from tapkit.drawing.motion_view import FRAME, HEIGHT, WIDTH, MotionView
from tapkit.mechanics import chiproom
from tapkit.messages import _

LEFT, RIGHT = FRAME[0] + FRAME[2] + 18, WIDTH - 10
BODY, HEAD, STEP, HEAD_STEP = 14.0, 19.0, 19.0, 24.0
"""Letters of the text and of the head line, and the steps between lines [px]; 14 px are 10.5 pt."""
TOOTH_HIGH = 158
"""Height of the picture of one tooth [px]."""
BAR, BAR_STEP, BAR_LEFT = 15, 23, 56
"""Height of a bar, step between bars, and room for their names [px]."""
LOOSE = "#dcc8ab"
"""Fill of the part of a bar that chips take when they lie loose."""


def wrapped(words: str, width: float, size: float = BODY, bold: bool = False) -> list[str]:
    """Words in lines no wider than a width [px], as wide as the drawing's own letters are."""
    lines, line = [], ""
    for word in words.split():
        trial = f"{line} {word}".strip()
        if line and text_width(trial, size, bold) > width:
            lines.append(line)
            trial = word
        line = trial
    return [*lines, line]


@dataclass(frozen=True)
class Side:
    """The column for one view; `still` is the time of the still picture, `ask` asks instead of telling."""

    view: MotionView
    sheet: SvgSheet
    still: float
    ask: bool = False

    def svg(self) -> str:
        """The whole column, from the top down; its foot stands at the bottom."""
        job = self.view.job
        if self.ask:
            return self._question()
        head, y = self._lines(motion_words.headline(job), 30, size=HEAD, bold=True, step=HEAD_STEP)
        where, y = self._lines(motion_words.way_out(job), y)
        tooth = Tooth(self.view, self.sheet, (LEFT, y - 6, RIGHT - LEFT, TOOTH_HIGH)).svg()
        legend, y = self._legend(y + TOOTH_HIGH + 14)
        room, y = self._room(y + 10)
        last_words = [self.sheet.said(words) for words in motion_words.foot(self.view)]
        foot = [line for words in last_words for line in wrapped(words, RIGHT - LEFT)]
        last = self._lines("\n".join(foot), max(HEIGHT - 15 - STEP * (len(foot) - 1), y + 4))[0]
        return head + where + tooth + legend + room + last

    def _question(self) -> str:
        """What is given, and no more than that."""
        head, y = self._lines(motion_words.QUESTION, 30, size=HEAD, bold=True, step=HEAD_STEP)
        given, y = self._lines("\n".join(self.sheet.said(g) for g in motion_words.given(self.view)), y + 2)
        tooth = Tooth(self.view, self.sheet, (LEFT, y - 6, RIGHT - LEFT, TOOTH_HIGH), ask=True).svg()
        below = self._lines(_("A chamfer tooth, its cutting face toward you."), y + TOOTH_HIGH + 14)[0]
        return head + given + tooth + below

    def _lines(
        self, words: Any, y: float, *, size: float = BODY, bold: bool = False, step: float = STEP, fill: str = style.INK
    ) -> tuple[str, float]:
        """Words from a first baseline down, and the next baseline."""
        out, look = "", dict(font_size=size, font_weight="bold" if bold else None, fill=fill)
        for line in (
            part for whole in self.sheet.said(words).split("\n") for part in wrapped(whole, RIGHT - LEFT, size, bold)
        ):
            out += text(LEFT, y, line, **look)
            y += step
        return out, y

    def _legend(self, y: float) -> tuple[str, float]:
        """What the two arrows at the tooth are, and what turns the chip."""
        out = ""
        for words, colour, dashes in motion_words.rules(self.view.job, style.ACCENT, style.SOFT_INK):
            line = dict(x1=LEFT, x2=LEFT + 30, y1=y - 5, y2=y - 5, stroke=colour, stroke_width=3.2)
            out += element("line", stroke_dasharray=dashes, **line) + text(
                LEFT + 38, y, self.sheet.said(words), font_size=BODY, fill=style.INK
            )
            y += STEP
        more, y = self._lines(motion_words.why(self.view.job), y)
        return out + more, y

    # --- the room for chips ---------------------------------------------------------------------------

    def _room(self, y: float) -> tuple[str, float]:
        """The ledger of chip room, in bars that follow the depth, or why there is nothing to keep."""
        room = self.view.job.chip_room
        head, y = self._lines(_("Room for chips"), y, bold=True)
        if room.fate == chiproom.LEAVES:
            words, y = self._lines(motion_words.leaving(self.view.job), y)
            return head + words, y
        full = room.packs_at is not None
        bars = self._bars(y - 12)
        look = dict(bold=full, fill=style.WARN if full else style.INK)
        words, y = self._lines(motion_words.filling(self.view.job), y + 2 * BAR_STEP + 4, **look)
        return head + bars + words, y

    def _bars(self, y: float) -> str:
        room, times = self.view.job.chip_room, level_times(self.view)
        depth = np.clip([self.view.depth_at(t) for t in times], 0.0, self.view.last)
        low, high, space = (np.interp(depth, room.depth, v) for v in (room.loose_low, room.loose_high, room.room))
        unit = (RIGHT - LEFT - BAR_LEFT) / max(1.6 * max(space.max(), low.max()), 1e-9)
        out = ""
        for name, words, layers in (
            ("room", _("room"), ((space, style.COOL),)),
            ("chips", _("chips"), ((high, LOOSE), (low, style.CHIP))),
        ):
            out += text(LEFT, y + 12, self.sheet.said(words), font_size=BODY, fill=style.INK)
            for i, (values, colour) in enumerate(layers):
                out += self._bar(f"{name}{i}", y, np.minimum(values * unit, RIGHT - LEFT - BAR_LEFT), colour)
            y += BAR_STEP
        return out

    def _bar(self, name: str, y: float, lengths: np.ndarray, colour: str) -> str:
        """A bar whose length follows the ledger; one that would leave the column is cut off there."""
        full, times = max(float(lengths.max()), 1e-6), level_times(self.view)
        stops = [(t / self.view.loop, f"transform:scaleX({num(v / full, 3)})") for t, v in zip(times, lengths)]
        now = float(np.interp(self.still, times, lengths)) / full
        look = dict(fill=colour, stroke=style.INK, stroke_width=1, vector_effect="non-scaling-stroke")
        name = self.sheet.animate(name, f"transform:scaleX({num(now, 3)})", stops, self.view.loop)
        bar = element("rect", width=round(full, 1), height=BAR, class_=name, **look)
        return element("g", bar, transform=f"translate({LEFT + BAR_LEFT} {num(y)})")
