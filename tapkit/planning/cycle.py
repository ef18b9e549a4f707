"""The cycle: speed, feed, depths, time, and what a wrong feed does to the flanks.

In words and numbers, for any machine: how they are entered is the machine's manual's to say. Lengths in mm,
speeds in rpm and m/min, times in s.
"""

import math
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from tapkit.geometry.thread import Thread
from tapkit.mechanics import feed
from tapkit.mechanics.expected import thread_length
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Number, Sentence, _, length, ngettext, speed
from tapkit.planning.holeplan import HolePlan, depth
from tapkit.planning.machine import Machine
from tapkit.planning.moves import moves, steps, time_for
from tapkit.planning.speed import cutting_speed, round_down, spindle_speed, tapping_speed

APPROACH_PITCHES = 3.0
"""Start this many pitches above the face; common practice (no source)."""

TURN, MINUTE = "turn", "minute"
"""How a feed is set: tied to the spindle, or by the clock."""


class CycleLine(NamedTuple):
    """One line of a set-up: its `key`, `what` it is, its `value`, and `why` (the formula, the face or the source)."""

    key: str
    what: Sentence
    value: Any
    why: Any


class FeedError(NamedTuple):
    """What a feed that is not the lead does [mm]: `per_turn` feed less lead, `slip` of the last thread against
    the first, `growth` of the pitch diameter at most, the `tolerance` of it, and `share` = growth/tolerance; axial
    `force` on the tap, least and most [N], and what the `holder` does, in words."""

    per_turn: float
    slip: float
    growth: float
    tolerance: float
    force: tuple[float, float]
    holder: Sentence

    @property
    def share(self) -> float:
        """Growth of the pitch diameter as a share of its tolerance."""
        return self.growth / self.tolerance

    def in_words(self) -> Sentence:
        told = dict(
            off=length(abs(self.per_turn), decimals=4, inch_decimals=5),
            slip=length(self.slip, decimals=3, inch_decimals=4),
            share=Number(100 * self.share, decimals=0),
        )
        if not self.slip:
            return _("The feed is the lead: nothing is out of step.")
        if self.growth == 0:
            return _("{what}.", what=self.holder)
        if self.share < 0.005:
            return _("A feed {off} a turn off the lead does nothing that could be measured.", **told)
        if self.share <= 0.25:
            verdict = _("little of the tolerance is spent")
        elif self.share <= 1:
            verdict = _("it passes its gauge only just")
        else:
            verdict = _("the NO-GO gauge will go in")
        return _(
            "A feed {off} a turn off the lead makes the last thread {slip} out of step; if nothing gives, the flanks "
            "are shaved and the pitch diameter grows by {share} % of its tolerance: {verdict}.",
            **told,
            verdict=verdict,
        )


