"""One tooth and its chip: the flute's slant on the tap, the edge's inclination with the chip going over it like paper
over a tilted ruler, and the chip's axial angle. All directions are the computed vectors."""

import math
from functools import lru_cache

import numpy as np

from tapkit.drawing import dims, style
from tapkit.drawing.edgemap import chip_on_map
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.drawing.tapside import SideView, best_turn, draw_lands, draw_ridges, lands_of
from tapkit.drawing.words import signed
from tapkit.geometry.solid import solid
from tapkit.geometry.tap import Tap
from tapkit.mechanics.chipflow import AHEAD, TO_SHANK, UNDECIDED, ChipFlow, chamfer_edge, chip_flow, face_normal
from tapkit.messages import Sentence, _, angle, of_table, text
from tapkit.operation import Operation

SCALE_FROM, SCALE_TO = -45, 50
"""Axial rakes on the scale below the pictures [deg]."""
FOOT = 74.0
"""Height of the scale and its words [pt]."""
EYE, ASIDE = 40.0, 9.0
"""The eye looks at the tooth from the front, so high above the floor and so far aside [deg]."""
WAY_COLOURS = {AHEAD: (style.FLUTES[1], "rising"), UNDECIDED: (style.PAPER, "none"), TO_SHANK: (style.COOL, "level")}
ENDS = {AHEAD: _("ahead"), UNDECIDED: _("undecided"), TO_SHANK: _("to the shank")}


@drawn()
def draw_lean(pen: Pen, job: Operation) -> None:
    """Tap, tooth and chip side by side, and the scale of all flutes below."""
    left, right = 0.24 * pen.width, 0.735 * pen.width
    _tap(pen, job.tap, Box(8, FOOT, left, pen.height - 26))
    _tooth(pen, job, Box(left + 12, FOOT, right, pen.height - 26))
    _level(pen, job, Box(right + 16, FOOT, pen.width - 10, pen.height - 26))
    _scale(pen, job, Box(120, 26, pen.width - 40, 46))


def describe_lean(job: Operation, system: str = "metric") -> str:
    """What the picture shows, in words; also the alt text."""
    flow, tap = job.chip_flow, job.tap
    flutes = _("{form}, axial rake {rake}.", form=of_table(tap.form.printed), rake=signed(tap.axial_rake, 0))
    lean = _("The edge has an inclination of {inclination}.", inclination=signed(flow.inclination))
    return text(flutes, lean, _verdict(flow)).said(system)


def _verdict(flow: ChipFlow) -> Sentence:
    """The chip's way and why, in a sentence."""
    axial = signed(flow.axial_angle)
    if flow.direction == TO_SHANK:
        return _(
            "Its end at the point goes first, so the chip slides up, toward the shank: axial angle {axial}.",
            axial=axial,
        )
    if flow.direction == AHEAD:
        return _(
            "Its end at the shank goes first, so the chip slides down, ahead of the point: axial angle {axial}.",
            axial=axial,
        )
    return _("That leaves the way of the chip undecided: axial angle {axial}. Friction and curl decide.", axial=axial)


def _by(*parts: float) -> np.ndarray:
    return np.array(parts, float)


# --- the tap ---------------------------------------------------------------------------------------------


def _title(pen: Pen, box: Box, words: Sentence) -> None:
    pen.text((box.left + box.right) / 2, box.top + 8, words, ha="center", bold=True)


