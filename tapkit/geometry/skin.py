"""The skin of a tap as four-cornered cells that follow its edges, for drawing it.

Cells end exactly on crest, flank and root, where the chamfer cuts the crests off, on the cutting edges, where a
spiral point is ground back and where a flute runs out; within a cell the surface is smooth. Frame and lengths as in
`tapkit.geometry.solid`.
"""

import math
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from tapkit.geometry.solid import Solid, cartesian, finish, solid, turned
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import SQRT3

LAND, FACE, FLUTE, END, BLANK = range(5)
"""Parts of the skin: lands with the thread, cutting faces, rest of the flutes, end face and centre, neck and shank."""

COLUMNS, FILLET_NODES, BACK_NODES, BOTTOM_NODES, RUNOUT_ROWS = 9, 8, 8, 7, 10
"""Vertices across a land, down a fillet, up the back of a flute and along its bottom; rows where it runs out."""

NO_AREA = 1e-4
"""A cell that is no larger than a square of this share of the radius is left out: it has closed to a line."""

FAR = 99.0
"""Distance from a cutting edge where there is none near [mm]."""

OPEN, ACROSS, EDGE, TINT, HEIGHT = range(5)
"""Rows of `Skin.marks`."""


class Skin(NamedTuple):
    """Cells of the skin. `points`, `normals` (out of the metal) and `across` (along the surface, at right angles to
    the marks of grinding): (3, 4, cells), right-handed x, y, z [mm]; corners in the order 00, 01, 10, 11 of a grid.
    `marks` (5, 4, cells): openness 0–1 to the light, place across the marks of grinding [mm], distance from the
    cutting edge [mm], share of the cutting-face tint, z from the point [mm]. `part` (cells,) one of LAND … BLANK;
    `tooth` (cells,) number of the tooth on whose land or face a cell lies, from 1 at the point; 0 elsewhere."""

    points: np.ndarray
    normals: np.ndarray
    across: np.ndarray
    marks: np.ndarray
    part: np.ndarray
    tooth: np.ndarray


class Mesh(NamedTuple):
    """The skin by its vertices, which neighbouring cells share: `points`, `normals`, `across` (3, vertices), `marks`
    (5, vertices), `part` and `lengthwise` (vertices,) as in `Skin` and `SkinSheet`; `corners` (4, cells) the vertices
    of each cell and its `tooth` (cells,); `shapes` of the sheets: patches, rows, columns."""

    points: np.ndarray
    normals: np.ndarray
    across: np.ndarray
    marks: np.ndarray
    part: np.ndarray
    lengthwise: np.ndarray
    corners: np.ndarray
    tooth: np.ndarray
    shapes: tuple[tuple[int, int, int], ...]


class SkinSheet(NamedTuple):
    """One sheet in patches that cells cut: at each vertex (10, patches, rows, columns) its radius, angle, z, normal
    (outward, in the direction of cutting, axial) and four marks; whether the marks of grinding run along the axis; its
    part; the flute of each patch where it has teeth."""

    grid: np.ndarray
    lengthwise: bool
    part: int
    flute: np.ndarray | None = None


@lru_cache(maxsize=4)
def mesh(tap: Tap) -> Mesh:
    """The skin of a tap by its vertices; the last few are kept."""
    s = solid(tap)
    land = _Land(s)
    sheets = [land.thread(), land.wall(), *_face(s, land), _bottom(s, land), _back(s, land), *_end(s, land)]
    return _joined([*sheets, _centre(s), _between(s), *_behind(s)], s)


@lru_cache(maxsize=4)
def skin(tap: Tap) -> Skin:
    """The skin of a tap, without the cells that have no area; the last few are kept."""
    m = mesh(tap)
    p = m.points[:, m.corners]
    d, e = p[:, 3] - p[:, 0], p[:, 2] - p[:, 1]
    area = sum((d[i - 1] * e[i] - d[i] * e[i - 1]) ** 2 for i in range(3))
    keep = np.flatnonzero(area > (NO_AREA * np.hypot(p[0], p[1]).max()) ** 4)
    corners = m.corners[:, keep]
    n, b, marks = (values[:, corners] for values in (m.normals, m.across, m.marks))
    return Skin(p[:, :, keep], n, b, marks, m.part[corners[0]], m.tooth[keep])


def _grid(*values: Any) -> np.ndarray:
    """Values that broadcast to (…, rows, columns), all together: (values, patches, rows, columns)."""
    g = np.empty((len(values), *np.broadcast_shapes(*(np.shape(value) for value in values))), np.float32)
    for row, value in zip(g, values):
        row[...] = value
    return g.reshape(len(g), -1, *g.shape[-2:])