@dataclass(frozen=True, kw_only=True)
class Cycle:
    """One tapping cycle.

    Parameters: `plan` of the hole; `machine`; `speed` wanted [m/min], None by hand; `rpm` to set, None for the
    wanted speed rounded down; `approach` height above the face where the tap starts [mm], None for 3 pitches; `holder`,
    where it is not the machine's usual one; `feed_by` "turn" or "minute", how the feed is set; `spindle_off` by which
    the spindle turns slower than it is set [%]; depth of a `peck` after which the tap is taken out and cleared [mm],
    `back_turns` after which it is turned back, None where that is not done; `source` of the speed and its `level`.

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
    holder: str = ""
    feed_by: str = TURN
    spindle_off: float = 0.0
    peck: float | None = None
    back_turns: float | None = None
    source: Sentence | str = ""
    level: str = ""

    def __post_init__(self) -> None:
        if self.feed_by not in (TURN, MINUTE):
            told = dict(feed_by=repr(self.feed_by), turn=TURN, minute=MINUTE)
            raise ValueError(_("a feed is not set by {feed_by}; write {turn} or {minute}", **told))
        if not -50 <= self.spindle_off <= 50:
            told = dict(off=Number(self.spindle_off))
            raise ValueError(
                _("a spindle {off} % slower than it is set is outside −50 to 50; 1 is already much", **told)
            )
        if self.machine.by_hand:
            return
        if self.speed is None and self.rpm is None:
            told = _("a cycle needs a cutting speed or a spindle speed; {start} is a start in steel", start=speed(5))
            raise ValueError(told)
        if self.speed is not None and not 0 < self.speed <= 1000:
            raise ValueError(_("a cutting speed of {v} is outside 0 to {top}", v=speed(self.speed), top=speed(1000)))
        if self.rpm is not None and not 0 < self.rpm <= 100_000:
            raise ValueError(_("a spindle speed of {rpm} rpm is outside 0 to 100000", rpm=Number(self.rpm)))
        if self.approach is not None and not 0 <= self.approach <= 500:
            told = dict(value=length(self.approach), top=length(500))
            raise ValueError(_("an approach of {value} is outside 0 to {top}; 3 pitches are usual", **told))

    @classmethod
    def make(cls, plan: HolePlan, machine: Machine, work: Workpiece, level: str = "learner", **more: Any) -> "Cycle":
        """A cycle at the slow end of the speeds of a level for this metal; see `speed.tapping_speed`."""
        if machine.by_hand:
            return cls(plan=plan, machine=machine, source=_("by hand"), **more)
        advised = tapping_speed(work, plan.ask.thread, level)
        return cls(
            plan=plan, machine=machine, speed=advised.low, source=advised.in_words(), level=advised.level, **more
        )

    def with_(self, **changes: Any) -> "Cycle":
        """The same cycle with some fields changed."""
        return replace(self, **changes)

    @property
    def thread(self) -> Thread:
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
    def real_feed(self) -> float:
        """Feed in one turn [mm] of the spindle as it really turns: by the turn the lead, whatever the spindle does; by
        the minute more where the spindle is slower than it is set."""
        return self.slow_feed(self.spindle_off) if self.by_minute else self.thread.lead

    def slow_feed(self, percent: float) -> float:
        """Feed in one turn [mm] where it is set by the minute and the spindle turns so many percent slower than set."""
        return self.thread.lead / (1 - percent / 100)

    @property
    def by_minute(self) -> bool:
        """Whether the feed is set by the minute, so that nothing ties it to the spindle."""
        return self.feed_by == MINUTE and not self.machine.by_hand

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

    @property
    def stops(self) -> tuple[float, ...]:
        """Turns from the start at which the tap is taken out: after every peck, and at its depth."""
        face, deep = self.start_height / self.thread.lead, (self.travel - self.start_height) / self.thread.lead
        return tuple(face + t for t in steps(deep, self.peck and self.peck / self.thread.lead))

    @property
    def moves_in(self) -> tuple[float, ...]:
        """Turns of every move from rest to rest until the depth is reached, but the ways out: each way in is one, or is
        broken by turning back and going on over the same turns."""
        return moves(self.start_height / self.thread.lead, self.stops, self.back_turns)

    def time_in(self) -> float:
        """Time of all ways in [s], turning back included; speeding up and slowing down counted."""
        return sum(time_for(turns, self.spindle / 60, self.acceleration) for turns in self.moves_in)

    def time_out(self) -> float:
        """Time of all ways back to the start [s], at the machine's return ratio."""
        back = self.spindle / 60 * self.machine.return_ratio
        return sum(time_for(turns, back, self.acceleration) for turns in self.stops)

    @property
    def time(self) -> float:
        """Time for one hole [s], in and out, no brushing off of chips; infinite by hand, where no one counts."""
        return math.inf if self.machine.by_hand else self.time_in() + self.time_out()

    @property
    def time_clearing(self) -> float:
        """What taking out and turning back add to it [s]."""
        return 0.0 if self.machine.by_hand else self.time - self.with_(peck=None, back_turns=None).time

    def feed_error(self, feed_per_turn: float) -> FeedError:
        """What a feed other than the lead does over this depth; see `feed_error`."""
        deep = self.plan.tap_depth - self.plan.ask.start
        return feed_error(self.thread, deep, feed_per_turn, self.holder or self.machine.holder)

    def lines(self, system: str = "metric") -> tuple[CycleLine, ...]:
        """The set-up, line by line; the feed as one enters it in a system of units."""
        plan, ask, machine = self.plan, self.plan.ask, self.machine
        out = [] if machine.by_hand else _speed_lines(self, system)
        why = _("top face to the small end of the chamfer")
        out.append(CycleLine("tap depth", _("tap depth"), depth(plan.tap_depth), why))
        if ask.center_length:
            tip, told = depth(plan.tap_depth + ask.center_length), _("where the tool length is set at the male center")
            out.append(CycleLine("center depth", _("depth of the center's tip"), tip, told))
        out.append(CycleLine("turns", _("turns"), Number(plan.turns, decimals=1), _("from the face it enters")))
        if not machine.by_hand:
            back = _("reversed, same feed") if machine.return_ratio == 1 else _("by the reversing head")
            out.append(CycleLine("retract", _("retract to"), depth(self.start_height), back))
            times = dict(there=Number(self.time_in(), decimals=1), back=Number(self.time_out(), decimals=1))
            whole = _("{seconds} s", seconds=Number(self.time, decimals=1))
            out.append(CycleLine("time", _("time for one hole"), whole, _("{there} s in, {back} s out", **times)))
            if self.peck or self.back_turns:
                out.append(_clearing_line(self))
        return tuple(out)

    def cautions(self) -> tuple[Sentence, ...]:
        """What to look out for in this cycle, each in one sentence."""
        turning = self.thread.turns_left()
        if self.machine.by_hand:
            return (*turning, _("start the tap square: look from two sides at right angles, or use a guide block"))
        return (*turning, *_cautions_of_speed(self), *_cautions_of_feed(self))


