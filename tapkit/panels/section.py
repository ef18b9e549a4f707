"""The section panel: the end of the tap, and its strength against the torque of the cut."""

from typing import Any

from tapkit.drawing.endview import draw_endview
from tapkit.drawing.strength import describe_strength, draw_strength
from tapkit.messages import _
from tapkit.panels import common
from tapkit.panels.panel import Panel, PanelSpec
from tapkit.panels.views import View, views


def section(**start: Any) -> Panel:
    """Section and strength, live; `start` sets controls by key, such as `core=3.5`."""
    spec = PanelSpec(
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
        drawing="section",
        **views(
            View(draw_endview, (0, 0, 0.56, 1), lambda job: (job.tap,), {"shear": True}),
            View(draw_strength, (0.56, 0, 0.44, 1)),
        ),
        describe=describe_strength,
        cautions=lambda job: job.cautions,
        size=(860, 500),
    )
    return Panel(spec, **start)
