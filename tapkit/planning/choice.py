"""Choosing a tap: every sensible pairing judged by the model, ranked, and held against what the trade says."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from tapkit import tables
from tapkit.geometry.tap import Tap
from tapkit.geometry.tapname import in_words
from tapkit.mechanics.chiproom import BELOW
from tapkit.messages import Capital, Number, Sentence, Span, _, force, length, of_table, rough_depth
from tapkit.planning.candidate import Job, candidate, candidates
from tapkit.planning.holefit import Change, all_shop_means, longest_chamfer, smallest_change
from tapkit.planning.holeplan import depth
from tapkit.planning.judge import Judged, as_hard

NOTABLE = 0.1
"""Points by which a tap must be worse than the best before it is said."""


class Practice(NamedTuple):
    """One rule of the trade held against the choice: what is `told`, its `source`, whether the choice `agrees`, and
    why it does or does not, in `words`."""

    told: Sentence
    source: Sentence
    agrees: bool
    words: Sentence


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

    def change(self) -> Change | None:
        """Where nothing reaches: the smallest change that lets the shortest chamfer in; else None."""
        if self.ranked or all(j.shallow_plan.fits for j in self.refused):
            return None
        return smallest_change(self.job.asked, 1.5, self.job.work)

    def in_words(self) -> Sentence:
        """Two or three sentences: what to take and why, or why nothing will do."""
        best, job = self.best, self.job
        if best is None:
            return _nothing_will_do(self)
        told = _(
            "Take a {tap} for {thread} in {metal}, {machine}. Its chips go {goes}. What it bears over the torque to "
            "expect: {margin}. Its hardest tooth works {as_hard} as that of a straight-flute plug tap.",
            tap=best.name,
            goes=best.operation.chip_room.goes,
            margin=best.operation.breakage.told(),
            as_hard=as_hard(best.operation.duty.hardest_relative),
            **_job_words(job),
        )
        if len(self.ranked) == 1:
            return _("{told} Nothing else will do.", told=told)
        return _("{told} Next best: {tap}.", told=told, tap=self.ranked[1].name)

    def practice(self) -> tuple[Practice, ...]:
        """Every rule of the trade that speaks to this job, and whether the choice agrees with it; none where every
        tap is refused."""
        if self.best is None:
            return ()
        rules = (r for r in tables.rows("trade_practice") if _applies(r, self.job))
        return tuple(_held_against(self, r) for r in rules)


def choose(job: Job, own: Mapping[str, Tap] | None = None) -> Choice:
    """Judge every candidate for a job, or one's `own` taps by name; rank those that will do, fewest points first."""
    taps = [(tap, "") for tap in candidates(job)] if own is None else [(tap, name) for name, tap in own.items()]
    judged = [Judged(job, *one) for one in taps]
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


def what_goes_wrong(wanted: Judged, choice: Choice) -> tuple[Sentence, ...]:
    """What a wanted tap does wrong in this job, worst first, and what to take instead; each in one sentence."""
    out = [as_sentence(r.words) for r in wanted.refusals]
    best = choice.best
    if best is None or best.tap == wanted.tap:
        return tuple(out)
    worse = [p for p in wanted.points if p.points > _points_of(best, p.name) + NOTABLE]
    out += [as_sentence(p.words) for p in worse]
    if wanted.advised:
        out.append(_("It will do, but {tap} does better.", tap=best.name))
    else:
        out.append(_("Take {tap} instead.", tap=best.name))
    return tuple(out)


def as_sentence(phrase: Sentence) -> Sentence:
    """A phrase as a whole sentence."""
    return _("{sentence}.", sentence=Capital(phrase))


