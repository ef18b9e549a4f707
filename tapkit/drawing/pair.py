"""Two jobs side by side: each tap's tip above, the load on its teeth below, tips and loads on one scale each."""

from typing import Any

from matplotlib.figure import Figure

from tapkit.drawing.tip import draw_tip, keep_one_scale, point_at_teeth
from tapkit.drawing.toothbars import describe_toothbars, draw_toothbars, hold_one_scale
from tapkit.geometry.tapname import in_words
from tapkit.messages import Sentence, _, of_table, text
from tapkit.operation import Operation

NAMES = ("A", "B")
SIZE = (1060, 490)
"""Size of the picture in CSS pixels at laptop size."""


def draw_pair(figure: Figure, jobs: tuple[Operation, Operation], system: str, *, bottom: float = 0.0) -> list[Any]:
    """A on the left and B on the right of a figure, above `bottom` (a share of its height); returns the artists."""
    tall = 1.0 - bottom
    artists = []
    for k, job in enumerate(jobs):
        above = figure.add_axes((0.5 * k, bottom + 0.47 * tall, 0.5, 0.53 * tall))
        below = figure.add_axes((0.5 * k, bottom, 0.5, 0.47 * tall))
        artists.append((draw_tip(above, job.tap, job.hole, system=system), draw_toothbars(below, job, system=system)))
    update_pair(artists, jobs)
    return artists


def update_pair(artists: list[Any], jobs: tuple[Operation, Operation]) -> None:
    """Two other jobs on the same picture; a side that stays as it was is left alone."""
    hold_one_scale([bars for _, bars in artists], jobs)
    keep_one_scale([tip for tip, _ in artists], [job.tap for job in jobs])
    for (tip, bars), job in zip(artists, jobs):
        shown = (job, bars.memory["held"], tip.memory["scale"], tip.memory["bar"])
        if bars.drawn != shown:
            draw_tip.update(tip, job.tap, job.hole)
            point_at_teeth(tip, job)
            draw_toothbars.update(bars, job)
            bars.drawn = shown


def describe_pair(jobs: tuple[Operation, Operation], system: str = "metric") -> str:
    """Both set-ups in words; also the alt text."""
    told = [(_set_up(name, job), describe_toothbars(job, system=system)) for name, job in zip(NAMES, jobs)]
    return text(*(part for pair in told for part in pair)).said(system)


def _set_up(name: str, job: Operation) -> Sentence:
    named = dict(
        name=name,
        thread=job.tap.thread.designation,
        tap=in_words(job.tap),
        metal=of_table(job.workpiece.printed),
    )
    if job.hole.is_through:
        return _("{name}: {thread} {tap} in {metal}, through hole.", **named)
    return _("{name}: {thread} {tap} in {metal}, blind hole.", **named)
