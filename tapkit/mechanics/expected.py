"""Torque a tap really needs: three named shares, each a range along the depth.

    cut       c · our sum of tooth forces, less the friction that is in c
    crowding  (k − 1) · c · our sum: chips that crowd in the flutes, and the thick chips of a short chamfer
    friction  of the finished flanks: φ · c · our full sum · fluid · length of thread in the hole / length at 2 D

c is published torque of a flute form that frees its chips over our sum, k that of this flute form and chamfer over it
(`published.spread`), φ and the scatter of single taps by size (table `friction_shares`), the fluid by its table. With
oil
and a through hole 2 D deep the shares add up to the published torque: friction is split off it, not put on top.
"""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache, partial
from typing import Any, NamedTuple

import numpy as np

from tapkit import tables
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.mechanics import caution, goingback, published, torque
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.chiproom import ChipRoom
from tapkit.mechanics.goingback import GoingBack
from tapkit.mechanics.hand import least_turn_back
from tapkit.mechanics.published import Published, Ratio, Resistance
from tapkit.mechanics.toothload import ToothSlices
from tapkit.mechanics.torque import TorqueCurve
from tapkit.mechanics.workpiece import Workpiece, fold
from tapkit.messages import Sentence, Span, _, of_table, rough_depth

REFERENCE_DEPTH = 2.0
"""Depth of thread, in diameters, for which the published totals are taken."""


class Shares(NamedTuple):
    """The three shares of torque [N·m] along the depth, and their sum."""

    cut: np.ndarray
    crowding: np.ndarray
    friction: np.ndarray

    @property
    def total(self) -> np.ndarray:
        """All three together [N·m]."""
        return self.cut + self.crowding + self.friction


class Factors(NamedTuple):
    """What turns our sum into torque, each least and most: `cut` c, `whole` c · k, `friction` the share φ of c,
    `scatter`
    of single taps, `fluid`, `wear` beyond what the sum holds."""

    cut: Ratio
    whole: Ratio
    friction: Ratio
    scatter: float
    fluid: Ratio
    wear: float

    @property
    def crowding(self) -> Ratio:
        """k, the factor of crowding, 1 where the chips leave freely."""
        return Ratio(self.whole.low / self.cut.low, self.whole.high / self.cut.high)


class Fluid(NamedTuple):
    """A cutting fluid: its friction against that with oil, from `low` to `high`."""

    name: str
    printed: str
    low: float
    high: float
    source: str


@dataclass(frozen=True, eq=False)
class ExpectedTorque:
    """Torque to expect, arrays of shape (depths,) against the `depth` of the point [mm], straight in between.

    `low` and `high` shares at the two ends of the range; `open_from` depth from which chips jam and the torque has no
    upper end, or None (`high` goes on there as if they did not); `published` the published formula's own value, or
    None; `factors`; `find_back` and `find_basis` give `back` and `basis`, which are made when asked for.
    """

    depth: np.ndarray
    low: Shares
    high: Shares
    open_from: float | None
    published: Published | None
    factors: Factors
    find_back: Callable[[], GoingBack]
    find_basis: Callable[[], tuple[Sentence, ...]]

    @cached_property
    def back(self) -> GoingBack:
        """Torque to turn the tap back, along the depth."""
        return self.find_back()

    @cached_property
    def basis(self) -> tuple[Sentence, ...]:
        """What each share rests on, in sentences."""
        return self.find_basis()

    @property
    def closed(self) -> np.ndarray:
        """Where the range has an upper end, (depths,) of bool."""
        return np.ones(len(self.depth), bool) if self.open_from is None else self.depth <= self.open_from

    @property
    def peak(self) -> tuple[float, float]:
        """Low and high end of the largest torque [N·m], as far down as there is an upper end."""
        return tuple(self._most(share.total) for share in (self.low, self.high))  # type: ignore[return-value]

    @property
    def going_back(self) -> tuple[float, float]:
        """Least and most torque to turn the tap back out from the bottom [N·m]."""
        return float(self.back.low[-1]), float(self.back.high[-1])

    @property
    def middle(self) -> float:
        """Middle of the range of the largest torque [N·m]."""
        return sum(self.peak) / 2

    def at(self, depth: float) -> tuple[float, float]:
        """Low and high end with the point at a depth [N·m]; infinite where there is no upper end."""
        low, high = (float(np.interp(depth, self.depth, s.total)) for s in (self.low, self.high))
        return low, np.inf if self.open_from is not None and depth > self.open_from else high

    def told(self) -> Sentence:
        """The torque in words, such as "4 to 6 N·m", and where the chips jam."""
        span = Span(*self.peak, "torque", digits=2)
        if self.open_from is None:
            return _("{span}", span=span)
        at = rough_depth(self.open_from)
        return _("{span} until the point is {depth} deep; from there chips jam, and a tap can break at any torque",
                 span=span, depth=at)  # fmt: skip

    def _most(self, values: np.ndarray) -> float:
        if self.open_from is None:
            return float(values.max(initial=0.0))
        return float(max(values[self.closed].max(initial=0.0), np.interp(self.open_from, self.depth, values)))


