"""The edge map: the lands of a tap unrolled flat, point down, with every tooth and the way its chip leaves.

Seen from outside: the circumference lies level, the axis upright. A right-hand tap cuts to the left; each later flute
stands one place to the right, its teeth P/Z higher. An arrow leaves each cutting tooth into the flute ahead of it.
A level arrow would run square to the axis; it leans by the axial angle of the computed chip vector.
"""

import math

import numpy as np

from tapkit.drawing import dims, style
from tapkit.drawing.label import text_width
from tapkit.drawing.pen import Pen, drawn
from tapkit.drawing.words import fine_length, signed
from tapkit.geometry.solid import solid
from tapkit.geometry.thread import SQRT3
from tapkit.mechanics.chipflow import AHEAD, TO_SHANK, UNDECIDED
from tapkit.mechanics.toothload import reground
from tapkit.messages import _, angle, threads_of
from tapkit.operation import Operation

LEFT, RIGHT, TOP, BOTTOM = 64.0, 30.0, 60.0, 26.0
SHORTEST, LONGEST, WIDEST = 14.0, 62.0, 150.0
"""Length of the chip arrows [pt], from no load to the largest chip, and the widest flute drawn."""


WAYS = {
    TO_SHANK: _("chips: toward the shank"),
    AHEAD: _("chips: ahead of the point"),
    UNDECIDED: _("chips: undecided"),
}
"""Where the chips go, as a label."""


@drawn()
def draw_edgemap(pen: Pen, job: Operation) -> None:
    """The unrolled lands with numbered teeth and chip arrows."""
    page = _Map(pen, job)
    for flute in range(1, job.tap.flutes + 1):
        _land(pen, page, job, flute)
    _chamfer_end(pen, page)
    _axial_rake(pen, page)
    _teeth(pen, page, job)
    _words(pen, job)


def chip_on_map(vector: tuple[float, float, float]) -> np.ndarray:
    """A chip vector (radial, cutting, axial) on the map, a unit vector (ahead, up).

    Radial and cutting part together count as "ahead", into the flute, so the arrow leans by the axial angle exactly.
    """
    radial, cutting, axial = vector
    return np.array([math.hypot(radial, cutting), axial])


class _Map:
    """Scale and places of the unrolled lands on the sheet; the flutes between are drawn as wide as the arrows need."""

    def __init__(self, pen: Pen, job: Operation) -> None:
        tap = self.tap = reground(job.tap, job.faults)
        self.solid = solid(tap, job.faults.first_tooth)
        last = float(job.tooth_loads.position.max(initial=tap.chamfer_length))
        self.height = max(tap.chamfer_length, last) + 1.1 * tap.thread.pitch
        self.mirror = 1.0 if tap.thread.hand == "right" else -1.0
        self.base = BOTTOM
        self.radius = tap.thread.major / 2
        land, lean = self.solid.land_angle * self.radius, -self.solid.twist * self.height * self.radius
        wide, high = pen.width - LEFT - RIGHT, pen.height - TOP - BOTTOM
        self.gap = max(min(LONGEST, wide / tap.flutes * 0.55), SHORTEST) + 14
        self.scale = min((wide - tap.flutes * self.gap) / (tap.flutes * land + abs(lean)), high / self.height)
        self.step = land * self.scale + self.gap
        spare = wide - tap.flutes * self.step - abs(lean) * self.scale
        more = min(max(spare, 0.0) / tap.flutes, WIDEST - self.gap)
        self.gap, self.step = self.gap + more, self.step + more
        leans_left = lean * self.mirror > 0
        self.zero = LEFT + (spare - more * tap.flutes) / 2 + (abs(lean) * self.scale if leans_left else 0)
        self.zero += self.gap if self.mirror > 0 else self.step - self.gap

    def at(self, flute: int, z, behind) -> np.ndarray:
        """Points on the sheet, shape (..., 2), at z [mm] and an angle behind the flute's own edge [rad]."""
        z, behind = np.broadcast_arrays(np.asarray(z, float), np.asarray(behind, float))
        place = flute - 1 if self.mirror > 0 else self.tap.flutes - flute
        x = self.zero + place * self.step + self.mirror * behind * self.radius * self.scale
        return np.stack([x, self.base + self.scale * z], axis=-1)

    def behind(self, z) -> np.ndarray:
        """How far the cutting edge lies behind the ungashed edge at the point [rad]."""
        return -self.solid.edge(0, self.radius, z)

    def edge(self, flute: int, z) -> np.ndarray:
        """Points of a flute's cutting edge."""
        return self.at(flute, z, self.behind(z))


def _land(pen: Pen, page: _Map, job: Operation, flute: int) -> None:
    """One land with its ridges, cutting edge, face and mark."""
    s = page.solid
    z = np.array([0.0, min(s.gash_end or page.height, page.height), page.height])
    lead, heel = page.edge(flute, z), page.at(flute, z, -s.heel(0, s.outer, z))
    pen.fill(np.vstack([lead, heel[::-1]]), style.STEEL_DARK, z=1)
    _crests(pen, page, flute)
    if s.gash:
        plain = page.at(flute, z, 0.0)
        pen.fill(np.vstack([lead, plain[::-1]]), style.STEEL_FACE, z=1)
        pen.line(plain, "hidden")
    pen.line(np.vstack([lead[-1], heel[-1]]), "thin")
    pen.line(np.vstack([lead[0], heel[0]]), "edge")
    pen.line(heel, "thin")
    pen.line(lead, "cutting", colour=style.ACCENT, z=3.2)
    x = (lead[0, 0] + heel[0, 0]) / 2
    pen.flute_mark(flute, x - 20, BOTTOM - 14, 10)
    pen.text(x - 11, BOTTOM - 14, _("flute {number}", number=flute), size=style.SMALL, va="center")


