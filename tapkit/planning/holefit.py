"""Which chamfers fit a hole, and the smallest change that would let one fit where none does."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache, partial
from typing import Any, NamedTuple

from tapkit import tables
from tapkit.geometry.designation import standard_threads
from tapkit.geometry.tapname import chamfer_name
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.planning.holeask import TOP, DrawingAsk
from tapkit.planning.holeplan import ROUNDING, HolePlan, show_length

Show = Callable[[float], str]
"""Writes a length."""


class ChamferFit(NamedTuple):
    """Whether one chamfer fits: US `name`, `british` word, usual length in `threads`, its `plan`, and the
    `spare` room [mm], below 0 where it is short by so much."""

    name: str
    british: str
    threads: float
    plan: HolePlan
    spare: float

    @property
    def fits(self) -> bool:
        """Whether this chamfer fits at the worst case."""
        return self.spare >= -ROUNDING

    def in_words(self, system: str = "metric") -> str:
        """One short sentence."""
        name = f"{self.name} ({self.threads:g} threads)"
        if math.isinf(self.spare):
            return f"{name} fits: nothing limits the depth."
        if self.fits:
            return f"{name} fits, with {show_length(self.spare, system)} to spare."
        return f"{name} does not fit: {show_length(-self.spare, system)} too deep."


class Change(NamedTuple):
    """One change to a hole or its making: `who` decides ("shop" or "designer"), `what` in words, the hole
    as `changed`, the room it `gains` [mm], and whether it is `enough` alone. `size` ranks changes [mm]."""

    who: str
    what: str
    changed: DrawingAsk
    threads: float
    gains: float
    enough: bool
    size: float
    cost: str


def chamfer_fits(ask: DrawingAsk) -> tuple[ChamferFit, ...]:
    """Every named chamfer at its usual length, longest first, and whether it fits.

    >>> ask = DrawingAsk(thread=Thread.parse("M6"), drill=5, full_thread=7, thickness=12.5, floor=1)
    >>> [(f.name, f.fits) for f in chamfer_fits(ask)]
    [('taper', False), ('plug', False), ('semi-bottoming', False), ('bottoming', True)]
    """
    out = []
    for row in tables.rows("chamfers"):
        plan = HolePlan(ask, float(row["usual"]))
        out.append(ChamferFit(row["us"], row["british"], plan.threads, plan, plan.spare))
    return tuple(out)


def longest_chamfer(ask: DrawingAsk) -> float:
    """The longest chamfer that fits [threads]; inf where nothing limits it, 0 or less where none fits.

    The spare room falls by one pitch with every thread of chamfer.
    """
    plan = HolePlan(ask, 1.0)
    return plan.threads + plan.spare / ask.thread.pitch


def deepest_full_thread(ask: DrawingAsk, threads: float) -> float:
    """The deepest full thread a chamfer can leave in this hole [mm from the face asked for]; inf without a floor."""
    return (ask.full_thread or 0.0) + HolePlan(ask, threads).spare


@cache
def least_engagement(group: str) -> tuple[float, str]:
    """Least full thread for a steel screw's full strength, in diameters, and its source; table `engagement`.

    >>> least_engagement("wrought aluminium")
    (2.0, 'common practice (no source)')
    """
    for row in tables.rows("engagement"):
        if row["group"] == group:
            return float(row["least_d"]), row["source"]
    return 1.0, "common practice (no source)"


def changes(
    ask: DrawingAsk, threads: float = 1.5, work: Workpiece | None = None, system: str = "metric"
) -> tuple[Change, ...]:
    """What could be changed so that a chamfer fits: first what the shop may do, then what to ask the designer.

    Each change is tried alone on the plan; those that are enough come first within shop and designer, the
    smaller before the larger. Empty where the chamfer fits already. Words are in mm or inches by `system`.
    """
    plan = HolePlan(ask, threads)
    if plan.fits:
        return ()
    show = partial(show_length, system=system)
    found = [*_chamfer_and_tap(plan), *_drilling(plan, show), *_thread_asked(plan, work, show), *_part(plan, show)]
    return tuple(sorted(found, key=lambda c: (c.who != "shop", not c.enough, c.size)))


def smallest_change(
    ask: DrawingAsk, threads: float = 1.5, work: Workpiece | None = None, system: str = "metric"
) -> Change | None:
    """The first change that is enough alone: the shop's own where there is one, else the designer's; None
    where the chamfer fits, or nothing alone is enough."""
    return next((c for c in changes(ask, threads, work, system) if c.enough), None)


def all_shop_means(ask: DrawingAsk, threads: float = 1.5) -> HolePlan:
    """The plan with every change the shop may make on its own, all at once and the chamfer cut to 1 thread.

    Where even this does not fit, only the designer can help.
    """
    t = ask.tolerances
    kept = replace(t, drill_depth=t.drill_depth / 2, tap_depth=t.tap_depth / 2)
    clear = min(ask.kept_clear, ask.thread.pitch / 2)
    flat = 180.0 if not ask.is_through else ask.drill_angle
    tightest = ask.with_(overrun=0.0, center_length=0.0, drill_angle=flat, tolerances=kept, clearance=clear)
    return HolePlan(tightest, min(threads, 1.0))


def _change(plan: HolePlan, who: str, what: str, cost: str, *, size: float, threads: float = 0.0, **new: Any) -> Change:
    changed = plan.ask.with_(**new)
    tried = HolePlan(changed, threads or plan.threads)
    gains = math.inf if math.isinf(tried.spare) else tried.spare - plan.spare
    return Change(who, what, changed, tried.threads, gains, tried.fits, size, cost)


def _chamfer_and_tap(plan: HolePlan) -> list[Change]:
    ask, found, pitch = plan.ask, [], plan.ask.thread.pitch
    length = math.floor(longest_chamfer(ask) * 10 + ROUNDING) / 10
    if 1 <= length < plan.threads:
        told = f"a {chamfer_name(length)} chamfer of {length:g} threads instead"
        cost = "fewer teeth share the work: each takes a thicker chip"
        found.append(_change(plan, "shop", told, cost, size=(plan.threads - length) * pitch, threads=length))
    if ask.center_length:
        told, cost = "grind off the male center", "the tap can no longer be held between centers"
        found.append(_change(plan, "shop", told, cost, size=ask.center_length, center_length=0.0))
    if ask.overrun:
        told = "stop without overrun: rigid tapping, or the last turns by hand"
        found.append(_change(plan, "shop", told, "another machine, or more time", size=ask.overrun, overrun=0.0))
    return found


def _drilling(plan: HolePlan, show: Show) -> list[Change]:
    ask, found, t = plan.ask, [], plan.ask.tolerances
    if ask.is_through:
        return found
    for angle, told in ((140.0, "a drill with a 140° point"), (180.0, "a flat-bottom drill to finish the hole")):
        if angle > ask.drill_angle:
            flatter = ask.cone_depth - ask.with_(drill_angle=angle).cone_depth
            found.append(_change(plan, "shop", told, "a second tool", size=flatter, drill_angle=angle))
    if t.drill_depth or t.tap_depth:
        kept = replace(t, drill_depth=t.drill_depth / 2, tap_depth=t.tap_depth / 2)
        told = f"hold the depths twice as close: drill ±{show(kept.drill_depth)}, tap ±{show(kept.tap_depth)}"
        cost = "a positive stop, and every depth measured"
        found.append(_change(plan, "shop", told, cost, size=t.drill_depth + t.tap_depth, tolerances=kept))
    half = ask.thread.pitch / 2
    if ask.kept_clear > half:
        told = f"keep only half a pitch, {show(half)}, free ahead of the tap"
        cost = "less room for chips and for a late stop; only where the chips come out at the top"
        found.append(_change(plan, "shop", told, cost, size=ask.kept_clear - half, clearance=half))
    return found


def _thread_asked(plan: HolePlan, work: Workpiece | None, show: Show) -> list[Change]:
    ask, short, found = plan.ask, -plan.spare, []
    if ask.full_thread and ask.full_thread - short > (ask.start if ask.face == TOP else 0.0):
        deep = ask.full_thread - short
        told = f"full thread {show(deep)} deep instead of {show(ask.full_thread)}"
        found.append(_change(plan, "designer", told, _strength(plan, short, work), size=short, full_thread=deep))
    finer = None if ask.is_through else _finer(ask.thread)
    if finer is not None:
        drill = ask.drill + (ask.thread.pitch - finer.pitch)
        told = f"a finer thread, {finer.designation} (drill {show(drill)})"
        cost = "another screw; a fine thread crosses and strips more easily"
        found.append(_change(plan, "designer", told, cost, size=short + ask.thread.pitch, thread=finer, drill=drill))
    return found


def _part(plan: HolePlan, show: Show) -> list[Change]:
    ask, short, thick = plan.ask, -plan.spare, float(plan.ask.thickness or 0.0)
    if ask.is_through:
        told, room = f"{show(short)} more free space under the part", float(ask.room_below or 0.0) + short
        return [_change(plan, "designer", told, "a spacer under the part", size=short, room_below=room)]
    found = []
    if ask.floor:
        keep = max(ask.floor - short, 0.0)
        told = f"a floor of {show(keep)} instead of {show(ask.floor)}"
        cost = "a thinner wall: the designer must say whether it holds and stays tight"
        found.append(_change(plan, "designer", told, cost, size=short, floor=keep))
    told = f"the part {show(short)} thicker here, {show(thick + short)}"
    found.append(_change(plan, "designer", told, "more metal, or a boss", size=short, thickness=thick + short))
    cost = "the hole opens below: the screw's end, dirt and leaks come through"
    through = dict(kind="through", full_thread=None, floor=0.0)
    return [*found, _change(plan, "designer", "a through hole", cost, size=thick, **through)]


def _strength(plan: HolePlan, less: float, work: Workpiece | None) -> str:
    major = plan.ask.thread.major
    left = plan.engagement - less
    told = f"{left / major:.2f} D of thread for the screw instead of {plan.engagement / major:.2f} D"
    if work is None:
        return told
    least, source = least_engagement(work.group)
    if left >= least * major:
        return f"{told}; still at least {least:g} D, usual in {work.group}, {source}"
    return f"{told}; under the {least:g} D usual in {work.group}, {source}: the screw may strip it"


def _finer(thread: Thread) -> Thread | None:
    """The next finer listed thread of the same diameter, or None."""
    same = [t for t in standard_threads(thread.system) if abs(t.major - thread.major) < 1e-6 and t.pitch < thread.pitch]
    return max(same, key=lambda t: t.pitch, default=None)
