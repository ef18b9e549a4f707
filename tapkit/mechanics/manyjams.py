"""Where chips fill their room, for many jobs at once: the ledger of `chiproom` with arrays of taps."""

from typing import Any, NamedTuple

import numpy as np

from tapkit.mechanics import chiproom, toothload, torque
from tapkit.mechanics.chipreach import BELOW
from tapkit.mechanics.toothload import ToothSlices

CHUNK = 200
"""Jobs computed together, so that depths × teeth of all stay in memory."""


class KeptChips(NamedTuple):
    """Jobs whose chips do not leave: columns (jobs,). Sizes of tap and hole as in `toothload.cutters`, `depth` as in
    `sweep.Jobs` (the `cylinder` of a blind hole beside it) and `cone` below it [mm]; `fate` as in `chiproom`;
    `loose` the least bulking ratio."""

    major: Any
    pitch: Any
    flutes: Any
    chamfer_threads: Any
    point_diameter: Any
    radial_rake: Any
    core: Any
    land: Any
    bore: Any
    depth: Any
    cylinder: Any
    cone: Any
    through: Any
    loose: Any
    fate: Any
    faults: Any


def packs_at(jobs: KeptChips) -> tuple[np.ndarray, np.ndarray]:
    """Depth [mm] at which even the tightest chips fill the room, nan where they never do, and the depth at which the
    cut ends; arrays (jobs,)."""
    order = np.argsort(np.asarray(jobs.chamfer_threads) * jobs.flutes)  # jobs of like many teeth together
    packs, ends = np.empty(len(order)), np.empty(len(order))
    for start in range(0, len(order), CHUNK):
        some = order[start : start + CHUNK]
        columns = ([c[i] for i in some] if isinstance(c, list) else c[some] for c in jobs)
        packs[some], ends[some] = _packs_at(KeptChips(*columns))
    return packs, ends


def _packs_at(jobs: KeptChips) -> tuple[np.ndarray, np.ndarray]:
    found = toothload.slices(toothload.cutters(jobs))
    names = ("through", "cylinder", "depth", "bore", "cone", "pitch", "loose")
    through, *sizes, pitch, loose = (np.asarray(getattr(jobs, name), float)[:, None] for name in names)
    holes = torque.Holes(through > 0, *sizes)
    depth = _depths(found, holes, pitch)
    wanted = loose * chiproom.solid_cut(depth, found, holes, pitch)
    in_flutes = np.array([fate != BELOW for fate in jobs.fate]) * chiproom.flute_room(jobs)
    room = chiproom.room_below(depth, holes) + in_flutes[:, None] * np.clip(depth, 0.0, holes.depth)
    return chiproom.first_full(depth, wanted - room), depth[:, -1]


def _depths(found: ToothSlices, holes: Any, pitch: np.ndarray) -> np.ndarray:
    """The depths of `chiproom`, each row in order."""
    events = torque.events(found, holes, pitch)
    least, most = events.min(axis=1, keepdims=True), events.max(axis=1, keepdims=True)
    steps = least + (most - least) * np.linspace(0, 1, chiproom.STEPS)
    return np.sort(np.concatenate([events, steps, np.clip(holes.depth, least, most)], axis=1), axis=1)
