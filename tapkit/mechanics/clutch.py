"""The clutch of a tapping holder: a torque between what the job needs and what the tap bears, or that there is none.

It must not slip where the tap only works: it needs at least the high end of the torque to expect, going in and going
back. It must slip before the weakest such tap breaks: it may have at most the low end of the torque at breakage.
"""

from typing import NamedTuple

from tapkit.mechanics.breakage import Breakage
from tapkit.mechanics.expected import ExpectedTorque
from tapkit.messages import Sentence, Span, _
from tapkit.messages import torque as torque_of


class Clutch(NamedTuple):
    """`needs` most torque the job may need, `bears` least torque at which the tap may break, `has` what the spindle has
    at this speed, None where that is not told [N·m]."""

    needs: float
    bears: float
    has: float | None = None

    @property
    def range(self) -> tuple[float, float] | None:
        """Least and most torque to set [N·m], None where no torque is enough for the job and safe for the tap."""
        return (self.needs, self.bears) if self.needs < self.bears else None

    @property
    def sentence(self) -> Sentence:
        """What to set, or why nothing will do; and whether the spindle can turn it, where its torque is told."""
        return self._setting if self.has is None else _("{set}; {spindle}", set=self._setting, spindle=self._spindle)

    @property
    def _spindle(self) -> Sentence:
        told = dict(has=torque_of(self.has, digits=2), needs=torque_of(self.needs, digits=2))
        if self.has < self.needs:
            return _("the spindle has {has} at this speed and the job may need {needs}: it may stall", **told)
        if self.has < self.bears:
            return _("the spindle has {has} at this speed: enough for the job, and too little to break the tap", **told)
        return _("the spindle has {has} at this speed: enough for the job, and enough to break the tap", **told)

    @property
    def _setting(self) -> Sentence:
        if self.range:
            return _(
                "a clutch set to {range} slips neither in the cut nor too late for the tap; begin at the low end, and "
                "follow the manuals of holder and machine",
                range=Span(*self.range, "torque", digits=2),
            )
        return _(
            "no torque of a clutch is both enough and safe: the job may need {needs}, this tap may break at {bears}; "
            "a sharper tap, a larger hole or a thicker core makes room",
            needs=torque_of(self.needs, digits=2),
            bears=torque_of(self.bears, digits=2),
        )


def clutch(expected: ExpectedTorque, broken: Breakage, spindle: float | None = None) -> Clutch:
    """The clutch of a job, from the torque to expect and the torque at breakage."""
    needs = max(expected.peak[1], expected.going_back[1])
    return Clutch(needs, min(broken.torque_range[0], broken.torque), spindle)