def _cut(grid: np.ndarray) -> np.ndarray:
    """What stands at the corners of the cells of a grid (…, patches, rows, columns): (…, 4, cells)."""
    c = [grid[..., :-1, :-1], grid[..., :-1, 1:], grid[..., 1:, :-1], grid[..., 1:, 1:]]
    return np.stack(c, axis=-4).reshape(*grid.shape[:-3], 4, -1)


def _teeth(sheet: SkinSheet, s: Solid) -> np.ndarray:
    """Numbers of the teeth on whose land or face the cells of a sheet lie, 0 for none, (cells,)."""
    _, patches, rows, columns = sheet.grid.shape
    each = (rows - 1) * (columns - 1)
    if sheet.flute is None:
        return np.zeros(patches * each, np.int16)
    angle, z = _cut(sheet.grid[1:3]).mean(axis=1)
    number = 1 + np.repeat(sheet.flute, each) + s.flutes * s.turn_of(angle, z)
    return np.maximum(number, 0).astype(np.int16)


def _joined(sheets: list[SkinSheet], s: Solid) -> Mesh:
    """All sheets in right-handed x, y, z."""
    v = np.concatenate([sheet.grid.reshape(10, -1) for sheet in sheets], axis=1)
    counts = [sheet.grid[0].size for sheet in sheets]
    lengthwise, part = (np.repeat([sheet[i] for sheet in sheets], counts) for i in (1, 2))
    numbers = np.split(np.arange(v.shape[1], dtype=np.int32), np.cumsum(counts)[:-1])
    corners = np.concatenate([_cut(n.reshape(sheet.grid.shape[1:])) for n, sheet in zip(numbers, sheets)], axis=1)
    hand, cosine, sine, (out, fore, axial) = s.tap.thread.hand, np.cos(v[1]), np.sin(v[1]), v[3:6]
    size = np.sqrt(out * out + fore * fore + axial * axial)
    out, fore, axial = out / size, fore / size, axial / size
    across = np.where(lengthwise, fore, -axial), np.where(lengthwise, -out, 0), np.where(lengthwise, 0, out)
    n, b = (turned(w, cosine, sine, hand) for w in ((out, fore, axial), across))
    points, marks = cartesian(v[0], cosine, sine, v[2], hand), np.concatenate([v[6:], v[2:3]])
    tooth, shapes = np.concatenate([_teeth(sheet, s) for sheet in sheets]), tuple(s.grid.shape[1:] for s in sheets)
    return Mesh(points, n, b, marks, part.astype(np.int8), lengthwise, corners, tooth, shapes)


