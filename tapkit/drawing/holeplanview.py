"""The hole plan in section: every depth from the top face, the worst case of each, and the tap at its stop.

Thread after ISO 6410-1: the crest of the tapped thread (the drilled wall) as a wide line, its root as a narrow one.
Depths run from the top face at the left (running dimensions, ISO 129-1); what lies between them is named at the right.
"""

import numpy as np

from tapkit.drawing import dims, style
from tapkit.drawing.holesection import HoleSection
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.messages import Sentence, _, length, said
from tapkit.planning.holeask import WORDS
from tapkit.planning.holeplan import HolePlan
from tapkit.planning.holeplan import depth as depth_of

LEFT, RIGHT, TOP, BOTTOM = 148.0, 132.0, 10.0, 26.0
WALL, ABOVE, FLOOR = 0.55, 0.55, 0.35
"""Metal beside the hole, tap above the face, metal under the drill's cone, as shares of the major diameter."""


@drawn()
def draw_holeplan(pen: Pen, plan: HolePlan) -> None:
    """The planned hole in section with its depths."""
    page = _Page(pen, plan)
    _part(pen, page)
    _tap(pen, page)
    _thread(pen, page)
    _worst_cases(pen, page)
    _depths(pen, page, pen.memory["system"])
    _between(pen, page)
    _widths(pen, page)


def describe_holeplan(plan: HolePlan, system: str = "metric") -> str:
    """One or two sentences on the plan; also the alt text."""
    return said(plan.in_words(), system)


class _Page(HoleSection):
    """The section of a planned hole."""

    def __init__(self, pen: Pen, plan: HolePlan) -> None:
        self.plan, self.ask = plan, plan.ask
        d = plan.ask.thread.major
        self.above = ABOVE * d
        self.point = max(plan.ask.thread.major - 1.3 * plan.ask.thread.pitch, 0.3 * d)
        self.thickness = plan.ask.thickness
        deepest = plan.tap_deepest if plan.ask.is_through else plan.drill_point + plan.ask.tolerances.drill_depth
        self.bottom = self.thickness if self.thickness is not None else deepest + FLOOR * d
        self.lowest = max(self.bottom, deepest)
        self.outer = max(d / 2 + WALL * d, plan.ask.counterbore_diameter / 2 + 0.25 * d, self._mouth() + 0.2 * d)
        self.place(pen, (LEFT, RIGHT, TOP, BOTTOM))

    def _mouth(self) -> float:
        return max(self.ask.countersink_diameter, self.ask.counterbore_diameter, self.ask.drill) / 2

    def wall(self) -> np.ndarray:
        """Depth and distance from the axis down the wall of the hole, shape (n, 2) [mm]."""
        ask, plan, r = self.ask, self.plan, self.ask.drill / 2
        points = [(0.0, ask.counterbore_diameter / 2), (ask.start, ask.counterbore_diameter / 2)] if ask.start else []
        wide = ask.countersink_diameter / 2
        points += [(ask.start, wide), (ask.start + ask.countersink_depth, r)] if wide > r else [(ask.start, r)]
        points.append((min(plan.cylinder, self.lowest), r))
        if not ask.is_through:
            points.append((plan.drill_point, 0.0))
        return np.array(points)


def _part(pen: Pen, page: _Page) -> None:
    wall = page.wall()
    right, left = page.at(wall[:, 0], wall[:, 1]), page.at(wall[:, 0], -wall[:, 1])
    foot = page.metal(pen, left, right, np.vstack([left, right[::-1]]), page.ask.is_through)
    if not page.ask.is_through:
        if page.thickness is not None:
            pen.line(foot, "edge")
        pen.line([left[-2], right[-2]], "thin")
    page.axis(pen, page.lowest)


