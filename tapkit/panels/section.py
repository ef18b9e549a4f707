"""The section panel: the end of the tap, and its strength against the torque of the cut."""

from __future__ import annotations

from typing import Any

from matplotlib.figure import Figure

from tapkit.drawing.endview import draw_endview, update_endview
from tapkit.drawing.strength import describe_strength, draw_strength, update_strength
from tapkit.messages import _
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.panel import Panel, PanelSpec
from tapkit.parameters import job_from


def draw(figure: Figure, job: Operation, system: str) -> tuple[Any, Any]:
    """End view at the left, strength at the right."""
    left, right = figure.add_axes((0, 0, 0.56, 1)), figure.add_axes((0.56, 0, 0.44, 1))
    return draw_endview(left, job.tap, system=system, shear=True), draw_strength(right, job, system=system)


def update(artists: tuple[Any, Any], job: Operation) -> None:
    """Another job on the same picture."""
    end, bars = artists
    update_endview(end, job.tap)
    update_strength(bars, job)


def spec() -> PanelSpec:
    """The section panel as data."""
    return PanelSpec(
        title=_("Section and strength"),
        controls=(
            common.thread_pick(),
            common.work_pick(),
            *common.numbers(
                "flutes",
                "core",
                "land",
                "axial_rake",
                "radial_rake",
                "chamfer",
                "hole",
                "shear_at_breakage",
                "wear_factor",
            ),
        ),
        main=("thread", "flutes", "core", "land"),
        model_from=lambda v: job_from(vars(v)),
        drawing="section",
        draw=draw,
        update=update,
        describe=lambda job, system: describe_strength(job, system),
        cautions=lambda job: job.cautions,
        size=(860, 500),
    )


def section(**start: Any) -> Panel:
    """Section and strength, live; `start` sets controls by key, such as `core=3.5`."""
    return Panel(spec(), **start)
