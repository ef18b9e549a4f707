"""The askew panel: a tap started out of square, the square that shows it, and what it does to the thread."""

from typing import Any

from tapkit.drawing.askewview import describe_askew, draw_askew
from tapkit.panels import common
from tapkit.panels.panel import Panel, PanelSpec
from tapkit.panels.views import View, views


def askew(**start: Any) -> Panel:
    """A crooked start, live; `start` sets controls by key, such as `tilt=2`."""
    spec = PanelSpec(
        title="A crooked start",
        controls=(
            common.number("tilt", start="1"),
            common.thread_pick(),
            common.number("depth", start="1.5 D"),
            common.work_pick(),
            common.choice_pick("holder"),
            common.kind_pick("blind"),
            common.form_pick("straight"),
            common.number("chamfer", start="4"),
            common.number("hole"),
        ),
        main=("tilt", "thread", "depth", "work"),
        drawing="askew",
        **views(View(draw_askew)),
        describe=describe_askew,
        cautions=lambda job: job.with_(tilt=0.0).cautions,  # what the lean does is in the sentence
        size=(860, 460),
    )
    return Panel(spec, **{"holder": "hand"} | start)
