"""The hole panel: the hole in section with the tap on its way, and the torque along it."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, NamedTuple

from matplotlib.figure import Figure

from tapkit.drawing.holeview import describe_holeview, draw_holeview, end_of_cut, update_holeview
from tapkit.drawing.torquechart import draw_torquechart, update_torquechart
from tapkit.drawing.words import short
from tapkit.geometry.hole import Hole
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.controls import Pick, Slider
from tapkit.panels.panel import Panel, PanelSpec

KINDS = (("through hole", "through"), ("blind hole", "blind"))
DRILLS = (("118°", 118.0), ("135°", 135.0), ("flat, 180°", 180.0))


class OnTheWay(NamedTuple):
    """A job, and how deep the tap's point is [mm]."""

    job: Operation
    depth: float


def depth_slider() -> Slider:
    """Thickness of the part, or the drilled depth of a blind hole; follows the thread."""
    return Slider(
        key="depth",
        label="Part thickness, or drilled depth of a blind hole",
        kind="length",
        start=lambda v: round(2.0 * Thread.parse(v.thread).major),
        low=lambda v: 0.3 * Thread.parse(v.thread).major,
        high=lambda v: 4 * Thread.parse(v.thread).major,
        step=0.5,
        follows=("thread",),
    )


def on_the_way(values: SimpleNamespace) -> OnTheWay:
    """The job, and the depth at the share of the way asked for."""
    tap = common.tap_from(values)
    hole = Hole(kind=values.kind, diameter=values.hole, depth=values.depth, drill_angle=values.drill)
    job = Operation(tap=tap, hole=hole, workpiece=Workpiece.parse(values.work))
    return OnTheWay(job, values.way / 100 * end_of_cut(job))


def draw(figure: Figure, now: OnTheWay, system: str) -> tuple[Any, Any]:
    """Hole at the left, torque at the right."""
    left, right = figure.add_axes((0, 0, 0.5, 1)), figure.add_axes((0.5, 0.04, 0.5, 0.9))
    return (
        draw_holeview(left, now.job, depth=now.depth, system=system),
        draw_torquechart(right, now.job, depth=now.depth, system=system),
    )


def update(artists: tuple[Any, Any], now: OnTheWay) -> None:
    """Another job or another depth on the same picture."""
    hole_, chart = artists
    update_holeview(hole_, now.job, now.depth)
    update_torquechart(chart, now.job, now.depth)


def describe(now: OnTheWay, system: str) -> str:
    """Where the tap is, and what it needs there."""
    curve, ends = now.job.torque_curve, now.job.breakage
    here, most = (short(t, "torque", system) for t in (curve.at(now.depth), curve.peak))
    return (
        f"{describe_holeview(now.job, now.depth, system=system)} The cut needs {here} here and {most} at most; "
        f"the margin to breakage is {ends.margin:.1f} fresh and {ends.margin_worn:.1f} worn."
    )


def spec() -> PanelSpec:
    """The hole panel as data."""
    return PanelSpec(
        title="The tap in the hole",
        controls=(
            Slider(key="way", label="How far the tap has gone", unit="%", start=60, low=0, high=100, step=1),
            common.thread_pick(),
            common.work_pick(),
            Pick(key="kind", label="Hole", options=KINDS, start="blind"),
            depth_slider(),
            common.hole_slider(),
            Pick(key="drill", label="Drill point", options=DRILLS, start=118.0),
            common.chamfer_slider(1.5),
            common.flutes_slider(),
            common.axial_rake_slider(40.0),
        ),
        model_from=on_the_way,
        draw=draw,
        update=update,
        describe=describe,
        cautions=lambda now: now.job.cautions,
        size=(860, 560),
    )


def hole(**start: Any) -> Panel:
    """The tap in the hole, live; `start` sets controls by key, such as `kind="through"`."""
    return Panel(spec(), **start)
