"""One hole, all ways: every flute form in the same hole, by hand and by machine, on one sheet."""

from __future__ import annotations

import html
from types import SimpleNamespace
from typing import Any

from matplotlib.figure import Figure

from tapkit.drawing.allwaysview import draw_allways, update_allways
from tapkit.drawing.pen import Pen
from tapkit.mechanics.otherways import other_ways
from tapkit.messages import Sentence, Span, _, length, listed, of_table, said
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.choice import job_from
from tapkit.panels.panel import PanelSpec
from tapkit.panels.tablepanel import TablePanel, table
from tapkit.planning.allways import AllWays, Way, all_ways


def model_from(v: SimpleNamespace) -> AllWays:
    """Every way for the hole the controls stand for."""
    return all_ways(job_from(SimpleNamespace(**vars(v), quantity=20)))


def draw(figure: Figure, model: AllWays, system: str) -> Pen:
    """The picture, filling the figure."""
    return draw_allways(figure.add_axes((0, 0, 1, 1)), model, system=system)


def update(artists: Pen, model: AllWays) -> None:
    """Another hole on the same picture."""
    update_allways(artists, model)


def describe(model: AllWays, system: str) -> Sentence:
    """How many ways will do, and which needs the least torque."""
    good = [way for way in model.ways if way.judged.advised]
    if not good:
        return _("None of these ways will do in this hole; the table says why.")
    least = min(good, key=lambda way: way.operation.expected_torque.peak[1])
    return _(
        "{count} of {all} ways will do in this hole. The least torque to expect is that of {way}: {torque}.",
        count=len(good),
        all=len(model.ways),
        way=least.name,
        torque=Span(*least.operation.expected_torque.peak, "torque", digits=2),
    )


def details(model: AllWays, system: str) -> str:
    """Every way in one table, then the ways that cut nothing here."""
    heads = (
        _("Way"),
        _("torque to expect"),
        _("floor needed"),
        _("full thread"),
        _("chips go"),
        _("time"),
        _("gauge"),
        _("will it do?"),
    )
    rows = [tuple(said(one, system) for one in _row(way)) for way in model.ways]
    marks = ["good" if way.judged.advised else "bad" for way in model.ways]
    out = table(said(_("One hole, all ways")), tuple(map(said, heads)), rows, marks)
    items = "".join(f"<li>{html.escape(said(way, system))}</li>" for way in other_ways())
    title = html.escape(said(_("What else would serve")))
    return f"{out}<p><b>{title}</b></p><ul>{items}</ul>"


def _row(way: Way) -> tuple[Any, ...]:
    job = way.operation
    shown = dict(decimals=1, inch_decimals=2)
    needed = _("none: the hole goes through") if way.floor is None else length(way.floor, **shown)
    gauge = listed([_("GO {go}", go=of_table(job.gauges.go)), _("NO-GO {no}", no=of_table(job.gauges.no_go))], "and")
    why = _("yes") if way.judged.advised else _("no: {why}", why=way.judged.refusals[0].words)
    full, goes = length(way.full, **shown), job.chip_room.goes
    return way.name, job.expected_torque.told(), needed, full, goes, way.time, gauge, why


def spec() -> PanelSpec:
    """The panel as data."""
    return PanelSpec(
        title=_("One hole, all ways"),
        controls=(
            common.thread_pick(),
            common.work_pick(),
            common.kind_pick("blind"),
            common.number("deep", label=_("Thickness, or full thread of a blind hole"), start="1.5 D"),
            common.number("spare"),
            common.number("percent"),
            common.machine_pick(),
        ),
        main=("thread", "work", "kind", "deep", "machine"),
        model_from=model_from,
        set_up=job_of_way,
        draw=draw,
        update=update,
        describe=describe,
        size=(900, 330),
    )


def job_of_way(model: AllWays, v: SimpleNamespace) -> Operation:
    """The job of the first way that will do, or of the first."""
    return next((way for way in model.ways if way.judged.advised), model.ways[0]).operation


def all_ways_panel(**start: Any) -> TablePanel:
    """One hole, all ways, live; `start` sets controls by key, such as `thread="M6"`."""
    return TablePanel(spec(), details, **start)
