"""Two trade sayings on chamfer and torque, settled by the part's thickness.

"A bottoming tap takes the highest force" is about one tooth. "A longer chamfer needs less torque" is about the whole
tap, and holds while the part is so thin that much of the long chamfer never cuts at once.
"""

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from tapkit import whatif
from tapkit.messages import Number, Sentence, _, rough_depth, threads_of, torque
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


def weigh_sayings(long: Operation, short: Operation, thickness: float) -> Sayings:
    """Both jobs through parts from almost nothing to past the longest chamfer; through holes only.

    Raises ValueError where the chamfers are alike or the hole is blind.

    >>> long = Operation.parse("M8 straight plug", "through 6.8 mm x 6 mm", "C45", )
    >>> found = weigh_sayings(long.with_(tap=long.tap.with_(chamfer_threads=9.0)),
    ...                 long.with_(tap=long.tap.with_(chamfer_threads=1.5)), 4.0)
    >>> round(found.crossing)
    6
    """
    if not (long.hole.is_through and short.hole.is_through):
        raise ValueError(_("the sayings are settled in a part with a through hole; take a through hole"))
    if long.tap.chamfer_threads <= short.tap.chamfer_threads:
        raise ValueError(
            _(
                "the long chamfer of {long} is not longer than the short one of {short}; make it longer",
                long=threads_of(long.tap.chamfer_threads),
                short=Number(short.tap.chamfer_threads),
            )
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


def verdict(found: Sayings) -> Sentence:
    """What the numbers say about both sayings at the present thickness: on one tooth, on the whole tap, and where they
    change places."""
    of_long, of_short = (float(job.tooth_loads.force.max()) for job in (found.long, found.short))
    times = Number(max(of_long, of_short) / min(of_long, of_short), decimals=1)
    one = _("One tooth: the short chamfer's hardest tooth bears {times} times as much.", times=times)
    if of_short < of_long:
        one = _("One tooth: here the long chamfer's hardest tooth bears {times} times as much.", times=times)
    long, short = (torque(job.torque_curve.peak) for job in (found.long, found.short))
    if long.value < short.value:
        whole = _(
            "Whole tap: at this thickness the sum of the tooth forces is smaller with the long chamfer ({long} against "
            "{short}).",
            long=long,
            short=short,
        )
    else:
        whole = _(
            "Whole tap: at this thickness the sum of the tooth forces is larger with the long chamfer ({long} against "
            "{short}).",
            long=long,
            short=short,
        )
    last = _("In this range the two never change places.")
    if found.crossing is not None:
        where = rough_depth(found.crossing)
        last = _("They change places at a thickness of about {where}.", where=where)
    needs = _(
        "Torque to expect at this thickness, crowding chips and friction with it: {long} with the long chamfer, "
        "{short} with the short one.",
        long=found.long.expected_torque.told(), short=found.short.expected_torque.told(),
    )  # fmt: skip
    return _("{one} {whole} {last} {open} {needs}", one=one, whole=whole, last=last, open=_both(found), needs=needs)


def _both(found: Sayings) -> Sentence:
    """Our sum is not the last word: what the published formula says beside it, with all teeth in the metal."""
    said = [job.expected_torque.published for job in (found.long, found.short)]
    if None in said:
        return _("That is the cutting alone; no published value for these taps is at hand.")
    long, short = (torque(one.torque) for one in said)
    return _(
        "That is the cutting alone. With all teeth in the metal the published formula gives {long} "
        "for the long chamfer and {short} for the short one; which is nearer only a measurement would tell.",
        long=long,
        short=short,
    )