def _tap(pen: Pen, page: _Page) -> None:
    """The tap at its stop, as a plain outline with its chamfer."""
    plan, r, point = page.plan, page.ask.thread.major / 2, page.point / 2
    begin = plan.tap_depth - plan.chamfer
    half = [(-page.above, r), (begin, r), (plan.tap_depth, point)]
    if page.ask.center_length:
        half.append((plan.tap_depth + page.ask.center_length, 0.0))
    t, across = np.array(half).T
    body = np.vstack([page.at(t, across), page.at(t[::-1], -across[::-1])])
    pen.fill(body, style.STEEL, z=0.8)
    pen.line(body[1:-1], "thin", z=2.5)
    pen.line(page.at([begin, begin], [-r, r]), "hair", colour=style.SOFT_INK, z=2.5)
    for side in (-1, 1):
        pen.line(page.at([-page.above, page.ask.start], [side * r, side * r]), "thin", z=2.5)
        if page.ask.is_through and begin > page.bottom:
            pen.line(page.at([page.bottom, begin], [side * r, side * r]), "thin", z=2.5)


def _thread(pen: Pen, page: _Page) -> None:
    """Root of the thread as a narrow line, the end of full thread as a wide one (ISO 6410-1)."""
    ask, plan, r = page.ask, page.plan, page.ask.thread.major / 2
    end = min(plan.tap_depth - plan.chamfer, page.bottom) if ask.is_through else plan.tap_depth - plan.chamfer
    for side in (-1, 1):
        pen.line(page.at([ask.start, end], [side * r, side * r]), "thin")
    if not ask.threads_all_through:
        for side in (-1, 1):
            pen.line(page.at([end, end], [side * r, side * ask.drill / 2]), "edge")


def _worst_cases(pen: Pen, page: _Page) -> None:
    """Bands between least and most depth, and the drill's cone at its deepest."""
    plan, ask = page.plan, page.ask
    for row in plan.stack():
        if row.face != "top face" or row.most - row.least < 1e-9 or row.name == "counterbore floor":
            continue
        half = page.outer if row.name == "bottom face" else ask.drill / 2
        corners = page.at([row.least, row.least, row.most, row.most], [-half, half, half, -half])
        pen.fill(corners, style.COOL, alpha=0.75, z=0.9)
    more = ask.tolerances.drill_depth
    if not ask.is_through and more:
        t = [plan.cylinder + more, plan.drill_point + more, plan.cylinder + more]
        r = ask.drill / 2
        pen.line(page.at(t, [-r, 0, r]), "hidden", z=2.6)
    if plan.floor_left is not None and plan.floor_left < ask.floor:
        keep = page.y(page.bottom - ask.floor)
        x = page.scale * page.outer
        pen.line([(page.x - x, keep), (page.x + x, keep)], "hidden", colour=style.WARN, z=3.5)


ASKED = "asked to"
_NAMES = WORDS | {ASKED: _("full thread asked to")}
"""What the depths are called."""

# --- dimensions -----------------------------------------------------------------------------------------


def _depths(pen: Pen, page: _Page, system: str) -> None:
    """Running dimensions from the top face, at the left, one label to each depth."""
    plan = page.plan
    left_out = ("full thread", *(["drill point"] if page.ask.cone_depth < 1e-6 else []))
    stack = (r for r in plan.stack() if r.face == "top face" and r.name not in left_out)
    rows = [(r.nominal, r.name, max(r.most - r.nominal, 0.0)) for r in stack]
    if not page.ask.threads_all_through:
        rows.append((plan.full_thread_end, ASKED, 0.0))
    rows.sort()
    edge = page.x - page.scale * page.outer
    x = edge - 12
    pen.line([(edge - 3, page.face), (x - 5, page.face)], "thin")
    pen.line(np.array([x, page.face]) + 3.2 * _circle(), "thin", closed=True)
    pen.line([(x, page.face - 3.2), (x, page.y(rows[-1][0]))], "thin")
    tall = 2 * style.SMALL * 1.3 + 1
    middles = dims.spaced([page.y(t) for t, _, _ in rows], tall, BOTTOM - 6, min(page.face + 5, pen.height - 2))
    for (t, name, spread), at in zip(rows, middles):
        y = page.y(t)
        pen.line([(edge - 3, y), (x - 4, y)], "thin")
        pen.arrow((x, y), (0, -1), size=0.8)
        pen.line([(x - 4, y), (x - 12, at), (x - 15, at)], "thin")
        near = depth_of(spread).number(system)
        told = _("{depth} ±{spread}", depth=depth_of(t), spread=near) if spread > 1e-9 else depth_of(t)
        pen.text(x - 17, at + 0.5, _NAMES[name], size=style.SMALL, ha="right")
        pen.text(x - 17, at - 0.5, told, size=style.SMALL, ha="right", va="top")
    pen.text(x + 2, page.face + 6, _("0, top face"), size=style.SMALL, ha="right")


