"""Tapping by hand: what a tap wrench asks of two hands, and what turning back does.

Two equal hands at the ends of a wrench of length L give M = F L. One hand alone would bend the tap as well
as turn it. The torque a tap needs is a range, and so is the force.
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

    `wrench` length over both handles [mm]; `force` of each hand at the middle of the torque to expect, `force_range`
    from its low to its high end [N]; `breaking_force` of each hand at which the tap breaks [N]; `forward`
    turns before each turn back, `chip_length` uncut length of the chip pieces that leaves [mm]; `turn_back` least
    turn back that brings the next land over the chip's root [turns]; `turns` to finish the thread, without
    turning back; `sentence`.
    """

    wrench: float
    force: float
    force_range: tuple[float, float]
    breaking_force: float
    forward: float
    chip_length: float
    turn_back: float
    turns: float
    sentence: Sentence


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
    breaking_torque: float,
    depth: float,
    wrench: float | None = None,
    forward: float = 0.5,
) -> Hand:
    """One job by hand: torque to expect, low and high, and at breakage [N·m], tapped depth and wrench length [mm]
    (None for usual), turns forward at a time."""
    if not 0 < forward <= 10:
        raise ValueError(
            _(
                "{forward} turns forward between turns back is outside 0 to 10; half a turn to one is usual",
                forward=Number(forward),
            )
        )
    long = usual_wrench(tap.thread.major) if wrench is None else wrench
    low, high = (force_of_each_hand(end, long) for end in torque)
    breaks = force_of_each_hand(breaking_torque, long)
    return Hand(
        long,
        (low + high) / 2,
        (low, high),
        breaks,
        forward,
        forward * np.pi * tap.thread.pitch_diameter,
        least_turn_back(tap),
        depth / tap.thread.pitch,
        _sentence(long, low, high, breaks, least_turn_back(tap)),
    )


def _sentence(wrench: float, low: float, high: float, breaks: float, back: float) -> Sentence:
    hand = assumption("hand_force")
    found = dict(
        wrench=length(wrench), span=Span(low, high, "force"), breaks=force(breaks), back=Number(back, decimals=2)
    )
    if breaks < hand.high:
        return _(
            "a {wrench} wrench asks {span} of each hand, and the tap would break "
            "near {breaks}; turning back {back} turn or more, half a turn by custom, breaks the chips. Two hands "
            "can break this tap without noticing: take a shorter wrench and feel the torque",
            **found,
        )
    if low > hand.high:
        return _(
            "a {wrench} wrench asks {span} of each hand, and the tap would break "
            "near {breaks}; turning back {back} turn or more, half a turn by custom, breaks the chips. That is a "
            "strain: take a longer wrench, a set of taps, or a larger hole",
            **found,
        )
    return _(
        "a {wrench} wrench asks {span} of each hand, and the tap would break near "
        "{breaks}; turning back {back} turn or more, half a turn by custom, breaks the chips",
        **found,
    )
