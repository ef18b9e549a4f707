"""Side view of a tap's working end: chamfer, teeth, flutes, and the dimensions a grinder sets. ISO 128, ISO 129-1."""

import math
from collections.abc import Sequence

import numpy as np

from tapkit.drawing import dims, style
from tapkit.drawing.label import text_width
from tapkit.drawing.pen import Box, Pen, drawn, text_box
from tapkit.drawing.tapside import Lands, SideView, best_turn, draw_ends, draw_lands, draw_ridges, lands_of
from tapkit.drawing.toothcolours import tooth_words
from tapkit.drawing.words import brief, fine_length
from tapkit.geometry.hole import Hole
from tapkit.geometry.solid import solid
from tapkit.geometry.tap import Tap
from tapkit.geometry.tapname import in_words
from tapkit.messages import _, angle, length, ngettext, threads_of
from tapkit.operation import Operation

MARGIN_LEFT, MARGIN_RIGHT, MARGIN_TOP, MARGIN_BOTTOM = 88.0, 60.0, 48.0, 48.0
MOST_SHRUNK = 2.0
"""Of two taps side by side one is drawn at most so much smaller than it could be."""
MOST_THREADS = 12.0
"""Full threads drawn behind the chamfer at most."""


@drawn()
def draw_tip(pen: Pen, tap: Tap, hole: Hole | None = None) -> None:
    """Side view of the tap's end with its dimensions, and the hole's walls where a hole is given."""
    view = view_of(pen, tap)
    lands = lands_of(view, solid(tap))
    draw_lands(pen, view, solid(tap), lands)
    draw_ridges(pen, view, solid(tap))
    _outline(pen, view, tap, lands)
    _dimensions(pen, view, tap, lands, hole)


def point_at_teeth(artists: Pen, job: Operation) -> None:
    """Tell where the teeth lie that the side view shows, so that one can point at them."""
    pen, s = artists, solid(job.tap)
    view, loads = view_of(pen, job.tap), job.tooth_loads
    _, _, edge, start = s.tooth(loads.number)
    behind = np.linspace(0.0, s.land_angle, 9)
    found = pen.memory["spots"] = []
    for i, (number, lead, z) in enumerate(zip(loads.number, view.turn + edge, start)):
        lead = (lead + np.pi) % (2 * np.pi) - np.pi
        shown = next((a for a in (lead, lead + 2 * np.pi) if (np.abs(a - behind) < 0.47 * np.pi).sum() > 1), None)
        if shown is None or z > view.length:
            continue
        angle_ = (shown - behind)[np.abs(shown - behind) < 0.47 * np.pi]
        middle = z + s.pitch * (shown - angle_) / (2 * np.pi)
        ends = [np.clip(middle + side * 0.48 * s.pitch, 0, view.length) for side in (-1, 1)]
        rows = [view.place(e, np.minimum(s.outer, s.cone(e)) * np.sin(angle_)) for e in ends]
        found.append((int(number), tooth_words(job, i), np.vstack([rows[0], rows[1][::-1]])))


def describe_tip(tap: Tap, *, system: str = "metric") -> str:
    """One or two sentences on the tap's end; also the alt text."""
    return ngettext(
        "{thread} {tap} tap with {count} flute: its chamfer is {threads} or {length} long and rises at "
        "{angle} from a point of {point}. {flutes}",
        "{thread} {tap} tap with {count} flutes: its chamfer is {threads} or {length} long and rises at "
        "{angle} from a point of {point}. {flutes}",
        tap.flutes,
        thread=tap.thread.designation,
        tap=in_words(tap),
        threads=threads_of(tap.chamfer_threads),
        length=brief(tap.chamfer_length, "length", 1),
        angle=angle(tap.chamfer_angle),
        point=brief(tap.point_diameter, "length", 1),
        flutes=_(tap.form.shape, angle=angle(abs(tap.axial_rake))),
    ).said(system)


