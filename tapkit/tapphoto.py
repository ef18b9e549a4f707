"""A tap measured from a photograph: marks pulled over the picture become angles and lengths, with their errors.

Marks are points of the picture (x to the right, y down, in pixels). On the side view two marks stand on each line: a
length that is known, the crests of the full thread, the crests of the chamfer, the cutting face where it runs through
the middle, and two crests some threads apart; one mark stands on the middle of the point. On the view of the point
three stand on the rim of the lands, one on a cutting edge, one further in on its face, one on the bottom of a flute,
and one on the next cutting edge.

What a mark is off by, a pixel to either side, goes into every value by least squares of errors (GUM, JCGM 100:2008,
5.1.2, inputs independent); what the camera may be tilted, by reading the marks again as a tilted camera sees them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple

import numpy as np

from tapkit.door import quoted
from tapkit.geometry.fluteform import form_of
from tapkit.geometry.solid import solid
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.messages import _, threads_of

SIDE = {
    "scale": ("scale_a", "scale_b"),
    "crest": ("crest_a", "crest_b"),
    "chamfer": ("chamfer_a", "chamfer_b"),
    "face": ("face_a", "face_b"),
    "pitch": ("pitch_a", "pitch_b"),
    "point": ("point",),
}
"""Lines and marks of the side view."""
POINT = {"rim": ("rim_1", "rim_2", "rim_3"), "hook": ("edge", "inner"), "core": ("core",), "next": ("next",)}
"""Lines and marks of the view of the point."""
AWAY = 8.0
"""Distance of the camera a tilt is reckoned for, in widths of what the marks span."""

Landmarks = Mapping[str, tuple[float, float]]


class Measured(NamedTuple):
    """A value, and to either side what a pixel and what a tilt of the camera make of it, in its unit."""

    value: float
    pixel: float
    tilt: float

    @property
    def error(self) -> float:
        """Both together, as independent errors add."""
        return math.hypot(self.pixel, self.tilt)


def read_side(marks: Landmarks, *, known: float, turns: float) -> dict[str, float]:
    """Values of the side view: `pitch` [mm], `chamfer_angle` [deg], `chamfer_length` [mm], `axial_rake` [deg], and the
    `scale` [mm a pixel].

    Parameters: the `known` length between the marks of the scale [mm], `turns` threads between those of the pitch.
    A right-hand helix is positive. ValueError in one sentence for marks that lie on one another or make no line.

    >>> marks = dict(scale_a=(0, 0), scale_b=(100, 0), crest_a=(0, 500), crest_b=(0, 100), chamfer_a=(10, 600),
    ...              chamfer_b=(5, 550), point=(50, 600), face_a=(50, 300), face_b=(60, 250), pitch_a=(0, 400),
    ...              pitch_b=(0, 250))
    >>> {key: round(value, 2) for key, value in read_side(marks, known=10, turns=10).items()}
    {'scale': 0.1, 'pitch': 1.5, 'chamfer_angle': 5.71, 'chamfer_length': 10.0, 'axial_rake': 11.31}
    """
    at = {name: np.array(place, float) for name, place in marks.items()}
    spans = {line: at[two[1]] - at[two[0]] for line, two in SIDE.items() if len(two) == 2}
    for line, span in spans.items():
        if np.hypot(*span) < 3:
            raise ValueError(_("the two marks of {line} lie on one another; pull them apart", line=quoted(line)))
    scale = known / float(np.hypot(*spans["scale"]))
    axis = unit(spans["crest"])
    axis = axis if (at["crest_a"] + at["crest_b"]) / 2 @ axis > at["point"] @ axis else -axis
    slope = _between(axis, spans["chamfer"])
    if abs(math.sin(slope)) < 1e-3:
        raise ValueError(_("chamfer and crests run side by side; pull the line of the chamfer along its crests"))
    meet = _crossing(at["crest_a"], axis, at["chamfer_a"], unit(spans["chamfer"]))
    across = np.array([-axis[1], axis[0]])
    face = spans["face"] if spans["face"] @ axis > 0 else -spans["face"]
    return {
        "scale": scale,
        "pitch": abs(float(spans["pitch"] @ axis)) * scale / turns,
        "chamfer_angle": abs(math.degrees(math.asin(math.sin(slope)))),
        "chamfer_length": float((meet - at["point"]) @ axis) * scale,
        "axial_rake": math.degrees(math.atan2(face @ across, face @ axis)),
    }


def read_point(marks: Landmarks, *, major: float) -> dict[str, float]:
    """Values of the view of the point: `core` diameter [mm], `radial_rake` [deg], number of `flutes` (as a share of
    turns, not whole yet), `scale` [mm a pixel], for a right-hand tap of a `major` diameter [mm].

    The rake is that at the rim: a flat face stands off the middle by the radius times the sine of it, wherever on the
    face its two marks are; on a helical flute they are seen only on the end face, short of the rim.

    >>> marks = dict(rim_1=(100, 0), rim_2=(0, 100), rim_3=(-100, 0), edge=(100, 0), inner=(80, 3.5), core=(0, 45),
    ...              next=(-50, -86.6))
    >>> {key: round(value, 2) for key, value in read_point(marks, major=10).items()}
    {'scale': 0.05, 'core': 4.5, 'radial_rake': 9.93, 'flutes': 3.0}
    """
    at = {name: np.array(place, float) for name, place in marks.items()}
    middle, radius = circle(at["rim_1"], at["rim_2"], at["rim_3"])
    scale = major / 2 / radius
    along, span = at["edge"] - at["inner"], at["edge"] - middle
    if np.hypot(*along) < 3:
        raise ValueError(_("the two marks of the face lie on one another; pull the inner one along the face"))
    step = abs(_between(span, at["next"] - middle))
    aside = float(along[0] * span[1] - along[1] * span[0]) / float(np.hypot(*along))
    if step < math.radians(20):
        raise ValueError(_("the next cutting edge is marked beside the first; mark that of the flute beside it"))
    return {
        "scale": scale,
        "core": 2 * float(np.hypot(*(at["core"] - middle))) * scale,
        "radial_rake": math.degrees(math.asin(max(-1.0, min(1.0, aside / radius)))),
        "flutes": 2 * math.pi / step,
    }


def with_errors(
    read: Callable[[Landmarks], dict[str, float]], marks: Landmarks, *, pixel: float = 1.0, tilt: float = 3.0
) -> dict[str, Measured]:
    """Every value that `read(marks)` gives, with what `pixel` pixels of each mark and a camera `tilt`ed by so many
    degrees make of it."""
    found, square = read(marks), dict.fromkeys(read(marks), 0.0)
    for name, (x, y) in marks.items():
        for dx, dy in ((pixel, 0.0), (0.0, pixel)):
            ahead, behind = (read({**marks, name: (x + s * dx, y + s * dy)}) for s in (1, -1))
            for key in square:
                square[key] += ((ahead[key] - behind[key]) / 2) ** 2
    off = dict.fromkeys(found, 0.0)
    for about in (0, 1):
        for sign in (1, -1):
            tilted = read(seen_tilted(marks, sign * tilt, about))
            off = {key: max(off[key], abs(tilted[key] - found[key])) for key in off}
    return {key: Measured(value, math.sqrt(square[key]), off[key]) for key, value in found.items()}


def seen_tilted(marks: Landmarks, degrees: float, about: int) -> dict[str, tuple[float, float]]:
    """Marks as a camera sees them that is tilted by so many degrees about the picture's x (0) or y (1), from `AWAY`."""
    places = np.array(list(marks.values()), float)
    middle = (places.max(axis=0) + places.min(axis=0)) / 2
    away = AWAY * float(np.ptp(places, axis=0).max())
    turn, flat = math.radians(degrees), places - middle
    depth = flat[:, 1 - about] * math.sin(turn)
    flat[:, 1 - about] *= math.cos(turn)
    seen = flat / (1 - depth / away)[:, None] + middle
    return {name: (float(x), float(y)) for name, (x, y) in zip(marks, seen)}


