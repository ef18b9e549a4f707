"""Published torque of a tap, and what it says about our own sum.

    T = tan 30° · k_c K (D − D_0)² (D + 2 D_0) / 24000

with k_c by metal (table `torque_kc`) and K by tap (table `torque_k`), D of the tap and D_0 of the hole. It is the whole
torque, friction and crowding chips included, with all chamfer teeth in the metal. `spread` holds it against the sum of
our tooth forces over the usual sizes: that ratio is what makes the sum a torque one can expect.
"""

from functools import cache, lru_cache
from typing import Any, NamedTuple

import numpy as np

from tapkit import tables
from tapkit.geometry.hole import Hole
from tapkit.geometry.proportions import usual_radial_rake
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import TAN30, Thread
from tapkit.mechanics import force, rake, toothload
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.workpiece import Workpiece

SMALLEST, LARGEST = 4.0, 20.0
"""Sizes [mm] over which published torque is held against ours."""

COARSE, FINE = "coarse", "fine"
FREE_FORM = "spiral-point"
"""The flute form that rids itself of its chips: its published torque in a through hole is the cut, with friction."""


class Published(NamedTuple):
    """Published torque of one job [N·m], with the `kc` [N/mm2] and `k` it was taken with, its `metal` and `source`."""

    torque: float
    kc: float
    k: float
    metal: str
    source: str


class Resistance(NamedTuple):
    """Published k_c for a workpiece, `low` and `high` [N/mm2]; `own` whether it is the metal's own row; `metals` the
    column of K; `told` what it is; `source`."""

    low: float
    high: float
    own: bool
    metals: str
    told: str
    source: str


def tapping_torque(*, kc: Any, k: Any, major: Any, hole: Any) -> Any:
    """Torque of a cutting tap [N·m]: T = tan 30° · k_c K (D − D_0)² (D + 2 D_0)/24000.

    Parameters: k_c [N/mm2]; K; D and D_0 [mm], any shape. Source: Yamawa general catalogue 2021, p. 639.

    >>> round(float(tapping_torque(kc=3900, k=1.35, major=10, hole=8.5)), 2)
    7.69
    """
    return TAN30 * kc * k * (major - hole) ** 2 * (major + 2 * np.asarray(hole)) / 24000


@cache
def resistance(workpiece: str, group: str) -> Resistance:
    """Published k_c of a workpiece by its name, or the spread of those like it; table `torque_groups`.

    >>> resistance("C45", "steel").low, resistance("E295", "steel")[:3]
    (3900.0, (3600.0, 4000.0, False))
    """
    own = {r["workpiece"]: r for r in tables.rows("torque_kc")}
    rows = {r["group"]: r for r in tables.rows("torque_groups")}
    row = rows.get(workpiece) or rows[group]
    if workpiece in own:
        kc = float(own[workpiece]["kc"])
        return Resistance(kc, kc, True, row["metals"], own[workpiece]["metal"], own[workpiece]["source"])
    if row["kc"]:
        low, high = tables.span(row["kc"])
    else:
        values = [float(own[name]["kc"]) for name in row["like"].split("|")]
        low, high = min(values), max(values)
    return Resistance(low, high, False, row["metals"], row["source"], row["source"])


@cache
def series_of(thread: Thread) -> str:
    """Whether a thread counts as coarse or fine in the table `torque_k`; one off the lists by the nearest of them.

    >>> series_of(Thread.parse("M10")), series_of(Thread.parse("1/4-28")), series_of(Thread.parse("M10x0.75"))
    ('coarse', 'fine', 'fine')
    """
    if thread.series in (COARSE, "UNC"):
        return COARSE
    if thread.series in (FINE, "UNF", "UNEF"):
        return FINE
    rows = [r for r in tables.rows("threads_metric") if r["series"] == COARSE]
    usual = np.interp(thread.major, *([float(r[k]) for r in rows] for k in ("major_mm", "pitch_mm")))
    return COARSE if thread.pitch > 0.9 * usual else FINE