# --- the feed -------------------------------------------------------------------------------------------


def feed_error(thread: Thread, deep: float, feed_per_turn: float, holder: str = "rigid") -> FeedError:
    """What a feed that is not the lead does, by the holder; see `mechanics.feed`.

    Parameters: `deep`, depth of the tap in the hole and `feed_per_turn` [mm]. The pitch diameter grows most at the
    mouth, and never by more than the length of the tap's thread allows.

    >>> feed_error(Thread.parse("M10"), 15, 1.51).slip.__round__(3)
    0.1
    """
    found = feed.feed_off(
        feed=feed_per_turn,
        pitch=thread.pitch,
        depth=deep,
        thread_length=thread_length(thread.major),
        held=feed.holder(holder),
    )
    tolerance = thread.limits.pitch_max - thread.limits.pitch_min
    return FeedError(found.per_turn, found.out_of_step, found.growth[1], tolerance, found.force, found.sentence)


class FeedSetting(NamedTuple):
    """A feed as one would enter it: `mode`, the `text` entered, the feed it makes [mm/turn]."""

    mode: str
    text: Sentence
    per_turn: float


def feed_settings(cycle: Cycle, system: str = "") -> tuple[FeedSetting, ...]:
    """The feed in every usual mode, of one `system` where it is named, rounded as one would enter it, and what rounding
    makes of it.

    >>> from tapkit.planning.holeask import DrawingAsk
    >>> ask = DrawingAsk(thread=Thread.parse("1/2-13"), drill=10.7, full_thread=20)
    >>> cycle = Cycle(plan=HolePlan(ask, 4), machine=Machine.parse("rigid"), rpm=400)
    >>> [str(s.text) for s in feed_settings(cycle)]
    ['1.954 mm per turn', '0.0769 in per turn', '781.5 mm per minute', '30.77 in per minute']
    """
    lead, rpm = cycle.thread.lead, cycle.spindle
    per_minute = cycle.feed_per_minute
    out = [
        FeedSetting("mm per turn", _("{feed} mm per turn", feed=Number(lead, decimals=3)), round(lead, 3)),
        FeedSetting(
            "in per turn", _("{feed} in per turn", feed=Number(lead / 25.4, decimals=4)), round(lead / 25.4, 4) * 25.4
        ),
    ]
    if rpm:
        inch = round(per_minute / 25.4, 2)
        out += [
            FeedSetting(
                "mm per minute",
                _("{feed} mm per minute", feed=Number(per_minute, decimals=1)),
                round(per_minute, 1) / rpm,
            ),
            FeedSetting("in per minute", _("{feed} in per minute", feed=Number(inch, decimals=2)), inch * 25.4 / rpm),
        ]
    unit = {"metric": "mm", "inch": "in"}.get(system, "")
    return tuple(s for s in out if s.mode.startswith(unit))


