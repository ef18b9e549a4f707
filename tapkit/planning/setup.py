"""A set-up: one judged tap with its hole plan and its cycle, as the lines, checks and cautions of a card."""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from tapkit import tables
from tapkit.geometry.drillsize import drill_name
from tapkit.geometry.tap import Tap
from tapkit.geometry.tapname import in_words
from tapkit.mechanics.gauges import NO_GO_TURNS
from tapkit.messages import Number, Sentence, Span, _, angle, length, ngettext, of_table, threads_of, turns_of
from tapkit.planning.candidate import Job
from tapkit.planning.choice import asked_for, choose
from tapkit.planning.cycle import Cycle, CycleLine, feed_settings
from tapkit.planning.drill import DrillFit, DrillSize
from tapkit.planning.holeask import TOP
from tapkit.planning.holeplan import HolePlan, depth
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
    def make(cls, job: Job, tap: Tap | str | None = None, level: str = "learner") -> "SetUp":
        """A set-up with the tap named ("spiral-point plug"), or with the model's choice.

        Raises ValueError where no tap will do and none is named.
        """
        if tap is not None:
            return cls(asked_for(job, tap), level)
        made = choose(job)
        if made.best is None:
            raise ValueError(made.in_words())
        return cls(made.best, level)

    def with_(self, **changes: Any) -> "SetUp":
        """The same set-up with some fields changed."""
        return replace(self, **changes)

    @property
    def job(self) -> Job:
        return self.judged.job

    @property
    def plan(self) -> HolePlan:
        return self.judged.plan

    @cached_property
    def cycle(self) -> Cycle:
        return Cycle.make(self.plan, self.job.machine, self.job.work, self.level)

    @property
    def drill(self) -> DrillFit:
        diameter = self.job.asked.drill
        return DrillFit(self.job.thread, DrillSize(drill_name(diameter), diameter, "own"), self.job.work.name)

    def hole_lines(self) -> tuple[CycleLine, ...]:
        """What to drill, line by line."""
        ask, drill = self.plan.ask, self.drill
        limits = ask.thread.limits
        minor = Span(limits.minor_min, limits.minor_max, "length", decimals=3, inch_decimals=4)
        leaves = _("{percent} % of thread, handbook custom", percent=Number(drill.percent, decimals=0))
        out = [
            CycleLine("drill", _("drill"), _drill_in_words(self), leaves),
            CycleLine("minor diameter", _("minor diameter"), minor, _("limits of {name}", name=ask.thread.tolerance)),
        ]
        out += _through_lines(self) if ask.is_through else _blind_lines(self)
        if ask.counterbore_depth:
            deep = _("{depth} deep", depth=depth(ask.counterbore_depth))
            wide = _("⌀ {width}", width=depth(ask.counterbore_diameter))
            out.append(CycleLine("counterbore", _("counterbore"), deep, wide))
        if ask.countersink_diameter:
            wide = _("⌀ {width}", width=depth(ask.countersink_diameter))
            out.append(CycleLine("countersink", _("countersink"), wide, angle(ask.countersink_angle)))
        return tuple(out)

    def tap_lines(self, system: str = "metric") -> tuple[CycleLine, ...]:
        """What to tap with and how, line by line."""
        return (*_tap_lines(self), *self.cycle.lines(system))

    def expect_lines(self) -> tuple[CycleLine, ...]:
        """What the model expects: torque, margin, chips."""
        job = self.judged.operation
        fluid = _("cut, crowding chips and friction, with {fluid}", fluid=of_table(job.fluid))
        margin = _("torque at which it breaks over torque expected")
        chips = job.chip_room.bulking.printed
        out = [
            CycleLine("torque", _("torque"), job.expected_torque.told(), fluid),
            CycleLine("margin", _("margin"), job.breakage.told(), margin),
            CycleLine("chips go", _("chips go"), job.chip_room.goes, chips),
        ]
        if self.job.machine.by_hand:
            push = Span(*job.hand.force_range, "force")
            wrench = length(job.hand.wrench, decimals=0, inch_decimals=1)
            each = _("of each hand, wrench of {wrench}", wrench=wrench)
            out.append(CycleLine("wrench", _("at the wrench"), push, each))
        return tuple(out)

    def checks(self, system: str = "metric") -> tuple[Sentence, ...]:
        """What to check before running, from the table `checks`."""
        ask, plan, cycle = self.plan.ask, self.plan, self.cycle
        want = "mm per turn" if system == "metric" else "in per turn"
        face = _("the top face") if ask.face == TOP else _("the top face (full thread from the counterbore's floor)")
        through = _("through")
        words = dict(
            face=face,
            drill=_drill_in_words(self),
            drilled=through if ask.is_through else _("{depth} full diameter", depth=depth(plan.cylinder)),
            tap=_("{thread} {tap}", thread=ask.thread.designation, tap=in_words(self.judged.tap)),
            rpm=_("{rpm} rpm", rpm=Number(cycle.spindle, decimals=0)),
            feed=next(s.text for s in feed_settings(cycle) if s.mode == want),
            depth=depth(plan.tap_depth),
            turns=turns_of(NO_GO_TURNS[ask.thread.system][0]),
            center=_(", not at its male center") if ask.center_length else "",
        )
        machine = self.job.machine.name
        rows = (r for r in tables.rows("checks") if r["machine"] in ("", machine) and r["hole"] in ("", ask.kind))
        return tuple(_(r["text"], **words) for r in rows)

    def cautions(self) -> tuple[Sentence, ...]:
        """Cautions of this set-up, the gravest first: what is refused, then plan, cycle and notes."""
        refused = [_("NOT ADVISED: {why}", why=r.words) for r in self.judged.refusals]
        own = self.plan.cautions() if not self.judged.refusals else ()
        margin = self.judged.operation.breakage.cautions
        return (*refused, *own, *self.cycle.cautions(), *margin, *self.judged.notes())


