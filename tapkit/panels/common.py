"""Controls that several panels share, and the tap and the job they stand for."""

from __future__ import annotations

from functools import cache
from types import SimpleNamespace
from typing import Any

from tapkit.geometry.designation import standard_threads
from tapkit.geometry.fluteform import form_for
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece, workpiece_names
from tapkit.operation import Operation
from tapkit.panels.controls import Pick, Slider

SMALLEST, LARGEST = 2.9, 25.5
"""Threads offered in the pickers, by major diameter [mm]: M3 to M24, #5 to 1 inch."""


@cache
def thread_names() -> tuple[str, ...]:
    """Designations offered: metric coarse and fine, then UNC and UNF, each in order of size."""
    found: list[str] = []
    for system, series in (("metric", ("coarse", "fine")), ("unified", ("UNC", "UNF"))):
        threads = (t for t in standard_threads(system) if SMALLEST <= t.major <= LARGEST)
        found += [t.designation for t in threads if t.series in series]
    return tuple(found)


def thread_pick(start: str = "M10x1.5") -> Pick:
    """Which thread."""
    return Pick(key="thread", label="Thread", options=thread_names(), start=start)


def work_pick(start: str = "C45") -> Pick:
    """Which workpiece."""
    options = tuple((Workpiece.parse(name).printed, name) for name in workpiece_names())
    return Pick(key="work", label="Workpiece", options=options, start=start)


def chamfer_slider(start: float = 4.0) -> Slider:
    """Chamfer length in threads."""
    return Slider(key="chamfer", label="Chamfer length", unit="threads", start=start, low=1, high=10, step=0.25)


def flutes_slider(start: int = 3) -> Slider:
    """Number of flutes."""
    return Slider(key="flutes", label="Flutes", start=start, low=2, high=6, step=1, whole=True)


def axial_rake_slider(start: float = -12.0) -> Slider:
    """Axial rake; its sign makes the flute form."""
    label = "Axial rake (− spiral point, + spiral flute)"
    return Slider(key="axial_rake", label=label, kind="angle", start=start, low=-20, high=45, step=1)


def radial_rake_slider(start: float = 10.0) -> Slider:
    """Radial rake of the face."""
    return Slider(key="radial_rake", label="Radial rake", kind="angle", start=start, low=-5, high=25, step=1)


def hole_slider() -> Slider:
    """Hole diameter, from too small to too wide for the thread; it starts at D − P."""
    return Slider(
        key="hole",
        label="Hole diameter",
        kind="length",
        start=lambda v: _thread(v).major - _thread(v).pitch,
        low=lambda v: _thread(v).major - 1.6 * _thread(v).pitch,
        high=lambda v: _thread(v).major + 0.1 * _thread(v).pitch,
        step=0.05,
        follows=("thread",),
    )


def deep_slider(most: float = 5) -> Slider:
    """Full thread of a blind hole, or thickness of a through part, up to `most` diameters."""
    return Slider(
        key="deep",
        label="Full thread, or thickness of the part",
        kind="length",
        start=lambda v: 2 * _thread(v).major,
        low=lambda v: 0.5 * _thread(v).major,
        high=lambda v: most * _thread(v).major,
        step=0.5,
        follows=("thread",),
    )


def _thread(values: SimpleNamespace) -> Thread:
    return Thread.parse(values.thread)


def tap_from(values: SimpleNamespace) -> Tap:
    """The tap the controls stand for; what has no control is of usual proportions."""
    given: dict[str, Any] = {k: getattr(values, k) for k in ("flutes", "radial_rake") if hasattr(values, k)}
    axial = getattr(values, "axial_rake", 0.0)
    return Tap.make(values.thread, form_for(axial), values.chamfer, axial_rake=axial, **given)


def job_from(values: SimpleNamespace, depth: float | None = None) -> Operation:
    """The job the controls stand for, in a through hole as deep as the thread is wide, or of a given `depth` [mm]."""
    tap = tap_from(values)
    hole = Hole(kind="through", diameter=values.hole, depth=depth or tap.thread.major)
    return Operation(tap=tap, hole=hole, workpiece=Workpiece.parse(values.work))
