"""Which drill for a thread: the nearest of the sets at hand, and what each leaves of the thread.

Diameters in mm, percents by both customs. Torque is set against the same tap in a hole for 75 %.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np

from tapkit import tables
from tapkit.geometry.drillsize import SETS, DrillSize, drill_set, read_drill, read_size
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.operation import Operation
from tapkit.planning.classes import MinorLimits, minor_limits

__all__ = [
    "REFERENCE_PERCENT",
    "SETS",
    "DrillFit",
    "DrillSize",
    "DrilledSize",
    "drilled_size",
    "drills",
    "nearest_drills",
    "read_drill",
    "read_shelf",
    "wanted_percent",
]

REFERENCE_PERCENT = 75.0
"""The percent of thread (handbook custom) that torque and height are compared with; OD1621 (US Army)."""


class DrilledSize(NamedTuple):
    """How wide a drill really cuts [mm]: least, mean and most, and where the numbers come from."""

    least: float
    mean: float
    most: float
    source: str


class WantedPercent(NamedTuple):
    """Percent of thread to drill for (handbook custom), the reason in words, and the source."""

    percent: float
    reason: str
    source: str


@dataclass(frozen=True)
class DrillFit:
    """One drill for one thread.

    >>> fit = DrillFit(Thread.parse("1/4-20"), read_size("#7"))
    >>> round(fit.percent), round(fit.percent_iso), fit.limits, round(fit.torque_ratio, 2)
    (75, 91, 'within', 1.01)
    """

    thread: Thread
    drill: DrillSize
    work: str = "C45"
    tolerance: str = ""

    @property
    def minor(self) -> MinorLimits:
        """Limits of the minor diameter in the class asked for, or in the thread's own."""
        return minor_limits(self.thread, self.tolerance)

    @property
    def percent(self) -> float:
        """Percent of thread by handbook custom, 100 (D − D_h)/(1.299 P) [%]."""
        return self.thread.percent(self.drill.diameter)

    @property
    def percent_iso(self) -> float:
        """Percent of the basic height of ISO 68-1, 100 (D − D_h)/(1.0825 P) [%]."""
        return self.thread.percent(self.drill.diameter, "iso")

    @property
    def over_limit(self) -> float:
        """How far the drill lies outside the limits of the minor diameter [mm]: + over, − under, 0 within."""
        limits, d = self.minor, self.drill.diameter
        return max(d - limits.most, 0.0) + min(d - limits.least, 0.0)

    @property
    def limits(self) -> str:
        """ "within", "over" or "under" the limits of the minor diameter of the thread's class."""
        away = self.over_limit
        return "within" if abs(away) < 5e-4 else ("over" if away > 0 else "under")

    @property
    def height_ratio(self) -> float:
        """Height of the thread left, against that of a hole for 75 %."""
        return self.percent / REFERENCE_PERCENT

    @cached_property
    def torque_ratio(self) -> float:
        """Cutting torque of a straight-flute plug tap against the same tap in a hole for 75 %."""
        reference = self.thread.hole_for_percent(REFERENCE_PERCENT)
        return _peak_torque(self.thread, self.drill.diameter, self.work) / _peak_torque(
            self.thread, reference, self.work
        )

    def in_words(self) -> str:
        """One sentence on this drill."""
        name, tolerance = self.thread.designation, self.minor.name
        told = {
            "within": f"inside the {tolerance} limits of the minor diameter",
            "over": f"{abs(self.over_limit):.3f} mm over the {tolerance} limit: a shallow thread",
            "under": f"{abs(self.over_limit):.3f} mm under the {tolerance} limit: hard on the tap",
        }[self.limits]
        return (
            f"Drill {self.drill} for {name}: {self.percent:.0f} % of thread by handbook custom "
            f"({self.percent_iso:.0f} % of the ISO height), {told}; torque {self.torque_ratio:.2f} times that at 75 %."
        )