def _tap(pen: Pen, tap: Tap, box: Box) -> None:
    """The tap standing point down, as one sees it from outside; its cutting edge against the axis."""
    _title(pen, box, _("the tap"))
    s, length = solid(tap), tap.chamfer_length + 4 * tap.thread.pitch
    scale = min((box.top - box.bottom - 40) / length, (box.right - box.left - 74) / tap.thread.major)
    view = SideView(
        box.left + scale * tap.thread.major / 2 + 6, box.bottom + 20, scale, length, best_turn(s), 1.0, True
    )
    lands = lands_of(view, s)
    draw_lands(pen, view, s, lands)
    draw_ridges(pen, view, s)
    pen.line([(view.x, view.y - 8), (view.x, view.y + scale * length + 8)], "centre", z=3.6)
    pen.text(view.x, box.bottom + 8, _("point"), ha="center", va="top", size=style.SMALL)
    reach = 0.66 * min(scale * length, 110.0)
    lean = math.radians(90 - tap.axial_rake)
    aside = max(-math.cos(lean), 0.0) * reach
    foot = np.array([view.x + scale * tap.thread.major / 2 + 15 + aside, view.y + 10])
    pen.line([foot, foot + _by(0, reach)], "centre")
    pen.line([foot, foot + reach * np.array([math.cos(lean), math.sin(lean)])], "bold", colour=style.ACCENT)
    if tap.axial_rake:
        dims.arc(pen, foot, 0.6 * reach, min(90, 90 - tap.axial_rake), max(90, 90 - tap.axial_rake))
    pen.text(foot[0], foot[1] + reach + 4, angle(abs(tap.axial_rake)), ha="center", bold=True, paper=True)


# --- one tooth: the ruler and the paper ---------------------------------------------------------------------


class _Floor:
    """The tooth from its front: the floor is the surface being cut, in it lie the cut and, level on the sheet, the
    line square to the cut; the edge leans from that line by its inclination."""

    def __init__(self, job: Operation, box: Box) -> None:
        angles = job.edge_angles
        k = math.radians(angles["chamfer_angle"])
        self.frame = np.array(
            [[math.sin(k), 0, math.cos(k)], [0, 1, 0], [-math.cos(k), 0, math.sin(k)]]
        )  # toward the shank, the cut, up from the floor: rows in (radial, cutting, axial)
        self.edge = self.frame @ chamfer_edge(**angles)
        self.normal = self.frame @ face_normal(radial_rake=angles["radial_rake"], axial_rake=angles["axial_rake"])
        self.chip = self.frame @ np.array(job.chip_flow.vector)
        wide, high = box.right - box.left, box.top - box.bottom
        self.centre, self.size = np.zeros(2), 1.0
        top = max(self.at(*(self.behind(p) for p in self.ends_and_top()[1]))[:, 1])
        self.size = min(0.335 * wide, 0.45 * high, (0.58 * high - 4) / top)
        self.centre = np.array([box.left + 0.44 * wide, box.bottom + 0.42 * high])

    def at(self, *points) -> np.ndarray:
        """Points (along, ahead, up) on the sheet; the tooth comes toward the eye."""
        along, ahead, up = np.asarray(points, float).reshape(-1, 3).T
        a, e = math.radians(ASIDE), math.radians(EYE)
        across = along * math.cos(a) - ahead * math.sin(a)
        near = along * math.sin(a) + ahead * math.cos(a)
        return self.centre + self.size * np.stack([across, up * math.cos(e) - near * math.sin(e)], axis=-1)

    def on_edge(self, along: float) -> np.ndarray:
        """The point of the edge's line at a distance from the middle."""
        return self.edge * (1.06 * along)

    def ends_and_top(self) -> tuple[list[np.ndarray], list[np.ndarray]]:
        """Both ends of the edge, and the points of the face over them."""
        ends = [self.on_edge(-1.0), self.on_edge(1.0)]
        return ends, [self.up_face(p, 0.85) for p in ends]

    def behind(self, point: np.ndarray) -> np.ndarray:
        """The point of the tooth's back behind one of its face."""
        return point + _by(0.0, -0.32, 0.0)

    def up_face(self, foot: np.ndarray, high: float) -> np.ndarray:
        """The point of the face right over or behind a point of it, so high above the floor."""
        back = -self.normal[2] / self.normal[1] * high
        return foot + _by(0.0, back, high)


