"""The drills panel: the nearest drills to a wanted percent of thread, from a set or from one's own shelf."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, NamedTuple

from matplotlib.figure import Figure

from tapkit import units
from tapkit.drawing.drillfits import (
    describe_drillfits,
    draw_drillfits,
    draw_percent,
    update_drillfits,
    update_percent,
)
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.panels import common
from tapkit.panels.panel import PanelSpec
from tapkit.panels.state import Entry, Pick
from tapkit.panels.tablepanel import TablePanel, table
from tapkit.planning.classes import class_names
from tapkit.planning.drill import (
    EXAMPLE,
    WITHIN,
    DrillFit,
    DrillSize,
    WantedPercent,
    advised_drills,
    drilled_size,
    read_shelf,
    wanted_percent,
)
from tapkit.planning.drill import drills as drills_in

SETS = (
    ("usual for the thread", ""),
    ("metric", "metric"),
    ("metric in steps of 0.05 mm", "metric 0.05"),
    ("fraction, number and letter", "inch"),
    ("all sets", "all"),
)
CLASSES = (("usual: 6H or 2B", ""), *((n, n) for n in (*class_names("metric"), *class_names("unified"))))
IN_SETS = {"": (), "inch": ("fraction", "number", "letter"), "all": ("metric", "fraction", "number", "letter")}


class Drills(NamedTuple):
    """What the panel shows: the nearest drills, the percent wanted by custom, and what is usual."""

    fits: tuple[DrillFit, ...]
    wanted: float
    usual: WantedPercent


def shelf_from(v: SimpleNamespace) -> tuple[DrillSize, ...]:
    """The drills to choose from: one's own shelf where it is filled; none for the usual sets of the thread."""
    if v.shelf.strip():
        return read_shelf(v.shelf)
    names = IN_SETS.get(v.set, (v.set,))
    return drills_in(*names) if names else ()


def model_from(v: SimpleNamespace) -> Drills:
    """The drills the controls stand for."""
    thread, work = Thread.parse(v.thread), Workpiece.parse(v.work)
    fits = advised_drills(
        thread, v.percent, shelf_from(v), basis=v.basis, count=7, work=work.name, tolerance=v.tolerance
    )
    wanted = thread.percent(thread.hole_for_percent(v.percent, v.basis))
    return Drills(fits, wanted, wanted_percent(work))


def draw(figure: Figure, model: Drills, system: str) -> tuple[Any, Any]:
    """The thread at the left, the drills at the right."""
    left, right = figure.add_axes((0, 0, 0.46, 1)), figure.add_axes((0.46, 0.02, 0.54, 0.97))
    return draw_percent(left, model.fits[0], system=system), draw_drillfits(
        right, model.fits, model.wanted, system=system
    )


def update(artists: tuple[Any, Any], model: Drills) -> None:
    """Other drills on the same picture."""
    update_percent(artists[0], model.fits[0])
    update_drillfits(artists[1], model.fits, model.wanted)


def details(model: Drills, system: str) -> str:
    """The drills as a table, and how wide they really cut."""

    def across(mm: float) -> str:
        return "=" + units.show(mm, "length", system, decimals=3 if system == "metric" else 4)

    rows, marks = [], []
    for fit in model.fits:
        cuts = fit.cuts
        rows.append(
            (
                fit.drill.name,
                across(fit.drill.diameter),
                f"={fit.percent:.1f} %",
                f"={fit.percent_cut:.0f} %",
                f"={fit.percent_iso:.1f} %",
                f"{fit.limits}{', the wall chart’s' if fit.on_chart else ''}",
                f"={fit.torque_ratio:.2f}",
                f"={fit.height_ratio:.2f}",
                f"={across(cuts.least)[1:]} to {across(cuts.most)[1:]}",
            )
        )
        marks.append("good" if fit.limits == WITHIN else "bad")
    limits = model.fits[0].minor
    head = (
        "Drill",
        "diameter",
        "custom",
        "as it cuts",
        "ISO",
        f"{limits.name} limits",
        "torque",
        "height",
        "really cuts",
    )
    usual, source = model.usual, drilled_size(1).source
    span = f"{across(limits.least)[1:]} to {across(limits.most)[1:]}"
    return (
        table(
            "The wall chart’s drill first, then the nearest as they cut; torque and height against 75 %",
            head,
            rows,
            marks,
        )
        + f"<p>Minor diameter {limits.name}: {span}, {limits.source}.</p>"
        + f"<p>{usual.percent:.0f} % is {usual.reason} ({usual.source}). How wide drills cut: {source}.</p>"
    )


def spec() -> PanelSpec:
    """The drills panel as data."""
    return PanelSpec(
        title="Drill and percent of thread",
        controls=(
            common.thread_pick(),
            common.work_pick(),
            common.number("percent", label="Percent of thread wanted"),
            Pick(
                key="basis",
                label="Percent of",
                options=(("¾ H, handbook custom", "custom"), ("⅝ H, ISO 68-1", "iso")),
                start="custom",
            ),
            Pick(key="tolerance", label="Limits of class", options=CLASSES, start=""),
            Pick(key="set", label="Drills", options=SETS, start=""),
            Entry(key="shelf", label="My shelf", start="", hint=f"{EXAMPLE}: filled, it is used instead"),
        ),
        main=("thread", "work", "percent", "set"),
        model_from=model_from,
        draw=draw,
        update=update,
        describe=lambda model, system: describe_drillfits(model.fits, model.wanted),
        size=(900, 420),
    )


def drills(**start: Any) -> TablePanel:
    """Choose a drill, live; `start` sets controls by key, such as `thread="1/4-20", percent=65`."""
    return TablePanel(spec(), details, **start)
