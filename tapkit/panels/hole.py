"""The hole panel: the hole in section with the tap on its way, and the torque along it."""

from types import SimpleNamespace
from typing import Any, NamedTuple

from tapkit.drawing.holeview import describe_holeview, draw_holeview, end_of_cut
from tapkit.drawing.torquechart import draw_torquechart, margin_of, torque_to_expect
from tapkit.messages import _, angle, text
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.panel import Panel, PanelSpec
from tapkit.panels.state import Pick
from tapkit.panels.views import View, views
from tapkit.parameters import find, job_from

DRILLS = (("118°", 118.0), ("135°", 135.0), (_("flat, {angle}", angle=angle(180)), 180.0))


class OnTheWay(NamedTuple):
    """A job, and how deep the tap's point is [mm]."""

    job: Operation
    depth: float


def on_the_way(values: SimpleNamespace) -> OnTheWay:
    """The job, and the depth at the share of the way asked for."""
    job = job_from(vars(values))
    job = job.with_(hole=job.hole.with_(drill_angle=values.drill))
    return OnTheWay(job, values.way / 100 * end_of_cut(job))


def describe(now: OnTheWay, system: str) -> str:
    """Where the tap is, and what it needs there."""
    needs = _("Torque to expect: {told}.", told=now.job.expected_torque.told())
    ends = torque_to_expect(now.job, now.depth), margin_of(now.job.breakage)
    return text(describe_holeview(now.job, now.depth, system=system), needs, *ends).said(system)


def hole(**start: Any) -> Panel:
    """The tap in the hole, live; `start` sets controls by key, such as `kind="through"`."""
    spec = PanelSpec(
        title="The tap in the hole",
        controls=(
            *common.numbers("way"),
            common.kind_pick("blind"),
            *(common.number("depth", start="2 D"), common.number("chamfer", start="1.5")),
            common.thread_pick(),
            common.work_pick(),
            common.number("hole"),
            Pick(key="drill", label=_("Drill point"), options=DRILLS, start=118.0, help=find("drill_point").help),
            *(common.number("flutes"), common.number("axial_rake", start="40"), common.number("radial_rake")),
        ),
        main=("way", "kind", "depth", "chamfer"),
        model_from=on_the_way,
        **views(
            View(draw_holeview, (0, 0, 0.5, 1), tuple),
            View(draw_torquechart, (0.5, 0.04, 0.5, 0.9), tuple),
        ),
        describe=describe,
        cautions=lambda now: now.job.cautions,
        size=(860, 560),
    )
    return Panel(spec, **start)