def _circle() -> np.ndarray:
    a = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    return np.column_stack([np.cos(a), np.sin(a)])


def _between(pen: Pen, page: _Page) -> None:
    """What lies between the depths, at the right, with the worst case where there is one."""
    spans = [s for s in _spans(page) if abs(s[1] - s[0]) > 1e-6]
    edge = page.x + page.scale * page.outer
    x = edge + 12
    tall = 2 * style.SMALL * 1.3 + 2
    middles = dims.spaced([page.y((a + b) / 2) for a, b, _, _ in spans], tall, BOTTOM - 6, pen.height - 2)
    for (a, b, words, wrong), at in zip(spans, middles):
        colour = style.WARN if wrong else style.INK
        top, low = page.y(min(a, b)), page.y(max(a, b))
        for y in (top, low):
            pen.line([(edge - 2, y), (x + 4, y)], "thin")
        pen.line([(x, top), (x, low)], "edge" if wrong else "thin", colour=colour)
        if top - low > dims.TIGHT * 0.8:
            pen.arrow((x, top), (0, 1), colour=colour)
            pen.arrow((x, low), (0, -1), colour=colour)
        pen.line([(x, (top + low) / 2), (x + 9, at), (x + 12, at)], "thin")
        pen.text(x + 14, at, words, size=style.SMALL, va="center", colour=colour, bold=wrong)


def _spans(page: _Page) -> list[tuple[float, float, Sentence, bool]]:
    """Stretches down the hole as (from, to, words, whether it is wrong)."""
    plan, ask = page.plan, page.ask
    rows = {r.name: r for r in plan.stack()}
    end = plan.tap_depth - plan.chamfer
    if ask.threads_all_through:
        spans = [(ask.start, page.bottom, _("full thread\n{length}", length=depth_of(page.bottom - ask.start)), False)]
        out = plan.sticks_out
        wrong = not plan.fits
        told = _("tap out {length}", length=depth_of(out))
        if ask.room_below is not None:
            told = _("tap out {length}\nroom {room}", length=depth_of(out), room=depth_of(ask.room_below))
        return [*spans, (page.bottom, plan.tap_depth, told, wrong)]
    full = rows["full thread"]
    spans = [
        (ask.start, end, _("full thread\n≥ {length}", length=depth_of(full.least)), False),
        (end, plan.tap_depth, _("incomplete\n{length}", length=depth_of(plan.chamfer)), False),
    ]
    if ask.is_through:
        return spans
    free = rows["free ahead of the tap"]
    told = _("free\n≥ {length}", length=depth_of(free.least))
    spans.append((plan.tap_depth, plan.cylinder, told, free.least < -1e-9))
    if ask.cone_depth > 1e-6:
        told = _("drill's cone\n{length}", length=depth_of(ask.cone_depth))
        spans.append((plan.cylinder, plan.drill_point, told, False))
    if plan.floor_left is not None:
        told = _("floor {left}\nasked {asked}", left=depth_of(plan.floor_left), asked=depth_of(ask.floor))
        spans.append((plan.drill_point, page.bottom, told, not plan.fits))
    return spans


def _widths(pen: Pen, page: _Page) -> None:
    """Drill and thread named below the section."""
    ask = page.ask
    drill = length(ask.drill, decimals=2, inch_decimals=4)
    told = _("{thread}, drill ⌀ {drill}", thread=ask.thread.designation, drill=drill)
    pen.text(page.x, 4, told, size=style.TEXT, ha="center")
    t = ask.tolerances
    if t.drill_depth or t.tap_depth or t.thickness:
        swatch = pen.rectangle(Box(8, 6, 26, 15), style.COOL)
        pen.line(swatch, "hair", closed=True)
        pen.text(31, 10.5, _("worst case"), size=style.SMALL, va="center")
