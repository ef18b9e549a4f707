"""How near the tap is to breaking: torque at breakage against torque along the depth, fresh and worn.

The stress a tap bears in torsion is an assumption with a wide range: no published torsion test of
taps was found. So every margin here comes with its range. Helix, neck and the notch of the thread's root are left out.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.torque import TorqueCurve
from tapkit.mechanics.torsion import Section, torque_at_breakage
from tapkit.messages import Number, Sentence, _

LOW_MARGIN = 2.0
"""Below this margin a caution is raised; common practice (no source) for a load that is not well known."""


class Breakage(NamedTuple):
    """Margin against breakage; torques in N·m, arrays of shape (depths,) against the depth of the point [mm].

    `torque` at which the tap breaks at the assumed stress, `torque_range` over the assumption's range;
    `margin` torque at breakage over the largest torque of the job as given, `margin_worn` the same for a worn
    tap; `margin_range` from the worst to the best of all assumptions together; `depth`, `torque_fresh`,
    `torque_worn`, `margin_fresh_at`, `margin_worn_at` (infinite where nothing is cut); `weakest` the span of depth in
    which the margin is least [mm]; `cautions`.
    """

    torque: float
    torque_range: tuple[float, float]
    margin: float
    margin_worn: float
    margin_range: tuple[float, float]
    depth: np.ndarray
    torque_fresh: np.ndarray
    torque_worn: np.ndarray
    margin_fresh_at: np.ndarray
    margin_worn_at: np.ndarray
    weakest: tuple[float, float]
    cautions: tuple[Sentence, ...]


def breakage(
    *,
    section: Section,
    curve: TorqueCurve,
    shear_at_breakage: float,
    wear_factor: float = 1.0,
    friction_factor: float = 1.0,
) -> Breakage:
    """Margin along the depth. `curve` already holds `wear_factor` and `friction_factor` of the job.

    Worn means the assumption `worn_factor`, unless the job is worn more than that already.
    """
    breaks = float(torque_at_breakage(section, shear_at_breakage))
    shear, friction, worn = (assumption(n) for n in ("shear_at_breakage", "friction_factor", "worn_factor"))
    more = max(worn.value / wear_factor, 1.0)
    span = tuple(float(torque_at_breakage(section, s)) for s in (shear.low, shear.high))
    fresh = curve.torque
    peak = curve.peak
    cutting = peak / wear_factor / friction_factor
    worst = float(margin(min(span[0], breaks), max(cutting * worn.high * friction.high, peak)))
    best = float(margin(max(span[1], breaks), min(cutting, peak)))
    now, once_worn = float(margin(breaks, peak)), float(margin(breaks, peak * more))
    return Breakage(
        breaks,
        span,
        now,
        once_worn,
        (worst, best),
        curve.depth,
        fresh,
        fresh * more,
        _margins(breaks, fresh),
        _margins(breaks, fresh * more),
        _where_highest(curve),
        _cautions(now, once_worn, (worst, best)),
    )


def margin(strength: Any, load: Any) -> Any:
    """Torque at breakage over torque, infinite where nothing is cut; floats or arrays that broadcast."""
    strength, load = np.broadcast_arrays(np.asarray(strength, float), np.asarray(load, float))
    return np.divide(strength, load, out=np.full(load.shape, np.inf), where=load > 0)[()]


def _margins(strength: float, load: np.ndarray) -> np.ndarray:
    return margin(strength, np.where(load > 1e-9 * load.max(initial=0.0), load, 0.0))


def _where_highest(curve: TorqueCurve) -> tuple[float, float]:
    top = curve.depth[curve.torque >= curve.peak * (1 - 1e-9)]
    return float(top[0]), float(top[-1])


def _cautions(now: float, worn: float, span: tuple[float, float]) -> tuple[Sentence, ...]:
    if worn >= LOW_MARGIN:
        return ()
    ends = {"low": Number(span[0], decimals=1), "high": Number(span[1], decimals=1)}
    if now < LOW_MARGIN:
        return (
            _(
                "this tap bears only {times} times the torque it needs (anywhere from {low} to {high} with all that is "
                "unknown): it may break; a thicker core, a larger hole or a sharper tap helps",
                times=Number(now, decimals=1),
                **ends,
            ),
        )
    return (
        _(
            "this tap, once worn, bears only {times} times the torque it needs (anywhere from {low} to {high} with "
            "all that is "
            "unknown): it may break; a thicker core, a larger hole or a sharper tap helps",
            times=Number(worn, decimals=1),
            **ends,
        ),
    )
