"""Usual proportions of taps, from the tables: flutes, core, land, point diameter."""

import math
from functools import cache, lru_cache
from typing import Any, Protocol

from tapkit import tables
from tapkit.geometry.fluteform import form_of
from tapkit.geometry.thread import Thread
from tapkit.messages import Number, _, length

POINT_ALLOWANCE = float(tables.row("usual_tap", name="point_allowance")["value"])
"""Usual point diameter is D less this many pitches; table `usual_tap`."""

USUAL_RADIAL_RAKE = float(tables.row("usual_tap", name="radial_rake")["value"])
"""Radial rake [deg] where no workpiece is named; table `usual_tap`."""


def whole_flutes(value: Any) -> int:
    """A number of flutes as an int; ValueError for anything that is not whole."""
    try:
        number = float(value)
    except (TypeError, ValueError):
        number = math.nan
    if number != round(number) if math.isfinite(number) else True:
        raise ValueError(
            _("{value} is not a number of flutes; a whole number from 1 to 8 works", value=str(value)[:80])
        )
    return int(number)


@cache
def proportion(flutes: int) -> dict[str, str]:
    """The row of the table `proportions` for a number of flutes, 1 to 8."""
    for row in tables.rows("proportions"):
        if int(row["flutes"]) == flutes:
            return row
    raise ValueError(
        _(
            "a tap with {flutes} flutes cannot be ground; 1 to 8 flutes work, 3 is usual at M6 to M12",
            flutes=Number(flutes),
        )
    )


@lru_cache(maxsize=512)
def usual_flutes(thread: Thread, flute_form: str = "straight") -> int:
    """Usual number of flutes for a size, by the thread's standard. Source: table `flute_counts`.

    >>> usual_flutes(Thread.parse("M6")), usual_flutes(Thread.parse("1/4-20")), usual_flutes(Thread.parse("#8-32"))
    (3, 4, 3)
    """
    column = form_of(flute_form).counts
    for row in tables.rows("flute_counts"):
        low, high = tables.span(row["major_mm"])
        if row["system"] in ("", thread.system) and low <= thread.major < high + 0.01:
            return int(row[column])
    raise ValueError(
        _("no usual number of flutes is known for {major}; give the flutes", major=length(thread.major, digits=4))
    )


class Metal(Protocol):
    """What a tap is made for, as far as its rakes hang on it: a Workpiece."""

    @property
    def group(self) -> str: ...

    @property
    def chips(self) -> str: ...


def usual_radial_rake(metal: Metal | None) -> float:
    """Middle of the usual radial rake for a metal [deg], that of steel where none is named; table `radial_rakes`."""
    return USUAL_RADIAL_RAKE if metal is None else sum(rakes_of_group(metal.group)) / 2


@cache
def rakes_of_group(group: str) -> tuple[float, float]:
    """Usual radial rake for a group of metals, least and most [deg]; table `radial_rakes`.

    >>> rakes_of_group("grey iron")
    (0.0, 5.0)
    """
    return tables.span(tables.row("radial_rakes", group=group)["radial_rake_deg"])


def usual_axial_rake(flute_form: str, metal: Metal | None = None) -> float:
    """Usual axial rake of a flute form [deg]; of a helix that lifts chips, by the metal's kind of chip. Sources: tables
    `flute_forms`, `flute_helix`."""
    form = form_of(flute_form)
    if metal is None or not form.lifts:
        return form.axial_rake
    helix = float(tables.row("flute_helix", chips=metal.chips)["axial_rake_deg"])
    least, most = form.axial_rakes
    return min(max(helix, least), most)


def usual_core(thread: Thread, flute_form: str, flutes: int) -> float:
    """Usual core diameter [mm]: toward the thick end on a spiral point, the thin end on a spiral flute."""
    low, high = tables.span(proportion(flutes)["core_ratio"])
    return thread.major * (low + (high - low) * form_of(flute_form).core_share)


def usual_land(thread: Thread, flutes: int) -> float:
    """Usual width of a land, as a chord at the major diameter [mm]. Source: table `proportions`."""
    low, high = tables.span(proportion(flutes)["land_ratio"])
    return thread.major * (low + high) / 2
