"""How near the tap is to breaking: torque at breakage against torque along the depth, fresh and worn.

The stress a tap bears in torsion is an assumption with a wide range: no published torsion test of
taps was found, and the torque a tap needs is a range. So every margin here comes with its range. The torque at breakage
is that of the true outline, a face at its radial rake and a fillet; only the high end of its range is that of
arcs. Helix, neck and the notch of the thread's root are left out.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.expected import ExpectedTorque
from tapkit.mechanics.torque import TorqueCurve
from tapkit.mechanics.torsion import Section, torque_at_breakage
from tapkit.mechanics.truetorsion import TrueTorsion
from tapkit.messages import Number, Sentence, _, length

LOW_MARGIN = 2.0
"""Below this margin a caution is raised; common practice (no source) for a load that is not well known."""


class Breakage(NamedTuple):
    """Margin against breakage; torques in N·m, arrays of shape (depths,) against the depth of the point [mm].

    `torque` at which the tap breaks at the assumed stress, `torque_range` over the assumption's range;
    `margin` torque at breakage over the largest cutting torque of the job as given, `margin_worn` the same for a worn
    tap; `margin_range` from the least torque at breakage over the most torque expected to the most over the least;
    `margin_middle` torque at breakage over the middle of the torque expected, `margin_middle_worn` the same once worn;
    `open_from` depth from which chips jam and no margin is left, or None; `depth`, `torque_fresh`, `torque_worn`,
    `margin_fresh_at`, `margin_worn_at` (infinite where nothing is cut) of the cutting torque; `weakest` the span of
    depth
    in which that is highest [mm]; `cautions`.
    """

    torque: float
    torque_range: tuple[float, float]
    margin: float
    margin_worn: float
    margin_range: tuple[float, float]
    margin_middle: float
    margin_middle_worn: float
    open_from: float | None
    depth: np.ndarray
    torque_fresh: np.ndarray
    torque_worn: np.ndarray
    margin_fresh_at: np.ndarray
    margin_worn_at: np.ndarray
    weakest: tuple[float, float]
    cautions: tuple[Sentence, ...]

    def told(self) -> Sentence:
        """The margin in words, such as "4 to 6 times", and where the chips jam."""
        if not np.isfinite(self.margin_range[1]):
            return _("far above")
        low, high = (Number(v, 2) for v in self.margin_range)
        if self.open_from is None:
            return _("{low} to {high} times", low=low, high=high)
        at = length(self.open_from, decimals=1, inch_decimals=2)
        return _(
            "{low} to {high} times until {depth}; from there chips jam, and a tap can break at any torque",
            low=low, high=high, depth=at,
        )  # fmt: skip


def breakage(
    *,
    section: Section,
    true: TrueTorsion,
    curve: TorqueCurve,
    expected: ExpectedTorque,
    shear_at_breakage: float,
    bending: float = 0.0,
    wear_factor: float = 1.0,
) -> Breakage:
    """Margin along the depth. `curve` and `expected` already hold `wear_factor` of the job.

    The middle and the low end rest on the `true` outline, the high end on the `section` of arcs, which is stiffer.
    Worn means the assumption `worn_factor`, unless the job is worn more than that already.
    """
    breaks = float(torque_at_breakage(true, shear_at_breakage, bending))
    shear, worn = (assumption(n) for n in ("shear_at_breakage", "worn_factor"))
    more = max(worn.value / wear_factor, 1.0)
    ends = ((true, shear.low), (section, max(shear.high, shear_at_breakage)))
    low, high = (float(torque_at_breakage(of, s, bending)) for of, s in ends)
    span = min(low, breaks), max(high, breaks)
    fresh, (least, most) = curve.torque, expected.peak
    ends = (_times(span[0], most), _times(span[1], least))
    return Breakage(
        breaks,
        span,
        _times(breaks, curve.peak),
        _times(breaks, curve.peak * more),
        ends,
        _times(breaks, expected.middle),
        _times(breaks, expected.middle * more),
        expected.open_from,
        curve.depth,
        fresh,
        fresh * more,
        _margins(breaks, fresh),
        _margins(breaks, fresh * more),
        _where_highest(curve),
        _cautions(breaks, most, ends),
    )


def margin(strength: Any, load: Any) -> Any:
    """Torque at breakage over torque, infinite where nothing is cut; floats or arrays that broadcast."""
    strength, load = np.broadcast_arrays(np.asarray(strength, float), np.asarray(load, float))
    return np.divide(strength, load, out=np.full(load.shape, np.inf), where=load > 0)[()]


def _times(strength: float, load: float) -> float:
    return float(margin(strength, load))


def _margins(strength: float, load: np.ndarray) -> np.ndarray:
    return margin(strength, np.where(load > 1e-9 * load.max(initial=0.0), load, 0.0))


def _where_highest(curve: TorqueCurve) -> tuple[float, float]:
    top = curve.depth[curve.torque >= curve.peak * (1 - 1e-9)]
    return float(top[0]), float(top[-1])


def _cautions(breaks: float, most: float, ends: tuple[float, float]) -> tuple[Sentence, ...]:
    """A tap whose strength, as assumed, is not clearly over the most torque expected."""
    if _times(breaks, most) >= LOW_MARGIN:
        return ()
    low, high = (Number(v, 2) for v in ends)
    return (
        _(
            "this tap bears {low} to {high} times the torque expected, with all that is unknown: it may break; "
            "a thicker "
            "core, a larger hole or a sharper tap helps",
            low=low, high=high,
        ),
    )  # fmt: skip
