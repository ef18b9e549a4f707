"""The cycle panel: speed, feed, depths and time for a planned hole, and what a wrong feed does."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, NamedTuple

from matplotlib.figure import Figure

from tapkit.drawing.cycleview import describe_cycle, draw_cycle, update_cycle
from tapkit.geometry.thread import Thread
from tapkit.mechanics import feed
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import _, of_table, said
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.panel import PanelSpec
from tapkit.panels.state import Pick
from tapkit.panels.tablepanel import TablePanel, table
from tapkit.planning.cycle import Cycle, feed_settings
from tapkit.planning.drill import advised_drills
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holeplan import HolePlan
from tapkit.planning.machine import Machine
from tapkit.planning.speed import LEVEL_WORDS, tapping_speeds

LEVELS = (
    (_("learner: begin here"), "learner"),
    (_("shop: everyday"), "shop"),
    (_("handbook: the optimum printed"), "handbook"),
)


class CycleRun(NamedTuple):
    """What the panel shows: the cycle and the metal."""

    cycle: Cycle
    work: Workpiece


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
    cycle = Cycle.make(plan_from(v), machine, work, v.level, approach=approach, holder=v.holder)
    return CycleRun(cycle if machine.by_hand else cycle.with_(rpm=cycle.spindle * v.faster / 100), work)


def job_of_cycle(model: CycleRun, v: SimpleNamespace) -> Operation:
    """The job of the cycle."""
    cycle = model.cycle
    held = {"holder": v.holder or cycle.machine.holder} | ({} if cycle.speed is None else {"speed": cycle.speed})
    return common.planned(v, cycle.plan.hole(), **held)


def draw(figure: Figure, model: CycleRun, system: str) -> Any:
    """The picture, filling the figure."""
    return draw_cycle(figure.add_axes((0, 0, 1, 1)), model.cycle, system=system)


def update(artists: Any, model: CycleRun) -> None:
    """Another cycle on the same picture."""
    update_cycle(artists, model.cycle)


def details(model: CycleRun, system: str) -> str:
    """The set-up line by line, the speeds known, and feed errors in words."""
    cycle = model.cycle
    lines = [(said(x.what), f"={said(x.value, system)}", said(x.why, system)) for x in cycle.lines(system)]
    out = [table(said(_("Set-up")), (said(_("Set")), said(_("to")), said(_("because"))), lines)]
    if not cycle.machine.by_hand:
        known = [
            (said(LEVEL_WORDS[s.level]), f"={said(s.span, system)}", said(of_table(s.of)), said(of_table(s.source)))
            for s in tapping_speeds(model.work, cycle.thread)
        ]
        head = tuple(map(said, (_("Level"), _("speed"), _("of"), _("source"))))
        out.append(table(said(_("Speeds known for this metal")), head, known))
        rows = [(said(s.text), said(cycle.feed_error(s.per_turn).in_words(), system)) for s in feed_settings(cycle)]
        off = cycle.feed_error(cycle.feed_per_turn * 1.01).in_words()
        rows.append((said(_("spindle 1 % off, feed by the minute")), said(off, system)))
        held = cycle.feed_error(cycle.feed_per_turn * 1.01).holder
        rows.append((said(_("the holder meanwhile")), said(held, system)))
        out.append(table(said(_("What the feed does to the flanks")), (said(_("Feed")), ""), rows))
    return "".join(out)


def holder_pick() -> Pick:
    """What holds the tap, if not what is usual on the machine."""
    options = ((_("the machine's usual one"), ""), *((of_table(feed.holder(h).printed), h) for h in feed.holders()))
    return Pick(key="holder", label=of_table("Holder"), options=options, start="")


def spec() -> PanelSpec:
    """The cycle panel as data."""

    return PanelSpec(
        title=_("Setting the cycle"),
        controls=(
            common.thread_pick(),
            common.work_pick(),
            common.kind_pick("blind"),
            *(common.number("deep"), common.number("chamfer", start="2.5")),
            common.machine_pick(),
            holder_pick(),
            Pick(key="level", label=_("Speed for"), options=LEVELS, start="learner"),
            *common.numbers("faster", "approach", "top", "spin_up"),
        ),
        main=("thread", "work", "machine", "level"),
        model_from=model_from,
        set_up=job_of_cycle,
        draw=draw,
        update=update,
        describe=lambda model, system: describe_cycle(model.cycle, system),
        cautions=lambda model: model.cycle.cautions(),
        size=(900, 400),
    )


def cycle(**start: Any) -> TablePanel:
    """Set a cycle, live; `start` sets controls by key, such as `machine="drill press"`."""
    return TablePanel(spec(), details, **start)