class _Land:
    """The lands: vertices on grids (flutes, rows along z, columns from the cutting edge to the heel)."""

    def __init__(self, s: Solid) -> None:
        self.s = s
        back = s.twist * s.blank.thread_end / (2 * math.pi)
        low, high = -2 + min(back, 0), s.blank.thread_end / s.pitch + 3 + max(back, 0) + 0.2 * s.flutes
        self.turn = np.arange(math.floor(low), math.ceil(high) + 1)[None, :, None, None]
        self.flute = np.arange(s.flutes)[:, None, None, None]
        found = self._solve()
        far = np.abs(np.diff(found[0], axis=1)) + np.abs(np.diff(found[2], axis=1))
        rows = np.concatenate([[0], 1 + np.flatnonzero(far.max(axis=(0, 2)) > NO_AREA * s.outer)])  # apart in any flute
        self.r, self.angle, self.z, self.behind = (a[:, rows] for a in found)
        self.strip = (rows[1:] - 1) % 6

    def _solve(self) -> tuple[np.ndarray, ...]:
        """Vertices by a few rounds of: where the land is, where the ridge is there, where its edges are there."""
        s, u = self.s, np.linspace(0, 1, COLUMNS)
        z = (self.turn + 0.5) * s.pitch - self.flute * s.first_tooth + np.zeros((6, COLUMNS))
        r = np.full(z.shape, s.outer)
        for _ in range(5):
            edge, heel = s.edge(self.flute, r, z), s.heel(self.flute, r, z)
            behind = (edge - heel) * u
            angle = edge - behind
            thread, chamfer = s.relief(behind, edge - heel)
            ridge = s.ridge(angle) + self.turn * s.pitch
            x = self._breaks(ridge[:, :, :1], thread[:, :, :1], chamfer[:, :, :1])
            z = np.clip(ridge + x, 0.0, s.blank.thread_end)
            r = np.maximum(s.relieved(angle, z, behind, edge - heel), 0.2 * s.core)
        return tuple(a.reshape(s.flutes, -1, COLUMNS) for a in (r, angle, z, behind))

    def _breaks(self, ridge: Any, thread: Any, chamfer: Any) -> np.ndarray:
        """Where the outline of one turn bends, from the middle of its ridge [mm]: (flutes, turns, 6, columns)."""
        s, crest = self.s, self.s.pitch / 16
        foot = crest + (s.outer - s.root) / SQRT3
        over = s.outer - thread - (s.cone(ridge) - chamfer) + SQRT3 * crest
        rise = np.clip(over / (SQRT3 - s.slope), crest, foot)
        fall = np.clip(over / (SQRT3 + s.slope), crest, foot)
        full = np.clip((s.outer - thread + chamfer - s.cone(ridge)) / s.slope, -rise, fall)
        half, feet = np.full_like(ridge, -s.pitch / 2), np.full_like(ridge, foot)
        return np.concatenate([half, -feet, -rise, full, fall, feet], axis=2)

    def thread(self) -> SkinSheet:
        """The threaded lands: six strips a turn, two of the root, two flanks, and the crest or what the cone left."""
        s = self.s
        step = np.hypot(np.diff(self.r[..., :1], axis=1), np.diff(self.z[..., :1], axis=1))
        along = np.concatenate([np.zeros_like(step[:, :1]), np.cumsum(step, axis=1)], axis=1)
        crest = np.minimum(s.outer, s.cone(self.z))
        open_ = 1 - 0.6 * np.clip((crest - self.r) / (s.outer - s.root), 0, 1)
        marks = (open_, along, self.behind * self.r, 0.0)
        corners = _cut(_grid(self.r, self.angle, self.z, 0.0, 0.0, 0.0, *marks))
        strip = np.tile(np.repeat(self.strip, COLUMNS - 1), s.flutes)
        corners[3:6] = self._thread_normal(corners, strip, _cut(_grid(self.behind))[0])
        cells = corners.transpose(0, 2, 1).reshape(
            10, -1, 2, 2
        )  # a patch each, as the normal changes from strip to strip
        r, angle, z = corners[:3]
        tall = (np.hypot(r[2:] - r[:2], z[2:] - z[:2])).max(axis=0)
        size = tall * r[0] * np.abs(angle[1] - angle[0])
        some = size > (NO_AREA * s.outer) ** 2  # the others have closed to a line
        flute = np.repeat(np.arange(s.flutes), strip.size // s.flutes)
        return SkinSheet(cells[:, some], False, LAND, flute[some])

    def _thread_normal(self, corners: np.ndarray, strip: np.ndarray, behind: np.ndarray) -> tuple[Any, Any, Any]:
        """Normal of strips of the thread, leaning a little where they are relieved."""
        s = self.s
        r, z = corners[0], corners[2]
        coned = (strip == 2) | (np.isin(strip, (0, 5)) & (s.cone(z.mean(0)) < s.root))
        slope = np.where(coned, s.slope, np.array([0.0, SQRT3, s.slope, 0.0, -SQRT3, 0.0])[strip])
        relieved = behind.mean(0) > finish("thread_margin") * s.land_angle
        lean = np.where(coned, finish("chamfer_relief"), np.where(relieved, finish("thread_relief"), 0.0))
        drop = np.tan(np.radians(lean)) * s.outer
        around = slope * s.pitch / (2 * math.pi) + drop
        return np.ones_like(r), -around / r, -(slope - drop * s.turning(z))

    def wall(self) -> SkinSheet:
        """Where the thread ends and the neck begins: a step at right angles to the axis."""
        s, flute = self.s, self.flute[..., 0]
        top, end = self.r[:, -1:], s.blank.thread_end
        r = top + (s.blank.neck_radius - top) * np.linspace(0, 1, 6)[:, None]
        edge, heel = s.edge(flute, r, end), s.heel(flute, r, end)
        angle = edge + (heel - edge) * np.linspace(0, 1, COLUMNS)
        return SkinSheet(_grid(r, angle, end, 0.0, 0.0, 1.0, 0.7, r, FAR, 0.0), False, BLANK)


def _runout(s: Solid) -> np.ndarray:
    """z of the rows in which the flutes run out behind the thread [mm]."""
    return s.blank.flute_end + (s.blank.flute_gone - s.blank.flute_end) * np.linspace(0, 1, RUNOUT_ROWS)


def _between(s: Solid) -> SkinSheet:
    """Neck between the flutes as they run out."""
    z, flute, r = _runout(s)[None, :, None], np.arange(s.flutes)[:, None, None], s.blank.neck_radius
    edge, heel = s.edge(flute, r - s.lift(z), z), s.heel(flute, r - s.lift(z), z)
    angle = edge + (heel - edge) * np.linspace(0, 1, 3 * COLUMNS)
    return SkinSheet(_grid(r, angle, z, 1.0, 0.0, 0.0, 1.0, z, FAR, 0.0), False, BLANK)


def _behind(s: Solid) -> list[SkinSheet]:
    """Neck, cone and shank where the flutes are gone, and the end of the drawn shank."""
    b = s.blank
    cone = b.neck_end + b.shank_radius - b.neck_radius
    rings = (
        (b.neck_radius, b.neck_radius, b.flute_gone, b.neck_end, (1.0, 0.0, 0.0)),
        (b.neck_radius, b.shank_radius, b.neck_end, cone, (1.0, 0.0, -1.0)),
        (b.shank_radius, b.shank_radius, cone, b.shank_end, (1.0, 0.0, 0.0)),
        (b.shank_radius, 0.0, b.shank_end, b.shank_end, (0.0, 0.0, 1.0)),
    )
    return [_ring(*ring, BLANK) for ring in rings]


def _ring(
    r_in: float, r_out: float, z_in: float, z_out: float, normal: tuple[float, ...], part: int, light: Any = 1.0
) -> SkinSheet:
    """A ring of cells about the axis from one radius and z to another."""
    r, z = np.array([[r_in], [r_out]]), np.array([[z_in], [z_out]])
    angle = np.linspace(0, 2 * math.pi, 97)[None, :]
    return SkinSheet(_grid(r, angle, z, *normal, light, r + z, FAR, 0.0), False, part)


def _wall_rows(s: Solid, land: _Land, column: int) -> tuple[np.ndarray, np.ndarray]:
    """Rows of a flute's wall: z, and the radius it reaches up to, (flutes, rows, 1) each."""
    z, top = land.z[:, :, column], land.r[:, :, column]
    if s.gash:
        place = [int(np.searchsorted(z[j], s.gash_end)) for j in range(s.flutes)]
        kink = [np.interp(s.gash_end, z[j], top[j]) for j in range(s.flutes)]
        top = np.stack([np.insert(top[j], place[j], kink[j]) for j in range(s.flutes)])
        z = np.stack([np.insert(z[j], place[j], s.gash_end) for j in range(s.flutes)])
    more = np.broadcast_to(_runout(s), (s.flutes, RUNOUT_ROWS))
    neck = np.full(more.shape, s.blank.neck_radius)
    return np.concatenate([z, more], 1)[:, :, None], np.concatenate([top, neck], 1)[:, :, None]


def _wall_normal(s: Solid, flat: tuple[Any, Any], r: Any, z: Any, face: bool) -> tuple[Any, Any, Any]:
    """Normal of a flute's wall from the one of its cross-section: turned with z, and lifted where it runs out."""
    out, fore = flat
    rising = np.maximum(z - s.blank.flute_end, 0.0) / s.blank.wheel_radius
    return out, fore, -fore * r * s.turning(z, face) - out * rising


def _openness(s: Solid, r: Any, off: Any, flat: tuple[Any, Any]) -> Any:
    """Share of the sky that a point of a flute's wall sees between the two edges of the flute (in cross-section)."""
    out, fore = flat
    c, n = np.cos(off), np.sin(off)
    nx, ny = out * c - fore * n, out * n + fore * c
    seen = 0.0
    for edge in (-s.flute.half_angle, s.flute.half_angle):
        dx, dy = s.outer * math.cos(edge) - r * c, s.outer * math.sin(edge) - r * n
        hidden = np.clip((dx * nx + dy * ny) / np.maximum(np.hypot(dx, dy), 1e-9), 0, 1)
        seen = seen + np.sqrt(1 - hidden**2) / 2
    return np.clip(seen, 0.1, 1)


def _arc(r: np.ndarray, angle: np.ndarray) -> np.ndarray:
    """Length along the columns of a sheet [mm]."""
    middle = (r[..., 1:] + r[..., :-1]) / 2
    step = np.hypot(np.diff(r, axis=-1), middle * np.diff(angle, axis=-1))
    return np.concatenate([np.zeros_like(step[..., :1]), np.cumsum(step, axis=-1)], axis=-1)


def _fillet_nodes(s: Solid) -> np.ndarray:
    """Radii at which the fillet is cut in strips, from the core out [mm]."""
    share = np.sin(np.linspace(0, math.pi / 2, FILLET_NODES)) if s.flute.fillet < 0.2 * s.outer else None
    share = np.linspace(0, 1, FILLET_NODES) ** 2 if share is None else 1 - np.sqrt(np.maximum(1 - share**2, 0))
    return s.core + (s.flute.face_end - s.core) * share


def _face(s: Solid, land: _Land) -> list[SkinSheet]:
    """The cutting faces: the straight part at the radial rake, and the fillet below it."""
    z, top = _wall_rows(s, land, 0)
    flute, lift = np.arange(s.flutes)[:, None, None], s.lift(z)
    join = np.minimum(s.flute.face_end + lift, top)
    straight = join + (top - join) * np.linspace(0, 1, 4)
    curved = np.minimum(_fillet_nodes(s) + lift, top)
    past = z - s.tap.chamfer_length - 0.5 * s.pitch
    tint = np.clip(1 - 0.8 * past / s.pitch, 0.3, 1.0) * (z <= s.blank.thread_end)
    found = []
    for r, colour, part, own in ((straight, tint, FACE, flute.ravel()), (curved, 0.0, FLUTE, None)):
        flat, angle = s.flute.face_normal(r - lift), s.edge(flute, r - lift, z)
        light = _openness(s, r - lift, s.flute.face(r - lift), flat)
        marks = (light, _arc(r, angle), top - r, colour)
        found.append(SkinSheet(_grid(r, angle, z, *_wall_normal(s, flat, r, z, True), *marks), True, part, own))
    return found


def _bottom(s: Solid, land: _Land) -> SkinSheet:
    """The bottoms of the flutes, where they follow the core circle from the face's fillet to the back."""
    z, top = _wall_rows(s, land, 0)
    middle = s.middle(np.arange(s.flutes)[:, None, None], z)
    r = np.minimum(s.core + s.lift(z), top)
    start, end = middle + s.flute.bottom_start - s.ground_back(z), middle + s.flute.bottom_end
    angle = start + (end - start) * np.linspace(0, 1, BOTTOM_NODES)
    rising = np.maximum(z - s.blank.flute_end, 0.0) / s.blank.wheel_radius
    light = _openness(s, s.core, angle - middle, (1.0, 0.0))
    return SkinSheet(_grid(r, angle, z, 1.0, 0.0, -rising, light, (angle - start) * r, FAR, 0.0), True, FLUTE)


def _back(s: Solid, land: _Land) -> SkinSheet:
    """The backs of the flutes, up to the heels of the lands."""
    z, top = _wall_rows(s, land, -1)
    lift = s.lift(z)
    nodes = s.core + (s.outer - s.core) * np.linspace(0, 1, BACK_NODES) ** 2
    r = np.minimum(nodes + lift, top)
    flat, angle = s.flute.heel_normal(r - lift), s.heel(np.arange(s.flutes)[:, None, None], r - lift, z)
    marks = (_openness(s, r - lift, s.flute.heel(r - lift), flat), _arc(r, angle), FAR, 0.0)
    return SkinSheet(_grid(r, angle, z, *_wall_normal(s, flat, r, z, False), *marks), True, FLUTE)


def _end(s: Solid, land: _Land) -> list[SkinSheet]:
    """The end face at z = 0: its sectors under the lands, and between them the core."""
    flute, core, hole = np.arange(s.flutes)[:, None, None], s.core, s.blank.centre_radius
    rim = land.r[:, :1]
    inner = np.minimum(core, rim)
    r = np.concatenate([np.full_like(rim, hole), inner + (rim - inner) * np.linspace(0, 1, 5)[None, :, None]], axis=1)
    edge, heel = s.edge(flute, r, 0.0), s.heel(flute, r, 0.0)
    lands = edge + (heel - edge) * np.linspace(0, 1, COLUMNS)
    start = s.middle(flute, 0.0) + s.flute.bottom_start - s.ground_back(0.0)
    end = s.middle(flute, 0.0) + s.flute.bottom_end
    between = start + (end - start) * np.linspace(0, 1, BOTTOM_NODES)
    ring = np.array([hole, core])[None, :, None]
    rest = (0.0, 0.0, 0.0, -1.0, 1.0)
    return [SkinSheet(_grid(a, b, *rest, a, FAR, 0.0), False, END) for a, b in ((r, lands), (ring, between))]


def _centre(s: Solid) -> SkinSheet:
    """The centre on the point: a cone, standing out or bored in."""
    b = s.blank
    light = np.array([[1.0], [1.0]] if b.centre_height > 0 else [[0.3], [0.8]])
    normal = (b.centre_height / b.centre_radius, 0.0, -1.0)
    return _ring(0.0, b.centre_radius, -b.centre_height, 0.0, normal, END, light)
