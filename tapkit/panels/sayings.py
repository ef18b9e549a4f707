"""The sayings panel: a long and a short chamfer, with the part's thickness as the slider."""

from types import SimpleNamespace
from typing import Any

from tapkit.drawing.sayingsview import draw_sayings
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import _
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.panel import Panel, PanelSpec
from tapkit.panels.views import View, views
from tapkit.sayings import Sayings, verdict
from tapkit.sayings import weigh_sayings as settle


def model_from(v: SimpleNamespace) -> Sayings:
    """The two jobs the controls stand for; straight flutes, so that only the chamfer differs."""
    hole = Hole(kind="through", diameter=v.hole, depth=v.thickness)
    work = Workpiece.parse(v.work)
    long, short = (
        Operation(tap=Tap.make(v.thread, "straight", n, metal=work), hole=hole, workpiece=work)
        for n in (v.long, v.short)
    )
    return settle(long, short, v.thickness)


def sayings(**start: Any) -> Panel:
    """The two trade sayings, live; `start` sets controls by key."""
    spec = PanelSpec(
        title=_("Two sayings on chamfer and torque"),
        controls=(
            common.number("thickness", start="3"),
            common.number("chamfer", key="long", label=_("Long chamfer"), start="5"),
            common.number("chamfer", key="short", label=_("Short chamfer"), start="1.5"),
            common.thread_pick("M8x1.25"),
            common.work_pick(),
            common.number("hole"),
        ),
        main=("thickness", "long", "short", "thread"),
        model_from=model_from,
        set_up=lambda found, v: found.long,
        drawing="tip",
        **views(View(draw_sayings)),
        describe=lambda found, system: verdict(found),
        size=(900, 400),
    )
    return Panel(spec, **start)
