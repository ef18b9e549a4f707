"""The hole plan: from what the drawing asks to depths one can set, every one from the top face.

Blind, from the surface down, at the worst case of every tolerance:

    tap's point  = full thread + chamfer n P + tolerance of the tap's depth
    deepest tap  = tap's point + its tolerance + overrun of the spindle + male center
    cylinder     = deepest tap + clearance + tolerance of the drill's depth
    drill point  = cylinder + cone ½ D_h / tan(angle/2)
    floor left   = thickness − drill point − both tolerances

Source: trade facts on holes and drills, common practice (no source); the cone is plain geometry.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.messages import Number, Quantity, Sentence, _, length, threads_of
from tapkit.planning.holeask import COUNTERBORE, DrawingAsk, Tolerances

ROUNDING = 1e-9
"""Lengths below this [mm] are rounding."""


class StackRow(NamedTuple):
    """One depth or gap of the stack-up, all in mm: `name`, the `face` it is measured from, `nominal`, `least`
    and `most` at the worst case, `likely` the root-sum-square spread either side, `parts` what adds up, each
    with its ± tolerance."""

    name: str
    face: str
    nominal: float
    least: float
    most: float
    likely: float
    parts: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class HolePlan:
    """The depths for one hole and one chamfer length `threads` [threads]. Lengths in mm from the top face.

    >>> from tapkit import Thread
    >>> ask = DrawingAsk(thread=Thread.parse("M10"), drill=8.5, full_thread=20, thickness=40, floor=4)
    >>> plan = HolePlan(ask, 4)
    >>> plan.tap_depth, plan.cylinder, round(plan.drill_point, 2), round(plan.floor_left, 2), plan.fits
    (26.0, 27.5, 30.05, 9.95, True)
    """

    ask: DrawingAsk
    threads: float

    def __post_init__(self) -> None:
        if not 0.1 <= self.threads <= 20:
            told = _("a chamfer of {n} threads cannot be ground; 4 make a plug chamfer", n=Number(self.threads))
            raise ValueError(told)

    @property
    def chamfer(self) -> float:
        """Length of the chamfer n P [mm]."""
        return self.threads * self.ask.thread.pitch

    @property
    def full_thread_end(self) -> float:
        """Deepest full thread asked for [mm below the top face]."""
        ask = self.ask
        if ask.full_thread is None:
            return float(ask.thickness or 0.0)
        return ask.full_thread + (ask.start if ask.face == COUNTERBORE else 0.0)

    @property
    def tap_depth(self) -> float:
        """Where to stop the tap's point (the small end of its chamfer) [mm below the top face]."""
        t = self.ask.tolerances
        seat = t.counterbore if self.ask.face == COUNTERBORE else 0.0
        end = t.thickness if self.ask.threads_all_through else 0.0
        return self.full_thread_end + self.chamfer + t.tap_depth + seat + end

    @property
    def tap_deepest(self) -> float:
        """The deepest anything of the tap can come, with overrun and male center [mm below the top face]."""
        return self.tap_depth + self.ask.tolerances.tap_depth + self.ask.overrun + self.ask.center_length

    @property
    def cylinder(self) -> float:
        """Full-diameter depth to drill [mm below the top face]; the thickness in a through hole."""
        if self.ask.is_through:
            return float(self.ask.thickness or 0.0)
        return self.tap_deepest + self.ask.kept_clear + self.ask.tolerances.drill_depth

    @property
    def drill_point(self) -> float:
        """Depth of the drill's very point [mm below the top face]; through: where it must come to break out."""
        return self.cylinder + self.ask.cone_depth

    @property
    def floor_left(self) -> float | None:
        """Metal left below the drill's point at the worst case [mm], below 0 where it breaks out; None where
        there is no floor to keep."""
        ask = self.ask
        if ask.is_through or ask.thickness is None:
            return None
        return ask.thickness - ask.tolerances.thickness - self.drill_point - ask.tolerances.drill_depth

    @property
    def sticks_out(self) -> float:
        """How far the tap comes out below a through hole at the worst case [mm]; 0 in a blind one."""
        if not self.ask.is_through:
            return 0.0
        return max(self.tap_deepest - (float(self.ask.thickness or 0.0) - self.ask.tolerances.thickness), 0.0)

    @property
    def spare(self) -> float:
        """Room to spare at the worst case [mm]; below 0 the plan does not fit, by so much."""
        if self.floor_left is not None:
            return self.floor_left - self.ask.floor
        if self.ask.is_through and self.ask.room_below is not None:
            return self.ask.room_below - self.sticks_out
        return math.inf

    @property
    def fits(self) -> bool:
        """Whether everything asked for holds at the worst case."""
        return self.spare >= -ROUNDING

    @property
    def engagement(self) -> float:
        """Full thread a screw can use [mm]: what is asked for, less what counterbore and countersink take."""
        return self.full_thread_end - self.ask.start - self.ask.countersink_depth

    @property
    def turns(self) -> float:
        """Turns of the tap from the face it enters to its depth: the way over the pitch."""
        return (self.tap_depth - self.ask.start) / self.ask.thread.pitch

    def hole(self) -> Hole:
        """The hole this plan drills, for an `Operation`, measured from where the tap meets the part."""
        ask, start = self.ask, self.ask.start
        if ask.is_through:
            return Hole(kind="through", diameter=ask.drill, depth=self.cylinder - start, drill_angle=ask.drill_angle)
        return Hole(
            kind="blind",
            diameter=ask.drill,
            depth=self.cylinder - start,
            drill_angle=ask.drill_angle,
            clearance=self.cylinder - self.tap_depth,
        )

    def stack(self) -> tuple[StackRow, ...]:
        """The tolerance stack-up: each depth and each gap with its worst case."""
        ask, t, top = self.ask, self.ask.tolerances, "top face"
        rows = [_row("tap's point", top, self.tap_depth, [("tap depth", t.tap_depth)])]
        if ask.counterbore_depth:
            rows.insert(0, _row("counterbore floor", top, ask.counterbore_depth, [("counterbore", t.counterbore)]))
        if not ask.is_through:
            drill = [("drill depth", t.drill_depth)]
            rows.append(_row("end of cylinder", top, self.cylinder, drill))
            rows.append(_row("drill point", top, self.drill_point, drill))
        if ask.thickness is not None:
            rows.append(_row("bottom face", top, ask.thickness, [("thickness", t.thickness)]))
        return tuple(rows + _gaps(self, t))

    def in_words(self) -> Sentence:
        """One or two sentences on this plan."""
        ask, floor = self.ask, self.floor_left
        said = dict(
            thread=ask.thread.designation, threads=threads_of(self.threads), depth=depth(self.tap_depth),
            cylinder=depth(self.cylinder), turns=Number(self.turns, decimals=1),
        )  # fmt: skip
        if ask.threads_all_through:
            told = _(
                "{thread}, chamfer of {threads}: run the tap's point {depth} below the top face, {turns} turns; it "
                "comes out {out} below at most.",
                **said, out=depth(self.sticks_out),
            )  # fmt: skip
        elif ask.is_through:
            told = _("{thread}, chamfer of {threads}: stop the tap's point at {depth}, {turns} turns.", **said)
        elif floor is None:
            told = _(
                "{thread}, chamfer of {threads}: drill {cylinder} full diameter, stop the tap's point at {depth}, "
                "{turns} turns.",
                **said,
            )
        else:
            told = _(
                "{thread}, chamfer of {threads}: drill {cylinder} full diameter, stop the tap's point at {depth}, "
                "{turns} turns; the floor left is {floor} at worst.",
                **said, floor=depth(floor),
            )  # fmt: skip
        if self.fits:
            return told
        return _("{told} It does not fit: {short} is missing.", told=told, short=depth(-self.spare))

    def cautions(self) -> tuple[Sentence, ...]:
        """What to look out for, each in one sentence."""
        ask, found, thread = self.ask, [], self.ask.thread
        if self.floor_left is not None and self.floor_left < 0:
            found.append(_("the drill's point would break through the floor by {depth}", depth=depth(-self.floor_left)))
        if not self.fits:
            short = depth(-self.spare)
            found.append(_("the plan is short by {depth} at the worst case of the tolerances", depth=short))
        if ask.is_through and ask.room_below is not None and ask.room_below < ask.cone_depth:
            room = dict(cone=depth(ask.cone_depth), room=depth(ask.room_below))
            found.append(_("the drill's point needs {cone} below the part to break out; there is {room}", **room))
        if not ask.is_through and ask.kept_clear < 0.5 * thread.pitch:
            told = _("only {free} stays free ahead of the tap: under half a pitch, chips or a late stop break it",
                     free=depth(ask.kept_clear))  # fmt: skip
            found.append(told)
        return (*found, *_cautions_of_shape(self))


