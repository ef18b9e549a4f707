"""Quantities a question of one's own may ask for: every result of a set-up, every number that can be set, and what
follows from them, each with the kind of answer and the usual tolerance. The value is always computed here."""

import difflib
import math
import re
from collections.abc import Callable
from functools import cache, lru_cache
from typing import NamedTuple

from tapkit import door, tables, units, whatif
from tapkit.exercises.number import unit_asked
from tapkit.messages import Sentence, _, listed, of_table
from tapkit.operation import Operation
from tapkit.parameters import Parameter, parameters, present
from tapkit.planning.speed import spindle_speed


class Askable(NamedTuple):
    """A quantity of a set-up: its `key`, its `label` in words, the `kind` of answer, the usual `tolerance` by name, and
    how it is computed in tapkit's own unit."""

    key: str
    label: str
    kind: str
    tolerance: str
    of: Callable[[Operation], float]

    def value(self, job: Operation) -> float:
        """Its value for a job; nan where it has none."""
        return float(self.of(job))

    def shown(self, job: Operation, system: str) -> float:
        """Its value as a number in the unit of a system."""
        return self.value(job) / unit_asked(self.kind, system)[1]


KINDS = {"threads": "threads", "times": "times", "%": "percent", "pitches": "threads"}
"""Kinds of answer by the unit of a plain number."""
COUNTS = {"cutting_teeth": "teeth", "rubbing_teeth": "teeth", "flutes": "flutes"}
TOLERANCES = {row["kind"]: row["tolerance"] for row in (*units.KINDS.values(), *tables.rows("answer_units"))}
"""The usual tolerance of a kind, by name, "" for that of a ratio."""
OWN_TOLERANCE = {"thickness_of_chip": "thickness", "depth": "depth", "pitch": "pitch"}

DERIVED: dict[str, tuple[Sentence, str, Callable[[Operation], float]]] = {
    "pitch": (_("Pitch"), "length", lambda job: job.tap.thread.pitch),
    "major_diameter": (_("Major diameter"), "length", lambda job: job.tap.thread.major),
    "minor_diameter": (_("Basic minor diameter"), "length", lambda job: job.tap.thread.minor_diameter),
    "chamfer_length": (_("Chamfer length along the axis"), "length", lambda job: job.tap.chamfer_length),
    "tooth_spacing": (_("Advance from tooth to tooth"), "length", lambda job: job.tap.tooth_spacing),
    "percent_of_thread": (
        _("Percent of thread, by handbook custom"),
        "percent",
        lambda job: job.tap.thread.percent(job.hole.diameter),
    ),
    "turns_to_depth": (
        _("Turns to the whole depth"),
        "turns",
        lambda job: job.hole.depth / job.tap.thread.lead,
    ),
    "spindle_speed": (
        _("Spindle speed"),
        "rotation",
        lambda job: spindle_speed(job.speed, job.tap.thread.major),
    ),
    "feed": (
        _("Feed for each minute"),
        "feed",
        lambda job: spindle_speed(job.speed, job.tap.thread.major) * job.tap.thread.lead,
    ),
}
"""What follows from a set-up and is no row of the table `parameters`: label, kind of answer, formula."""


WORDS: dict[str, tuple[Sentence, dict[str, Sentence], Callable[[Operation], str]]] = {
    "chip_direction": (
        _("Which way the chips go"),
        {
            "toward the shank": _("Toward the shank"),
            "ahead of the point": _("Ahead of the point"),
            "undecided": _("The angles decide nothing"),
        },
        lambda job: job.chip_flow.direction,
    ),
    "chips_jam": (
        _("Whether the chips jam"),
        {"yes": _("They jam in the flutes"), "no": _("They do not jam")},
        lambda job: "no" if job.expected_torque.open_from is None else "yes",
    ),
    "hole_kind": (
        _("What kind of hole it is"),
        {"through": _("A through hole"), "blind": _("A blind hole")},
        lambda job: job.hole.kind,
    ),
}
"""What a set-up says in words, for a choice: label, the words by key, and which of them a job has."""


