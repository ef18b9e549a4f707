"""The film of a cut as numbers: the part, the groove as every tooth leaves it, and the chips, for the tap in the round.

The browser turns and sinks the tap by its lead, takes the groove's surface from the envelope of `mechanics.toothload`
(tooth by tooth), and lets each chip leave its tooth along `ChipFlow.vector`. Whatever is shown is a function of the
depth alone, so that the film can be wound to and fro.
"""

import math
import zlib
from typing import Any, NamedTuple

import numpy as np

from tapkit.drawing import filmwords
from tapkit.mechanics import chipflow, toothload, torque
from tapkit.mechanics.chiproom import BELOW, LEAVES
from tapkit.operation import Operation

SAMPLES = 65
"""Places across one pitch at which the groove's radius is told."""
STANDS = 0.55
"""Where the point stands while the film asks, as a share of the hole's depth."""
WALL, FLOOR = 0.85, 0.45
"""Metal drawn around the hole and under a blind one, in major diameters."""
STEEL, STAINLESS, ALUMINIUM = (0.42, 0.40, 0.38), (0.50, 0.47, 0.42), (0.72, 0.73, 0.75)


class ChipMetal(NamedTuple):
    """How the chips of a group of metals are drawn: `shade` linear red, green, blue; `curl` radius of their curls as a
    share of what the flute has room for; `hot` how soon they temper, steel 1, None where they keep their colour. A
    choice of the drawing. `dull` 1 for what is no metal."""

    shade: tuple[float, float, float]
    curl: float
    hot: float | None = None
    dull: float = 0.0


METALS = {
    "steel": ChipMetal(STEEL, 0.90, 1.0),
    "alloy steel": ChipMetal(STEEL, 0.82, 1.1),
    "tool steel": ChipMetal(STEEL, 0.75, 1.2),
    "austenitic stainless": ChipMetal(STAINLESS, 0.74, 1.7),
    "hardening stainless": ChipMetal(STAINLESS, 0.78, 1.5),
    "titanium": ChipMetal((0.34, 0.31, 0.30), 0.62, 2.6),
    "nickel alloy": ChipMetal((0.46, 0.43, 0.39), 0.66, 2.4),
    "grey iron": ChipMetal((0.10, 0.10, 0.11), 1.0),
    "ductile iron": ChipMetal((0.14, 0.14, 0.15), 0.80),
    "leaded brass": ChipMetal((0.62, 0.45, 0.13), 1.0),
    "bronze": ChipMetal((0.58, 0.34, 0.15), 0.85),
    "copper": ChipMetal((0.74, 0.33, 0.18), 1.0),
    "wrought aluminium": ChipMetal(ALUMINIUM, 0.96),
    "cast aluminium": ChipMetal(ALUMINIUM, 0.80),
    "plastic": ChipMetal((0.80, 0.80, 0.77), 1.0, dull=1.0),
}
TEMPER = ((0.0, None), (0.35, None), (0.6, (0.56, 0.38, 0.13)), (0.8, (0.24, 0.13, 0.20)), (1.0, (0.09, 0.14, 0.31)))
"""How such chips turn straw, purple and blue as they come off hotter; None is the metal's own colour. Heat is the
cutting speed as a share of `HOT` [m/min], times the metal's `hot`; a choice of the drawing."""
HOT = {"dry": 45.0, "emulsion": 120.0, "oil": 90.0}
SLICK = {"dry": 1.0, "emulsion": 0.92, "oil": 0.86}
"""Where the chip slides better on the face it curls more tightly."""


def film(job: Operation, asking: bool = False) -> dict[str, Any]:
    """What the browser needs to show a job being cut; lengths in mm, angles in radians, torque in N·m, room in mm3.
    Where it is `asking`, the film stands still and holds nothing that tells where the chips go or what comes of it."""
    return _cut(job) | (_asked(job) if asking else _told(job))


