"""Forces beyond torque: what pushes the tap sideways, and along its axis.

The chip presses on the face along its normal and drags on it along its own way, with the friction μ:

    F = N (−n + μ c),  N from the cutting force:  F_c = N (n_v − μ c_v)

n the face's normal, c the chip's direction, v the cutting direction. The friction μ is not well known
(0.3 to 0.8), so it can be changed. Forces on flanks and edge radius are left out. Source:
friction on the face as in Merchant 1945, J. Appl. Phys. 16; put together for this project.
"""

from typing import Any, NamedTuple

import numpy as np

from tapkit.mechanics import chipflow


class SideForces(NamedTuple):
    """Side force on the whole tap with all its chamfer in the metal [N]: `fx` toward flute 1, `fy` a quarter turn
    on."""

    fx: float
    fy: float

    @property
    def resultant(self) -> float:
        """Size of the side force [N]."""
        return float(np.hypot(self.fx, self.fy))


def force_ratios(friction: Any, chip: Any, *, radial_rake: Any, axial_rake: Any) -> np.ndarray:
    """Force on the tool for a cutting force of 1, shape (…, 3): radial outward, against the cut, toward the shank;
    `chip` (…, 3) the way of the chip.

    >>> flow = chipflow.chip_flow(radial_rake=10, axial_rake=0, chamfer_angle=1e-9)
    >>> force_ratios(0.5, flow.vector, radial_rake=10, axial_rake=0).round(3)  # tan(atan 0.5 − 10°), inward
    array([-0.297,  1.   ,  0.   ])
    """
    n = chipflow.face_normal(radial_rake=radial_rake, axial_rake=axial_rake)
    push = -n + np.asarray(friction)[..., None] * np.asarray(chip)
    return push / -push[..., 1:2] * (1, -1, 1) + 0.0


def flute_forces(pull: np.ndarray, flute: np.ndarray, flutes: int, ratios: np.ndarray) -> np.ndarray:
    """Sum of the teeth's forces on each flute, shape (flutes, 3), as in `force_ratios` [N]."""
    sums = np.bincount(np.asarray(flute) - 1, weights=pull, minlength=flutes)
    return sums[:, None] * ratios[None, :]


def resultant(forces: np.ndarray) -> np.ndarray:
    """Side force fx, fy of flutes' forces, shape (…, flutes, 3) → (…, 2) [N].

    A tooth follows the one before it, so the cut runs from flute 2 to flute 1: against the flutes' numbers.
    """
    turn = 2 * np.pi * np.arange(forces.shape[-2]) / forces.shape[-2]
    radial, against = forces[..., 0], forces[..., 1]
    fx = np.sum(radial * np.cos(turn) - against * np.sin(turn), axis=-1)
    fy = np.sum(radial * np.sin(turn) + against * np.cos(turn), axis=-1)
    return np.stack([fx, fy], axis=-1)


def side_forces(pull: np.ndarray, flute: np.ndarray, flutes: int, ratios: np.ndarray) -> SideForces:
    """Sum of the flutes' side forces; `pull` is the cutting force of each tooth [N]."""
    return SideForces(*map(float, resultant(flute_forces(pull, flute, flutes, ratios))))
