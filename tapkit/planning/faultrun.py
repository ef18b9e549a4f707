"""The model run with a fault in it: could this fault have done that damage?

Each cause of the table `causes` has a run here, alone and in the pairs of the table `cause_pairs`. A run compares the
faulty job with the sound one: torque expected against what the tap bears, load and work of its hardest tooth, growth
of the pitch diameter. What the model does not know (jammed chips, a tap against the floor, torn threads) is said, not
computed; and a cause is never ruled out because torsion alone does not break the tap.
"""

import math
from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from tapkit import tables
from tapkit.mechanics.chiproom import BELOW, LEAVES
from tapkit.messages import Number, Quantity, Sentence, Span, _, angle, force, length, of_table, rough_depth
from tapkit.operation import Operation
from tapkit.planning.cycle import feed_error

YES, PERHAPS, UNKNOWN, ALONE, NO = "yes", "perhaps", "not known", "not alone", "no"
"""Answers to "could it have?", from surest to least: `ALONE`, not by this alone; `NO`, there is no such thing here."""
ANSWERS = (YES, PERHAPS, UNKNOWN, ALONE, NO)

STEPS = 8
"""Sizes of a fault tried between the ends of its range."""


class FaultRun(NamedTuple):
    """One cause tried: `could` it have, in `words` with the numbers; the `least` size of fault in its range that
    could, None where none; the faulty job as `operation`, None where the model has none; and what it says of
    the clues `teeth`, `where`, `chips`, empty where it says nothing."""

    could: str
    words: Sentence
    least: float | None = None
    operation: Operation | None = None
    teeth: frozenset[str] = frozenset()
    where: frozenset[str] = frozenset()
    chips: frozenset[str] = frozenset()


def diagnosis_limit(name: str) -> float:
    """One number of the table `diagnosis_limits`."""
    return float(tables.row("diagnosis_limits", name=name)["value"])


def run_cause(row: dict[str, str], job: Operation, broke: str = "snapped") -> FaultRun:
    """Run the model with one cause of the table `causes` on a sound job, for the damage seen.

    >>> rows = {r["name"]: r for r in tables.rows("causes")}
    >>> job = Operation.parse("M10x1.5 spiral-point plug", "blind 8.5 mm x 27.5 mm", "C45")
    >>> run_cause(rows["packed"], job).could, run_cause(rows["dull"], job, "thread").could
    ('yes', 'perhaps')
    """
    special = SPECIAL.get(row["name"])
    return special(row, job, broke) if special else _scan(row, job, broke)


def run_pair(one: str, other: str, job: Operation, broke: str = "snapped") -> FaultRun:
    """Run the model with two causes at once, each as large as its range allows; `other` may be "packed".

    Packed chips know no limit: with them the torque of the first cause leads up to the jam.
    """
    rows = {r["name"]: r for r in tables.rows("causes")}
    alone = [run_cause(rows[name], job, broke) for name in (one, other)]
    faulty = faulty_job(one, job, _sizes(rows[one])[-1])
    if other == "packed":
        could = PERHAPS if alone[1].could == ALONE else alone[1].could
        words = _("{one}; {other}", one=alone[0].words, other=alone[1].words)
    else:
        faulty = faulty_job(other, faulty, _sizes(rows[other])[-1])
        could, words = _could(faulty, job, broke, one)
    best = min(could, *(run.could for run in alone), key=ANSWERS.index)
    both = (alone[0].teeth | alone[1].teeth, alone[0].where | alone[1].where, alone[0].chips | alone[1].chips)
    return FaultRun(best, words, None, faulty, *both)


# --- faults the model can be run with -------------------------------------------------------------------


def _smaller_hole(job: Operation, percent: float) -> Operation:
    diameter = max(job.tap.thread.hole_for_percent(percent), job.tap.point_diameter)
    return job.with_(hole=job.hole.with_(diameter=min(diameter, job.hole.diameter)))


def _harder(job: Operation, times: float) -> Operation:
    """Every force so many times as large: a greater k_c11 alone would not do, as published torque is for the metal."""
    return job.with_(tool_factor=job.tool_factor * times)


def _with_faults(job: Operation, **faults: object) -> Operation:
    return job.with_(faults=replace(job.faults, **faults))


def _lost(job: Operation, _size: float) -> Operation:
    first_full = int(job.tooth_loads.number[int(np.argmax(job.tooth_loads.force))])
    return _with_faults(job, missing_teeth=frozenset([first_full]))


