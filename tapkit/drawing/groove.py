"""One thread groove in section, with the slice each tooth takes out of it, in order and by flute."""

from __future__ import annotations

import numpy as np

from tapkit import units
from tapkit.drawing import dims, style
from tapkit.drawing.chart import flute_legend
from tapkit.drawing.label import text_width
from tapkit.drawing.pen import Box, Pen, text_box
from tapkit.drawing.words import short
from tapkit.geometry.thread import Thread
from tapkit.mechanics import toothload
from tapkit.operation import Operation

LEFT, RIGHT, TOP, BOTTOM = 104.0, 78.0, 46.0, 50.0
HEADROOM = 0.16
"""Metal drawn above the groove, as a share of the pitch; also the room a tap that runs out may cut into."""


def draw_groove(ax, job: Operation, *, system: str = "metric", upto: int | None = None) -> Pen:
    """The groove with its slices; `upto` shows it after that many teeth, None after all."""
    pen = Pen(ax)
    pen.memory["system"] = system
    update_groove(pen, job, upto)
    return pen


def update_groove(artists: Pen, job: Operation, upto: int | None = None) -> None:
    """Change the groove in place."""
    pen = artists
    pen.clear()
    env = toothload.envelope(job.tap, job.hole, job.faults)
    page = _Page(pen, job)
    count = len(job.slices.area) if upto is None else min(max(int(upto), 0), len(job.slices.area))
    _metal(pen, page, env, count)
    _slices(pen, page, env, job, count)
    _profile(pen, page, job.tap.thread, env, count)
    _measures(pen, page, job, pen.memory["system"])
    _progress(pen, job, count, flute_legend(pen, job.tap.flutes, pen.height - 14))
    pen.flush()


def describe_groove(job: Operation, upto: int | None = None, *, system: str = "metric") -> str:
    """One or two sentences on the groove; also the alt text."""
    slices = job.slices
    cutting = slices.area > 0
    count = int(cutting.sum())
    if not count:
        return "No tooth takes anything out of the groove."
    big = int(np.argmax(slices.area))
    text = (
        f"One thread groove of {short(job.groove_area, 'area', system)} is cut by {count} teeth in turn. "
        f"Tooth {int(slices.number[big])} takes the largest slice, "
        f"{short(slices.area[big], 'area', system)}"
    )
    total = float(slices.area.sum())
    extra = ""
    if total > job.groove_area * 1.001:
        extra = f" The groove comes out {100 * (total / job.groove_area - 1):.0f} % larger than it should."
    elif total < job.groove_area * 0.999:
        extra = f" The groove comes out {100 * (1 - total / job.groove_area):.0f} % smaller than it should."
    done = "" if upto is None else f" Shown after {min(upto, len(slices.area))} teeth."
    return text + "." + extra + done


class _Page:
    """Scale and place of the groove on the sheet: the middle of the groove at `centre`, radius `bottom_r` at `base`."""

    def __init__(self, pen: Pen, job: Operation) -> None:
        thread = job.tap.thread
        p, self.hole_r, self.major_r = thread.pitch, job.hole.diameter / 2, thread.major / 2
        self.top_r = self.major_r + HEADROOM * p
        self.bottom_r = self.hole_r - 0.07 * p
        self.half = 0.53 * p
        wide, high = pen.width - LEFT - RIGHT, pen.height - TOP - BOTTOM
        self.scale = min(wide / (2 * self.half), high / (self.top_r - self.bottom_r))
        self.centre = LEFT + wide / 2
        self.base = BOTTOM + (high - self.scale * (self.top_r - self.bottom_r)) / 2
        self.pitch = p

    def at(self, x, r) -> np.ndarray:
        """Points on the sheet for x across the groove and radius r [mm]."""
        x, r = np.broadcast_arrays(np.asarray(x, float), np.asarray(r, float))
        return np.stack([self.centre + self.scale * x, self.y(r)], axis=-1)

    def y(self, r):
        """Height on the sheet of a radius [mm]."""
        return self.base + self.scale * (np.asarray(r, float) - self.bottom_r)


def _metal(pen: Pen, page: _Page, env: toothload.Envelope, count: int) -> None:
    """What is left of the workpiece, hatched as a section, between two free-hand breaks."""
    x = np.concatenate([[-page.half], env.x, [page.half]])
    wall = np.concatenate([[page.hole_r], env.swept[count], [page.hole_r]])
    under = page.at(x, wall)
    t = np.linspace(0, 1, 40)
    wave = 3 * np.sin(3 * np.pi * t)
    up = page.y(page.hole_r) + t * (page.y(page.top_r) - page.y(page.hole_r))
    right = np.column_stack([page.centre + page.scale * page.half + wave, up])
    left = np.column_stack([page.centre - page.scale * page.half + wave[::-1], up[::-1]])
    ring = np.vstack([under, right[1:], left[:-1]])
    pen.fill(ring, style.PART, z=0.8)
    pen.hatch(ring, 45, 9, z=0.9, colour=style.SOFT_INK)
    pen.line(right, "thin")
    pen.line(left, "thin")
    pen.line(under, "edge")


def _slices(pen: Pen, page: _Page, env: toothload.Envelope, job: Operation, count: int) -> None:
    """Every slice in the colour and hatch of its flute, numbered where there is room."""
    loads = job.tooth_loads
    order = sorted(range(count), key=lambda k: -loads.area[k])
    for k in range(count):
        if loads.area[k] <= 0:
            continue
        low, high = env.swept[k], env.swept[k + 1]
        for ring in _rings(env.x, low, high):
            polygon = page.at(*ring)
            pen.flute_fill(int(loads.flute[k]), polygon, spacing=6, z=1)
            pen.line(polygon, "hidden" if loads.rubbing[k] else "thin", closed=True, z=2.5)
    for k in order:
        if loads.area[k] > 0:
            _number(pen, page, env, k, int(loads.number[k]))


