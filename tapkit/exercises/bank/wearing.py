"""Lesson 7, what a choice costs: work of the hardest tooth, order of wear, plug against bottoming."""

from itertools import product
from typing import NamedTuple

import numpy as np

from tapkit.exercises.bank.breaking import Saying, saying_cases
from tapkit.exercises.bank.rows import bare_number
from tapkit.exercises.bank.strengths import newtons, through_job
from tapkit.exercises.exercise import Draft, Step, exercise, worked
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.options import ChoiceAsked, options
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.messages import _, length, torque
from tapkit.operation import Operation
from tapkit.planning.press import PressPart, press_parts


class Pair(NamedTuple):
    """A part and two chamfers [threads], the short one first."""

    part: PressPart
    short: float
    long: float

    def job(self, threads: float) -> Operation:
        """The part tapped with a chamfer of so many threads."""
        return through_job(self.part, "straight", threads, 1.5 * self.part.thread.major)

    def hardest(self, threads: float) -> tuple[float, float]:
        """Force [N] and path in the metal [mm] of the tooth that works hardest."""
        job = self.job(threads)
        k = int(np.argmax(job.tooth_duty.work))
        return float(job.tooth_loads.force[k]), float(job.tooth_duty.path[k])

    def work(self, threads: float) -> float:
        """Work of the tooth that works hardest [N·m]."""
        force, path = self.hardest(threads)
        return force * path / 1000

    @property
    def ratio(self) -> float:
        """Work with the short chamfer over work with the long one."""
        return self.work(self.short) / self.work(self.long)


@exercise(
    "duty-of-the-hardest-tooth",
    cases=lambda: [
        Pair(p, s, n) for p, s, n in product(press_parts(), (1.5, 2.5), (4.0, 5.0)) if p.thread.major >= 4.9
    ],
    mistakes={"upside-down": lambda c: 1 / c.ratio, "chamfer-ratio": lambda c: c.long / c.short},
)
def duty_of_the_hardest_tooth(case: Pair) -> Draft:
    part = case.part
    asked = NumberAsked(case.ratio, "times", "ratio")
    work_short, work_long = (NumberAsked(case.work(n), "torque", "torque") for n in (case.short, case.long))
    (force_short, path_short), (force_long, path_long) = case.hardest(case.short), case.hardest(case.long)
    per = " / 1000" if part.system == "metric" else ""
    return Draft(
        asked,
        (
            worked(_("Work, short chamfer"), work_short, "{force_short} × {path_short}" + per),
            worked(_("Work, long chamfer"), work_long, "{force_long} × {path_long}" + per),
            worked(_("Ratio"), asked, "{work_short} / {work_long}"),
            Step(_("That is work, not wear. It says nothing about how many holes they last.")),
        ),
        given={
            "thick": length(1.5 * part.thread.major),
            "short": bare_number(case.short),
            "long": bare_number(case.long),
            "force_short": newtons(force_short),
            "force_long": newtons(force_long),
            "path_short": length(path_short, digits=4),
            "path_long": length(path_long, digits=4),
            "work_short": work_short,
            "work_long": work_long,
        },
    )


class Crib(NamedTuple):
    """A part and a tap by chamfer and flutes."""

    part: PressPart
    threads: float
    flutes: int

    @property
    def work(self) -> np.ndarray:
        """Work of each tooth in one hole [N·m]."""
        tap = Tap.make(self.part.thread, "straight", self.threads, metal=self.part.workpiece, flutes=self.flutes)
        hole = Hole(kind="through", diameter=self.part.bore, depth=1.5 * self.part.thread.major)
        return Operation(tap=tap, hole=hole, workpiece=self.part.workpiece).tooth_duty.work


def _cribs() -> list[Crib]:
    chosen = [p for p in press_parts() if p.thread.major >= 5.9]
    return [Crib(p, n, z) for p, (n, z) in product(chosen, ((2.5, 3), (4.0, 3), (4.0, 4)))]


@exercise("order-by-wear", cases=_cribs)
def order_by_wear(case: Crib) -> Draft:
    return Draft(
        ChoiceAsked(options("", "order-by-wear"), options("", "order-by-wear reasons")),
        (
            Step(_("Work of tooth {hardest}, by the model: {work} a hole.")),
            Step(_("The published test puts the wear elsewhere, so the model does not settle it.")),
            Step(_("Measure the worn land of every tooth under a microscope, again after so many holes.")),
        ),
        given={
            "flutes": case.flutes,
            "threads": bare_number(case.threads),
            "hardest": int(np.argmax(case.work)) + 1,
            "teeth": int((case.work > 0).sum()),
            "work": torque(float(case.work.max()), digits=3),
        },
    )


@exercise("what-it-costs", cases=saying_cases)
def what_it_costs(case: Saying) -> Draft:
    return Draft(
        ChoiceAsked(options("", "what-it-costs"), options("", "what-it-costs reasons")),
        (
            Step(_("Hardest tooth: {load} times the force. That is sure.")),
            Step(_("Torque of the whole tap: our sum says less, the published formula more. That is open.")),
            Step(_("Measure it: both taps new, same hole, metal and oil, several holes each.")),
        ),
        given=case.given | {"thick": length(case.thick), "load": case.load},
    )