def _cut(job: Operation) -> dict[str, Any]:
    """The groove, the part and the teeth."""
    tap, hole, pitch = job.tap, job.hole, job.tap.thread.pitch
    x = np.linspace(-pitch / 2, pitch / 2, SAMPLES)
    groove = toothload.envelope(tap, hole, job.faults, x)
    low, high = hole.diameter / 2, float(groove.swept.max())
    levels = np.rint((groove.swept - low) / (high - low) * 65535).astype("<u2")
    loads = job.tooth_loads
    return {
        "pitch": pitch,
        "secondsPerTurn": filmwords.seconds_of_a_turn(job),
        "spacing": tap.tooth_spacing,
        "first": float(groove.position[0]),
        "hole": low,
        "groove": high,
        "rows": int(levels.shape[0]),
        "samples": SAMPLES,
        "levels": levels.tobytes(),
        "through": hole.is_through,
        "deep": hole.depth,
        "cone": 0.0 if hole.is_through else float(hole.cone_depth),
        "metal": _metal(job).shade,
        "dull": _metal(job).dull,
        "thick": hole.depth + (0.0 if hole.is_through else float(hole.cone_depth) + FLOOR * tap.thread.major),
        "wall": low + WALL * tap.thread.major,
        "begin": float(torque.first_touch(job.slices)),
        "end": float(torque.deepest_point(job.slices, hole, pitch)),
        "teeth": [
            {"number": int(n), "width": float(w), "thick": float(h)}
            for n, w, h, a in zip(loads.number, loads.width, loads.thickness, loads.area)
            if a > 0
        ],
    }


def _asked(job: Operation) -> dict[str, Any]:
    return {"stands": STANDS * job.hole.depth, "chips": None, "torque": None, "room": None, "packs": None}


def _told(job: Operation) -> dict[str, Any]:
    """Where the chips go, the room they fill and the torque, by depth."""
    room, expected = job.chip_room, job.expected_torque
    ledger = {"depth": room.depth, "low": room.loose_low, "high": room.loose_high, "room": room.room}
    torque_ = {"depth": expected.depth, "low": expected.low.total, "high": expected.high.total}
    return {
        "stands": None,
        "chips": _chips(job),
        "packs": room.packs_at,
        "mayPack": room.may_pack_at,
        "openFrom": expected.open_from,
        "room": None if room.fate == LEAVES else _lists(ledger),
        "torque": _lists(torque_),
    }


def _metal(job: Operation) -> ChipMetal:
    return METALS.get(job.workpiece.group, ChipMetal(STEEL, 0.9))


def _tempered(job: Operation) -> list[float]:
    """Colour of the chips at this speed with this fluid."""
    own = _metal(job).shade
    heat = (_metal(job).hot or 0.0) * filmwords.shown_speed(job) / HOT.get(job.fluid, HOT["oil"])
    steps, colours = [h for h, _c in TEMPER], [c or own for _h, c in TEMPER]
    return [float(np.interp(heat, steps, channel)) for channel in zip(*colours)]


def _lists(arrays: dict[str, np.ndarray]) -> dict[str, list[float]]:
    return {key: np.round(values, 4).tolist() for key, values in arrays.items()}


def _chips(job: Operation) -> dict[str, Any]:
    """How chips look and move: `vector` (outward, cutting, axial) at birth, `drift` along the tap for each mm of depth,
    positive toward the shank, `way` out, `curl` radius, at most `tight` of
    what the flute has room for, and windings; `seed` of what chance decides, each metal and fluid its own."""
    tap, flow, row = job.tap, job.chip_flow, filmwords.looks(job)
    speed = float(row["speed"]) * math.pi * tap.thread.major / tap.thread.pitch  # of the chip, for each mm of depth
    edge = chipflow.chamfer_edge(**job.edge_angles)
    drift = 0.0
    if flow.direction != chipflow.UNDECIDED:
        drift = -math.sin(math.radians(flow.flow_angle)) * float(edge[2]) * speed
    way = {chipflow.TO_SHANK: "up", chipflow.AHEAD: "ahead"}.get(flow.direction, "either")
    if job.chip_room.fate == BELOW:
        way = "below"
    return {
        "vector": [float(v) for v in flow.vector],
        "drift": drift,
        "wander": float(row["wander"]) * speed,
        "way": way,
        "stays": job.chip_room.fate not in (LEAVES, BELOW),
        "kind": row["kind"],
        "seed": zlib.crc32(f"{job.workpiece.name} {job.fluid}".encode()) % 9973,
        "curl": float(row["curl"]) * tap.thread.major,
        "tight": _metal(job).curl * SLICK.get(job.fluid, 1.0),
        "turns": float(row["turns"]),
        "every": float(row["every"]),
        "pieces": int(row["pieces"]),
        "shade": _tempered(job),
        "cutting": math.pi * tap.thread.major / tap.thread.pitch,
    }
