"""A tap measured from a photograph: marks pulled over the picture become angles and lengths, with their errors.

Marks are points of the picture (x to the right, y down, in pixels). On the side view two marks stand on each line: a
length that is known, the crests of the full thread, the crests of the chamfer, a cutting edge on the front, two crests
some threads apart, and the end face. On the view of the point three stand on the rim of the lands, two where
neighbouring cutting edges meet the end face, one on a cutting edge, one further in on its face, and one on the bottom
of a flute.

What a mark is off by, a pixel to either side, goes into every value by least squares of errors (GUM, JCGM 100:2008,
5.1.2, inputs independent); what the camera may be tilted, by reading the marks again as a tilted camera sees them.
"""

import math
from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np

from tapkit.door import quoted
from tapkit.edgemarks import Edges, not_0, wound
from tapkit.geometry.fluteform import FluteForm, form_of
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
    "point": ("point_a", "point_b"),
}
"""Lines and marks of the side view."""
POINT = {"rim": ("rim_1", "rim_2", "rim_3"), "end": ("end", "next"), "hook": ("edge", "inner"), "core": ("core",)}
"""Lines and marks of the view of the point."""
SEEN_AT_END = {"straight": ("inner",), "point": (), "helix": ("edge", "inner")}
"""Which marks of a cutting face are seen on the end face, by the path of the flutes: a straight face begins there and
its edge reaches the rim behind the chamfer, that of a spiral point is seen whole where its slant ends, and a helix
hides all but what lies in the end face."""
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


class PhotoScale(NamedTuple):
    """What sets the scale of a side view: a `known` length [mm], `across` the tap where its marks stand on either side
    of it, else from one to the other; and how many `turns` of the thread lie between the marks of the pitch."""

    known: float
    turns: float
    across: bool = False


def read_side(marks: Landmarks, scale: PhotoScale, edges: Edges | None = None) -> dict[str, float]:
    """Values of the side view: `pitch` [mm], `chamfer_angle` [deg], `chamfer_length` [mm], `axial_rake` [deg], and the
    `scale` [mm a pixel].

    Where `edges` wind, chamfer and face are marked on crests where they meet such an edge, else on the outline; on a
    helical flute the crests stand furthest out on either side, else both on the chamfer's. A right-hand helix is
    positive. ValueError in one sentence for marks that lie on one another or make no line.

    >>> marks = dict(scale_a=(0, 0), scale_b=(100, 0), crest_a=(0, 500), crest_b=(0, 100), chamfer_a=(10, 600),
    ...              chamfer_b=(5, 550), point_a=(20, 600), point_b=(80, 600), face_a=(50, 300), face_b=(60, 250),
    ...              pitch_a=(0, 400), pitch_b=(0, 250))
    >>> {key: round(value, 2) for key, value in read_side(marks, PhotoScale(10, turns=10)).items()}
    {'chamfer_angle': 5.71, 'chamfer_length': 10.0, 'axial_rake': 11.31, 'scale': 0.1, 'pitch': 1.5}
    """
    return _side(marks, scale, edges)[0]


def side_depth(marks: Landmarks, scale: PhotoScale, edges: Edges | None = None) -> dict[str, float]:
    """How much nearer to the camera than the axis the marks stand that `read_side` takes for marks on an edge [px]."""
    return _side(marks, scale, edges)[1]


