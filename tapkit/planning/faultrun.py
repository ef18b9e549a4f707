"""The model run with a fault in it: could this fault have done that damage?

Each cause of the table `causes` has a run here. A run compares the faulty job with the sound one: torque against
what the tap bears, load and work of its hardest tooth, growth of the pitch diameter. What the model does not know
(jammed chips, a tap against the floor, torn threads) is said, not computed.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from typing import NamedTuple

import numpy as np

from tapkit import tables
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.chiproom import BELOW, LEAVES
from tapkit.mechanics.toothload import Faults
from tapkit.operation import Operation
from tapkit.planning.cycle import feed_error
from tapkit.planning.say import Say

YES, PERHAPS, NO, UNKNOWN = "yes", "perhaps", "no", "not known"
"""Answers to "could it have?", from surest to least."""

STEPS = 8
"""Sizes of a fault tried between the ends of its range."""


class Run(NamedTuple):
    """One cause tried: `could` it have, in `words` with the numbers; the `least` size of fault in its range that
    could, None where none; the faulty job as `operation`, None where the model has none; and what it says of
    the clues `teeth`, `where`, `chips`, empty where it says nothing."""

    could: str
    words: str
    least: float | None = None
    operation: Operation | None = None
    teeth: frozenset[str] = frozenset()
    where: frozenset[str] = frozenset()
    chips: frozenset[str] = frozenset()


@cache
def limit(name: str) -> float:
    """One number of the table `diagnosis_limits`."""
    return next(float(r["value"]) for r in tables.rows("diagnosis_limits") if r["name"] == name)


def run_cause(row: dict[str, str], job: Operation, broke: str = "snapped", system: str = "metric") -> Run:
    """Run the model with one cause of the table `causes` on a sound job, for the damage seen.

    >>> rows = {r["name"]: r for r in tables.rows("causes")}
    >>> job = Operation.parse("M10x1.5 spiral-point plug", "blind 8.5 mm x 27.5 mm", "C45")
    >>> run_cause(rows["packed"], job).could, run_cause(rows["dull"], job).could
    ('yes', 'no')
    """
    special = SPECIAL.get(row["name"])
    if special is not None:
        return special(row, job, broke, Say(system))
    return _scan(row, job, broke, Say(system))


# --- faults the model can be run with -------------------------------------------------------------------


def _smaller_hole(job: Operation, percent: float) -> Operation:
    diameter = max(job.tap.thread.hole_for_percent(percent), job.tap.point_diameter)
    return job.with_(hole=job.hole.with_(diameter=min(diameter, job.hole.diameter)))


def _harder(job: Operation, times: float) -> Operation:
    return job.with_(workpiece=replace(job.workpiece, kc11=job.workpiece.kc11 * times))


def _uneven(job: Operation, high: float) -> Operation:
    return job.with_(faults=Faults(flute_offsets=(high, *[0.0] * (job.tap.flutes - 1))))


def _lost(job: Operation, _: float) -> Operation:
    first_full = int(job.tooth_loads.number[int(np.argmax(job.tooth_loads.force))])
    return job.with_(faults=Faults(missing_teeth=frozenset([first_full])))


def _shorter(job: Operation, percent: float) -> Operation:
    return job.with_(faults=Faults(regrind_shorter=percent / 100 * job.tap.chamfer_threads))


FAULTY: dict[str, Callable[[Operation, float], Operation]] = {
    "dull": lambda job, times: job.with_(wear_factor=times),
    "dry": lambda job, times: job.with_(friction_factor=times),
    "small hole": _smaller_hole,
    "hard metal": _harder,
    "runout": lambda job, high: job.with_(faults=Faults(runout=high)),
    "tilt": lambda job, angle: job.with_(tilt=angle),
    "uneven grind": _uneven,
    "lost tooth": _lost,
    "short grind": _shorter,
}
"""The faulty job for each cause the model can be run with, by the size of the fault."""


def faulty_job(name: str, job: Operation, size: float) -> Operation:
    """A sound job with one fault of the given size in it."""
    return FAULTY[name](job, size)


def _sizes(row: dict[str, str]) -> list[float]:
    if not row["low"]:
        return [1.0]
    return [float(s) for s in np.linspace(float(row["low"]), float(row["high"]), STEPS)]


def _scan(row: dict[str, str], job: Operation, broke: str, say: Say) -> Run:
    """Try sizes from small to large; show the largest, and remember the least that could."""
    runs = [(size, faulty_job(row["name"], job, size)) for size in _sizes(row)]
    answers = [_could(faulty, job, broke, row["name"], say) for _, faulty in runs]
    best = min(range(len(runs)), key=lambda i: (ANSWERS.index(answers[i][0]), -i))
    sure = answers[best][0]
    least = next((runs[i][0] for i, a in enumerate(answers) if a[0] == sure), None) if sure != NO else None
    size, faulty = runs[-1] if least is None else runs[best]
    told = f"{_with(row, size, say)}: {answers[best if least is not None else -1][1]}"
    least = None if sure == UNKNOWN else least
    if least is not None and row["low"] and least < size:
        told += f"; {_number(least, row, say)} would do"
    return Run(sure, told, least, faulty, _pattern(faulty, job, row["name"]), _weakest(faulty, broke))


ANSWERS = (YES, PERHAPS, UNKNOWN, NO)


def _number(size: float, row: dict[str, str], say: Say) -> str:
    if row["unit"] == "mm":
        return say.fine(size)
    return f"{size:.0f} {row['unit']}" if row["unit"].startswith("%") else f"{size:.2g} {row['unit']}"


def _with(row: dict[str, str], size: float, say: Say) -> str:
    return f"with {_number(size, row, say)}" if row["low"] else "with the first full tooth gone"


# --- could it have? -------------------------------------------------------------------------------------


def _could(faulty: Operation, sound: Operation, broke: str, name: str, say: Say) -> tuple[str, str]:
    if broke == "chipped":
        return _could_chip(faulty, sound)
    if broke == "worn":
        return _could_wear(faulty, sound)
    if broke == "thread":
        return _could_spoil(faulty, name)
    answer, told = _could_snap(faulty, name, say)
    return _bends(faulty, sound, told, say) if answer == NO and not faulty.faults.is_sound else (answer, told)


def _could_snap(faulty: Operation, name: str, say: Say) -> tuple[str, str]:
    friction = assumption("friction_factor")
    peak = faulty.torque_curve.peak
    most = peak if name == "dry" else peak / faulty.friction_factor * friction.high
    weak, strong = faulty.breakage.torque_range
    need = say.torque(peak) if name == "dry" else f"{say.torque(peak)}, up to {say.torque(most)} with much friction"
    told = f"the torque is {need}; such a tap breaks {say.torques(weak, strong)}"
    if peak >= strong:
        return YES, told
    return (PERHAPS if most >= weak else NO), told


def _bends(faulty: Operation, sound: Operation, told: str, say: Say) -> tuple[str, str]:
    """Torsion alone does not break it; a side force might, but bending is not in the model."""
    side, before = faulty.side_forces.resultant, sound.side_forces.resultant
    if side < before + 0.5 * float(faulty.tooth_loads.force.max(initial=0)):
        return NO, told
    pushed = f"its teeth push it sideways with {say.force(side)}, and bending is not in the model"
    return UNKNOWN, f"{told}, so torsion does not break it; but {pushed}"


def _could_chip(faulty: Operation, sound: Operation) -> tuple[str, str]:
    pull = faulty.crooked.force if faulty.tilt else faulty.tooth_loads.force
    ratio = float(pull.max(initial=0) / sound.tooth_loads.force.max(initial=1e-9))
    tooth = int(np.argmax(pull)) + 1
    told = f"the hardest tooth, number {tooth}, bears {ratio:.2f} times what the hardest bears on a sound tap"
    if ratio >= limit("overload"):
        return YES, told
    return (PERHAPS if ratio >= limit("strained") else NO), told


def _could_wear(faulty: Operation, sound: Operation) -> tuple[str, str]:
    friction = faulty.friction_factor / sound.friction_factor
    ratio = friction * float(faulty.tooth_duty.work.max(initial=0) / sound.tooth_duty.work.max(initial=1e-9))
    told = f"the hardest-worked tooth works {ratio:.2f} times as hard in each hole as on a sound tap"
    if ratio >= limit("hard_worked"):
        return YES, told
    return (PERHAPS if ratio >= (1 + limit("hard_worked")) / 2 else NO), told


def _could_spoil(faulty: Operation, name: str) -> tuple[str, str]:
    if name == "runout":
        limits = faulty.tap.thread.limits
        share = faulty.faults.runout / (limits.pitch_max - limits.pitch_min)
        told = f"the pitch diameter grows by {share:.0%} of its tolerance if tap and hole stay put"
        return (YES if share >= 1 else PERHAPS if share >= limit("much_tolerance") else NO), told
    return UNKNOWN, "how rough or wide the thread becomes is not in the model"


def _pattern(faulty: Operation, sound: Operation, name: str) -> frozenset[str]:
    """Which teeth the model loads more, as a clue; empty where the fault loads all alike and says nothing new."""
    if name == "tilt":  # fixed in the work: every flute meets the high side in turn
        return frozenset(["first teeth", "all alike"])
    if name not in ("runout", "uneven grind", "lost tooth"):
        return frozenset()
    a, b = faulty.tooth_loads, sound.tooth_loads
    before = np.zeros(len(a.force))
    before[: len(b.force)] = b.force[: len(a.force)]
    more = a.force - before > 0.15 * b.force.max(initial=0)
    flutes = set(a.flute[more].tolist())
    if more.sum() <= 1:
        return frozenset(["one tooth"])
    return frozenset(["one flute", "one tooth"] if len(flutes) == 1 else ["one flute", "first teeth", "last teeth"])


def _weakest(faulty: Operation, broke: str) -> frozenset[str]:
    """Where in the hole the margin is least; only torsion has such a place."""
    if broke != "snapped" or not faulty.faults.is_sound:
        return frozenset()
    start, end = faulty.breakage.weakest
    deep = float(faulty.torque_curve.depth[-1])
    if start > 0.9 * deep:
        return frozenset(["bottom"])
    return frozenset(["way in", "bottom"] if end > 0.9 * deep else ["way in"])


# --- causes with a run of their own ---------------------------------------------------------------------


def _packed(row: dict[str, str], job: Operation, broke: str, say: Say) -> Run:
    ledger = job.chip_room
    where = frozenset(["way in", "bottom", "way out"])
    place = frozenset(["below", "in the flutes"] if ledger.fate == BELOW else ["in the flutes", "wound"])
    stops = "; how hard a jam grips is not in the model, but it knows no limit"
    if ledger.packs_at is not None:
        told = (
            f"chips go {ledger.goes}; even the tightest fill the room with the point {say.rough(ledger.packs_at)} deep"
        )
        return Run(YES, told + stops, ledger.packs_at, job, where=where, chips=place)
    if ledger.may_pack_at is not None:
        told = f"chips go {ledger.goes}; loose ones fill the room with the point {say.rough(ledger.may_pack_at)} deep"
        return Run(PERHAPS, told + stops, ledger.may_pack_at, job, where=where, chips=place)
    if ledger.fate == LEAVES and job.workpiece.chips == "long":
        told = f"chips go {ledger.goes}, so they should not pack; a long curl that is caught may still wind and jam"
        return Run(PERHAPS, told, None, job, where=where, chips=frozenset(["wound", "in the flutes"]))
    return Run(NO, f"chips go {ledger.goes}, and there is room for all of them", None, job)


def _floor(row: dict[str, str], job: Operation, broke: str, say: Say) -> Run:
    if job.hole.is_through:
        return Run(NO, "the hole goes through: there is no floor")
    pitch = job.tap.thread.pitch
    free = job.hole.depth - job.hole.tap_depth(pitch)
    turns = free / pitch
    told = f"the tap has {say.depth(free)}, {turns:.1f} turns, before its point reaches the end of the cylinder"
    where, chips = frozenset(["bottom"]), frozenset(["below", "clear", "in the flutes"])
    could = YES if turns <= 1 else PERHAPS if turns <= float(row["high"]) else NO
    after = "; a spindle that runs on so far breaks it" if could != NO else "; no usual overrun goes so far"
    return Run(could, told + after, turns, job, where=where, chips=chips)


def _rubbed(row: dict[str, str], job: Operation, broke: str, say: Say) -> Run:
    loads = job.tooth_loads
    cuts = loads.area > 0
    share = float((loads.rubbing & cuts).sum() / max(cuts.sum(), 1))
    told = f"{share:.0%} of the teeth take chips under {say.fine(job.rubbing_thickness)}"
    if not job.workpiece.hardens:
        return Run(NO, f"{told}, but {job.workpiece.printed} does not harden much where it is rubbed", None, job)
    could = PERHAPS if share >= limit("rubbing_share") or broke == "worn" else NO
    return Run(could, f"{told}, and {job.workpiece.printed} hardens where it is rubbed", None, job)


def _wrong_feed(row: dict[str, str], job: Operation, broke: str, say: Say) -> Run:
    thread, deep = job.tap.thread, float(job.torque_curve.depth[-1])
    error = feed_error(thread, deep, thread.lead * (1 + float(row["high"]) / 100))
    allowed = math.inf if error.growth == 0 else float(row["high"]) / error.share
    spent = f"spends {error.share:.0%} of the pitch diameter's tolerance"
    told = f"{row['high']} % off the lead over {say.rough(deep)} {spent}"
    if broke == "thread":
        could = YES if error.share >= 1 else PERHAPS if error.share >= limit("much_tolerance") else NO
        return Run(could, f"{told}; {allowed:.2g} % would spend all of it", allowed, job)
    return Run(UNKNOWN, f"{told}; the load that puts on the flanks is not in the model", None, job)


def _turning_back(row: dict[str, str], job: Operation, broke: str, say: Say) -> Run:
    teeth = frozenset(["one tooth", "first teeth", "last teeth"])
    told = "what a caught chip does to a tooth from behind is not in the model"
    if job.workpiece.chips == "short":
        return Run(NO, f"{job.workpiece.printed} breaks into short chips: there is no root to catch", None, job)
    return Run(UNKNOWN, told, None, job, teeth=teeth, where=frozenset(["way out"]))


SPECIAL: dict[str, Callable[[dict[str, str], Operation, str, Say], Run]] = {
    "packed": _packed,
    "floor": _floor,
    "rubbed": _rubbed,
    "wrong feed": _wrong_feed,
    "turning back": _turning_back,
}
"""Causes with a run of their own."""
