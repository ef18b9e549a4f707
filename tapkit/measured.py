"""Torque that was measured, against the model: a wrench reading, or a trace along time or depth.

    M(z) = w · S(z − z0) + f · F · way(z − z0) + idle

S is our sum of tooth forces in the metal, F that of all teeth, `way` the thread in the hole as in `mechanics.expected`:
the same two shapes of which the torque to expect is made. w holds cutting and crowding together: both rise and fall
with S, so no trace can tell them apart; what each can be follows from w and the ranges of the model. The fit is by
least squares (Gauss and Newton) with w and f not below 0; spreads are 95 % of the linear theory, widened for readings
that follow one another too closely to be independent.
"""

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from tapkit.mechanics import expected, torque
from tapkit.messages import Number, Sentence, _, length
from tapkit.messages import torque as torque_of

if TYPE_CHECKING:
    from tapkit.operation import Operation

TWO_SIDED = 2.1
"""Standard deviations on either side of a value: 1.96 hold 95 % of a normal distribution, and the curves' bends, which
linear theory leaves out, widen what is found by 4 to 5 %."""
LEAST_READINGS = 12
"""Fewer readings than this say nothing of shape and noise at once."""
WELL, ROUGHLY = 0.1, 0.4
"""Spread to either side, as a share of the value, up to which a factor is well, or roughly, determined."""


class Factor(NamedTuple):
    """A factor on our sum: its `value`, `low` and `high` end of its spread, the `expected` range of the model, and
    whether the measurement itself determines it (`told`), or only together with the model's ranges."""

    value: float
    low: float
    high: float
    expected: tuple[float, float]
    told: bool

    @property
    def determined(self) -> str:
        """How well: "well", "roughly" or "not"."""
        half = (self.high - self.low) / 2
        share = half / self.value if self.value > 0 else np.inf
        return "well" if share <= WELL else "roughly" if share <= ROUGHLY else "not"


class Trace(NamedTuple):
    """Readings: `depth` of the point [mm] and `torque` [N·m], arrays (readings,)."""

    depth: np.ndarray
    torque: np.ndarray


class Fit(NamedTuple):
    """The measurement explained. `whole` w, of it `cut` and `crowding`, and `friction` f, as `Factor`s; `shift` of the
    depth [mm] and `idle` torque [N·m] found, `noise` (standard deviation of a reading) [N·m]; `peak` of the fitted
    curve without idle torque [N·m]; `margin` least and most, torque at breakage over that peak; `curve` the fitted
    torque at each reading [N·m]."""

    whole: Factor
    cut: Factor
    crowding: Factor
    friction: Factor
    shift: float
    idle: float
    noise: float
    peak: float
    margin: tuple[float, float]
    curve: np.ndarray

    def in_words(self) -> tuple[Sentence, ...]:
        """What was found, each in one sentence."""
        return (_factor(_("Cutting and crowding together"), self.whole), _factor(_("Friction"), self.friction),
                _apart(self.whole, self.cut, self.crowding), _margin(self.peak, self.margin))  # fmt: skip


# --- readings -----------------------------------------------------------------------------------------


def wrench_torque(wrench: float, pull: float) -> float:
    """Torque [N·m] of a tap wrench: `pull` of each hand [N] at the ends of a wrench of length [mm] over both handles,
    or of one hand at a lever of that length. Statics: a couple is force times distance.

    >>> wrench_torque(250, 40)
    10.0
    """
    if not (0 < wrench <= 3000 and 0 < pull <= 5000):
        raise ValueError(
            _(
                "a wrench of {wrench} and the pull given make no torque one can read; write length and pull like "
                "250 mm and 40 N",
                wrench=length(wrench),
            )
        )
    return wrench * pull / 1000


# --- the model's two shapes -----------------------------------------------------------------------------


