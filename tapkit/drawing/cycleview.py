"""The cycle in one picture: spindle speed along the way, and what a feed that is not the lead does to the thread."""

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.chart import Chart, nice_ceiling
from tapkit.drawing.label import text_width
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.messages import Number, Quantity, Sentence, Unit, _, length, speed, text
from tapkit.planning.cycle import Cycle, feed_settings
from tapkit.planning.holeplan import depth

POINTS = 60
"""Places along the way at which the speed is drawn."""

SLOW = (0.1, 0.5, 1.0, 2.0)
"""By how much the spindle of a feed by the minute is slow [%]."""


@drawn()
def draw_cycle(pen: Pen, cycle: Cycle) -> None:
    """Speed along the way at the left, feed errors at the right."""
    split = 0.56 * pen.width
    if cycle.machine.by_hand:
        _by_hand(pen, cycle, Box(14, 20, split - 20, pen.height - 12))
    else:
        _speed(pen, cycle, Box(62, 56, split - 24, pen.height - 58))
    _feed(pen, cycle, Box(split + 8, 8, pen.width - 8, pen.height - 8))


def describe_cycle(cycle: Cycle, system: str = "metric") -> str:
    """The cycle in two sentences; also the alt text."""
    plan = cycle.plan
    deep = depth(plan.tap_depth)
    if cycle.machine.by_hand:
        told = _(
            "By hand: {turns} turns bring the tap's point to {depth} below the top face.",
            turns=Number(plan.turns, decimals=1),
            depth=deep,
        )
        return told.said(system)
    slow = None
    if not cycle.reaches_speed:
        fastest = Quantity(cycle.fastest, "rotation")
        slow = _("The spindle gets to {rpm} only before it must slow down.", rpm=fastest)
    return text(
        _(
            "At {rpm} ({speed}) the tap feeds {feed}; its point stops {depth} below the top face, {time} for one hole.",
            rpm=Quantity(cycle.spindle, "rotation"),
            speed=speed(cycle.real_speed),
            feed=_entered(cycle, system),
            depth=deep,
            time=Quantity(cycle.time, "time", decimals=1, inch_decimals=1),
        ),
        slow,
        _set_by(cycle),
    ).said(system)


def _set_by(cycle: Cycle) -> Sentence:
    """What the way of setting the feed does where the spindle is off."""
    if not cycle.by_minute:
        return _("The feed is set by the turn: it follows the spindle, whatever its speed.")
    off = dict(off=Number(cycle.spindle_off), error=cycle.feed_error(cycle.real_feed).in_words())
    return _("The feed is set by the minute, with the spindle {off} % slower than set. {error}", **off)


def _entered(cycle: Cycle, system: str) -> str:
    want = "mm per minute" if system == "metric" else "in per minute"
    return next(s.text for s in feed_settings(cycle) if s.mode == want)


def speed_along(cycle: Cycle, way: np.ndarray) -> np.ndarray:
    """Spindle speed [rpm] at each place along the way in [mm from the start], shape as `way`."""
    turns = way / cycle.thread.lead
    if np.isinf(cycle.acceleration):
        return np.full_like(way, cycle.spindle)
    ramp = np.sqrt(2 * cycle.acceleration * np.minimum(turns, cycle.turns - turns).clip(0))
    return np.minimum(60 * ramp, cycle.spindle)


def _speed(pen: Pen, cycle: Cycle, box: Box) -> None:
    per_mm, start, deep = pen.unit("length"), cycle.start_height, cycle.travel - cycle.start_height
    chart = Chart(pen, box, x=(-start * per_mm, deep * per_mm * 1.02), y=(0.0, nice_ceiling(1.12 * cycle.spindle)))
    chart.y_axis(_("spindle speed, rpm"))
    chart.x_axis(_("tap's point below the face it enters, {unit}", unit=Unit("length")))
    face, end = float(chart.across(0)), float(chart.across(deep * per_mm))
    pen.rectangle(Box(face, box.bottom, end, box.top), style.PART, z=0.2)
    pen.line([(face, box.bottom), (face, box.top)], "edge")
    pen.text(face + 5, box.bottom + 4, _("in the metal"), size=style.SMALL)
    way = cycle.travel * (1 - np.cos(np.linspace(0, np.pi, POINTS))) / 2
    pen.line(chart.points((way - start) * per_mm, speed_along(cycle, way)), "bold", colour=style.ACCENT)
    y = float(chart.up(cycle.spindle))
    pen.line([(box.left, y), (box.right, y)], "hidden")
    pen.text(box.right, y + 3, _("set: {rpm}", rpm=Quantity(cycle.spindle, "rotation")), size=style.SMALL, ha="right")


