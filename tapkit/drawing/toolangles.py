"""The tool angles at one chamfer tooth, each in the view where it is seen true (ISO 3002-1)."""

import math
from typing import Any

import numpy as np

from tapkit.drawing import dims, style
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.drawing.words import signed
from tapkit.mechanics import rake
from tapkit.messages import Sentence, _, angle
from tapkit.operation import Operation

REACH = 0.40
"""Length of edges and faces as a share of a cell's smaller side."""
RELIEF = 6.0
"""Relief of the flank as drawn [deg]; it is not part of the model."""


@drawn()
def draw_toolangles(pen: Pen, job: Operation) -> None:
    """Four views of one tooth: chamfer angle, inclination, rake, and the chip's way on the face."""
    for cell, view in zip(_cells(pen), (_chamfer, _inclination, _rake, _face)):
        view(pen, cell, job)


def _cells(pen: Pen) -> list[Box]:
    """Four cells in a row, or two by two on a sheet that is not wide."""
    across = 4 if pen.width > 2.4 * pen.height else 2
    wide, high = pen.width / across, pen.height / (4 // across)
    corners = [(k % across * wide, pen.height - (k // across + 1) * high) for k in range(4)]
    for k in range(1, across):
        pen.line([(k * wide, 10), (k * wide, pen.height - 10)], "hair", colour=style.FAINT)
    if across == 2:
        pen.line([(10, high), (pen.width - 10, high)], "hair", colour=style.FAINT)
    return [Box(x, y, x + wide, y + high) for x, y in corners]


def _title(pen: Pen, cell: Box, text: Sentence, tail: Sentence) -> None:
    middle = (cell.left + cell.right) / 2
    pen.text(middle, cell.top - 8, text, ha="center", va="top", bold=True)
    pen.text(middle, cell.bottom + 6, tail, ha="center", bold=True, colour=style.ACCENT)


def _middle(cell: Box) -> tuple[np.ndarray, float]:
    centre = np.array([(cell.left + cell.right) / 2, (cell.bottom + cell.top) / 2])
    return centre, REACH * min(cell.right - cell.left, cell.top - cell.bottom - 40)


def _way(angle: float) -> np.ndarray:
    a = math.radians(angle)
    return np.array([math.cos(a), math.sin(a)])


def _letter(pen: Pen, centre: np.ndarray, radius: float, a0: float, a1: float, text: Any, outside: bool = True) -> None:
    """An angle's arc with its letter past the larger of the two directions, or past the smaller one."""
    small = math.radians(abs(a1 - a0)) * radius < 2.2 * style.ARROW_LENGTH
    clear = (2.2 * style.ARROW_LENGTH if small else 0.0) + 10
    past = math.degrees(clear / radius)
    x, y = centre + radius * _way(max(a0, a1) + past if outside else min(a0, a1) - past)
    dims.angular(pen, centre, radius, a0, a1, text, at=(x, y, "center", "center"))


def _chip(pen: Pen, edge: np.ndarray, along: np.ndarray, r: float) -> None:
    """The chip sliding up the face and curling away from it."""
    thick = 11.0
    away = np.array([-along[1], along[0]])
    length = np.linspace(0, 0.62 * r, 2)[:, None]
    turn = np.linspace(0, 1.1, 14)[:, None]
    bend = 0.55 * r

    def side(off: float) -> np.ndarray:
        centre = edge + length[-1] * along + bend * away
        curl = centre + (bend - off) * (np.sin(turn) * along - np.cos(turn) * away)
        return np.vstack([edge + off * away + length * along, curl])

    ring = np.vstack([side(0.0), side(thick)[::-1]])
    pen.fill(ring, style.CHIP_LIGHT, z=2)
    pen.line(ring, "thin", closed=True, z=2.5)


def _by(x: float, y: float) -> np.ndarray:
    return np.array([x, y])


def _chamfer(pen: Pen, cell: Box, job: Operation) -> None:
    """Seen square to the axis: the edge rises toward the shank by the chamfer angle."""
    kappa = job.edge_angles["chamfer_angle"]
    centre, r = _middle(cell)
    start, way = centre - (0.9 * r, 0.35 * r), _way(kappa)
    end = start + 1.9 * r * way
    pen.fill([start, end, (end[0], start[1] - 0.5 * r), (start[0], start[1] - 0.5 * r)], style.STEEL)
    pen.line([start, start + _by(1.9 * r, 0)], "thin")
    pen.line([start, end], "cutting", colour=style.ACCENT, z=3.2)
    pen.line([start - (8, 0.62 * r), (end[0] + 8, start[1] - 0.62 * r)], "centre")
    _letter(pen, start, 1.25 * r, 0, kappa, "κ")
    pen.text(start[0] - 2, start[1] - 0.62 * r - 4, _("point"), size=style.SMALL, va="top")
    pen.text(end[0] + 2, start[1] - 0.62 * r - 4, _("shank"), size=style.SMALL, va="top", ha="right")
    _title(pen, cell, _("seen from the side"), _("chamfer angle κ {angle}", angle=angle(kappa)))


def _inclination(pen: Pen, cell: Box, job: Operation) -> None:
    """Seen on the surface being cut: the edge against the plane square to the cut."""
    flow = job.chip_flow
    centre, r = _middle(cell)
    start, way = centre - (0.95 * r, 0), _way(flow.inclination)
    end = start + 1.9 * r * np.array([1.0, way[1] / max(way[0], 0.2)])
    end = np.array([end[0], np.clip(end[1], centre[1] - 0.95 * r, centre[1] + 0.95 * r)])
    low = max(min(start[1], end[1]) - 0.45 * r, cell.bottom + 30)
    pen.fill([start, end, (end[0], low), (start[0], low)], style.STEEL)
    pen.line([start - (6, 0), start + _by(1.9 * r + 6, 0)], "centre")
    pen.line([start, end], "cutting", colour=style.ACCENT, z=3.2)
    x = centre[0] + (0.2 if flow.inclination < 0 else -0.55) * r
    y = start[1] + 0.35 * r
    pen.line([(x, y), (x, y + 0.4 * r)], "edge")
    pen.arrow((x, y + 0.4 * r + 8), (0, 1), size=1.4)
    pen.text(x - 7, y + 0.3 * r, _("cut"), size=style.SMALL, ha="right", va="center")
    drawn = math.degrees(math.atan2(*(end - start)[::-1]))
    _letter(pen, start, 1.35 * r, 0, drawn, "λ", outside=drawn >= 0)
    _title(pen, cell, _("seen on the cut"), _("inclination λ {angle}", angle=signed(flow.inclination)))


def _rake(pen: Pen, cell: Box, job: Operation) -> None:
    """Cut square to the edge: wedge, chip, and the rake of the face."""
    gamma = float(rake.orthogonal_rake(**job.edge_angles))
    centre, r = _middle(cell)
    edge = centre + _by(-0.1 * r, -0.45 * r)
    face, flank = edge + 1.25 * r * _way(90 - gamma), edge + 1.2 * r * _way(RELIEF)
    far = np.array([max(face[0], flank[0]), face[1]])
    pen.fill([edge, face, far, flank], style.STEEL)
    pen.line([face, edge, flank], "edge")
    pen.line([edge, face], "cutting", colour=style.ACCENT, z=3.2)
    ground = [(cell.left + 14, edge[1] + 9), (edge[0] - 3, edge[1] + 9), edge, (cell.right - 14, edge[1])]
    floor = edge[1] - 0.42 * r
    ring = [*ground, (cell.right - 14, floor), (cell.left + 14, floor)]
    pen.fill(ring, style.PART, z=0.5)
    pen.hatch(np.array(ring), 45, 7, colour=style.SOFT_INK, z=0.6)
    pen.line(ground, "thin")
    _chip(pen, edge, _way(90 - gamma), r)
    pen.line([edge, edge + _by(0, 1.3 * r)], "centre", z=3.4)
    pen.arrow((edge[0] - 1.1 * r, edge[1] + 0.35 * r), (-1, 0), size=1.4)
    pen.line([edge + _by(-1.1 * r + 8, 0.35 * r), edge + _by(-0.7 * r, 0.35 * r)], "edge")
    pen.text(edge[0] - 0.9 * r, edge[1] + 0.42 * r, _("cut"), size=style.SMALL, ha="center")
    _letter(pen, edge, 1.1 * r, 90 - gamma, 90, "γ")
    tail = _("γ {orthogonal}, normal {normal}", orthogonal=angle(gamma), normal=angle(job.chip_flow.normal_rake))
    _title(pen, cell, _("cut square to the edge"), tail)


def _face(pen: Pen, cell: Box, job: Operation) -> None:
    """Seen on the face: the edge lies level with the shank at the right, the chip leaves by its flow angle."""
    flow = job.chip_flow
    centre, r = _middle(cell)
    foot = centre - (0, 0.7 * r)
    frame = Box(centre[0] - r, foot[1], centre[0] + r, centre[1] + 0.85 * r)
    pen.rectangle(frame, style.STEEL_FACE)
    pen.line([(frame.left, foot[1]), (frame.right, foot[1])], "cutting", colour=style.ACCENT, z=3.2)
    pen.line([foot, foot + _by(0, 1.5 * r)], "centre", z=3.4)
    way = _way(90 + flow.flow_angle)
    tip = foot + 1.2 * r * way
    pen.line([foot, tip - 9 * way], "cutting", colour=style.CHIP, z=3.8)
    pen.arrow(tip, way, colour=style.CHIP, size=1.8)
    _letter(pen, foot, 0.75 * r, 90, 90 + flow.flow_angle, "η")
    pen.text(frame.left + 2, foot[1] - 4, _("point"), size=style.SMALL, va="top")
    pen.text(frame.right - 2, foot[1] - 4, _("shank"), size=style.SMALL, va="top", ha="right")
    _title(pen, cell, _("seen on the face"), _("chip flow η {angle}", angle=signed(flow.flow_angle)))
