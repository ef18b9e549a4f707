"""A tap wrench from above with two hands on it, and their torque against what the cut needs and the tap bears."""

from typing import NamedTuple

import numpy as np

from tapkit.drawing import style
from tapkit.drawing.chart import Chart, nice_ceiling
from tapkit.drawing.label import text_width
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.messages import Sentence, Unit, _, force, length, text, torque
from tapkit.operation import Operation

LONGEST = 800.0
"""Wrench that fills the picture [mm]."""


class Pulled(NamedTuple):
    """A job by hand, and how hard each hand pulls [N]; the job knows its wrench."""

    job: Operation
    pull: float

    @property
    def torque(self) -> float:
        """Torque of the two hands [N·m]: M = F L."""
        return self.pull * self.job.hand.wrench / 1000

    @property
    def state(self) -> str:
        """ "still", "cuts", "heavy" or "breaks": where the torque stands between what is needed and what breaks."""
        low, high = self.job.expected_torque.peak
        if self.torque >= self.job.breakage.torque_range[0]:
            return "breaks"
        return "still" if self.torque < low else "cuts" if self.torque <= high else "heavy"


STATES = {
    "still": _("That is less than the tap needs at full depth: it stands still there."),
    "cuts": _("That is what the cut is expected to need at full depth."),
    "heavy": _("That is more than the cut should need: stop, turn back, and look what holds the tap."),
    "breaks": _("At that a tap of this size may already break."),
}


@drawn()
def draw_wrench(pen: Pen, pulled: Pulled) -> None:
    """The wrench above, the bar of torque below."""
    _hands(pen, pulled, 0.7 * pen.height)
    _scale(pen, pulled, Box(40, 64, pen.width - 40, 0.42 * pen.height))


def describe_wrench(pulled: Pulled, system: str = "metric") -> str:
    """What the hands give, and what that means; also the alt text."""
    hand = pulled.job.hand
    gives = _(
        "Two hands that pull {pull} each on a wrench of {wrench} give {torque}.",
        pull=force(pulled.pull, digits=3),
        wrench=length(hand.wrench, digits=3),
        torque=torque(pulled.torque, digits=3),
    )
    return text(gives, STATES[pulled.state], _("Judged {feel}.", feel=hand.feel)).said(system)


def _hands(pen: Pen, pulled: Pulled, y: float) -> None:
    """The wrench seen from above, as long as it is, with an arrow at each hand."""
    middle = pen.width / 2
    half = max(pulled.job.hand.wrench / LONGEST * (pen.width - 120) / 2, 40)
    pen.rectangle(Box(middle - half, y - 5, middle + half, y + 5), style.STEEL_DARK, "edge")
    pen.rectangle(Box(middle - 26, y - 16, middle + 26, y + 16), style.STEEL, "edge")
    turn = np.linspace(0, 2 * np.pi, 40)
    shank = np.column_stack([middle + 8 * np.cos(turn), y + 8 * np.sin(turn)])
    pen.fill(shank, style.PAPER, z=4)
    pen.line(shank, "edge", closed=True, z=4.1)
    reach = 14 + 50 * min(pulled.pull / 200, 1.0)
    for side in (1, -1):
        x = middle + side * (half - 8)
        pen.line([(x, y - side * 8), (x, y - side * (8 + reach))], "bold", colour=style.ACCENT)
        pen.arrow((x, y - side * (14 + reach)), (0, -side), colour=style.ACCENT, size=1.6)
        told = force(pulled.pull, digits=3)
        ha = "left" if side > 0 else "right"
        pen.text(x + side * 8, y - side * (8 + reach / 2), told, ha=ha, va="center", bold=True)
    pen.text(middle, y + 24, length(pulled.job.hand.wrench, digits=3), ha="center")


def _scale(pen: Pen, pulled: Pulled, box: Box) -> None:
    """Torque from none to beyond what breaks the tap, with what is needed marked on it."""
    turns = pen.unit("torque")
    need, bears = pulled.job.expected_torque.peak, pulled.job.breakage.torque_range
    most = nice_ceiling(1.1 * turns * max(bears[1], need[1]))
    chart = Chart(pen, box, x=(0.0, most), y=(0.0, 1.0))
    chart.x_axis(_("torque, {unit}", unit=Unit("torque")))
    for (low, high), colour, words, at in (
        (need, style.GOOD, _("the cut needs"), 0.22),
        (bears, style.WARN, _("the tap breaks"), 0.22),
    ):
        left, right = (float(chart.across(min(v * turns, most))) for v in (low, high))
        strip = Box(left, float(chart.up(at)), max(right, left + 3), float(chart.up(at + 0.24)))
        corners = pen.rectangle(strip, colour, "thin")
        if colour == style.WARN:
            pen.dashes(style.hatch_lines([corners], 45, 6.0), colour=style.PAPER, z=1.3)
        level = (strip.bottom + strip.top) / 2
        before, after = (left - 6, level, "right", "center"), (strip.right + 6, level, "left", "center")
        pen.place(words, [before, after] if left - box.left > 90 else [after, before])
    x = float(chart.across(min(pulled.torque * turns, most)))
    pen.line([(x, float(chart.up(0.56))), (x, float(chart.up(0.82)))], "bold", colour=style.ACCENT, z=4)
    pen.arrow((x, float(chart.up(0.5))), (0, -1), colour=style.ACCENT, size=1.6)
    told: Sentence = _("your hands: {torque}", torque=torque(pulled.torque, digits=3))
    half = text_width(pen.say(told), style.TEXT, True) / 2 + 4
    x = min(max(x, half), pen.width - half)
    pen.text(x, float(chart.up(0.86)), told, ha="center", bold=True, paper=True)