# --- the tables -------------------------------------------------------------------------------------


@cache
def fluid(name: str, metal: str = "") -> Fluid:
    """A cutting fluid by name or common word, in a group of metals; table `fluids`.

    >>> fluid("oil").high, fluid("soluble oil").name
    (1.0, 'emulsion')
    """
    rows = [r for r in tables.rows("fluids") if fold(name) in map(fold, (r["name"], *r["other_names"].split("|")))]
    if rows:
        row = next((r for r in rows if r["metal"] == metal), rows[0])
        return Fluid(row["name"], row["printed"], *tables.span(row["friction"]), row["source"])
    raise ValueError(
        _("{name} is not a cutting fluid of the table; there are {known}", name=repr(name), known=", ".join(fluids()))
    )


def fluids() -> tuple[str, ...]:
    """Names of the cutting fluids.

    >>> fluids()
    ('oil', 'emulsion', 'dry')
    """
    return tuple(row["name"] for row in tables.rows("fluids") if not row["metal"])


@cache
def _size_rows() -> tuple[np.ndarray, ...]:
    rows = tables.rows("friction_shares")
    columns = ([float(r["major_mm"]), *tables.span(r["share"]), float(r["scatter"])] for r in rows)
    return tuple(np.array(column) for column in zip(*columns))


def friction_share(major: Any) -> tuple[Any, Any, Any]:
    """Share of friction, least and most, and the scatter of single taps, by size [mm]; table `friction_shares`."""
    at, low, high, scatter = _size_rows()
    return tuple(np.interp(major, at, column) for column in (low, high, scatter))


@cache
def _measured(flute_form: str) -> tuple[float, float]:
    """What measured torque puts beside the published one of a flute form, both against the form that frees its chips:
    least and most, 1 always among them."""
    rows = {r["flute_form"]: r for r in tables.rows("torque_measured")}
    if flute_form not in rows:
        return 1.0, 1.0
    one, free = (tables.span(rows[form]["percent"]) for form in (flute_form, published.FREE_FORM))
    of = published.k_rows("steel", published.COARSE)
    threads = float(rows[flute_form]["threads"])
    k = next(k for n, k, *_rest in of[flute_form] if n == threads) / of[published.FREE_FORM][0][1]
    return min(one[0] / free[1] / k, 1.0), max(one[1] / free[0] / k, 1.0)


# --- factors ----------------------------------------------------------------------------------------


class _Curve(NamedTuple):
    """Published torque over our sum, `low` and `high` at the chamfers `at` [threads]; where only one chamfer is
    published, it changes as `like` does, which is that of straight flutes."""

    at: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    like: Any = None

    def of(self, threads: float) -> Ratio:
        """At a chamfer: between the published ones straight, beyond them level."""
        if self.like is None or threads == self.at[0]:
            return Ratio(*(_between(threads, self.at, end) for end in (self.low, self.high)))
        there, here = (sum(self.like.of(n)) for n in (threads, self.at[0]))
        return Ratio(self.low[0], self.high[0]).times(there / here)


def _between(x: float, at: Sequence[float], values: Sequence[float]) -> float:
    """`numpy.interp` of one number, at a tenth of its cost."""
    i = bisect_right(at, x)
    if i == 0:
        return float(values[0])
    if i == len(at):
        return float(values[-1])
    return values[i - 1] + (x - at[i - 1]) * (values[i] - values[i - 1]) / (at[i] - at[i - 1])


@lru_cache(maxsize=512)
def _spread(work: Workpiece, form: str, series: str) -> _Curve:
    """Published torque over our sum for a metal, flute form and series, along the chamfer."""
    metals = published.resistance(work.name, work.group).metals
    rows = published.k_rows(metals, series).get(form)
    if not rows:  # no K for fine threads: that for coarse ones
        return _spread(work, form, published.COARSE)
    ratios = [published.spread(work, metals, form, n, k, series) for n, k, *_rest in rows]
    both = len(published.k_rows(metals, series)["straight"]) > 1
    of = series if both else published.COARSE  # brass: no K for a short chamfer in fine threads
    like = None if len(rows) > 1 else _spread(work, "straight", of)
    return _Curve(tuple(n for n, *_rest in rows), *zip(*ratios), like)


