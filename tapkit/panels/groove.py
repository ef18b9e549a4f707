"""The groove panel: one thread groove with the slice each tooth takes, and what a fault does to it."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, NamedTuple

from matplotlib.figure import Figure

from tapkit.drawing.groove import describe_groove, draw_groove, update_groove
from tapkit.drawing.toothbars import draw_toothbars, update_toothbars
from tapkit.mechanics.toothload import Faults
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.controls import Pick, Slider
from tapkit.panels.panel import Panel, PanelSpec

ANY_METAL = "C45"
"""The slices are the same in every metal."""
MOST_TEETH = 40
"""At this end of its slider the groove is shown after every tooth."""


class Cut(NamedTuple):
    """A job, and after how many teeth its groove is looked at (None for all)."""

    job: Operation
    upto: int | None


def cut_from(values: SimpleNamespace) -> Cut:
    """The job with its faults, and the tooth to stop at."""
    job = common.job_from(SimpleNamespace(**vars(values), work=ANY_METAL))
    faults = Faults(
        first_tooth=values.first_tooth,
        runout=values.runout,
        runout_angle=values.runout_angle,
        missing_teeth=frozenset([values.missing]) if values.missing else frozenset(),
        regrind_shorter=values.regrind,
    )
    return Cut(job.with_(faults=faults), None if values.upto >= MOST_TEETH else values.upto)


def draw(figure: Figure, cut: Cut, system: str) -> tuple[Any, Any]:
    """Groove above, bars below."""
    above, below = figure.add_axes((0, 0.4, 1, 0.6)), figure.add_axes((0, 0, 1, 0.4))
    return (
        draw_groove(above, cut.job, system=system, upto=cut.upto),
        draw_toothbars(below, cut.job, system=system, show="area"),
    )


def update(artists: tuple[Any, Any], cut: Cut) -> None:
    """Another job on the same picture."""
    groove, bars = artists
    update_groove(groove, cut.job, cut.upto)
    update_toothbars(bars, cut.job)


def fault_controls() -> tuple[Slider | Pick, ...]:
    """How far the cutting has gone, and what may be wrong with the tap."""
    teeth = [("none", 0), *((f"tooth {n}", n) for n in range(1, 17))]
    most, runout = MOST_TEETH, dict(kind="length", start=0, low=0, high=0.15, step=0.005, inch_step=0.0002)
    return (
        Slider(key="upto", label="Teeth that have passed", start=most, low=0, high=most, step=1, whole=True),
        Slider(key="first_tooth", label="First tooth, share of P/Z", start=1.0, low=0.05, high=1.0, step=0.05),
        Slider(key="runout", label="Runout of the tap", **runout),
        Slider(
            key="runout_angle", label="Its high side, from flute 1", kind="angle", start=0, low=0, high=350, step=10
        ),
        Pick(key="missing", label="Lost tooth", options=teeth, start=0),
        Slider(key="regrind", label="Shortened by a regrind", unit="threads", start=0, low=0, high=3, step=0.25),
    )


def spec() -> PanelSpec:
    """The groove panel as data."""
    return PanelSpec(
        title="The thread groove, slice by slice",
        controls=(
            common.thread_pick(),
            common.chamfer_slider(),
            common.flutes_slider(),
            common.hole_slider(),
            *fault_controls(),
        ),
        model_from=cut_from,
        draw=draw,
        update=update,
        describe=lambda cut, system: describe_groove(cut.job, cut.upto, system=system),
        cautions=lambda cut: cut.job.tap.cautions(),
        size=(860, 580),
    )


def groove(**start: Any) -> Panel:
    """One groove and its slices, live; `start` sets controls by key, such as `runout=0.05`."""
    return Panel(spec(), **start)
