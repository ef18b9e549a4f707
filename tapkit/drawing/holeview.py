"""The hole in section with the tap at a depth: full and incomplete thread, clearance, drill cone, chips."""

import math

import numpy as np

from tapkit.drawing import dims, style, tapside
from tapkit.drawing.chipmarks import CELL, draw_chips, scatter
from tapkit.drawing.holesection import HoleSection
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.drawing.words import brief, hole_words
from tapkit.geometry.solid import solid
from tapkit.mechanics import chiproom, torque
from tapkit.mechanics.chipflow import AHEAD
from tapkit.mechanics.toothload import reground
from tapkit.messages import Quantity, Sentence, _, length, rough_depth, text
from tapkit.operation import Operation

LEFT, RIGHT, TOP, BOTTOM = 54.0, 122.0, 12.0, 34.0
WALL, ABOVE, FLOOR = 0.45, 0.62, 0.30
"""Metal beside the hole, tap above the face, and metal under the drill's cone, as shares of the major diameter."""


@drawn(chips=True)
def draw_holeview(pen: Pen, job: Operation, depth: float | None = None) -> None:
    """The hole with the tap's point at a depth below the top face [mm]; None for the end of the cut."""
    page = _Page(pen, job, depth)
    _part(pen, page)
    _tap(pen, page)
    if pen.memory["chips"]:
        _chips(pen, page)
    _drawn_lengths(pen, page)
    _jam(pen, page)


def describe_holeview(job: Operation, depth: float | None = None, *, system: str = "metric") -> str:
    """One or two sentences on the hole and the tap in it; also the alt text."""
    deep = end_of_cut(job) if depth is None else depth
    tap, hole = reground(job.tap, job.faults), job.hole
    full = max(0.0, min(deep - tap.chamfer_length, hole.depth))
    out, left = deep - hole.depth, max(hole.depth - deep, 0)
    ends = None
    if not hole.is_through:
        ends = _("{length} are left to the end of the cylinder.", length=brief(left, "length"))
    elif out > 0:
        ends = _("The tap stands {length} out below.", length=brief(out, "length"))
    return text(
        _(
            "The point of the tap is {depth} below the top face; {hole}.",
            depth=brief(deep, "length"),
            hole=hole_words(hole),
        ),
        _("Full thread so far: {length}.", length=brief(full, "length")),
        ends,
        _jams(job, deep),
    ).said(system)


def _jams(job: Operation, deep: float) -> Sentence | None:
    """Where chips jam, seen from where the point is."""
    at = job.chip_room.jams_at
    if at is None:
        return None
    told = rough_depth(at)
    if deep < at:
        return _("From {depth} on chips jam, as the line in the picture marks.", depth=told)
    return _("It is past {depth}, from where chips jam, as the line in the picture marks.", depth=told)


def end_of_cut(job: Operation) -> float:
    """Depth of the point at the end of the cut [mm]."""
    return torque.deepest_point(job.slices, job.hole, job.tap.thread.pitch)


class _Page(HoleSection):
    """The section of a hole that is being tapped."""

    def __init__(self, pen: Pen, job: Operation, depth: float | None) -> None:
        self.job, self.tap, self.hole = job, reground(job.tap, job.faults), job.hole
        self.solid = solid(self.tap, job.faults.first_tooth)
        d, self.end = self.tap.thread.major, end_of_cut(job)
        self.depth = self.end if depth is None else min(max(float(depth), 0.0), self.end)
        self.above = max(ABOVE * d, 3 * self.tap.thread.pitch)
        self.bottom = self.hole.depth + (0 if self.hole.is_through else self.hole.cone_depth + FLOOR * d)
        self.lowest = max(self.end, self.bottom) if self.hole.is_through else self.bottom
        self.outer = d / 2 + WALL * d
        self.place(pen, (LEFT, RIGHT, TOP, BOTTOM))
        turn = tapside.best_turn(self.solid) - 2 * math.pi * (self.end - self.depth) / self.tap.thread.pitch
        self.view = tapside.SideView(
            x=self.x,
            y=self.y(self.depth),
            scale=self.scale,
            length=self.depth + self.above,
            turn=turn % (2 * math.pi),
            up=1.0 if self.tap.thread.hand == "right" else -1.0,
            standing=True,
        )

    def wall(self, side: float) -> np.ndarray:
        """The wall of the hole from the top face down to the end of the cylinder, on the side −1 or +1."""
        cut = min(self.depth, self.hole.depth)
        t = np.linspace(0, cut, int(24 * cut / self.tap.thread.pitch) + 2)
        theta = -side * self.view.up * math.pi / 2 - self.view.turn
        r = np.maximum(self.solid.thread(theta, self.depth - t), self.hole.diameter / 2)
        t, r = np.append(t, [cut, self.hole.depth]), np.append(r, [self.hole.diameter / 2] * 2)
        return self.at(t, side * r)


