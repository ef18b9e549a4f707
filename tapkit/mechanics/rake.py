"""Tool angles on the chamfer edge of a tap, from radial rake, axial rake and chamfer angle (ISO 3002-1).

All functions take and give degrees, floats or arrays that broadcast.
"""

from typing import Any

import numpy as np


def inclination(*, radial_rake: Any, axial_rake: Any, chamfer_angle: Any) -> Any:
    """Inclination λ_s of the chamfer edge [deg].

    tan λ_s = tan γ_p sin κ − tan γ_f cos κ. Source: ISO 3002-1, the tap's angles put for the tool's.

    >>> round(float(inclination(radial_rake=10, axial_rake=40, chamfer_angle=15)), 1)
    -37.4
    """
    gp, gf, k = (np.radians(a) for a in (radial_rake, axial_rake, chamfer_angle))
    return np.degrees(np.arctan(np.tan(gp) * np.sin(k) - np.tan(gf) * np.cos(k)))


def orthogonal_rake(*, radial_rake: Any, axial_rake: Any, chamfer_angle: Any) -> Any:
    """Orthogonal rake γ_o of the chamfer edge [deg].

    tan γ_o = tan γ_p cos κ + tan γ_f sin κ. Source: ISO 3002-1.

    >>> round(float(orthogonal_rake(radial_rake=10, axial_rake=15, chamfer_angle=15)), 1)
    13.5
    """
    gp, gf, k = (np.radians(a) for a in (radial_rake, axial_rake, chamfer_angle))
    return np.degrees(np.arctan(np.tan(gp) * np.cos(k) + np.tan(gf) * np.sin(k)))


def normal_rake(*, radial_rake: Any, axial_rake: Any, chamfer_angle: Any) -> Any:
    """Normal rake γ_n of the chamfer edge [deg]: tan γ_n = tan γ_o cos λ_s. Source: ISO 3002-1.

    >>> round(float(normal_rake(radial_rake=10, axial_rake=-12, chamfer_angle=8)), 1)
    8.0
    """
    angles = dict(radial_rake=radial_rake, axial_rake=axial_rake, chamfer_angle=chamfer_angle)
    go, ls = np.radians(orthogonal_rake(**angles)), np.radians(inclination(**angles))
    return np.degrees(np.arctan(np.tan(go) * np.cos(ls)))


def neutral_axial_rake(*, radial_rake: Any, chamfer_angle: Any) -> Any:
    """Axial rake at which the edge has no inclination [deg]: tan γ_f = tan γ_p tan κ.

    >>> round(float(neutral_axial_rake(radial_rake=10, chamfer_angle=15)), 2)
    2.71
    """
    gp, k = np.radians(radial_rake), np.radians(chamfer_angle)
    return np.degrees(np.arctan(np.tan(gp) * np.tan(k)))
