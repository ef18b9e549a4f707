"""Duty: how hard each tooth works in one hole, always relative to a named reference tap.

Duty is cutting force × path in the metal. It ranks the teeth of taps in one job; it is not a life. No measured life
against chamfer length was found, and what wears most in tests are the teeth at the change from cone to
cylinder (Gil Del Val et al., Coatings 2020, 10(5):464), where edge corners run hot: force × path does not show that.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from tapkit.geometry.hole import Hole
from tapkit.mechanics.toothload import ToothSlices
from tapkit.mechanics.torque import deepest_point
from tapkit.messages import Number, Sentence, _


class ToothDuty(NamedTuple):
    """What the teeth do in one hole; arrays (teeth,).

    `number`, `flute`; `path` way through the metal [mm]; `work` force × path [J]; `per_edge` work for each mm of
    edge [J/mm]; `rubbing_path` way made by teeth that rub more than they cut [mm].
    """

    number: np.ndarray
    flute: np.ndarray
    path: np.ndarray
    work: np.ndarray
    per_edge: np.ndarray
    rubbing_path: np.ndarray


class Duty(NamedTuple):
    """Duty beside that of a reference tap in the same hole.

    `teeth` what each tooth does; `share` (teeth,) of the work of this tap; `relative` (teeth,) work of each tooth
    over that of the hardest-worked tooth of the reference; `hardest` number of the hardest-worked tooth,
    `hardest_relative` its duty; `total_relative` work of the whole tap over the reference's; `rubbing_relative`
    rubbing way over the reference's (None if nothing rubs there); `flute_share` (flutes,) of the work;
    `reference` its name; `sentence`.
    """

    teeth: ToothDuty
    share: np.ndarray
    relative: np.ndarray
    hardest: int
    hardest_relative: float
    total_relative: float
    rubbing_relative: float | None
    flute_share: np.ndarray
    reference: Sentence | str
    sentence: Sentence


def path_in_metal(slices: ToothSlices, hole: Hole, pitch: float) -> np.ndarray:
    """Way of each tooth through the metal [mm]: (travel in the metal / P) · √((2π r)² + P²).

    In a through hole the travel is the part's thickness; in a blind one what is left when the tooth has entered.
    """
    travel = np.minimum(hole.depth if hole.is_through else np.inf, _end(slices, hole, pitch) - _middle(slices))
    return np.maximum(travel, 0.0) / pitch * np.hypot(2 * np.pi * slices.radius, pitch)


def _end(slices: ToothSlices, hole: Hole, pitch: float) -> float:
    return deepest_point(slices, hole, pitch)


def _middle(slices: ToothSlices) -> np.ndarray:
    return (slices.start + slices.end) / 2


def tooth_duty(*, slices: ToothSlices, pull: np.ndarray, rubbing: np.ndarray, hole: Hole, pitch: float) -> ToothDuty:
    """Duty of each tooth in one hole; `pull` cutting force [N], `rubbing` whether a tooth rubs."""
    path = np.where(slices.area > 0, path_in_metal(slices, hole, pitch), 0.0)
    work = pull * path / 1000
    per_edge = np.divide(work, slices.width, out=np.zeros_like(work), where=slices.width > 0)
    return ToothDuty(slices.number, slices.flute, path, work, per_edge, np.where(rubbing, path, 0.0))


def compare(teeth: ToothDuty, reference: ToothDuty, name: Sentence | str, flutes: int) -> Duty:
    """Duty of a tap relative to a named reference tap in the same hole."""
    total, base, most = teeth.work.sum(), reference.work.sum(), reference.work.max(initial=0.0)
    if not (base > 0 and most > 0):
        raise ValueError(
            _("the reference tap ({name}) cuts nothing here, so nothing can be compared with it", name=name)
        )
    relative = teeth.work / most
    top = int(np.argmax(relative))
    rubs = reference.rubbing_path.sum()
    share = teeth.work / total if total else np.zeros_like(teeth.work)
    number, ratio = int(teeth.number[top]), float(relative[top])
    return Duty(
        teeth,
        share,
        relative,
        number,
        ratio,
        float(total / base),
        float(teeth.rubbing_path.sum() / rubs) if rubs else None,
        np.bincount(teeth.flute - 1, weights=share, minlength=flutes),
        name,
        _(
            "tooth {number} works hardest, {ratio} times as hard as the hardest tooth of the reference ({name}); "
            "the whole tap does {total} times the reference's work. This ranks taps; it is no life in holes",
            number=number,
            ratio=Number(ratio, decimals=2),
            name=name,
            total=Number(total / base, decimals=2),
        ),
    )
