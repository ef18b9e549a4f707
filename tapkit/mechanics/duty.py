"""Duty: how hard each tooth works in one hole, always relative to a named reference tap.

Duty is cutting force × path in the metal. It ranks the teeth of taps in one job; it is not a life. No measured life
against chamfer length was found, and what wears most in tests are the teeth at the change from cone to
cylinder (Gil Del Val et al., Coatings 2020, 10(5):464), where edge corners run hot: force × path does not show that.
"""

from typing import NamedTuple

import numpy as np

from tapkit.geometry.hole import Hole
from tapkit.mechanics.toothload import ToothSlices
from tapkit.mechanics.torque import deepest_point
from tapkit.messages import Sentence, _


class ToothDuty(NamedTuple):
    """What the teeth do in one hole; arrays (teeth,): `path` way through the metal [mm], `work` force × path [J]."""

    path: np.ndarray
    work: np.ndarray


class Duty(NamedTuple):
    """Duty beside that of a reference tap in the same hole: work of the hardest-worked tooth over that of the
    reference's, `hardest_relative`; of the whole tap, `total_relative`; the `reference` by name."""

    hardest_relative: float
    total_relative: float
    reference: Sentence | str


def path_in_metal(slices: ToothSlices, hole: Hole, pitch: float) -> np.ndarray:
    """Way of each tooth through the metal [mm]: (travel in the metal / P) · √((2π r)² + P²).

    In a through hole the travel is the part's thickness; in a blind one what is left when the tooth has entered.
    """
    middle = (slices.start + slices.end) / 2
    travel = np.minimum(hole.depth if hole.is_through else np.inf, deepest_point(slices, hole, pitch) - middle)
    return np.maximum(travel, 0.0) / pitch * np.hypot(2 * np.pi * slices.radius, pitch)


def tooth_duty(*, slices: ToothSlices, pull: np.ndarray, hole: Hole, pitch: float) -> ToothDuty:
    """Duty of each tooth in one hole; `pull` cutting force [N]."""
    path = np.where(slices.area > 0, path_in_metal(slices, hole, pitch), 0.0)
    return ToothDuty(path, pull * path / 1000)


def compare(teeth: ToothDuty, reference: ToothDuty, name: Sentence | str) -> Duty:
    """Duty of a tap relative to a named reference tap in the same hole."""
    base, most = reference.work.sum(), reference.work.max(initial=0.0)
    if not (base > 0 and most > 0):
        raise ValueError(
            _("the reference tap ({name}) cuts nothing here, so nothing can be compared with it", name=name)
        )
    return Duty(float(teeth.work.max(initial=0.0) / most), float(teeth.work.sum() / base), name)