def with_depth(
    found: Mapping[str, Measured], marks: Landmarks, *, major: float, chamfer: float, tilt: float, helical: bool
) -> dict[str, Measured]:
    """Values of the view of the point with what its depth adds to their errors, as `tilt`.

    The end face lies the chamfer's length [mm] nearer to the camera than the rim that sets the scale. It looks larger
    by that share of the distance, which is `AWAY` or more (the core is the middle of what both ends give), and stands
    aside where the camera is tilted [deg]. On a helical flute the whole face is marked there, on others its inner mark
    alone.
    """
    middle, share = circle(*(np.array(marks[key], float) for key in POINT["rim"]))[0], chamfer / (AWAY * major)
    aside = chamfer * math.sin(math.radians(tilt)) / found["scale"].value
    level = ("edge", "inner", "core", "next") if helical else ("core",)

    def moved(names: Iterable[str], larger: float, *by: float) -> dict[str, float]:
        places = {key: tuple(middle + (np.array(marks[key]) - middle) * (1 - larger) + by) for key in names}
        return read_point({**marks, **places}, major=major)

    near = moved({*level, "inner"}, share, 0.0, 0.0)
    beside = [moved(level, 0.0, *by) for by in ((aside, 0.0), (-aside, 0.0), (0.0, aside), (0.0, -aside))]
    told = {}
    for key, one in found.items():
        deep, far = near[key] - one.value, max(abs(other[key] - one.value) for other in beside)
        half = deep / 2 if key == "core" else 0.0
        told[key] = Measured(one.value + half, one.pixel, math.hypot(one.tilt, deep - half, far))
    return told


def mirrored(marks: Landmarks) -> dict[str, tuple[float, float]]:
    """Marks as in a mirror: a left-hand tap becomes a right-hand one."""
    return {name: (-x, y) for name, (x, y) in marks.items()}


