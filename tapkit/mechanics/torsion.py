"""Saint-Venant torsion of the fluted section, for one tap or for many at once.

The stress function φ obeys ∇²φ = −2 in the section and φ = 0 on its edge; J = 2 ∫φ dA, and the shear stress
is T |∇φ| / J. With φ = Re f(z) − |z|²/2 only the analytic function f is unknown. It is fitted on the edge by
least squares from functions that have the symmetry of the section, all of them functions of w = z^Z:
powers of w; poles at the flutes' centres and at their mirror images in the neighbouring flutes (where f's
continuation through the arcs has its own poles); and simple poles crowding toward the edges of the lands,
which take up the corners. By the maximum principle the error of φ inside is nowhere larger than on the edge, so
the misfit at the nodes there gives an estimate of the error of J.

What a tap bears rests on the true outline, `tapkit.mechanics.truetorsion`; this is the high end of its range
where it bears more.
Left out: the helix of the flutes, the neck behind them, and the notch of the thread's root. How the section differs
from the tap's true outline, and by how much, is said in `tapkit.geometry.section`.
Sources: Timoshenko & Goodier, Theory of Elasticity, ch. 10 (the stress function); Gopal & Trefethen 2019,
SIAM J. Numer. Anal. 57 (poles crowding toward corners). The whole derived for this project.
"""

from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from tapkit.geometry import section as shape
from tapkit.geometry.section import Flute
from tapkit.mechanics.lattice import on_lattice

CROWDING = 3.0
"""How fast the corner poles crowd toward a corner: distances e^(−3 (√n − √j)), j = 1 … n."""

RIDGE = 1e-15
"""Weight that keeps nearly equal functions of the fit apart."""


class Section(NamedTuple):
    """A fluted section under torsion; floats, or arrays of one shape.

    `J` torsion constant [mm4]; `stress_per_torque` peak shear stress [MPa per N·m], found at a flute's bottom
    unless the flutes are very wide; `shortcut_stress` the textbook shortcut 16 T/(π d³) on the core circle
    [MPa per N·m], for comparison only.
    """

    J: Any
    stress_per_torque: Any
    shortcut_stress: Any


class SeriesBasis(NamedTuple):
    """Size of the fit: highest power of w, order of the poles at the flute centres and at their images,
    corner poles, and nodes on half a flute and half a land."""

    powers: int
    centre_order: int
    image_order: int
    corner_poles: int
    arc_nodes: int
    land_nodes: int


BASIS = SeriesBasis(12, 4, 3, 10, 88, 50)
"""Within 0.1 % of a finer fit for every section that a tap may have; 0.3 ms."""


def shortcut_stress(core: Any) -> Any:
    """Shear stress by the textbook shortcut, the core circle alone: 16 T/(π d³) [MPa per N·m], d in mm.

    It overstates the stress 1.3 to 5 times: the lands carry too. Source: general strength of materials.

    >>> round(float(shortcut_stress(5.0)), 1)
    40.7
    """
    return 16 * 1000 / (np.pi * np.asarray(core, float) ** 3)


def torsion(*, diameter: float, core: float, land: float, flutes: int) -> Section:
    """Torsion of one section, from D, core diameter, chord of a land [mm] and number of flutes 1 to 8.

    Within 0.2 % of finite elements. Raises ValueError where the flutes cut the lands through.

    >>> found = torsion(diameter=10, core=3.5, land=3.0, flutes=3)
    >>> round(float(found.J), 1), round(float(found.stress_per_torque), 1)
    (58.7, 53.7)
    """
    shape.check_neck(diameter=diameter, core=core, land=land, flutes=flutes)
    share = _unit_section(int(flutes), round(core / diameter, 12), round(land / diameter, 12))
    return _scaled(share, diameter, core)


def torsion_many(*, diameter: Any, core: Any, land: Any, flutes: Any, exact: bool = False) -> Section:
    """Torsion of many sections at once; arguments broadcast, results have their common shape.

    Equal sections (in proportion) are solved once. Sections whose flutes meet give nan. `exact` as each alone, else
    very many may be taken from a lattice, within 0.1 %.
    """
    d, c, l, z = np.broadcast_arrays(*(np.asarray(v, float) for v in (diameter, core, land, flutes)))
    keys = np.column_stack([z.ravel(), np.round((c / d).ravel(), 12), np.round((l / d).ravel(), 12)])
    one, back = np.unique(keys, axis=0, return_inverse=True)
    solved = (_in_batches(one) if exact else on_lattice(_in_batches, one))[:, back.ravel()]
    return _scaled(tuple(x.reshape(d.shape) for x in solved), d, c)


def torque_at_breakage(section: Any, shear_at_breakage: Any, bending: Any = 0.0) -> Any:
    """Torque at which the greatest shear reaches τ_break [N·m]: T = √(τ_break² − (σ/2)²) / (τ per N·m).

    `bending` stress σ of a tap that is bent as well [N/mm2]; nothing is left where it breaks the tap alone.
    `section` a `Section` or the `TrueTorsion` of an outline.
    """
    left = np.maximum(np.square(shear_at_breakage) - np.square(bending) / 4, 0.0)
    return np.sqrt(left) / section.stress_per_torque


