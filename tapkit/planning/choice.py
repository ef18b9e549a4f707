"""Choosing a tap: every sensible pairing judged by the model, ranked, and held against what the trade says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from tapkit import tables, units
from tapkit.geometry.tap import Tap
from tapkit.planning.candidate import Job, candidate, candidates
from tapkit.planning.holefit import Change, all_shop_means, longest_chamfer, smallest_change
from tapkit.planning.holeplan import show_length
from tapkit.planning.judge import Judged
from tapkit.planning.say import Say

NOTABLE = 0.1
"""Points by which a tap must be worse than the best before it is said."""


class TradeOff(NamedTuple):
    """One thing that differs between two taps: `what`, the two values as text, and `words`."""

    what: str
    one: str
    other: str
    words: str


class Practice(NamedTuple):
    """One rule of the trade held against the choice: what is `told`, its `source`, whether the choice `agrees`, and
    why it does or does not, in `words`."""

    told: str
    source: str
    agrees: bool
    words: str


@dataclass(frozen=True)
class Choice:
    """The taps for a job: `ranked`, those the model has nothing against, best first; `refused`, the others.

    >>> from tapkit import Thread
    >>> from tapkit.planning.holeask import DrawingAsk
    >>> ask = DrawingAsk(thread=Thread.parse("M10"), drill=8.5, kind="through", thickness=15)
    >>> choose(Job.make(ask, "C45", "rigid")).best.tap.name
    'spiral-point plug'
    """

    job: Job
    ranked: tuple[Judged, ...]
    refused: tuple[Judged, ...]

    @property
    def best(self) -> Judged | None:
        """The tap to take, or None where every pairing is refused."""
        return self.ranked[0] if self.ranked else None

    def change(self, system: str = "metric") -> Change | None:
        """Where nothing reaches: the smallest change that lets the shortest chamfer in; else None."""
        if self.ranked or all(j.shallow_plan.fits for j in self.refused):
            return None
        return smallest_change(self.job.asked, 1.5, self.job.work, system)

    def in_words(self, system: str = "metric") -> str:
        """Two or three sentences: what to take and why, or why nothing will do."""
        return _in_words(self, system)

    def practice(self, system: str = "metric") -> tuple[Practice, ...]:
        """Every rule of the trade that speaks to this job, and whether the choice agrees with it; none where every
        tap is refused."""
        if self.best is None:
            return ()
        rules = (r for r in tables.rows("trade_practice") if _applies(r, self.job))
        return tuple(_held_against(self, r, system) for r in rules)


def choose(job: Job) -> Choice:
    """Judge every candidate for a job and rank those that will do, fewest points first."""
    judged = [Judged(job, tap) for tap in candidates(job)]
    good = sorted((j for j in judged if j.advised), key=lambda j: j.score)
    return Choice(job, tuple(good), tuple(j for j in judged if not j.advised))


def asked_for(job: Job, tap: Tap | str) -> Judged:
    """A tap someone asks for, judged for the job; a text names flute form and chamfer, "spiral-point plug".

    Its `refusals` and `points` say what will go wrong.
    """
    if isinstance(tap, Tap):
        return Judged(job, tap)
    named = Tap.parse(f"{job.thread.designation} {tap}")
    return Judged(job, candidate(job.thread, job.work, named.flute_form, named.chamfer_threads))


def what_goes_wrong(wanted: Judged, choice: Choice, system: str = "metric") -> tuple[str, ...]:
    """What a wanted tap does wrong in this job, worst first, and what to take instead; each in one sentence."""
    out = [f"{r[0].upper()}{r[1:]}." for r in wanted.refusals_in(system)]
    best = choice.best
    if best is None or best.tap == wanted.tap:
        return tuple(out)
    worse = [p for p in wanted.points_in(system) if p.points > _points_of(best, p.name) + NOTABLE]
    out += [f"{p.words[0].upper()}{p.words[1:]}." for p in worse]
    if wanted.advised:
        out.append(f"It will do, but {best.name} does better.")
    else:
        out.append(f"Take {best.name} instead.")
    return tuple(out)


def trade_offs(one: Judged, other: Judged) -> tuple[TradeOff, ...]:
    """What taking one tap instead of the other costs and gains, in the model's numbers; what is alike is left out."""
    rows = zip(_figures(one), _figures(other))
    return tuple(_trade_off(a, b) for a, b in rows if abs(a.value - b.value) > 0.02 * max(abs(a.value), abs(b.value)))


class Figure(NamedTuple):
    """One number of a judged tap: `what`, `value` in tapkit's unit, `kind` of quantity or "" for a bare number, whether
    `more` is better."""

    what: str
    value: float
    kind: str
    more: bool = False

    def show(self, system: str = "metric") -> str:
        """The number with its unit."""
        if self.kind == "length":
            return show_length(self.value, system)
        if self.kind:
            return units.show(self.value, self.kind, system)
        return f"{self.value:.0f} %" if "rub" in self.what else f"{self.value:.2f}"


