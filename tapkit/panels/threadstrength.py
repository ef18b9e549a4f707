"""The panel of thread strength: does the screw tear, or does a thread strip?"""

from types import SimpleNamespace
from typing import Any

from tapkit import tables
from tapkit.drawing.threadstrengthview import Joint, describe_joint, draw_joint
from tapkit.geometry.thread import Thread
from tapkit.mechanics import threadstrength
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import _, of_table
from tapkit.panels import common
from tapkit.panels.panel import Panel, PanelSpec
from tapkit.panels.state import Pick
from tapkit.panels.views import View, views


def model_from(v: SimpleNamespace) -> Joint:
    """The joint the controls stand for."""
    thread = Thread.parse(v.thread)
    bears = threadstrength.thread_strength(
        thread=thread, hole=v.hole, engaged=v.engaged, workpiece=Workpiece.parse(v.work), screw=v.screw
    )
    return Joint(thread, v.hole, bears)


def thread_strength(**start: Any) -> Panel:
    """Screw against thread, live; `start` sets controls by key, such as `engaged=8`."""
    metals = [(of_table(Workpiece.parse(n).printed), n) for n in threadstrength.tapped_metals()]
    screws = [(of_table(r["printed"]), r["name"]) for r in tables.rows("screw_strength")]
    spec = PanelSpec(
        title="Screw against thread",
        controls=(
            common.number("hole"),
            common.number("engaged"),
            common.thread_pick(),
            common.pick("work", metals, "C45"),
            Pick(key="screw", label=_("Screw"), options=screws, start="8.8", help=_("property class of the screw")),
        ),
        main=("hole", "engaged", "thread", "work", "screw"),
        model_from=model_from,
        **views(View(draw_joint)),
        describe=describe_joint,
        size=(860, 320),
    )
    return Panel(spec, **start)
