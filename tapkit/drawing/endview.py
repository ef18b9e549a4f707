"""The tap seen on its point: flutes, lands, core circle, radial rake and face, dimensioned. ISO 128, ISO 129-1."""

import math

import numpy as np

from tapkit.drawing import dims, style
from tapkit.drawing.pen import Pen, drawn
from tapkit.drawing.words import brief, fine_length
from tapkit.geometry.solid import solid
from tapkit.geometry.tap import Tap
from tapkit.messages import Number, Sentence, _, angle, ngettext

SIDE_ROOM, TOP_ROOM, BOTTOM_ROOM, DETAIL_ROOM = 88.0, 44.0, 46.0, 236.0
NARROW = 440.0
"""On a sheet no wider than this [pt] the enlarged detail is left out."""


@drawn(shear=False)
def draw_endview(pen: Pen, tap: Tap) -> None:
    """The end of the tap with its dimensions, looking at the point; a right-hand tap turns counter-clockwise here.

    `shear` marks the bottoms of the flutes, where the tap is sheared most.
    """
    end = _End(pen, tap)
    _body(pen, end, tap)
    _centre_lines(pen, end)
    _circles(pen, end, tap)
    _land(pen, end, tap)
    if pen.memory["shear"]:
        _sheared(pen, end, tap)
    if end.has_detail:
        _detail(pen, end, tap)


def describe_endview(tap: Tap, *, system: str = "metric") -> str:
    """One or two sentences on the end of the tap; also the alt text."""
    end = ngettext(
        "The end of a tap with {count} flute: core {core} or {ratio} of the diameter, the land {land} wide.",
        "The end of a tap with {count} flutes: core {core} or {ratio} of the diameter, lands {land} wide.",
        tap.flutes,
        core=brief(tap.core_diameter, "length", 1),
        ratio=Number(tap.core_diameter / tap.thread.major, decimals=2),
        land=brief(tap.land_width, "length", 1),
    )
    return _("{end} {faces}", end=end, faces=_faces(tap.radial_rake)).said(system)


def _faces(rake: float) -> Sentence:
    if rake == 0:
        return _("The cutting faces stand radial.")
    if rake > 0:
        return _("The cutting faces lean forward by {rake} of radial rake.", rake=angle(rake))
    return _("The cutting faces lean back by {rake} of radial rake.", rake=angle(-rake))


class _End:
    """Place and scale of the end view, and the turn that puts a land on top."""

    def __init__(self, pen: Pen, tap: Tap) -> None:
        self.has_detail = pen.width > NARROW
        wide = pen.width - (DETAIL_ROOM if self.has_detail else 0) - 2 * SIDE_ROOM
        high = pen.height - TOP_ROOM - BOTTOM_ROOM
        self.scale = min(wide, high) / tap.thread.major
        self.centre = np.array([SIDE_ROOM + wide / 2, BOTTOM_ROOM + high / 2])
        self.mirror = 1.0 if tap.thread.hand == "right" else -1.0
        self.radius = tap.thread.major / 2 * self.scale
        self.half_land = solid(tap).land_angle / 2
        self.turn = math.pi / 2 + math.pi / tap.flutes  # flute 1 follows the land on top in the sense of the cut

    def place(self, points) -> np.ndarray:
        """Points on the sheet, of points about the axis [mm]."""
        return self.centre + self.scale * np.asarray(points, float) * (self.mirror, 1.0)

    def at(self, radius: float, angle) -> np.ndarray:
        """Points on the sheet at a radius [mm] and angles [rad]."""
        a = np.asarray(angle, float)
        return self.place(radius * np.stack([np.cos(a), np.sin(a)], axis=-1))


def _body(pen: Pen, end: _End, tap: Tap) -> None:
    outline = end.place(solid(tap).outline(turn=end.turn))
    pen.fill(outline, style.STEEL, z=1)
    pen.line(outline, "edge", closed=True)
    each = len(outline) // tap.flutes
    for k in range(tap.flutes):
        pen.line(outline[k * each : k * each + 2], "cutting", colour=style.ACCENT, z=3.2)
    for flute in range(1, tap.flutes + 1):
        middle = math.pi / 2 - 2 * math.pi * (flute - 1) / tap.flutes
        across = np.linspace(middle - end.half_land, middle + end.half_land, 16)
        pen.line(end.at(tap.point_diameter / 2, across), "thin")
        x, y = end.at((tap.point_diameter / 2 + tap.core_diameter / 2) / 2 + 0.02 * tap.thread.major, middle)
        pen.flute_mark(flute, x, y, min(13.0, 0.40 * end.scale * tap.land_width))


def _centre_lines(pen: Pen, end: _End) -> None:
    (x, y), over = end.centre, end.radius + 9
    pen.line([(x - over, y), (x + over, y)], "centre")
    pen.line([(x, y - over), (x, y + over)], "centre")


def _circles(pen: Pen, end: _End, tap: Tap) -> None:
    """Core circle, circle of the crests with its diameter, and the sense of the cut."""
    around = np.linspace(0, 2 * math.pi, 90)
    pen.line(end.at(tap.core_diameter / 2, around), "hidden", colour=style.ACCENT)
    pen.line(end.at(tap.thread.major / 2, around), "phantom")
    (x, y), m = end.centre, end.mirror
    across = _("⌀ {diameter}", diameter=fine_length(tap.thread.major))
    dims.horizontal(pen, x - end.radius, x + end.radius, y - end.radius - 26, across, start=(y, y))
    core = end.at(tap.core_diameter / 2, -0.5)
    shelf = (x + m * (end.radius + 14), y - 0.66 * end.radius)
    text = _("core\n⌀ {core}", core=fine_length(tap.core_diameter))
    dims.leader(pen, core, shelf, text, end="arrow", side="right" if m > 0 else "left")
    _sense(pen, end)


