"""Saint-Venant torsion of the true outline: a face at its radial rake, a fillet, the back and the land, without thread.

`torsion` takes arcs for both sides of a flute; this takes the outline of `geometry.solid`, for one tap or for many. The
stress function is φ = ψ − r²/2 with ψ harmonic and equal to r²/2 on the edge. The section looks the same after each
flute, so ψ is a harmonic function of w = z^Z, and one sector's edge is a closed curve in w: there the boundary
integral equation ½ψ = ∮ (q ln r − ψ ∂ln r/∂n) ds / 2π for q = ∂ψ/∂n is solved with constant elements on straight
pieces, whose integrals are exact. Then J = ∫ r² dA − Z ∮ ψ q ds, and the shear stress on the edge is
T |q |dw/dz| − ∂(r²/2)/∂n| / J.

Left out: helix, neck, the notch of the thread's root, and what a spiral point is ground back.
Sources: Timoshenko & Goodier, Theory of Elasticity, ch. 10 (the stress function); the rest derived for this project.
Against finite elements: tests/mechanics/test_truetorsion.py.
"""

from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from tapkit.geometry.solid import FluteShape, flute_shape
from tapkit.geometry.tap import Tap
from tapkit.mechanics.lattice import on_lattice

PIECES = (10, 16, 10, 22, 14)
"""Even numbers of pieces on the straight face, its fillet, the core circle, the back, and the land: within 0.3 % of
finite elements for usual sections."""

SHORT = 0.1
"""Share of half a flute below which the arc on the core circle is but one piece."""

BATCH = 16
"""Sections solved together."""

CACHED = 16_000
"""Pairs of pieces whose arrays stay in the cache, and need no fresh memory from the system: 2/3 of the time."""


class TrueTorsion(NamedTuple):
    """Torsion of the true outline; floats, or arrays of one shape: `J` torsion constant [mm4], `stress_per_torque`
    peak shear stress [MPa per N·m]."""

    J: Any
    stress_per_torque: Any


def true_torsion(tap: Tap) -> TrueTorsion:
    """Torsion of a tap's outline behind what is ground back.

    >>> found = true_torsion(Tap.make("M10", "straight", radial_rake=10))
    >>> found.J > 0
    True
    """
    return TrueTorsion(*_one(tap.thread.major, tap.core_diameter, tap.land_width, tap.flutes, tap.radial_rake,
                             tap.thread.pitch))  # fmt: skip


def many(
    *, diameter: Any, core: Any, land: Any, flutes: Any, radial_rake: Any, pitch: Any, exact: bool = False
) -> TrueTorsion:
    """The same for many, arrays (sections,): D, core diameter, chord of a land, pitch [mm] and radial rake [deg]. Equal
    sections (in proportion) are solved once; those whose flutes meet give nan. `exact` as each alone, else very many
    may be taken from a lattice, within 0.1 %."""
    columns = np.broadcast_arrays(*(np.asarray(v, float) for v in (diameter, core, land, flutes, radial_rake, pitch)))
    D, c, l, z, rake, p = (column.ravel() for column in columns)
    keys = np.column_stack([z, *(np.round(v, 12) for v in (c / D, l / D, rake, p / D))])
    one, back = np.unique(keys, axis=0, return_inverse=True)
    solved = _in_batches(one) if exact else on_lattice(_in_batches, one)
    J, slope = solved[:, back.ravel()]
    radius = (D / 2).reshape(columns[0].shape)
    J, slope = J.reshape(radius.shape), slope.reshape(radius.shape)
    return TrueTorsion(J * radius**4, 1000 * slope / (J * radius**3))


@lru_cache(maxsize=1024)
def _one(diameter: float, core: float, land: float, flutes: int, rake: float, pitch: float) -> tuple[float, float]:
    found = many(diameter=diameter, core=core, land=land, flutes=flutes, radial_rake=rake, pitch=pitch)
    return float(found.J), float(found.stress_per_torque)


