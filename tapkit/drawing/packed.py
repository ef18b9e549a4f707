"""A tap's skin and the light on it as bytes for the tap in the round: what the browser needs, and nothing else.

One vertex takes 20 bytes: x, y, z as signed 16-bit shares of `reach` from the middle at `middle` mm up the axis, the
distance from the cutting edge as an unsigned 16-bit share of `NEAR`; the normal as signed 16-bit numbers; the place
across the marks of grinding as a 16-bit share of `along`; a byte each: openness; the part in the lowest three bits and
the tint of a cutting face in the others; the number of the tooth; 1 where the marks of grinding run lengthwise, so that
the direction across them follows from normal and place. Neighbouring cells share their vertices, which lie patch by
patch, row by row, as `shapes` in `about` says; the number of the tooth stands at the last corner of its cell.
"""

from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from tapkit.drawing import steel
from tapkit.drawing.photo import marks_of_grinding
from tapkit.drawing.raster import DISTANCE, FIRST_TURN, MARGIN
from tapkit.geometry.skin import mesh
from tapkit.geometry.solid import Solid, cartesian, solid
from tapkit.geometry.tap import Tap

NEAR = 2.0
"""Distances from the cutting edge are told up to here [mm]."""

VERTEX = np.dtype(
    [
        ("place", "<i2", 3), ("edge", "<u2"), ("normal", "<i2", 3), ("along", "<u2"),
        ("open", "u1"), ("look", "u1"), ("tooth", "u1"), ("lengthwise", "u1"),
    ]
)  # fmt: skip
"""How a vertex lies in the bytes."""


class Packed(NamedTuple):
    """`vertices` bytes of `VERTEX`; `about` what the browser must know of them and of the tap."""

    vertices: bytes
    about: dict[str, Any]


@lru_cache(maxsize=4)
def packed(tap: Tap) -> Packed:
    """A tap for the browser; the last few are kept."""
    skin, s = mesh(tap), solid(tap)
    points, across = skin.points, np.abs(skin.marks[1])
    low, high = float(points[2].min()), float(points[2].max())
    middle = (low + high) / 2
    reach = max(float(np.abs(points[:2]).max()), high - middle)
    along = float(across.max()) or 1.0
    v = np.zeros(skin.part.size, VERTEX)
    for axis, start in enumerate((0.0, 0.0, middle)):
        v["place"][:, axis] = _whole(points[axis] - np.float32(start), 32767 / reach)
        v["normal"][:, axis] = _whole(skin.normals[axis], 32767)
    v["lengthwise"] = skin.lengthwise
    for name, values, most, scale in (("edge", skin.marks[2], NEAR, 65535), ("open", skin.marks[0], 1, 255)):
        v[name] = _whole(np.clip(values, 0, most), scale / most)
    v["along"] = _whole(across, 65535 / along)
    v["look"] = skin.part + 8 * _whole(np.clip(skin.marks[3], 0, 1), 31).astype(np.uint8)
    v["tooth"][skin.corners[3]] = np.where(skin.tooth < 256, skin.tooth, 0)
    about = _about(s) | {"middle": middle, "reach": reach, "along": along, "shapes": skin.shapes}
    return Packed(v.tobytes(), about)


def _whole(values: np.ndarray, scale: float) -> np.ndarray:
    """Values in whole steps of a scale."""
    found = values * np.float32(scale)
    return np.rint(found, out=found)


def _about(s: Solid) -> dict[str, Any]:
    """Frame, camera and teeth, lengths in mm and angles in degrees."""
    number = np.arange(1, s.chamfer_teeth + 2)
    flute, r, angle, z = s.tooth(number)
    tips = cartesian(r, np.cos(angle), np.sin(angle), z, s.tap.thread.hand)
    return {
        "near": NEAR,
        "hand": s.tap.thread.hand,
        "outer": s.outer,
        "pitch": s.pitch,
        "flutes": s.flutes,
        "core": s.flute.core,
        "half": s.flute.half_angle,
        "twist": s.twist,
        "firstTooth": s.first_tooth,
        "firstAngle": s.first_angle,
        "length": min(s.blank.thread_end + s.outer, s.blank.shank_end),
        "end": s.blank.shank_end,
        "tip": max(s.blank.centre_height, 0.0),
        "firstTurn": FIRST_TURN,
        "margin": MARGIN,
        "distance": DISTANCE,
        "teeth": [
            {"number": int(n), "flute": int(f) + 1, "at": [round(float(c), 4) for c in tip]}
            for n, f, tip in zip(number, flute, tips.T)
        ],
    }


@lru_cache(maxsize=1)
def light() -> tuple[bytes, dict[str, Any]]:
    """The table of mirrored light, square roots of its values as bytes (directions, side, side, 3), then the marks of
    grinding as 4096 signed bytes; and how to read them."""
    table, marks = steel.ball(), marks_of_grinding()
    most, deep = float(table.max()), float(np.abs(marks).max())
    bytes_ = np.rint(255 * np.sqrt(table / most)).astype(np.uint8).tobytes()
    about = {"directions": steel.DIRECTIONS, "side": steel.SIDE, "most": most, "deep": deep}
    return bytes_ + np.rint(127 * marks / deep).astype(np.int8).tobytes(), about