def plan_for(ask: DrawingAsk, tap: Tap) -> HolePlan:
    """The plan for a hole and a tap. Raises ValueError where the tap is for another thread."""
    if (tap.thread.major, tap.thread.pitch) != (ask.thread.major, ask.thread.pitch):
        told = dict(tap=tap.thread.designation, thread=ask.thread.designation)
        raise ValueError(_("a tap for {tap} does not cut {thread}", **told))
    return HolePlan(ask, tap.chamfer_threads)


# --- the stack-up ---------------------------------------------------------------------------------------


def _row(name: str, face: str, nominal: float, parts: list[tuple[str, float]], extra: float = 0.0) -> StackRow:
    """A row from its ± parts; `extra` only ever takes away (overrun, center)."""
    spread = sum(t for _, t in parts)
    likely = math.sqrt(sum(t * t for _, t in parts))
    counted = tuple((what, t) for what, t in parts if t)
    return StackRow(name, face, nominal, nominal - spread - extra, nominal + spread, likely, counted)


def _gaps(plan: HolePlan, t: Tolerances) -> list[StackRow]:
    ask = plan.ask
    seat = [("counterbore", t.counterbore)] if ask.face == COUNTERBORE else []
    zero = ask.start if ask.face == COUNTERBORE else 0.0
    if ask.threads_all_through:
        below = plan.tap_depth - plan.full_thread_end - plan.chamfer
        parts = [("tap depth", t.tap_depth), ("thickness", t.thickness)]
        return [_row("full thread past the bottom face", "bottom face", below, parts)]
    reach = plan.tap_depth - plan.chamfer - zero
    gaps = [_row("full thread", ask.face, reach, [("tap depth", t.tap_depth), *seat])]
    if not ask.is_through:
        parts = [("drill depth", t.drill_depth), ("tap depth", t.tap_depth)]
        ahead = plan.cylinder - plan.tap_depth
        gaps.append(_row("free ahead of the tap", "tap's point", ahead, parts, ask.overrun + ask.center_length))
        if ask.thickness is not None:
            parts = [("thickness", t.thickness), ("drill depth", t.drill_depth)]
            gaps.append(_row("floor", "drill point", ask.thickness - plan.drill_point, parts))
    return gaps


# --- words ----------------------------------------------------------------------------------------------


def depth(value: float) -> Quantity:
    """A length as a shop writes depths: 0.01 mm or 0.001 in.

    >>> depth(12.7).said(), depth(12.7).said("inch")
    ('12.70 mm', '0.500 in')
    """
    return length(value, decimals=2, inch_decimals=3)


def _cautions_of_shape(plan: HolePlan) -> list[Sentence]:
    ask, found, thread = plan.ask, [], plan.ask.thread
    if thread.major <= 10 and ask.center_length == 0 and not ask.is_through:
        found.append(
            _("a small tap often has a male center ahead of its chamfer: measure it and count it in, or grind it off")
        )
    if 0 < ask.countersink_diameter < thread.major:
        wide = dict(sink=depth(ask.countersink_diameter), major=depth(thread.major))
        told = _(
            "a countersink of {sink} is narrower than the thread's {major}: the first thread will stand up as a burr",
            **wide,
        )
        found.append(told)
    if plan.engagement <= 0:
        found.append(_("the countersink takes all the thread that is asked for"))
    return found
