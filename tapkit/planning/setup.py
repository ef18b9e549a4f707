"""A set-up: one judged tap with its hole plan and its cycle, as the lines, checks and cautions of a card."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from tapkit import tables, units
from tapkit.geometry.drillsize import drill_name
from tapkit.geometry.tap import Tap
from tapkit.messages import said
from tapkit.planning.candidate import Job
from tapkit.planning.choice import asked_for, choose
from tapkit.planning.cycle import Cycle, Line, feed_settings
from tapkit.planning.drill import DrillFit, DrillSize
from tapkit.planning.holeplan import HolePlan, show_length
from tapkit.planning.judge import Judged


@dataclass(frozen=True)
class SetUp:
    """One tap, one hole, one machine, ready for a card. `level` of the speed as in `speed.LEVELS`.

    >>> from tapkit import Thread
    >>> from tapkit.planning.holeask import DrawingAsk
    >>> ask = DrawingAsk(thread=Thread.parse("M10"), drill=8.5, kind="through", thickness=15)
    >>> SetUp.make(Job.make(ask, "C45", "rigid")).judged.tap.name
    'spiral-point plug'
    """

    judged: Judged
    level: str = "learner"

    @classmethod
    def make(cls, job: Job, tap: Tap | str | None = None, level: str = "learner") -> SetUp:
        """A set-up with the tap named ("spiral-point plug"), or with the model's choice.

        Raises ValueError where no tap will do and none is named.
        """
        if tap is not None:
            return cls(asked_for(job, tap), level)
        made = choose(job)
        if made.best is None:
            raise ValueError(made.in_words().rstrip("."))
        return cls(made.best, level)

    def with_(self, **changes: Any) -> SetUp:
        """The same set-up with some fields changed."""
        return replace(self, **changes)

    @property
    def job(self) -> Job:
        """The job."""
        return self.judged.job

    @property
    def plan(self) -> HolePlan:
        """The hole plan."""
        return self.judged.plan

    @cached_property
    def cycle(self) -> Cycle:
        """The cycle."""
        return Cycle.make(self.plan, self.job.machine, self.job.work, self.level)

    @property
    def drill(self) -> DrillFit:
        """The drill."""
        diameter = self.job.asked.drill
        return DrillFit(self.job.thread, DrillSize(drill_name(diameter), diameter, "own"), self.job.work.name)

    def hole_lines(self, system: str = "metric") -> tuple[Line, ...]:
        """What to drill, line by line."""
        return tuple(_hole_lines(self, system))

    def tap_lines(self, system: str = "metric") -> tuple[Line, ...]:
        """What to tap with and how, line by line."""
        return (*_tap_lines(self, system), *self.cycle.lines(system))

    def expect_lines(self, system: str = "metric") -> tuple[Line, ...]:
        """What the model expects: torque, margin, chips."""
        return tuple(_expected(self, system))

    def checks(self, system: str = "metric") -> tuple[str, ...]:
        """What to check before running, from the table `checks`."""
        return _checks(self, system)

    def cautions(self, system: str = "metric") -> tuple[str, ...]:
        """Cautions of this set-up, the gravest first: what is refused, then plan, cycle and notes."""
        refused = [f"NOT ADVISED: {r}" for r in self.judged.refusals_in(system)]
        own = self.plan.cautions(system) if not self.judged.refusals else ()
        margin = (said(c, system) for c in self.judged.operation.breakage.cautions)
        return (*refused, *own, *self.cycle.cautions(system), *margin, *self.judged.notes(system))


def _hole_lines(setup: SetUp, system: str) -> list[Line]:
    plan, ask, drill = setup.plan, setup.plan.ask, setup.drill
    limits = ask.thread.limits
    low, high = (
        units.show(v, "length", system, decimals=3 if system == "metric" else 4)
        for v in (limits.minor_min, limits.minor_max)
    )
    out = [
        Line("drill", _drill_in_words(setup, system), f"{drill.percent:.0f} % of thread, handbook custom"),
        Line("minor diameter", f"{low} to {high}", f"limits of {ask.thread.tolerance}"),
    ]
    if ask.is_through:
        out.append(Line("drill through", show_length(ask.thickness or 0.0, system), "thickness of the part"))
    else:
        t = show_length(ask.tolerances.drill_depth, system)
        out += [
            Line("full-diameter depth", f"{show_length(plan.cylinder, system)} ±{t}", "from the top face"),
            Line("to the drill's point", show_length(plan.drill_point, system), f"{ask.drill_angle:g}° point"),
        ]
        if plan.floor_left is not None:
            out.append(Line("floor left, at worst", show_length(plan.floor_left, system), "below the drill's point"))
    if ask.counterbore_depth:
        told = f"⌀ {show_length(ask.counterbore_diameter, system)}"
        out.append(Line("counterbore", f"{show_length(ask.counterbore_depth, system)} deep", told))
    if ask.countersink_diameter:
        out.append(
            Line("countersink", f"⌀ {show_length(ask.countersink_diameter, system)}", f"{ask.countersink_angle:g}°")
        )
    return out


def _drill_in_words(setup: SetUp, system: str) -> str:
    """Name and diameter of the drill, the diameter once where the name says it."""
    name, diameter = setup.drill.drill.name, setup.plan.ask.drill
    across = units.show(diameter, "length", system, decimals=2 if system == "metric" else 4)
    return f"⌀ {across}" if name.endswith("mm") else f"{name}, ⌀ {across}"


def _tap_lines(setup: SetUp, system: str) -> list[Line]:
    tap = setup.judged.tap
    form = f"form {tap.din_form} of DIN 2197" if tap.din_form else "no form of DIN 2197"
    chamfer = f"{tap.chamfer_threads:g} threads ({form}; British: {tap.british_name})"
    return [
        Line("tap", f"{tap.thread.designation} {tap.name}", f"{tap.flutes} flutes, high-speed steel"),
        Line("chamfer", tap.chamfer_name, chamfer),
    ]


def _expected(setup: SetUp, system: str) -> list[Line]:
    job = setup.judged.operation
    low, high = job.breakage.margin_range
    least, most = (units.show(end, "torque", system, decimals=1) for end in job.expected_torque.peak)
    out = [
        Line("torque", f"{least} to {most}", f"to expect of a fresh tap with {job.fluid}"),
        Line("margin", f"{low:.1f} to {high:.1f}", "torque at breakage over that, with all that is unknown"),
        Line("chips go", str(job.chip_room.goes), f"{job.chip_room.bulking.printed}"),
    ]
    if setup.job.machine.by_hand:
        least, most = (units.show(f, "force", system) for f in job.hand.force_range)
        wrench = units.show(job.hand.wrench, "length", system, decimals=0 if system == "metric" else 1)
        out.append(Line("at the wrench", f"{least} to {most}", f"of each hand, wrench of {wrench}"))
    return out


def _checks(setup: SetUp, system: str) -> tuple[str, ...]:
    ask, plan, cycle = setup.plan.ask, setup.plan, setup.cycle
    want = "mm per turn" if system == "metric" else "in per turn"
    words = dict(
        face="the top face" if ask.face == "top face" else "the top face (full thread from the counterbore's floor)",
        drill=_drill_in_words(setup, system),
        drilled="through" if ask.is_through else f"{show_length(plan.cylinder, system)} full diameter",
        tap=f"{ask.thread.designation} {setup.judged.tap.name}",
        rpm=f"{cycle.spindle:.0f} rpm",
        feed=next(s.text for s in feed_settings(cycle) if s.mode == want),
        depth=show_length(plan.tap_depth, system),
        center=", not at its male center" if ask.center_length else "",
    )
    machine = setup.job.machine.name
    rows = (r for r in tables.rows("checks") if r["machine"] in ("", machine) and r["hole"] in ("", ask.kind))
    return tuple(r["text"].format(**words) for r in rows)
