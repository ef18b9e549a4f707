"""What broke my tap? From what is seen to the causes that fit, each tried on the model.

Never a single verdict where two causes fit: what would tell them apart is said instead.
"""

from dataclasses import dataclass, fields
from functools import cached_property, lru_cache
from typing import NamedTuple

from tapkit import tables
from tapkit.messages import Capital, Sentence, _, listed, ngettext, of_table, pgettext
from tapkit.operation import Operation
from tapkit.planning.faultrun import ALONE, ANSWERS, NO, PERHAPS, UNKNOWN, YES, FaultRun, run_cause, run_pair

CLUES = ("broke", "teeth", "where", "chips", "sound", "thread")
"""What may be seen, in the order one looks."""


def clue_values(clue: str) -> tuple[tuple[str, str], ...]:
    """The values a clue may have, each as (value, printed); table `clues`.

    >>> clue_values("broke")[0]
    ('snapped', 'the tap snapped')
    """
    return tuple((r["value"], r["printed"]) for r in tables.rows("clues") if r["clue"] == clue)


@dataclass(frozen=True, kw_only=True)
class Seen:
    """What is seen: `broke`, `teeth`, `where`, `chips`, `sound`, `thread`, each one of `clue_values`, or empty where
    no one looked. Raises ValueError for any other value.

    >>> Seen(broke="chipped", sound="click").given
    {'broke': 'chipped', 'sound': 'click'}
    """

    broke: str = ""
    teeth: str = ""
    where: str = ""
    chips: str = ""
    sound: str = ""
    thread: str = ""

    def __post_init__(self) -> None:
        for field in fields(self):
            value, known = getattr(self, field.name), [v for v, _ in clue_values(field.name)]
            if value and value not in known:
                raise ValueError(
                    _(
                        "{value} is not something seen of {clue}; it may be {known}",
                        value=repr(value),
                        clue=repr(field.name),
                        known=", ".join(known),
                    )
                )

    @property
    def given(self) -> dict[str, str]:
        """The clues that were looked at."""
        return {c: getattr(self, c) for c in CLUES if getattr(self, c)}


class Finding(NamedTuple):
    """One cause, or two together, held against what is seen: its `name`, `printed`, the `run` of the model, the values
    of clues it `agrees` with and those that speak `against` it as (clue, value), and where to `look` next."""

    name: str
    printed: Sentence
    run: FaultRun
    agrees: tuple[tuple[str, str], ...]
    against: tuple[tuple[str, str], ...]
    look: Sentence | str

    @property
    def fits(self) -> bool:
        """Whether nothing that is seen speaks against it, and there can be such a thing in this job."""
        return not self.against and self.run.could != NO

    @property
    def is_pair(self) -> bool:
        """Whether these are two causes together."""
        return "+" in self.name

    def in_words(self) -> Sentence:
        """Two sentences or more."""
        told = _(
            "{cause}. {could}: {words}.", cause=Capital(self.printed), could=SAYS[self.run.could], words=self.run.words
        )
        if self.agrees:
            told = _("{told} Fits: {clues}.", told=told, clues=in_clues(self.agrees))
        if self.against:
            told = _("{told} Against it: {clues}.", told=told, clues=in_clues(self.against))
        return told


SAYS = {
    YES: _("The model says it could have"),
    PERHAPS: _("The model says perhaps"),
    UNKNOWN: _("The model cannot tell"),
    ALONE: _("Not by this alone, says the model"),
    NO: _("The model says no"),
}
"""What the model says, to begin a sentence."""


def in_clues(clues: tuple[tuple[str, str], ...]) -> object:
    """Clues in words, in a row."""
    return listed(of_table(dict(clue_values(clue))[value]) for clue, value in clues)


