"""The example of the photograph panel: a tap photographed by our own renderer, and where its marks stand."""

import io
import math
from base64 import b64encode
from functools import cache
from typing import Any, NamedTuple

import numpy as np
from PIL import Image

from tapkit import setupline, tapphoto
from tapkit.drawing.photo import render
from tapkit.drawing.raster import Camera
from tapkit.geometry.solid import Solid, cartesian, solid
from tapkit.geometry.tap import Tap

EXAMPLE = "M16x2 spiral-point 4 threads, 4 flutes, hook 8°, point −12°, core 7.2 mm | through 14 mm x 24 mm | C45"
"""A tap invented for this panel."""
MOST_ASIDE = math.radians(60)
"""A crest further round from the middle says little of where its edge runs."""
SIDE, END = (560, 560), (520, 520)


class Example(NamedTuple):
    """The example's pictures as data addresses, their sizes, and where its marks stand, by view."""

    pictures: dict[str, str]
    sizes: dict[str, tuple[int, int]]
    marks: dict[str, dict[str, tuple[float, float]]]


@cache
def photographed_example() -> Example:
    """The example's tap, photographed by our own renderer, and the marks as they should stand."""
    tap = setupline.parse(EXAMPLE).tap
    side = facing(tap, SIDE)
    end = Camera(tap, 0.0, 90.0, *END)
    pictures = {name: _data_uri(render(camera)) for name, camera in (("side", side), ("point", end))}
    return Example(pictures, {"side": SIDE, "point": END}, {"side": side_marks(side), "point": point_marks(end)})


def facing(tap: Tap, size: tuple[int, int], zoom: float = 2.2) -> Camera:
    """A camera square to the axis that sees a cutting edge as the outline of the chamfer: one whose face is turned away
    from below on, another up to the chamfer's end."""
    away = solid(tap).twist > 0
    height = 0.0 if away else tap.chamfer_length
    start, one = (_angle_seen(Camera(tap, turn, 0.0, *size, zoom), 0, height) for turn in (0.0, 1.0))
    wanted = (-1 if away else 1) * (1 if tap.thread.hand == "right" else -1) * math.pi / 2
    turn = (wanted - start) / math.remainder(one - start, 2 * math.pi)
    return Camera(tap, turn % 360, 0.0, *size, zoom)


def _turn_of(turn: float) -> tuple[float, float]:
    return math.cos(turn), math.sin(turn)


def side_marks(camera: Camera, turns: int = 3) -> dict[str, tuple[float, float]]:
    """Where the marks of the side view stand on what a camera `facing` the tap sees, about square to its axis. Where
    crests come to one outline alone the known length is that of the threads, else the diameter."""
    tap, s, seen = camera.tap, solid(camera.tap), 0.93 * camera.length
    up, right = np.array([0.0, 0.0, 1.0]), camera.rotation[0] * math.copysign(1.0, _angle_seen(camera, 0, 0.0))

    def beside(radius: float, z: float) -> np.ndarray:
        return radius * right + z * up

    front, (one, other) = _edge_marked(camera, seen)
    full = {side: _crests(s, side * right, seen, 0.995) for side in (1, -1)}
    best = 1 if len(full[1]) > len(full[-1]) or not s.twist else -1
    beyond = -best if len(full[-best]) and not s.twist else best
    row = _crests(s, beyond * right, seen, 0.9)[-1 - turns :]
    pitch = [beside(beyond * s.outer, float(row[i])) for i in (0, -1)]
    line = [beside(best * s.outer, float(full[best][i])) for i in (0, -1)]
    both = [beside(side * s.outer, float(full[side][0])) for side in (1, -1) if len(full[side])]
    wide = len(both) > 1
    places = {
        "chamfer": [_on_edge(tap, 0, z) if tap.form.sign else beside(float(s.cone(z)), z) for z in _chamfer_marked(s)],
        "face": [_on_edge(tap, front, z) for z in (one, other)],
        "crest": both if wide and s.twist else line,
        "scale": both if wide else pitch,
        "pitch": pitch,
    }
    x, y = (
        s.outline(0.0, threaded=True, turn=float(s.middle(0, 0.0))) * (1, -1 if tap.thread.hand == "right" else 1)
    ).T
    ends = 0.95 * (x * right[0] + y * right[1])
    places["point"] = [beside(float(end), 0.0) for end in (ends.min(), ends.max())]
    return _projected(camera, {name: p for line, two in places.items() for name, p in zip(tapphoto.SIDE[line], two)})


