"""Colours of the load on the teeth, for the tap in the round: by classes of force, as colour, hatch and words."""

from typing import Any

import numpy as np

from tapkit.drawing.chart import nice_ceiling
from tapkit.drawing.words import brief
from tapkit.messages import Sentence, _, said
from tapkit.operation import Operation

RAMP = ((0.77, 0.93, 0.50), (0.56, 0.77, 0.32), (0.35, 0.61, 0.17), (0.20, 0.44, 0.08), (0.09, 0.26, 0.03))
"""Colours of the classes from the least force to the most, as coded red, green, blue: one hue, green, each darker than
the last. No flute has it (`style.FLUTES`), so that on one page a colour tells either the load or the flute."""
HATCH = (0, 16, 11, 8, 5)
"""Spacing of the hatch of each class [1/96 inch], 0 for none: the second sign, for eyes that see no colour."""


def linear(coded: float) -> float:
    """Light of a coded value (IEC 61966-2-1).

    >>> round(linear(0.5), 3)
    0.214
    """
    return coded / 12.92 if coded <= 0.04045 else ((coded + 0.055) / 1.055) ** 2.4


def classes(job: Operation) -> tuple[float, np.ndarray]:
    """Upper end of the scale of force [N] and the class of each tooth, 0 to 4, −1 for one that does not cut."""
    loads = job.tooth_loads
    top = nice_ceiling(float(loads.force.max(initial=0.0))) or 1.0
    found = np.clip(np.ceil(loads.force / top * len(RAMP)) - 1, 0, len(RAMP) - 1).astype(int)
    return top, np.where((loads.area > 0) & ~loads.lost, found, -1)


def load_on_teeth(job: Operation, system: str = "metric") -> list[dict[str, Any]]:
    """Every tooth of the chamfer: `number`, `words`, and where it cuts `colour` (linear), `spacing` of its hatch and
    `share` of the highest force."""
    loads, found = job.tooth_loads, []
    most = float(loads.force.max(initial=0.0)) or 1.0
    for i, kind in enumerate(classes(job)[1]):
        number = int(loads.number[i])
        told = {"number": number, "words": said(tooth_words(job, i), system)}
        if kind >= 0:
            told |= _look(kind) | {"share": round(float(loads.force[i]) / most, 4)}
        found.append(told)
    return found


def said_teeth(job: Operation, system: str = "metric") -> list[dict[str, Any]]:
    """What is read out of every tooth of the chamfer where no colour shows its load: `number`, `words`."""
    return [{key: tooth[key] for key in ("number", "words")} for tooth in load_on_teeth(job, system)]


def steps_of_load(job: Operation, system: str = "metric") -> list[dict[str, Any]]:
    """The scale beside the tap: `colour`, `spacing` and `words` of each class of force."""
    top = classes(job)[0]
    ends = [top * (k + 1) / len(RAMP) for k in range(len(RAMP))]
    return [
        _look(k) | {"words": said(_("to {force}", force=brief(end, "force")), system)} for k, end in enumerate(ends)
    ]


def _look(kind: int) -> dict[str, Any]:
    return {"colour": [round(linear(c), 4) for c in RAMP[kind]], "spacing": HATCH[kind]}


def tooth_words(job: Operation, i: int) -> Sentence:
    """What the tooth at place `i` of the loads takes."""
    loads = job.tooth_loads
    number = int(loads.number[i])
    if loads.lost[i]:
        return _("tooth {number}: missing", number=number)
    if loads.area[i] <= 0:
        return _("tooth {number}, flute {flute}: no contact", number=number, flute=int(loads.flute[i]))
    area, force = brief(loads.area[i], "area"), brief(loads.force[i], "force")
    told = dict(number=number, flute=int(loads.flute[i]), area=area, force=force)
    if loads.rubbing[i]:
        return _("tooth {number}, flute {flute}: {area}, {force}; it rubs more than it cuts", **told)
    return _("tooth {number}, flute {flute}: {area}, {force}", **told)
