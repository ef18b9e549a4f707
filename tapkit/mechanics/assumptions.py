"""The assumptions of the model, each a row of the table `assumptions` with its range and source."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from tapkit import tables
from tapkit.messages import _


class Assumption(NamedTuple):
    """One assumed value, its range worth trying, unit, meaning and source."""

    value: float
    low: float
    high: float
    unit: str
    meaning: str
    source: str


@cache
def assumption(name: str) -> Assumption:
    """The assumption of this name.

    >>> assumption("tool_factor").value
    1.2
    """
    for row in tables.rows("assumptions"):
        if row["name"] == name:
            return Assumption(
                float(row["value"]), float(row["low"]), float(row["high"]), row["unit"], row["meaning"], row["source"]
            )
    known = ", ".join(r["name"] for r in tables.rows("assumptions"))
    raise ValueError(_("there is no assumption {name}; there are {known}", name=repr(name), known=known))
