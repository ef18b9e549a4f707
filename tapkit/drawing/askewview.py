"""A tap that was started askew, with the square that shows it, and the height of thread it leaves on either side."""

import math
from typing import Any

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.chart import Chart
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.messages import Number, _, angle, length, text
from tapkit.operation import Operation

SHANK = 5.0
"""Length of the tap over the face that is drawn [D]; a square is held along it."""


def gap(job: Operation) -> float:
    """Gap between a square and the tap's shank at the shank's end [mm]."""
    return SHANK * job.tap.thread.major * math.tan(math.radians(job.tilt))


@drawn()
def draw_askew(pen: Pen, job: Operation) -> None:
    """Tap and square at the left, the two sides of the thread at the right."""
    split = 0.56 * pen.width
    _tap(pen, job, Box(10, 10, split - 20, pen.height - 10))
    _sides(pen, job, Box(split + 54, 52, pen.width - 14, pen.height - 50))


def describe_askew(job: Operation, system: str = "metric") -> str:
    """What the square shows and what the tap does; also the alt text."""
    if not job.tilt:
        return _("The tap stands upright: a square touches it all along, on two sides.").said(system)
    seen = _(
        "A square beside the tap shows a gap of {gap} at {height} over the face.",
        gap=length(gap(job), digits=2),
        height=length(SHANK * job.tap.thread.major, digits=3),
    )
    return text(seen, _("What that does: {told}.", told=job.crooked.sentence)).said(system)


def _tap(pen: Pen, job: Operation, box: Box) -> None:
    """The part in section with the tap in it, all to one scale and at its true lean."""
    d, deep = job.tap.thread.major, job.tapped_depth
    below = job.hole.depth + (0.0 if job.hole.is_through else 0.5 * d)
    scale = (box.top - box.bottom) / (SHANK * d + below + 0.4 * d)
    face, middle = box.bottom + (below + 0.15 * d) * scale, (box.left + box.right) / 2
    slope = math.tan(math.radians(job.tilt))
    _part(pen, job, middle, face, scale, below)

    def at(radius: float, height: float) -> tuple[float, float]:
        """A point of the leaning tap on the sheet; radius and height in mm from where its axis meets the face."""
        return middle + (radius + height * slope) * scale, face + height * scale

    root, long, top = job.tap.point_diameter / 2, min(job.tap.chamfer_length, deep), SHANK * d
    outline = [(d / 2, top), (d / 2, long - deep), (root, -deep)]
    points = [at(-r, z) for r, z in outline] + [at(r, z) for r, z in reversed(outline)]
    pen.fill(points, style.STEEL_FACE, z=2)
    pen.line(points, "edge", closed=True)
    for z in np.arange(-deep, 0.5 * d, job.tap.thread.pitch):
        wide = min(root + (z + deep) / long * (d / 2 - root), d / 2)
        pen.line([at(-wide, z), at(wide, z + job.tap.thread.pitch / 2)], "thin")
    pen.line([at(0, -deep - 0.1 * d), at(0, top + 0.2 * d)], "centre", colour=style.SOFT_INK)
    _square(pen, job, at(-d / 2, 0), at(-d / 2, top))
    x, y = at(d / 2, top)
    pen.text(x + 10, y - 10, _("leans {angle}", angle=angle(job.tilt)), va="center", bold=True)


def _part(pen: Pen, job: Operation, middle: float, face: float, scale: float, below: float) -> None:
    """The part in section; a blind hole has a floor."""
    half, hole = 2.6 * job.tap.thread.major * scale, job.hole.diameter / 2 * scale
    low, end = face - below * scale, face - job.hole.depth * scale
    outline = [(-half, face), (-hole, face), (-hole, end), (hole, end), (hole, face), (half, face), (half, low)]
    ring = np.array([*outline, (-half, low)]) + np.array([middle, 0])
    if job.hole.is_through:
        pieces = [ring[[0, 1, 2, 7]], ring[[4, 5, 6, 3]]]
    else:
        pieces = [ring]
    for piece in pieces:
        pen.fill(piece, style.STEEL)
        pen.hatch(piece, 45, 9.0)
        pen.line(piece, "edge", closed=True)


def _square(pen: Pen, job: Operation, foot: tuple[float, float], top: tuple[float, float]) -> None:
    """A square that touches the tap at the face, and the gap at the shank's end."""
    x, y = foot
    blade, wide = Box(x - 10, y, x - 1, top[1]), Box(x - 90, y, x - 1, y + 10)
    for part in (blade, wide):
        pen.rectangle(part, style.FLUTES[3], "edge", z=2.5)
    pen.text(blade.left - 6, (y + top[1]) / 2, _("square"), ha="right", va="center")
    if job.tilt:
        level = top[1] - 8
        pen.line([(blade.right, level), (top[0], level)], "bold", colour=style.WARN)
        pen.text(
            blade.left - 6, level, _("gap: {gap}", gap=length(gap(job), digits=2)), ha="right", va="center", bold=True
        )


def _sides(pen: Pen, job: Operation, box: Box) -> None:
    """Height of the thread round the hole at its end: least, and most."""
    least, most = job.crooked.percent
    chart = Chart(pen, box, x=(0.0, 2.0), y=(0.0, 120.0))
    chart.y_axis("")
    pen.text(box.left - 40, box.top + 14, _("height of the thread at its end, %"))
    for x, value, words, flute in (
        (0.5, least, _("on one side"), 1),
        (1.5, most, _("on the other"), 3),
    ):
        left, right = float(chart.across(x - 0.3)), float(chart.across(x + 0.3))
        pen.flute_fill(flute, Box(left, box.bottom, right, float(chart.up(value))), kind="thin")
        told: Any = _("{percent} %", percent=Number(value, decimals=0))
        pen.text((left + right) / 2, float(chart.up(value)) + 4, told, ha="center", bold=True)
        pen.text((left + right) / 2, box.bottom - 6, words, ha="center", va="top")
