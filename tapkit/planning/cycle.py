"""The cycle: speed, feed, depths, time, and what a wrong feed does to the flanks.

In words and numbers, for any machine: how they are entered is the machine's manual's to say. Lengths in mm,
speeds in rpm and m/min, times in s.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, NamedTuple

from tapkit import units
from tapkit.geometry.thread import TAN30, Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.planning.holeplan import HolePlan, show_length
from tapkit.planning.machine import Machine
from tapkit.planning.speed import cutting_speed, round_down, spindle_speed, tapping_speed

APPROACH_PITCHES = 3.0
"""Start this many pitches above the face; common practice (no source)."""


class Line(NamedTuple):
    """One line of a set-up: `what`, its `value` with unit, and `why` (the formula, the face or the source)."""

    what: str
    value: str
    why: str


class FeedError(NamedTuple):
    """What a feed that is not the lead does [mm]: `per_turn` feed less lead, `slip` of the last thread against
    the first, `growth` of the pitch diameter, the `tolerance` of it, and `share` = growth/tolerance."""

    per_turn: float
    slip: float
    growth: float
    tolerance: float

    @property
    def share(self) -> float:
        """Growth of the pitch diameter as a share of its tolerance."""
        return self.growth / self.tolerance

    def in_words(self, system: str = "metric") -> str:
        """One sentence."""
        digits = 4 if system == "metric" else 5
        told = units.show(abs(self.per_turn), "length", system, decimals=digits)
        slip = units.show(self.slip, "length", system, decimals=digits - 1)
        if self.share < 0.005:
            return f"A feed {told} a turn off the lead does nothing that could be measured."
        verdict = "it passes its gauge only just" if self.share <= 1 else "the NO-GO gauge will go in"
        if self.share <= 0.25:
            verdict = "little of the tolerance is spent"
        return (
            f"A feed {told} a turn off the lead makes the last thread {slip} out of step; if nothing gives, the flanks "
            f"are shaved and the pitch diameter grows by {self.share:.0%} of its tolerance: {verdict}."
        )


@dataclass(frozen=True, kw_only=True)
class Cycle:
    """One tapping cycle.

    Parameters: `plan` of the hole; `machine`; `speed` wanted [m/min], None by hand; `rpm` to set, None for the
    wanted speed rounded down; `approach` height above the face where the tap starts [mm], None for 3 pitches;
    `source` of the speed.

    Raises ValueError for what cannot be set.

    >>> from tapkit.planning.holeask import DrawingAsk
    >>> ask = DrawingAsk(thread=Thread.parse("M10"), drill=8.5, full_thread=20)
    >>> cycle = Cycle.make(HolePlan(ask, 2.5), Machine.parse("rigid"), Workpiece.parse("C45"))
    >>> cycle.spindle, cycle.feed_per_turn, cycle.feed_per_minute
    (120.0, 1.5, 180.0)
    """

    plan: HolePlan
    machine: Machine
    speed: float | None = None
    rpm: float | None = None
    approach: float | None = None
    source: str = ""

    def __post_init__(self) -> None:
        if self.machine.by_hand:
            return
        if self.speed is None and self.rpm is None:
            raise ValueError("a cycle needs a cutting speed or a spindle speed; 5 m/min is a start in steel")
        for what, value, top in (("cutting speed", self.speed, 1000), ("spindle speed", self.rpm, 100_000)):
            if value is not None and not 0 < value <= top:
                raise ValueError(f"a {what} of {value:g} is outside 0 to {top:g}")
        if self.approach is not None and not 0 <= self.approach <= 500:
            raise ValueError(f"an approach of {self.approach:g} mm is outside 0 to 500 mm; 3 pitches are usual")

    @classmethod
    def make(cls, plan: HolePlan, machine: Machine, work: Workpiece, level: str = "learner", **more: Any) -> Cycle:
        """A cycle at the slow end of the speeds of a level for this metal; see `speed.tapping_speed`."""
        if machine.by_hand:
            return cls(plan=plan, machine=machine, source="by hand", **more)
        advised = tapping_speed(work, plan.ask.thread, level)
        return cls(plan=plan, machine=machine, speed=advised.low, source=advised.in_words(), **more)

    def with_(self, **changes: Any) -> Cycle:
        """The same cycle with some fields changed."""
        return replace(self, **changes)

    @property
    def thread(self) -> Thread:
        """The thread of the plan."""
        return self.plan.ask.thread

    @property
    def spindle(self) -> float:
        """Spindle speed to set [rpm]: as given, else 1000 v/(π D) rounded down; never over the machine's top."""
        if self.machine.by_hand:
            return 0.0
        wanted = self.rpm or round_down(spindle_speed(float(self.speed or 0.0), self.thread.major))
        return min(wanted, self.machine.top_speed) if self.machine.top_speed else wanted

    @property
    def real_speed(self) -> float:
        """Cutting speed at that spindle speed [m/min]."""
        return cutting_speed(self.spindle, self.thread.major)

    @property
    def feed_per_turn(self) -> float:
        """Feed for one turn [mm]: the lead, exactly."""
        return self.thread.lead

    @property
    def feed_per_minute(self) -> float:
        """Feed for one minute [mm/min]: lead × spindle speed."""
        return self.thread.lead * self.spindle

    @property
    def start_height(self) -> float:
        """Height of the tap's point above the face it enters, where the cycle begins [mm]."""
        return APPROACH_PITCHES * self.thread.pitch if self.approach is None else self.approach

    @property
    def travel(self) -> float:
        """Way of the tap from its start to its depth [mm]."""
        return self.start_height + self.plan.tap_depth - self.plan.ask.start

    @property
    def turns(self) -> float:
        """Turns on that way."""
        return self.travel / self.thread.lead

    @property
    def acceleration(self) -> float:
        """Of the spindle [turns/s2]: top speed over spin-up time; infinite where the machine sets none."""
        machine = self.machine
        return machine.top_speed / 60 / machine.spin_up if machine.spin_up else math.inf

    @property
    def turns_to_speed(self) -> float:
        """Turns from rest to the spindle speed: n²/(2 α)."""
        return (self.spindle / 60) ** 2 / 2 / self.acceleration

    @property
    def reaches_speed(self) -> bool:
        """Whether the spindle can come to speed and to rest again on the way in."""
        return 2 * self.turns_to_speed <= self.turns

    @property
    def fastest(self) -> float:
        """Fastest the spindle really turns on the way in [rpm]: n, or √(α · turns) where the way is too short."""
        if self.reaches_speed:
            return self.spindle
        return 60 * math.sqrt(self.acceleration * self.turns)

    @property
    def approach_at_speed(self) -> float:
        """Least start height at which the tap bites at full speed [mm]: turns to speed × lead."""
        return self.turns_to_speed * self.thread.lead

    def time_in(self) -> float:
        """Time from start to depth [s], speeding up and slowing down counted."""
        return _time(self.turns, self.spindle / 60, self.acceleration)

    def time_out(self) -> float:
        """Time back to the start [s], at the machine's return ratio."""
        return _time(self.turns, self.spindle / 60 * self.machine.return_ratio, self.acceleration)

    @property
    def time(self) -> float:
        """Time for one hole [s], in and out; infinite by hand, where no one counts."""
        return math.inf if self.machine.by_hand else self.time_in() + self.time_out()

    def feed_error(self, feed_per_turn: float) -> FeedError:
        """What a feed other than the lead does over this depth; see `feed_error`."""
        return feed_error(self.thread, self.plan.tap_depth - self.plan.ask.start, feed_per_turn)

    def lines(self, system: str = "metric") -> tuple[Line, ...]:
        """The set-up, line by line."""
        return _lines(self, system)

    def cautions(self, system: str = "metric") -> tuple[str, ...]:
        """What to look out for in this cycle, each in one sentence."""
        return tuple(_cautions(self, system))


