"""One tap judged for one job, by the model alone: does it reach, where do the chips go, what does it bear.

`refusals` say why it must not be taken; `points` say what counts against it, each with the number it comes
from. Nothing here knows what is usual: common practice is compared afterwards.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from tapkit.geometry.tap import Tap
from tapkit.mechanics.chipreach import tap_reach
from tapkit.mechanics.chiproom import BELOW, LEAVES, ChipRoom
from tapkit.operation import Operation
from tapkit.planning.candidate import Job, weight
from tapkit.planning.holeplan import HolePlan, plan_for, show_length
from tapkit.planning.say import Say


class Point(NamedTuple):
    """What counts against a tap: the `name` of its weight, the `points`, and the reason in words."""

    name: str
    points: float
    words: str


@dataclass(frozen=True)
class Judged:
    """A tap judged for a job.

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

    @cached_property
    def shallow_plan(self) -> HolePlan:
        """The hole plan before any drilling deeper for chips."""
        return plan_for(self.job.asked, self.tap)

    @cached_property
    def deeper(self) -> float:
        """How much deeper the hole is drilled so that the chips below the point have room [mm]: for the loosest
        where the part allows it, at least for the tightest; inf where it does not allow even that."""
        ledger = self._shallow.chip_room
        if ledger.fate != BELOW or ledger.may_pack_at is None:
            return 0.0
        across = math.pi * self.job.asked.drill**2 / 4
        low, high = (float(np.max(v - ledger.room)) / across for v in (ledger.loose_low, ledger.loose_high))
        room = min(self.shallow_plan.spare, weight("most_deeper") * self.job.thread.major)
        if low > room:
            return math.inf
        return min(high * (1 + 1e-6), max(room, 0.0))

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
    def refusals(self) -> tuple[str, ...]:
        """Why this tap must not be taken, each in one sentence; empty where it may be."""
        return self.refusals_in("metric")

    def refusals_in(self, system: str) -> tuple[str, ...]:
        """The refusals with their quantities in one system of units."""
        say = Say(system)
        return (*_does_not_reach(self, say), *_packs(self, say), *_breaks(self))

    @property
    def advised(self) -> bool:
        """Whether the model has nothing against this tap that would spoil the part or the tap."""
        return not self.refusals

    @cached_property
    def points(self) -> tuple[Point, ...]:
        """What counts against it, largest first."""
        return self.points_in("metric")

    def points_in(self, system: str) -> tuple[Point, ...]:
        """The points with their quantities in one system of units."""
        say = Say(system)
        found = [*_of_teeth(self), *_of_torque(self, say), *_of_chips(self, say), *_of_making(self, say)]
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
    def name(self) -> str:
        """What to ask for at the tool crib, such as "spiral-point plug (form B)"."""
        form = f"form {self.tap.din_form} of DIN 2197" if self.tap.din_form else "no form of DIN 2197"
        return f"{self.tap.name} ({self.tap.chamfer_threads:g} threads, {form})"

    def notes(self, system: str = "metric") -> tuple[str, ...]:
        """What must be done for this tap to work, each in one sentence."""
        return tuple(_notes(self, system))


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


def _does_not_reach(judged: Judged, say: Say) -> list[str]:
    plan = judged.shallow_plan
    if plan.fits:
        return []
    what = "comes out too far below the part" if plan.ask.is_through else "does not reach"
    return [
        f"it {what}: its chamfer of {plan.threads:g} threads makes the plan {say.depth(-plan.spare)} too long "
        "at the worst case of the tolerances"
    ]


def _packs(judged: Judged, say: Say) -> list[str]:
    ledger = judged.operation.chip_room
    if ledger.packs_at is None:
        return []
    if judged.job.machine.clears_chips:
        return _clears_too_often(judged)
    if ledger.jams_at is None:
        return []  # it costs torque, which counts in the points
    lies = f"{ledger.bulking.printed} lie {ledger.bulking.low:g} times as loose as solid metal, or more"
    if ledger.fate == BELOW:
        return [
            f"its chips go below the point and fill the space there with the point {say.rough(ledger.packs_at)} deep "
            f"({lies}), and the hole cannot be drilled deep enough"
        ]
    return [
        f"nothing moves its chips on, and they jam with the point {say.rough(ledger.jams_at)} deep unless it is "
        f"taken out "
        f"and cleared there ({lies}; these flutes hold {ledger.full_ratio:.1f} times)"
    ]


def _clears_too_often(judged: Judged) -> list[str]:
    depths = judged.clear_depths
    if depths is None:
        return ["its chips fill the room from the first cut on, however often it is cleared"]
    if len(depths) > weight("most_clearings"):
        return [f"it would have to come out {len(depths)} times to be cleared"]
    return []


def _breaks(judged: Judged) -> list[str]:
    margin = judged.operation.breakage.margin_middle_worn
    if margin >= weight("least_margin"):
        return []
    return [f"once worn it needs more torque than it bears (margin {margin:.2f})"]


# --- points ---------------------------------------------------------------------------------------------


