"""The what-if chart of the bench: both jobs over one quantity, with where they would be scrap."""

import itertools
from collections.abc import Callable
from functools import lru_cache
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from tapkit import units, whatif
from tapkit.drawing.pair import NAMES
from tapkit.drawing.sweepchart import GO, MAYBE, NO_GO, OVER, Curve, Scrap, SweepPicture, draw_sweepchart
from tapkit.mechanics import gauges
from tapkit.messages import Sentence, _, of_table
from tapkit.operation import Operation
from tapkit.parameters import Parameter, changed, present, sweep_range

SWEEP_POINTS = 41


def draw_chart(figure: Figure, picture: SweepPicture, system: str) -> Any:
    """The what-if chart, filling the figure."""
    return draw_sweepchart(figure.add_axes((0, 0, 1, 1)), picture)


def sweep_picture(jobs: tuple[Operation, Operation], what: str, result: str, system: str = "metric") -> SweepPicture:
    """The what-if chart of both jobs, over the range of the bench's own control for that quantity."""
    x, y = whatif.quantity(what), whatif.quantity(result, "result")
    low, high = sweep_range(x, jobs)
    x_kind, y_kind = (q.quantity for q in (x, y))
    x_scale, y_scale = (units.convert(1.0, k, system) if k else 1.0 for k in (x_kind, y_kind))
    curves = []
    for name, job in zip(NAMES, jobs):
        apart = _apart_from(job, x, low)
        values, found, jams = _swept(apart, what, result, low, high)
        here = present(job, x)
        now = float(whatif.run(job, what, [here]).of(result)[0])
        scrap = [Scrap(a * x_scale, b * x_scale, why) for a, b, why in _scrap(apart, what, low, high)]
        curves.append(Curve(name, values * x_scale, found * y_scale, (here * x_scale, now * y_scale), jams, scrap))
    return SweepPicture(curves, _title(x, system), _title(y, system), whatif.NO_END.get(result, ""))


@lru_cache(maxsize=16)
def _scrap(job: Operation, what: str, low: float, high: float) -> tuple[Scrap, ...]:
    """Where in a sweep the thread is scrap by its hole or its gauges, to a millionth of the range; the last few are
    kept."""
    one = whatif.quantity(what)
    values = np.arange(low, high + 1) if what == "flutes" else np.linspace(low, high, SWEEP_POINTS)
    found, start, here = [], low, _why_scrap(job, one, low)
    for a, b in itertools.pairwise(values):
        after = _why_scrap(job, one, b)
        if here is not None and after not in (here, None):
            end = _border(lambda v, here=here: _why_scrap(job, one, v) == here, float(a), float(b))
            found.append(Scrap(start, end, here))
            start = end
        here = here if after is None else after  # where no tap can be, the stretch before goes on
    return tuple(s for s in (*found, Scrap(start, high, here or "")) if s.why)


def _border(holds: Callable[[float], bool], a: float, b: float) -> float:
    """Where between a and b something ends that holds at a."""
    for _i in range(20):
        middle = (a + b) / 2
        a, b = (middle, b) if holds(middle) else (a, middle)
    return (a + b) / 2


def _why_scrap(job: Operation, what: Parameter, value: float) -> str | None:
    """Why the thread of a job is scrap with a quantity at a value; "" where it is not, None where it cannot be made."""
    try:
        job = changed(job, [(what, value)])
    except ValueError:
        return None
    if job.hole.diameter > job.tap.thread.limits.minor_max + 1e-9:
        return OVER
    if job.gauges.go == gauges.OUT:
        return GO
    return {gauges.IN: NO_GO, gauges.PERHAPS: MAYBE}.get(job.gauges.no_go, "")


def _apart_from(job: Operation, what: Parameter, value: float) -> Operation:
    """One job for all that differ in one quantity alone; the job itself where the value cannot be set and set back."""
    try:
        other = changed(job, [(what, value)])
        return other if changed(other, [(what, present(job, what))]) == job else job
    except ValueError:
        return job


@lru_cache(maxsize=16)
def _swept(job: Operation, what: str, result: str, low: float, high: float) -> tuple[np.ndarray, ...]:
    """A quantity over a range, what comes out, and where chips jam if that matters; the last few are kept, as most
    moves leave a curve as it was."""
    values = np.arange(low, high + 1) if what == "flutes" else np.linspace(low, high, SWEEP_POINTS)
    found = whatif.run(job, what, values).of(result)
    return values, found, whatif.jams(job, what, values) if result in whatif.NO_END else np.zeros(len(values), bool)


def _title(quantity: Parameter, system: str) -> Sentence:
    label, unit = of_table(quantity.label), quantity.unit_in(system)
    if not unit:
        return label
    return _("{label}, {unit}", label=label, unit=unit if quantity.quantity else of_table(unit))
