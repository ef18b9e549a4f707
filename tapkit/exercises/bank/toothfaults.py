"""Lesson 3, faults of a tap found from the pattern of its tooth loads."""

from itertools import product
from typing import NamedTuple

import numpy as np

from tapkit.exercises.bank.rows import metric, usual_hole
from tapkit.exercises.bank.toothshares import area
from tapkit.exercises.exercise import Draft, Sketch, Step, exercise, worked
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.options import ChoiceAsked, in_a_row, known_options, options
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.mechanics.toothload import SOUND, Faults
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import _
from tapkit.operation import Operation, ToothLoads


class Pattern(NamedTuple):
    """What the bars show of a job: its tap and loads, a lost tooth looking like one that does not cut."""

    tap: Tap
    tooth_loads: ToothLoads


class Faulty(NamedTuple):
    """A job and what is wrong with its tap: the `fault` in a word, the tooth or flute `number` it concerns."""

    job: Operation
    fault: str
    number: int

    @property
    def areas(self) -> np.ndarray:
        """Chip area of each tooth [mm2]."""
        return self.job.tooth_loads.area

    @property
    def by_flute(self) -> list[float]:
        """Chip area of each flute in all [mm2]."""
        loads = self.job.tooth_loads
        return [float(loads.area[loads.flute == f].sum()) for f in range(1, self.job.tap.flutes + 1)]

    @property
    def sketch(self) -> Sketch:
        """The bars, with nothing that names the fault."""
        loads = self.job.tooth_loads
        pattern = Pattern(self.job.tap, loads._replace(lost=np.zeros_like(loads.lost)))
        teeth = in_a_row(
            _("tooth {tooth} on flute {flute} {area}", tooth=int(n), flute=int(f), area=area(a, 2))
            for n, f, a in zip(loads.number, loads.flute, loads.area)
        )
        return Sketch("toothbars", pattern, _("Chip area of each tooth: {teeth}.", teeth=teeth))


def _sound(threads: float, flutes: int) -> list[Operation]:
    jobs = []
    for thread in metric(6, 16):
        tap = Tap.make(thread, "straight", threads, flutes=flutes)
        hole = Hole(kind="through", diameter=usual_hole(thread), depth=2 * thread.major)
        jobs.append(Operation(tap=tap, hole=hole, workpiece=Workpiece.parse("C45")))
    return jobs


def _lost(flutes: tuple[int, ...] = (3, 4)) -> list[Faulty]:
    found = []
    for threads, z in product((2.5, 4.0), flutes):
        for job in _sound(threads, z):
            first = int(np.argmax(job.tooth_loads.area)) + 1
            for tooth in (first, first + 1, first + 2):
                faults = Faults(missing_teeth=frozenset({tooth}))
                found.append(Faulty(job.with_(faults=faults), "a lost tooth", tooth))
    return found


def _runout(flutes: tuple[int, ...] = (3, 4)) -> list[Faulty]:
    """Taps that run out so far that one flute clearly cuts the most, but not so far that another stops cutting."""
    found = []
    for threads, z in product((4.0, 5.0), flutes):
        for job in _sound(threads, z):
            for flute in range(1, z + 1):
                rise = (job.tap.thread.major - job.tap.point_diameter) / 2 / (threads * z)
                faults = Faults(runout=round(0.9 * rise, 3), runout_angle=360.0 * (flute - 1) / z)
                case = Faulty(job.with_(faults=faults), "runout", flute)
                if int(np.argmax(case.by_flute)) + 1 == flute and min(case.by_flute) > 0:
                    found.append(case)
    return found


@exercise(
    "find-the-lost-tooth",
    cases=lambda: _lost(),
    mistakes={"follower-for-lost": lambda c: c.number + 1, "wrong-end": lambda c: len(c.areas) + 1 - c.number},
)
def find_the_lost_tooth(case: Faulty) -> Draft:
    tooth = NumberAsked(case.number, "tooth number", "count")
    return Draft(
        tooth,
        (Step(_("Look for a tall bar right behind a gap.")), worked(_("The gap is the lost tooth, number"), tooth)),
        case.sketch,
    )


@exercise(
    "find-the-high-flute",
    cases=lambda: _runout(),
    mistakes={
        "follower-for-high": lambda c: c.number % c.job.tap.flutes + 1,
        "spared-for-high": lambda c: (c.number - 2) % c.job.tap.flutes + 1,
    },
)
def find_the_high_flute(case: Faulty) -> Draft:
    flute = NumberAsked(case.number, "flute number", "count")
    return Draft(
        flute,
        (
            *(
                Step(_("Flute {flute} cuts {area} in all.", flute=i, area=area(a, 3)))
                for i, a in enumerate(case.by_flute, start=1)
            ),
            worked(_("The flute that cuts most stands high, number"), flute),
        ),
        case.sketch,
    )


def _patterns() -> list[Faulty]:
    lost, runout = _lost((3,))[::2], _runout((3,))[::2]
    sound = [Faulty(job.with_(faults=SOUND), "nothing", 0) for job in (*_sound(4.0, 3), *_sound(5.0, 3))]
    ground = [
        Faulty(
            job.with_(faults=Faults(regrind_shorter=job.tap.chamfer_threads - 1.5)), "a chamfer reground too short", 0
        )
        for job in (*_sound(4.0, 3), *_sound(5.0, 3))
    ]
    return [case for four in zip(lost, runout, sound, ground) for case in four]


@exercise("what-is-wrong", cases=_patterns)
def what_is_wrong(case: Faulty) -> Draft:
    return Draft(
        ChoiceAsked(options(case.fault, "what-is-wrong", "sees"), options(case.fault, "what-is-wrong reasons", "look")),
        (Step(_("The pattern: {look}.")), Step(_("So: {fault}."))),
        case.sketch,
        given=dict(
            look=known_options("what-is-wrong reasons")[case.fault][0],
            fault=known_options("what-is-wrong")[case.fault][0],
        ),
    )
