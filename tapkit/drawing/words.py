"""Quantities as the sentences under a drawing say them: short, in the system of units shown."""

from __future__ import annotations

from tapkit import units
from tapkit.geometry.hole import Hole

DECIMALS = {
    "metric": {"length": 1, "area": 3, "force": 0, "torque": 1, "stress": 0},
    "inch": {"length": 3, "area": 5, "force": 1, "torque": 1, "stress": 1},
}
"""Decimals of each kind in a sentence."""


def short(value: float, kind: str, system: str = "metric", finer: int = 0) -> str:
    """A quantity with few decimals, `finer` more than usual.

    >>> short(23.456, "length"), short(23.456, "length", "inch"), short(0.0561, "length", finer=2)
    ('23.5 mm', '0.923 in', '0.056 mm')
    """
    return units.show(value, kind, system, decimals=DECIMALS[system][kind] + finer)


def hole_words(hole: Hole, system: str = "metric") -> str:
    """A hole in words.

    >>> hole_words(Hole.parse("blind 8.5 mm x 25 mm"))
    'blind hole of 8.50 mm, 25.0 mm deep'
    """
    deep = "through" if hole.is_through else "deep"
    return (
        f"{hole.kind} hole of {short(hole.diameter, 'length', system, 1)}, {short(hole.depth, 'length', system)} {deep}"
    )