def key_figures(judged: Judged) -> tuple[tuple[Sentence, Any], ...]:
    """The numbers of a judged tap to set beside another's: what each is, and its value with unit."""
    job = judged.operation
    low, high = job.breakage.margin_range
    return (
        (_("load on the hardest tooth"), force(judged.hardest_tooth)),
        (_("torque expected"), Span(*job.expected_torque.peak, "torque", digits=2)),
        (_("margin against breakage"), _("{low} to {high}", low=Number(low, 2), high=Number(high, 2))),
        (_("chips jam from (there a tap can break at any torque)"), _jams_at(judged)),
        (_("teeth that rub"), _("{share} %", share=Number(100 * judged.rubbing_share, decimals=0))),
        (_("work against a straight-flute plug tap"), Number(job.duty.total_relative, decimals=2)),
        (_("depth of the tap's point"), depth(judged.plan.tap_depth)),
        (_("turns"), Number(judged.plan.turns, decimals=1)),
    )


def _jams_at(judged: Judged) -> Sentence:
    at = judged.operation.expected_torque.open_from
    return _("nowhere") if at is None else _("{depth}", depth=rough_depth(at))


def _points_of(judged: Judged, name: str) -> float:
    return sum(p.points for p in judged.points if p.name == name)


# --- words ----------------------------------------------------------------------------------------------


def _job_words(job: Job) -> dict[str, Any]:
    metal, machine = of_table(job.work.printed), of_table(job.machine.printed)
    return dict(thread=job.thread.designation, metal=metal, machine=machine)


def _nothing_will_do(choice: Choice) -> Sentence:
    change, job = choice.change(), choice.job
    told = _("No tap will do for {thread} in {metal}, {machine}.", **_job_words(job))
    if change is None:
        reasons = [j.first_refusal.words for j in choice.refused if j.shallow_plan.fits]
        return _("{told} The nearest misses because {why}.", told=told, why=reasons[0]) if reasons else told
    if change.who == "shop":
        told = _("{told} The shop can change: {change}.", told=told, change=change.what)
    else:
        told = _("{told} Ask the designer for: {change}.", told=told, change=change.what)
    return told if all_shop_means(job.asked).fits else _("{told} Nothing the shop can do alone is enough.", told=told)


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


def _held_against(choice: Choice, rule: dict[str, str]) -> Practice:
    told, source, best = of_table(rule["told"]), of_table(rule["source"]), choice.ranked[0]
    if rule["not_form"] or rule["not_chamfer"]:
        if not _matches(best.tap, rule["not_form"], rule["not_chamfer"]):
            return Practice(told, source, True, _("the choice keeps to it"))
        return Practice(told, source, False, _why_all_the_same(best))
    if _matches(best.tap, rule["says_form"], rule["says_chamfer"]):
        return Practice(told, source, True, _("the choice is just that"))
    return Practice(told, source, False, _why_not(choice, rule))


def _why_all_the_same(best: Judged) -> Sentence:
    job = best.operation
    if job.chip_room.fate == BELOW:
        return _("the model lets it: all its chips find room below the point in this hole")
    fine = dict(decimals=3, inch_decimals=4)
    return _(
        "the model has nothing against it here: chips of {thick} are over the {limit} that cut, {share} % of its teeth "
        "rub",
        thick=length(float(job.tooth_loads.thickness.max()), **fine),
        limit=length(job.rubbing_thickness, **fine),
        share=Number(100 * best.rubbing_share, decimals=0),
    )


def _why_not(choice: Choice, rule: dict[str, str]) -> Sentence:
    """Why the tap of a rule is not the model's choice: refused, or outdone by so much, and in what."""
    fitting = [j for j in choice.ranked if _matches(j.tap, rule["says_form"], rule["says_chamfer"])]
    best = choice.ranked[0]
    if not fitting:
        refused = [j for j in choice.refused if _matches(j.tap, rule["says_form"], rule["says_chamfer"])]
        if not refused:
            return _("no such tap can be ground here")
        return _("here the model refuses it: {why}", why=refused[0].first_refusal.words)
    most = max(fitting[0].points, key=lambda p: p.points - _points_of(best, p.name))
    gap = fitting[0].score - best.score
    said = dict(best=in_words(best.tap), other=in_words(fitting[0].tap), why=most.words)
    if gap < 0.1:
        return _("the model puts {best} ahead by a hair; what counts most against {other}: {why}", **said)
    points = Number(gap, decimals=2)
    return _("the model puts {best} ahead by {points} points; what counts most against {other}: {why}",
             points=points, **said)  # fmt: skip
