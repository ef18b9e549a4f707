"""What traces of torque tell besides the factors of `measured`: faults the model knows, and wear from hole to hole."""

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from tapkit.measured import LEAST_READINGS, Fit, Trace, expected_factors, fit, shapes
from tapkit.messages import Number, Sentence, Span, _, rough_depth, torque

if TYPE_CHECKING:
    from tapkit.operation import Operation

SURE = 4.0
"""Standard deviations a sign must stand out by before it is called one."""
EARLY, TAIL = 0.65, 0.4
"""Share of the way in that is taken for sound, and share of the rest, at its end, in which packing must show."""


class Signs(NamedTuple):
    """Faults in a trace: depth [mm] from which it rises over the fit (chips pack), or None; largest torque going back
    [N·m], or None; swing once a turn to either side of the curve (a crooked start or runout) [N·m], or None."""

    packs_from: float | None
    going_back: float | None
    swing: float | None

    def in_words(self) -> tuple[Sentence, ...]:
        """Each fault seen, in a sentence; one that says so where there is none."""
        told = []
        if self.packs_from is not None:
            told.append(
                _(
                    "From {depth} on the torque climbs over the curve: chips pack in the flutes or below the point. "
                    "Curve and margin are of what lies before.",
                    depth=rough_depth(self.packs_from),
                )
            )
        if self.going_back is not None:
            back = torque(self.going_back, digits=2)
            told.append(_("Going back takes up to {back}: friction, and the chip roots sheared off.", back=back))
        if self.swing is not None:
            told.append(
                _(
                    "The torque swings by {swing} to either side once a turn: a crooked start, or a tap that runs out.",
                    swing=torque(self.swing, digits=2),
                )
            )
        return tuple(told) or (_("No packing, no crooked start, no going back is seen in this trace."),)


class Wear(NamedTuple):
    """Torque from hole to hole: `peaks` [N·m] of `holes` 1, 2, …; `growth` [N·m a hole] with its `spread` to either
    side (95 %); the first and the last hole at which it may reach the least torque the tap breaks at, `bears` [N·m];
    None for the last where the growth may be none, and None where it cannot grow there at all."""

    holes: np.ndarray
    peaks: np.ndarray
    start: float
    growth: float
    spread: float
    bears: float
    crosses: tuple[float, float | None] | None

    def in_words(self) -> Sentence:
        """Whether it grows, and where it crosses what the tap bears."""
        grows = Span(self.growth - self.spread, self.growth + self.spread, "torque", digits=2)
        if self.crosses is None:
            return _("From hole to hole the torque does not grow beyond its scatter ({grows} a hole).", grows=grows)
        first, last = self.crosses
        told = dict(grows=grows, bears=torque(self.bears, digits=2), first=Number(first, decimals=0))
        if last is None:
            return _(
                "The torque may grow by {grows} a hole; it would reach what the weakest such tap bears, {bears}, at "
                "hole {first} at the earliest.",
                **told,
            )
        return _(
            "The torque grows by {grows} a hole; it reaches what the weakest such tap bears, {bears}, between hole "
            "{first} and hole {last}, if it goes on like that: change the tap well before.",
            last=Number(last, decimals=0),
            **told,
        )


def going_in(trace: Trace) -> Trace:
    """A trace up to where the tap is turned back: where torque falls below what noise makes of nothing."""
    depth, values = trace
    low = _noise(values)
    after = np.flatnonzero((values < -SURE * low) & (np.arange(len(values)) > np.argmax(values)))
    end = int(after[0]) if len(after) else len(values)
    return Trace(depth[:end], values[:end]) if end >= LEAST_READINGS else trace


def before_jam(job: "Operation", trace: Trace) -> Trace:
    """What goes in, up to where chips begin to pack: behind it the torque is not that of cutting and friction."""
    inward = going_in(trace)
    packs_from = _packs_from(job, inward)
    end = 0 if packs_from is None else int(np.argmax(inward.depth > packs_from))
    return Trace(inward.depth[:end], inward.torque[:end]) if end >= LEAST_READINGS else inward


def _noise(values: np.ndarray) -> float:
    """Standard deviation of a reading from how neighbours differ (median of absolute differences, over 0.954)."""
    return float(np.median(np.abs(np.diff(values)))) / 0.954 + 1e-9


def signs(job: "Operation", trace: Trace, found: Fit) -> Signs:
    """Faults seen in a trace, held against the curve that was fitted to what went in, or to its part before a jam."""
    inward = going_in(trace)
    fitted_to = Trace(*(column[: len(found.curve)] for column in inward))
    rest = fitted_to.torque - found.curve[: len(fitted_to.torque)]
    back = trace.torque[len(inward.torque) :]
    least = float(-back.min()) if len(back) else 0.0
    return Signs(_packs_from(job, inward), least or None, _swing(fitted_to, rest, job.tap.thread.pitch))


