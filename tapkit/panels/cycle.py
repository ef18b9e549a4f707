"""The cycle panel: speed, feed, depths and time for a planned hole, and what a wrong feed does."""

from types import SimpleNamespace
from typing import Any, NamedTuple

from tapkit.drawing.cycleview import describe_cycle, draw_cycle
from tapkit.geometry.thread import Thread
from tapkit.mechanics import feed
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Number, Sentence, Span, _, of_table, said, text
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.markup import paragraph, table
from tapkit.panels.panel import PanelSpec
from tapkit.panels.state import Pick
from tapkit.panels.tablepanel import TablePanel
from tapkit.panels.views import View, views
from tapkit.planning.cycle import MINUTE, TURN, Cycle, feed_settings
from tapkit.planning.drill import advised_drills
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holeplan import HolePlan
from tapkit.planning.machine import Machine
from tapkit.planning.speed import LEVEL_WORDS, cutting_power, tapping_speeds

LEVEL_HELP = _("for whom the speed is: the slower, the more time to stop")

LEVELS = (
    (_("learner: begin here"), "learner"),
    (_("shop: everyday"), "shop"),
    (_("handbook: the optimum printed"), "handbook"),
)


MAY_BE_NONE = ("spindle_torque", "peck", "back_turns")
"""Controls at whose low end there is none."""
FEEDS = ((_("by the turn, tied to the spindle"), TURN), (_("by the minute, by the clock"), MINUTE))


class CycleRun(NamedTuple):
    """What the panel shows: the cycle, the metal, and the job as the model sees it."""

    cycle: Cycle
    work: Workpiece
    job: Operation


def plan_from(v: SimpleNamespace) -> HolePlan:
    """The hole the controls stand for."""
    thread = Thread.parse(v.thread)
    drill = advised_drills(thread, count=1)[0].drill.diameter
    depth = dict(thickness=v.deep) if v.kind == "through" else dict(full_thread=v.deep)
    ask = DrawingAsk(thread=thread, drill=drill, kind=v.kind, **depth)
    return HolePlan(ask.on(Machine.parse(v.machine)), v.chamfer)


def model_from(v: SimpleNamespace) -> CycleRun:
    """The cycle the controls stand for."""
    work, machine = Workpiece.parse(v.work), Machine.parse(v.machine)
    if not machine.by_hand:
        machine = machine.with_(top_speed=v.top, spin_up=v.spin_up)
    approach = v.approach * Thread.parse(v.thread).pitch
    feed = dict(feed_by=v.feed_by, spindle_off=v.spindle_off, peck=v.peck or None, back_turns=v.back_turns or None)
    cycle = Cycle.make(plan_from(v), machine, work, v.level, approach=approach, holder=v.holder, **feed)
    if not machine.by_hand:
        cycle = cycle.with_(rpm=cycle.spindle * v.faster / 100)
    return CycleRun(cycle, work, _job(v, cycle))


def _job(v: SimpleNamespace, cycle: Cycle) -> Operation:
    off = 100 * (cycle.real_feed / cycle.feed_per_turn - 1)
    how = {"holder": cycle.holder or cycle.machine.holder, "feed_error": off}
    how |= {key: getattr(v, key) or None for key in MAY_BE_NONE}
    return common.planned(v, cycle.plan.hole(), **how, **({} if cycle.speed is None else {"speed": cycle.speed}))


def describe(model: CycleRun, system: str) -> Sentence:
    """The cycle, and the torque it needs."""
    told = _("Torque to expect: {told}.", told=model.job.expected_torque.told())
    return text(describe_cycle(model.cycle, system), told)