FAULTY: dict[str, Callable[[Operation, float], Operation]] = {
    "dull": lambda job, times: job.with_(wear_factor=times),
    "dry": lambda job, _size: job.with_(fluid="dry"),
    "small hole": _smaller_hole,
    "hard metal": _harder,
    "runout": lambda job, high: _with_faults(job, runout=high),
    "tilt": lambda job, lean: job.with_(tilt=lean),
    "uneven grind": lambda job, high: _with_faults(job, flute_offsets=(high, *[0.0] * (job.tap.flutes - 1))),
    "lost tooth": _lost,
    "short grind": lambda job, percent: _with_faults(job, regrind_shorter=percent / 100 * job.tap.chamfer_threads),
}
"""The faulty job for each cause the model can be run with, by the size of the fault."""


def faulty_job(name: str, job: Operation, size: float) -> Operation:
    """A sound job with one fault of the given size in it."""
    return FAULTY[name](job, size)


def _sizes(row: dict[str, str]) -> list[float]:
    if not row["low"]:
        return [1.0]
    return [float(s) for s in np.linspace(float(row["low"]), float(row["high"]), STEPS)]


def _scan(row: dict[str, str], job: Operation, broke: str) -> FaultRun:
    """Try sizes from small to large; show the largest, and remember the least that could."""
    runs = [(size, faulty_job(row["name"], job, size)) for size in _sizes(row)]
    answers = [_could(faulty, job, broke, row["name"]) for _size, faulty in runs]
    best = min(range(len(runs)), key=lambda i: (ANSWERS.index(answers[i][0]), -i))
    sure = answers[best][0]
    least = next(runs[i][0] for i, a in enumerate(answers) if a[0] == sure) if sure in (YES, PERHAPS) else None
    shown = best if least is not None else -1
    size, faulty = runs[shown]
    told = answers[shown][1]
    if row["low"] and least is not None and least < size:
        said = dict(size=_number(size, row), told=told, least=_number(least, row))
        told = _("with {size}: {told}; {least} would do", **said)
    elif row["low"]:
        told = _("with {size}: {told}", size=_number(size, row), told=told)
    return FaultRun(sure, told, least, faulty, _pattern(faulty, job, row["name"]), _weakest(faulty, broke))


def _number(size: float, row: dict[str, str]) -> Quantity | Sentence:
    if row["unit"] == "mm":
        return length(size, decimals=3, inch_decimals=4)
    if row["unit"] == "deg":
        return angle(size, decimals=1)
    return _("{number} {unit}", number=Number(size, 2), unit=of_table(row["unit"]))


# --- could it have? -------------------------------------------------------------------------------------


def _could(faulty: Operation, sound: Operation, broke: str, name: str) -> tuple[str, Sentence]:
    if broke == "chipped":
        return _could_chip(faulty, sound)
    if broke == "worn":
        return _could_wear(faulty, sound)
    if broke == "thread":
        return _could_spoil(faulty, name)
    answer, told = _could_snap(faulty)
    if answer == ALONE and name == "dry" and _galls(faulty):
        seizes = _("{told}; but {metal} welds to a tap without fluid, and a tap that seizes knows no limit",
                   told=told, metal=faulty.workpiece.printed)  # fmt: skip
        return PERHAPS, seizes
    return _bends(faulty, sound, told) if answer == ALONE and not faulty.faults.is_sound else (answer, told)


def _galls(job: Operation) -> bool:
    """Whether the metal welds to the tap where the fluid fails; table `galling`."""
    return any(r["group"] == job.workpiece.group for r in tables.rows("galling"))


def _could_snap(faulty: Operation) -> tuple[str, Sentence]:
    """The torque expected, a range, against the torque at which such a tap breaks, a range too."""
    need, breaks = faulty.expected_torque, faulty.breakage
    (_least, most), (weak, _strong) = need.peak, breaks.torque_range
    told = dict(need=need.told(), breaks=Span(*breaks.torque_range, "torque", digits=2))
    if need.middle >= breaks.torque:
        return YES, _("the torque expected is {need}; such a tap breaks at {breaks}", **told)
    if most >= weak or need.open_from is not None:
        return PERHAPS, _("the torque expected is {need}; such a tap breaks at {breaks}", **told)
    return ALONE, _("the torque expected is {need}, such a tap breaks at {breaks}: not by torsion alone", **told)