def _side(marks: Landmarks, set_by: PhotoScale, edges: Edges | None) -> tuple[dict[str, float], dict[str, float]]:
    """What `read_side` and `side_depth` give."""
    at = {name: np.array(place, float) for name, place in marks.items()}
    for line, (one, other) in SIDE.items():
        if np.hypot(*(at[other] - at[one])) < 3:
            raise ValueError(_("the two marks of {line} lie on one another; pull them apart", line=quoted(line)))
    seen = frame(at, set_by, edges)
    names = (*SIDE["face"], *SIDE["chamfer"], *SIDE["pitch"])
    x = np.array([(at[name] - seen.foot) @ seen.out for name in names]) * seen.scale
    z = np.array([(at[name] - seen.foot) @ seen.axis for name in names]) * seen.scale
    pitch = abs(z[5] - z[4]) / set_by.turns
    if edges:
        away = AWAY * seen.scale * float(np.ptp(list(at.values()), axis=0).max())
        slope, length, twist, near = wound(x, z, edges=edges, side=seen.side, pitch=pitch, away=away)
        turn = twist * edges.major / 2
    else:
        slope, near = (x[3] - x[2]) / not_0(z[3] - z[2]), 0.0 * x
        length = z[2] - x[2] / not_0(slope)  # where the line of the chamfer meets that of the crests
        turn = (x[1] - x[0]) / not_0(z[1] - z[0])
    if abs(slope) < 1e-3:
        raise ValueError(_("chamfer and crests run side by side; pull the line of the chamfer along its crests"))
    found = dict(chamfer_angle=abs(math.degrees(math.atan(slope))), chamfer_length=length)
    found |= dict(axial_rake=math.degrees(math.atan(turn)) * seen.side, scale=seen.scale, pitch=pitch)
    return {key: float(value) for key, value in found.items()}, dict(zip(names, near / seen.scale))


class Frame(NamedTuple):
    """How a tap lies in the side view: where its axis meets the end face (2,) [px] (on the line of the crests where
    nothing is known of its edges), directions (2,) of the `axis` toward the shank and `out` from it on the `side` of
    the chamfer (1 to the right), and the `scale` [mm a pixel]."""

    foot: np.ndarray
    axis: np.ndarray
    out: np.ndarray
    side: float
    scale: float


def frame(at: Mapping[str, np.ndarray], set_by: PhotoScale, edges: Edges | None) -> Frame:
    """How a tap lies in the side view, by marks (2,) [px]: along the line of its crests, which the diameter's half lie
    from the axis; on a helical flute, whose lands come to the outline one after the other, square to the end face."""
    middle, helical = (at["point_a"] + at["point_b"]) / 2, edges is not None and edges.helical
    axis = unit(at["crest_b"] - at["crest_a"])
    if helical:
        end = unit(at["point_b"] - at["point_a"])
        axis = np.array([end[1], -end[0]])
    axis = axis if (at["crest_a"] + at["crest_b"] - 2 * middle) @ axis > 0 else -axis
    right, span = np.array([-axis[1], axis[0]]), at["scale_b"] - at["scale_a"]
    scale = set_by.known / max(abs(float(span @ right)) if set_by.across else float(np.hypot(*span)), 1e-9)
    crests = np.array([(at[name] - middle) @ right for name in SIDE["crest"]])[: 2 if helical else 1]
    off = float(np.mean(crests - np.copysign(edges.major / 2 / scale if edges else 0.0, crests)))
    aside = (at["chamfer_b"] - middle) @ right - off if helical else crests[0]
    return Frame(middle + off * right, axis, math.copysign(1.0, aside) * right, math.copysign(1.0, aside), scale)