def _part(pen: Pen, page: _Page) -> None:
    """The part in section: hatched metal about the hole, free-hand breaks at the sides."""
    left, right = page.wall(-1), page.wall(1)
    cone = page.at([page.hole.depth + page.hole.cone_depth], [0.0])
    void = np.vstack([left, *([] if page.hole.is_through else [cone]), right[::-1]])
    foot = page.metal(pen, left, right, void, page.hole.is_through)
    if not page.hole.is_through:
        pen.line(foot, "edge")
        pen.line(np.vstack([left[-1:], cone, right[-1:]]), "edge")
        pen.line([left[-1], right[-1]], "thin")


def _tap(pen: Pen, page: _Page) -> None:
    """The tap, not cut by the section plane as ISO 128-3 has it for tools and shafts."""
    view, s = page.view, page.solid
    lands = tapside.lands_of(view, s)
    tapside.draw_lands(pen, view, s, lands, kind="thin")
    tapside.draw_ridges(pen, view, s)
    tapside.draw_ends(pen, view, s, lands)
    page.axis(pen, max(page.lowest, page.bottom))


def _chips(pen: Pen, page: _Page) -> None:
    """Loose chips where the ledger of chip room has them at this depth."""
    room, d = page.job.chip_room, page.depth
    if float(np.interp(d, room.depth, room.solid)) <= 0:
        return
    loose = float(np.interp(d, room.depth, room.loose_low))
    r, through = page.hole.diameter / 2 - 5 / page.scale, page.hole.is_through
    if room.fate == chiproom.BELOW:
        space = float(np.interp(d, room.depth, room.room_below))
        box = Box(*page.at(page.hole.depth + 0.6 * page.hole.cone_depth, -r)[0], *page.at(d, r)[0])
        inside, share = _in_hole, loose / space if space > 0 else 1.0
    elif through and page.job.chip_flow.direction == AHEAD:
        box = Box(*page.at(page.lowest, -r)[0], *page.at(d, r)[0])
        inside, share = _anywhere, 0.35
    else:
        stays = room.fate == chiproom.STAYS
        space = float(np.interp(d, room.depth, room.room_flutes))
        box = Box(*page.at(d, -r)[0], *page.at(0 if stays else -page.above, r)[0])
        inside, share = _in_flute, (0.8 if stays else 0.5) * loose / space if space > 0 else 0.5
    places = scatter(_how_many(box, share, page.job.workpiece.chips), box)
    draw_chips(pen, places[inside(page, places)], page.job.workpiece.chips)


def _jam(pen: Pen, page: _Page) -> None:
    """A line across the hole at the depth of the point from which chips jam, and one along the wall beyond it."""
    at = page.job.chip_room.jams_at
    if at is None:
        return
    y, low = page.y(at), page.y(page.end)
    reach = page.scale * (page.tap.thread.major / 2) + 8
    pen.line([(page.x - reach, y), (page.x + reach, y)], "phantom", colour=style.WARN, z=4.6)
    pen.lines([[(page.x + s * reach, y), (page.x + s * reach, low)] for s in (-1, 1)], "edge", colour=style.WARN)
    told = _("chips jam\nfrom {depth}", depth=rough_depth(at))
    x = page.x + page.scale * page.outer + 33
    spots = [(x, y + step, "left", "center") for step in (0, 22, -22, 36, -36, 56, -56, 80, -80)]
    box = pen.place(told, spots, size=style.SMALL, bold=True, colour=style.WARN)
    if box is not None:
        pen.line([(page.x + reach, y), (x - 6, (box.bottom + box.top) / 2), (x - 2, (box.bottom + box.top) / 2)],
                 "thin", colour=style.WARN)  # fmt: skip


def _anywhere(page: _Page, places: np.ndarray) -> np.ndarray:
    return np.ones(len(places), bool)


def _how_many(box: Box, share: float, kind: str) -> int:
    area = max(box.right - box.left, 0) * max(box.top - box.bottom - 4, 0)
    return int(min(share, 1.0) * area / CELL[kind] ** 2)


