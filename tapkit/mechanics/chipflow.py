"""Where the chip goes: its direction on the cutting face, and so along the tap.

Directions are unit vectors (radial outward, cutting, axial toward the shank).
"""

from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from tapkit.mechanics import rake
from tapkit.mechanics.assumptions import assumption

TO_SHANK, AHEAD, UNDECIDED = "toward the shank", "ahead of the point", "undecided"


class ChipFlow(NamedTuple):
    """How the chip leaves one chamfer edge; angles in degrees.

    `inclination` λ_s, `normal_rake` γ_n, `flow_angle` η on the face from the edge's normal, `axial_angle` of
    the chip above the plane square to the axis (positive toward the shank), `vector` (radial, cutting,
    axial) of unit length, `direction` in words, `band` within which the inclination decides nothing.
    """

    inclination: float
    normal_rake: float
    flow_angle: float
    axial_angle: float
    vector: tuple[float, float, float]
    direction: str
    band: float


def _unit(*parts: Any) -> np.ndarray:
    v = np.stack(np.broadcast_arrays(*parts), axis=-1)
    return v / np.sqrt(np.sum(v * v, axis=-1, keepdims=True))


def face_normal(*, radial_rake: Any, axial_rake: Any) -> np.ndarray:
    """Unit normal of the cutting face, shape (…, 3): n ∝ (−tan γ_p, 1, tan γ_f)."""
    return _unit(-np.tan(np.radians(radial_rake)), 1.0, np.tan(np.radians(axial_rake)))


def chamfer_edge(*, radial_rake: Any, axial_rake: Any, chamfer_angle: Any) -> np.ndarray:
    """Unit vector along the chamfer edge toward the shank, shape (…, 3): e ∝ (sin κ, e_v, cos κ), n·e = 0."""
    k = np.radians(chamfer_angle)
    lam = rake.inclination(radial_rake=radial_rake, axial_rake=axial_rake, chamfer_angle=chamfer_angle)
    return _unit(np.sin(k), np.tan(np.radians(lam)), np.cos(k))


def across_face(*, radial_rake: Any, axial_rake: Any, chamfer_angle: Any) -> np.ndarray:
    """Unit vector in the face at right angles to the edge, pointing inward, shape (…, 3)."""
    normal = face_normal(radial_rake=radial_rake, axial_rake=axial_rake)
    m = np.cross(normal, chamfer_edge(radial_rake=radial_rake, axial_rake=axial_rake, chamfer_angle=chamfer_angle))
    return np.where(m[..., :1] > 0, -m, m)


def chip_vector(flow_angle: Any, *, radial_rake: Any, axial_rake: Any, chamfer_angle: Any) -> np.ndarray:
    """Unit vector of the chip leaving at η [deg] on the face, shape (…, 3): cos η m − sin η e."""
    angles = dict(radial_rake=radial_rake, axial_rake=axial_rake, chamfer_angle=chamfer_angle)
    eta = np.radians(flow_angle)[..., None]
    return np.cos(eta) * across_face(**angles) - np.sin(eta) * chamfer_edge(**angles)


def axial_angle(vector: np.ndarray) -> Any:
    """Angle of unit vectors (…, 3) above the plane square to the axis [deg], positive toward the shank."""
    return np.degrees(np.arcsin(np.clip(vector[..., 2], -1, 1)))


def direction_in_words(inclination: float, axial: float, band: float) -> str:
    """Where the chip goes, from inclination and axial angle [deg]; both must agree, or it is undecided.

    >>> direction_in_words(13.2, -4.9, 5), direction_in_words(1.4, 7.9, 5)
    ('ahead of the point', 'undecided')
    """
    if inclination <= -band and axial > 0:
        return TO_SHANK
    if inclination >= band and axial < 0:
        return AHEAD
    return UNDECIDED


@lru_cache(maxsize=1024)
def chip_flow(
    *,
    radial_rake: float,
    axial_rake: float,
    chamfer_angle: float,
    flow_angle: float | None = None,
    band: float | None = None,
) -> ChipFlow:
    """Chip flow on a chamfer edge; η by Stabler's rule, η = λ_s, unless given. All angles in degrees.

    Source: Stabler 1951, a first approximation; Childs et al., Metal Machining, 6.4, calls it not well supported.

    >>> chip_flow(radial_rake=10, axial_rake=40, chamfer_angle=15).direction
    'toward the shank'
    """
    angles = dict(radial_rake=radial_rake, axial_rake=axial_rake, chamfer_angle=chamfer_angle)
    band = assumption("undecided_band").value if band is None else band
    lam = float(rake.inclination(**angles))
    eta = lam if flow_angle is None else flow_angle
    vector = chip_vector(eta, **angles)
    axial = float(axial_angle(vector))
    return ChipFlow(
        lam,
        float(rake.normal_rake(**angles)),
        eta,
        axial,
        tuple(float(v) for v in vector),
        direction_in_words(lam, axial, band),
        band,
    )