def read_point(marks: Landmarks, *, major: float, point: float, path: str) -> dict[str, float]:
    """Values of the view of the point: `core` diameter [mm], `radial_rake` [deg], number of `flutes` (as a share of
    turns, not whole yet), `scale` [mm a pixel], for a right-hand tap of a `major` and a `point` diameter [mm].

    The end face lies nearer to the camera than the rim, so it looks larger, and stands aside where the tap leans: its
    own middle and scale are those of two neighbouring cutting edges marked there. The bottom of the flute is seen there
    too, and of the cutting face what `SEEN_AT_END` says of the `path` of the flutes. The rake is that at the rim: a
    flat face stands off the middle by the radius times the sine of it, wherever on the face its two marks are.

    >>> marks = dict(rim_1=(100, 0), rim_2=(0, 100), rim_3=(-100, 0), edge=(100, 0), inner=(80, 3.5), core=(0, 45),
    ...              end=(82, 3.2), next=(-38.24, -72.61))
    >>> {key: round(value, 2) for key, value in read_point(marks, major=10, point=8.206, path="straight").items()}
    {'scale': 0.05, 'core': 4.5, 'radial_rake': 9.91, 'flutes': 3.0}
    """
    at = {name: np.array(place, float) for name, place in marks.items()}
    middle, radius = circle(at["rim_1"], at["rim_2"], at["rim_3"])
    if np.hypot(*(at["edge"] - at["inner"])) < 3:
        raise ValueError(_("the two marks of the face lie on one another; pull the inner one along the face"))
    step = abs(_between(at["end"] - middle, at["next"] - middle))
    if step < math.radians(20):
        raise ValueError(_("the next cutting edge is marked beside the first; mark that of the flute beside it"))
    end = _apex(at["end"], at["next"], 2 * math.pi / round(2 * math.pi / step), middle)
    near, scale = point / 2 / float(np.hypot(*(at["end"] - end))), major / 2 / radius
    edge, inner = (
        (at[name] - end) * near if name in SEEN_AT_END[path] else (at[name] - middle) * scale for name in POINT["hook"]
    )
    along = edge - inner
    aside = float(along[0] * edge[1] - along[1] * edge[0]) / float(np.hypot(*along))
    return {
        "scale": scale,
        "core": 2 * float(np.hypot(*(at["core"] - end))) * near,
        "radial_rake": math.degrees(math.asin(max(-1.0, min(1.0, 2 * aside / major)))),
        "flutes": 2 * math.pi / step,
    }


def _apex(one: np.ndarray, other: np.ndarray, angle: float, near: np.ndarray) -> np.ndarray:
    """Where two points are seen as far away as each other and an angle apart [rad], the nearest to a place."""
    half = (other - one) / 2
    aside = np.array([-half[1], half[0]]) / math.tan(angle / 2)
    return min((one + half + aside, one + half - aside), key=lambda at: float(np.hypot(*(at - near))))


def point_depth(marks: Landmarks, *, major: float, chamfer: float, path: str) -> dict[str, float]:
    """How much nearer to the camera than the rim the marks stand that `read_point` takes for marks on the end face,
    the chamfer's length [mm] ahead of it [px]."""
    near = chamfer / (major / 2) * circle(*(np.array(marks[key], float) for key in POINT["rim"]))[1]
    return dict.fromkeys(("end", "next", "core", *SEEN_AT_END[path]), near)


def with_errors(
    read: Callable[[Landmarks], dict[str, float]],
    marks: Landmarks,
    *,
    pixel: float = 1.0,
    tilt: float = 3.0,
    depth: Mapping[str, float] | None = None,
) -> dict[str, Measured]:
    """Every value that `read(marks)` gives, with what `pixel` pixels of each mark and a camera `tilt`ed by so many
    degrees make of it, of marks that stand nearer to the camera by a `depth` [pixels]. The errors hold in 95 of 100
    cases where those of the marks do."""
    found, square = read(marks), dict.fromkeys(read(marks), 0.0)
    for name, (x, y) in marks.items():
        for dx, dy in ((pixel, 0.0), (0.0, pixel)):
            ahead, behind = (read({**marks, name: (x + s * dx, y + s * dy)}) for s in (1, -1))
            for key in square:
                square[key] += ((ahead[key] - behind[key]) / 2) ** 2
    off = dict.fromkeys(found, 0.0)
    for about in (0, 1):
        for sign in (1, -1):
            tilted = read(seen_tilted(marks, sign * tilt, about, depth or {}))
            off = {key: max(off[key], abs(tilted[key] - found[key])) for key in off}
    return {key: Measured(value, math.sqrt(square[key]), off[key]) for key, value in found.items()}


def seen_tilted(
    marks: Landmarks, degrees: float, about: int, depth: Mapping[str, float] | None = None
) -> dict[str, tuple[float, float]]:
    """Marks as a camera sees them that is tilted by so many degrees about the picture's x (0) or y (1), from `AWAY`;
    some stand nearer to it by a `depth` [pixels]."""
    places = np.array(list(marks.values()), float)
    middle = (places.max(axis=0) + places.min(axis=0)) / 2
    away = AWAY * float(np.ptp(places, axis=0).max())
    turn, flat = math.radians(degrees), places - middle
    near = np.array([(depth or {}).get(name, 0.0) for name in marks])
    nearer = near * math.cos(turn) + flat[:, 1 - about] * math.sin(turn)
    flat[:, 1 - about] = flat[:, 1 - about] * math.cos(turn) - near * math.sin(turn)
    seen = flat / (1 - nearer / away)[:, None] + middle
    return {name: (float(x), float(y)) for name, (x, y) in zip(marks, seen)}


