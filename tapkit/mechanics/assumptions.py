"""The assumptions of the model, each a row of the table `assumptions` with its range and source; and the limits (table
`limits`) beyond which a number of a job is a slip of the pen."""

from functools import cache
from typing import Any, NamedTuple

from tapkit import tables
from tapkit.messages import Number, Quantity, _, of_table


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
    row = tables.row("assumptions", name=name)
    return Assumption(*(float(row[k]) for k in ("value", "low", "high")), row["unit"], row["meaning"], row["source"])


@cache
def _limits() -> tuple[tuple[str, str, str, float, float], ...]:
    rows = tables.rows("limits")
    return tuple((r["name"], r["printed"], r["kind"], float(r["least"]), float(r["most"])) for r in rows)


def check_limits(thing: Any) -> None:
    """ValueError where a number of a job, or of the faults of its tap, can be no setting; nothing where it is None."""
    for name, printed, kind, least, most in _limits():
        value = getattr(thing, name, None)
        if value is not None and not least <= value <= most:
            told = [Quantity(v, kind, digits=5) if kind else Number(v, digits=6) for v in (value, least, most)]
            said = dict(zip(("value", "least", "most"), told), what=of_table(printed))
            raise ValueError(_("{what} of {value} is outside {least} to {most}", **said))
