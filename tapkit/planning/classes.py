"""Limits of the minor diameter of a tapped hole in classes other than the usual 6H and 2B."""

from functools import lru_cache
from typing import NamedTuple

from tapkit import tables
from tapkit.geometry.thread import Thread, minor_tolerance_iso, round_r40
from tapkit.messages import _


class MinorLimits(NamedTuple):
    """Smallest and largest minor diameter [mm] of a class by `name`, and where they come from."""

    least: float
    most: float
    name: str
    source: str


def classes_of(system: str) -> tuple[str, ...]:
    """The classes known for a system of threads.

    >>> classes_of("unified")
    ('1B', '2B', '3B')
    """
    return tuple(r["class"] for r in tables.rows("minor_classes") if r["system"] == system)


def raised_by(pitch: float) -> float:
    """Fundamental deviation of position G: EI = 15 + 11 P µm, here in mm; ISO 965-1 [memory].

    >>> raised_by(1.5).__round__(4)
    0.0315
    """
    return (15 + 11 * pitch) / 1000


def minor_tolerance_3b(pitch: float, major: float) -> float:
    """Tolerance of the minor diameter in class 3B [inch]: 0.05 P^(2/3) + 0.03 P/D − 0.002.

    Never over 0.394 P, never under 0.23 P − 1.5 P², which is 0.12 P from 12 threads an inch on. Source: ASME B1.1
    [memory].

    >>> round(minor_tolerance_3b(1 / 13, 0.5), 4)
    0.0117
    """
    least = 0.23 * pitch - 1.5 * pitch**2 if pitch < 1 / 12.5 else 0.12 * pitch
    return min(max(0.05 * pitch ** (2 / 3) + 0.03 * pitch / major - 0.002, least), 0.394 * pitch)


@lru_cache(maxsize=1024)
def minor_limits(thread: Thread, name: str = "") -> MinorLimits:
    """Limits of the minor diameter of a thread in a class, in the thread's own where none is named.

    Raises ValueError for a class that does not go with the thread.

    >>> [round(x, 3) for x in minor_limits(Thread.parse("M10"), "7H")[:2]]
    [8.376, 8.751]
    """
    wanted = name or thread.tolerance
    row = next((r for r in tables.rows("minor_classes") if r["class"] == wanted), None)
    if row is None or row["system"] != thread.system:
        known = ", ".join(classes_of(thread.system))
        told = dict(wanted=repr(wanted), thread=thread.designation, known=known)
        raise ValueError(_("class {wanted} does not go with {thread}; there are {known}", **told))
    usual = thread.limits
    if thread.system == "unified":
        most = usual.minor_max if wanted != "3B" else _most_3b(thread)
        return MinorLimits(usual.minor_min, most, wanted, row["source"])
    up = raised_by(thread.pitch) if row["raised"] == "yes" else 0.0
    factor = float(row["factor"])
    grade6 = minor_tolerance_iso(thread.pitch)
    tolerance = grade6 if factor == 1 else round_r40(1000 * grade6 * factor) / 1000
    least = usual.minor_min + up
    return MinorLimits(least, least + tolerance, wanted, row["source"])


def _most_3b(thread: Thread) -> float:
    inch = thread.minor_diameter / 25.4
    return 25.4 * round(inch + minor_tolerance_3b(thread.pitch / 25.4, thread.major / 25.4), 4)