class Shapes(NamedTuple):
    """Torque for w = 1 and f = 1 [N·m], `made` (nodes, 2), against `depth` of the point [mm]; straight in between."""

    depth: np.ndarray
    made: np.ndarray

    def at(self, depth: np.ndarray) -> np.ndarray:
        """Both at each depth, (readings, 2); before the first node nothing, behind the last as there."""
        return np.column_stack([np.interp(depth, self.depth, column) for column in self.made.T])


def shapes(job: "Operation") -> Shapes:
    """The two shapes of a job, exact at every bend."""
    each = torque.tooth_torque(job.tooth_loads.force, job.slices.radius)
    depth = job.expected_torque.depth
    sums = torque.torque_at(depth, job.slices, job.tooth_loads.force, job.hole)
    thickness = job.hole.depth if job.hole.is_through else np.inf
    sizes = dict(major=job.tap.thread.major, half_chamfer=job.tap.chamfer_length / 2, thickness=thickness)
    return Shapes(depth, np.column_stack([sums, each.sum() * expected.way_of_friction(depth, **sizes)]))


def expected_factors(job: "Operation") -> dict[str, tuple[float, float]]:
    """The model's own ranges of `cut`, `crowding` and `friction`, as factors."""
    at = expected.factors(job.tap, job.workpiece, job.fluid, job.wear_factor)
    one = np.ones(1)
    low, high = expected.shares(at, one, 1.0, one)
    return {name: (float(getattr(low, name)[0]), float(getattr(high, name)[0])) for name in expected.Shares._fields}


# --- fitting --------------------------------------------------------------------------------------------


def fit(job: "Operation", trace: Trace, *, align: bool = True, idle: bool = True) -> Fit:
    """The factors that explain a trace best; `align` finds how far its depths are shifted, `idle` a torque that is
    there without cutting.

    Raises ValueError in one sentence for a trace with too few readings, or one that cannot be of this job.
    """
    depth, values = (np.asarray(c, float) for c in trace)
    if len(depth) < LEAST_READINGS or not (np.isfinite(depth).all() and np.isfinite(values).all()):
        raise ValueError(_("a trace needs at least {least} plain readings", least=LEAST_READINGS))
    of, pitch = shapes(job), job.tap.thread.pitch
    shift = _best_shift(of, depth, values, pitch / 4, idle) if align else 0.0
    for _turn in range(8 if align else 0):
        step = _solve(of, depth, values, shift, pitch, idle)[0][-1]
        shift += float(np.clip(step, -pitch / 8, pitch / 8))
    found, spread, curve, noise = _solve(of, depth, values, shift, pitch if align else None, idle)
    if found[0] <= 0 and found[1] <= 0:
        raise ValueError(_("this trace rises nowhere as tapping does; look at its columns and their units"))
    return _explained(job, found, spread, curve, noise, shift, idle)


def _columns(of: Shapes, at: np.ndarray, idle: bool) -> np.ndarray:
    made = of.at(at)
    return np.column_stack([made, np.ones(len(at))]) if idle else made


def _bounded(columns: np.ndarray, values: np.ndarray) -> tuple[np.ndarray, list[int]]:
    """Least squares with the first two factors not below 0, and the columns that are free."""
    free = list(range(columns.shape[1]))
    while True:
        found = np.zeros(columns.shape[1])
        found[free] = np.linalg.lstsq(columns[:, free], values, rcond=None)[0]
        wrong = [i for i in (0, 1) if found[i] < 0]
        if not wrong:
            return found, free
        free.remove(min(wrong, key=lambda i: found[i]))


def _best_shift(of: Shapes, depth: np.ndarray, values: np.ndarray, step: float, idle: bool) -> float:
    """The shift with least squares on a grid, wherever the trace can lie."""
    reach = of.depth[-1]
    tried = np.arange(depth[0] - reach / 2, depth[-1] - reach / 4 + 1e-9, step)
    tried = np.append(tried, 0.0)
    at = depth - tried[:, None]
    columns = _columns(of, at.ravel(), idle).reshape(*at.shape, -1)
    return float(tried[np.argmin(_left(columns, values))])