@lru_cache(maxsize=512)
def cut_and_whole(work: Workpiece, flute_form: str, threads: float, series: str) -> tuple[Ratio, Ratio]:
    """c, and c · k: published cutting torque, and whole torque, over our sum; each least and most."""
    cut, *ends = _ends(work, flute_form, series)
    least, most = (curve.of(threads).times(low, high) for curve, low, high in ends)
    whole = Ratio(max(min(least.low, most.low), cut.low), max(least.high, most.high, cut.high))
    return cut, whole


@lru_cache(maxsize=512)
def _ends(work: Workpiece, flute_form: str, series: str) -> tuple[Any, ...]:
    """c, and of the way with least and that with most torque: its curve, and by what its ends are to be multiplied."""
    found = published.resistance(work.name, work.group)
    ways = tables.row("torque_forms", flute_form=flute_form)
    free = published.k_rows(found.metals, series)[published.FREE_FORM][0][0]
    cut = _spread(work, published.FREE_FORM, series).of(free).times(found.low, found.high)
    measured = ((ways[way], *_measured(ways[way])) for way in ("least", "most"))
    return cut, *((_spread(work, form, series), found.low * a, found.high * b) for form, a, b in measured)


def factors(tap: Tap, work: Workpiece, fluid_name: str, wear: float) -> Factors:
    """All factors of one job; `wear` the wear factor that the sum of tooth forces already holds."""
    cut, whole = cut_and_whole(work, tap.flute_form, tap.chamfer_threads, published.series_of(tap.thread))
    share, scatter = _friction_of(tap.thread.major)
    used = fluid(fluid_name, work.group)
    return Factors(cut, whole, share, scatter, Ratio(used.low, used.high), max(wear, 1.0))


@lru_cache(maxsize=512)
def _friction_of(major: float) -> tuple[Ratio, float]:
    low, high, scatter = friction_share(major)
    return Ratio(low, high), float(scatter)


# --- along the depth --------------------------------------------------------------------------------


@cache
def _blanks() -> tuple[np.ndarray, ...]:
    rows = tables.rows("tap_blanks")
    return tuple(np.array([float(r[k]) for r in rows]) for k in ("major_mm", "thread_length_mm"))


def thread_length(major: Any) -> Any:
    """Length of the thread on a usual tap [mm], by size; table `tap_blanks` (ISO 529 [memory])."""
    return np.interp(major, *_blanks())


def thread_in_hole(depth: Any, *, half_chamfer: Any, thread: Any, thickness: Any) -> Any:
    """Length of the tap's thread that lies in the hole [mm], half the chamfer left out, with the point at a depth.

    Parameters: depth of the point, half the length of the chamfer, length of thread on the tap, and thickness of the
    part
    of a through hole (infinite in a blind one) [mm]; floats or arrays that broadcast.
    """
    first = np.maximum(half_chamfer, np.asarray(depth, float) - thickness)
    return np.maximum(np.minimum(depth, thread) - first, 0.0)


def way_of_friction(depth: Any, *, major: Any, half_chamfer: Any, thickness: Any) -> Any:
    """The same over its length at the depth for which the published totals are taken."""
    thread, deep = thread_length(major), REFERENCE_DEPTH * np.asarray(major, float)
    ends = dict(half_chamfer=half_chamfer, thread=thread)
    usual = thread_in_hole(deep, thickness=deep, **ends)
    return thread_in_hole(depth, thickness=thickness, **ends) / np.maximum(usual, 0.05 * deep)


def bends_of_friction(*, major: Any, half_chamfer: Any, thickness: Any) -> tuple[Any, ...]:
    """Depths of the point at which `way_of_friction` bends [mm]."""
    thread = thread_length(major)
    return half_chamfer, thread, thickness + half_chamfer, thickness, thickness + thread


def shares(at: Factors, sums: np.ndarray, full: float, way: np.ndarray) -> tuple[Shares, Shares]:
    """The shares at both ends of the range.

    Parameters: our sum of the teeth in the metal along the depth [N·m], the sum of all teeth, and `way`, the length of
    thread in the hole over that of the published totals. The middle of the friction share is split off the total; what
    friction is besides lies between its ends.
    """
    split, ends = sum(at.friction) / 2, []
    for i, (scatter, wear) in enumerate(((1 / at.scatter, 1.0), (at.scatter, at.wear))):
        scale = at.cut[i] * scatter * wear
        flanks = at.friction[i] * at.fluid[i] * scale * full * way
        ends.append(Shares((1 - split) * scale * sums, (at.crowding[i] - 1) * scale * sums, flanks))
    return ends[0], ends[1]


