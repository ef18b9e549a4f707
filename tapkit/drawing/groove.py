"""One thread groove in section, with the slice each tooth takes out of it, in order and by flute."""

import numpy as np

from tapkit.drawing import dims, style
from tapkit.drawing.chart import flute_legend
from tapkit.drawing.label import text_width
from tapkit.drawing.pen import Box, Pen, drawn, text_box
from tapkit.drawing.toothcolours import tooth_words
from tapkit.drawing.words import brief
from tapkit.mechanics import toothload
from tapkit.messages import Number, Quantity, Sentence, _, length, ngettext, text
from tapkit.operation import Operation

LEFT, RIGHT, TOP, BOTTOM = 104.0, 78.0, 46.0, 50.0
HEADROOM = 0.16
"""Metal drawn above the groove, and above what a tap that runs out cuts too deep, as a share of the pitch."""


@drawn()
def draw_groove(pen: Pen, job: Operation, upto: int | None = None) -> None:
    """The groove with its slices; `upto` shows it after that many teeth, None after all."""
    env = toothload.envelope(job.tap, job.hole, job.faults)
    page = _Page(pen, job, env.swept[-1].max())
    count = len(job.slices.area) if upto is None else min(max(int(upto), 0), len(job.slices.area))
    _metal(pen, page, env, count)
    _slices(pen, page, env, job, count)
    _profile(pen, page)
    _measures(pen, page)
    _progress(pen, job, count, flute_legend(pen, job.tap.flutes, pen.height - 14))


def describe_groove(job: Operation, upto: int | None = None, *, system: str = "metric") -> str:
    """One or two sentences on the groove; also the alt text."""
    slices = job.slices
    cutting = slices.area > 0
    count = int(cutting.sum())
    if not count:
        return _("No tooth takes anything out of the groove.").said(system)
    big = int(np.argmax(slices.area))
    return text(
        ngettext(
            "One thread groove of {area} is cut by {count} tooth.",
            "One thread groove of {area} is cut by {count} teeth in turn.",
            count,
            area=brief(job.groove_area, "area"),
        ),
        _(
            "Tooth {tooth} takes the largest slice, {area}.",
            tooth=int(slices.number[big]),
            area=brief(slices.area[big], "area"),
        ),
        _wrong_size(float(slices.area.sum()) / job.groove_area),
        upto is not None
        and ngettext("Shown after {count} tooth.", "Shown after {count} teeth.", min(upto, len(slices.area))),
    ).said(system)


def _wrong_size(ratio: float) -> Sentence | None:
    """What comes of teeth that together take more or less than the groove, by the ratio of the two."""
    percent = Number(100 * abs(ratio - 1), decimals=0)
    if ratio > 1.001:
        return _("The groove comes out {percent} % larger than it should.", percent=percent)
    if ratio < 0.999:
        return _("The groove comes out {percent} % smaller than it should.", percent=percent)
    return None


class _Page:
    """Scale and place of the groove on the sheet: the middle of the groove at `centre`, radius `bottom_r` at `base`."""

    def __init__(self, pen: Pen, job: Operation, deepest: float) -> None:
        thread = job.tap.thread
        p, self.hole_r, self.major_r = thread.pitch, job.hole.diameter / 2, thread.major / 2
        self.top_r = max(self.major_r, deepest - 0.06 * p) + HEADROOM * p
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
    spots = pen.memory["spots"] = []
    for k in range(count):
        if loads.area[k] <= 0:
            continue
        low, high = env.swept[k], env.swept[k + 1]
        for ring in _rings(env.x, low, high):
            polygon = page.at(*ring)
            pen.flute_fill(int(loads.flute[k]), polygon, spacing=6)
            pen.line(polygon, "hidden" if loads.rubbing[k] else "thin", closed=True, z=2.5)
            spots.append((int(loads.number[k]), tooth_words(job, k), _bends(polygon)))
    for k in order:
        if loads.area[k] > 0:
            _number(pen, page, env, k, int(loads.number[k]))


def _bends(polygon: np.ndarray) -> np.ndarray:
    """The corners of a polygon where it bends."""
    before, after = polygon - np.roll(polygon, 1, axis=0), np.roll(polygon, -1, axis=0) - polygon
    return polygon[np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]) > 1e-3]


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


def _profile(pen: Pen, page: _Page) -> None:
    """The basic profile where the cut is not there yet or has gone beyond it."""
    flat = page.pitch / 16
    edge = flat + (page.major_r - page.hole_r) * np.tan(np.radians(30))
    x = np.array([-page.half, -edge, -flat, flat, edge, page.half])
    r = np.array([page.hole_r, page.hole_r, page.major_r, page.major_r, page.hole_r, page.hole_r])
    pen.line(page.at(x, r), "phantom", z=3.5)


def _measures(pen: Pen, page: _Page) -> None:
    """Hole, major diameter, depth and pitch."""

    def show(v: float) -> Quantity:
        return length(v, decimals=3, inch_decimals=4)

    left = page.centre - page.scale * page.half
    right = page.centre + page.scale * page.half
    low, high = float(page.y(page.hole_r)), float(page.y(page.major_r))
    wide, hole = show(2 * page.major_r), show(2 * page.hole_r)
    for y, told, below in (
        (high, _("⌀ {diameter}", diameter=wide), False),
        (low, _("hole\n⌀ {diameter}", diameter=hole), high - low < 34),  # below its line where the two would meet
    ):
        pen.line([(left - 96, y), (left - 6, y)], "thin")
        pen.text(left - 52, y - 2 if below else y + 1, told, ha="center", va="top" if below else "bottom")
    pen.line([(page.centre, high), (right + 40, high)], "thin")
    dims.vertical(pen, right + 34, low, high, show(page.major_r - page.hole_r), start=(right, None))
    x0, x1 = page.centre - page.scale * page.pitch / 2, page.centre + page.scale * page.pitch / 2
    dims.horizontal(pen, x0, x1, low - 30, _("P {pitch}", pitch=show(page.pitch)), start=(low, low))
    pen.text(right + 8, low - 26, _("to the shank"), size=style.SMALL, va="center")
    pen.line([(right + 10, low - 37), (right + 66, low - 37)])
    pen.arrow((right + 66, low - 37), (1, 0))


def _progress(pen: Pen, job: Operation, count: int, taken: float) -> None:
    """How far the groove is cut, at the right of the legend or below it."""
    area = float(job.slices.area[:count].sum())
    share = 100 * area / job.groove_area if job.groove_area else 0.0
    percent = Number(share, decimals=0)
    told = pen.say(
        ngettext(
            "after {count} tooth: {percent} % of the groove",
            "after {count} teeth: {percent} % of the groove",
            count,
            percent=percent,
        )
    )
    room = pen.width - 8 - taken > text_width(told, style.TEXT, True) + 10
    pen.text(pen.width - 8, pen.height - (14 if room else 34), told, ha="right", va="center", bold=True)