@lru_cache(maxsize=4096)
def _peak_torque(thread: Thread, diameter: float, work: str) -> float:
    tap = Tap.make(thread, "straight", "plug", point_diameter=min(thread.major - 1.3 * thread.pitch, diameter))
    hole = Hole(kind="through", diameter=diameter, depth=max(3 * thread.major, 10 * thread.pitch))
    return Operation(tap=tap, hole=hole, workpiece=Workpiece.parse(work)).torque_curve.peak


def drills(*sets: str) -> tuple[DrillSize, ...]:
    """The drills of some sets, smallest first; with no set named, all of them once.

    >>> [d.name for d in drills("letter")][:3]
    ['A', 'B', 'C']
    """
    wanted = sets or ("metric", "fraction", "number", "letter")
    return tuple(sorted((d for s in wanted for d in drill_set(s)), key=lambda d: d.diameter))


def nearest_drills(
    thread: Thread,
    percent: float = REFERENCE_PERCENT,
    shelf: tuple[DrillSize, ...] = (),
    *,
    basis: str = "custom",
    count: int = 5,
    work: str = "C45",
    tolerance: str = "",
) -> tuple[DrillFit, ...]:
    """The drills nearest to a wanted percent of thread, nearest first.

    Parameters: `percent` [%] on the `basis` "custom" or "iso"; `shelf`, the drills to choose from (none: the
    metric set for a metric thread, the inch sets for a unified one); `tolerance` class of the limits (none: the
    thread's own). Drills that leave no thread, or that the tap's roots would not clear, are left out.

    Raises ValueError for a percent outside 30 to 100, or where no drill of the shelf can be used.

    >>> [f.drill.name for f in nearest_drills(Thread.parse("M10"), 77, count=3)]
    ['8.5 mm', '8.4 mm', '8.6 mm']
    >>> nearest_drills(Thread.parse("1/4-20"), 75)[0].drill.name
    '#7'
    """
    if not 30 <= percent <= 100:
        raise ValueError(f"{percent:g} % of thread cannot be wanted; 50 to 83 is usual, 30 to 100 is possible")
    wanted = thread.hole_for_percent(percent, basis)
    own = shelf or drills(*(("metric",) if thread.system == "metric" else ("fraction", "number", "letter")))
    usable = [d for d in own if thread.major - 1.3 * thread.pitch <= d.diameter < thread.major - 0.05 * thread.pitch]
    if not usable:
        near = thread.hole_for_percent(REFERENCE_PERCENT)
        raise ValueError(
            f"no drill of these can be used for {thread.designation}; it wants one near {near:.2f} mm "
            f"({near / 25.4:.4f} in)"
        )
    ranked = sorted(usable, key=lambda d: (round(abs(d.diameter - wanted), 6), d.diameter))
    return tuple(DrillFit(thread, d, work, tolerance) for d in ranked[:count])


def drilled_size(diameter: float) -> DrilledSize:
    """How wide a twist drill of this diameter cuts under average shop conditions [mm].

    Source: table `drill_oversize`, straight between its rows and held at its ends. A drill that is ground
    true cuts nearer to the least.

    >>> [round(x, 3) for x in drilled_size(12.7)[:3]]
    [12.776, 12.827, 12.903]
    """
    rows = tables.rows("drill_oversize")
    at = np.array([float(r["drill_in"]) for r in rows])
    over = [
        25.4 * float(np.interp(diameter / 25.4, at, [float(r[k]) for r in rows]))
        for k in ("least_in", "mean_in", "most_in")
    ]
    return DrilledSize(*(diameter + x for x in over), rows[0]["source"])