def _left(columns: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Sum of squares that each of many sets of columns (sets, readings, columns) leaves, the first two factors not
    below 0, as `_bounded` finds them."""
    free = np.ones((len(columns), columns.shape[2]), bool)
    while True:
        used = columns * free[:, None, :]
        square = used.transpose(0, 2, 1) @ used
        found = (np.linalg.pinv(square, hermitian=True) @ (used.transpose(0, 2, 1) @ values)[..., None])[..., 0]
        wrong = np.where(found[:, :2] < -1e-9 * np.abs(found).max(1, keepdims=True), found[:, :2], 0.0)
        if not wrong.any():
            return ((np.einsum("srk,sk->sr", used, found) - values) ** 2).sum(1)
        free[np.flatnonzero(wrong.any(1)), wrong.argmin(1)[wrong.any(1)]] = False


def _solve(
    of: Shapes, depth: np.ndarray, values: np.ndarray, shift: float, pitch: float | None, idle: bool
) -> tuple[np.ndarray, np.ndarray, np.ndarray, float]:
    """Factors (w, f, idle where asked, further shift where a pitch is given), their deviations, curve and noise."""
    columns = _columns(of, depth - shift, idle)
    found, _free = _bounded(columns, values)
    if pitch:
        eps = pitch / 40
        ahead, behind = (_columns(of, depth - shift + s * eps, idle) for s in (-1, 1))
        slope = (ahead - behind) @ found / (2 * eps)
        columns = np.column_stack([columns, slope])
    found, free = _bounded(columns, values)
    curve = columns @ found
    rest = values - curve
    noise2 = float(rest @ rest) / max(len(values) - len(free), 1)
    inverse = np.linalg.pinv(columns.T @ columns)  # a factor that stands at 0 leaves the others no surer
    spread = np.sqrt(np.clip(np.diag(inverse), 0, None) * noise2 * _likeness(rest))
    return found, spread, curve, float(np.sqrt(noise2))


def _likeness(rest: np.ndarray) -> float:
    """How much wider the spread is because readings follow one another, (1 + r)/(1 − r) of neighbours; at least 1."""
    power = float(rest @ rest)
    r = float(rest[1:] @ rest[:-1]) / power if power > 0 else 0.0
    return float((1 + min(max(r, 0.0), 0.98)) / (1 - min(max(r, 0.0), 0.98)))


def _explained(
    job: "Operation", found: np.ndarray, spread: np.ndarray, curve: np.ndarray, noise: float, shift: float, idle: bool
) -> Fit:
    ranges = expected_factors(job)
    whole_range = tuple(a + b for a, b in zip(ranges["cut"], ranges["crowding"]))
    whole = _factor_of(found[0], spread[0], whole_range)
    friction = _factor_of(found[1], spread[1], ranges["friction"])
    peak = float((shapes(job).made @ found[:2]).max())
    cut, crowding = split(whole, ranges["cut"], ranges["crowding"])
    ends = tuple(float(end / peak) for end in job.breakage.torque_range)
    return Fit(whole, cut, crowding, friction, shift, float(found[2]) if idle else 0.0, noise, peak, ends, curve)


def _factor_of(value: float, spread: float, ranged: tuple[float, ...]) -> Factor:
    half = TWO_SIDED * float(spread)
    return Factor(float(value), max(float(value) - half, 0.0), float(value) + half, (ranged[0], ranged[1]), True)


def split(whole: Factor, cut: tuple[float, float], crowding: tuple[float, float]) -> tuple[Factor, Factor]:
    """What cutting and crowding can each be, where their sum was measured and the model has a range for each; where
    the sum is outside what these allow, both are where the ranges end.

    >>> both = split(Factor(1.5, 1.4, 1.6, (1.0, 2.0), True), (0.9, 1.3), (0.0, 0.8))
    >>> [tuple(round(v, 3) for v in one[:3]) for one in both]
    [(1.1, 0.9, 1.3), (0.4, 0.1, 0.7)]
    """
    ends = []
    for own, other in ((cut, crowding), (crowding, cut)):
        low = min(max(own[0], whole.low - other[1]), own[1])
        high = max(min(own[1], whole.high - other[0]), own[0])
        ends.append(Factor((low + high) / 2, min(low, high), max(low, high), own, False))
    return ends[0], ends[1]


def from_reading(job: "Operation", measured: float, *, depth: float | None = None, error: float = 0.1) -> Fit:
    """What one torque [N·m] says, read with the point at a depth [mm] (None: the largest of the whole hole), with a
    share of `error` to either side: the height of the curve alone. How it is shared out follows from the model."""
    if not (np.isfinite(measured) and measured > 0):
        raise ValueError(_("a torque that was measured is above 0; this is {torque}", torque=torque_of(measured)))
    of, ranges = shapes(job), expected_factors(job)
    made = of.made if depth is None else of.at(np.array([float(depth)]))
    whole = tuple(a + b for a, b in zip(ranges["cut"], ranges["crowding"]))
    middle = np.array([sum(whole) / 2, sum(ranges["friction"]) / 2])
    there = float((made @ middle).max())
    if there <= 0:
        raise ValueError(
            _("with the point {depth} deep nothing is cut yet; read the torque deeper", depth=length(depth or 0))
        )
    row = made[int(np.argmax(made @ middle))]
    ends = []
    for i, (own, other) in enumerate(((whole, ranges["friction"]), (ranges["friction"], whole))):
        low, high = (
            np.clip(((1 + s * error) * measured - row[1 - i] * o) / row[i], 0, None) if row[i] else 0.0
            for s, o in ((-1, other[1]), (1, other[0]))
        )
        value = middle[i] * measured / there
        ends.append(Factor(float(value), float(min(low, value)), float(max(high, value)), own, False))
    peak = float((of.made @ middle).max()) * measured / there
    margins = (job.breakage.torque_range[0] / peak / (1 + error), job.breakage.torque_range[1] / peak / (1 - error))
    cut, crowding = split(ends[0], ranges["cut"], ranges["crowding"])
    return Fit(ends[0], cut, crowding, ends[1], 0.0, 0.0, error * measured, peak, margins, np.array([measured]))


# --- words ----------------------------------------------------------------------------------------------


def _factor(name: Sentence, one: Factor) -> Sentence:
    named = dict(
        name=name,
        low=Number(one.low, 2),
        high=Number(one.high, 2),
        least=Number(one.expected[0], 2),
        most=Number(one.expected[1], 2),
    )
    if not one.told:
        return _(
            "{name}: {low} to {high} times our sum, by the model's ranges and one reading; expected {least} to {most}",
            **named,
        )
    if one.determined == "not":
        return _(
            "{name}: {low} to {high} times our sum; this trace hardly determines it; expected {least} to {most}",
            **named,
        )
    if one.determined == "roughly":
        return _("{name}: {low} to {high} times our sum, roughly determined; expected {least} to {most}", **named)
    return _("{name}: {low} to {high} times our sum, well determined; expected {least} to {most}", **named)


def _apart(whole: Factor, cut: Factor, crowding: Factor) -> Sentence:
    if whole.low > whole.expected[1] or whole.high < whole.expected[0]:
        return _(
            "Torque alone does not tell cutting from crowding; their sum lies outside the model's ranges, so how they "
            "share it is not determined"
        )
    return _(
        "Torque alone does not tell cutting from crowding, both rise and fall with the teeth in the metal; by the "
        "model's ranges cutting is {cut_low} to {cut_high} of it and crowding {low} to {high}",
        cut_low=Number(cut.low, 2),
        cut_high=Number(cut.high, 2),
        low=Number(crowding.low, 2),
        high=Number(crowding.high, 2),
    )


def _margin(peak: float, ends: tuple[float, float]) -> Sentence:
    return _(
        "The largest torque is {torque}; the tap bears {margin} times that",
        torque=torque_of(peak, digits=2),
        margin=_("{low} to {high}", low=Number(ends[0], 2), high=Number(ends[1], 2)),
    )
