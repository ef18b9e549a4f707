"""Which drill for a thread: the nearest of the sets at hand, and what each leaves of the thread.

Diameters in mm, percents by both customs. Torque is set against the same tap in a hole for 75 %.
"""

import re
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np

from tapkit import tables
from tapkit.door import quoted
from tapkit.geometry.drillsize import DrillSize, drill_set, read_drill, read_size, usual_sets
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Number, Sentence, Span, _, length
from tapkit.operation import Operation
from tapkit.planning.classes import MinorLimits, minor_limits

REFERENCE_PERCENT = 75.0
"""The percent of thread (handbook custom) that torque and height are compared with; OD1621 (US Army)."""

WITHIN, WIDE, OVER, UNDER = "within", "may be over", "over", "under"
"""What the holes a drill cuts are against the limits of the minor diameter: the mean inside, the least inside and the
mean over, all over, the mean under."""


class DrilledSize(NamedTuple):
    """How wide a drill really cuts [mm]: least, mean and most, and where the numbers come from."""

    least: float
    mean: float
    most: float
    source: str


class WantedPercent(NamedTuple):
    """Percent of thread to drill for (handbook custom), the reason in words, and the source."""

    percent: float
    reason: Sentence
    source: str


@dataclass(frozen=True)
class DrillFit:
    """One drill for one thread, by its own size and by the holes it really cuts.

    >>> fit = DrillFit(Thread.parse("1/4-20"), read_size("#7"))
    >>> round(fit.percent), round(fit.percent_iso), round(fit.percent_cut), fit.limits, round(fit.torque_ratio, 2)
    (75, 91, 70, 'within', 1.01)
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
        """Percent of thread in a hole of the drill's own size, handbook custom, 100 (D − D_h)/(1.299 P) [%]."""
        return self.thread.percent(self.drill.diameter)

    @property
    def percent_iso(self) -> float:
        """The same against the basic height of ISO 68-1, 100 (D − D_h)/(1.0825 P) [%]."""
        return self.thread.percent(self.drill.diameter, "iso")

    @cached_property
    def cuts(self) -> DrilledSize:
        """How wide the drill really cuts."""
        return drilled_size(self.drill.diameter)

    @property
    def percent_cut(self) -> float:
        """Percent of thread, handbook custom, in the mean of the holes the drill really cuts [%]."""
        return self.thread.percent(self.cuts.mean)

    @property
    def on_chart(self) -> bool:
        """Whether this is the wall chart's drill for the thread."""
        return abs(self.drill.diameter - chart_drill(self.thread).diameter) < 5e-4

    @property
    def over_limit(self) -> float:
        """How far a hole of the drill's own size lies outside the limits [mm]: + over, − under, 0 within."""
        return self._outside(self.drill.diameter)

    def _outside(self, diameter: float) -> float:
        limits = self.minor
        return max(diameter - limits.most, 0.0) + min(diameter - limits.least, 0.0)

    @property
    def own_limits(self) -> str:
        """`WITHIN`, `OVER` or `UNDER`: a hole of the drill's own size against the limits of the class."""
        away = self.over_limit
        return WITHIN if abs(away) < 5e-4 else (OVER if away > 0 else UNDER)

    @property
    def limits(self) -> str:
        """`WITHIN`, `WIDE`, `OVER` or `UNDER`: the holes the drill really cuts against the limits of the class."""
        least, mean = (self._outside(d) for d in self.cuts[:2])
        if abs(mean) < 5e-4:
            return WITHIN
        if mean < 0:
            return UNDER
        return OVER if least > 5e-4 else WIDE

    @property
    def strays(self) -> bool:
        """Whether the widest of the holes it cuts lies over limits that their mean keeps."""
        return self.limits == WITHIN and self.cuts.most > self.minor.most + 5e-4

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

    def in_words(self) -> Sentence:
        return _(
            "Drill {drill} for {thread}: {percent} % of thread by handbook custom ({iso} % of the ISO height) in a "
            "hole of its own size; it cuts {cuts} wide, {real} % on average, {limits}; tooth forces "
            "{torque} times those at 75 %.",
            drill=self.drill,
            thread=self.thread.designation,
            percent=Number(self.percent, decimals=0),
            iso=Number(self.percent_iso, decimals=0),
            cuts=Span(self.cuts.least, self.cuts.most, "length", decimals=2, inch_decimals=3),
            real=Number(self.percent_cut, decimals=0),
            limits=self.limits_in_words(),
            torque=Number(self.torque_ratio, decimals=2),
        )

    def limits_in_words(self) -> Sentence:
        """Where the holes it cuts lie against the limits of the class."""
        minor = self.minor
        if self.strays:
            return _("mostly inside the {name} limits of the minor diameter", name=minor.name)
        off = length(abs(self._outside(self.cuts.mean)), decimals=3)
        return {
            WITHIN: _("inside the {name} limits of the minor diameter", name=minor.name),
            WIDE: _("{off} over the {name} limit unless it is ground true", off=off, name=minor.name),
            OVER: _("{off} over the {name} limit: a shallow thread", off=off, name=minor.name),
            UNDER: _("{off} under the {name} limit: hard on the tap", off=off, name=minor.name),
        }[self.limits]


