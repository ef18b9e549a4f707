"""The wrench panel: two hands on a tap wrench, and what that is in torque."""

from types import SimpleNamespace
from typing import Any

from tapkit.drawing.wrenchview import Pulled, describe_wrench, draw_wrench
from tapkit.panels import common
from tapkit.panels.panel import Panel, PanelSpec
from tapkit.panels.views import View, views
from tapkit.parameters import job_from


def model_from(v: SimpleNamespace) -> Pulled:
    """The job by hand with its wrench, and the pull."""
    return Pulled(job_from(vars(v), holder="hand", wrench_length=v.wrench), v.pull)


def wrench(**start: Any) -> Panel:
    """Two hands on a tap wrench, live; `start` sets controls by key, such as `pull=60`."""
    spec = PanelSpec(
        title="Two hands on a tap wrench",
        controls=(
            *common.numbers("pull", "wrench"),
            common.thread_pick(),
            common.work_pick(),
            common.kind_pick("blind"),
            common.form_pick("straight"),
            common.number("chamfer", start="9"),
            common.number("depth", start="2 D"),
            common.number("hole"),
            common.choice_pick("fluid"),
        ),
        main=("pull", "wrench", "thread", "work"),
        model_from=model_from,
        **views(View(draw_wrench)),
        describe=describe_wrench,
        cautions=lambda pulled: pulled.job.cautions,
        size=(860, 380),
    )
    return Panel(spec, **start)
