"""What a drawing and a machine ask of one tapped hole."""

import math
from dataclasses import dataclass, replace
from typing import Any

from tapkit.geometry.thread import Thread
from tapkit.messages import _, angle, length, pgettext
from tapkit.planning.machine import Machine

TOP, COUNTERBORE = "top face", "counterbore floor"
"""The faces a depth of full thread may be measured from."""


WORDS = {
    "drill": pgettext("of a hole", "drill"),
    "thickness": pgettext("of a hole", "thickness"),
    "full_thread": pgettext("of a hole", "full thread"),
    "floor": pgettext("of a hole", "floor"),
    "counterbore": pgettext("of a hole", "counterbore depth"),
    "counterbore_depth": pgettext("of a hole", "counterbore depth"),
    "counterbore_diameter": pgettext("of a hole", "counterbore diameter"),
    "countersink_diameter": pgettext("of a hole", "countersink diameter"),
    "clearance": pgettext("of a hole", "clearance"),
    "overrun": pgettext("of a hole", "overrun"),
    "center_length": pgettext("of a hole", "male center"),
    "room_below": pgettext("of a hole", "room below"),
    "drill depth": pgettext("of a hole", "drill depth"),
    "tap depth": pgettext("of a hole", "tap depth"),
    "drill_depth": pgettext("of a hole", "drill depth"),
    "tap_depth": pgettext("of a hole", "tap depth"),
    "tap's point": pgettext("of a hole", "tap's point"),
    "end of cylinder": pgettext("of a hole", "end of cylinder"),
    "drill point": pgettext("of a hole", "drill point"),
    "bottom face": pgettext("of a hole", "bottom face"),
    "full thread": pgettext("of a hole", "full thread"),
    "full thread past the bottom face": pgettext("of a hole", "full thread past the bottom face"),
    "free ahead of the tap": pgettext("of a hole", "free ahead of the tap"),
    TOP: pgettext("of a hole", "top face"),
    COUNTERBORE: pgettext("of a hole", "counterbore floor"),
}
"""What the parts of a hole and of its making are called."""


@dataclass(frozen=True, kw_only=True)
class Tolerances:
    """How far each depth may be off, plus or minus [mm]: `drill_depth`, `tap_depth`, `thickness` of the part,
    `counterbore` depth."""

    drill_depth: float = 0.0
    tap_depth: float = 0.0
    thickness: float = 0.0
    counterbore: float = 0.0

    def __post_init__(self) -> None:
        for what in ("drill_depth", "tap_depth", "thickness", "counterbore"):
            value = getattr(self, what)
            if not 0 <= value <= 10:
                told = dict(value=length(value), what=WORDS[what], most=length(10))
                raise ValueError(_("a tolerance of ±{value} on the {what} is outside 0 to {most}", **told))


@dataclass(frozen=True, kw_only=True)
class DrawingAsk:
    """One tapped hole as it is asked for. Lengths in mm, angles in degrees.

    Parameters
    ----------
    thread : the thread; `drill` diameter D_h.
    kind : "through" or "blind".
    thickness : of the part, from the top face to the bottom face; None where nothing limits a blind hole.
    full_thread : depth of complete thread wanted, measured from `face`; None in a through hole for all of it.
    face : "top face" or "counterbore floor".
    floor : metal that must stay below the drill's point in a blind hole.
    drill_angle : of the drill's point; 180 for a flat-bottom drill.
    counterbore_diameter, counterbore_depth : 0 where there is none.
    countersink_diameter, countersink_angle : at the mouth of the hole; 0 where there is none.
    clearance : kept free ahead of the tap at the worst case; None for one pitch.
    overrun : how far the tap may run on past its stop.
    center_length : of a male center that stands out ahead of the chamfer.
    room_below : free space under the part; None where there is plenty.
    tolerances : of the depths.

    Raises ValueError, in one sentence that says what would work, for what cannot be drawn.
    """

    thread: Thread
    drill: float
    kind: str = "blind"
    thickness: float | None = None
    full_thread: float | None = None
    face: str = TOP
    floor: float = 0.0
    drill_angle: float = 118.0
    counterbore_diameter: float = 0.0
    counterbore_depth: float = 0.0
    countersink_diameter: float = 0.0
    countersink_angle: float = 90.0
    clearance: float | None = None
    overrun: float = 0.0
    center_length: float = 0.0
    room_below: float | None = None
    tolerances: Tolerances = Tolerances()

    def __post_init__(self) -> None:
        _check_numbers(self)
        _check_kind(self)
        _check_mouth(self)

    def with_(self, **changes: Any) -> "DrawingAsk":
        """The same hole with some fields changed."""
        return replace(self, **changes)

    def on(self, machine: Machine) -> "DrawingAsk":
        """The same hole with the depth tolerances and the overrun of a machine."""
        pitch = self.thread.pitch
        kept = replace(
            self.tolerances,
            drill_depth=machine.drill_depth_tolerance,
            tap_depth=round(machine.tap_depth_tolerance * pitch, 4),
        )
        return replace(self, tolerances=kept, overrun=round(machine.overrun * pitch, 4))

    @property
    def is_through(self) -> bool:
        """Whether the hole goes through the part."""
        return self.kind == "through"

    @property
    def threads_all_through(self) -> bool:
        """Whether the thread runs out of the bottom face."""
        return self.is_through and self.full_thread is None

    @property
    def start(self) -> float:
        """Depth below the top face where the tap meets the part: the counterbore's floor, or 0 [mm]."""
        return self.counterbore_depth

    @property
    def kept_clear(self) -> float:
        """Clearance ahead of the tap [mm]: as asked, or one pitch."""
        return self.thread.pitch if self.clearance is None else self.clearance

    @property
    def cone_depth(self) -> float:
        """Depth of the drill's cone below its cylinder [mm]: D_h/2 / tan(angle/2)."""
        return self.drill / 2 / math.tan(math.radians(self.drill_angle) / 2)

    @property
    def countersink_depth(self) -> float:
        """How far below its face the countersink still takes from the thread's crests [mm].

        (D_cs − D_h)/2 / tan(angle/2), 0 where it is no wider than the hole.
        """
        wide = max(self.countersink_diameter - self.drill, 0.0)
        return wide / 2 / math.tan(math.radians(self.countersink_angle) / 2)