def keep_one_scale(artists: Sequence[Pen], taps: Sequence[Tap]) -> None:
    """Have several side views keep one scale from their next update on; each its own, with a bar that says it, where
    the largest would leave the smallest too small to read."""
    own = [_own_scale(pen, tap) for pen, tap in zip(artists, taps)]
    one, bar = min(own), len({tap.thread.major for tap in taps}) > 1
    for pen, scale in zip(artists, own):
        pen.memory.update(scale=one if max(own) <= MOST_SHRUNK * one else scale, bar=bar)


def _room(pen: Pen) -> Box:
    return Box(MARGIN_LEFT, MARGIN_BOTTOM, pen.width - MARGIN_RIGHT, pen.height - MARGIN_TOP)


def _own_scale(pen: Pen, tap: Tap) -> float:
    """The largest scale at which the tap fits its sheet."""
    room, least = _room(pen), tap.chamfer_length + 3.5 * tap.thread.pitch
    return min((room.top - room.bottom) / tap.thread.major, (room.right - room.left) / least)


def view_of(pen: Pen, tap: Tap) -> SideView:
    """Scale and place of the side view on a pen's sheet."""
    room = _room(pen)
    wide, own = room.right - room.left, _own_scale(pen, tap)
    scale = pen.memory.get("scale", own)
    shown = min(wide / scale, tap.chamfer_length + MOST_THREADS * own / scale * tap.thread.pitch)
    left = room.left + (wide - shown * scale) / 2
    up = 1.0 if tap.thread.hand == "right" else -1.0
    return SideView(left, (room.top + room.bottom) / 2, scale, shown, best_turn(solid(tap)), up)


def _outline(pen: Pen, view: SideView, tap: Tap, lands: Lands) -> None:
    """Point, envelope of the crests, core, axis, and the break at the right."""
    r, end = tap.thread.major / 2, view.length
    cone = [0, tap.chamfer_length, end]
    draw_ends(pen, view, solid(tap), lands)
    for side in (1, -1):
        pen.line(view.place(cone, side * np.array([tap.point_diameter / 2, r, r])), "phantom", z=3.8)
        pen.line(view.place([0, end], [side * tap.core_diameter / 2] * 2), "hidden")
    over = 12 / view.scale
    pen.line(view.place([-over, end + over], [0, 0]), "centre", z=3.8)


def _dimensions(pen: Pen, view: SideView, tap: Tap, lands: Lands, hole: Hole | None) -> None:
    r = tap.thread.major / 2
    x0, xc, xe = view.place([0, tap.chamfer_length, view.length], 0)[:, 0]
    low, high = view.y - r * view.scale, view.y + r * view.scale
    point = tap.point_diameter / 2 * view.scale
    across = {d: _("⌀ {diameter}", diameter=fine_length(d)) for d in (tap.point_diameter, tap.thread.major)}
    dims.vertical(
        pen, x0 - 26, view.y - point, view.y + point, across[tap.point_diameter], start=(x0, x0), side="below"
    )
    threads = dict(threads=threads_of(tap.chamfer_threads), length=fine_length(tap.chamfer_length))
    dims.horizontal(pen, x0, xc, low - 26, _("{threads} = {length}", **threads), start=(view.y - point, low))
    side = "below" if _pitch(pen, view, tap, high) == "right" else "above"
    dims.vertical(pen, xe + 34, low, high, across[tap.thread.major], start=(xe, xe), side=side)
    _chamfer_angle(pen, view, tap, high)
    _rake_note(pen, view, tap, lands, low - 26)
    if hole is not None:
        _hole(pen, view, hole, x0)
    if pen.memory.get("bar"):
        _scale_bar(pen, view)


