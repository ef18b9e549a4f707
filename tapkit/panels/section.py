"""The section panel: the end of the tap, and its strength against the torque of the cut."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from matplotlib.figure import Figure

from tapkit.drawing.endview import draw_endview, update_endview
from tapkit.drawing.strength import describe_strength, draw_strength, update_strength
from tapkit.geometry.fluteform import form_for
from tapkit.geometry.hole import Hole
from tapkit.geometry.proportions import usual_core, usual_land
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.workpiece import Workpiece
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.controls import Slider
from tapkit.panels.panel import Panel, PanelSpec


def _core(values: SimpleNamespace) -> float:
    return usual_core(Thread.parse(values.thread), form_for(values.axial_rake), values.flutes)


def _land(values: SimpleNamespace) -> float:
    return usual_land(Thread.parse(values.thread), values.flutes)


def _major(values: SimpleNamespace) -> float:
    return Thread.parse(values.thread).major


def core_slider() -> Slider:
    """Core diameter, starting at the usual one."""
    return Slider(
        key="core",
        label="Core diameter",
        kind="length",
        start=_core,
        low=lambda v: 0.25 * _major(v),
        high=lambda v: 0.72 * _major(v),
        step=0.02,
        follows=("thread", "flutes", "axial_rake"),
    )


def land_slider() -> Slider:
    """Width of a land, starting at the usual one."""
    return Slider(
        key="land",
        label="Width of a land",
        kind="length",
        start=_land,
        low=lambda v: 0.08 * _major(v),
        high=lambda v: 0.55 * _major(v),
        step=0.02,
        follows=("thread", "flutes"),
    )


def assumed(name: str, label: str, step: float, unit: str = "", kind: str | None = None) -> Slider:
    """A slider over the range of an assumption."""
    a = assumption(name)
    return Slider(key=name, label=label, kind=kind, unit=unit, start=a.value, low=a.low, high=a.high, step=step)


def job_from(values: SimpleNamespace) -> Operation:
    """The job with its own section and its own assumptions."""
    tap = Tap.make(
        values.thread,
        form_for(values.axial_rake),
        values.chamfer,
        flutes=values.flutes,
        axial_rake=values.axial_rake,
        radial_rake=values.radial_rake,
        core_diameter=values.core,
        land_width=values.land,
    )
    return Operation(
        tap=tap,
        hole=Hole(kind="through", diameter=values.hole, depth=tap.thread.major),
        workpiece=Workpiece.parse(values.work),
        shear_at_breakage=values.shear_at_breakage,
        wear_factor=values.wear_factor,
    )


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
        title="Section and strength",
        controls=(
            common.thread_pick(),
            common.work_pick(),
            common.flutes_slider(),
            common.axial_rake_slider(),
            core_slider(),
            land_slider(),
            common.radial_rake_slider(),
            common.chamfer_slider(),
            common.hole_slider(),
            assumed("shear_at_breakage", "Breaks at a shear stress of (assumed)", 50, kind="stress"),
            assumed("wear_factor", "Wear factor", 0.05),
        ),
        model_from=job_from,
        draw=draw,
        update=update,
        describe=lambda job, system: describe_strength(job, system),
        cautions=lambda job: job.cautions,
        size=(860, 500),
    )


def section(**start: Any) -> Panel:
    """Section and strength, live; `start` sets controls by key, such as `core=3.5`."""
    return Panel(spec(), **start)
