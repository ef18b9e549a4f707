"""A crooked start: the tap stands askew to the hole, by a tilt that is fixed in the work and does not turn with it.

The tap cuts its groove about its own axis, so its lines are those of a true one; what changes is the metal it meets.
At a depth ζ below the mouth and an angle φ in the work the wall of the hole stands at D_h/2 + ζ tan θ cos φ from the
tap's axis. Each tooth meets that once in every turn: least on one side, most on the other, the mean unchanged to first
order. The teeth do not balance then, and push the tap aside.

Guided by its own thread, a tap in a rigid holder is bent: a cantilever of length L whose end is moved by L θ has at its
root M = 3 E I θ / L and σ = M / W. Together with the shear τ of the torque, by greatest shear: √(τ² + (σ/2)²); shear of
the fluted section and bending of the neck are taken as if at one place, which is on the safe side. A float takes the
bend up. A hand gives way: it bends the tap with no more than its own push. Sources: Timoshenko, Strength of Materials
(cantilever, greatest shear); put together for this project.
"""

from typing import NamedTuple

import numpy as np

from tapkit.geometry.hole import Hole
from tapkit.geometry.solid import solid
from tapkit.geometry.tap import Tap
from tapkit.mechanics import force, sideforce, toothload
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.toothload import Faults
from tapkit.messages import Number, Sentence, Span, _, angle, stress
from tapkit.messages import force as newtons

MOST_TILT = 5.0
FULL = 100 * 7 / 6
"""Percent of thread by custom of a groove cut to its sharp corners: 7/8 H over 3/4 H."""

TURNS = 48
"""Places in a turn at which a crooked tap is looked at."""


class Crooked(NamedTuple):
    """One turn of a crooked tap with its point at `depth` [mm]. For each tooth, shape (teeth,): `least`, `most` and
    `mean` area it takes [mm2], and its greatest cutting `force` [N]. `side_force` [N] at its
    most; `percent` least and most height of thread round the hole at the end of the tapped depth
    [% by custom]; `bending` stress at the neck [N/mm2]; `sentence`."""

    depth: float
    least: np.ndarray
    most: np.ndarray
    mean: np.ndarray
    force: np.ndarray
    side_force: float
    percent: tuple[float, float]
    bending: float
    sentence: Sentence


def check_tilt(tilt: float) -> None:
    """Refuse a tilt that cannot be."""
    if not 0 <= tilt <= MOST_TILT:
        span = Span(0, MOST_TILT, "angle")
        raise ValueError(
            _("a tilt of {tilt} is outside {span}; 1° is already seen by eye", tilt=angle(tilt), span=span)
        )


def bending_moment(*, tilt: float, diameter: float, length: float, modulus: float) -> float:
    """Bending moment at the root of a cantilever bent by an angle [N·m]: M = 3 E I θ / L, I = π d⁴/64.

    Parameters: `tilt` θ [deg], `diameter` d and `length` L [mm], `modulus` E [N/mm2]. Source: Timoshenko, Strength of
    Materials, cantilever with a load on its end.

    >>> round(bending_moment(tilt=1, diameter=8, length=50, modulus=220e3), 1)
    46.3
    """
    return float(3 * modulus * np.pi * diameter**4 / 64 * np.radians(tilt) / length / 1000)


def bending_stress(tap: Tap, tilt: float, holder: str) -> float:
    """Bending stress at the neck of a crooked tap [N/mm2]: σ = M / W, W = π d³/32, d the neck."""
    if tilt == 0 or holder == "float":
        return 0.0
    d, length = 2 * solid(tap).blank.neck_radius, assumption("free_length").value * tap.thread.major
    moment = bending_moment(tilt=tilt, diameter=d, length=length, modulus=assumption("youngs_modulus").value)
    if holder == "hand":
        moment = min(moment, assumption("hand_force").value * length / 1000)
    return float(moment * 1000 / (np.pi * d**3 / 32))


def one_turn(
    *, tap: Tap, hole: Hole, faults: Faults, tilt: float, holder: str, ratios: np.ndarray, **cutting: float
) -> Crooked:
    """A turn of the tap when the last of its chamfer has just gone in; `cutting` k_c1.1, m_c and factor of the force as
    in `force.cutting_force`, `ratios` as from `sideforce.force_ratios`."""
    teeth = toothload.cutters_of(tap, hole, faults)
    depth = float(toothload.slices(teeth).end.max())
    deepest = hole.worked_depth(tap.thread.pitch)
    depth, turn = min(depth, deepest), 2 * np.pi * np.arange(TURNS) / TURNS
    place = 2 * np.pi * (teeth.flute - 1) / tap.flutes - turn[:, None]
    below = np.maximum(depth - teeth.position, 0.0)
    slope = np.tan(np.radians(tilt))
    bore = teeth.bore + below * slope * np.cos(place)
    found = toothload.slices(teeth._replace(bore=bore, cone=np.broadcast_to(teeth.cone, bore.shape)))
    area = np.where(below > 0, found.area, 0.0)
    pull = np.where(below > 0, force.cutting_force(width=found.width, thickness=found.thickness, **cutting), 0.0)
    member = np.arange(1, tap.flutes + 1)[:, None] == teeth.flute[0]
    side = sideforce.resultant((pull @ member.T)[..., None] * ratios) @ (1, 1j)
    most = float(np.abs(side).max())
    ends = [tap.thread.percent(hole.diameter + 2 * lean * deepest * slope) for lean in (1, -1)]
    percent = max(float(ends[0]), 0.0), min(float(ends[1]), FULL)
    bent = bending_stress(tap, tilt, holder)
    cuts = area.max(axis=0) > 0
    last = int(np.max(np.flatnonzero(cuts), initial=-1)) + 1
    columns = (f(axis=0)[:last] for f in (area.min, area.max, area.mean, pull.max))
    return Crooked(depth, *columns, most, percent, bent, _sentence(tilt, holder, most, percent, bent))


def _sentence(tilt: float, holder: str, side: float, percent: tuple[float, float], bent: float) -> Sentence:
    found = dict(
        tilt=angle(tilt),
        side=newtons(side),
        low=Number(percent[0], decimals=0),
        high=Number(percent[1], decimals=0),
        bent=stress(bent),
    )
    if holder == "float":
        return _(
            "started {tilt} askew, the teeth push the tap aside with up to {side} and the thread ends {low} % high "
            "on one "
            "side and {high} % on the other; the floating holder takes up the bend",
            **found,
        )
    if holder == "hand":
        return _(
            "started {tilt} askew, the teeth push the tap aside with up to {side} and the thread ends {low} % high "
            "on one "
            "side and {high} % on the other; hands give way, and bend the tap with about {bent} when they set it "
            "straight",
            **found,
        )
    return _(
        "started {tilt} askew, the teeth push the tap aside with up to {side} and the thread ends {low} % high on "
        "one side "
        "and {high} % on the other; a rigid holder bends the tap with about {bent} at the neck in every turn",
        **found,
    )