@lru_cache(maxsize=1024)
def chart_drill(thread: Thread) -> DrillSize:
    """The wall chart's drill for a thread: a row of `tap_drills`; where it has none, the drill nearest to D − P of a
    metric, to 75 % of thread of a unified thread.

    >>> chart_drill(Thread.parse("M12")).name, chart_drill(Thread.parse("1/2-13")).name
    ('10.2 mm', '27/64')
    """
    size = thread.designation.removesuffix("-LH").split(" ")[0]
    row = next((r for r in tables.rows("tap_drills") if r["thread"] == size), None)
    if row is not None:
        return read_size(row["drill"])
    exact = thread.major - thread.pitch if thread.system == "metric" else thread.hole_for_percent(REFERENCE_PERCENT)
    return min(usual_drills(thread), key=lambda d: (round(abs(d.diameter - exact), 6), -d.diameter))


def advised_drills(
    thread: Thread,
    percent: float = REFERENCE_PERCENT,
    shelf: tuple[DrillSize, ...] = (),
    *,
    basis: str = "custom",
    count: int = 5,
    work: str = "C45",
    tolerance: str = "",
) -> tuple[DrillFit, ...]:
    """The drills to take for a wanted percent of thread, best first, judged by the holes they really cut.

    The wall chart's drill goes first where it may leave the percent wanted, or where that is the usual one it stands on
    the charts for, and its holes keep the class that is asked for (the charts are made for 6H and 2B); where it is not
    among the drills, one within 2 % of thread stands in for it. Of the others, those whose holes lie inside the limits
    go first, and those nearer to the percent wanted. Parameters and errors as `nearest_drills`.

    >>> [f.drill.name for f in advised_drills(Thread.parse("M10"), count=3)]
    ['8.5 mm', '8.4 mm', '8.3 mm']
    >>> advised_drills(Thread.parse("M5"), shelf=drills("number"))[0].drill.name
    '#19'
    >>> advised_drills(Thread.parse("M10"), tolerance="4H")[0].drill.name
    '8.4 mm'
    """
    wanted = thread.percent(thread.hole_for_percent(_possible(percent), basis))
    fits = [DrillFit(thread, d, work, tolerance) for d in _usable(thread, shelf)]

    chart = thread.percent(chart_drill(thread).diameter)

    def rank(fit: DrillFit) -> tuple[bool, bool, bool, float, float]:
        kept = fit.limits == WITHIN if tolerance else fit.limits in (WITHIN, WIDE)
        most = max(fit.percent + 2, REFERENCE_PERCENT + 1e-6)
        charted = abs(fit.percent - chart) <= 2 and kept and thread.percent(fit.cuts.most) - 2 <= wanted <= most
        away = round(abs(fit.percent_cut - wanted), 3)
        return not charted, charted and not fit.on_chart, fit.limits != WITHIN, away, fit.drill.diameter

    return tuple(sorted(fits, key=rank)[:count])


def usual_drills(thread: Thread, system: str = "metric") -> tuple[DrillSize, ...]:
    """The drills usual for a thread in a shop that reads lengths in `system`: the metric set, or fractions, numbers and
    letters."""
    return drills(*usual_sets(thread.system, system))


@lru_cache(maxsize=4096)
def _peak_torque(thread: Thread, diameter: float, work: str) -> float:
    metal = Workpiece.parse(work)
    point = min(thread.major - 1.3 * thread.pitch, diameter)
    tap = Tap.make(thread, "straight", "plug", metal=metal, point_diameter=point)
    hole = Hole(kind="through", diameter=diameter, depth=max(3 * thread.major, 10 * thread.pitch))
    return Operation(tap=tap, hole=hole, workpiece=metal).torque_curve.peak


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
    tolerance: str = "",
) -> tuple[DrillFit, ...]:
    """The drills whose own size is nearest to a wanted percent of thread, nearest first.

    Parameters: `percent` [%] on the `basis` "custom" or "iso"; `shelf`, the drills to choose from (none: the
    metric set for a metric thread, the inch sets for a unified one); `tolerance` class of the limits (none: the
    thread's own). Drills that leave no thread, or that the tap's roots would not clear, are left out.

    Raises ValueError for a percent outside 30 to 100, or where no drill of the shelf can be used.

    >>> [f.drill.name for f in nearest_drills(Thread.parse("M10"), 77, count=3)]
    ['8.5 mm', '8.4 mm', '8.6 mm']
    >>> nearest_drills(Thread.parse("1/4-20"), 75)[0].drill.name
    '#7'
    """
    wanted = thread.hole_for_percent(_possible(percent), basis)
    ranked = sorted(_usable(thread, shelf), key=lambda d: (round(abs(d.diameter - wanted), 6), d.diameter))
    return tuple(DrillFit(thread, d, tolerance=tolerance) for d in ranked[:count])


