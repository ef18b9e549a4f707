"""Published and measured torque beside ours: ranges, and how many published values lie in them."""

from collections.abc import Iterable
from functools import cache
from typing import NamedTuple

import numpy as np

from tapkit import tables
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics import published
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.expected import Shares
from tapkit.mechanics.workpiece import Workpiece
from tapkit.operation import Operation


class Range(NamedTuple):
    """A range of ours; `of` the sum of our tooth forces it is for [N·m], None where it is no torque."""

    low: float
    high: float
    of: float | None = None


class Count(NamedTuple):
    """Published values held against our ranges: how many lie `inside`, `cases` of how many; what published torque is of
    our sum of tooth forces, `low` to `high`, and what our range is of it, `least` to `most`."""

    inside: int
    cases: int
    low: float
    high: float
    least: float
    most: float


def expected(case: str) -> Range:
    """Range for "tap, work, hole, fluid", with "over tool life" or "worn" behind where the tap was."""
    tap, work, hole, fluid, *state = (part.strip() for part in case.split(","))
    fresh = Operation.parse(tap, hole, work, fluid=fluid)
    ends = [fresh.expected_torque.peak]
    if state:
        worn = fresh.with_(wear_factor=assumption("worn_factor").value).expected_torque.peak
        ends = [*ends, worn] if state[0] == "over tool life" else [worn]
    return Range(min(e[0] for e in ends), max(e[1] for e in ends), fresh.torque_curve.peak)


# --- every published row ----------------------------------------------------------------------------


@cache
def sizes(series: str) -> tuple[Thread, ...]:
    """Threads M4 to M20 of a series."""
    found = []
    for row in tables.rows("threads_metric"):
        major, pitch = float(row["major_mm"]), float(row["pitch_mm"])
        if row["series"] == series and row["iso262"] == "yes" and published.SMALLEST <= major <= published.LARGEST:
            found.append(Thread.parse(f"M{major:g}x{pitch:g}"))
    return tuple(found)


@cache
def _one(work: str, form: str, threads: float, thread: Thread) -> tuple[float, float, float, float] | None:
    """Published torque, both ends of our range and our sum, 2 D through with oil; None where nothing is published."""
    hole = Hole(kind="through", diameter=thread.major - thread.pitch, depth=2 * thread.major)
    metal = Workpiece.parse(work)
    job = Operation.parse(Tap.make(thread, form, threads, metal=metal), hole, metal)
    found = job.expected_torque
    return None if found.published is None else (found.published.torque, *found.peak, job.torque_curve.peak)


def _count(cases: Iterable[tuple[str, str, float, Thread]]) -> Count:
    table = np.array([found for case in cases if (found := _one(*case)) is not None])
    said, low, high, of = table.T
    inside = int(((low < said) & (said < high)).sum())
    return Count(inside, len(said), *((said / of).min(), (said / of).max(), (low / of).min(), (high / of).max()))


def _metals(name: str) -> str:
    """Column of K for a workpiece."""
    return published.resistance(name, Workpiece.parse(name).group).metals


def _taps(metals: str) -> list[tuple[str, float, str]]:
    rows = [r for r in tables.rows("torque_k") if r["metals"] == metals]
    return [(r["flute_form"], float(r["threads"]), r["series"]) for r in rows]


def of_metal(case: str) -> Count:
    """Every tap and size for one metal of the table `torque_kc`."""
    row = tables.row("torque_kc", metal=case)
    taps = _taps(_metals(row["workpiece"]))
    return _count((row["workpiece"], f, n, t) for f, n, series in taps for t in sizes(series))


def of_tap(case: str) -> Count:
    """Every metal and size for one row of the table `torque_k`, "metals; form, threads, series"."""
    metals, _sign, tap = case.partition("; ")
    form, threads, series = (part.strip() for part in tap.split(","))
    works = [r["workpiece"] for r in tables.rows("torque_kc")]
    mine = [w for w in works if _metals(w) == metals]
    return _count((w, form, float(threads.split()[0]), t) for w in mine for t in sizes(series))


# --- measured against each other --------------------------------------------------------------------


def _m10(form: str, threads: float) -> Operation:
    return Operation.parse(Tap.make("M10x1.5", form, threads), "through 8.5 mm x 20 mm", "C45")


def leading_share(case: str) -> str:
    """The share of torque that is largest once the tap is through, for "tap, work, hole", by the middle of each."""
    tap, work, hole = (part.strip() for part in case.split(","))
    found = Operation.parse(tap, hole, work).expected_torque
    at = int(np.argmax(found.low.total + found.high.total))
    middle = {name: getattr(found.low, name)[at] + getattr(found.high, name)[at] for name in Shares._fields}
    return max(middle, key=lambda name: middle[name])


def against_plug(case: str) -> float:
    """Middle of our range for "form, threads" in percent of that of a straight tap of 5 threads."""
    form, threads = (part.strip() for part in case.split(","))
    plug = _m10("straight", 5.0).expected_torque.middle
    return 100 * _m10(form, float(threads.split()[0])).expected_torque.middle / plug


def shape(case: str) -> str:
    """Whether the sum of the tooth forces runs level in 10 mm of carbon steel, M8x1.25, hole 6.8 mm."""
    form, threads = (part.strip() for part in case.split(","))
    job = Operation.parse(Tap.make("M8x1.25", form, float(threads.split()[0])), "through 6.8 mm x 10 mm", "C45")
    curve = job.torque_curve
    top = curve.depth[curve.torque > 0.995 * curve.peak]
    return "level once all chamfer teeth are in" if np.ptp(top) > 1.25 else "never level"


def smallest(case: str) -> str:
    """The flute form with the least torque of the measured ones, by the middle of our ranges."""
    taps = {"straight": 5.0, "spiral-flute": 2.5, "spiral-point": 5.0}
    return min(taps, key=lambda form: _m10(form, taps[form]).expected_torque.middle)


def at_percents(case: str) -> float:
    """Middle of our range at 72 % over that at 60 % of thread, M10 straight plug."""
    thread = Thread.parse("M10x1.5")
    holes = [Hole(kind="through", diameter=thread.hole_for_percent(p), depth=20.0) for p in (72, 60)]
    full, less = (Operation.parse(Tap.make(thread, "straight", 5), hole, case).expected_torque.middle for hole in holes)
    return full / less


def over_the_sum(_: str) -> Range:
    """Measured torque over the sum of our tooth forces, least and most of every measured row."""
    ratios = []
    for row in tables.rows("published"):
        if row["figure"] == "torque":
            of = expected(row["case"]).of
            ratios += [float(n) / of for n in row["says"].split("-")]
    return Range(min(ratios), max(ratios))