def _packs_from(job: "Operation", trace: Trace) -> float | None:
    """Where the readings leave, upward and for good, the curve fitted to the first part of the way in; friction is
    given all that the model allows, so that what climbs over it is more than thread in the hole."""
    end = job.hole.depth if job.hole.is_through else job.tapped_depth
    early = trace.depth < trace.depth[0] + EARLY * (end - trace.depth[0])
    if early.sum() < LEAST_READINGS:
        return None
    try:
        found = fit(job, Trace(trace.depth[early], trace.torque[early]), align=False)
    except ValueError:
        return None
    allowed = expected_factors(job)["friction"][1]
    curve = shapes(job).at(trace.depth) @ np.array([found.whole.value, max(found.friction.value, allowed)])
    over = trace.torque - curve - float(np.mean((trace.torque - curve)[early][-LEAST_READINGS // 2 :]))
    late = (trace.depth <= end) & ~early
    noise = _noise(trace.torque)
    tail = np.flatnonzero(late)[-max(int(late.sum() * TAIL), 4) :]
    if len(tail) < 4 or over[tail].mean() < max(SURE * noise / np.sqrt(len(tail)), 0.08 * found.peak):
        return None
    below = np.flatnonzero(late & (over <= noise))
    return float(trace.depth[int(below[-1]) if len(below) else np.flatnonzero(late)[0]])


def _swing(trace: Trace, rest: np.ndarray, pitch: float) -> float | None:
    """Half the swing of a wave once a turn in what the curve leaves, fitted by least squares, where it stands out."""
    turns = 2 * np.pi * trace.depth / pitch
    if np.ptp(trace.depth) < 3 * pitch:
        return None
    columns = np.column_stack([np.cos(turns), np.sin(turns), np.ones(len(turns)), turns])
    wave = np.linalg.lstsq(columns, rest, rcond=None)[0]
    size = float(np.hypot(wave[0], wave[1]))
    left = float(np.std(rest - columns @ wave))
    return size if size > SURE * left * np.sqrt(2 / len(rest)) and size > 0.3 * left else None


def wear(job: "Operation", fits: tuple[Fit, ...]) -> Wear:
    """How the torque of one tap moves from hole to hole: a straight line by least squares through the peaks.

    Raises ValueError for fewer than three holes.
    """
    if len(fits) < 3:
        raise ValueError(_("wear needs the traces of at least three holes; there are {n}", n=len(fits)))
    holes, peaks = np.arange(1.0, len(fits) + 1), np.array([one.peak for one in fits])
    middle = holes.mean()
    across = ((holes - middle) ** 2).sum()
    growth = float(((holes - middle) * peaks).sum() / across)
    start = float(peaks.mean() - growth * middle)
    rest = peaks - start - growth * holes
    spread = T95[min(len(fits) - 2, len(T95) - 1)] * float(np.sqrt((rest @ rest) / (len(fits) - 2) / across))
    bears = float(job.breakage.torque_range[0])
    return Wear(holes, peaks, start, growth, spread, bears, _crossing(growth, spread, peaks.mean(), middle, bears))


T95 = (0.0, 12.71, 4.30, 3.18, 2.78, 2.57, 2.45, 2.36, 2.31, 2.26, 2.23, 2.20, 2.18, 2.16, 2.14, 2.13, 1.96)
"""Student's t, two-sided 95 %, by degrees of freedom; the last for more (any table of t)."""


def _crossing(
    growth: float, spread: float, level: float, middle: float, bears: float
) -> tuple[float, float | None] | None:
    fast, slow = growth + spread, growth - spread
    if fast <= 0:
        return None
    first = middle + (bears - level) / fast
    return max(first, 1.0), (max(middle + (bears - level) / slow, 1.0) if slow > 0 else None)


BELOW = 0.1
"""Share of what a trace rises by that a fit may begin below every reading of it."""


def fitted(job: "Operation", traces: tuple[Trace, ...]) -> tuple[Fit, ...]:
    """The fit of what goes in before any jam, hole by hole. ValueError where a rise of this job would have to begin
    below all that was read, so that its largest torque would be no reading's."""
    fits = tuple(fit(job, before_jam(job, trace)) for trace in traces)
    for found, trace in zip(fits, traces):
        if found.idle < trace.torque.min() - BELOW * np.ptp(trace.torque):
            raise ValueError(
                _(
                    "this trace does not rise as this job does: its rise would begin at {idle}, below every reading; "
                    "look at the depth of the hole and the chamfer, and leave out what was read after the cut",
                    idle=torque(found.idle, digits=2),
                )
            )
    return fits
