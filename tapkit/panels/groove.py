"""The groove panel: one thread groove with the slice each tooth takes, and what a fault does to it."""

from types import SimpleNamespace
from typing import Any, NamedTuple

from tapkit.drawing.groove import describe_groove, draw_groove
from tapkit.drawing.toothbars import draw_toothbars
from tapkit.messages import _
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.panel import Panel, PanelSpec
from tapkit.panels.views import View, views
from tapkit.parameters import job_from

MOST_TEETH = 40
"""At this end of its slider the groove is shown after every tooth."""


class GrooveCut(NamedTuple):
    """A job, and after how many teeth its groove is looked at (None for all)."""

    job: Operation
    upto: int | None


def cut_from(values: SimpleNamespace) -> GrooveCut:
    """The job with its faults, and the tooth to stop at."""
    job = job_from(vars(values))
    return GrooveCut(job, None if values.upto >= MOST_TEETH else values.upto)


def groove(**start: Any) -> Panel:
    """One groove and its slices, live; `start` sets controls by key, such as `runout=0.05`."""
    spec = PanelSpec(
        title=_("The thread groove, slice by slice"),
        controls=(
            common.thread_pick(),
            *common.numbers("upto", "chamfer", "runout", "runout_angle", "flutes", "hole"),
            *common.numbers("first_tooth", "missing", "regrind"),
        ),
        main=("thread", "upto", "chamfer", "runout"),
        model_from=cut_from,
        drawing="groove",
        **views(
            View(draw_groove, (0, 0.4, 1, 0.6), tuple),
            View(draw_toothbars, (0, 0, 1, 0.4), lambda cut: (cut.job,), {"show": "area"}),
        ),
        describe=lambda cut, system: describe_groove(cut.job, cut.upto, system=system),
        cautions=lambda cut: cut.job.tap.cautions(),
        size=(860, 580),
        teeth=True,
    )
    return Panel(spec, **start)