def _by_hand(pen: Pen, cycle: Cycle, box: Box) -> None:
    plan = cycle.plan
    pen.text(box.left, box.top - 14, _("By hand"), bold=True)
    lines = [
        _("{turns} turns to full depth", turns=Number(plan.turns, decimals=1)),
        _("lead {lead} a turn", lead=length(cycle.thread.lead)),
        _("there is no speed to set"),
        _("start square, then let the tap draw itself in"),
    ]
    for i, line in enumerate(lines):
        pen.text(box.left, box.top - 44 - 22 * i, line)


def _feed_rows(cycle: Cycle, system: str) -> list[tuple[Sentence, float]]:
    """Name and share of the tolerance of feeds that are off, by the way the feed is set: first the one set now."""

    def row(name: Sentence, feed: float) -> tuple[Sentence, float]:
        return name, cycle.feed_error(feed).share

    off = [row(_("by minute, {off} % slow", off=Number(e, decimals=1)), cycle.slow_feed(e)) for e in SLOW]
    if cycle.by_minute:
        now = _("now: spindle {off} % slow", off=Number(cycle.spindle_off))
    else:
        now = _("now: by the turn")
    return [row(now, cycle.real_feed), *off, *(row(s.text, s.per_turn) for s in feed_settings(cycle, system))]


MOST = 10.0
"""Tolerances at which a bar is broken off."""


def _feed(pen: Pen, cycle: Cycle, box: Box) -> None:
    """Bars: how much of the pitch diameter's tolerance a wrong feed spends."""
    pen.text(box.left, box.top - 14, _("A feed that is not the lead"), bold=True)
    pen.text(box.left, box.top - 30, _("share of the pitch diameter's tolerance it spends"), size=style.SMALL)
    rows = _feed_rows(cycle, pen.memory["system"])
    full = min(max(1.0, *(share for _name, share in rows)), MOST)
    left, room = box.left + 132, box.right - box.left - 132 - 52
    one = left + room / full
    top, tall = box.top - 44, (box.top - 44 - box.bottom - 6) / len(rows)
    for i, (name, share) in enumerate(rows):
        y = top - (i + 0.5) * tall
        pen.text(left - 6, y, name, size=style.SMALL, ha="right", va="center", bold=not i)
        half = min(8.0, 0.32 * tall)
        long = room * min(share, full) / full
        bad = share > 1
        corners = pen.rectangle(Box(left, y - half, left + max(long, 0.8), y + half), style.WARN if bad else style.COOL)
        pen.line(corners, "thin", closed=True)
        if bad:
            pen.hatch(corners, 45, 6, colour=style.PAPER)
        percent, times = Number(100 * share, decimals=0), Number(share, decimals=0)
        told = _("{percent} %", percent=percent) if share < 9.995 else _("{times} ×", times=times)
        if share > full:  # the bar is broken off: it goes on
            told = _("{share} ≫", share=told)
            for at in (10, 14):
                pen.line([(left + long - at, y - half - 3), (left + long - at + 4, y + half + 3)], "thin", z=4)
        x = left + long + 5
        if x < one < x + text_width(pen.say(told), style.SMALL) + 3:
            x = one + 5
        pen.text(x, y, told, size=style.SMALL, va="center", bold=bad)
    pen.line([(one, box.bottom + 4), (one, top)], "hidden", z=3.5)
