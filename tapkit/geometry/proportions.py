"""Usual proportions of taps, from the tables: flutes, core, land, point diameter."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

from tapkit import tables
from tapkit.geometry.fluteform import form_of
from tapkit.geometry.thread import Thread
from tapkit.messages import _

_USUAL = {row["name"]: float(row["value"]) for row in tables.rows("usual_tap")}

POINT_ALLOWANCE = _USUAL["point_allowance"]
"""Usual point diameter is D less this many pitches; table `usual_tap`."""

USUAL_RADIAL_RAKE = _USUAL["radial_rake"]
"""Radial rake [deg] where no workpiece is named; table `usual_tap`."""


def whole_flutes(value: Any) -> int:
    """A number of flutes as an int; ValueError for anything that is not whole."""
    try:
        number = float(value)
    except (TypeError, ValueError):
        number = math.nan
    if number != round(number) if math.isfinite(number) else True:
        raise ValueError(f"{value} is not a number of flutes; a whole number from 1 to 8 works")
    return int(number)


@cache
def proportion(flutes: int) -> dict[str, str]:
    """The row of the table `proportions` for a number of flutes, 1 to 8."""
    for row in tables.rows("proportions"):
        if int(row["flutes"]) == flutes:
            return row
    raise ValueError(f"a tap with {flutes} flutes cannot be ground; 1 to 8 flutes work, 3 is usual at M6 to M12")


def usual_flutes(thread: Thread, flute_form: str = "straight") -> int:
    """Usual number of flutes for a size. Source: table `flute_counts`."""
    column = form_of(flute_form).counts
    for row in tables.rows("flute_counts"):
        low, high = tables.span(row["major_mm"])
        if low <= thread.major < high + 0.01:
            return int(row[column])
    raise ValueError(f"no usual number of flutes is known for {thread.major:g} mm; give the flutes")


@cache
def usual_radial_rake(group: str) -> float:
    """Middle of the usual radial rake for a group of metals [deg]; table `radial_rakes`.

    >>> usual_radial_rake("grey iron")
    2.5
    """
    for row in tables.rows("radial_rakes"):
        if row["group"] == group:
            return sum(tables.span(row["radial_rake_deg"])) / 2
    raise ValueError(_("no radial rake is known for {group}", group=group))


@cache
def usual_helix(chips: str) -> float:
    """Helix of a flute that lifts its chips, by the kind of chip [deg]; table `flute_helix`.

    >>> usual_helix("long")
    40.0
    """
    return next(float(r["axial_rake_deg"]) for r in tables.rows("flute_helix") if r["chips"] == chips)


def usual_core(thread: Thread, flute_form: str, flutes: int) -> float:
    """Usual core diameter [mm]: toward the thick end on a spiral point, the thin end on a spiral flute."""
    low, high = tables.span(proportion(flutes)["core_ratio"])
    return thread.major * (low + (high - low) * form_of(flute_form).core_share)


def usual_land(thread: Thread, flutes: int) -> float:
    """Usual width of a land, as a chord at the major diameter [mm]. Source: table `proportions`."""
    low, high = tables.span(proportion(flutes)["land_ratio"])
    return thread.major * (low + high) / 2
