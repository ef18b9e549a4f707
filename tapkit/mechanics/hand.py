"""Tapping by hand: what a tap wrench asks of two hands, and what turning back does.

Two equal hands at the ends of a wrench of length L give M = F L. One hand alone would bend the tap as well
as turn it. The torque to expect is a range, so the force is one too. What hands notice is
a share of what they already push, and never less than some least force.
"""

from typing import NamedTuple

import numpy as np

from tapkit import tables
from tapkit.geometry import section
from tapkit.geometry.tap import Tap
from tapkit.mechanics.assumptions import assumption
from tapkit.messages import Sentence, Span, _, force, length


class Hand(NamedTuple):
    """One job by hand.

    `wrench` length over both handles [mm]; `force_range` of each hand for the torque to expect [N]; `breaking_range` of
    each hand at which the tap breaks [N]; `feel` what hands can notice before it does.
    """

    wrench: float
    force_range: tuple[float, float]
    breaking_range: tuple[float, float]
    feel: Sentence

    @property
    def is_too_much(self) -> bool:
        """Whether even the least torque to expect asks more than two hands give."""
        return self.force_range[0] > assumption("hand_force").high


def usual_wrench(major: float) -> float:
    """Length of the tap wrench that goes with a size [mm]. Source: table `tap_wrenches`.

    >>> usual_wrench(10.0)
    280.0
    """
    for row in tables.rows("tap_wrenches"):
        if major <= tables.span(row["major_mm"])[1]:
            return float(row["length_mm"])
    return float(tables.rows("tap_wrenches")[-1]["length_mm"])


def force_of_each_hand(torque: float, wrench: float) -> float:
    """Force of each of two hands [N] for a torque [N·m] on a wrench of length L [mm]: F = M / L.

    >>> force_of_each_hand(8.4, 280)
    30.0
    """
    if not (np.isfinite(wrench) and 20 <= wrench <= 2000):
        raise ValueError(
            _(
                "a tap wrench of {wrench} is outside {span}; {usual} is usual at M10",
                wrench=length(wrench),
                span=Span(20, 2000, "length"),
                usual=length(280),
            )
        )
    return torque * 1000 / wrench


def least_turn_back(tap: Tap) -> float:
    """Turn back [turns] at which the heel of the land behind reaches the chip's root: the opening of a flute, β/π.

    >>> round(least_turn_back(Tap.make("M10")), 2)
    0.23
    """
    return float(section.flute_half_angle(tap.thread.major, tap.land_width, tap.flutes) / np.pi)


def by_hand(
    *, tap: Tap, torque: tuple[float, float], breaking: tuple[float, float], wrench: float | None = None
) -> Hand:
    """One job by hand: `torque` to expect and at `breaking`, each least and most [N·m]; wrench length [mm] (None for
    usual)."""
    long = usual_wrench(tap.thread.major) if wrench is None else wrench
    ends, breaks = (tuple(force_of_each_hand(t, long) for t in both) for both in (torque, breaking))
    push = sum(ends) / 2
    felt = max(assumption("felt_change").value * push, assumption("felt_force").value)
    return Hand(long, ends, breaks, _feel(push, felt, breaks[0]))


def _feel(push: float, felt: float, weakest: float) -> Sentence:
    found = dict(felt=force(felt, digits=2), push=force(push, digits=2), left=force(max(weakest - push, 0.0), digits=2))
    if weakest - push < 3 * felt:
        return _(
            "by feel: hands at {push} notice a change of about {felt}, and only {left} may be left before the tap "
            "breaks: here feel comes too late, so count turns, turn back often and keep the wrench short",
            **found,
        )
    if weakest > assumption("hand_force").high:
        return _(
            "by feel: hands at {push} notice a change of about {felt}; this tap bears more than two hands push without "
            "strain, but not a jerk or a lean: when it grows heavier from turn to turn, stop, turn back and clear the "
            "chips",
            **{key: found[key] for key in ("push", "felt")},
        )
    return _(
        "by feel: hands at {push} notice a change of about {felt}, and {left} or more are left before the tap "
        "breaks: when "
        "it grows heavier from turn to turn, stop, turn back and clear the chips; when it springs, it is about to "
        "break",
        **found,
    )
