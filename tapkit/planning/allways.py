"""One hole, all ways: the same hole tapped with every flute form, by machine and by hand."""

from dataclasses import dataclass
from functools import cached_property

from tapkit.geometry.tapname import in_words
from tapkit.messages import Number, Sentence, _, turns_of
from tapkit.operation import Operation
from tapkit.planning.candidate import Job, candidate
from tapkit.planning.cycle import Cycle
from tapkit.planning.judge import Judged
from tapkit.planning.machine import Machine

FORMS = (("straight", "plug"), ("spiral-point", "plug"), ("spiral-flute", "semi-bottoming"))
"""Flute forms and the chamfer usual for each."""
HAND_SET = ("taper", "plug", "bottoming")
"""The taps of a hand set, one after the other."""


@dataclass(frozen=True)
class Way:
    """One way: its tap `judged` in its job, the `name` of the way, the `full` thread it leaves [mm] and the `floor`
    below the full thread it needs [mm] (None in a through hole), and the `time` for one hole, in words; `first` is the
    tap of a set that does most of the work, where it is another than the one that is judged."""

    judged: Judged
    name: Sentence
    full: float
    floor: float | None
    time: Sentence
    first: Judged | None = None

    @cached_property
    def operation(self) -> Operation:
        """The job as the model sees it, with what holds the tap."""
        return (self.first or self.judged).operation.with_(holder=self.judged.job.machine.holder)


@dataclass(frozen=True)
class AllWays:
    """All ways for one job."""

    job: Job
    ways: tuple[Way, ...]


def all_ways(job: Job) -> AllWays:
    """Hand set, straight flutes, spiral point and spiral flute; by the job's machine, and by hand.

    >>> from tapkit import Thread
    >>> from tapkit.planning.holeask import DrawingAsk
    >>> ask = DrawingAsk(thread=Thread.parse("M10"), drill=8.5, full_thread=15)
    >>> len(all_ways(Job.make(ask, "C45", "rigid")).ways)
    7
    """
    hand = Job.make(job.asked, job.work, "hand", job.quantity)
    found = [_hand_set(hand)]
    for one in [hand] if job.machine.by_hand else [job, hand]:
        found += [_way(one, form, chamfer) for form, chamfer in FORMS]
    return AllWays(job, tuple(found))


def _way(job: Job, form: str, chamfer: str, turns: int = 1) -> Way:
    judged = Judged(job, candidate(job.thread, job.work, form, chamfer))
    plan, ask = judged.plan, job.asked
    full = (ask.thickness if ask.is_through else ask.full_thread) or 0.0
    floor = None if ask.is_through else plan.drill_point - full
    return Way(judged, _named(job, judged), full, floor, _time(job.machine, judged, turns))


def _named(job: Job, judged: Judged) -> Sentence:
    tap = in_words(judged.tap)
    return _("{tap}, by hand", tap=tap) if job.machine.by_hand else _("{tap}, by machine", tap=tap)


def _hand_set(job: Job) -> Way:
    """Taper, plug and bottoming one after the other: the first sets the torque, the last the floor."""
    last = _way(job, "straight", HAND_SET[-1], turns=len(HAND_SET))
    first = Judged(job, candidate(job.thread, job.work, "straight", HAND_SET[0]))
    name = _("hand set of three (torque of the taper)")
    return Way(last.judged, name, last.full, last.floor, last.time, first)


def _time(machine: Machine, judged: Judged, times: int) -> Sentence:
    if machine.by_hand:
        turns = turns_of(judged.plan.turns * times, decimals=0)
        return _("{turns} in, as many out", turns=turns)
    cycle = Cycle.make(judged.plan, machine, judged.job.work)
    return _("{seconds} s", seconds=Number(cycle.time, decimals=1))