def tap_of(thread: Thread, form: str, side: Mapping[str, float], point: Mapping[str, float]) -> Tap:
    """The tap that was measured; a spiral point's slant is negative, straight flutes have none. ValueError where no
    such tap can be ground."""
    threads = side["chamfer_length"] / thread.pitch
    if not 0.5 <= threads <= 30:
        raise ValueError(
            _(
                "the chamfer measures {n}; look at its line, at the point's mark and at the scale",
                n=threads_of(threads, digits=2),
            )
        )
    small = thread.major - 2 * side["chamfer_length"] * math.tan(math.radians(side["chamfer_angle"]))
    slant = {"axial_rake": round(side["axial_rake"], 1)} if form_of(form).sign else {}
    return Tap.make(
        thread,
        form,
        round(threads, 2),
        point_diameter=round(small, 3),
        radial_rake=round(point["radial_rake"], 1),
        core_diameter=round(point["core"], 3),
        flutes=round(point["flutes"]),
        **slant,
    )


# --- the drawing over the photograph ---------------------------------------------------------------------


def side_over(marks: Landmarks, tap: Tap, scale: float) -> list[list[tuple[float, float]]]:
    """Lines of the measured tap as they should lie over the side view [pixels]: both outlines of a section through the
    axis, and the axis."""
    at = {name: np.array(place, float) for name, place in marks.items()}
    axis = unit(at["crest_b"] - at["crest_a"])
    axis = axis if (at["crest_a"] + at["crest_b"]) / 2 @ axis > at["point"] @ axis else -axis
    inward = np.array([-axis[1], axis[0]])
    inward = inward if (at["point"] - at["crest_a"]) @ inward > 0 else -inward
    radius = tap.thread.major / 2 / scale
    end = at["crest_a"] + inward * radius + axis * ((at["point"] - at["crest_a"]) @ axis)
    first = float((at["pitch_a"] - at["point"]) @ axis) * scale
    long = float(max((at[name] - at["point"]) @ axis for name in ("crest_a", "crest_b", "pitch_a", "pitch_b"))) * scale
    z = np.linspace(0, max(long, tap.chamfer_length), 500)
    lines = []
    for sign, phase in ((-1, first), (1, first + tap.thread.pitch / 2)):
        height = _section(tap, z, phase)
        lines.append(end + (z[:, None] * axis + sign * height[:, None] * inward) / scale)
    lines.append(end + np.array([[-0.05], [1.0]]) * z[-1] * axis / scale)
    return [[(float(x), float(y)) for x, y in line] for line in lines]


def _section(tap: Tap, z: np.ndarray, crest: float) -> np.ndarray:
    """Height of thread and chamfer over the axis in a section through it [mm], with a crest at `crest`."""
    thread = tap.thread
    off = np.abs((z - crest + thread.pitch / 2) % thread.pitch - thread.pitch / 2)
    full = np.minimum(thread.major / 2, thread.major / 2 - (off - thread.pitch / 16) * math.sqrt(3))
    root = thread.minor_diameter / 2 - thread.pitch / 16
    cone = tap.point_diameter / 2 + z * math.tan(math.radians(tap.chamfer_angle))
    return np.minimum(np.maximum(full, root), cone)


def point_over(marks: Landmarks, tap: Tap, scale: float) -> list[list[tuple[float, float]]]:
    """Lines of the measured tap as they should lie over the view of the point [pixels]: its section, and its core."""
    at = {name: np.array(place, float) for name, place in marks.items()}
    middle, _radius = circle(at["rim_1"], at["rim_2"], at["rim_3"])
    edge = at["edge"] - middle
    s = solid(tap)
    high = min(float(np.hypot(*edge)) * scale, s.outer)
    turn = math.atan2(-edge[1], edge[0]) - float(s.edge(0, high, s.gash_end) - s.middle(0, s.gash_end))
    round_ = np.linspace(0, 2 * math.pi, 90)
    lines = [s.outline(turn=turn), tap.core_diameter / 2 * np.column_stack([np.cos(round_), np.sin(round_)])]
    placed = [middle + np.vstack([line, line[:1]]) * (1, -1) / scale for line in lines]
    return [[(float(x), float(y)) for x, y in line] for line in placed]


# --- plane geometry ---------------------------------------------------------------------------------------


def unit(span: np.ndarray) -> np.ndarray:
    """The direction of a span (2,)."""
    return span / max(float(np.hypot(*span)), 1e-9)


def _between(one: np.ndarray, other: np.ndarray) -> float:
    """Angle from one direction to another [rad]."""
    return math.atan2(float(one[0] * other[1] - one[1] * other[0]), float(one @ other))


def _crossing(at: np.ndarray, way: np.ndarray, other: np.ndarray, slant: np.ndarray) -> np.ndarray:
    """Where two lines cross."""
    gone = np.linalg.solve(np.column_stack([way, -slant]), other - at)
    return at + gone[0] * way


def circle(*rim: np.ndarray) -> tuple[np.ndarray, float]:
    """Middle and radius of the circle through three points."""
    rows, right = 2 * (np.array(rim[1:]) - rim[0]), [float(p @ p - rim[0] @ rim[0]) for p in rim[1:]]
    if abs(np.linalg.det(rows)) < 1.0:
        raise ValueError(_("the three marks of the rim stand in one line; spread them over three lands"))
    middle = np.linalg.solve(rows, right)
    return middle, float(np.hypot(*(rim[0] - middle)))
