"""Going back: what it takes to turn the tap back, and what that does to the chips.

A tap that stops in the cut leaves a chip standing by its root at each flute. Turned back, the flanks rub as they did on
the way in, and the heel of the land behind meets that root and shears it: at most the cut of the last tooth of each
flute that stands in the metal. Where the chamfer is out of the metal, or the chips of the metal break off by
themselves, there is no root. Put together for this project.
"""

from typing import Any, NamedTuple

import numpy as np

from tapkit.mechanics.toothload import ToothSlices
from tapkit.mechanics.torque import share_in_metal
from tapkit.messages import Number, Sentence, Span, _, rough_depth


class GoingBack(NamedTuple):
    """Torque to turn back with the point at each `depth` [mm], from `low` (flanks alone) to `high` (flanks and roots)
    [N·m], arrays (depths,); `free` turns back until the heel reaches the roots;
    `sentence`."""

    depth: np.ndarray
    low: np.ndarray
    high: np.ndarray
    free: float
    sentence: Sentence


def root_torque(depth: Any, slices: ToothSlices, each: np.ndarray, hole: Any, flutes: int) -> np.ndarray:
    """Torque to shear the chip roots with the point at each depth [N·m], shape (depths,): for each flute the cut of its
    last tooth in the metal; `each` tooth's own torque [N·m]."""
    now = share_in_metal(np.atleast_1d(depth), slices, hole) * each
    total = np.zeros(len(now))
    for flute in range(1, flutes + 1):
        own = now[:, slices.flute == flute]
        if own.shape[1]:
            cuts = own > 1e-12 * max(float(each.max(initial=0.0)), 1e-300)
            last = own.shape[1] - 1 - np.argmax(cuts[:, ::-1], axis=1)
            total += np.where(cuts.any(axis=1), own[np.arange(len(own)), last], 0.0)
    return total


def going_back(
    *,
    depth: np.ndarray,
    friction: tuple[np.ndarray, np.ndarray],
    roots: np.ndarray,
    free: float,
    flutes: int,
    short: bool,
) -> GoingBack:
    """Both ends along the depth: `friction` of the flanks, least and most [N·m], `roots` as from `root_torque`; `short`
    chips leave no root."""
    low, high = friction[0], friction[1] + (0.0 if short else roots)
    passes = max(0.5 - free, 0.0) * flutes
    found = dict(
        span=_told(depth, low, high),
        free=Number(free, decimals=2),
        passes=Number(passes, decimals=1),
    )
    if short:
        told = _(
            "turning back takes {span}, the friction of the flanks: these chips break off by themselves and leave "
            "no root, so "
            "turning back clears nothing that would not fall out",
            **found,
        )
    elif passes <= 0:
        told = _(
            "turning back takes {span}; half a turn is not enough for the heel to reach the chip's root: go back "
            "until it "
            "gives with a jerk",
            **found,
        )
    else:
        told = _(
            "turning back takes {span}: the flanks rub, and after {free} turn the heel of the land behind meets "
            "the chip's "
            "root and shears it, which is the jerk one feels; half a turn back takes a heel over every root and "
            "breaks all "
            "chips off",
            **found,
        )
    return GoingBack(depth, low, high, free, told)


def _told(depth: np.ndarray, low: np.ndarray, high: np.ndarray) -> Sentence | Span:
    """The torque from the end of the hole, and at the depth on the way in where it can take most, if that is more."""
    worst = int(np.argmax(high))
    end, most = (Span(float(low[i]), float(high[i]), "torque", digits=2) for i in (-1, worst))
    if high[worst] < 1.02 * high[-1]:
        return end
    at = rough_depth(float(depth[worst]))
    return _("{end} from the end, {most} on the way in, with the point {depth} deep", end=end, most=most, depth=at)
