"""One hole, all ways: every flute form in the same hole, by hand and by machine, on one sheet."""

from types import SimpleNamespace
from typing import Any

from tapkit.drawing.allwaysview import draw_allways
from tapkit.mechanics.otherways import other_ways
from tapkit.messages import Sentence, Span, _, length, listed, of_table, rough_depth, said
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.choice import job_to_plan
from tapkit.panels.markup import folded, paragraph, points, table, tag
from tapkit.panels.panel import PanelSpec
from tapkit.panels.tablepanel import TablePanel
from tapkit.panels.views import View, views
from tapkit.planning.allways import AllWays, Way, all_ways


def model_from(v: SimpleNamespace) -> AllWays:
    """Every way for the hole the controls stand for."""
    return all_ways(job_to_plan(SimpleNamespace(**vars(v), quantity=20)))


def describe(model: AllWays, system: str) -> Sentence:
    """How many ways will do, and which needs the least torque."""
    good = [way for way in model.ways if way.judged.advised]
    if not good:
        return _("None of these ways will do in this hole; the table says why.")
    free = [way for way in good if way.operation.expected_torque.open_from is None]
    least = min(free or good, key=lambda way: way.operation.expected_torque.peak[1])
    told = dict(
        count=len(good), all=len(model.ways), cleared=len(good) - len(free), way=least.name,
        torque=Span(*least.operation.expected_torque.peak, "torque", digits=2),
    )  # fmt: skip
    if free and told["cleared"]:
        return _(
            "{count} of {all} ways will do in this hole, {cleared} of them only if chips are cleared on the way. Of "
            "those that need no clearing, {way} asks the least torque: {torque}.",
            **told,
        )
    return _(
        "{count} of {all} ways will do in this hole. The least torque to expect is that of {way}: {torque}.",
        **told,
    )


def details(model: AllWays, system: str) -> str:
    """Every way in one table; the gauge, where it is one for all; and in a fold why some will not do, and the ways that
    cut nothing here."""
    heads = [_("Way"), _("torque to expect"), _("floor"), _("full thread"), _("chips go"), _("time")]
    gauges = [_gauge(way) for way in model.ways]
    alike = len({said(one) for one in gauges}) == 1
    rows = [[*_row(way), *([] if alike else [gauge]), _verdict(way)] for way, gauge in zip(model.ways, gauges)]
    heads += [*([] if alike else [_("gauge")]), _("will it do?")]
    marks = ["good" if way.judged.advised else "bad" for way in model.ways]
    out = table("", heads, rows, marks, system)
    told = paragraph(_("Gauge, whichever way: {gauge}.", gauge=gauges[0]), system) if alike else ""
    return tag("div", out, told, _more(model, system), class_="tapkit-dense tapkit-ways")


def _more(model: AllWays, system: str) -> str:
    refused = [way for way in model.ways if not way.judged.advised]
    why = [_("{way}: {why}.", way=way.name, why=way.judged.first_refusal.words) for way in refused]
    title = _("Why some will not do, and forming or milling, where they would serve") if refused else (
        _("Forming or milling, where they would serve"))  # fmt: skip
    return folded(title, points((*why, *other_ways(model.ways[0].judged.job.work)), system))


WHY_NOT = {
    "reach": _("no: does not fit the hole"),
    "packs": _("no: chips jam"),
    "clearing": _("no: must be cleared too often"),
    "breaks": _("no: may break"),
}
"""Refusals in a word, by kind; the fold has them whole."""


def _verdict(way: Way) -> Sentence:
    if not way.judged.advised:
        return WHY_NOT[way.judged.first_refusal.kind]
    return _("yes") if way.operation.expected_torque.open_from is None else _("yes, if cleared")


def _gauge(way: Way) -> Sentence:
    gauges = way.operation.gauges
    return listed([_("GO {go}", go=of_table(gauges.go)), _("NO-GO {no}", no=of_table(gauges.no_go))], "and")


def _row(way: Way) -> tuple[Any, ...]:
    job, shown = way.operation, dict(decimals=1, inch_decimals=2)
    needed = _("none, through") if way.floor is None else length(way.floor, **shown)
    return way.name, _torque(job), needed, length(way.full, **shown), job.chip_room.goes, way.time


def _torque(job: Operation) -> Sentence:
    """The torque to expect, and where it has no upper end, in few words."""
    span, at = Span(*job.expected_torque.peak, "torque", digits=2), job.expected_torque.open_from
    if at is None:
        return _("{span}", span=span)
    return _("{span}; jams from {depth}", span=span, depth=rough_depth(at))


def job_of_way(model: AllWays, v: SimpleNamespace) -> Operation:
    """The job of the first way that will do, or of the first."""
    return next((way for way in model.ways if way.judged.advised), model.ways[0]).operation


def all_ways_panel(**start: Any) -> TablePanel:
    """One hole, all ways, live; `start` sets controls by key, such as `thread="M6"`."""
    spec = PanelSpec(
        title=_("One hole, all ways"),
        controls=(
            common.thread_pick(),
            common.work_pick(),
            common.kind_pick("blind"),
            common.number("deep", label=_("Length of full thread"), start="1.5 D"),
            common.number("spare"),
            common.number("percent"),
            common.machine_pick(),
        ),
        main=("thread", "work", "kind", "deep", "machine"),
        model_from=model_from,
        set_up=job_of_way,
        **views(View(draw_allways)),
        describe=describe,
        size=(900, 230),
    )
    return TablePanel(spec, details, **start)