def peaks(
    *, at: Factors, slices: ToothSlices, force: Any, hole: Any, pitch: Any, major: Any, half_chamfer: Any
) -> tuple[Any, Any]:
    """Low and high end of the largest torque [N·m] of many taps, (jobs,), as long as chips do not jam.

    Factors and sizes are arrays (jobs, 1), slices and force (jobs, teeth), `hole` as in `torque.peak_torque`. The sum
    of
    all shares turns down only where that of the teeth or that of friction does.
    """
    end = np.atleast_1d(torque.deepest_point(slices, hole, pitch))
    thickness = np.where(hole.is_through, hole.depth, np.inf)
    sizes = dict(major=major, half_chamfer=half_chamfer, thickness=thickness)
    bends = [np.broadcast_to(b, end.shape) for b in bends_of_friction(**sizes)]
    depth = np.minimum(np.concatenate([end, slices.end, slices.start + hole.depth, *bends], axis=-1), end)
    full = torque.tooth_torque(force, slices.radius).sum(axis=-1, keepdims=True)
    ends = shares(at, torque.torque_at(depth, slices, force, hole), full, way_of_friction(depth, **sizes))
    return tuple(end.total.max(axis=-1) for end in ends)  # type: ignore[return-value]


def expected_torque(
    *,
    tap: Tap,
    hole: Hole,
    workpiece: Workpiece,
    slices: ToothSlices,
    force: np.ndarray,
    curve: TorqueCurve,
    room: ChipRoom,
    fluid_name: str = "oil",
    wear: float = 1.0,
) -> ExpectedTorque:
    """Torque to expect in one job; `force` of each tooth [N], `curve` their torque along the depth, both with `wear` in
    them, without any friction."""
    at = factors(tap, workpiece, fluid_name, wear)
    thickness = hole.depth if hole.is_through else np.inf
    sizes = dict(major=tap.thread.major, half_chamfer=tap.chamfer_length / 2, thickness=thickness)
    bends = [*bends_of_friction(**sizes), np.inf if room.jams_at is None else room.jams_at]
    depth = np.unique(np.clip(np.concatenate([curve.depth, bends]), curve.depth[0], curve.depth[-1]))
    each = torque.tooth_torque(force, slices.radius)
    sums = np.interp(depth, curve.depth, curve.torque)
    low, high = shares(at, sums, float(each.sum()), way_of_friction(depth, **sizes))
    said = published.published_torque(tap, hole, workpiece)

    def back() -> GoingBack:
        return goingback.going_back(
            depth=depth,
            friction=(low.friction, high.friction),
            roots=at.cut.high * at.scatter * goingback.root_torque(depth, slices, each, hole, tap.flutes),
            free=least_turn_back(tap),
            flutes=tap.flutes,
            short=workpiece.chips == "short",
        )

    why = partial(basis, tap, workpiece, fluid_name, wear, room.jams_at)
    return ExpectedTorque(depth, low, high, room.jams_at, said, at, back, why)


# --- what it rests on -------------------------------------------------------------------------------


def basis(
    tap: Tap, workpiece: Workpiece, fluid_name: str, wear: float, open_from: float | None
) -> tuple[Sentence, ...]:
    """What the range rests on, each share in a sentence with its source or "assumed"."""
    found, used = published.resistance(workpiece.name, workpiece.group), fluid(fluid_name, workpiece.group)
    form = tables.row("torque_forms", flute_form=tap.flute_form)
    out = [
        _of_cut(found, workpiece),
        _("crowding chips: {told}", told=of_table(form["told"])),
        _(
            "friction of the finished flanks: a share by size, assumed, split off the published total; {fluid}: "
            "{source}",
            fluid=of_table(used.printed), source=of_table(used.source),
        ),
    ]  # fmt: skip
    if tap.thread.major < assumption("friction_leads_below").value:
        size = caution.friction_leads_below()
        out.append(_("below about {size} friction leads, so the ends lie wider (assumed)", size=size))
    if wear > 1:
        out.append(_("a worn tap: the upper end lies wider, as worn taps measured twice the cut and more"))
    if open_from is not None:
        at = rough_depth(open_from)
        out.append(_("from {depth} deep the chips have no room left: the torque has no upper end there", depth=at))
    return tuple(out)


def _of_cut(found: Resistance, workpiece: Workpiece) -> Sentence:
    kc = Span(found.low, found.high, "stress")
    if found.own:
        return _(
            "cut: the exact shares of the teeth, scaled to published torque with k_c {kc} for {metal} ({source})",
            kc=kc, metal=found.told, source=of_table(found.source),
        )  # fmt: skip
    return _(
        "cut: the exact shares of the teeth; no torque is published for {metal}, so k_c {kc} is taken: {told}",
        metal=workpiece.printed, kc=kc, told=of_table(found.told),
    )  # fmt: skip