def _of_teeth(judged: Judged) -> list[Point]:
    load = judged.operation.duty.hardest_relative
    many = min(math.log10(judged.job.quantity) / 2, 1.0)
    slope = weight("tooth_over_one") + many * (weight("tooth_over_many") - weight("tooth_over_one"))
    worth = weight("tooth_usual") * min(load, 1.0) + slope * max(load - 1.0, 0.0)
    rubs = judged.rubbing_share * (2 if judged.job.work.hardens else 1)
    hard = ", and this metal hardens where it is rubbed" if judged.job.work.hardens else ""
    return [
        Point("tooth", worth, f"its hardest tooth works {load:.2f} times as hard as that of a straight-flute plug tap"),
        Point("rubbing", weight("rubbing") * rubs, f"{judged.rubbing_share:.0%} of its teeth rub{hard}"),
    ]


def _of_torque(judged: Judged, say: Say) -> list[Point]:
    job = judged.operation
    margin, work, span = job.breakage.margin_middle_worn, job.duty.total_relative, job.expected_torque.peak
    more = judged.plan.turns / HolePlan(judged.job.asked, 4.0).turns
    bears = (
        f"it bears {margin:.1f} times the middle of the torque to expect of it worn ({say.torque(span[0])} to "
        f"{say.torque(span[1])} fresh)"
    )
    return [
        Point("breakage", weight("breakage") / margin, bears),
        Point("work", weight("work") * work, f"it does {work:.2f} times the work of a straight-flute plug tap"),
        Point("turns", weight("turns") * more, f"it takes {judged.plan.turns:.0f} turns"),
    ]


def _of_chips(judged: Judged, say: Say) -> list[Point]:
    ledger, ask = judged.operation.chip_room, judged.job.asked
    out = []
    if judged.job.machine.clears_chips and judged.clear_depths:
        times = len(judged.clear_depths)
        out.append(Point("clearing", weight("clearing") * times, f"it must come out {times} times to be cleared"))
    elif ledger.packs_at is not None:
        more = judged.operation.expected_torque.factors.crowding
        told = (
            f"it keeps part of its chips: they crowd, which takes {more.low:.1f} to {more.high:.1f} times the "
            f"torque of free "
            "chips, and it must be cleared before the next hole"
        )
        out.append(Point("crowding", weight("crowding") * ((more.low + more.high) / 2 - 1), told))
    elif ledger.may_pack_at is not None:
        told = f"loose chips could fill its room with the point {say.rough(ledger.may_pack_at)} deep"
        out.append(Point("may_pack", weight("may_pack"), told))
    up = judged.operation.chip_flow.direction == "toward the shank"
    if ask.is_through and up and judged.job.work.chips == "long":
        told = "its long chips climb past the finished thread and wind about the tap"
        out.append(Point("chips_up", weight("chips_up"), told))
    if 0 < judged.deeper < math.inf:
        told = f"the hole must be drilled {say.depth(judged.deeper)} deeper for its chips"
        out.append(Point("deeper", weight("deeper") * judged.deeper / judged.job.thread.major, told))
    return out


def _of_making(judged: Judged, say: Say) -> list[Point]:
    tap, out = judged.tap, []
    if tap.form.dearer:
        printed = tap.form.name(tap.thread.hand)
        told = f"a {printed} tap is dearer to buy and to grind"
        out.append(Point("grinding", weight("grinding") * tap.form.dearer, told))
        if judged.job.work.chips == "short":
            told = f"chips as short as these fall out of straight flutes, a {printed} tap gains little"
            out.append(Point("needless", weight("needless"), told))
    if tap.din_form is None:
        out.append(Point("special", weight("special"), "no form of DIN 2197 pairs this flute with this chamfer"))
    if not judged.job.asked.is_through:
        told = f"the hole must be drilled {say.depth(judged.plan.chamfer)} deeper for its chamfer"
        out.append(Point("incomplete", weight("incomplete") * tap.chamfer_threads, told))
    short = 4.0 - tap.chamfer_threads
    if judged.job.machine.by_hand and short > 0:
        told = f"a chamfer of {tap.chamfer_threads:g} threads is hard to start square by hand"
        out.append(Point("start_by_hand", weight("start_by_hand") * short, told))
    return out


# --- what to do -----------------------------------------------------------------------------------------


def _notes(judged: Judged, system: str) -> list[str]:
    out, plan = [], judged.plan
    if 0 < judged.deeper < math.inf:
        more, depth = show_length(judged.deeper, system), show_length(plan.cylinder, system)
        out.append(f"drill {more} deeper than the thread needs, {depth} in all, so that the chips have room below")
    if judged.job.machine.clears_chips and judged.clear_depths:
        depths = ", ".join(show_length(d, system) for d in judged.clear_depths)
        out.append(f"take the tap out and clear it with its point {depths} below where it enters")
    if judged.job.machine.by_hand and judged.tap.chamfer_threads < 4:
        out.append("start with a longer chamfer (a plug or taper tap) and finish with this one")
    return [*out, *_reach(judged, system)]


def _reach(judged: Judged, system: str) -> list[str]:
    """Whether a usual tap with a full-size shank is long enough; table `tap_reach`."""
    ask, plan = judged.job.asked, judged.plan
    deep, reach = plan.tap_depth - ask.start, tap_reach(ask.thread.major)
    if reach is None or deep <= reach:
        return []
    told = show_length(deep, system)
    return [f"it must reach {told} into the hole, past thread and recess of a usual tap: take one with a long reach"]
