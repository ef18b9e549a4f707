"""Percent of thread: the tapped thread in section with both heights, and the nearest drills beside each other."""

import math
from typing import Any

import numpy as np

from tapkit.drawing import dims, style
from tapkit.drawing.label import text_width
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.geometry.thread import SQRT3
from tapkit.messages import Number, Sentence, _, length, listed
from tapkit.planning.drill import WITHIN, DrillFit

THREADS = 1.15
"""Threads drawn in the section."""


# --- the thread in section ------------------------------------------------------------------------------


@drawn()
def draw_percent(pen: Pen, fit: DrillFit) -> None:
    """The tapped thread in section and what this drill leaves of it."""
    _section(pen, fit, pen.memory["system"])


def _section(pen: Pen, fit: DrillFit, system: str) -> None:
    """Radius up, axis along the sheet; heights are counted from the root of the thread at the major diameter."""
    thread, p = fit.thread, fit.thread.pitch
    custom, iso = (3 / 4) * thread.height, (5 / 8) * thread.height
    left = (thread.major - fit.drill.diameter) / 2
    scale = min((pen.width - 132) / (THREADS * p), (pen.height - 170) / custom)
    x0 = 78.0
    root = pen.height / 2 + scale * custom / 2 + 22

    def at(x: Any, deep: Any) -> np.ndarray:
        x, deep = np.broadcast_arrays(np.asarray(x, float), np.asarray(deep, float))
        return np.column_stack([x0 + scale * x, root - scale * deep])

    profile = _profile(p, left)
    end = at(*profile.T)
    top = root + 26
    pen.fill(np.vstack([end, [end[-1][0], top], [end[0][0], top]]), style.PART, z=0.5)
    ring = np.vstack([end, [[end[-1][0], top], [end[0][0], top]]])
    pen.hatch([ring], 45, 8, colour=style.SOFT_INK, z=0.6)
    pen.line(end, "edge")
    wide = THREADS * p
    for deep, kind in ((0.0, "thin"), (iso, "hidden"), (custom, "hidden")):
        pen.line(at([0, wide], [deep, deep]), kind)
    pen.line(at([0, wide], [left, left]), "phantom", colour=style.ACCENT)
    _heights(pen, fit, at, wide, (custom, iso, left))
    told = _(
        "{thread}, drill {name}: ⌀ {diameter}",
        thread=thread.designation,
        name=fit.drill.name,
        diameter=length(fit.drill.diameter, decimals=3, inch_decimals=4),
    )
    pen.text(8, pen.height - 16, told, bold=True)


def _heights(pen: Pen, fit: DrillFit, at: Any, wide: float, heights: tuple[float, float, float]) -> None:
    custom, iso, left = heights
    (x0, y0), (x1, _y1) = at([0, wide], [0, 0])
    for x, deep, name in ((x0 - 14, custom, "¾ H"), (x0 - 46, iso, "⅝ H")):
        y = float(at(0, deep)[0, 1])
        dims.vertical(pen, x, y, y0, _("100 %: {height}", height=name), start=(x0, x0), size=style.SMALL)
    y = float(at(0, left)[0, 1])
    x = x1 + 16
    pen.line([(x1 + 2, y0), (x + 5, y0)], "thin")
    pen.line([(x1 + 2, y), (x + 5, y)], "thin")
    pen.line([(x, y), (x, y0)], "edge", colour=style.ACCENT)
    pen.arrow((x, y), (0, -1), colour=style.ACCENT)
    pen.arrow((x, y0), (0, 1), colour=style.ACCENT)
    custom_percent, iso_percent = Number(fit.percent, decimals=0), Number(fit.percent_iso, decimals=0)
    told = _("{custom} % of ¾ H is {iso} % of ⅝ H", custom=custom_percent, iso=iso_percent)
    low = float(at(0, custom)[0, 1])
    pen.text(x0, low - 12, told, va="top", colour=style.ACCENT, bold=True)
    pen.text(x0, low - 30, _("¾ H: handbook custom"), va="top", size=style.SMALL)
    pen.text(x0, low - 45, _("⅝ H: basic height of ISO 68-1"), va="top", size=style.SMALL)


def _profile(pitch: float, left: float) -> np.ndarray:
    """The tapped thread, shape (n, 2): along the axis and depth below the root, flat at the drilled wall."""
    half_root = pitch / 16
    run = min(left / SQRT3, pitch / 2 - half_root)
    deep = run * SQRT3
    one = np.array(
        [[-pitch / 2, deep], [-half_root - run, deep], [-half_root, 0], [half_root, 0], [half_root + run, deep]]
    )
    points = np.vstack([one + np.array([k * pitch + 0.75 * pitch, 0]) for k in range(-1, 3)])
    wide = THREADS * pitch
    inside = points[(points[:, 0] > 0) & (points[:, 0] < wide)]
    ends = [np.interp([x], points[:, 0], points[:, 1])[0] for x in (0.0, wide)]
    return np.vstack([[0.0, ends[0]], inside, [wide, ends[1]]])