def _bends(faulty: Operation, sound: Operation, told: Sentence) -> tuple[str, Sentence]:
    """Torsion alone does not break it; a side force might."""
    side, before = faulty.side_forces.resultant, sound.side_forces.resultant
    if side < before + 0.5 * float(faulty.tooth_loads.force.max(initial=0)):
        return ALONE, told
    pushed = _("{told}; its teeth also push it sideways with {side}, and how far that bends it is not computed",
               told=told, side=force(side, digits=2))  # fmt: skip
    return UNKNOWN, pushed


def _could_chip(faulty: Operation, sound: Operation) -> tuple[str, Sentence]:
    pull = faulty.crooked.force if faulty.tilt else faulty.tooth_loads.force
    ratio = float(pull.max(initial=0) / sound.tooth_loads.force.max(initial=1e-9))
    tooth = int(np.argmax(pull)) + 1
    told = _("the hardest tooth, number {tooth}, bears {ratio} times what the hardest bears on a sound tap",
             tooth=tooth, ratio=Number(ratio, decimals=2))  # fmt: skip
    if ratio >= diagnosis_limit("overload"):
        return YES, told
    return (PERHAPS if ratio >= diagnosis_limit("strained") else ALONE), told


def _could_wear(faulty: Operation, sound: Operation) -> tuple[str, Sentence]:
    friction = faulty.expected_torque.middle / sound.expected_torque.middle if faulty.fluid != sound.fluid else 1.0
    ratio = friction * float(faulty.tooth_duty.work.max(initial=0) / sound.tooth_duty.work.max(initial=1e-9))
    told = _("the hardest-worked tooth works {ratio} times as hard in each hole as on a sound tap",
             ratio=Number(ratio, decimals=2))  # fmt: skip
    if ratio >= diagnosis_limit("hard_worked"):
        return YES, told
    return (PERHAPS if ratio >= (1 + diagnosis_limit("hard_worked")) / 2 else ALONE), told


def _could_spoil(faulty: Operation, name: str) -> tuple[str, Sentence]:
    if name == "runout":
        limits = faulty.tap.thread.limits
        share = faulty.faults.runout / (limits.pitch_max - limits.pitch_min)
        told = _("the pitch diameter grows by {share} % of its tolerance if tap and hole stay put",
                 share=Number(100 * share, decimals=0))  # fmt: skip
        return (YES if share >= 1 else PERHAPS if share >= diagnosis_limit("much_tolerance") else ALONE), told
    told = _("how rough or wide the thread becomes is not computed")
    return (PERHAPS if name in ("dull", "dry", "small hole") else UNKNOWN), told


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


def _packed(row: dict[str, str], job: Operation, broke: str) -> FaultRun:
    ledger = job.chip_room
    where = frozenset(["way in", "bottom", "way out"])
    place = frozenset(["below", "in the flutes"] if ledger.fate == BELOW else ["in the flutes", "wound"])
    at = next((d for d in (ledger.jams_at, ledger.packs_at, ledger.may_pack_at) if d is not None), None)
    known = {"goes": ledger.goes} | ({} if at is None else {"depth": rough_depth(at)})
    answer = PERHAPS
    if ledger.jams_at is not None:
        answer = YES
        told = _(
            "chips go {goes}; even the tightest jam with the point {depth} deep; how hard a jam grips is not computed, "
            "but it knows no limit",
            **known,
        )
    elif ledger.packs_at is not None:
        told = _(
            "chips go {goes}; even the tightest fill the room with the point {depth} deep: from there they crowd, and "
            "may jam where the last hole's were not cleared",
            **known,
        )
    elif at is not None:
        told = _(
            "chips go {goes}; loose ones fill the room with the point {depth} deep; how hard a jam grips is not "
            "computed, but it knows no limit",
            **known,
        )
    elif ledger.fate == LEAVES and job.workpiece.chips == "long":
        place = frozenset(["wound", "in the flutes"])
        told = _("chips go {goes}, so they should not pack; a long curl that is caught may still wind and jam", **known)
    else:
        answer = ALONE
        told = _("chips go {goes}, and there is room for all of them unless others lay in the hole", **known)
    return FaultRun(answer, told, at, job, where=where, chips=place)