def details(model: CycleRun, system: str) -> str:
    """The set-up line by line, the speeds known, and feed errors in words."""
    cycle = model.cycle
    lines = [(x.what, f"={said(x.value, system)}", x.why) for x in cycle.lines(system)]
    out = [table(_("Set-up"), (_("Set"), _("to"), _("because")), [*lines, *_torque_lines(model)], system=system)]
    if not cycle.machine.by_hand:
        known = [
            (LEVEL_WORDS[s.level], f"={said(s.span, system)}", of_table(s.of), of_table(s.source))
            for s in tapping_speeds(model.work, cycle.thread)
        ]
        out.append(table(_("Speeds known for this metal"), (_("Level"), _("speed"), _("of"), _("source")), known))
        rows = [(s.text, cycle.feed_error(s.per_turn).in_words()) for s in feed_settings(cycle, system)]
        now = dict(off=Number(cycle.spindle_off))
        slow = cycle.feed_error(cycle.slow_feed(cycle.spindle_off))
        rows.append((_("by the minute, spindle {off} % slow", **now), slow.in_words()))
        if slow.growth:
            rows.append((_("the holder meanwhile"), slow.holder))
        tied = _("The feed follows the spindle: it is the lead at any speed.")
        rows.append((_("by the turn, spindle {off} % slow", **now), tied))
        out.append(table(_("What the feed does to the flanks"), (_("Feed"), ""), rows, system=system))
    told = [_("Clutch of the holder: {told}.", told=model.job.clutch.sentence)]
    told += [_("Chips: the tap is {told}.", told=model.job.clearing)] if model.job.clearing else []
    out[1:1] = [paragraph(one, system) for one in told]
    return "".join(out)


def _torque_lines(model: CycleRun) -> list[tuple[Sentence, Any, Any]]:
    """What the spindle must give, what the tap bears, and the way back."""
    job, cycle = model.job, model.cycle
    fluid = _("cut, crowding chips and friction, with {fluid}", fluid=of_table(job.fluid))
    bears = _("torque at which it breaks over torque expected")
    found = [
        (_("torque to expect"), job.expected_torque.told(), fluid),
        (_("turning back"), Span(*job.expected_torque.going_back, "torque", digits=2), _("flanks, and chip roots")),
        (_("margin"), job.breakage.told(), bears),
    ]
    if not cycle.machine.by_hand:
        power = Span(*(cutting_power(end, cycle.spindle) for end in job.expected_torque.peak), "power", digits=2)
        found.append((_("power of the spindle"), power, _("2π n M")))
    return found


def holder_pick() -> Pick:
    """What holds the tap, if not what is usual on the machine."""
    options = ((_("the machine's usual one"), ""), *((of_table(feed.holder(h).printed), h) for h in feed.holders()))
    return common.pick("holder", options, "")


def cycle(**start: Any) -> TablePanel:
    """Set a cycle, live; `start` sets controls by key, such as `machine="drill press"`."""
    spec = PanelSpec(
        title=_("Setting the cycle"),
        controls=(
            common.thread_pick(),
            common.work_pick(),
            common.kind_pick("blind"),
            common.form_pick("spiral-flute"),
            *(common.number("deep"), common.number("chamfer", start="2.5")),
            common.machine_pick(),
            holder_pick(),
            Pick(
                key="feed_by",
                label=_("Feed is set"),
                options=FEEDS,
                start=TURN,
                help=_("whether the machine is told how far to go in each turn or in each minute"),
            ),
            Pick(key="level", label=_("Speed for"), options=LEVELS, start="learner", help=LEVEL_HELP),
            *common.numbers("spindle_off", "faster", "approach", "top", "spin_up"),
            common.number("spindle_torque", label=_("Spindle torque at this speed (0: not told)"), low="0", start="0"),
            common.number("peck", label=_("Taken out to clear every (0: not)"), low="0", start="0"),
            common.number("back_turns", label=_("Turned back after every (0: not)"), low="0", start="0"),
            common.choice_pick("fluid"),
        ),
        main=("thread", "machine", "feed_by", "spindle_off"),
        model_from=model_from,
        set_up=lambda model, _values: model.job,
        **views(View(draw_cycle, of=lambda model: (model.cycle,))),
        describe=describe,
        cautions=lambda model: (*model.cycle.cautions(), *model.job.chip_room.cautions),
        size=(900, 400),
    )
    return TablePanel(spec, details, **start)
