"""The lean panel: one slider from left-hand flutes through straight ones to spiral flutes, and one tooth's chip."""

from types import SimpleNamespace
from typing import Any

from tapkit.drawing.leanview import SCALE_FROM, SCALE_TO, describe_lean, draw_lean
from tapkit.geometry.fluteform import form_for
from tapkit.messages import _
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.panel import Panel, PanelSpec
from tapkit.panels.views import View, views
from tapkit.parameters import job_from


def model_from(v: SimpleNamespace) -> Operation:
    """The job; the whole flute leans, so a negative rake is a left-hand flute."""
    return job_from(vars(v) | {"form": form_for(v.axial_rake, "left-hand-flute")})


def lean(**start: Any) -> Panel:
    """One tooth and its chip, live; `start` sets controls by key, such as `axial_rake=-15`."""
    spec = PanelSpec(
        title=_("One tooth and its chip"),
        controls=(
            common.number("axial_rake", start="30", low=str(SCALE_FROM), high=str(SCALE_TO)),
            common.number("chamfer", start="3"),
            common.number("radial_rake", start="10"),
            common.thread_pick(),
        ),
        main=("axial_rake",),
        model_from=model_from,
        drawing="lean",
        **views(View(draw_lean)),
        describe=describe_lean,
        size=(900, 430),
        units=False,
    )
    return Panel(spec, **start)