def _figures(judged: Judged) -> tuple[Figure, ...]:
    job = judged.operation
    return (
        Figure("load on the hardest tooth", judged.hardest_tooth, "force"),
        Figure("peak torque", job.torque_curve.peak, "torque"),
        Figure("margin against breakage, worn", job.breakage.margin_worn, "", True),
        Figure("teeth that rub", 100 * judged.rubbing_share, ""),
        Figure("work against a straight-flute plug tap", job.duty.total_relative, ""),
        Figure("depth of the tap's point", judged.plan.tap_depth, "length"),
        Figure("turns", judged.plan.turns, ""),
    )


def key_figures(judged: Judged, system: str = "metric") -> tuple[tuple[str, str], ...]:
    """The numbers of a judged tap to set beside another's: what each is, and its value with unit."""
    return tuple((f.what, f.show(system)) for f in _figures(judged))


def _trade_off(a: Figure, b: Figure) -> TradeOff:
    change = f"{a.value / b.value:.2f} times the other" if b.value else "more than none"
    verdict = "better" if (a.value > b.value) == a.more else "worse"
    return TradeOff(a.what, a.show(), b.show(), f"{a.what}: {change}, {verdict}")


def _points_of(judged: Judged, name: str) -> float:
    return sum(p.points for p in judged.points if p.name == name)


# --- words ----------------------------------------------------------------------------------------------


def _in_words(choice: Choice, system: str) -> str:
    best, job = choice.best, choice.job
    if best is None:
        return _nothing_will_do(choice, system)
    told = f"Take a {best.name} for {job.thread.designation} in {job.work.printed}, {job.machine.printed}."
    ledger = best.operation.chip_room
    margin = best.operation.breakage.margin_worn
    why = (
        f" Its chips go {ledger.goes}; worn, it bears {margin:.1f} times the torque it needs; its hardest tooth works "
        f"{best.operation.duty.hardest_relative:.2f} times as hard as that of a straight-flute plug tap."
    )
    if len(choice.ranked) == 1:
        return told + why + " Nothing else will do."
    return f"{told}{why} Next best: {choice.ranked[1].name}."


def _nothing_will_do(choice: Choice, system: str) -> str:
    change = choice.change(system)
    job = choice.job
    told = f"No tap will do for {job.thread.designation} in {job.work.printed}, {job.machine.printed}."
    if change is not None:
        who = "The shop can change" if change.who == "shop" else "Ask the designer for"
        last = "" if all_shop_means(job.asked).fits else " Nothing the shop can do alone is enough."
        return f"{told} {who}: {change.what}.{last}"
    reasons = [j.refusals_in(system)[0] for j in choice.refused if j.shallow_plan.fits]
    return f"{told} The nearest misses because {reasons[0]}." if reasons else told


# --- common practice ------------------------------------------------------------------------------------


def _applies(rule: dict[str, str], job: Job) -> bool:
    near = longest_chamfer(job.asked) < 4.0 and not job.asked.is_through
    here = {
        "kind": job.asked.kind,
        "group": job.work.group,
        "chips": job.work.chips,
        "room": "near floor" if near else "",
        "machine": "hand" if job.machine.by_hand else "machine",
    }
    return all(not rule[key] or rule[key] == here[key] for key in here)


def _matches(tap: Tap, form: str, chamfer: str) -> bool:
    return (not form or tap.flute_form in form.split("|")) and (not chamfer or tap.chamfer_name in chamfer.split("|"))


def _held_against(choice: Choice, rule: dict[str, str], system: str) -> Practice:
    told, source, best = rule["told"], rule["source"], choice.ranked[0]
    if rule["not_form"] or rule["not_chamfer"]:
        against = _matches(best.tap, rule["not_form"], rule["not_chamfer"])
        if not against:
            return Practice(told, source, True, "the choice keeps to it")
        return Practice(told, source, False, _why_all_the_same(best, Say(system)))
    if _matches(best.tap, rule["says_form"], rule["says_chamfer"]):
        return Practice(told, source, True, "the choice is just that")
    return Practice(told, source, False, _why_not(choice, rule, system))


def _why_all_the_same(best: Judged, say: Say) -> str:
    if best.operation.chip_room.fate == "below the point":
        return "the model lets it: all its chips find room below the point in this hole"
    job = best.operation
    thick, limit = float(job.tooth_loads.thickness.max()), job.rubbing_thickness
    told = (
        f"chips of {say.fine(thick)} are over the {say.fine(limit)} that cut, {best.rubbing_share:.0%} of its teeth rub"
    )
    return f"the model has nothing against it here: {told}"


def _why_not(choice: Choice, rule: dict[str, str], system: str) -> str:
    """Why the tap of a rule is not the model's choice: refused, or outdone by so much, and in what."""
    said = [j for j in choice.ranked if _matches(j.tap, rule["says_form"], rule["says_chamfer"])]
    best = choice.ranked[0]
    if not said:
        refused = [j for j in choice.refused if _matches(j.tap, rule["says_form"], rule["says_chamfer"])]
        return (
            f"here the model refuses it: {refused[0].refusals_in(system)[0]}"
            if refused
            else "no such tap can be ground here"
        )
    most = max(said[0].points_in(system), key=lambda p: p.points - _points_of(best, p.name))
    gap = said[0].score - best.score
    close = "by a hair" if gap < 0.1 else f"by {gap:.2f} points"
    return f"the model puts {best.tap.name} ahead {close}; what counts most against {said[0].tap.name}: {most.words}"
