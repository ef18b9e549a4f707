"""What broke my tap? From what is seen to the causes that fit, each tried on the model.

Never a single verdict where two causes fit: what would tell them apart is said instead.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cached_property, lru_cache
from typing import NamedTuple

from tapkit import tables
from tapkit.operation import Operation
from tapkit.planning.faultrun import NO, PERHAPS, UNKNOWN, YES, Run, run_cause

CLUES = ("broke", "teeth", "where", "chips", "sound", "thread")
"""What may be seen, in the order one looks."""

_ORDER = {YES: 0, PERHAPS: 1, UNKNOWN: 2, NO: 3}


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
                raise ValueError(f"{value!r} is not something seen of {field.name!r}; it may be {', '.join(known)}")

    @property
    def given(self) -> dict[str, str]:
        """The clues that were looked at."""
        return {c: getattr(self, c) for c in CLUES if getattr(self, c)}


class Finding(NamedTuple):
    """One cause held against what is seen: its `name`, `printed`, the `run` of the model, the clues it `agrees` with
    and those that speak `against` it, and where to `look` next."""

    name: str
    printed: str
    run: Run
    agrees: tuple[str, ...]
    against: tuple[str, ...]
    look: str

    @property
    def fits(self) -> bool:
        """Whether nothing that is seen speaks against it and the model does not rule it out."""
        return not self.against and self.run.could != NO

    def in_words(self) -> str:
        """One or two sentences."""
        could = {
            YES: "The model says it could have",
            PERHAPS: "The model says perhaps",
            NO: "The model says no",
            UNKNOWN: "The model cannot tell",
        }[self.run.could]
        fits = f" Fits: {', '.join(self.agrees)}." if self.agrees else ""
        against = f" Against it: {', '.join(self.against)}." if self.against else ""
        return f"{self.printed[0].upper()}{self.printed[1:]}. {could}: {self.run.words}.{fits}{against}"


@dataclass(frozen=True)
class Diagnosis:
    """A sound job, what is seen, and every cause held against it; words in `system` "metric" or "inch".

    >>> job = Operation.parse("M10x1.5 spiral-point plug", "blind 8.5 mm x 27.5 mm", "C45")
    >>> Diagnosis(job, Seen(broke="snapped", chips="below", sound="groan")).findings[0].name
    'packed'
    """

    job: Operation
    seen: Seen
    system: str = "metric"

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Every cause, those that fit best first."""
        found = [_held_against(row, self.job, self.seen, self.system) for row in tables.rows("causes")]
        return tuple(sorted(found, key=lambda f: (len(f.against), _ORDER[f.run.could], -len(f.agrees))))

    @property
    def fitting(self) -> tuple[Finding, ...]:
        """The causes that nothing seen speaks against and the model does not rule out."""
        return tuple(f for f in self.findings if f.fits)

    @property
    def decisive(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Clues not looked at yet that would tell the fitting causes apart, most telling first: (clue, what each cause
        would show)."""
        return _decisive(self)

    def in_words(self) -> str:
        """What fits, and what to look at next; never a single verdict where two fit."""
        return _in_words(self)


def diagnose(job: Operation, **seen: str) -> Diagnosis:
    """A diagnosis from a sound job and what is seen, such as `broke="snapped", chips="below"`."""
    return Diagnosis(job, Seen(**seen))


def _signs(row: dict[str, str], run: Run) -> dict[str, frozenset[str]]:
    """What a cause would show for each clue: what the model says where it speaks, else the table; empty: anything."""
    out = {c: frozenset(row[c].split("|")) if row[c] else frozenset() for c in CLUES}
    for clue in ("teeth", "where", "chips"):
        out[clue] = getattr(run, clue) or out[clue]
    return out


@lru_cache(maxsize=128)
def _runs(job: Operation, broke: str, system: str) -> dict[str, Run]:
    """Every cause tried once for a job and a kind of damage; other clues need no new run."""
    return {row["name"]: run_cause(row, job, broke, system) for row in tables.rows("causes")}


def _held_against(row: dict[str, str], job: Operation, seen: Seen, system: str) -> Finding:
    run = _runs(job, seen.broke or "snapped", system)[row["name"]]
    signs, printed = _signs(row, run), {c: dict(clue_values(c)) for c in CLUES}
    agrees = tuple(printed[c][v] for c, v in seen.given.items() if v in signs[c])
    against = tuple(printed[c][v] for c, v in seen.given.items() if signs[c] and v not in signs[c])
    return Finding(row["name"], row["printed"], run, agrees, against, row["look"])


def _decisive(diagnosis: Diagnosis) -> tuple[tuple[str, tuple[str, ...]], ...]:
    rows = {r["name"]: r for r in tables.rows("causes")}
    fitting = diagnosis.fitting
    out = []
    for clue in CLUES:
        if clue in diagnosis.seen.given or len(fitting) < 2:
            continue
        shows = [_signs(rows[f.name], f.run)[clue] for f in fitting]
        if len(set(shows)) > 1 and all(shows):
            printed = dict(clue_values(clue))
            told = [f"{f.printed}: {' or '.join(printed[v] for v in sorted(s))}" for f, s in zip(fitting, shows)]
            out.append((clue, tuple(told), len(set(shows))))
    return tuple((clue, told) for clue, told, _ in sorted(out, key=lambda x: -x[2]))


def _in_words(diagnosis: Diagnosis) -> str:
    fitting = diagnosis.fitting
    if not diagnosis.seen.given:
        return "Nothing is entered yet. Say what broke, which teeth, where in the hole, and how chips and thread look."
    if not fitting:
        near = diagnosis.findings[0]
        why = f"against it: {', '.join(near.against)}" if near.against else "the model rules it out"
        return f"Nothing fits all that is seen. The nearest: {near.printed}, but {why}. Look again at the pieces."
    if len(fitting) == 1:
        only, near = (
            fitting[0],
            next((f for f in diagnosis.findings if len(f.against) == 1 and f.run.could != NO), None),
        )
        behind = f" Close behind: {near.printed}, were it not for {near.against[0]}." if near else ""
        told = f"Only one cause fits all that is seen: {only.printed}. Check it before you believe it."
        return f"{told} {only.look}{behind}"
    sure = [f for f in fitting if f.run.could == YES]
    names = "; ".join(f.printed for f in fitting)
    best = f" The model says it could have been: {'; '.join(f.printed for f in sure[:3])}." if sure else ""
    more = diagnosis.decisive
    look = f" To tell them apart, look at: {', '.join(c for c, _ in more[:3])}." if more else " " + fitting[0].look
    return f"{len(fitting)} causes fit what is seen: {names}.{best} Do not settle on one yet.{look}"