def word_quantity(name: str) -> str | None:
    """The key of what is said in words, by key or label; None where it is a number, or nothing."""
    known = {door.casefolded(word): key for key, (label, *_rest) in WORDS.items() for word in (key, str(label))}
    return known.get(door.casefolded(name))


@lru_cache(maxsize=4096)
def _solved(job: Operation) -> dict[str, float]:
    return {name: float(column[0]) for name, column in whatif.solve([job])._asdict().items()}


@cache
def askables() -> dict[str, Askable]:
    """All quantities by key: results first, then what follows, then what is set."""
    found = [_of_row(row) for row in parameters() if row.owner == "result"]
    found += [
        Askable(key, str(label), kind, OWN_TOLERANCE.get(key) or TOLERANCES.get(kind) or "ratio", of)
        for key, (label, kind, of) in DERIVED.items()
    ]
    found += [_of_row(row) for row in parameters() if row.key == "speed" or "sweep" in row.uses]
    return {one.key: one for one in found}


def _of_row(row: Parameter) -> Askable:
    kind = row.quantity or COUNTS.get(row.key) or KINDS.get(row.unit, "number")
    tolerance = OWN_TOLERANCE.get(row.key) or TOLERANCES.get(kind) or "ratio"
    if row.owner == "result":
        return Askable(row.key, row.label, kind, tolerance, lambda job: _solved(job)[row.name])
    return Askable(row.key, row.label, kind, tolerance, lambda job: present(job, row))


def askable(name: str) -> Askable:
    """A quantity by its key, name or label; ValueError with the nearest ones."""
    wanted = door.casefolded(name)
    for one in askables().values():
        if wanted in (door.casefolded(one.key), door.casefolded(one.label), door.casefolded(str(of_table(one.label)))):
            return one
    known = {door.casefolded(word): one.label for one in askables().values() for word in (one.key, one.label)}
    near = list(dict.fromkeys(known[n] for n in difflib.get_close_matches(wanted, known, 4, 0.4)))
    if near:
        raise ValueError(
            _("there is no quantity {name}; did you mean {near}?", name=door.quoted(name), near=listed(near, "or"))
        )
    raise ValueError(
        _("there is no quantity {name}; there are {known}", name=door.quoted(name), known=", ".join(askables()))
    )


# --- a known mistake, as a quantity or a factor ------------------------------------------------------------

_FACTOR = re.compile(r"(.*?)\s*(?:([×*/:÷])|(?<![^\W_])x)\s*([\d.,]+(?:\s*/\s*\d+)?|π|pi)\s*", re.IGNORECASE)


class Slipped(NamedTuple):
    """A wrong way to the answer: another quantity (None: the right one), times a factor."""

    instead: Askable | None
    factor: float

    def value(self, asked: Askable, job: Operation, system: str) -> float:
        """What it gives, in tapkit's unit of what is asked; a quantity of another kind counts as its number."""
        if self.instead is None or self.instead.kind == asked.kind:
            return (self.instead or asked).value(job) * self.factor
        return self.instead.shown(job, system) * self.factor * unit_asked(asked.kind, system)[1]


def read_slip(text: str) -> Slipped:
    """A known mistake as it is written: "chamfer length", "× 2", "/ 2", "pitch × 0.5", "drill".

    >>> read_slip("/ 2").factor, read_slip("pitch × 3").instead.key
    (0.5, 'pitch')
    """
    found = _FACTOR.fullmatch(text.strip())
    if not found:
        return Slipped(askable(text), 1.0)
    name, sign, number = found.groups()
    factor = math.pi if number.lower() in ("π", "pi") else door.read_number(number)[0]
    if not factor:
        raise ValueError(_("a factor of 0 makes no mistake of its own; write one like '× 2' or '/ 2'"))
    return Slipped(askable(name) if name.strip() else None, 1 / factor if sign and sign in "/:÷" else factor)
