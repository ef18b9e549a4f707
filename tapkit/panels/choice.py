"""The choice panel: every tap judged for a job, and the tap one had in mind; and the five choices for the press."""

from types import SimpleNamespace
from typing import Any, NamedTuple

from tapkit.drawing.choiceview import draw_choice
from tapkit.geometry.tap import Tap
from tapkit.geometry.tapname import in_words
from tapkit.geometry.thread import Thread
from tapkit.messages import Number, Sentence, _, said
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.markup import bold, points, table
from tapkit.panels.panel import PanelSpec
from tapkit.panels.setupbox import drawer_file, drawer_taps
from tapkit.panels.state import Tick
from tapkit.panels.tablepanel import TablePanel
from tapkit.panels.views import View, views
from tapkit.parameters import tap_from
from tapkit.planning.candidate import Job
from tapkit.planning.choice import Choice, as_sentence, asked_for, choose, key_figures, what_goes_wrong
from tapkit.planning.drill import advised_drills
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.judge import Judged

NOTHING = "none"


class Chosen(NamedTuple):
    """What the panel shows: the choice, and the tap asked for, or None."""

    choice: Choice
    wanted: Judged | None


def job_to_plan(v: SimpleNamespace) -> Job:
    """The job the controls stand for."""
    thread = Thread.parse(v.thread)
    drill = advised_drills(thread, v.percent, count=1, work=v.work)[0].drill.diameter
    if v.kind == "through":
        ask = DrawingAsk(thread=thread, drill=drill, kind="through", thickness=v.deep)
    else:
        ask = DrawingAsk(thread=thread, drill=drill, full_thread=v.deep, thickness=v.deep + v.spare)
    return Job.make(ask, v.work, v.machine, int(v.quantity))


def model_from(v: SimpleNamespace) -> Chosen:
    """The choice the controls stand for."""
    job = job_to_plan(v)
    wanted = None if v.form == NOTHING else asked_for(job, tap_from(vars(v), job.work))
    return Chosen(choose(job, own_taps(job.thread) if v.own else None), wanted)


def own_taps(thread: Thread) -> dict[str, Tap]:
    """The taps of the drawer for a thread by name, as they are now; ValueError where there is none."""
    found = {name: one.now for name, one in drawer_taps().items() if one.tap.thread == thread}
    if not found:
        told = dict(thread=thread.designation, file=str(drawer_file()))
        raise ValueError(_("there is no tap for {thread} in my drawer ({file}); put one in, or take any tap", **told))
    return found


def job_shown(model: Chosen, v: SimpleNamespace) -> Operation | None:
    """The job with the tap in mind, or with the model's choice."""
    judged = model.wanted or model.choice.best
    return judged and judged.operation


def details(model: Chosen, system: str) -> str:
    """What goes wrong with the tap asked for, what the best needs, what others cost, and what the trade says."""
    choice, out = model.choice, []
    if model.wanted is not None:
        told = what_goes_wrong(model.wanted, choice) or (
            _("Nothing goes wrong with it: it is the model's own choice."),
        )
        asked = _("You asked for a {tap} tap", tap=in_words(model.wanted.tap))
        out.append(_list(asked, told, system))
    best = choice.best
    if best is not None:
        notes = [as_sentence(n) for n in best.notes()]
        out += [_list(_("What the best needs"), notes, system)] if notes else []
        out.append(_against(choice, system))
        out.append(_others(choice, model.wanted, system))
    rules = choice.practice()
    if rules:
        rows = [(r.told, _("agrees") if r.agrees else _("differs"), r.words, r.source) for r in rules]
        marks = ["good" if r.agrees else "perhaps" for r in rules]
        heads = (_("Rule"), _("choice"), _("why"), _("source"))
        out.append(table(_("What the trade says"), heads, rows, marks, system))
    return "".join(out)


def _list(title: Sentence, told: Any, system: str) -> str:
    return bold(title) + points(told, system)


def _against(choice: Choice, system: str) -> str:
    best = choice.ranked[0]
    rows = [(p.words, f"={said(Number(p.points, decimals=2))}") for p in best.points]
    title = _("What counts against the best, {tap}", tap=best.name)
    return table(title, (_("Because"), _("points")), rows, system=system)


def _others(choice: Choice, wanted: Judged | None, system: str) -> str:
    shown = list(choice.ranked[:3])
    if wanted is not None and all(j.tap != wanted.tap for j in shown):
        shown.append(wanted)
    columns = [key_figures(j) for j in shown]
    rows = [(each[0][0], *(f"={said(value, system)}" for _what, value in each)) for each in zip(*columns)]
    return table(_("What each costs"), ("", *(in_words(j.tap) for j in shown)), rows)


def _cautions(choice: Choice) -> tuple[str, ...]:
    return () if choice.best is None else choice.best.operation.cautions


def choice(**start: Any) -> TablePanel:
    """Choose a tap, live; `start` sets controls by key, such as `kind="blind", form="spiral-point"`."""
    spec = PanelSpec(
        title=_("Choosing a tap"),
        controls=(
            common.thread_pick(),
            common.work_pick(),
            common.kind_pick(),
            common.number("deep", label=_("Thickness, or full thread of a blind hole"), start="1.5 D"),
            common.number("spare"),
            common.machine_pick(),
            common.quantity_pick(20),
            common.number("percent"),
            common.form_pick(NOTHING, (_("no tap in mind"), NOTHING), label=_("The tap you have in mind")),
            common.chamfer_pick(),
            Tick(key="own", label=_("Only taps of my drawer")),
        ),
        main=("thread", "work", "kind", "deep", "machine", "own"),
        model_from=model_from,
        set_up=job_shown,
        drawing="tip",
        **views(View(draw_choice, of=tuple)),
        describe=lambda model, system: model.choice.in_words(),
        cautions=lambda model: _cautions(model.choice),
        size=(900, 400),
    )
    return TablePanel(spec, details, **start)