def _time(turns: float, speed: float, acceleration: float) -> float:
    """Time for some turns from rest to rest [s] at most at `speed` [turns/s]."""
    if math.isinf(acceleration):
        return turns / speed
    ramp = speed**2 / acceleration
    if ramp <= turns:
        return 2 * speed / acceleration + (turns - ramp) / speed
    return 2 * math.sqrt(turns / acceleration)


# --- the feed -------------------------------------------------------------------------------------------


def feed_error(thread: Thread, depth: float, feed_per_turn: float) -> FeedError:
    """What a feed that is not the lead does, if neither machine nor holder gives way.

    Over depth/P turns the tap is pushed depth/P · |feed − P| out of step with the thread it has cut. Its
    teeth widen the groove by as much, and the pitch diameter grows by slip/tan 30° (ISO 68-1 profile).
    Parameters: `depth` of the tap in the hole and `feed_per_turn` [mm]. Derived for this project. The worst
    case: a holder with length compensation lets the tap follow its own thread.

    >>> feed_error(Thread.parse("M10"), 15, 1.51).slip.__round__(3)
    0.1
    """
    if not 0 < feed_per_turn <= 100:
        raise ValueError(
            f"a feed of {feed_per_turn:g} mm a turn is outside 0 to 100 mm; the lead is {thread.lead:g} mm"
        )
    off = feed_per_turn - thread.lead
    slip = abs(off) * depth / thread.pitch
    return FeedError(off, slip, slip / TAN30, thread.limits.pitch_max - thread.limits.pitch_min)


def allowed_feed_error(thread: Thread, depth: float, share: float = 0.25) -> float:
    """Feed error for one turn that spends a share of the pitch diameter's tolerance [mm].

    The reverse of `feed_error`.
    """
    return share * (thread.limits.pitch_max - thread.limits.pitch_min) * TAN30 * thread.pitch / depth


class FeedSetting(NamedTuple):
    """A feed as one would enter it: `mode`, the `text` entered, the feed it makes [mm/turn]."""

    mode: str
    text: str
    per_turn: float