def wanted_percent(work: Workpiece, *, full_thread: float = 0.0, major: float = 1.0) -> WantedPercent:
    """Percent of thread to drill for in a metal, from the table `wanted_percents`.

    Parameters: `full_thread` and `major` [mm]; a full thread longer than 1.5 D counts as deep.

    >>> wanted_percent(Workpiece.parse("304"))[0]
    65.0
    """
    rows = tables.rows("wanted_percents")
    row = next((r for r in rows if r["group"] == work.group), rows[-1])
    deep = full_thread > 1.5 * major
    told = f"{work.printed}, a deep hole" if deep else work.printed
    return WantedPercent(float(row["deep" if deep else "usual"]), f"usual for {told}", row["source"])


# --- the shelf ------------------------------------------------------------------------------------------

_RUN = re.compile(r"(.+?)\s*(?:\bto\b|-|–|\.\.)\s*(.+?)(?:\s+(?:by|step)\s+(.+))?", re.IGNORECASE)


def read_shelf(text: str) -> tuple[DrillSize, ...]:
    """The drills someone has, from a list such as "6.8, 8.5, #7, F, 27/64".

    Runs are read too: "#1 to #60", "A to Z", "1/16 to 1/2 by 1/64", "1 to 13 by 0.5 mm". With a semicolon
    anywhere, items are parted by semicolons, so that decimal commas may be used. Smallest first, no size twice.

    Raises ValueError that names the item that cannot be read.

    >>> [d.name for d in read_shelf("8.5; 6,8; #7; F; 27/64")]
    ['#7', 'F', '6.8 mm', '8.5 mm', '27/64']
    >>> len(read_shelf("A to Z, 1 to 13 by 0.5"))
    51
    """
    if not isinstance(text, str) or len(text) > 2000:
        raise ValueError("a shelf of drills is a short list like '6.8, 8.5, #7, F, 27/64'")
    found: dict[float, DrillSize] = {}
    for item in _items(text):
        for size in _read_item(item):
            found.setdefault(round(size.diameter, 4), size)
    if not found:
        raise ValueError("the shelf is empty; list the drills like '6.8, 8.5, #7, F, 27/64'")
    return tuple(sorted(found.values(), key=lambda d: d.diameter))


def _items(text: str) -> list[str]:
    if re.search(r"[;\n]", text):
        parts = re.split(r"[;\n]", text)
    elif re.search(r",\s", text):
        parts = re.split(r",\s+", text)
    elif re.search(r"\d,\d", text) and not re.search(r"[./#a-zA-Z]", text.replace("mm", "")):
        if text.count(",") > 1:
            raise ValueError(f"{text!r} may be read in two ways; part the drills with semicolons, like '6,8; 8,5'")
        parts = [text]
    else:
        parts = text.split(",")
    return [p.strip() for p in parts if p.strip()]


def _read_item(item: str) -> tuple[DrillSize, ...]:
    try:
        return (read_size(item),)
    except ValueError as error:
        run = _RUN.fullmatch(item)
        if not run:
            raise ValueError(f"cannot read {item!r} on the shelf: {error}") from None
    low, high = read_size(run[1]), read_size(run[2])
    if low.diameter > high.diameter:
        low, high = high, low
    if run[3] is None:
        return _between(item, low, high)
    step = read_drill(run[3])
    count = (high.diameter - low.diameter) / step
    if count > 500:
        raise ValueError(f"{item!r} would be {count:.0f} drills; a shelf has at most 500 of one run")
    fraction = low.set == "fraction"
    steps = (low.diameter + i * step for i in range(int(count + 1e-6) + 1))
    return tuple(read_size(f"{round(d / 25.4 * 64)}/64" if fraction else f"{d:.6g} mm") for d in steps)


def _between(item: str, low: DrillSize, high: DrillSize) -> tuple[DrillSize, ...]:
    if low.set != high.set or low.set not in ("number", "letter", "fraction"):
        raise ValueError(f"{item!r} needs a step, like '1 to 13 by 0.5 mm' or '1/16 to 1/2 by 1/64'")
    return tuple(d for d in drill_set(low.set) if low.diameter <= d.diameter <= high.diameter)