def _through_lines(setup: SetUp) -> list[CycleLine]:
    thick = depth(setup.plan.ask.thickness or 0.0)
    return [CycleLine("drill through", _("drill through"), thick, _("thickness of the part"))]


def _blind_lines(setup: SetUp) -> list[CycleLine]:
    plan, ask = setup.plan, setup.plan.ask
    deep = _("{depth} ±{near}", depth=depth(plan.cylinder), near=depth(ask.tolerances.drill_depth))
    point = _("{angle} point", angle=angle(ask.drill_angle))
    out = [
        CycleLine("full-diameter depth", _("full-diameter depth"), deep, _("from the top face")),
        CycleLine("drill point", _("to the drill's point"), depth(plan.drill_point), point),
    ]
    if plan.floor_left is not None:
        left = depth(plan.floor_left)
        out.append(CycleLine("floor left", _("floor left, at worst"), left, _("below the drill's point")))
    return out


def _drill_in_words(setup: SetUp) -> Sentence:
    """Name and diameter of the drill, the diameter once where the name says it."""
    name, across = setup.drill.drill.name, length(setup.plan.ask.drill, decimals=2, inch_decimals=4)
    return _("⌀ {across}", across=across) if name.endswith("mm") else _("{name}, ⌀ {across}", name=name, across=across)


def _tap_lines(setup: SetUp) -> list[CycleLine]:
    tap = setup.judged.tap
    said = dict(threads=threads_of(tap.chamfer_threads), letter=tap.din_form, british=of_table(tap.british_name))
    chamfer = _("{threads} (no form of DIN 2197; British: {british})", **said)
    if tap.din_form:
        chamfer = _("{threads} (form {letter} of DIN 2197; British: {british})", **said)
    name = _("{thread} {tap}", thread=tap.thread.designation, tap=in_words(tap))
    flutes = ngettext("{count} flute, high-speed steel", "{count} flutes, high-speed steel", tap.flutes)
    return [
        CycleLine("tap", _("tap"), name, flutes),
        CycleLine("chamfer", _("chamfer"), of_table(tap.chamfer_name), chamfer),
    ]
