"""How near the tap is to breaking: torque at breakage against torque along the depth, fresh and worn.

The stress a tap bears in torsion is an assumption with a wide range: no published torsion test of
taps was found, and the torque a tap needs is a range. So every margin here comes with its range. The torque at breakage
is that of the true outline, a face at its radial rake and a fillet; only the high end of its range is that of
arcs, where they bear more. Helix, neck, the notch of the thread's root and the ground-back faces of a spiral point are
left out: there, over the chamfer and about a thread more, the section is thinner than computed.
"""

from typing import Any, NamedTuple

import numpy as np

from tapkit.geometry.section import measures
from tapkit.geometry.tap import Tap
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.expected import ExpectedTorque
from tapkit.mechanics.torque import TorqueCurve
from tapkit.mechanics.torsion import Section, torque_at_breakage, torsion
from tapkit.mechanics.truetorsion import TrueTorsion, true_torsion
from tapkit.messages import Number, Sentence, _, rough_depth

LOW_MARGIN = 2.0
"""Below this margin a caution is raised; common practice (no source) for a load that is not well known."""


class Breakage(NamedTuple):
    """Margin against breakage; torques in N·m.

    `torque` at which the tap breaks at the assumed stress, `torque_range` over the assumption's range; `margin_range`
    from the least torque at breakage over the most torque expected to the most over the least; `margin_middle` torque
    at breakage over the middle of the torque expected, `margin_middle_worn` the same once worn; `open_from` depth from
    which chips jam and no margin is left, or None; `weakest` the span of depth in which the torque of the tooth forces
    is highest [mm]; `cautions`.
    """

    torque: float
    torque_range: tuple[float, float]
    margin_range: tuple[float, float]
    margin_middle: float
    margin_middle_worn: float
    open_from: float | None
    weakest: tuple[float, float]
    cautions: tuple[Sentence, ...]

    @property
    def margin_range_worn(self) -> tuple[float, float]:
        """The range of the margin once the tap is worn."""
        more = self.margin_middle / self.margin_middle_worn if np.isfinite(self.margin_middle) else 1.0
        return self.margin_range[0] / more, self.margin_range[1] / more

    def told(self) -> Sentence:
        """The margin in words, such as "4 to 6 times", and where the chips jam."""
        if not np.isfinite(self.margin_range[1]):
            return _("far above")
        low, high = (Number(v, 2) for v in self.margin_range)
        if self.open_from is None:
            return _("{low} to {high} times", low=low, high=high)
        at = rough_depth(self.open_from)
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
    """Margin of a job. `curve` and `expected` already hold `wear_factor` of the job.

    The middle and the low end rest on the `true` outline, the high end on the `section` of arcs, which is stiffer.
    Worn means the assumption `worn_factor`, unless the job is worn more than that already.
    """
    breaks = float(torque_at_breakage(true, shear_at_breakage, bending))
    more = max(assumption("worn_factor").value / wear_factor, 1.0)
    span = tuple(float(end) for end in breaking_ends(section, true, shear_at_breakage, bending))
    least, most = expected.peak
    ends = (_times(span[0], most), _times(span[1], least))
    return Breakage(
        breaks,
        span,
        ends,
        _times(breaks, expected.middle),
        _times(breaks, expected.middle * more),
        expected.open_from,
        _where_highest(curve),
        _cautions(breaks, most, ends),
    )


def breaking_ends(arcs: Section, true: TrueTorsion, shear: Any, bending: Any) -> tuple[Any, Any]:
    """Least and most torque at breakage [N·m]: the `true` outline at the least stress, the stronger of both outlines at
    the most, over the range of the assumption and the `shear` [N/mm2] of the job; floats or arrays that broadcast."""
    one = assumption("shear_at_breakage")
    low, high = np.minimum(one.low, shear), np.maximum(one.high, shear)
    most = np.maximum(*(torque_at_breakage(outline, high, bending) for outline in (arcs, true)))
    return torque_at_breakage(true, low, bending), most


def strength_range(tap: Tap) -> tuple[float, float]:
    """Least and most torque at breakage of a tap [N·m]: over the assumed stresses, and from the true outline to one of
    arcs."""
    shear = assumption("shear_at_breakage").value
    low, high = breaking_ends(torsion(**measures(tap)), true_torsion(tap), shear, 0.0)
    return float(low), float(high)


def margin(strength: Any, load: Any) -> Any:
    """Torque at breakage over torque, infinite where nothing is cut; floats or arrays that broadcast."""
    strength, load = np.broadcast_arrays(np.asarray(strength, float), np.asarray(load, float))
    return np.divide(strength, load, out=np.full(load.shape, np.inf), where=load > 0)[()]


def _times(strength: float, load: float) -> float:
    return float(margin(strength, load))


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
