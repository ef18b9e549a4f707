"""Forces beyond torque: what pushes the tap sideways, and along its axis.

The chip presses on the face along its normal and drags on it along its own way, with the friction μ:

    F = N (−n + μ c),  N from the cutting force:  F_c = N (n_v − μ c_v)

n the face's normal, c the chip's direction, v the cutting direction. The friction μ is not well known
(0.3 to 0.8), so every result comes with its range. Forces on flanks and edge radius are left out. Source:
friction on the face as in Merchant 1945, J. Appl. Phys. 16; put together for this project.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from tapkit.geometry.hole import Hole
from tapkit.mechanics import chipflow
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.toothload import ToothSlices
from tapkit.mechanics.torque import events, share_in_metal
from tapkit.messages import Sentence, Span, _, force


class SideForces(NamedTuple):
    """Forces on the tap with all its chamfer in the metal [N].

    For each flute, shape (flutes,): `flute` from 1, `angle` [deg] from flute 1, `radial` (outward positive),
    `tangential` (against the cut, positive), `axial` (toward the shank positive). Of the whole tap: `fx` toward flute
    1, `fy` a quarter turn on, `resultant`, `unbalance` = resultant over the sum of the flutes' own side forces
    (0 cancels, 1 adds up). Along the depth of the point [mm], shape (depths,): `depth`, `resultant_at`. `sentence`
    says it in words.
    """

    flute: np.ndarray
    angle: np.ndarray
    radial: np.ndarray
    tangential: np.ndarray
    axial: np.ndarray
    fx: float
    fy: float
    resultant: float
    unbalance: float
    depth: np.ndarray
    resultant_at: np.ndarray
    sentence: Sentence


class AxialForce(NamedTuple):
    """Axial force on the tap from its chamfer [N], positive toward the shank (the tap is pushed back out).

    `total` at the assumed friction, `low` and `high` over its range, `tooth` (teeth,) of each tooth, `sentence`.
    """

    total: float
    low: float
    high: float
    tooth: np.ndarray
    sentence: Sentence


def force_ratios(friction: Any, chip: Any, *, radial_rake: Any, axial_rake: Any) -> np.ndarray:
    """Force on the tool for a cutting force of 1, shape (…, 3): radial outward, against the cut, toward the shank;
    `chip` (…, 3) the way of the chip.

    >>> flow = chipflow.chip_flow(radial_rake=10, axial_rake=0, chamfer_angle=1e-9)
    >>> force_ratios(0.5, flow.vector, radial_rake=10, axial_rake=0).round(3)  # tan(atan 0.5 − 10°), inward
    array([-0.297,  1.   ,  0.   ])
    """
    n = chipflow.face_normal(radial_rake=radial_rake, axial_rake=axial_rake)
    push = -n + np.asarray(friction)[..., None] * np.asarray(chip)
    return push / -push[..., 1:2] * (1, -1, 1) + 0.0


def flute_forces(pull: np.ndarray, flute: np.ndarray, flutes: int, ratios: np.ndarray) -> np.ndarray:
    """Sum of the teeth's forces on each flute, shape (flutes, 3), as in `force_ratios` [N]."""
    sums = np.bincount(np.asarray(flute) - 1, weights=pull, minlength=flutes)
    return sums[:, None] * ratios[None, :]


def resultant(forces: np.ndarray) -> np.ndarray:
    """Side force fx, fy of flutes' forces, shape (…, flutes, 3) → (…, 2) [N].

    A tooth follows the one before it, so the cut runs from flute 2 to flute 1: against the flutes' numbers.
    """
    turn = 2 * np.pi * np.arange(forces.shape[-2]) / forces.shape[-2]
    radial, against = forces[..., 0], forces[..., 1]
    fx = np.sum(radial * np.cos(turn) - against * np.sin(turn), axis=-1)
    fy = np.sum(radial * np.sin(turn) + against * np.cos(turn), axis=-1)
    return np.stack([fx, fy], axis=-1)


def side_forces(
    *, slices: ToothSlices, pull: np.ndarray, flutes: int, hole: Hole, pitch: float, ratios: np.ndarray
) -> SideForces:
    """Side forces of each flute and their sum; `pull` is the cutting force of each tooth [N]."""
    whole = flute_forces(pull, slices.flute, flutes, ratios)
    fx, fy = resultant(whole)
    single = np.hypot(whole[:, 0], whole[:, 1])
    total = float(np.hypot(fx, fy))
    unbalance = total / float(single.sum()) if single.sum() else 0.0
    depth = np.unique(events(slices, hole, pitch))
    share = share_in_metal(depth, slices, hole) * pull
    member = np.arange(1, flutes + 1)[:, None] == slices.flute[None, :]
    along = resultant((share @ member.T)[..., None] * ratios)
    return SideForces(
        np.arange(1, flutes + 1),
        360 * np.arange(flutes) / flutes,
        whole[:, 0],
        whole[:, 1],
        whole[:, 2],
        float(fx),
        float(fy),
        total,
        unbalance,
        depth,
        np.hypot(along[:, 0], along[:, 1]),
        _side_sentence(flutes, total, unbalance, single),
    )


def axial_force(
    pull: np.ndarray, flow: chipflow.ChipFlow, *, radial_rake: float, axial_rake: float, friction: float
) -> AxialForce:
    """Axial force from the chamfer; the range runs over the assumed friction of the chip on the face."""
    assumed = assumption("chip_friction")
    share = [
        force_ratios(mu, flow.vector, radial_rake=radial_rake, axial_rake=axial_rake)[2]
        for mu in (friction, min(assumed.low, friction), max(assumed.high, friction))
    ]
    total, *ends = (float(s * pull.sum()) for s in share)
    low, high = min(ends), max(ends)
    return AxialForce(total, low, high, share[0] * pull, _axial_sentence(total, low, high))


def _side_sentence(flutes: int, total: float, unbalance: float, single: np.ndarray) -> Sentence:
    rest = force(total)
    if flutes == 1:
        return _("one flute has nothing opposite it: the whole {rest} pushes the tap aside", rest=rest)
    if unbalance < 0.1:
        each = force(float(single.mean()))
        return _(
            "each flute pushes with about {each}; together they nearly cancel: {rest} is left", each=each, rest=rest
        )
    return _(
        "the flutes push with {span} and do not cancel: {rest} pushes the tap aside, and the thread comes out wide",
        span=Span(float(single.min()), float(single.max()), "force"),
        rest=rest,
    )


def _axial_sentence(total: float, low: float, high: float) -> Sentence:
    found = dict(total=force(abs(total)), span=Span(low, high, "force"))
    if low > 0:
        return _(
            "the chamfer pushes the tap back with about {total} ({span} over the friction assumed): it must be fed "
            "in until it bites",
            **found,
        )
    if high < 0:
        return _(
            "the chamfer draws the tap into the hole with about {total} ({span} over the friction assumed, minus "
            "is into the hole)",
            **found,
        )
    return _(
        "the axial force is small and its sign depends on friction: {total} ({span} over the friction assumed, "
        "minus is into the hole)",
        total=force(total),
        span=found["span"],
    )