def _in_batches(keys: np.ndarray) -> np.ndarray:
    """J and peak |∇φ|, (2, sections), of sections with R = 1; keys (sections, 5) as in `many`."""
    flutes, core, land, rake, pitch = keys.T
    shape = flute_shape(diameter=2.0, core=2 * core, land=2 * land, flutes=flutes, radial_rake=rake, pitch=2 * pitch)
    parts = np.array_split(np.arange(len(keys)), max(1, len(keys) // BATCH))
    return np.concatenate([_solve(FluteShape(*(v[k] for v in shape)), flutes[k]) for k in parts], axis=1)


def _solve(shape: FluteShape, flutes: np.ndarray) -> np.ndarray:
    """The same of some. The error falls with the square of the pieces' size: what half as many pieces give tells how
    far to go on."""
    half = tuple(n // 2 for n in PIECES)
    coarse, fine = (np.array(_with_pieces(sector(shape, flutes, n), flutes[:, None])) for n in (half, PIECES))
    return fine + (fine - coarse) / 3


def _with_pieces(z: np.ndarray, flutes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """J and peak |∇φ| from the edge of one sector, complex (sections, nodes); `flutes` (sections, 1)."""
    w = np.abs(z) ** flutes * np.exp(1j * flutes * np.unwrap(np.angle(z), axis=1))
    parts = np.array_split(np.arange(len(w)), -(-len(w) * w.shape[1] ** 2 // CACHED))
    slope, length, psi = (np.concatenate(v) for v in zip(*(_normal_slope(w[k], flutes[k]) for k in parts)))
    mid = (w[:, 1:] + w[:, :-1]) / 2
    r = np.abs(mid) ** (1 / flutes)
    outward = -1j * np.diff(w, axis=1) / length  # the map turns it as it turns the radius
    across = r * np.real(outward * np.conj(mid)) / np.abs(mid)
    shear = np.abs(slope * flutes * r ** (flutes - 1) - across)
    return flutes[:, 0] * (_polar_moment(z) - np.sum(psi * slope * length, axis=1)), shear.max(axis=1)


def sector(shape: FluteShape, flutes: np.ndarray, pieces: tuple[int, ...]) -> np.ndarray:
    """Edge of one sector with R = 1, complex (sections, nodes), counter-clockwise: face, fillet, core, back, land;
    small pieces toward the corners. Where the core circle is `SHORT`, or there is none, its pieces lie on the beginning
    of the back."""
    s = FluteShape(*(np.asarray(v, float).reshape(-1, 1) for v in shape))
    t = [np.linspace(0, 1, n + 1)[None, :] for n in pieces]
    ends = [s.outer + (s.face_end - s.outer) * t[0] ** 1.6, s.core + (s.face_end - s.core) * (1 - t[1]) ** 2]
    is_short = s.bottom_end - s.bottom_start < SHORT * s.half_angle
    share = np.where(is_short, 0.3, 0.0)

    def back(along: Any) -> Any:
        return s.core + (s.outer - s.core) * np.sin(np.pi / 2 * along**1.3) ** 1.3

    r = [*ends, back(share * t[2]), back(share + (1 - share) * t[3]), s.outer + 0 * t[4]]
    bottom = np.where(is_short & (t[2] > 0), s.heel(r[2]), s.bottom_start + (s.bottom_end - s.bottom_start) * t[2])
    around = [s.face(r[0]), s.face(r[1]), bottom, s.heel(r[3])]
    next_edge = 2 * np.pi / np.asarray(flutes).reshape(-1, 1) - s.half_angle
    around.append(s.half_angle + (next_edge - s.half_angle) * (1 - np.cos(np.pi * t[4])) / 2)
    parts = [a * np.exp(1j * b) for a, b in zip(r, around)]
    return np.concatenate([p[:, :-1] for p in parts[:-1]] + [parts[-1]], axis=1)


def _polar_moment(z: np.ndarray) -> np.ndarray:
    """∫ r² dA of each sector, its edge taken as straight pieces: exact for the polygon with the centre."""
    a, b = z[:, :-1], z[:, 1:]
    cross = np.imag(np.conj(a) * b)
    return np.sum(cross * (np.abs(a) ** 2 + np.real(np.conj(a) * b) + np.abs(b) ** 2), axis=1) / 12


def _normal_slope(w: np.ndarray, flutes: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """q = ∂ψ/∂n on each piece of the closed curves w, the lengths of the pieces, and ψ there; (sections, pieces)."""
    step, mid = np.diff(w, axis=1), (w[:, 1:] + w[:, :-1]) / 2
    length = np.abs(step)
    edge = np.abs(w) ** (2 / flutes) / 2
    psi = (edge[:, 1:] + edge[:, :-1]) / 2
    x, y = (one[:, None, :] - other[:, :, None] for one, other in zip(_parts(w), _parts(mid)))
    logs = np.log(x * x + y * y) / 2
    x, y, along, across, long = x[..., :-1], y[..., :-1], *(v[:, None, :] for v in (*_parts(step / length), length))
    near, away = along * x + across * y, along * y - across * x  # the piece's near end, seen along it and across
    far = near + long
    angle = np.arctan2(-away * long, near * far + away * away)  # seen from a piece's middle; −π to π
    single = far * logs[..., 1:] - near * logs[..., :-1] - long - away * angle
    own = np.arange(mid.shape[1])
    angle[:, own, own] = 0.0
    rise = np.diff(edge, axis=1)[:, None, :] / length[:, None, :]  # ψ straight along each piece
    tilt = -away * np.diff(logs, axis=2) - (near + far) / 2 * angle
    tilt[:, own, own] = 0.0
    double = np.sum(angle * (psi[:, None, :] - psi[:, :, None]) + tilt * rise, axis=2)  # the curve is seen under π
    return np.linalg.solve(single, double[..., None])[..., 0], length, psi


def _parts(z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return z.real, z.imag
