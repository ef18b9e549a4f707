"""The load panel: the end of the tap from the side, and under it the load on each tooth."""

from __future__ import annotations

from typing import Any

from matplotlib.figure import Figure

from tapkit.drawing.tip import draw_tip, update_tip
from tapkit.drawing.toothbars import describe_toothbars, draw_toothbars, update_toothbars
from tapkit.messages import _
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.panel import Panel, PanelSpec
from tapkit.parameters import job_from


def draw(figure: Figure, job: Operation, system: str) -> tuple[Any, Any]:
    """Side view above, bars below."""
    above, below = figure.add_axes((0, 0.43, 1, 0.57)), figure.add_axes((0, 0, 1, 0.43))
    return draw_tip(above, job.tap, job.hole, system=system), draw_toothbars(below, job, system=system)


def update(artists: tuple[Any, Any], job: Operation) -> None:
    """Another job on the same picture."""
    tip, bars = artists
    update_tip(tip, job.tap, job.hole)
    update_toothbars(bars, job)


def describe(job: Operation, system: str) -> str:
    """What the bars say."""
    return describe_toothbars(job, system=system)


def spec() -> PanelSpec:
    """The load panel as data."""
    return PanelSpec(
        title=_("The load on each tooth"),
        controls=(
            common.thread_pick(),
            common.work_pick(),
            *common.numbers("chamfer", "flutes", "hole", "axial_rake", "radial_rake"),
        ),
        main=("thread", "chamfer", "flutes", "hole"),
        model_from=lambda v: job_from(vars(v)),
        draw=draw,
        update=update,
        describe=describe,
        cautions=lambda job: job.cautions,
        size=(860, 500),
    )


def load(**start: Any) -> Panel:
    """The load on each tooth, live; `start` sets controls by key, such as `chamfer=1.5`."""
    return Panel(spec(), **start)
