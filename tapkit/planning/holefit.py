"""Which chamfers fit a hole, and the smallest change that would let one fit where none does."""

import math
from dataclasses import replace
from functools import cache
from typing import Any, NamedTuple

from tapkit import tables
from tapkit.geometry.designation import standard_threads
from tapkit.geometry.tapname import chamfer_name
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Number, Sentence, _, of_table, threads_of
from tapkit.planning.holeask import TOP, DrawingAsk
from tapkit.planning.holeplan import ROUNDING, HolePlan, depth


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


class Change(NamedTuple):
    """One change to a hole or its making: `who` decides ("shop" or "designer"), `what` in words, the hole
    as `changed`, the room it `gains` [mm], and whether it is `enough` alone. `size` ranks changes [mm]."""

    who: str
    what: Sentence
    changed: DrawingAsk
    threads: float
    gains: float
    enough: bool
    size: float
    cost: Sentence


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


def changes(ask: DrawingAsk, threads: float = 1.5, work: Workpiece | None = None) -> tuple[Change, ...]:
    """What could be changed so that a chamfer fits: first what the shop may do, then what to ask the designer.

    Each change is tried alone on the plan; those that are enough come first within shop and designer, the
    smaller before the larger. Empty where the chamfer fits already.
    """
    plan = HolePlan(ask, threads)
    if plan.fits:
        return ()
    found = [*_chamfer_and_tap(plan), *_drilling(plan), *_thread_asked(plan, work), *_part(plan)]
    return tuple(sorted(found, key=lambda c: (c.who != "shop", not c.enough, c.size)))


def smallest_change(ask: DrawingAsk, threads: float = 1.5, work: Workpiece | None = None) -> Change | None:
    """The first change that is enough alone: the shop's own where there is one, else the designer's; None
    where the chamfer fits, or nothing alone is enough."""
    return next((c for c in changes(ask, threads, work) if c.enough), None)


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


def _change(
    plan: HolePlan, who: str, what: Sentence, cost: Sentence, *, size: float, threads: float = 0.0, **new: Any
) -> Change:
    changed = plan.ask.with_(**new)
    tried = HolePlan(changed, threads or plan.threads)
    gains = math.inf if math.isinf(tried.spare) else tried.spare - plan.spare
    return Change(who, what, changed, tried.threads, gains, tried.fits, size, cost)


def _chamfer_and_tap(plan: HolePlan) -> list[Change]:
    ask, found, pitch = plan.ask, [], plan.ask.thread.pitch
    length = math.floor(longest_chamfer(ask) * 10 + ROUNDING) / 10
    if 1 <= length < plan.threads:
        told = _(
            "a {name} chamfer of {threads} instead", name=of_table(chamfer_name(length)), threads=threads_of(length)
        )
        cost = _("fewer teeth share the work: each takes a thicker chip")
        found.append(_change(plan, "shop", told, cost, size=(plan.threads - length) * pitch, threads=length))
    if ask.center_length:
        told, cost = _("grind off the male center"), _("the tap can no longer be held between centers")
        found.append(_change(plan, "shop", told, cost, size=ask.center_length, center_length=0.0))
    if ask.overrun:
        told, cost = (
            _("stop without overrun: rigid tapping, or the last turns by hand"),
            _("another machine, or more time"),
        )
        found.append(_change(plan, "shop", told, cost, size=ask.overrun, overrun=0.0))
    return found


