"""Chip flow by Colwell's chord, beside Stabler's rule.

Seen along the cutting direction, the chip leaves at right angles to the chord between the two ends of the
engaged edge. Source: Colwell 1954, Trans. ASME 76:199, as told by Childs et al., Metal Machining, 6.4.
"""

import math

import numpy as np

from tapkit.mechanics import chipflow
from tapkit.mechanics.chipflow import ChipFlow


def chord_angles(chords: np.ndarray) -> np.ndarray:
    """Angle of each chord to the tap's axis [deg], positive where it rises toward the shank like the chamfer; `chords`
    (teeth, 2, 2) as from `toothload.engaged_ends`."""
    along = chords[:, 1] - chords[:, 0]
    return np.degrees(np.arctan2(along[:, 1], along[:, 0]))


def mean_chord_angle(angles: np.ndarray, areas: np.ndarray, idle: float = 0.0) -> float:
    """Chord angle of the whole chamfer [deg]: that of the teeth, each weighed by the area of its chip.

    `idle` is given back where no tooth cuts.
    """
    n = min(len(angles), len(areas))
    cuts = (areas[:n] > 0) & np.isfinite(angles[:n])
    if not cuts.any():
        return idle
    return float(np.average(angles[:n][cuts], weights=areas[:n][cuts]))


def colwell_angle(*, chord_angle: float, radial_rake: float, axial_rake: float, chamfer_angle: float) -> float:
    """Chip-flow angle η on the face from the edge's normal [deg], by Colwell's chord at an angle to the axis [deg].

    >>> round(colwell_angle(chord_angle=8, radial_rake=0, axial_rake=0, chamfer_angle=8), 9) + 0.0
    0.0
    """
    angles = dict(radial_rake=radial_rake, axial_rake=axial_rake, chamfer_angle=chamfer_angle)
    turn = math.radians(chord_angle)
    inward, up = -math.cos(turn), math.sin(turn)
    across = math.tan(math.radians(radial_rake)) * inward - math.tan(math.radians(axial_rake)) * up
    chip = np.array([inward, across, up])
    return math.degrees(math.atan2(-chip @ chipflow.chamfer_edge(**angles), chip @ chipflow.across_face(**angles)))


def colwell_chip_flow(*, chord_angle: float, band: float, **edge_angles: float) -> ChipFlow:
    """Chip flow by Colwell's chord; angles as in `chipflow.chip_flow`."""
    eta = colwell_angle(chord_angle=chord_angle, **edge_angles)
    return chipflow.chip_flow(**edge_angles, flow_angle=eta, band=band)


def angle_between(one: ChipFlow, other: ChipFlow) -> float:
    """Angle between two chips' directions [deg]."""
    return math.degrees(math.acos(min(1.0, max(-1.0, float(np.dot(one.vector, other.vector))))))