def feed_settings(cycle: Cycle) -> tuple[FeedSetting, ...]:
    """The feed in every usual mode, rounded as one would enter it, and what rounding makes of it.

    >>> from tapkit.planning.holeask import DrawingAsk
    >>> ask = DrawingAsk(thread=Thread.parse("1/2-13"), drill=10.7, full_thread=20)
    >>> cycle = Cycle(plan=HolePlan(ask, 4), machine=Machine.parse("rigid"), rpm=400)
    >>> [s.text for s in feed_settings(cycle)]
    ['1.954 mm per turn', '0.0769 in per turn', '781.5 mm per minute', '30.77 in per minute']
    """
    lead, rpm = cycle.thread.lead, cycle.spindle
    per_minute = cycle.feed_per_minute
    out = [
        FeedSetting("mm per turn", f"{lead:.3f} mm per turn", round(lead, 3)),
        FeedSetting("in per turn", f"{lead / 25.4:.4f} in per turn", round(lead / 25.4, 4) * 25.4),
    ]
    if rpm:
        inch = round(per_minute / 25.4, 2)
        out += [
            FeedSetting("mm per minute", f"{per_minute:.1f} mm per minute", round(per_minute, 1) / rpm),
            FeedSetting("in per minute", f"{inch:.2f} in per minute", inch * 25.4 / rpm),
        ]
    return tuple(out)


# --- words ----------------------------------------------------------------------------------------------


def _lines(cycle: Cycle, system: str) -> tuple[Line, ...]:
    plan, ask, machine = cycle.plan, cycle.plan.ask, cycle.machine
    show = partial(show_length, system=system)
    out = []
    if not machine.by_hand:
        rpm, shown = cycle.spindle, units.show(cycle.real_speed, "speed", system)
        out += [
            Line("spindle speed", f"{rpm:.0f} rpm", f"{shown} at the major diameter; {cycle.source}".rstrip("; ")),
            Line("feed per turn", _feed(cycle, 1, system), "the lead, exactly"),
            Line("feed per minute", _feed(cycle, 0, system), f"lead × {rpm:.0f} rpm"),
            Line("start height", show(cycle.start_height), "of the tap's point above the face it enters"),
        ]
    depth = "top face to the small end of the chamfer"
    out.append(Line("tap depth", show(plan.tap_depth), depth))
    if ask.center_length:
        told = "where the tool length is set at the male center"
        out.append(Line("depth of the center's tip", show(plan.tap_depth + ask.center_length), told))
    out.append(Line("turns", f"{plan.turns:.1f}", "from the face it enters"))
    if not machine.by_hand:
        back = "reversed, same feed" if machine.return_ratio == 1 else "by the reversing head"
        out.append(Line("retract to", show(cycle.start_height), back))
        told = f"{cycle.time_in():.1f} s in, {cycle.time_out():.1f} s out"
        out.append(Line("time for one hole", f"{cycle.time:.1f} s", told))
    return tuple(out)


def _feed(cycle: Cycle, per_turn: int, system: str) -> str:
    settings = {s.mode: s.text for s in feed_settings(cycle)}
    unit = "mm" if system == "metric" else "in"
    return settings[f"{unit} per {'turn' if per_turn else 'minute'}"]


def _cautions(cycle: Cycle, system: str) -> list[str]:
    machine, found = cycle.machine, []
    if machine.by_hand:
        return ["start the tap square: look from two sides at right angles, or use a guide block"]
    wanted = cycle.rpm or spindle_speed(float(cycle.speed or 0), cycle.thread.major)
    if machine.top_speed and wanted > machine.top_speed:
        found.append(f"{wanted:.0f} rpm is over this machine's {machine.top_speed:.0f} rpm; it is held there")
    if not cycle.reaches_speed:
        found.append(
            f"the spindle never reaches {cycle.spindle:.0f} rpm in so short a way: it gets to {cycle.fastest:.0f} rpm "
            f"before it must slow down again; a speed of {round_down(cycle.fastest):.0f} rpm takes hardly longer"
        )
    elif cycle.approach_at_speed > cycle.start_height * 1.0001:
        found.append(
            f"the tap bites before the spindle is at speed: it needs {cycle.turns_to_speed:.1f} turns, so start "
            f"{show_length(cycle.approach_at_speed, system)} above the face or turn slower"
        )
    if cycle.source.endswith("start far slower)"):
        found.append("this is a handbook's optimum: in a training shop begin at a quarter of it or less")
    if machine.name == "drill press":
        found.append("feed lightly by hand: the tap draws itself in at its lead, and the head turns it out")
    else:
        per_minute = cycle.feed_error(cycle.feed_per_turn * 1.01)
        if per_minute.share > 0.25:
            found.append(
                "set the feed per turn, tied to the spindle: by the minute, a spindle only 1 % off spends "
                f"{per_minute.share:.0%} of the pitch diameter's tolerance"
            )
    return found
