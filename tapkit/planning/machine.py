"""How the tap is driven: by hand, in a drill press with a reversing head, or rigid on a machining center."""

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from tapkit import door, tables
from tapkit.messages import Number, _


@dataclass(frozen=True, kw_only=True)
class Machine:
    """What drives the tap, and how well it keeps a depth.

    Parameters: `name` and `printed` name; `drill_depth_tolerance` ± [mm]; `tap_depth_tolerance` ± and
    `overrun` past the stop [turns]; `top_speed` [rpm] and `spin_up` time from rest to it [s] (0: not set by
    the machine); `return_ratio` speed out against speed in; `clears_chips`, whether the tap is turned back
    and taken out to clear chips on the way; its usual `holder`; `source`.

    Raises ValueError for a value that cannot be.

    >>> Machine.parse("drill press").overrun
    1.0
    """

    name: str
    printed: str
    drill_depth_tolerance: float
    tap_depth_tolerance: float
    overrun: float
    top_speed: float
    spin_up: float
    return_ratio: float
    clears_chips: bool
    holder: str
    source: str

    def __post_init__(self) -> None:
        for what in ("drill_depth_tolerance", "tap_depth_tolerance", "overrun", "top_speed", "spin_up"):
            value = getattr(self, what)
            if not 0 <= value <= 100_000:
                told = dict(what=what.replace("_", " "), value=Number(value), machine=self.name)
                raise ValueError(_("{what} {value} of {machine} is not possible; give 0 or more", **told))
        if not 0 < self.return_ratio <= 10:
            told = _(
                "a return at {ratio} times the speed is not possible; 1 to 2 is usual", ratio=Number(self.return_ratio)
            )
            raise ValueError(told)

    @classmethod
    def parse(cls, text: str) -> "Machine":
        """A machine of the table `machines` by any of its names."""
        wanted = door.plain(str(text)[:80]).lower()
        for machine, keys in _table():
            if wanted in keys:
                return machine
        known = ", ".join(machine_names())
        raise ValueError(_("no machine {text} in the table; there are {known}", text=repr(text), known=known))

    @property
    def by_hand(self) -> bool:
        """Whether the tap is turned by hand."""
        return self.name == "hand"

    def with_(self, **changes: Any) -> "Machine":
        """The same machine with some fields changed."""
        return replace(self, **changes)


@cache
def _table() -> tuple[tuple[Machine, frozenset[str]], ...]:
    out = []
    for row in tables.rows("machines"):
        machine = Machine(
            name=row["name"],
            printed=row["printed"],
            drill_depth_tolerance=float(row["drill_depth_tol_mm"]),
            tap_depth_tolerance=float(row["tap_depth_tol_turns"]),
            overrun=float(row["overrun_turns"]),
            top_speed=float(row["top_rpm"]),
            spin_up=float(row["spin_up_s"]),
            return_ratio=float(row["return_ratio"]),
            clears_chips=row["clears_chips"] == "yes",
            holder=row["holder"],
            source=row["source"],
        )
        out.append((machine, frozenset([row["name"], row["printed"], *row["other_names"].split("|")])))
    return tuple(out)


def machine_names() -> list[str]:
    """Names of all machines, in the table's order.

    >>> machine_names()
    ['hand', 'drill press', 'rigid']
    """
    return [m.name for m, _ in _table()]