def _crests(pen: Pen, page: _Map, flute: int) -> None:
    """Flat tops of the teeth along one land, wider where the chamfer has cut them off."""
    s, p = page.solid, page.solid.pitch
    z0 = s.first_tooth + (flute - 1) * p / s.flutes
    share = np.linspace(0, 1, 5)
    middle = np.arange(z0 - p, page.height + p, p)[:, None] + p * share * s.land_angle / (2 * np.pi)
    cut = np.clip(s.outer - s.cone(middle), 0, s.outer - s.root)
    half = p / 16 + cut / SQRT3
    low, high = np.clip(middle - half, 0, page.height), np.clip(middle + half, 0, page.height)
    shown = (high > low).any(axis=1)
    sides = [page.at(flute, y, -s.land(0, share, y, threaded=False)[0]) for y in (low[shown], high[shown])]
    pen.fills(np.concatenate([sides[0], sides[1][:, ::-1]], axis=1), style.STEEL, z=1.2)
    for side in sides:
        pen.strands(side, np.ones(side.shape[:2], bool), "thin", z=1.4)


def _chamfer_end(pen: Pen, page: _Map) -> None:
    """The end of the chamfer across all lands, dimensioned at the left."""
    tap = page.tap
    y = page.base + page.scale * tap.chamfer_length
    pen.line([(LEFT - 30, y), (pen.width - RIGHT + 8, y)], "centre", z=3.5)
    threads = threads_of(tap.chamfer_threads)
    text = pen.say(_("{threads} = {length}", threads=threads, length=fine_length(tap.chamfer_length)))
    if text_width(text, style.TEXT) + 6 > y - page.base:
        text = pen.say(threads)
    dims.vertical(pen, LEFT - 36, page.base, y, text, start=(page.edge(1, 0.0)[0] - 4, LEFT - 30))


def _axial_rake(pen: Pen, page: _Map) -> None:
    """The lean of the last flute's edge against the axis."""
    tap = page.tap
    if tap.axial_rake == 0:
        return
    flute = tap.flutes if page.mirror > 0 else 1
    foot = page.edge(flute, 0.0)
    lean = 90 - page.mirror * tap.axial_rake
    reach = page.scale * page.height + 9
    pen.line([foot, (foot[0], foot[1] + reach + 6)], "thin", z=3.6)
    at = (foot[0], page.base + reach + 9, "center", "bottom")
    dims.angular(pen, foot, reach, 90, lean, angle(tap.axial_rake), at=at)


def _teeth(pen: Pen, page: _Map, job: Operation) -> None:
    """Numbers of the teeth, and the arrow of each chip."""
    loads, ahead = job.tooth_loads, chip_on_map(job.chip_flow.vector)
    biggest = float(loads.area.max(initial=1e-9))
    room = max(min(LONGEST, page.gap - 14), SHORTEST)
    spaced = page.scale * page.tap.thread.pitch > 14.5
    for n, flute, z, area, rubs, lost in zip(
        loads.number, loads.flute, loads.position, loads.area, loads.rubbing, loads.lost
    ):
        x, y = page.edge(int(flute), float(z))
        if spaced or (int(n) - 1) // job.tap.flutes % 2 == 0:
            _number(pen, page, x, y, str(int(n)), bool(lost))
        if area > 0 and not lost:
            length = SHORTEST + (room - SHORTEST) * area / biggest
            _chip(pen, np.array([x, y]), ahead * (-page.mirror, 1.0), length, bool(rubs))


def _number(pen: Pen, page: _Map, x: float, y: float, text: str, lost: bool) -> None:
    x = x + page.mirror * 15
    if lost:
        for side in (1, -1):
            pen.line([(x - 5, y - 5 * side), (x + 5, y + 5 * side)], "cutting", colour=style.WARN, z=4)
        return
    pen.text(x, y, text, size=style.SMALL, ha="center", va="center", paper=True)


def _chip(pen: Pen, start: np.ndarray, toward: np.ndarray, length: float, rubs: bool) -> None:
    tip = start + length * toward
    pen.line([start, tip - 8 * toward], "hidden" if rubs else "bold", colour=style.CHIP, z=3.8)
    pen.arrow(tip, toward, colour=style.CHIP, size=1.0 if rubs else 1.6)


def _words(pen: Pen, job: Operation) -> None:
    flow = job.chip_flow
    box = pen.text(8, pen.height - 8, WAYS[flow.direction], va="top", bold=True)
    pen.text(pen.width - 8, pen.height - 8, _("flutes drawn narrower"), va="top", ha="right", size=style.SMALL)
    angles = dict(inclination=signed(flow.inclination), axial=signed(flow.axial_angle))
    tail = _("inclination {inclination}, axial angle {axial}", **angles)
    pen.text(box.right + 14, pen.height - 8, tail, va="top")