def _floor(row: dict[str, str], job: Operation, broke: str) -> FaultRun:
    if job.hole.is_through:
        return FaultRun(NO, _("the hole goes through: there is no floor"))
    pitch = job.tap.thread.pitch
    free = job.hole.depth - job.hole.tap_depth(pitch)
    turns = free / pitch
    where, chips = frozenset(["bottom"]), frozenset(["below", "clear", "in the flutes"])
    could = YES if turns <= 1 else PERHAPS if turns <= float(row["high"]) else ALONE
    has = dict(free=length(free, decimals=2, inch_decimals=3), turns=Number(turns, decimals=1))
    if could == ALONE:
        told = _("the tap has {free}, {turns} turns, before its point reaches the end of the cylinder; no usual "
                 "overrun goes so far", **has)  # fmt: skip
    else:
        told = _("the tap has {free}, {turns} turns, before its point reaches the end of the cylinder; a spindle that "
                 "runs on so far breaks it", **has)  # fmt: skip
    return FaultRun(could, told, turns, job, where=where, chips=chips)


def _rubbed(row: dict[str, str], job: Operation, broke: str) -> FaultRun:
    loads = job.tooth_loads
    cuts = loads.area > 0
    share = float((loads.rubbing & cuts).sum() / max(cuts.sum(), 1))
    said = dict(
        share=Number(100 * share, decimals=0),
        thin=length(job.rubbing_thickness, decimals=3, inch_decimals=4),
        metal=job.workpiece.printed,
    )
    if not job.workpiece.hardens:
        told = _("{share} % of the teeth take chips under {thin}, but {metal} does not harden much where it is rubbed",
                 **said)  # fmt: skip
        return FaultRun(ALONE, told, None, job)
    could = PERHAPS if share >= diagnosis_limit("rubbing_share") or broke == "worn" else ALONE
    told = _("{share} % of the teeth take chips under {thin}, and {metal} hardens where it is rubbed", **said)
    return FaultRun(could, told, None, job)


def _wrong_feed(row: dict[str, str], job: Operation, broke: str) -> FaultRun:
    thread, deep = job.tap.thread, float(job.torque_curve.depth[-1])
    error = feed_error(thread, deep, thread.lead * (1 + float(row["high"]) / 100))
    allowed = math.inf if error.growth == 0 else float(row["high"]) / error.share
    said = dict(
        off=Number(float(row["high"])), depth=rough_depth(deep), share=Number(100 * error.share, decimals=0),
        allowed=Number(allowed, 2),
    )  # fmt: skip
    if broke == "thread":
        could = YES if error.share >= 1 else PERHAPS if error.share >= diagnosis_limit("much_tolerance") else ALONE
        told = _("{off} % off the lead over {depth} spends {share} % of the pitch diameter's tolerance; {allowed} % "
                 "would spend all of it", **said)  # fmt: skip
        return FaultRun(could, told, allowed, job)
    told = _("{off} % off the lead over {depth} spends {share} % of the pitch diameter's tolerance; the load that puts "
             "on the flanks is not computed", **said)  # fmt: skip
    return FaultRun(UNKNOWN, told, None, job)


def _turning_back(row: dict[str, str], job: Operation, broke: str) -> FaultRun:
    teeth = frozenset(["one tooth", "first teeth", "last teeth"])
    if job.workpiece.chips == "short":
        told = _("{metal} breaks into short chips: there is hardly a root to catch", metal=job.workpiece.printed)
        return FaultRun(ALONE, told, None, job, teeth=teeth, where=frozenset(["way out"]))
    found = dict(back=job.going_back.sentence, breaks=Span(*job.breakage.torque_range, "torque", digits=2))
    if broke != "snapped":
        told = _("{back}; what the root does to a tooth from behind is not computed", **found)
        return FaultRun(UNKNOWN, told, None, job, teeth=teeth, where=frozenset(["way out"]))
    reaches = job.expected_torque.going_back[1] >= job.breakage.torque_range[0]
    told = _("{back}; such a tap breaks at {breaks}; a jerk, or a root that jams, knows no limit", **found)
    return FaultRun(PERHAPS if reaches else ALONE, told, None, job, teeth=teeth, where=frozenset(["way out"]))


SPECIAL: dict[str, Callable[[dict[str, str], Operation, str], FaultRun]] = {
    "packed": _packed,
    "floor": _floor,
    "rubbed": _rubbed,
    "wrong feed": _wrong_feed,
    "turning back": _turning_back,
}
"""Causes with a run of their own."""