def _scale_bar(pen: Pen, view: SideView) -> None:
    """A length that says the scale, below the rows of dimensions."""
    unit = 1.0 if pen.memory["system"] == "metric" else 25.4
    sizes = unit * np.outer(10.0 ** np.arange(-3, 2), (1, 2, 5)).ravel()
    long = float(sizes[sizes * view.scale < 75].max())
    told = pen.say(length(long))
    wide, over = long * view.scale, text_width(told, style.SMALL) + 5
    for left in (pen.width - wide - over - 8, 8.0, (pen.width - wide - over) / 2):
        box = Box(left, 2, left + wide + over, 14)
        if pen.is_free(box):
            pen.line([(left, 8), (left + wide, 8)], "edge")
            for x in (left, left + wide):
                pen.line([(x, 4), (x, 12)], "edge")
            pen.text(left + wide + 5, 8, told, va="center", size=style.SMALL)
            return


def _pitch(pen: Pen, view: SideView, tap: Tap, high: float) -> str:
    """The pitch between the last two crests at the top; the side on which it is written."""
    p, side = tap.thread.pitch, np.pi / 2 * view.up
    crest = float(solid(tap).ridge(side - view.turn)) % p
    z1 = crest + p * math.floor((view.length - crest - p / 8) / p)
    x0, x1 = (view.x + view.scale * z for z in (z1 - p, z1))
    side = "left" if x1 > pen.width - 150 else "right"
    dims.horizontal(pen, x0, x1, high + 20, _("P {pitch}", pitch=fine_length(p)), start=(high, high), side=side)
    return side


def _chamfer_angle(pen: Pen, view: SideView, tap: Tap, high: float) -> None:
    """The angle between chamfer and cylinder, beside the end of the chamfer."""
    xc = view.x + view.scale * tap.chamfer_length
    reach = min(0.9 * view.scale * tap.chamfer_length, 120.0)
    pen.line([(xc - reach - 16, high), (xc, high)])
    at = (xc - reach - 6, high + 3, "right", "bottom")
    dims.angular(pen, (xc, high), reach, 180, 180 + tap.chamfer_angle, angle(tap.chamfer_angle), at=at)


def _rake_note(pen: Pen, view: SideView, tap: Tap, lands: Lands, y: float) -> None:
    """The axial rake, led from a cutting edge in sight to the free end of the lower row."""
    if tap.axial_rake == 0:
        return
    text = pen.say(_("axial rake {rake}", rake=angle(tap.axial_rake)))
    seen = (lands.lead > -1.1) & (lands.lead < 0.7) & (lands.z < (solid(tap).gash_end or np.inf))
    edges = np.stack([view.place(lands.z, y) for y in lands.y_lead])[seen]
    if not len(edges):
        return
    right, wide = view.x + view.scale * view.length - 4, text_width(text, style.TEXT) + 2
    above = 2 * view.y - y - 6
    for left, shelf in ((right - wide, y), (right - wide - 150, above), (view.x + 40, above)):
        box = text_box(left, shelf + dims.LIFT, text, style.TEXT, "left", "bottom")
        if left <= view.x + 20 or not pen.is_free(box, gap=9):
            continue
        for end, side in (((left, shelf), "right"), ((left + wide, shelf), "left")):
            point = edges[np.argmin(np.hypot(*(edges - end).T))]
            if pen.is_clear(point, end) and not box.is_cut(point, end):
                dims.leader(pen, point, end, text, end="arrow", side=side)
                return


def _hole(pen: Pen, view: SideView, hole: Hole, x0: float) -> None:
    half = hole.diameter / 2 * view.scale
    for y in (view.y - half, view.y + half):
        pen.line([(x0 - 60, y), (x0 + view.scale * view.length, y)], "phantom", colour=style.ACCENT)
    text = _("⌀ {diameter}", diameter=fine_length(hole.diameter))
    dims.vertical(pen, x0 - 50, view.y - half, view.y + half, text, colour=style.ACCENT, side="below")
    pen.text(x0 - 54, view.y + half + 1, _("hole"), ha="right", colour=style.ACCENT)
