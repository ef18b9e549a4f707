"""A screw in a tapped hole: what tears it, and what strips either thread, as bars of force."""

from typing import NamedTuple

from tapkit.drawing import style
from tapkit.drawing.chart import Chart, nice_ceiling
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.geometry.thread import Thread
from tapkit.mechanics.threadstrength import BASIS, ThreadStrength
from tapkit.messages import Number, Unit, _, force, length, text


class Joint(NamedTuple):
    """A thread in a hole of a diameter [mm], and what a screw in it bears."""

    thread: Thread
    hole: float
    bears: ThreadStrength


BARS = (
    ("screw", _("the screw tears"), 1),
    ("external", _("the screw's thread strips"), 3),
    ("internal", _("the hole's thread strips"), 4),
)


@drawn()
def draw_joint(pen: Pen, joint: Joint) -> None:
    """Three bars of force; the shortest one fails first. The scale stays while it fits."""
    bears = joint.bears
    turns = pen.unit("force")
    most = turns * max(bears.screw, bears.external, bears.internal)
    if not 0.3 * pen.memory.get("top", 0) < most <= pen.memory.get("top", 0):
        pen.memory["top"] = nice_ceiling(1.15 * most)
    box = Box(16, 62, pen.width - 20, pen.height - 50)
    chart = Chart(pen, box, x=(0.0, pen.memory["top"]), y=(0.0, 3.0))
    chart.x_axis(_("force along the screw, {unit}", unit=Unit("force")))
    for place, (key, words, flute) in enumerate(BARS):
        low = float(chart.up(2.08 - place))
        value = getattr(bears, key)
        bar = Box(box.left, low, float(chart.across(value * turns)), low + 24)
        pen.flute_fill(flute, bar, kind="edge" if key == bears.fails else "thin")
        told = _("{what} at {force}", what=words, force=force(value, digits=3))
        first = _("{told}: first", told=told) if key == bears.fails else told
        pen.text(box.left + 3, low + 27, first, bold=key == bears.fails, paper=True)
    title = _(
        "engaged {engaged}; needed {needed}",
        engaged=length(bears.engaged, digits=3),
        needed=length(bears.needed, digits=3),
    )
    pen.text(box.left, pen.height - 10, title, va="top", bold=True, size=style.TITLE)


def describe_joint(joint: Joint, system: str = "metric") -> str:
    """What fails first, and how much thread the drill leaves; also the alt text."""
    left = _(
        "{thread} in a hole of {hole}, {percent} % of thread by custom:",
        thread=joint.thread.designation,
        hole=length(joint.hole),
        percent=Number(float(joint.thread.percent(joint.hole)), decimals=0),
    )
    return text(left, _("{told}.", told=joint.bears.sentence), BASIS).said(system)
