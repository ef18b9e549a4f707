"""The film of a cut as numbers: the part, the groove as every tooth leaves it, and the chips, for the tap in the round.

The browser turns and sinks the tap by its lead, takes the groove's surface from the envelope of `mechanics.toothload`
(tooth by tooth), and lets each chip leave its tooth along `ChipFlow.vector`. Whatever is shown is a function of the
depth alone, so that the film can be wound to and fro.
"""

import math
from typing import Any

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
SHADES = {
    "steel": (0.42, 0.40, 0.38),
    "grey iron": (0.10, 0.10, 0.11),
    "ductile iron": (0.14, 0.14, 0.15),
    "leaded brass": (0.62, 0.45, 0.13),
    "aluminium": (0.72, 0.73, 0.75),
    "stainless": (0.50, 0.47, 0.42),
    "titanium": (0.34, 0.31, 0.30),
}
"""Colour of metals, linear red, green, blue; a choice of the drawing."""
TEMPER = ((0.0, None), (0.35, None), (0.6, (0.56, 0.38, 0.13)), (0.8, (0.24, 0.13, 0.20)), (1.0, (0.09, 0.15, 0.40)))
"""How chips of iron's and titanium's alloys turn straw, purple and blue as they come off hotter; None is the metal's
own colour. Heat is the cutting speed as a share of `HOT` [m/min]; a choice of the drawing."""
HOT = {"dry": 45.0, "emulsion": 120.0, "oil": 90.0}
TEMPERS = ("steel", "stainless", "titanium")


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
        "metal": _shade(job),
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


def _metal(job: Operation) -> str:
    return "aluminium" if "aluminium" in job.workpiece.group else job.workpiece.group


def _shade(job: Operation) -> tuple[float, float, float]:
    return SHADES.get(_metal(job), SHADES["steel"])


def _tempered(job: Operation) -> list[float]:
    """Colour of the chips at this speed with this fluid."""
    own, metal = _shade(job), _metal(job)
    if metal in SHADES and metal not in TEMPERS:
        return list(own)
    heat = filmwords.shown_speed(job) / HOT.get(job.fluid, HOT["oil"])
    steps, colours = [h for h, _c in TEMPER], [c or own for _h, c in TEMPER]
    return [float(np.interp(heat, steps, channel)) for channel in zip(*colours)]


def _lists(arrays: dict[str, np.ndarray]) -> dict[str, list[float]]:
    return {key: np.round(values, 4).tolist() for key, values in arrays.items()}


def _chips(job: Operation) -> dict[str, Any]:
    """How chips look and move: `vector` (outward, cutting, axial) at birth, `drift` along the tap for each mm of depth,
    positive toward the shank, `way` out, `curl` radius and windings."""
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
        "curl": float(row["curl"]) * tap.thread.major,
        "turns": float(row["turns"]),
        "every": float(row["every"]),
        "pieces": int(row["pieces"]),
        "shade": _tempered(job),
        "cutting": math.pi * tap.thread.major / tap.thread.pitch,
    }