def _crests(s: Solid, way: np.ndarray, seen: float, share: float) -> np.ndarray:
    """Where on one outline crests stand beyond the chamfer [mm from the point], the lowest first, that reach a share of
    the radius."""
    angle, pitch = math.atan2(way[1], way[0]) * (-1 if s.tap.thread.hand == "right" else 1), s.pitch
    ridge = float(s.ridge(angle))
    least, most = math.ceil((s.tap.chamfer_length - ridge) / pitch + 0.1), math.floor((seen - ridge) / pitch)
    crests = ridge + pitch * np.arange(least, most + 1)
    near = angle + np.radians([[-1.5], [0.0], [1.5]])
    return crests[s.radius(near, crests).max(axis=0) > share * s.outer]


def _on_edge(tap: Tap, flute: int, z: float) -> np.ndarray:
    """A place on the cutting edge of a flute, on chamfer or crests, in the tap's x, y, z [mm]."""
    s = solid(tap)
    r = min(s.outer, float(s.cone(z)))
    return cartesian(r, *_turn_of(float(s.edge(flute, r, z))), z, tap.thread.hand)


def _angle_seen(camera: Camera, flute: int, z: float) -> float:
    """How far to the right of the picture's middle, about the axis, the edge of a flute stands [rad]."""
    right, _up, near = camera.rotation @ _on_edge(camera.tap, flute, z)
    return math.atan2(right, near)


def _chamfer_marked(s: Solid) -> tuple[float, float]:
    """Middles of the lowest and the highest crest of the chamfer on the first edge, or the ends of the only one."""
    teeth = s.tooth(1 + s.flutes * np.arange(int(s.tap.chamfer_threads) + 2))[3]
    on = teeth[teeth < s.tap.chamfer_length]
    if len(on) > 1:
        return float(on[0]), float(on[-1])
    return 0.1 * s.tap.chamfer_length, 0.8 * s.tap.chamfer_length


def _edge_marked(camera: Camera, seen: float) -> tuple[int, tuple[float, float]]:
    """The flute whose cutting edge is marked on the front, and on which two crests, far apart: on a spiral point those
    of its slant."""
    tap, s = camera.tap, solid(camera.tap)

    def crests(flute: int) -> list[float]:
        teeth = s.tooth(1 + flute + s.flutes * np.arange(60))[3]
        low, high = (0.0, s.gash_end) if s.gash_end else (tap.chamfer_length, seen)
        on = teeth[(teeth > low) & (teeth < high)]
        return [float(z) for z in on if abs(_angle_seen(camera, flute, float(z))) < MOST_ASIDE]

    def good(flute: int) -> float:
        z = crests(flute)
        return -99.0 if len(z) < 2 else z[-1] - z[0] - abs(_angle_seen(camera, flute, (z[0] + z[-1]) / 2))

    best = max(range(tap.flutes), key=good)
    return best, (crests(best)[0], crests(best)[-1])


def point_marks(camera: Camera) -> dict[str, tuple[float, float]]:
    """Where the marks of the view of the point stand on what a camera straight on to it sees."""
    tap, s = camera.tap, solid(camera.tap)
    whole, tip = max(tap.chamfer_length, s.gash_end), tap.point_diameter / 2
    inner = max(s.flute.face_end, 0.6 * s.outer)

    def at(radius: float, turn: Any, z: float = 0.0) -> np.ndarray:
        return cartesian(radius, *_turn_of(float(turn)), z, tap.thread.hand)

    lands = [-((i * tap.flutes) // 3) for i in range(3)]
    rim = {f"rim_{i + 1}": at(s.outer, s.land(f, 0.3 + 0.1 * i, whole)[0], whole) for i, f in enumerate(lands)}
    end = at(tip, s.edge(0, tip, 0.0))
    more = {
        "end": end,
        "next": at(tip, s.edge(1, tip, 0.0)),
        "edge": end if s.twist else at(s.outer, s.edge(0, s.outer, whole), whole),
        "inner": at(inner, s.edge(0, inner, s.gash_end), s.gash_end),
        "core": at(s.core, s.middle(1, 0.0) + (s.flute.bottom_start + s.flute.bottom_end) / 2),
    }
    return _projected(camera, rim | more)


def _projected(camera: Camera, places: dict[str, Any]) -> dict[str, tuple[float, float]]:
    x, y, _near = camera.project(np.array([np.broadcast_to(p, 3) for p in places.values()], float).T)
    return {name: (round(float(a), 2), round(float(b), 2)) for name, a, b in zip(places, x, y)}


def _data_uri(pixels: np.ndarray) -> str:
    out = io.BytesIO()
    Image.fromarray(pixels).convert("RGB").save(out, "JPEG", quality=85)
    return "data:image/jpeg;base64," + b64encode(out.getvalue()).decode()