def _tooth(pen: Pen, job: Operation, box: Box) -> None:
    """Floor, tooth and chip."""
    _title(pen, box, _("one tooth: its edge is the ruler, its chip the paper"))
    floor = _Floor(job, box)
    ground = floor.at((-1.15, -0.9, 0), (1.15, -0.9, 0), (1.15, 1.15, 0), (-1.15, 1.15, 0))
    pen.fill(ground, style.PART, z=0.5)
    pen.line(ground, "thin", closed=True, z=0.6)
    ends, top = floor.ends_and_top()
    _body(pen, floor, ends, top)
    _paper(pen, floor, job)
    pen.line(floor.at(*ends), "cutting", colour=style.ACCENT, z=3.4)
    _inclination(pen, floor, job)
    cut = floor.at((-0.95, 0.72, 0), (-0.95, 1.06, 0))
    pen.line(cut, "bold")
    pen.arrow(cut[1], cut[1] - cut[0], size=1.4)
    pen.text(*(cut[1] + _by(-6, 6)), _("cut"), size=style.SMALL, ha="right")
    for along, words in ((-1.12, _("point")), (1.12, _("shank"))):
        x, y = floor.at((along, 1.15, 0))[0]
        pen.text(x, y - 3, words, size=style.SMALL, ha="center", va="top")


def _body(pen: Pen, floor: _Floor, ends: list, top: list) -> None:
    """The tooth: its face, and what of its back is in sight."""
    behind = [floor.behind(p) for p in top]
    for ring, colour, z in (
        ([top[0], top[1], behind[1], behind[0]], style.STEEL, 1.0),
        ([*ends, *reversed(top)], style.STEEL_FACE, 1.5),
    ):
        pen.fill(floor.at(*ring), colour, z=z)
        pen.line(floor.at(*ring), "thin", closed=True, z=z + 0.1)
    side = 1 if ASIDE < 0 else 0
    ring = [ends[side], top[side], behind[side], floor.behind(ends[side])]
    pen.fill(floor.at(*ring), style.STEEL_DARK, z=1.2)
    pen.line(floor.at(*ring), "thin", closed=True, z=1.3)


def _paper(pen: Pen, floor: _Floor, job: Operation) -> None:
    """A strip of paper in place of the chip: over the floor to the edge, then up the face as the chip goes."""
    sides = [floor.on_edge(-0.26), floor.on_edge(0.26)]
    reach = 0.95
    near = [p + _by(0.0, 1.0 - p[1], 0.0) for p in sides]
    far = [p + reach * floor.chip for p in sides]
    pen.fill(floor.at(*near, *reversed(sides)), style.CHIP_LIGHT, z=2.0)
    pen.fill(floor.at(*sides, *reversed(far)), style.CHIP_LIGHT, z=2.2)
    for a, b, c in zip(near, sides, far):
        pen.line(floor.at(a, b, c), "thin", z=2.5)
    pen.line(floor.at(*far), "thin", z=2.5)
    pen.line(floor.at((0, 0, 0), floor.up_face(np.zeros(3), 0.85)), "centre", z=3.0)
    tail, tip = floor.at((0, 0.75, 0))[0], floor.at(0.9 * floor.chip)[0]
    kind = "bold dashed" if job.chip_flow.direction == UNDECIDED else "bold"
    before = floor.at(0.8 * floor.chip)[0]
    pen.line([tail, floor.at((0, 0, 0))[0], before], kind, colour=style.CHIP, z=3.3)
    pen.arrow(tip, tip - before, colour=style.CHIP, size=1.8)


def _inclination(pen: Pen, floor: _Floor, job: Operation) -> None:
    """The angle between the edge and the level line in the floor."""
    lean = math.radians(job.chip_flow.inclination)
    pen.line(floor.at((-1.1, 0, 0), (1.1, 0, 0)), "centre", z=3.2)
    turn = np.linspace(0, lean, 16)
    arc = floor.at(*np.column_stack([0.8 * np.cos(turn), 0.8 * np.sin(turn), 0 * turn]))
    pen.line(arc, "bold", z=3.5)
    x, y = floor.at((0.86 * math.cos(lean / 2) + 0.06, 0.86 * math.sin(lean / 2), 0))[0]
    words = _("inclination\n{angle}", angle=signed(job.chip_flow.inclination))
    pen.text(
        max(x, floor.at(floor.on_edge(1.0))[0][0]) + 8,
        y,
        words,
        va="center",
        bold=True,
        colour=style.ACCENT,
        paper=True,
    )


# --- the chip on the tap -----------------------------------------------------------------------------------