# --- the nearest drills ---------------------------------------------------------------------------------


@drawn()
def draw_drillfits(pen: Pen, fits: tuple[DrillFit, ...], wanted: float) -> None:
    """The drills beside each other: percent of thread, limits, and torque against a hole for 75 %.

    `wanted` is the percent of thread wanted, by custom.
    """
    rows = sorted(fits, key=lambda f: f.drill.diameter)
    top, low = pen.height - 40, 38.0
    tall = (top - low) / len(rows)
    bars = Box(128, low, pen.width - 62, top)

    shown = [f.percent for f in rows] + [wanted]
    first, last = min(30.0, 10 * math.floor(min(shown) / 10)), max(105.0, max(shown) + 3)

    def across(percent: float) -> float:
        return bars.left + (np.clip(percent, first, last) - first) / (last - first) * (bars.right - bars.left)

    _limits_band(pen, rows[0], bars, across)
    for i, fit in enumerate(rows):
        _drill_row(pen, fit, Box(8, top - (i + 1) * tall, pen.width - 8, top - i * tall), across, fit is fits[0])
    x = across(wanted)
    pen.line([(x, low - 4), (x, top + 4)], "hidden", colour=style.ACCENT, z=4)
    torque = pen.text(pen.width - 8, top + 6, _("tooth forces, 75 % = 1"), size=style.SMALL, ha="right")
    told = pen.say(_("wanted {percent} %", percent=Number(wanted, decimals=0)))
    x = min(x, torque.left - 10 - text_width(told, style.SMALL) / 2)
    pen.text(x, top + 6, told, size=style.SMALL, ha="center", colour=style.ACCENT)
    for percent in (p for p in (0, 20, 40, 60, 80, 100, 120) if first < p < last):
        pen.line([(across(percent), low), (across(percent), low - 4)], "thin")
        pen.text(across(percent), low - 6, _("{percent} %", percent=percent), size=style.SMALL, ha="center", va="top")
    pen.text(24, top + 6, _("drill"), size=style.SMALL)


def _limits_band(pen: Pen, fit: DrillFit, bars: Box, across: Any) -> None:
    limits, thread = fit.minor, fit.thread
    low, high = across(thread.percent(limits.most)), across(thread.percent(limits.least))
    pen.rectangle(Box(low, bars.bottom, high, bars.top), style.COOL, z=0.3)
    swatch = pen.rectangle(Box(24, 3, 42, 12), style.COOL)
    pen.line(swatch, "hair", closed=True)
    told = _("inside the {tolerance} limits of the minor diameter", tolerance=limits.name)
    pen.text(47, 7.5, told, size=style.SMALL, va="center")


def _drill_row(pen: Pen, fit: DrillFit, box: Box, across: Any, nearest: bool) -> None:
    y = (box.bottom + box.top) / 2
    sign, colour = ("✓", style.GOOD) if fit.limits == WITHIN else ("✗", style.WARN)
    pen.text(box.left, y, sign, va="center", colour=colour, bold=True)
    pen.text(box.left + 16, y, fit.drill.name, va="center", bold=nearest)
    pen.text(122, y, _("{percent} %", percent=Number(fit.percent, decimals=0)), va="center", ha="right", bold=nearest)
    half = min(8.0, 0.3 * (box.top - box.bottom))
    bar = Box(across(0), y - half, across(fit.percent), y + half)
    corners = pen.rectangle(bar, style.STEEL_DARK if fit.limits == WITHIN else style.STEEL, "thin", z=1)
    if fit.limits != WITHIN:
        pen.hatch(corners, 45, 6, colour=style.WARN)
    pen.text(
        box.right, y, _("× {ratio}", ratio=Number(fit.torque_ratio, decimals=2)), va="center", ha="right", bold=nearest
    )


def describe_drillfits(fits: tuple[DrillFit, ...], wanted: float) -> Sentence:
    """The nearest drill in one sentence, and what the next are; also the alt text."""
    nearest = fits[0]
    others = [_("{drill} ({percent} %)", drill=f.drill.name, percent=Number(f.percent, decimals=0)) for f in fits[1:4]]
    first = nearest.in_words()
    return _("{first} Then {others}.", first=first, others=listed(others)) if others else first