# --- words ----------------------------------------------------------------------------------------------


def _clearing_line(cycle: Cycle) -> CycleLine:
    times = ngettext("out {count} time", "out {count} times", len(cycle.stops))
    back = (len(cycle.moves_in) - len(cycle.stops)) // 2
    turned = ngettext("turned back {count} time by half a turn", "turned back {count} times by half a turn", back)
    why = _("{out}, {back}; brushing chips off takes more", out=times, back=turned)
    return CycleLine("clearing", _("of it to clear chips"), _("{s} s", s=Number(cycle.time_clearing, decimals=1)), why)


def _speed_lines(cycle: Cycle, system: str) -> list[CycleLine]:
    at = _("{speed} at the major diameter, rounded down", speed=speed(cycle.real_speed, digits=3))
    if cycle.rpm:
        at = _("{speed} at the major diameter", speed=speed(cycle.real_speed, digits=3))
    if cycle.source:
        at = _("{at}; {source}", at=at, source=cycle.source)
    feeds = {s.mode: s.text for s in feed_settings(cycle)}
    unit = "mm" if system == "metric" else "in"
    rpm = Number(cycle.spindle, decimals=0)
    height = _("of the tap's point above the face it enters")
    tied = _("the lead, exactly; not set here") if cycle.by_minute else _("the lead, exactly")
    clock = _("lead × {rpm} rpm", rpm=rpm)
    if cycle.by_minute and cycle.spindle_off:
        real = dict(feed=length(cycle.real_feed, decimals=4, inch_decimals=5), clock=clock)
        clock = _("{clock}; the spindle as it turns makes {feed} a turn of it", **real)
    return [
        CycleLine("spindle speed", _("spindle speed"), _("{rpm} rpm", rpm=rpm), at),
        CycleLine("feed per turn", _("feed per turn"), feeds[f"{unit} per turn"], tied),
        CycleLine("feed per minute", _("feed per minute"), feeds[f"{unit} per minute"], clock),
        CycleLine("start height", _("start height"), depth(cycle.start_height), height),
    ]


def _cautions_of_speed(cycle: Cycle) -> list[Sentence]:
    machine, found = cycle.machine, []
    wanted = cycle.rpm or spindle_speed(float(cycle.speed or 0), cycle.thread.major)
    if machine.top_speed and wanted > machine.top_speed:
        over = dict(wanted=Number(wanted, decimals=0), top=Number(machine.top_speed, decimals=0))
        found.append(_("{wanted} rpm is over this machine's {top} rpm; it is held there", **over))
    if not cycle.reaches_speed:
        found.append(
            _(
                "the spindle never reaches {rpm} rpm in so short a way: it gets to {fastest} rpm before it must slow "
                "down again; a speed of {enough} rpm takes hardly longer",
                rpm=Number(cycle.spindle, decimals=0),
                fastest=Number(cycle.fastest, decimals=0),
                enough=Number(round_down(cycle.fastest), decimals=0),
            )
        )
    elif cycle.approach_at_speed > cycle.start_height * 1.0001:
        found.append(
            _(
                "the tap bites before the spindle is at speed: it needs {turns} turns, so start {height} above the "
                "face or turn slower",
                turns=Number(cycle.turns_to_speed, decimals=1),
                height=depth(cycle.approach_at_speed),
            )
        )
    if cycle.level == "handbook":
        found.append(_("this is a handbook's optimum: in a training shop begin at a quarter of it or less"))
    return found


def _cautions_of_feed(cycle: Cycle) -> list[Sentence]:
    if cycle.machine.name == "drill press":
        return [_("feed lightly by hand: the tap draws itself in at its lead, and the head turns it out")]
    share = cycle.feed_error(cycle.slow_feed(1)).share
    if cycle.by_minute and cycle.spindle_off:
        return [cycle.feed_error(cycle.real_feed).holder]
    tied = _(
        "set the feed per turn, tied to the spindle: by the minute, a spindle only 1 % slow spends {share} % "
        "of the pitch diameter's tolerance",
        share=Number(100 * share, decimals=0),
    )
    return [tied] if share > 0.25 else []
