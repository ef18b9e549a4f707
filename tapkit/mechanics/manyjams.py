"""Where chips fill their room, for many jobs at once: the ledger of `chiproom` with arrays of taps."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from tapkit.geometry.solid import flute_shape
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


class _Holes(NamedTuple):
    is_through: np.ndarray
    depth: np.ndarray
    end: np.ndarray

    def tap_depth(self, pitch: Any) -> np.ndarray:
        return self.end


def packs_at(jobs: KeptChips) -> tuple[np.ndarray, np.ndarray]:
    """Depth [mm] at which even the tightest chips fill the room, nan where they never do, and the depth at which the
    cut ends; arrays (jobs,)."""
    parts = [
        _packs_at(KeptChips(*(column[i : i + CHUNK] for column in jobs))) for i in range(0, len(jobs.major), CHUNK)
    ] or [(np.zeros(0),) * 2]
    packs, ends = (np.concatenate(column) for column in zip(*parts))
    return packs, ends


def _packs_at(jobs: KeptChips) -> tuple[np.ndarray, np.ndarray]:
    sizes = jobs._asdict()
    keys = ("major", "pitch", "flutes", "chamfer_threads", "point_diameter", "bore", "faults")
    found = toothload.slices(toothload.cutters(**{key: sizes[key] for key in keys}))
    column = {key: np.asarray(value, float)[:, None] for key, value in sizes.items() if key not in ("fate", "faults")}
    holes = _Holes(column["through"] > 0, column["cylinder"], column["depth"])
    depth = _depths(found, holes, column["pitch"])
    wanted = column["loose"] * _solid(depth, found, holes, column["pitch"])
    below = np.pi * column["bore"] ** 2 / 4 * (np.maximum(column["cylinder"] - depth, 0.0) + column["cone"] / 3)
    room = np.where(holes.is_through, 0.0, below)
    stays = np.array([fate != BELOW for fate in jobs.fate])
    room += (stays * _flute_room(jobs))[:, None] * np.clip(depth, 0.0, column["cylinder"])
    return _first_full(depth, wanted - room), depth[:, -1]


def _flute_room(jobs: KeptChips) -> np.ndarray:
    """KeptChips in all flutes for each mm of length, out to the wall of the drilled hole [mm2]."""
    major, core, land, flutes, rake, pitch, bore = (
        np.asarray(v, float)
        for v in (jobs.major, jobs.core, jobs.land, jobs.flutes, jobs.radial_rake, jobs.pitch, jobs.bore)
    )
    shape = flute_shape(diameter=major, core=core, land=land, flutes=flutes, radial_rake=rake, pitch=pitch)
    return flutes * shape.area(bore / 2)


def _depths(found: ToothSlices, holes: Any, pitch: np.ndarray) -> np.ndarray:
    """The depths of `chiproom`, each row in order."""
    events = torque.events(found, holes, pitch)
    least, most = events.min(axis=1, keepdims=True), events.max(axis=1, keepdims=True)
    steps = least + (most - least) * np.linspace(0, 1, chiproom.STEPS)
    return np.sort(np.concatenate([events, steps, np.clip(holes.depth, least, most)], axis=1), axis=1)


def _solid(depth: np.ndarray, found: ToothSlices, holes: Any, pitch: np.ndarray) -> np.ndarray:
    each = 2 * np.pi * found.radius * found.area / pitch
    rate = (torque.share_in_metal(depth, found, holes) @ each[..., None])[..., 0]
    steps = np.diff(depth, axis=1) * (rate[:, 1:] + rate[:, :-1]) / 2
    return np.concatenate([np.zeros((len(depth), 1)), np.cumsum(steps, axis=1)], axis=1)


def _first_full(depth: np.ndarray, over: np.ndarray) -> np.ndarray:
    """Depth at which `over` first rises above 0, straight in between."""
    row, i = np.arange(len(depth)), np.argmax(over > 0, axis=1)
    before = np.maximum(i - 1, 0)
    gone = over[row, before] - over[row, i]
    share = np.divide(over[row, before], gone, out=np.ones(len(row)), where=gone != 0)
    at = depth[row, before] + (depth[row, i] - depth[row, before]) * share
    return np.where((over > 0).any(axis=1), np.where(i == 0, depth[:, 0], at), np.nan)
