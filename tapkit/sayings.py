"""Two trade sayings on chamfer and torque, settled by the part's thickness.

"A bottoming tap takes the highest force" is about one tooth. "A longer chamfer needs less torque" is about the whole
tap, and holds while the part is so thin that much of the long chamfer never cuts at once.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from tapkit import units, whatif
from tapkit.operation import Operation

POINTS = 81


class Sayings(NamedTuple):
    """A long and a short chamfer in parts of all thicknesses [mm].

    `long` and `short` jobs at the present `thickness`; `thicknesses` (points,), `torque_long` and `torque_short`
    (points,) [N·m]; `crossing` the thickness from which the long chamfer needs the more torque, or None.
    """

    long: Operation
    short: Operation
    thickness: float
    thicknesses: np.ndarray
    torque_long: np.ndarray
    torque_short: np.ndarray
    crossing: float | None


def sayings(long: Operation, short: Operation, thickness: float) -> Sayings:
    """Both jobs through parts from almost nothing to past the longest chamfer; through holes only.

    Raises ValueError where the chamfers are alike or the hole is blind.

    >>> long = Operation.parse("M8 straight plug", "through 6.8 mm x 6 mm", "C45", )
    >>> found = sayings(long.with_(tap=long.tap.with_(chamfer_threads=9.0)),
    ...                 long.with_(tap=long.tap.with_(chamfer_threads=1.5)), 4.0)
    >>> round(found.crossing)
    6
    """
    if not (long.hole.is_through and short.hole.is_through):
        raise ValueError("the sayings are settled in a part with a through hole; take a through hole")
    if long.tap.chamfer_threads <= short.tap.chamfer_threads:
        raise ValueError(
            f"the long chamfer of {long.tap.chamfer_threads:g} threads is not longer than the short one of "
            f"{short.tap.chamfer_threads:g}; make it longer"
        )
    end = max(1.6 * long.tap.chamfer_length, 1.05 * thickness)
    depths = np.linspace(end / POINTS, end, POINTS)
    of_long, of_short = (_torques(job.with_(hole=job.hole.with_(depth=1.0)), end) for job in (long, short))
    at = [job.with_(hole=job.hole.with_(depth=thickness)) for job in (long, short)]
    return Sayings(*at, thickness, depths, of_long, of_short, _crossing(depths, of_long - of_short))


@lru_cache(maxsize=16)
def _torques(job: Operation, end: float) -> np.ndarray:
    return whatif.run(job, "depth", np.linspace(end / POINTS, end, POINTS)).of("peak_torque")


def _crossing(depths: np.ndarray, gap: np.ndarray) -> float | None:
    """Last depth at which the gap turns from below to above zero."""
    up = np.flatnonzero((gap[:-1] < 0) & (gap[1:] >= 0))
    if not len(up):
        return None
    i = up[-1]
    return float(np.interp(0.0, gap[i : i + 2], depths[i : i + 2]))


def verdict(found: Sayings, system: str = "metric") -> str:
    """What the numbers say about both sayings at the present thickness."""
    force = [float(job.tooth_loads.force.max()) for job in (found.long, found.short)]
    torque = [job.torque_curve.peak for job in (found.long, found.short)]
    one = f"One tooth: the short chamfer's hardest tooth bears {force[1] / force[0]:.1f} times as much"
    if force[1] < force[0]:
        one = f"One tooth: here the long chamfer's hardest tooth bears {force[0] / force[1]:.1f} times as much"
    less = "less" if torque[0] < torque[1] else "more"
    both = " against ".join(units.show(t, "torque", system) for t in torque)
    whole = f"Whole tap: at this thickness the long chamfer needs {less} torque ({both})"
    if found.crossing is None:
        return f"{one}. {whole}. In this range the two never change places."
    where = units.show(found.crossing, "length", system, decimals=1 if system == "metric" else 2)
    return f"{one}. {whole}. They change places at a thickness of about {where}."