def _possible(percent: float) -> float:
    if not 30 <= percent <= 100:
        raise ValueError(
            _(
                "{percent} % of thread cannot be wanted; 50 to 83 is usual, 30 to 100 is possible",
                percent=Number(percent),
            )
        )
    return percent


def _usable(thread: Thread, shelf: tuple[DrillSize, ...]) -> list[DrillSize]:
    low, high = thread.major - 1.3 * thread.pitch, thread.major - 0.05 * thread.pitch
    usable = [d for d in shelf or usual_drills(thread) if low <= d.diameter < high]
    if not usable:
        raise ValueError(
            _(
                "no drill of these can be used for {thread}; the wall chart's is {drill}",
                thread=thread.designation,
                drill=str(chart_drill(thread)),
            )
        )
    return usable


@lru_cache(maxsize=4096)
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
    told = _("usual for {work}, a deep hole", work=work.printed) if deep else _("usual for {work}", work=work.printed)
    return WantedPercent(float(row["deep" if deep else "usual"]), told, row["source"])


# --- the shelf ------------------------------------------------------------------------------------------

EXAMPLE = "6.8, 8.5, #7, F, 27/64"
"""A shelf as one writes it."""

_RUN = re.compile(r"(.+?)\s*(?:\bto\b|-|–|\.\.)\s*(.+?)(?:\s+(?:by|step)\s+(.+))?", re.IGNORECASE)


def read_shelf(text: str) -> tuple[DrillSize, ...]:
    """The drills someone has, from a list such as "6.8, 8.5, #7, F, 27/64".

    Runs are read too: "#1 to #60", "A to Z", "1/16 to 1/2 by 1/64", "1 to 13 by 0.5 mm". With a semicolon,
    or a comma and a space, anywhere, items are parted by these, so that decimal commas may be used. Smallest first,
    no size twice.

    Raises ValueError that names the item that cannot be read.

    >>> [d.name for d in read_shelf("8.5; 6,8; #7; F; 27/64")]
    ['#7', 'F', '6.8 mm', '8.5 mm', '27/64']
    >>> len(read_shelf("A to Z, 1 to 13 by 0.5"))
    51
    """
    if not isinstance(text, str) or len(text) > 2000:
        raise ValueError(_("a shelf of drills is a short list like {example}", example=quoted(EXAMPLE)))
    found: dict[float, DrillSize] = {}
    for item in _items(text):
        for size in _read_item(item):
            found.setdefault(round(size.diameter, 4), size)
    if not found:
        raise ValueError(_("the shelf is empty; list the drills like {example}", example=quoted(EXAMPLE)))
    return tuple(sorted(found.values(), key=lambda d: d.diameter))


def _items(text: str) -> list[str]:
    if re.search(r"[;\n]|,\s", text):
        parts = re.split(r"[;\n]|,\s+", text)
    elif re.search(r"\d,\d", text) and not re.search(r"[./#a-zA-Z]", text.replace("mm", "")):
        if text.count(",") > 1:
            told = _(
                "{text} may be read in two ways; part the drills with semicolons, like {example}",
                text=quoted(text),
                example=quoted("6,8; 8,5"),
            )
            raise ValueError(told)
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
            told = _("cannot read {item} on the shelf: {why}", item=quoted(item), why=error.args[0])
            raise ValueError(told) from None
    low, high = read_size(run[1]), read_size(run[2])
    if low.diameter > high.diameter:
        low, high = high, low
    if run[3] is None:
        return _between(item, low, high)
    step = read_drill(run[3])
    count = (high.diameter - low.diameter) / step
    if count > 500:
        told = _(
            "{item} would be {count} drills; a shelf has at most 500 of one run", item=quoted(item), count=round(count)
        )
        raise ValueError(told)
    fraction = low.set == "fraction"
    steps = (low.diameter + i * step for i in range(int(count + 1e-6) + 1))
    return tuple(read_size(f"{round(d / 25.4 * 64)}/64" if fraction else f"{d:.6g} mm") for d in steps)


def _between(item: str, low: DrillSize, high: DrillSize) -> tuple[DrillSize, ...]:
    if low.set != high.set or low.set not in ("number", "letter", "fraction"):
        told = _(
            "{item} needs a step, like {metric} or {inch}",
            item=quoted(item),
            metric=quoted("1 to 13 by 0.5 mm"),
            inch=quoted("1/16 to 1/2 by 1/64"),
        )
        raise ValueError(told)
    return tuple(d for d in drill_set(low.set) if low.diameter <= d.diameter <= high.diameter)
