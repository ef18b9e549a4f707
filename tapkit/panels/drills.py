"""The drills panel: the nearest drills to a wanted percent of thread, from a set or from one's own shelf."""

from types import SimpleNamespace
from typing import Any, NamedTuple

from tapkit.drawing.drillfits import describe_drillfits, draw_drillfits, draw_percent
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Number, Quantity, Span, _, length, of_table, pgettext, said
from tapkit.panels import common
from tapkit.panels.markup import paragraph, table
from tapkit.panels.panel import PanelSpec
from tapkit.panels.state import Pick, TextEntry
from tapkit.panels.tablepanel import TablePanel
from tapkit.panels.views import View, views
from tapkit.parameters import job_from
from tapkit.planning.classes import classes_of
from tapkit.planning.drill import (
    EXAMPLE,
    OVER,
    UNDER,
    WIDE,
    WITHIN,
    DrillFit,
    DrillSize,
    WantedPercent,
    advised_drills,
    drilled_size,
    read_shelf,
    usual_drills,
    wanted_percent,
)
from tapkit.planning.drill import drills as drills_in

SETS = (
    (_("usual for the thread"), ""),
    (_("metric"), "metric"),
    (_("metric in steps of 0.05 mm"), "metric 0.05"),
    (_("fraction, number and letter"), "inch"),
    (_("all sets"), "all"),
)
CLASSES = ((_("usual: 6H or 2B"), ""), *((n, n) for n in (*classes_of("metric"), *classes_of("unified"))))
IN_SETS = {"": (), "inch": ("fraction", "number", "letter"), "all": (_("metric"), "fraction", "number", "letter")}


class Drills(NamedTuple):
    """What the panel shows: the nearest drills, the percent wanted by custom, and what is usual."""

    fits: tuple[DrillFit, ...]
    wanted: float
    usual: WantedPercent


def shelf_from(v: SimpleNamespace, system: str) -> tuple[DrillSize, ...]:
    """The drills to choose from: one's own shelf where it is filled, else a set; those of an inch shop in inch."""
    if v.shelf.strip():
        return read_shelf(v.shelf)
    names = IN_SETS.get(v.set, (v.set,))
    return drills_in(*names) if names else usual_drills(Thread.parse(v.thread), system)


def model_from(v: SimpleNamespace, system: str = "metric") -> Drills:
    """The drills the controls stand for."""
    thread, work = Thread.parse(v.thread), Workpiece.parse(v.work)
    fits = advised_drills(
        thread, v.percent, shelf_from(v, system), basis=v.basis, count=7, work=work.name, tolerance=v.tolerance
    )
    wanted = thread.percent(thread.hole_for_percent(v.percent, v.basis))
    return Drills(fits, wanted, wanted_percent(work))


def _across(value: float) -> Quantity:
    return length(value, decimals=3, inch_decimals=4)


def _row(fit: DrillFit) -> tuple[Any, ...]:
    limits = pgettext("limits", "mostly within") if fit.strays else LIMITS[fit.limits]
    return (
        fit.drill,
        _across(fit.drill.diameter),
        _("{percent} %", percent=Number(fit.percent, decimals=1)),
        _("{percent} %", percent=Number(fit.percent_cut, decimals=0)),
        _("{percent} %", percent=Number(fit.percent_iso, decimals=1)),
        _("{limits}, the wall chart's", limits=limits) if fit.on_chart else limits,
        Number(fit.torque_ratio, decimals=2),
        Number(fit.height_ratio, decimals=2),
        Span(fit.cuts.least, fit.cuts.most, "length", decimals=3, inch_decimals=4),
    )


LIMITS = {
    WITHIN: pgettext("limits", "within"),
    WIDE: pgettext("limits", "may be over"),
    OVER: pgettext("limits", "over"),
    UNDER: pgettext("limits", "under"),
}
"""How the holes of a drill lie to the limits, in a word or two."""


def details(model: Drills, system: str) -> str:
    """The drills as a table, and how wide they really cut."""
    text = {0, 5}
    rows = [[cell if i in text else f"={said(cell, system)}" for i, cell in enumerate(_row(fit))] for fit in model.fits]
    marks = ["good" if fit.limits == WITHIN else "bad" for fit in model.fits]
    limits, usual, source = model.fits[0].minor, model.usual, of_table(drilled_size(1).source)
    head = (
        _("Drill"), _("diameter"), _("custom"), _("as it cuts"), _("ISO"), _("{name} limits", name=limits.name),
        _("tooth forces"), _("height"), _("really cuts"),
    )  # fmt: skip
    title = _(
        "Best first: the wall chart's drill if it will do, then those within the limits, then the rest; tooth forces "
        "and height against 75 %"
    )
    minor = _(
        "Minor diameter {name}: {span}, {source}.",
        name=limits.name,
        span=Span(limits.least, limits.most, "length", decimals=3, inch_decimals=4),
        source=of_table(limits.source),
    )
    wanted = _(
        "{percent} % is {reason} ({why}). How wide drills cut: {source}.",
        percent=Number(usual.percent),
        reason=usual.reason,
        why=of_table(usual.source),
        source=source,
    )
    return table(title, head, rows, marks, system) + paragraph(minor, system) + paragraph(wanted, system)


def drills(**start: Any) -> TablePanel:
    """Choose a drill, live; `start` sets controls by key, such as `thread="1/4-20", percent=65`."""
    spec = PanelSpec(
        title=_("Drill and percent of thread"),
        controls=(
            common.thread_pick(),
            common.work_pick(),
            common.number("percent", label=_("Percent of thread wanted")),
            Pick(
                key="basis",
                label=_("Percent of"),
                options=((_("¾ H, handbook custom"), "custom"), (_("⅝ H, ISO 68-1"), "iso")),
                start="custom",
                help=_("the height of thread that counts as 100 %: handbooks take ¾ H, the standard's own is ⅝ H"),
            ),
            Pick(
                key="tolerance",
                label=_("Limits of class"),
                options=CLASSES,
                start="",
                help=_("the class whose limits the hole must keep"),
            ),
            Pick(key="set", label=_("Drills"), options=SETS, start="", help=_("the drills to choose among")),
            TextEntry(
                key="shelf",
                label=_("My shelf"),
                start="",
                hint=_("{example}: filled, it is used instead", example=EXAMPLE),
            ),
        ),
        main=("thread", "work", "percent", "set"),
        model_from=model_from,
        by_system=True,
        set_up=lambda model, v: job_from(vars(v) | {"hole": model.fits[0].drill.diameter}),
        **views(
            View(draw_percent, (0, 0, 0.46, 1), lambda drills: (drills.fits[0],)),
            View(draw_drillfits, (0.46, 0.02, 0.54, 0.97), lambda drills: (drills.fits, drills.wanted)),
        ),
        describe=lambda model, system: describe_drillfits(model.fits, model.wanted),
        size=(900, 420),
    )
    return TablePanel(spec, details, **start)
