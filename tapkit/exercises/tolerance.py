"""How near an answer must be: one table for the whole bank, each row with the trade's reason."""

import re
from functools import cache
from typing import NamedTuple

from tapkit import tables
from tapkit.messages import _, listed

CLOSE_SAYS = "Mind the rounding. Keep one more digit until the end."


class Tolerance(NamedTuple):
    """A tolerance: the larger of `relative` times the right value and `absolute` (in the unit asked, one for
    metric and one for inch); `close` times that is still "close, mind the rounding"."""

    name: str
    relative: float
    absolute: float
    absolute_inch: float
    close: float
    reason: str
    close_says: str

    def band(self, value: float, system: str = "metric") -> float:
        """Half width of the tolerance about a value, both in the unit asked.

        >>> tolerance("diameter").band(8.5), tolerance("torque").band(8.0)
        (0.02, 0.4)
        """
        return max(self.relative * abs(value), self.absolute_inch if system == "inch" else self.absolute)


@cache
def tolerance(name: str) -> Tolerance:
    """The tolerance of this name in the table `answer_tolerances`."""
    for row in tables.rows("answer_tolerances"):
        if row["name"] == name:
            numbers = (float(row[c]) for c in ("absolute", "absolute_inch", "close"))
            return Tolerance(name, float(row["relative_percent"]) / 100, *numbers, row["reason"], row["close_says"])
    return _own(name)


def _own(text: str) -> Tolerance:
    """A tolerance written as "5 %", or as "0.1" in the unit asked."""
    found = re.fullmatch(r"[±]?\s*(\d*[.,]?\d+)\s*(%?)", text)
    size = float(found[1].replace(",", ".")) if found else 0.0
    if not found or not size:
        known = dict(name=text, names=listed(tolerance_names()))
        raise ValueError(_("there is no tolerance {name}; there are {names}, or write '5 %' or '0.1'", **known))
    relative, absolute = (size / 100, 0.0) if found[2] else (0.0, size)
    return Tolerance(text, relative, absolute, absolute, 3.0, "", CLOSE_SAYS)


def tolerance_names() -> list[str]:
    """The names of all tolerances."""
    return [row["name"] for row in tables.rows("answer_tolerances")]