def _level(pen: Pen, job: Operation, box: Box) -> None:
    """The chip against the plane square to the axis, the shank up."""
    _title(pen, box, _("the chip on the tap"))
    flow, wide, high = job.chip_flow, box.right - box.left, box.top - box.bottom
    centre, reach = np.array([box.left + 0.68 * wide, box.bottom + 0.5 * high]), 0.58 * wide
    pen.line([centre - (1.12 * reach, 0), centre + _by(0.4 * reach, 0)], "centre")
    pen.line([centre - (0, 0.34 * high), centre + _by(0, 0.34 * high)], "centre")
    ahead, up = chip_on_map(flow.vector)
    way, lean = np.array([-ahead, up]), math.radians(job.tap.axial_rake)
    edge = 0.3 * high * np.array([math.sin(lean), math.cos(lean)])
    away = -1 if flow.axial_angle >= 0 else 1
    pen.line([centre + 0.15 * away * edge, centre - away * edge], "cutting", colour=style.ACCENT)
    tip = centre + reach * way
    kind = "bold dashed" if flow.direction == UNDECIDED else "bold"
    pen.line([centre, tip - 9 * way], kind, colour=style.CHIP, z=3.8)
    pen.arrow(tip, way, colour=style.CHIP, size=2.0)
    a = 180 - flow.axial_angle
    dims.arc(pen, centre, 0.78 * reach, min(a, 180), max(a, 180))
    words = _("axial angle {angle}", angle=signed(flow.axial_angle))
    y = centre[1] + away * 22
    pen.text(box.left, y, words, va="center", bold=True, colour=style.CHIP, paper=True)
    for level, end, va in ((box.top - 4, _("shank"), "top"), (box.bottom + 6, _("point"), "bottom")):
        pen.text(centre[0], level, end, ha="center", va=va, size=style.SMALL, paper=True)


# --- all flutes on one scale -------------------------------------------------------------------------------


def _scale(pen: Pen, job: Operation, box: Box) -> None:
    """Where the chips go for every axial rake, with the present one marked."""

    def across(axial: float) -> float:
        return box.left + (axial - SCALE_FROM) / (SCALE_TO - SCALE_FROM) * (box.right - box.left)

    angles = job.edge_angles
    for way, low, high in _bands(angles["radial_rake"], angles["chamfer_angle"]):
        colour, hatch = WAY_COLOURS[way]
        corners = pen.rectangle(Box(across(low), box.bottom, across(high), box.top), colour, "thin")
        if hatch != "none":
            pen.hatch(corners, {"rising": 45, "level": 0}[hatch], 6.0, colour=style.SOFT_INK, z=1.2)
        pen.text(
            (across(low) + across(high)) / 2,
            (box.bottom + box.top) / 2,
            ENDS[way],
            ha="center",
            va="center",
            paper=True,
        )
    pen.text(box.left - 8, (box.bottom + box.top) / 2, _("chips go"), ha="right", va="center")
    for axial, words in ((-30.0, _("left-hand flute")), (0.0, _("straight")), (30.0, _("spiral flute"))):
        pen.line([(across(axial), box.bottom), (across(axial), box.bottom - 5)], "thin")
        pen.text(across(axial), box.bottom - 7, words, ha="center", va="top", size=style.SMALL)
    x = across(job.tap.axial_rake)
    pen.line([(x, box.bottom - 4), (x, box.top + 6)], "cutting", colour=style.ACCENT, z=5)
    pen.arrow((x, box.top), (0, -1), colour=style.ACCENT, size=1.6, z=5)


@lru_cache(maxsize=64)
def _bands(radial_rake: float, chamfer_angle: float) -> tuple[tuple[str, float, float], ...]:
    """Runs of axial rakes that send the chip the same way: way, from, to [deg]."""
    runs: list[list] = []
    for axial in range(SCALE_FROM, SCALE_TO + 1):
        way = chip_flow(radial_rake=radial_rake, axial_rake=float(axial), chamfer_angle=chamfer_angle).direction
        if runs and runs[-1][0] == way:
            runs[-1][2] = float(axial)
        else:
            runs.append([way, runs[-1][2] if runs else float(axial), float(axial)])
    return tuple(map(tuple, runs))
