"""Tapping by hand: what a tap wrench asks of two hands, and what turning back does.

Two equal hands at the ends of a wrench of length L give M = F L. One hand alone would bend the tap as well
as turn it. The torque to expect is a range, so the force is one too. What hands notice is
a share of what they already push, and never less than some least force.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from tapkit import tables
from tapkit.geometry import section
from tapkit.geometry.tap import Tap
from tapkit.mechanics.assumptions import assumption
from tapkit.messages import Number, Sentence, Span, _, force, length


class Hand(NamedTuple):
    """One job by hand.

    `wrench` length over both handles [mm]; `force_range` of each hand for the torque to expect [N]; `breaking_range` of
    each hand at which the tap breaks [N]; `felt` least change of force that hands notice in the middle of that [N];
    `forward` turns before each turn back, `chip_length` uncut length of the chip pieces that leaves [mm]; `turn_back`
    least turn back that brings the next land over the chip's root [turns]; `turns` to finish the thread, without
    turning back; `sentence`.
    """

    wrench: float
    force_range: tuple[float, float]
    breaking_range: tuple[float, float]
    felt: float
    forward: float
    chip_length: float
    turn_back: float
    turns: float
    sentence: Sentence
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
    *,
    tap: Tap,
    torque: tuple[float, float],
    breaking: tuple[float, float],
    depth: float,
    wrench: float | None = None,
    forward: float = 0.5,
) -> Hand:
    """One job by hand: `torque` to expect and at `breaking`, each least and most [N·m]; tapped depth
    and wrench length [mm] (None for usual), turns forward at a time."""
    if not 0 < forward <= 10:
        raise ValueError(
            _(
                "{forward} turns forward between turns back is outside 0 to 10; half a turn to one is usual",
                forward=Number(forward),
            )
        )
    long = usual_wrench(tap.thread.major) if wrench is None else wrench
    ends, breaks = (tuple(force_of_each_hand(t, long) for t in both) for both in (torque, breaking))
    push = sum(ends) / 2
    felt = max(assumption("felt_change").value * push, assumption("felt_force").value)
    return Hand(
        long,
        ends,
        breaks,
        felt,
        forward,
        forward * np.pi * tap.thread.pitch_diameter,
        least_turn_back(tap),
        depth / tap.thread.pitch,
        _sentence(long, ends, breaks, least_turn_back(tap)),
        _feel(push, felt, breaks[0]),
    )


def _sentence(wrench: float, ends: tuple[float, float], breaks: tuple[float, float], back: float) -> Sentence:
    hand = assumption("hand_force")
    found = dict(
        wrench=length(wrench),
        span=Span(*ends, "force", digits=2),
        breaks=Span(*breaks, "force", digits=2),
        back=Number(back, decimals=2),
    )
    if breaks[0] < hand.high:
        return _(
            "a {wrench} wrench asks {span} of each hand, and the tap would break at {breaks}; turning back "
            "{back} turn or more, half a turn by custom, breaks the chips. Two hands can break this tap without "
            "noticing: take a shorter wrench and feel the torque",
            **found,
        )
    if ends[0] > hand.high:
        return _(
            "a {wrench} wrench asks {span} of each hand, and the tap would break at {breaks}; turning back "
            "{back} turn or more, half a turn by custom, breaks the chips. That is a strain: take a longer wrench, "
            "a set of taps, or a larger hole",
            **found,
        )
    return _(
        "a {wrench} wrench asks {span} of each hand, and the tap would break at {breaks}; turning back {back} "
        "turn or more, half a turn by custom, breaks the chips",
        **found,
    )


def _feel(push: float, felt: float, weakest: float) -> Sentence:
    found = dict(felt=force(felt, digits=2), push=force(push, digits=2), left=force(max(weakest - push, 0.0), digits=2))
    if weakest - push < 3 * felt:
        return _(
            "by feel: hands at {push} notice a change of about {felt}, and only {left} may be left before the tap "
            "breaks: here feel comes too late, so count turns, turn back often and keep the wrench short",
            **found,
        )
    return _(
        "by feel: hands at {push} notice a change of about {felt}, and {left} or more are left before the tap "
        "breaks: when "
        "it grows heavier from turn to turn, stop, turn back and clear the chips; when it springs, it is about to "
        "break",
        **found,
    )