@dataclass(frozen=True)
class Diagnosis:
    """A sound job, what is seen, and every cause held against it.

    >>> job = Operation.parse("M10x1.5 spiral-point plug", "blind 8.5 mm x 27.5 mm", "C45")
    >>> Diagnosis(job, Seen(broke="snapped", chips="below", sound="groan")).findings[0].name
    'packed'
    """

    job: Operation
    seen: Seen

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Every cause, and each pair that explains more than either alone; those that fit best first. Before anything
        is seen none is judged."""
        alone = [_held_against(row, self.job, self.seen) for row in tables.rows("causes")]
        if not self.seen.given:
            waits = _("nothing is seen yet that could be held against it")
            return tuple(f._replace(run=f.run._replace(could=UNKNOWN, words=waits)) for f in alone)
        pairs = [_pair(row, {f.name: f for f in alone}, self.job, self.seen) for row in tables.rows("cause_pairs")]
        found = [*alone, *(p for p in pairs if p is not None)]
        return tuple(
            sorted(found, key=lambda f: (len(f.against), ANSWERS.index(f.run.could), -len(f.agrees), f.is_pair))
        )

    @property
    def fitting(self) -> tuple[Finding, ...]:
        """The causes that nothing seen speaks against and that there can be."""
        return tuple(f for f in self.findings if f.fits)

    @property
    def decisive(self) -> tuple[tuple[str, tuple[Sentence, ...]], ...]:
        """Clues not looked at yet that would tell the fitting causes apart, most telling first: (clue, what each cause
        would show)."""
        fitting = self.fitting
        out = []
        for clue in CLUES:
            if clue in self.seen.given or len(fitting) < 2:
                continue
            shows = [_signs_of(f)[clue] for f in fitting]
            if len(set(shows)) > 1 and all(shows):
                printed = dict(clue_values(clue))
                words = [listed((of_table(printed[v]) for v in sorted(s)), "or") for s in shows]
                told = (_("{cause}: {shows}", cause=f.printed, shows=w) for f, w in zip(fitting, words))
                out.append((clue, tuple(told), len(set(shows))))
        return tuple((clue, told) for clue, told, _count in sorted(out, key=lambda x: -x[2]))

    def in_words(self) -> Sentence:
        """What fits, and what to look at next; never a single verdict where two fit."""
        fitting = self.fitting
        if not self.seen.given:
            return _(
                "Nothing is entered yet. Say what broke, which teeth, where in the hole, and how chips and thread look."
            )
        if not fitting:
            return _nothing_fits(self.findings[0])
        if len(fitting) == 1:
            return _only_one(self, fitting[0])
        told = ngettext(
            "{count} cause fits what is seen: {causes}.", "{count} causes fit what is seen: {causes}.", len(fitting),
            causes=listed(f.printed for f in fitting),
        )  # fmt: skip
        sure = [f.printed for f in fitting if f.run.could == YES][:3]
        if sure:
            told = _("{told} The model says it could have been: {causes}.", told=told, causes=listed(sure, "or"))
        clues = [CLUE_WORDS[c] for c, _told in self.decisive[:3]]
        if clues:
            return _(
                "{told} Do not settle on one yet. To tell them apart, look at: {clues}.", told=told, clues=listed(clues)
            )
        return _("{told} Do not settle on one yet. {look}", told=told, look=fitting[0].look)


Symptoms = dict[str, frozenset[str]]
"""What a cause would show for each clue; an empty set says nothing."""


def _signs(row: dict[str, str], run: FaultRun) -> Symptoms:
    """What a cause would show for each clue: what the model says where it speaks, else the table."""
    out = {c: frozenset(row[c].split("|")) if row[c] else frozenset() for c in CLUES}
    for clue in ("teeth", "where", "chips"):
        out[clue] = getattr(run, clue) or out[clue]
    return out


def _signs_of(finding: Finding) -> Symptoms:
    """The same for a finding; a pair shows what either of its causes shows."""
    rows = {r["name"]: r for r in tables.rows("causes")}
    each = [_signs(rows[name], finding.run) for name in finding.name.split("+")]
    return {c: frozenset().union(*(s[c] for s in each)) if all(s[c] for s in each) else frozenset() for c in CLUES}


@lru_cache(maxsize=128)
def _runs(job: Operation, broke: str) -> dict[str, FaultRun]:
    """Every cause tried once for a job and a kind of damage; other clues need no new run."""
    return {row["name"]: run_cause(row, job, broke) for row in tables.rows("causes")}


@lru_cache(maxsize=256)
def _pair_run(one: str, other: str, job: Operation, broke: str) -> FaultRun:
    return run_pair(one, other, job, broke)


def _held_against(row: dict[str, str], job: Operation, seen: Seen) -> Finding:
    run = _runs(job, seen.broke or "snapped")[row["name"]]
    return _sorted_clues(Finding(row["name"], of_table(row["printed"]), run, (), (), of_table(row["look"])), seen)


def _sorted_clues(finding: Finding, seen: Seen) -> Finding:
    signs, given = _signs_of(finding), seen.given
    agrees = tuple((c, v) for c, v in given.items() if v in signs[c])
    against = tuple((c, v) for c, v in given.items() if signs[c] and v not in signs[c])
    return finding._replace(agrees=agrees, against=against)


def _pair(row: dict[str, str], alone: dict[str, Finding], job: Operation, seen: Seen) -> Finding | None:
    """Two causes together, where they explain what neither explains alone; else None."""
    one, other = alone[row["one"]], alone[row["other"]]
    if YES in (one.run.could, other.run.could) and not (one.against and other.against):
        return None
    run = _pair_run(row["one"], row["other"], job, seen.broke or "snapped")
    printed = of_table(row["printed"])
    look = _("{one} {other}", one=one.look, other=other.look)
    both = _sorted_clues(Finding(f"{one.name}+{other.name}", printed, run, (), (), look), seen)
    better = len(both.against) < min(len(one.against), len(other.against))
    surer = ANSWERS.index(run.could) < min(ANSWERS.index(one.run.could), ANSWERS.index(other.run.could))
    return both if better or (surer and not both.against) else None


CLUE_WORDS = {
    "broke": pgettext("clue", "broke"),
    "teeth": pgettext("clue", "teeth"),
    "where": pgettext("clue", "where"),
    "chips": pgettext("clue", "chips"),
    "sound": pgettext("clue", "sound"),
    "thread": pgettext("clue", "thread"),
}
"""What a clue is called."""


def _nothing_fits(near: Finding) -> Sentence:
    told = _("Nothing fits all that is seen. Look again at the pieces. The nearest: {cause}.", cause=near.printed)
    if near.against:
        return _("{told} Against it: {clues}.", told=told, clues=in_clues(near.against))
    return _("{told} But: {words}.", told=told, words=near.run.words)


def _only_one(diagnosis: Diagnosis, only: Finding) -> Sentence:
    told = _(
        "Only one cause fits all that is seen: {cause}. Check it before you believe it. {look}",
        cause=only.printed, look=only.look,
    )  # fmt: skip
    near = next((f for f in diagnosis.findings if len(f.against) == 1 and f.run.could != NO), None)
    if near is None:
        return told
    return _(
        "{told} Close behind: {cause}, were it not for {clue}.",
        told=told,
        cause=near.printed,
        clue=in_clues(near.against),
    )
