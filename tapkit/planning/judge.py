"""One tap judged for one job, by the model alone: does it reach, where do the chips go, what does it bear.

`refusals` say why it must not be taken; `points` say what counts against it, each with the number it comes
from. Nothing here knows what is usual: common practice is compared afterwards.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from tapkit import door
from tapkit.geometry.tap import Tap
from tapkit.geometry.tapname import in_words
from tapkit.mechanics.chipflow import TO_SHANK
from tapkit.mechanics.chipreach import tap_reach
from tapkit.mechanics.chiproom import BELOW, LEAVES, ChipRoom
from tapkit.messages import (
    Number,
    Sentence,
    Span,
    _,
    listed,
    ngettext,
    of_table,
    rough_depth,
    threads_of,
    turns_of,
)
from tapkit.operation import Operation
from tapkit.planning.candidate import Job, weight
from tapkit.planning.holeplan import HolePlan, depth, plan_for


class Point(NamedTuple):
    """What counts against a tap: the `name` of its weight, the `points`, and the reason in words."""

    name: str
    points: float
    words: Sentence


@dataclass(frozen=True)
class Refusal:
    """Why a tap must not be taken: the `kind` ("reach", "packs", "clearing", "breaks") and the reason in `words`."""

    kind: str
    words: Sentence

    def said(self, system: str = "metric") -> str:
        """The reason."""
        return self.words.said(system)

    __str__ = said

    def __contains__(self, part: str) -> bool:
        return part in self.words


@dataclass(frozen=True)
class Judged:
    """A tap judged for a job; `own` is its name where it lies in one's drawer.

    >>> from tapkit import Thread
    >>> from tapkit.planning.candidate import candidate
    >>> from tapkit.planning.holeask import DrawingAsk
    >>> ask = DrawingAsk(thread=Thread.parse("M10"), drill=8.5, kind="through", thickness=15)
    >>> job = Job.make(ask, "C45", "rigid")
    >>> Judged(job, candidate(job.thread, job.work, "spiral-point", "plug")).advised
    True
    >>> Judged(job, candidate(job.thread, job.work, "straight", "plug")).advised  # at a cost
    True
    """

    job: Job
    tap: Tap
    own: str = ""

    @cached_property
    def shallow_plan(self) -> HolePlan:
        """The hole plan before any drilling deeper for chips."""
        return plan_for(self.job.asked, self.tap)

    @cached_property
    def deeper(self) -> float:
        """How much deeper the hole is drilled so that the chips below the point have room where they lie tight [mm];
        inf where the part does not allow it, or nobody drills so deep for chips."""
        ledger = self._shallow.chip_room
        if ledger.fate != BELOW or ledger.packs_at is None:
            return 0.0
        more = float(np.max(ledger.loose_low - ledger.room)) / (math.pi * self.job.asked.drill**2 / 4)
        room = min(self.shallow_plan.spare, weight("most_deeper") * self.job.thread.major)
        return math.inf if more > room else more * (1 + 1e-6)

    @cached_property
    def plan(self) -> HolePlan:
        """The hole plan, drilled deeper for chips where that helps."""
        ask = self.job.asked
        if not 0 < self.deeper < math.inf:
            return self.shallow_plan
        return plan_for(ask.with_(clearance=ask.kept_clear + self.deeper), self.tap)

    def _operation(self, plan: HolePlan) -> Operation:
        return Operation(tap=self.tap, hole=plan.hole(), workpiece=self.job.work, chip_form=self.job.chip_form)

    @cached_property
    def _shallow(self) -> Operation:
        return self._operation(self.shallow_plan)

    @cached_property
    def operation(self) -> Operation:
        """The job as the model sees it."""
        return self._shallow if self.plan is self.shallow_plan else self._operation(self.plan)

    @cached_property
    def clear_depths(self) -> tuple[float, ...] | None:
        """Depths of the point [mm from where the tap enters] at which it must come out to be cleared, so that even
        the loosest chips never fill the room; None where it would pack all the same. Empty where nothing packs."""
        return clear_depths(self.operation.chip_room)

    @cached_property
    def refusals(self) -> tuple[Refusal, ...]:
        """Why this tap must not be taken, each in one sentence; empty where it may be."""
        return tuple(self._against())

    @cached_property
    def first_refusal(self) -> Refusal | None:
        """The first of them, found without looking for more; None where there is none."""
        return next(self._against(), None)

    def _against(self) -> Iterator[Refusal]:
        for check in (_does_not_reach, _packs, _breaks):
            yield from check(self)

    @property
    def advised(self) -> bool:
        """Whether the model has nothing against this tap that would spoil the part or the tap."""
        return self.first_refusal is None

    @cached_property
    def points(self) -> tuple[Point, ...]:
        """What counts against it, largest first."""
        found = [*_of_teeth(self), *_of_torque(self), *_of_chips(self), *_of_making(self)]
        return tuple(sorted((p for p in found if p.points > 0), key=lambda p: -p.points))

    @property
    def score(self) -> float:
        """Sum of the points against it; fewer is better."""
        return sum(p.points for p in self.points)

    @property
    def rubbing_share(self) -> float:
        """Share of the cutting teeth that rub."""
        loads = self.operation.tooth_loads
        cuts = loads.area > 0
        return float((loads.rubbing & cuts).sum() / max(cuts.sum(), 1))

    @property
    def hardest_tooth(self) -> float:
        """Force on the most loaded tooth [N]."""
        return float(self.operation.tooth_loads.force.max(initial=0.0))

    @property
    def name(self) -> Sentence:
        """What to ask for at the tool crib, such as "spiral-point plug (form B)"."""
        said = dict(tap=in_words(self.tap), threads=threads_of(self.tap.chamfer_threads), letter=self.tap.din_form)
        if self.own:
            return _("{tap} ({threads}), {own} in my drawer", own=door.quoted(self.own), **said)
        if self.tap.din_form:
            return _("{tap} ({threads}, form {letter} of DIN 2197)", **said)
        return _("{tap} ({threads}, no form of DIN 2197)", **said)

    def notes(self) -> tuple[Sentence, ...]:
        """What must be done for this tap to work, each in one sentence."""
        out, plan, ledger = [], self.plan, self.operation.chip_room
        if 0 < self.deeper < math.inf:
            said = dict(more=depth(self.deeper), all=depth(plan.cylinder))
            told = _(
                "drill {more} deeper than the thread needs, {all} in all, so that the chips have room below when they "
                "lie tight",
                **said,
            )
            out.append(told)
        if self.job.machine.clears_chips and self.clear_depths:
            depths = listed(map(depth, self.clear_depths))
            out.append(_("take the tap out and clear it with its point {depths} below where it enters", depths=depths))
        elif ledger.packs_at is not None and ledger.jams_at is None:
            out.append(_("clear the flutes before every hole: they are full with the point {depth} deep",
                         depth=rough_depth(ledger.packs_at)))  # fmt: skip
        if self.job.machine.by_hand and self.tap.chamfer_threads < 4:
            out.append(_("start with a longer chamfer (a plug or taper tap) and finish with this one"))
        return (*out, *_reach(self))


def clear_depths(ledger: ChipRoom) -> tuple[float, ...] | None:
    """Depths at which a tap that keeps its chips must come out, by the loosest chips of the ledger [mm].

    Cleared, the ledger starts again from nothing. None where the chips fill the room from the first cut on.
    """
    found: list[float] = []
    if ledger.fate == LEAVES:
        return ()
    ratio, start, last = ledger.bulking.high, 0.0, -1
    while True:
        over = ratio * (ledger.solid - start) > ledger.room + 1e-9
        over[: last + 1] = False
        full = np.flatnonzero(over)
        if not len(full):
            return tuple(found)
        step = int(full[0]) - 1
        if step <= last:
            return None
        found.append(float(ledger.depth[step]))
        start, last = float(ledger.solid[step]), step


# --- refusals -------------------------------------------------------------------------------------------


def _does_not_reach(judged: Judged) -> list[Refusal]:
    plan = judged.shallow_plan
    if plan.fits:
        return []
    said = dict(threads=threads_of(plan.threads), short=depth(-plan.spare))
    if plan.ask.is_through:
        told = _(
            "it comes out too far below the part: its chamfer of {threads} makes the plan {short} too long at the "
            "worst case of the tolerances",
            **said,
        )
    else:
        told = _(
            "it does not reach: its chamfer of {threads} makes the plan {short} too long at the worst case of the "
            "tolerances",
            **said,
        )
    return [Refusal("reach", told)]


def _packs(judged: Judged) -> list[Refusal]:
    ledger = judged.operation.chip_room
    if ledger.packs_at is None:
        return []
    if judged.job.machine.clears_chips:
        return _clears_too_often(judged)
    if ledger.jams_at is None:
        return []  # it costs torque, which counts in the points
    lies = dict(chips=ledger.bulking.printed, loose=Number(ledger.bulking.low))
    if ledger.fate == BELOW:
        told = _(
            "its chips go below the point and fill the space there with the point {depth} deep ({chips} lie {loose} "
            "times as loose as solid metal, or more), and the hole cannot be drilled deep enough, or nobody drills so "
            "deep for chips",
            depth=rough_depth(ledger.packs_at),
            **lies,
        )
    else:
        told = _(
            "nothing moves its chips on, and they jam with the point {depth} deep unless it is taken out and cleared "
            "there ({chips} lie {loose} times as loose as solid metal, or more; these flutes hold {full} times)",
            depth=rough_depth(ledger.jams_at),
            full=Number(ledger.full_ratio, decimals=1),
            **lies,
        )
    return [Refusal("packs", told)]


def _clears_too_often(judged: Judged) -> list[Refusal]:
    depths = judged.clear_depths
    if depths is None:
        told = _("its chips fill the room from the first cut on, however often it is cleared")
        return [Refusal("packs", told)]
    if len(depths) > weight("most_clearings"):
        times = ngettext(
            "it would have to come out {count} time to be cleared",
            "it would have to come out {count} times to be cleared",
            len(depths),
        )
        return [Refusal("clearing", times)]
    return []


def _breaks(judged: Judged) -> list[Refusal]:
    margin = judged.operation.breakage.margin_middle_worn
    if margin >= weight("least_margin"):
        return []
    told = _("once worn, it bears only {low} to {high} times the torque to expect", **_worn(judged.operation))
    return [Refusal("breaks", told)]


def _worn(job: Operation) -> dict[str, Number]:
    low, high = (Number(end, 2) for end in job.breakage.margin_range_worn)
    return dict(low=low, high=high)


# --- points ---------------------------------------------------------------------------------------------


def _of_teeth(judged: Judged) -> list[Point]:
    load = judged.operation.duty.hardest_relative
    many = min(math.log10(judged.job.quantity) / 2, 1.0)
    slope = weight("tooth_over_one") + many * (weight("tooth_over_many") - weight("tooth_over_one"))
    worth = weight("tooth_usual") * min(load, 1.0) + slope * max(load - 1.0, 0.0)
    rubs = judged.rubbing_share * (2 if judged.job.work.hardens else 1)
    share = Number(100 * judged.rubbing_share, decimals=0)
    rubbing = _("{share} % of its teeth rub", share=share)
    if judged.job.work.hardens:
        rubbing = _("{share} % of its teeth rub, and this metal hardens where it is rubbed", share=share)
    hard = _("its hardest tooth works {as_hard} as that of a straight-flute plug tap", as_hard=as_hard(load))
    return [Point("tooth", worth, hard), Point("rubbing", weight("rubbing") * rubs, rubbing)]


def as_hard(load: float) -> Sentence:
    """How hard something works against another, as a ratio."""
    return _("as hard") if abs(load - 1) < 0.005 else _("{load} times as hard", load=Number(load, decimals=2))


def _of_torque(judged: Judged) -> list[Point]:
    job = judged.operation
    margin, work = job.breakage.margin_middle_worn, job.duty.total_relative
    more = judged.plan.turns / HolePlan(judged.job.asked, 4.0).turns
    bears = _(
        "worn, it bears {low} to {high} times the torque to expect ({span} fresh)",
        **_worn(job),
        span=Span(*job.expected_torque.peak, "torque", digits=2),
    )
    does = _("over the hole it works {as_hard} as a straight-flute plug tap", as_hard=as_hard(work))
    turns = _("it takes {turns}", turns=turns_of(judged.plan.turns, decimals=1))
    return [
        Point("breakage", weight("breakage") / margin, bears),
        Point("work", weight("work") * work, does),
        Point("turns", weight("turns") * more, turns),
    ]


def _of_chips(judged: Judged) -> list[Point]:
    ask, out = judged.job.asked, _of_packing(judged)
    up = judged.operation.chip_flow.direction == TO_SHANK
    if ask.is_through and up and judged.job.work.chips == "long":
        told = _("its long chips climb past the finished thread and wind about the tap")
        out.append(Point("chips_up", weight("chips_up"), told))
    if 0 < judged.deeper < math.inf:
        told = _("the hole must be drilled {depth} deeper for its chips", depth=depth(judged.deeper))
        out.append(Point("deeper", weight("deeper") * judged.deeper / judged.job.thread.major, told))
    return out


def _of_packing(judged: Judged) -> list[Point]:
    ledger = judged.operation.chip_room
    if judged.job.machine.clears_chips and judged.clear_depths:
        times = len(judged.clear_depths)
        told = ngettext(
            "it must come out {count} time to be cleared", "it must come out {count} times to be cleared", times
        )
        out = [Point("clearing", weight("clearing") * times, told)]
        if ledger.fate == BELOW:
            heap = _("it drives its chips to the floor of the hole, where the tap can come to stand on them")
            out.append(Point("below", weight("below"), heap))
        return out
    if ledger.packs_at is not None:
        more = judged.operation.expected_torque.factors.crowding
        told = _(
            "it keeps part of its chips: they crowd, which takes {low} to {high} times the torque of free chips, and "
            "it must be cleared before the next hole",
            low=Number(more.low, decimals=1),
            high=Number(more.high, decimals=1),
        )
        return [Point("crowding", weight("crowding") * ((more.low + more.high) / 2 - 1), told)]
    if ledger.may_pack_at is not None:
        told = _("loose chips could fill its room with the point {depth} deep", depth=rough_depth(ledger.may_pack_at))
        return [Point("may_pack", weight("may_pack"), told)]
    return []


def _of_making(judged: Judged) -> list[Point]:
    tap, out = judged.tap, []
    if tap.form.dearer:
        form = of_table(tap.form.name(tap.thread.hand))
        told = _("a {form} tap is dearer to buy and to grind", form=form)
        out.append(Point("grinding", weight("grinding") * tap.form.dearer, told))
        if judged.job.work.chips == "short":
            told = _("chips as short as these fall out of straight flutes, a {form} tap gains little", form=form)
            out.append(Point("needless", weight("needless"), told))
    if tap.din_form is None:
        out.append(Point("special", weight("special"), _("no form of DIN 2197 pairs this flute with this chamfer")))
    if not judged.job.asked.is_through:
        told = _("the hole must be drilled {depth} deeper for its chamfer", depth=depth(judged.plan.chamfer))
        out.append(Point("incomplete", weight("incomplete") * tap.chamfer_threads, told))
    short = 4.0 - tap.chamfer_threads
    if judged.job.machine.by_hand and short > 0:
        told = _("a chamfer of {threads} is hard to start square by hand", threads=threads_of(tap.chamfer_threads))
        out.append(Point("start_by_hand", weight("start_by_hand") * short, told))
    return out


# --- what to do -----------------------------------------------------------------------------------------


def _reach(judged: Judged) -> list[Sentence]:
    """Whether a usual tap with a full-size shank is long enough; table `tap_reach`."""
    ask, plan = judged.job.asked, judged.plan
    deep, reach = plan.tap_depth - ask.start, tap_reach(ask.thread.major)
    if reach is None or deep <= reach:
        return []
    told = _(
        "it must reach {depth} into the hole, past thread and recess of a usual tap: take one with a long reach",
        depth=depth(deep),
    )
    return [told]
