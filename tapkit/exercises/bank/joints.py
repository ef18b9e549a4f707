"""Lesson 4, strength: how long a thread must be so that the screw tears before it strips."""

from typing import NamedTuple

from tapkit.exercises.exercise import Draft, Step, exercise, worked
from tapkit.exercises.number import NumberAsked
from tapkit.mechanics.threadstrength import ThreadStrength, thread_strength
from tapkit.messages import _, force, length
from tapkit.planning.press import PressPart, press_parts


class Screwed(NamedTuple):
    """A part of the press with a screw in it, and what the joint bears."""

    part: PressPart
    screw: str
    bears: ThreadStrength

    @property
    def forces(self) -> tuple[float, float]:
        """What the screw bears and what the weaker thread bears, as the question prints them [N]."""
        return tuple(float(f"{v:.4g}") for v in (self.bears.screw, min(self.bears.external, self.bears.internal)))

    @property
    def needed(self) -> float:
        """Length at which the screw tears first [mm]."""
        screw, thread = self.forces
        return self.bears.engaged * screw / thread


def _screwed() -> list[Screwed]:
    found = []
    for part in press_parts():
        if part.system == "metric":
            for screw in ("A2-70", "8.8"):
                bears = thread_strength(
                    thread=part.thread, hole=part.bore, engaged=part.depth, workpiece=part.workpiece, screw=screw
                )
                found.append(Screwed(part, screw, bears))
    return found


@exercise(
    "still-strong-enough",
    cases=_screwed,
    mistakes={
        "upside-down": lambda c: c.bears.engaged * c.forces[1] / c.forces[0],
        "length-left-out": lambda c: c.forces[0] / c.forces[1],
    },
)
def still_strong_enough(case: Screwed) -> Draft:
    asked = NumberAsked(case.needed, "length", "ratio")
    screw, thread = (force(v, digits=4) for v in case.forces)
    return Draft(
        asked,
        (
            worked(_("Length needed"), asked, "{engaged} × {tears} / {strips}"),
            Step(_("With more than that the screw tears first, which is seen and mended. A stripped thread is not.")),
        ),
        given={"class_": case.screw, "engaged": length(case.bears.engaged), "tears": screw, "strips": thread},
    )