def tap_with_errors(
    marks: Mapping[str, Landmarks],
    scale: PhotoScale,
    *,
    major: float,
    form: FluteForm,
    pixel: float = 1.0,
    tilt: float = 3.0,
) -> tuple[dict[str, Measured], dict[str, Measured]]:
    """What `read_side` and `read_point` give of a right-hand tap of a `major` diameter [mm], with the errors of all, by
    the marks on both views. The point diameter comes from the side; its error counts among what a pixel does."""
    how = dict(major=major, path=form.path)
    rough = read_point(marks["point"], point=0.85 * major, **how)
    edges = Edges(major, round(rough["flutes"]), rough["radial_rake"], form.is_helical) if form.sign else None

    def read(at: Landmarks) -> dict[str, float]:
        found = read_side(at, scale, edges)
        off = found["chamfer_length"] * math.tan(math.radians(found["chamfer_angle"]))
        return {**found, "point_diameter": max(major - 2 * off, 0.2 * major)}

    off = dict(pixel=pixel, tilt=tilt)
    side = with_errors(read, marks["side"], depth=side_depth(marks["side"], scale, edges), **off)
    small, depth = side["point_diameter"], point_depth(marks["point"], chamfer=side["chamfer_length"].value, **how)
    point = with_errors(lambda at: read_point(at, point=small.value, **how), marks["point"], depth=depth, **off)
    other = read_point(marks["point"], point=small.value + small.pixel, **how)
    return side, {key: one._replace(pixel=math.hypot(one.pixel, other[key] - one.value)) for key, one in point.items()}


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
    slant = {"axial_rake": round(side["axial_rake"], 1)} if form_of(form).sign else {}
    return Tap.make(
        thread,
        form,
        round(threads, 2),
        point_diameter=round(side["point_diameter"], 3),
        radial_rake=round(point["radial_rake"], 1),
        core_diameter=round(point["core"], 3),
        flutes=round(point["flutes"]),
        **slant,
    )


# --- the drawing over the photograph ---------------------------------------------------------------------


def side_over(marks: Landmarks, tap: Tap, set_by: PhotoScale) -> list[list[tuple[float, float]]]:
    """Lines of the measured tap as they should lie over the side view [pixels]: both outlines of a section through the
    axis, and the axis."""
    at = {name: np.array(place, float) for name, place in marks.items()}
    seen = frame(at, set_by, Edges.of(tap))
    first, *rest = (
        float((at[name] - seen.foot) @ seen.axis) * seen.scale for name in ("pitch_a", "pitch_b", *SIDE["crest"])
    )
    z = np.linspace(0, max(first, *rest, tap.chamfer_length), 500)
    lines, beside = [], math.copysign(1.0, (at["pitch_a"] - seen.foot) @ seen.out)
    for sign, phase in ((beside, first), (-beside, first + tap.thread.pitch / 2)):
        height = _section(tap, z, phase)
        lines.append(seen.foot + (z[:, None] * seen.axis + sign * height[:, None] * seen.out) / seen.scale)
    lines.append(seen.foot + np.array([[-0.05], [1.0]]) * z[-1] * seen.axis / seen.scale)
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


def circle(*rim: np.ndarray) -> tuple[np.ndarray, float]:
    """Middle and radius of the circle through three points."""
    rows, right = 2 * (np.array(rim[1:]) - rim[0]), [float(p @ p - rim[0] @ rim[0]) for p in rim[1:]]
    if abs(np.linalg.det(rows)) < 1.0:
        raise ValueError(_("the three marks of the rim stand in one line; spread them over three lands"))
    middle = np.linalg.solve(rows, right)
    return middle, float(np.hypot(*(rim[0] - middle)))