def _scaled(unit: tuple[Any, Any], diameter: Any, core: Any) -> Section:
    """A section of radius 1 brought to size: J grows with R⁴, stress falls with R³."""
    J, slope = unit
    radius = diameter / 2
    return Section(J * radius**4, 1000 * slope / (J * radius**3), shortcut_stress(core))


@lru_cache(maxsize=4096)
def _unit_section(flutes: int, core_ratio: float, land_ratio: float) -> tuple[float, float]:
    J, slope = _solve(np.array([flutes]), np.array([core_ratio]), np.array([land_ratio]))
    return float(J[0]), float(slope[0])


class _Edge(NamedTuple):
    """Nodes on half a flute and half a land of sections with R = 1, shape (sections, nodes): points z,
    steps dz of the quadrature, weights of the fit; `along` (arc nodes,) share of the way up the flute."""

    z: np.ndarray
    dz: np.ndarray
    weight: np.ndarray
    along: np.ndarray


def _in_batches(keys: np.ndarray) -> np.ndarray:
    """J and peak |∇φ|, (2, sections), for R = 1; keys (sections, 3): flutes, core and land as shares of D. nan where
    flutes meet."""
    found = np.full((2, len(keys)), np.nan)
    flutes, core, land = keys.T
    neck = shape.neck(diameter=1.0, core=core, land=land, flutes=flutes)
    there = np.flatnonzero(neck >= shape.THINNEST_NECK * np.minimum(land, core))
    for k in np.array_split(there, max(1, len(there) // 100)):
        if len(k):
            found[:, k] = _solve(flutes[k], core[k], land[k])
    return found


def _solve(
    flutes: np.ndarray, core: np.ndarray, land: np.ndarray, basis: SeriesBasis = BASIS
) -> tuple[np.ndarray, ...]:
    """J and peak |∇φ|, each (sections,), for R = 1; core and land as shares of D."""
    return solve_arc(flutes, shape.flute(diameter=2.0, core=2 * core, land=2 * land, flutes=flutes), basis)


def solve_arc(flutes: np.ndarray, arc: Flute, basis: SeriesBasis) -> tuple[np.ndarray, ...]:
    """The same for sections given by their flutes, R = 1."""
    edge = _edge(flutes, arc, basis)
    z, Z = edge.z, flutes[:, None]
    w = z**Z
    values, slopes = _functions(w, Z, flutes, arc, basis)
    target = np.abs(z) ** 2 / 2
    fit = _least_squares(values.real * edge.weight[:, None, :], target * edge.weight)
    f = np.einsum("sc,scn->sn", fit, values)  # not by BLAS, whose threads cost more than they bring
    arc_z, arc_w = z[:, : basis.arc_nodes], w[:, : basis.arc_nodes]
    slope = np.einsum("sc,scn->sn", fit, slopes) * Z * arc_w / arc_z
    inside = np.imag(np.sum((2 * f - target) * np.conj(z) * edge.dz, axis=1))
    grad = np.abs(np.conj(slope) - arc_z)
    return flutes * inside, _peak(edge.along, grad)


def _edge(flutes: np.ndarray, arc: Flute, basis: SeriesBasis) -> _Edge:
    along, weight = _graded(basis.arc_nodes)
    length, bend = arc.half_length[:, None], arc.curvature[:, None]
    x, y = Flute(*(np.asarray(v)[..., None] for v in arc)).at(along * length)
    flute_step = 1j * np.exp(-1j * bend * along * length) * length * weight
    back, land_weight = _graded(basis.land_nodes)
    half_land = (np.pi / flutes - arc.half_angle)[:, None]
    land = np.exp(1j * (np.pi / flutes[:, None] - half_land * back))
    # the land runs from its edge to its middle; its nodes are counted back to the edge
    z = np.concatenate([x + 1j * y, land], axis=1)
    dz = np.concatenate([flute_step, 1j * land * half_land * land_weight], axis=1)
    return _Edge(z, dz, np.sqrt(np.abs(dz)) + 1e-3, along)


@lru_cache(maxsize=8)
def _graded(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Gauss nodes and weights on 0 … 1, crowded toward 1 where the corner is."""
    x, weight = np.polynomial.legendre.leggauss(count)
    left = (1 - x) / 2
    return 1 - left**3, weight / 2 * 3 * left**2


def _functions(
    w: np.ndarray, Z: np.ndarray, flutes: np.ndarray, arc: Flute, basis: SeriesBasis
) -> tuple[np.ndarray, np.ndarray]:
    """The fit's functions of w (sections, functions, nodes) and their slopes by w on the flute alone."""
    n, poles = basis.arc_nodes, _poles(flutes, arc, basis)
    count = basis.powers + 1 + sum(order * (1 if axis else 2) for _, order, _, axis in poles)
    values = np.empty((len(w), count, w.shape[1]), complex)
    slopes = np.empty((len(w), count, n), complex)
    values[:, 0], slopes[:, 0] = 1.0, 0.0
    for j in range(1, basis.powers + 1):
        values[:, j] = values[:, j - 1] * w
        slopes[:, j] = j * values[:, j - 1, :n]
    at = basis.powers + 1
    for place, order, exists, axis in poles:
        there = np.where(exists, place, 2.0)[:, None] ** Z
        gap = w - there
        near = np.sqrt(np.min(gap.real**2 + gap.imag**2, axis=1, keepdims=True)) * exists[:, None]
        pair = (near / gap,) if axis else (near / gap, near / (w - np.conj(there)))
        per = -1 / np.where(near > 0, near, 1.0)
        powers = pair
        for m in range(1, order + 1):
            rises = [m * per * q[:, :n] * p[:, :n] for q, p in zip(powers, pair)]
            if axis:
                values[:, at], slopes[:, at] = powers[0], rises[0]
            else:
                values[:, at], values[:, at + 1] = powers[0] + powers[1], 1j * (powers[0] - powers[1])
                slopes[:, at], slopes[:, at + 1] = rises[0] + rises[1], 1j * (rises[0] - rises[1])
            at += 1 if axis else 2
            powers = tuple(q * p for q, p in zip(powers, pair))
    return values, slopes


class _Pole(NamedTuple):
    """One pole for each section: its place (sections,), order, which sections have it, and whether it lies on the
    axis of the flute; one that does not comes as a pair with its mirror image."""

    place: np.ndarray
    order: int
    exists: np.ndarray
    on_axis: bool


def _poles(flutes: np.ndarray, arc: Flute, basis: SeriesBasis) -> list[_Pole]:
    hollow = arc.curvature > 1e-3
    radius = 1 / np.where(hollow, arc.curvature, 1.0)
    centre = arc.core_radius + radius
    neighbour = centre * np.exp(2j * np.pi / flutes)
    apart = np.where(flutes > 1, np.conj(neighbour - centre), 1.0)
    found = [
        _Pole(centre + 0j, basis.centre_order, hollow, True),
        _Pole(centre + radius**2 / apart, basis.image_order, hollow & (flutes > 1), False),
    ]
    corner = np.exp(1j * arc.half_angle)
    up_flute = -1j * np.exp(-1j * arc.curvature * arc.half_length)
    inner = np.angle(up_flute / (1j * corner)) % (2 * np.pi)
    outward = -1j * corner * np.exp(0.5j * inner)
    reach = np.minimum(np.minimum(0.6, arc.half_angle), 1 - 0.9 * arc.core_radius)
    for j in range(1, basis.corner_poles + 1):
        distance = reach * np.exp(-CROWDING * (np.sqrt(basis.corner_poles) - np.sqrt(j)))
        found.append(_Pole(corner + outward * distance, 1, np.ones(len(flutes), bool), False))
    return found


def _least_squares(rows: np.ndarray, target: np.ndarray) -> np.ndarray:
    """Least-squares fits of `target` (sections, nodes) by `rows` (sections, functions, nodes); zero rows get zero."""
    size = np.sqrt(np.einsum("scn,scn->sc", rows, rows))
    scale = 1 / np.where(size > 0, size, 1.0)
    scaled = rows * scale[..., None]
    turned = np.swapaxes(scaled, 1, 2)
    square = scaled @ turned
    corner = np.arange(rows.shape[1])
    square[:, corner, corner] += np.where(size > 0, RIDGE * rows.shape[1], 1.0)
    fit = np.zeros(size.shape)[..., None]
    for _ in range(2):  # the second pass takes up what the squared system lost
        left = target[..., None] - turned @ fit
        fit = fit + np.linalg.solve(square, scaled @ left)
    return fit[..., 0] * scale


def _peak(along: np.ndarray, grad: np.ndarray) -> np.ndarray:
    """Largest value along the flute, by a parabola through the largest node and its neighbours.

    The flute is mirrored at its bottom; its last nodes, beside the corner where the stress is zero, are left out.
    """
    keep = int(np.searchsorted(along, 0.98))
    x = np.concatenate([-along[:1], along[:keep]])
    g = np.concatenate([grad[:, :1], grad[:, :keep]], axis=1)
    top = np.clip(np.argmax(g[:, 1:], axis=1) + 1, 1, keep - 1)
    rows = np.arange(len(g))
    x0, x1, x2 = x[top - 1], x[top], x[top + 1]
    g0, g1, g2 = g[rows, top - 1], g[rows, top], g[rows, top + 1]
    rise = (g1 - g0) / (x1 - x0)
    bend = ((g2 - g1) / (x2 - x1) - rise) / (x2 - x0)
    peak_at = np.clip((x0 + x1) / 2 - rise / np.where(bend < 0, 2 * bend, -np.inf), x0, x2)
    return np.maximum(g0 + rise * (peak_at - x0) + bend * (peak_at - x0) * (peak_at - x1), g1)
