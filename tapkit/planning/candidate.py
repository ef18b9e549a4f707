"""A tapping job to choose a tap for, and the taps worth trying."""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from tapkit import tables
from tapkit.geometry.fluteform import FLUTE_FORMS
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import _
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.machine import Machine


@dataclass(frozen=True, kw_only=True)
class Job:
    """What a tap is wanted for: the hole as `asked`, the workpiece, the machine, and the quantity of holes.

    Depth tolerances and overrun of the hole are those of the machine. Raises ValueError for a quantity below 1.

    >>> ask = DrawingAsk(thread=Thread.parse("M10"), drill=8.5, kind="through", thickness=15)
    >>> Job.make(ask, "C45", "rigid").machine.name
    'rigid'
    """

    asked: DrawingAsk
    work: Workpiece
    machine: Machine
    quantity: int = 100

    def __post_init__(self) -> None:
        if not 1 <= self.quantity <= 10_000_000:
            raise ValueError(_("a quantity of {n} holes is outside 1 to 10 000 000", n=self.quantity))

    @classmethod
    def make(cls, ask: DrawingAsk, work: str | Workpiece, machine: str | Machine, quantity: int = 100) -> "Job":
        """A job from texts; the hole takes over the machine's tolerances and overrun."""
        work = Workpiece.parse(work) if isinstance(work, str) else work
        machine = Machine.parse(machine) if isinstance(machine, str) else machine
        return cls(asked=ask.on(machine), work=work, machine=machine, quantity=quantity)

    def with_(self, **changes: Any) -> "Job":
        """The same job with some fields changed."""
        return replace(self, **changes)

    @property
    def thread(self) -> Thread:
        return self.asked.thread

    @property
    def chip_form(self) -> str | None:
        """Form of the chips: broken by turning back where the tap is turned by hand, None for the usual form."""
        return "broken" if self.machine.clears_chips and self.work.chips != "short" else None


def weight(name: str) -> float:
    """One number of the table `choice_weights`.

    >>> weight("least_margin")
    1.0
    """
    return float(tables.row("choice_weights", name=name)["value"])


@lru_cache(maxsize=64)
def candidate(thread: Thread, work: Workpiece, flute_form: str, chamfer: str | float) -> Tap:
    """One tap for this metal: usual proportions, radial rake and helix by the metal."""
    return Tap.make(thread, flute_form, chamfer, metal=work)


def candidates(job: Job) -> tuple[Tap, ...]:
    """Every pairing of flute form and named chamfer that can be ground for this job.

    >>> ask = DrawingAsk(thread=Thread.parse("M10"), drill=8.5, full_thread=20)
    >>> len(candidates(Job.make(ask, "C45", "hand")))
    16
    """
    names = [row["us"] for row in tables.rows("chamfers")]
    return tuple(candidate(job.thread, job.work, form, name) for form in FLUTE_FORMS for name in names)