@cache
def k_rows(metals: str, series: str) -> dict[str, tuple[tuple[float, float, tuple[float, float], str], ...]]:
    """By flute form: chamfer length [threads], K, the lengths it is shown for, and the source."""
    found: dict[str, list[Any]] = {}
    for r in tables.rows("torque_k"):
        if (r["metals"], r["series"]) == (metals, series):
            row = (float(r["threads"]), float(r["k"]), tables.span(r["shown_for"]), r["source"])
            found.setdefault(r["flute_form"], []).append(row)
    return {form: tuple(sorted(rows)) for form, rows in found.items()}


def published_torque(tap: Tap, hole: Hole, workpiece: Workpiece) -> Published | None:
    """The published torque for a job, or None where its metal, flute form or chamfer is in no table.

    >>> found = published_torque(Tap.make("M10", "spiral-point", 5), Hole.parse("through 8.5 x 20"),
    ...                          Workpiece.parse("C45"))
    >>> round(found.torque, 2), found.metal
    (5.41, 'Ck45 188 HB')
    """
    found = resistance(workpiece.name, workpiece.group)
    if not found.own:
        return None
    for _threads, k, (low, high), source in k_rows(found.metals, series_of(tap.thread)).get(tap.flute_form, ()):
        if low <= tap.chamfer_threads <= high:
            torque = tapping_torque(kc=found.low, k=k, major=tap.thread.major, hole=hole.diameter)
            return Published(float(torque), found.low, k, found.told, source)
    return None


# --- against our sum --------------------------------------------------------------------------------


class Ratio(NamedTuple):
    """Published torque over our sum, least and most over the sizes."""

    low: float
    high: float

    def times(self, low: float, high: float | None = None) -> "Ratio":
        return Ratio(self.low * low, self.high * (low if high is None else high))


@lru_cache(maxsize=32)
def _reference(flute_form: str, threads: float, series: str) -> tuple[tuple[Any, ...], ...]:
    """Usual taps of M4 to M20 in holes of D − P: D, hole, axial rake, chamfer angle, and width, thickness and radius of
    their chips."""
    out = []
    for row in tables.rows("threads_metric"):
        major, pitch = float(row["major_mm"]), float(row["pitch_mm"])
        if row["series"] == series and row["iso262"] == "yes" and SMALLEST <= major <= LARGEST:
            tap = Tap.make(Thread(f"M{major:g}x{pitch:g}", major, pitch, series=series), flute_form, threads)
            hole = Hole(kind="through", diameter=major - pitch, depth=major)
            s = toothload.tooth_slices(tap, hole)
            out.append((major, hole.diameter, tap.axial_rake, tap.chamfer_angle, s.width, s.thickness, s.radius))
    return tuple(out)


@cache
def spread(workpiece: Workpiece, metals: str, flute_form: str, threads: float, k: float, series: str) -> Ratio:
    """Published torque for k_c = 1 N/mm2 over our sum for a workpiece, least and most of the usual sizes.

    Both sides are whole: ours with the usual rakes and the tool factor of high-speed steel, all chamfer teeth in.
    """
    ratios, gamma = [], usual_radial_rake(workpiece)
    for major, hole, axial, kappa, width, thickness, radius in _reference(flute_form, threads, series):
        normal = rake.normal_rake(radial_rake=gamma, axial_rake=axial, chamfer_angle=kappa)
        factor = force.rake_factor(normal_rake=normal, test_rake=workpiece.gamma0) * assumption("tool_factor").value
        pull = force.cutting_force(
            width=width, thickness=thickness, kc11=workpiece.kc11, mc=workpiece.mc, factor=factor
        )
        ratios.append(float(tapping_torque(kc=1.0, k=k, major=major, hole=hole)) / float(pull @ radius / 1000))
    return Ratio(min(ratios), max(ratios))