def _in_hole(page: _Page, places: np.ndarray) -> np.ndarray:
    """Whether places lie inside the drilled hole, cone included."""
    t = (page.face - places[:, 1]) / page.scale
    across = np.abs(places[:, 0] - page.x) / page.scale
    cone = page.hole.diameter / 2 * (page.hole.depth + page.hole.cone_depth - t) / max(page.hole.cone_depth, 1e-6)
    return across < np.minimum(page.hole.diameter / 2, cone) - 3 / page.scale


def _in_flute(page: _Page, places: np.ndarray) -> np.ndarray:
    """Whether places lie in a flute that faces the eye."""
    s, view = page.solid, page.view
    z = (places[:, 1] - view.y) / view.scale
    y = np.clip((view.x - places[:, 0]) / view.scale * view.up / s.outer, -0.9, 0.9)
    _r, off = s.place(np.arcsin(y) - view.turn, z)
    return (np.abs(off) < 0.72 * s.flute.half_angle) & (np.abs(y) < 0.85) & (z > 0)


def _digits(page: _Page) -> int:
    """Decimals at which the lengths down the hole add up to its depth as they are printed: one, or else two."""
    inside = [b - a for a, b, _words in _spans(page) if b <= page.hole.depth]
    return 1 if all(abs(v - round(v, 1)) < 1e-6 for v in (*inside, page.hole.depth)) else 2


def _drawn_lengths(pen: Pen, page: _Page) -> None:
    """Lengths down the hole in a chain at the right, named beside it; the drilled depth at the left; the hole below."""

    digits = _digits(page)

    def show(v: float) -> Quantity:
        return length(v, decimals=digits, inch_decimals=3)

    x = page.x + page.scale * page.outer + 14
    right = page.x + page.scale * page.outer
    spans = [(a, b, w) for a, b, w in _spans(page) if b - a > 0.02]
    for t in sorted({round(v, 6) for a, b, _words in spans for v in (a, b)}):
        y = page.y(t)
        pen.line([(right + 2, y), (x + 5, y)], "thin")
    middles = []
    for a, b, _words in spans:
        y0, y1 = page.y(b), page.y(a)
        pen.line([(x, y0), (x, y1)], "thin")
        if y1 - y0 > dims.TIGHT * 0.8:
            pen.arrow((x, y0), (0, -1))
            pen.arrow((x, y1), (0, 1))
        middles.append((y0 + y1) / 2)
    tall = 2.5 * style.SMALL * 1.17 + 2
    for (a, b, words), y, at in zip(spans, middles, dims.spaced(middles, tall, 4, pen.height - 4)):
        pen.line([(x, y), (x + 12, at), (x + 16, at)], "thin")
        pen.text(x + 19, at, _("{what}\n{length}", what=words, length=show(b - a)), size=style.SMALL, va="center")
    top, deep = page.face, page.y(page.hole.depth)
    deep_hole = show(page.hole.depth)
    words = _("part {depth}", depth=deep_hole) if page.hole.is_through else _("drilled {depth}", depth=deep_hole)
    left = page.x - page.scale * page.outer
    half = page.scale * page.hole.diameter / 2
    dims.vertical(pen, left - 16, deep, top, words, start=(page.x - half, left))
    _hole_width(pen, page, length(page.hole.diameter, decimals=2, inch_decimals=4))


def _hole_width(pen: Pen, page: _Page, diameter: Quantity) -> None:
    half = page.scale * page.hole.diameter / 2
    y = page.y(page.lowest) - 22
    start = page.y(page.hole.depth)
    dims.horizontal(
        pen, page.x - half, page.x + half, y, _("⌀ {diameter}", diameter=diameter), start=(start, start), side="left"
    )


def _spans(page: _Page) -> list[tuple[float, float, Sentence]]:
    """Stretches down the hole as (from, to, words), depths in mm."""
    d, hole = page.depth, page.hole
    full = min(max(d - page.tap.chamfer_length, 0.0), hole.depth)
    inside = min(d, hole.depth)
    spans = [(0.0, full, _("full thread")), (full, inside, _("incomplete"))]
    if hole.is_through:
        spans.append((inside, hole.depth, _("not yet cut")))
        return [*spans, (hole.depth, d, _("tap stands out"))]
    spans.append((inside, hole.depth, _("clearance") if d >= page.end - 1e-6 else _("below the point")))
    return [*spans, (hole.depth, hole.depth + hole.cone_depth, _("drill point"))]
