"""The hole plan panel: what the drawing asks, the depths that come of it, and what to change where it does not fit."""

from types import SimpleNamespace
from typing import Any, NamedTuple

from tapkit.drawing.chamferfits import draw_chamferfits
from tapkit.drawing.holeplanview import describe_holeplan, draw_holeplan
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Sentence, _, said
from tapkit.panels import common
from tapkit.panels.markup import paragraph, table
from tapkit.panels.panel import PanelSpec
from tapkit.panels.state import Pick, Tick
from tapkit.panels.tablepanel import TablePanel
from tapkit.panels.views import View, views
from tapkit.parameters import find
from tapkit.planning.drill import DrillFit, advised_drills
from tapkit.planning.holeask import WORDS, DrawingAsk
from tapkit.planning.holefit import all_shop_means, changes, smallest_change
from tapkit.planning.holeplan import HolePlan, StackRow, depth
from tapkit.planning.machine import Machine

POINTS = (("118°", 118.0), ("135°", 135.0), ("140°", 140.0), (_("flat bottom"), 180.0))


class PanelPlan(NamedTuple):
    """What the panel shows: the plan, the drill it rests on, and the metal."""

    plan: HolePlan
    drill: DrillFit
    work: Workpiece


def ask_from(v: SimpleNamespace) -> tuple[DrawingAsk, DrillFit]:
    """The hole the controls ask for, and its drill."""
    thread = Thread.parse(v.thread)
    drill = advised_drills(thread, v.percent, count=1, work=v.work)[0]
    d, through = thread.major, v.kind == "through"
    ask = DrawingAsk(
        thread=thread,
        drill=drill.drill.diameter,
        kind=v.kind,
        thickness=v.thickness,
        full_thread=None if through else v.full,
        floor=0.0 if through else v.floor,
        drill_angle=v.point,
        counterbore_depth=v.counterbore,
        counterbore_diameter=1.8 * d if v.counterbore else 0.0,
        countersink_diameter=1.05 * d if v.countersink else 0.0,
        clearance=v.clearance * thread.pitch,
        center_length=0.5 * d if v.center else 0.0,
    )
    return ask.on(Machine.parse(v.machine)), drill


def model_from(v: SimpleNamespace) -> PanelPlan:
    """The plan the controls stand for."""
    ask, drill = ask_from(v)
    return PanelPlan(HolePlan(ask, v.chamfer), drill, Workpiece.parse(v.work))


def describe(model: PanelPlan, system: str) -> Sentence:
    """The plan in words, and the smallest change where it does not fit."""
    told = describe_holeplan(model.plan, system)
    if model.plan.fits:
        return told
    change = smallest_change(model.plan.ask, model.plan.threads, model.work)
    if change is None:
        return told
    if change.who == "shop":
        return _("{told} The shop can help itself: {change}.", told=told, change=change.what)
    if all_shop_means(model.plan.ask, model.plan.threads).fits:
        return _(
            "{told} The shop can make it fit with several changes together; or ask the designer: {change}.",
            told=told,
            change=change.what,
        )
    return _("{told} Ask the designer: {change}.", told=told, change=change.what)


def details(model: PanelPlan, system: str) -> str:
    """Stack-up and changes as tables."""
    plan, drill = model.plan, model.drill
    out = [paragraph(drill.in_words(), system), _stack(plan, system)]
    found = changes(plan.ask, plan.threads, model.work)
    if found:
        out.append(_changes(found, system))
        left = all_shop_means(plan.ask, plan.threads)
        told = _("Everything the shop can do, all together, is enough.")
        if not left.fits:
            told = _(
                "Everything the shop can do, all together, still leaves {short} missing.", short=depth(-left.spare)
            )
        out.append(paragraph(told, system))
    return "".join(out)


def _stack(plan: HolePlan, system: str) -> str:
    def show(mm: float) -> str:
        return "=" + said(depth(mm), system)

    def parts(row: StackRow) -> str:
        return ", ".join(f"{said(WORDS[what])} ±{said(depth(t), system)}" for what, t in row.parts)

    rows = [
        (WORDS[r.name], WORDS[r.face], show(r.nominal), show(r.least), show(r.most), parts(r)) for r in plan.stack()
    ]
    head = (_("Depth or gap"), _("measured from"), _("nominal"), _("least"), _("most"), _("adds up"))
    return table(_("Stack-up, worst case"), head, rows)


def _changes(found: tuple[Any, ...], system: str) -> str:
    def gain(c: Any) -> str:
        return "=" + said(_("any") if c.gains == float("inf") else depth(c.gains), system)

    who = {"shop": _("shop"), "designer": _("designer")}
    rows = [(who[c.who], c.what, gain(c), _("yes") if c.enough else _("no"), c.cost) for c in found]
    marks = ["good" if c.enough else "" for c in found]
    head = (_("Who decides"), _("change"), _("gains"), _("enough alone"), _("what it costs"))
    return table(_("What would let it fit"), head, rows, marks, system)


def controls() -> tuple[Any, ...]:
    """The controls of this panel."""
    return (
        common.thread_pick(),
        common.work_pick(),
        common.kind_pick("blind"),
        *common.numbers("full", "thickness", "floor", "chamfer", "percent"),
        Pick(key="point", label=_("Drill point"), options=POINTS, start=118.0, help=find("drill_point").help),
        common.number("clearance"),
        common.machine_pick(),
        common.number("counterbore"),
        Tick(key="countersink", label=_("Countersink at the mouth"), start=True),
        Tick(key="center", label=_("The tap has a male center")),
    )


def holeplan(**start: Any) -> TablePanel:
    """Plan a hole, live; `start` sets controls by key, such as `thread="M6x1", full=12`."""
    spec = PanelSpec(
        title=_("Planning the hole"),
        controls=controls(),
        main=("thread", "full", "thickness", "chamfer"),
        model_from=model_from,
        set_up=lambda model, v: common.planned(v, model.plan.hole()),
        **views(
            View(draw_holeplan, (0, 0, 0.67, 1), lambda model: (model.plan,)),
            View(draw_chamferfits, (0.67, 0.04, 0.33, 0.92), lambda model: (model.plan.ask,)),
        ),
        describe=describe,
        cautions=lambda model: model.plan.cautions(),
        size=(900, 500),
    )
    return TablePanel(spec, details, **start)