def _check_numbers(ask: DrawingAsk) -> None:
    named = ("drill", "thickness", "full_thread", "floor", "counterbore_depth", "counterbore_diameter")
    named += ("countersink_diameter", "clearance", "overrun", "center_length", "room_below")
    for what in named:
        value = getattr(ask, what)
        if value is not None and not (math.isfinite(value) and 0 <= value <= 1000):
            told = dict(what=WORDS[what], value=length(value), most=length(1000))
            raise ValueError(_("{what} {value} is outside 0 to {most}", **told))
    if not 60 <= ask.drill_angle <= 180:
        told = _(
            "a drill point of {point} is outside 60° to 180°; 118° is usual, 180° is flat", point=angle(ask.drill_angle)
        )
        raise ValueError(told)
    if not 30 <= ask.countersink_angle <= 150:
        told = _("a countersink of {angle} is outside 30° to 150°; 90° is usual", angle=angle(ask.countersink_angle))
        raise ValueError(told)
    thread = ask.thread
    if not thread.major - 1.5 * thread.pitch <= ask.drill < thread.major:
        told = dict(
            drill=length(ask.drill), thread=thread.designation, usual=length(thread.hole_for_percent(75), digits=3)
        )
        raise ValueError(_("a drill of {drill} is not for {thread}; {usual} leaves 75 % of thread", **told))


def _check_kind(ask: DrawingAsk) -> None:
    if ask.kind not in ("through", "blind"):
        raise ValueError(_("a hole is 'through' or 'blind', not {kind}", kind=repr(ask.kind)))
    if ask.is_through and not ask.thickness:
        raise ValueError(_("a through hole needs the thickness of the part"))
    if not ask.is_through and not ask.full_thread:
        raise ValueError(_("a blind hole needs a depth of full thread above 0"))
    if ask.face not in (TOP, COUNTERBORE):
        told = dict(top=repr(TOP), other=repr(COUNTERBORE), face=repr(ask.face))
        raise ValueError(_("depths are measured from the {top} or the {other}, not from {face}", **told))
    if ask.face == COUNTERBORE and not ask.counterbore_depth:
        raise ValueError(_("there is no counterbore to measure from; give its depth, or measure from the top face"))
    thick = math.inf if ask.thickness is None else ask.thickness
    if ask.counterbore_depth >= thick:
        told = dict(deep=length(ask.counterbore_depth), thick=length(thick))
        raise ValueError(_("a counterbore {deep} deep goes through a part {thick} thick", **told))
    deep = (ask.full_thread or 0.0) + (ask.start if ask.face == COUNTERBORE else 0.0)
    if ask.full_thread is not None and deep <= ask.start:
        raise ValueError(
            _(
                "a full thread to {deep} below the top face ends inside the counterbore of {start}; ask for more, or "
                "measure from the counterbore floor",
                deep=length(deep),
                start=length(ask.start),
            )
        )
    if deep > thick:
        raise ValueError(
            _(
                "a full thread to {deep} below the top face is deeper than the part, {thick} thick; at most {thick} "
                "can be asked for",
                deep=length(deep),
                thick=length(thick),
            )
        )


def _check_mouth(ask: DrawingAsk) -> None:
    if bool(ask.counterbore_depth) != bool(ask.counterbore_diameter):
        raise ValueError(_("a counterbore needs both a diameter and a depth; 0 for both where there is none"))
    if ask.counterbore_diameter and ask.counterbore_diameter < ask.thread.major:
        raise ValueError(
            _(
                "a counterbore of {wide} does not let a {major} tap in; more than {major} works",
                wide=length(ask.counterbore_diameter),
                major=length(ask.thread.major),
            )
        )
    if ask.counterbore_diameter and ask.countersink_diameter > ask.counterbore_diameter:
        raise ValueError(
            _(
                "a countersink of {sink} does not fit in a counterbore of {bore}",
                sink=length(ask.countersink_diameter),
                bore=length(ask.counterbore_diameter),
            )
        )