def _sense(pen: Pen, end: _End) -> None:
    """A curved arrow in the sense of the cut."""
    r, m = (end.radius + 9) / end.scale, end.mirror
    arc = end.at(r, np.radians(np.linspace(190, 236, 24)))
    pen.line(arc, "edge")
    pen.arrow(arc[-1], arc[-1] - arc[-4], size=1.5)
    x, y = end.at(r, math.radians(205))
    pen.text(x - 7 * m, y - 4, _("cuts\nthis way"), ha="right" if m > 0 else "left", va="center", size=style.SMALL)


def _land(pen: Pen, end: _End, tap: Tap) -> None:
    """Chord of the land on top."""
    (x0, y0), (x1, _y) = end.at(tap.thread.major / 2, math.pi / 2 + end.half_land * np.array([1, -1]))
    y = end.centre[1] + end.radius + 16
    dims.horizontal(pen, x0, x1, y, _("land {land}", land=fine_length(tap.land_width)), start=(y0, y0))


def _sheared(pen: Pen, end: _End, tap: Tap) -> None:
    """A mark at the bottom of every flute."""
    bottoms = end.at(tap.core_diameter / 2, end.turn + 2 * math.pi * np.arange(tap.flutes) / tap.flutes)
    for x, y in bottoms:
        pen.fill(style.flute_mark(1, x, y, 8), style.WARN, z=4.4)
    pen.text(6, 4, _("dots: largest shear"), colour=style.WARN, size=style.SMALL)


def _detail(pen: Pen, end: _End, tap: Tap) -> None:
    """The edge of the land on top, enlarged: radius, face, and the circle of the crests with the angles between."""
    m, lead = end.mirror, math.pi / 2 + end.half_land
    edge_mm = tap.thread.major / 2 * np.array([math.cos(lead), math.sin(lead)])
    depth = (tap.thread.major - tap.core_diameter) / 2
    outline = solid(tap).outline(turn=end.turn, nodes=24)
    face = float(np.hypot(*(outline[1] - outline[0])))
    scale = 0.62 * (pen.height - 70) / (face + 0.25 * depth)
    corner = np.array([pen.width - DETAIL_ROOM * (0.5 if m > 0 else 0.53), pen.height - 62])

    def place(points) -> np.ndarray:
        turned = (np.asarray(points, float) - edge_mm) @ _turned(-end.half_land).T
        return corner + scale * turned * (m, 1.0)

    far = np.hypot(*(outline - edge_mm).T) > face + 0.1 * depth
    near = outline[: int(np.argmax(far))]
    reach = min(100 / scale, 0.62 * depth) / (tap.thread.major / 2)
    land = tap.thread.major / 2 * np.column_stack([f(lead - np.linspace(0, reach, 16)) for f in (np.cos, np.sin)])
    _detail_body(pen, place(land), place(near))
    _detail_angles(pen, corner, scale * face, m, tap.radial_rake)
    around = np.linspace(0, 2 * np.pi, 60)
    x, y = end.place(edge_mm)
    pen.line(np.column_stack([x + 15 * np.cos(around), y + 15 * np.sin(around)]), "thin")
    pen.text(x - 17 * m, y + 3, "Z", ha="right" if m > 0 else "left", va="bottom", bold=True)
    title = _("Z, {times} times larger", times=round(scale / end.scale))
    pen.text(pen.width - DETAIL_ROOM + 26, pen.height - 24, title, bold=True)


def _turned(angle: float) -> np.ndarray:
    return np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])


def _detail_body(pen: Pen, land: np.ndarray, near: np.ndarray) -> None:
    """Steel between the land, the face and a free-hand break line."""
    t = np.linspace(0, 1, 40)[:, None]
    chord = near[-1] - land[-1]
    out = np.array([chord[1], -chord[0]]) / np.hypot(*chord)
    out = -out if out @ (land[0] - land[-1] + near[0] - near[-1]) > 0 else out
    wave = land[-1] + t * chord + (22 * np.sin(np.pi * t) + 4 * np.sin(4 * np.pi * t)) * out
    pen.fill(np.vstack([land, wave, near[::-1]]), style.STEEL)
    pen.line(wave, "thin")
    pen.line(land, "edge")
    pen.line(near, "edge")
    pen.line(near[:2], "cutting", colour=style.ACCENT, z=3.2)


def _detail_angles(pen: Pen, edge: np.ndarray, face: float, m: float, rake: float) -> None:
    """Radial rake from the radius to the face, and the angle of the face to the circle of the crests."""
    inward, back = -90.0, 0.0 if m > 0 else -180.0
    lean = inward + m * rake
    for a, start, end, kind in (
        (inward, 3, 1.18 * face, "centre"),
        (lean, face, 1.18 * face, "thin"),
        (back, 3, 74, "thin"),
    ):
        u = np.array([math.cos(math.radians(a)), math.sin(math.radians(a))])
        pen.line([edge + start * u, edge + end * u], kind, z=3.4)
    out = 30 + max(0.0, 1.05 * face * math.sin(math.radians(-rake)))
    at = (edge[0] - m * out, edge[1] - 1.05 * face, "right" if m > 0 else "left", "center")
    dims.angular(pen, edge, 1.05 * face, inward, lean, _("radial rake\n{rake}", rake=angle(rake)), at=at)
    reach, middle = min(46.0, 0.5 * face), math.radians(back + 0.36 * (lean - back))
    x, y = edge + (reach + 6) * np.array([math.cos(middle), math.sin(middle)])
    text = _("face to\ncircle {angle}", angle=angle(90 - rake))
    dims.angular(pen, edge, reach, lean, back, text, at=(x, y, "left" if m > 0 else "right", "center"))