def _drilling(plan: HolePlan) -> list[Change]:
    ask, found, t = plan.ask, [], plan.ask.tolerances
    if ask.is_through:
        return found
    flatter_drills = ((140.0, _("a drill with a 140° point")), (180.0, _("a flat-bottom drill to finish the hole")))
    for angle, told in flatter_drills:
        if angle > ask.drill_angle:
            flatter = ask.cone_depth - ask.with_(drill_angle=angle).cone_depth
            found.append(_change(plan, "shop", told, _("a second tool"), size=flatter, drill_angle=angle))
    if t.drill_depth or t.tap_depth:
        kept = replace(t, drill_depth=t.drill_depth / 2, tap_depth=t.tap_depth / 2)
        close = dict(drill=depth(kept.drill_depth), tap=depth(kept.tap_depth))
        told = _("hold the depths twice as close: drill ±{drill}, tap ±{tap}", **close)
        cost = _("a positive stop, and every depth measured")
        found.append(_change(plan, "shop", told, cost, size=t.drill_depth + t.tap_depth, tolerances=kept))
    half = ask.thread.pitch / 2
    if ask.kept_clear > half:
        told = _("keep only half a pitch, {half}, free ahead of the tap", half=depth(half))
        cost = _("less room for chips and for a late stop; only where the chips come out at the top")
        found.append(_change(plan, "shop", told, cost, size=ask.kept_clear - half, clearance=half))
    return found


def _thread_asked(plan: HolePlan, work: Workpiece | None) -> list[Change]:
    ask, short, found = plan.ask, -plan.spare, []
    if ask.full_thread and ask.full_thread - short > (ask.start if ask.face == TOP else 0.0):
        deep = ask.full_thread - short
        told = _("full thread {deep} deep instead of {asked}", deep=depth(deep), asked=depth(ask.full_thread))
        found.append(_change(plan, "designer", told, _strength(plan, short, work), size=short, full_thread=deep))
    finer = None if ask.is_through else _finer(ask.thread)
    if finer is not None:
        drill = ask.drill + (ask.thread.pitch - finer.pitch)
        told = _("a finer thread, {thread} (drill {drill})", thread=finer.designation, drill=depth(drill))
        cost = _("another screw; a fine thread crosses and strips more easily")
        found.append(_change(plan, "designer", told, cost, size=short + ask.thread.pitch, thread=finer, drill=drill))
    return found


def _part(plan: HolePlan) -> list[Change]:
    ask, short, thick = plan.ask, -plan.spare, float(plan.ask.thickness or 0.0)
    if ask.is_through:
        told, room = (
            _("{short} more free space under the part", short=depth(short)),
            float(ask.room_below or 0.0) + short,
        )
        return [_change(plan, "designer", told, _("a spacer under the part"), size=short, room_below=room)]
    found = []
    if ask.floor:
        keep = max(ask.floor - short, 0.0)
        told = _("a floor of {keep} instead of {asked}", keep=depth(keep), asked=depth(ask.floor))
        cost = _("a thinner wall: the designer must say whether it holds and stays tight")
        found.append(_change(plan, "designer", told, cost, size=short, floor=keep))
    told = _("the part {short} thicker here, {thick}", short=depth(short), thick=depth(thick + short))
    found.append(_change(plan, "designer", told, _("more metal, or a boss"), size=short, thickness=thick + short))
    cost = _("the hole opens below: the screw's end, dirt and leaks come through")
    through = dict(kind="through", full_thread=None, floor=0.0)
    return [*found, _change(plan, "designer", _("a through hole"), cost, size=thick, **through)]


def _strength(plan: HolePlan, less: float, work: Workpiece | None) -> Sentence:
    major = plan.ask.thread.major
    left = plan.engagement - less
    said = dict(left=Number(left / major, decimals=2), before=Number(plan.engagement / major, decimals=2))
    told = _("{left} D of thread for the screw instead of {before} D", **said)
    if work is None:
        return told
    least, source = least_engagement(work.group)
    usual = dict(told=told, least=Number(least), group=of_table(work.group), source=of_table(source))
    if left >= least * major:
        return _("{told}; still at least {least} D, usual in {group}, {source}", **usual)
    return _("{told}; under the {least} D usual in {group}, {source}: the screw may strip it", **usual)


def _finer(thread: Thread) -> Thread | None:
    """The next finer listed thread of the same diameter, or None."""
    same = [t for t in standard_threads(thread.system) if abs(t.major - thread.major) < 1e-6 and t.pitch < thread.pitch]
    return max(same, key=lambda t: t.pitch, default=None)