def _rings(x: np.ndarray, low: np.ndarray, high: np.ndarray) -> list[tuple[np.ndarray, np.ndarray]]:
    """Closed outlines of the parts of a slice, as x and radius."""
    thick = high - low > 1e-9
    apart = thick[:-1] | thick[1:]
    edges = np.flatnonzero(np.diff(np.concatenate([[0], apart.astype(np.int8), [0]])))
    found = []
    for a, b in zip(edges[::2], edges[1::2]):
        part = slice(a, b + 1)
        found.append((np.concatenate([x[part], x[part][::-1]]), np.concatenate([low[part], high[part][::-1]])))
    return found


def _number(pen: Pen, page: _Page, env: toothload.Envelope, k: int, number: int) -> None:
    """The tooth's number in its slice, where the slice is thick enough; the largest slices are served first."""
    x = np.linspace(-page.pitch / 2, page.pitch / 2, 81)
    low, high = (np.interp(x, env.x, env.swept[i]) for i in (k, k + 1))
    thick = (high - low) * page.scale
    fits = thick > 0.9 * thick.max()
    if thick.max() < 10.5:
        _number_beside(pen, page, x, low, high, str(number))
        return
    left, right = x[fits][0], x[fits][-1]
    for share in (0.5, 0.3, 0.7, 0.15, 0.85):
        at = left + share * (right - left)
        px, py = page.at(at, (np.interp(at, x, low) + np.interp(at, x, high)) / 2)
        box = text_box(px, py, str(number), style.SMALL, "center", "center", bold=True)
        if pen.is_free(box, gap=0.5):
            pen.rectangle(Box(box.left - 2, box.bottom + 1.5, box.right + 2, box.top - 1), style.PAPER, z=4.8)
            pen.text(px, py, str(number), size=style.SMALL, ha="center", va="center", bold=True)
            return


def _number_beside(pen: Pen, page: _Page, x: np.ndarray, low: np.ndarray, high: np.ndarray, text: str) -> None:
    """The number of a thin slice outside the flank, with a line to the slice's end, where a place is free."""
    taken = np.flatnonzero((high - low) * page.scale > 1.0)
    if not len(taken):
        return
    k = int(taken[-1])
    end = page.at(x[k], (low[k] + high[k]) / 2)
    at = end + np.array([13.0, 0.0])
    if pen.place(text, [(at[0], at[1], "left", "center")], size=style.SMALL, paper=True):
        pen.line([end, at - np.array([1.0, 0.0])], "thin", z=4)


def _profile(pen: Pen, page: _Page, thread: Thread, env: toothload.Envelope, count: int) -> None:
    """The basic profile where the cut is not there yet or has gone beyond it."""
    x = np.array([-0.5, -7 / 16, -1 / 16, 1 / 16, 7 / 16, 0.5]) * thread.pitch
    r = np.maximum(toothload.outline(x, thread), page.hole_r)
    hc = page.major_r - page.hole_r
    edge = thread.pitch / 16 + hc * np.tan(np.radians(30))
    x = np.array([-page.half, -edge, -thread.pitch / 16, thread.pitch / 16, edge, page.half])
    r = np.array([page.hole_r, page.hole_r, page.major_r, page.major_r, page.hole_r, page.hole_r])
    pen.line(page.at(x, r), "phantom", z=3.5)


def _measures(pen: Pen, page: _Page, job: Operation, system: str) -> None:
    """Hole, major diameter, depth and pitch."""

    def show(v: float) -> str:
        return units.show(v, "length", system, decimals=3 if system == "metric" else 4)

    left = page.centre - page.scale * page.half
    right = page.centre + page.scale * page.half
    low, high = float(page.y(page.hole_r)), float(page.y(page.major_r))
    for y, text in ((high, f"⌀ {show(2 * page.major_r)}"), (low, f"hole\n⌀ {show(2 * page.hole_r)}")):
        pen.line([(left - 96, y), (left - 6, y)], "thin")
        pen.text(left - 52, y + 1, text, ha="center", va="bottom")
    pen.line([(page.centre, high), (right + 40, high)], "thin")
    dims.upright(pen, right + 34, low, high, show(page.major_r - page.hole_r), start=(right, None))
    x0, x1 = page.centre - page.scale * page.pitch / 2, page.centre + page.scale * page.pitch / 2
    dims.level(pen, x0, x1, low - 30, f"P {show(page.pitch)}", start=(low, low))
    pen.text(right + 8, low - 26, "to the shank", size=style.SMALL, va="center")
    pen.line([(right + 10, low - 37), (right + 66, low - 37)])
    pen.arrow((right + 66, low - 37), (1, 0))


def _progress(pen: Pen, job: Operation, count: int, taken: float) -> None:
    """How far the groove is cut, at the right of the legend or below it."""
    area = float(job.slices.area[:count].sum())
    share = 100 * area / job.groove_area if job.groove_area else 0.0
    text = f"after {count} teeth: {share:.0f} % of the groove"
    room = pen.width - 8 - taken > text_width(text, style.TEXT, True) + 10
    pen.text(pen.width - 8, pen.height - (14 if room else 34), text, ha="right", va="center", bold=True)
