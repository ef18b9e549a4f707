"""The film of a cut as numbers: the part, the groove as every tooth leaves it, and the chips, for the tap in the round.

The browser turns and sinks the tap by its lead, takes the groove's surface from the envelope of `mechanics.toothload`
(tooth by tooth), and lets each chip leave its tooth along `ChipFlow.vector`. Whatever is shown is a function of the
depth alone, so that the film can be wound to and fro.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from tapkit import tables
from tapkit.drawing.motion_view import MotionView
from tapkit.mechanics import chipflow, toothload, torque
from tapkit.mechanics.chiproom import BELOW, LEAVES
from tapkit.operation import Operation

SAMPLES = 65
"""Places across one pitch at which the groove's radius is told."""
WALL, FLOOR = 0.85, 0.45
"""Metal drawn around the hole and under a blind one, in major diameters."""
CURL = {"long": 0.17, "medium": 0.12, "short": 0.07}
"""Radius of a chip's curl as a share of the major diameter; a choice of the drawing."""
TURNS = {"long": 3.6, "medium": 0.6, "short": 0.3}
"""Windings of a chip before it breaks; a choice of the drawing."""
SHADES = {
    "steel": (0.42, 0.40, 0.38),
    "grey iron": (0.10, 0.10, 0.11),
    "ductile iron": (0.14, 0.14, 0.15),
    "leaded brass": (0.62, 0.45, 0.13),
    "aluminium": (0.72, 0.73, 0.75),
    "stainless": (0.50, 0.47, 0.42),
    "titanium": (0.34, 0.31, 0.30),
}
"""Colour of chips by metal, linear red, green, blue; a choice of the drawing."""


def film(job: Operation) -> dict[str, Any]:
    """What the browser needs to show a job being cut; lengths in mm, angles in radians, torque in N·m."""
    tap, hole, pitch = job.tap, job.hole, job.tap.thread.pitch
    x = np.linspace(-pitch / 2, pitch / 2, SAMPLES)
    groove = toothload.envelope(tap, hole, job.faults, x)
    low, high = hole.diameter / 2, float(groove.swept.max())
    levels = np.rint((groove.swept - low) / (high - low) * 65535).astype("<u2")
    loads, room, expected = job.tooth_loads, job.chip_room, job.expected_torque
    return {
        "pitch": pitch,
        "secondsPerTurn": MotionView(job).turn,
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
        "thick": hole.depth + (0.0 if hole.is_through else float(hole.cone_depth) + FLOOR * tap.thread.major),
        "wall": low + WALL * tap.thread.major,
        "begin": float(torque.first_touch(job.slices)),
        "end": float(torque.deepest_point(job.slices, hole, pitch)),
        "teeth": [
            {"number": int(n), "width": float(w), "thick": float(h)}
            for n, w, h, a in zip(loads.number, loads.width, loads.thickness, loads.area)
            if a > 0
        ],
        "chips": _chips(job),
        "packs": room.packs_at,
        "mayPack": room.may_pack_at,
        "openFrom": expected.open_from,
        "torque": {
            "depth": expected.depth.tolist(),
            "low": expected.low.total.tolist(),
            "high": expected.high.total.tolist(),
        },
    }


def _chips(job: Operation) -> dict[str, Any]:
    """How chips look and move: `vector` (outward, cutting, axial) at birth, `drift` along the tap for each mm of depth,
    positive toward the shank, `way` out, `curl` radius and windings."""
    tap, flow, kind = job.tap, job.chip_flow, job.workpiece.chips
    row = next(r for r in tables.rows("motion_chips") if r["kind"] == kind)
    speed = float(row["speed"]) * math.pi * tap.thread.major / tap.thread.pitch  # of the chip, for each mm of depth
    edge = chipflow.chamfer_edge(**job.edge_angles)
    drift = 0.0
    if flow.direction != chipflow.UNDECIDED:
        drift = -math.sin(math.radians(flow.flow_angle)) * float(edge[2]) * speed
    way = {chipflow.TO_SHANK: "up", chipflow.AHEAD: "ahead"}.get(flow.direction, "either")
    if job.chip_room.fate == BELOW:
        way = "below"
    metal = "aluminium" if "aluminium" in job.workpiece.group else job.workpiece.group
    return {
        "vector": [float(v) for v in flow.vector],
        "drift": drift,
        "wander": float(row["wander"]) * speed,
        "way": way,
        "stays": job.chip_room.fate not in (LEAVES, BELOW),
        "kind": kind,
        "curl": CURL[kind] * tap.thread.major,
        "turns": TURNS[kind],
        "shade": SHADES.get(metal, SHADES["steel"]),
        "cutting": math.pi * tap.thread.major / tap.thread.pitch,
    }
