"""What one may change about a job, and read from it: each described once, in the table `parameters`.

The options of the report, the controls of the panels, the bench and the sweeps of what-if are made from these rows; a
new parameter is a row, and a field of the tap, the hole, the faults or the job that has a use for it.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, NamedTuple

from tapkit import door, tables, units
from tapkit.geometry import proportions
from tapkit.geometry.drillsize import read_size
from tapkit.geometry.fluteform import FLUTE_FORMS, form_for, form_of
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.tapname import chamfer_length
from tapkit.geometry.thread import Thread
from tapkit.mechanics import chiproom, expected, feed, gauges
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.toothload import Faults
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Number, Quantity, _, listed
from tapkit.operation import Operation


class Basis(NamedTuple):
    """What ranges and usual values rest on: thread, flute form (None where it follows from the axial rake), axial
    rake [deg], flutes, and the workpiece by name (None where none is told)."""

    thread: Thread
    form: str | None = None
    axial_rake: float = 0.0
    flutes: int = 3
    work: str | None = None

    @property
    def metal(self) -> Workpiece | None:
        return Workpiece.parse(self.work) if self.work else None

    @property
    def cut_form(self) -> str:
        """The flute form, also where only the axial rake says which."""
        return self.form or form_for(self.axial_rake)

    @classmethod
    def of(cls, values: Mapping[str, Any]) -> "Basis":
        """The basis of values by key; what names no flute form, such as "the model's choice", leaves it open."""
        found = {k: values[k] for k in ("form", "axial_rake", "flutes", "work") if values.get(k) is not None}
        if found.get("form") not in FLUTE_FORMS:
            found.pop("form", None)
        return cls(_thread(values.get("thread", "M10x1.5")), **found)

    @classmethod
    def of_job(cls, job: Operation) -> "Basis":
        """The basis of a job."""
        return cls(job.tap.thread, job.tap.flute_form, job.tap.axial_rake, job.tap.flutes, job.workpiece.name)


@cache
def _thread(text: str) -> Thread:
    return Thread.parse(text)


class Usual(NamedTuple):
    """A rule for a usual value: the keys it rests on, and the rule."""

    keys: tuple[str, ...]
    rule: Callable[[Basis], float]


USUAL = {
    "flutes": Usual(("thread", "form"), lambda b: proportions.usual_flutes(b.thread, b.cut_form)),
    "axial_rake": Usual(("form", "work"), lambda b: proportions.usual_axial_rake(b.form or "spiral-point", b.metal)),
    "radial_rake": Usual(("work",), lambda b: proportions.usual_radial_rake(b.metal)),
    "core": Usual(
        ("thread", "form", "flutes"), lambda b: proportions.usual_core(b.thread, b.cut_form, round(b.flutes))
    ),
    "land": Usual(("thread", "flutes"), lambda b: proportions.usual_land(b.thread, round(b.flutes))),
    "point_diameter": Usual(("thread",), lambda b: b.thread.major - proportions.POINT_ALLOWANCE * b.thread.pitch),
}
"""Usual values by the key of their parameter."""


class Choices(NamedTuple):
    """What a "choice" can be: values with their words, the usual one first, and how one is read."""

    options: tuple[tuple[str, str], ...]
    read: Callable[[str], str]


CHOICES = {
    "fluid": Choices(
        tuple((f, expected.fluid(f).printed) for f in expected.fluids()), lambda t: expected.fluid(t).name
    ),
    "holder": Choices(tuple((h, feed.holder(h).printed) for h in feed.holders()), lambda t: feed.holder(t).name),
    "tap_class": Choices((("", "usual"), *((c, c) for c in gauges.class_names())), str.strip),
}
"""Choices that are options of the report, by key."""


def _chip_form(text: str) -> str:
    form = " ".join(door.plain(text).lower().split())
    if form not in chiproom.FORMS:
        raise ValueError(
            _("there are no chips {form}; they are {known}", form=form, known=listed(chiproom.FORMS, "or"))
        )
    return form


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter:
    """One row: `key` in panels and options, `owner` and `name` of the field, `label` and `help` in words, `kind` of
    quantity with the `unit` where it has none of its own, `low`, `high` and `start` as written in the table, `step` in
    tapkit's unit and `inch_step` in inch units, `group` on the bench, `uses`, and the spellings in a set-up `line`."""

    key: str
    owner: str
    name: str
    label: str
    help: str
    kind: str
    unit: str
    low: str
    high: str
    start: str
    step: float
    inch_step: float
    group: str
    uses: tuple[str, ...]
    line: tuple[str, ...] = ()

    @property
    def quantity(self) -> str | None:
        """The kind of quantity as `units` knows it, or None for a plain number."""
        kind = "length" if self.kind == "drill" else self.kind
        return kind if kind in units.UNIT else None

    @property
    def is_number(self) -> bool:
        """Whether it has a range, and is not picked from a list."""
        return self.kind != "choice"

    @property
    def is_whole(self) -> bool:
        """Whether it counts things."""
        return self.kind == "count"

    @property
    def rests_on(self) -> tuple[str, ...]:
        """Keys of the parameters whose change sets range and value anew. Another metal leaves a tap that was chosen."""
        told = " ".join((self.low, self.high, self.start))
        keys = [*(["thread"] if re.search(r"\b[DP]\b", told) else []), *(["form"] if "form" in told else [])]
        found = dict.fromkeys([*keys, *(USUAL[self.key].keys if self.start == "usual" else ())])
        return tuple(key for key in found if key != "work")

    def range(self, basis: Basis) -> tuple[float, float]:
        """Least and most worth trying."""
        return self._limit(self.low, basis, 0), self._limit(self.high, basis, 1)

    def usual(self, basis: Basis) -> float:
        """The value it has where nothing is said."""
        if self.start == "assumed":
            return assumption(self.name).value
        value = USUAL[self.key].rule(basis) if self.start == "usual" else measured(self.start, basis.thread)
        return round(value) if self.is_whole else value

    def _limit(self, text: str, basis: Basis, end: int) -> float:
        if text == "assumed":
            row = assumption(self.name)
            return (row.low, row.high)[end]
        if text == "form":
            return float(form_rakes(basis.form)[end])
        return measured(text, basis.thread)

    def unit_in(self, system: str = "metric") -> str:
        """The unit as printed, "" for none."""
        return units.unit_label(self.quantity, system) if self.quantity else self.unit

    def shown(self, value: float) -> Quantity | Number:
        """A value to stand in a sentence."""
        return Quantity(value, self.quantity) if self.quantity else Number(value, digits=6)

    def read(self, text: str, system: str = "metric") -> Any:
        """The value a person has written, in tapkit's unit; ValueError with one sentence."""
        if self.kind == "choice":
            return _chip_form(text) if self.key == "chip_form" else CHOICES[self.key].read(text)
        if self.kind == "lengths":
            return tuple(door.length(part, system) for part in text.split("/"))
        if self.kind == "drill":
            return read_size(text, bare=units.unit_label("length", system)).diameter
        if self.kind == "chamfer":
            return chamfer_length(text)
        if self.quantity:
            return door.read(text, self.quantity, system=system)
        value, rest = door.read_number(text)
        if rest and rest.lower() not in (self.unit.lower(), self.unit.lower().rstrip("s")):
            raise ValueError(_("{rest} after the number is not wanted; write a plain number", rest=door.quoted(rest)))
        if self.is_whole and value != round(value):
            raise ValueError(_("{value} is not a whole number", value=Number(value)))
        return round(value) if self.is_whole else value


def form_rakes(form: str | None) -> tuple[float, float]:
    """Least and most axial rake worth trying [deg]; of all forms an axial rake alone can mean where form is None."""
    ends = [form_of(f).axial_rakes for f in ([form] if form else {form_for(-1), form_for(1)})]
    return min(e[0] for e in ends), max(e[1] for e in ends)


def measured(text: str, thread: Thread) -> float:
    """A sum of numbers and of shares of major diameter D and pitch P [mm].

    >>> measured("D - 1.6 P", Thread.parse("M10x1.5")), measured("-20", Thread.parse("M6"))
    (7.6, -20.0)
    """
    total = 0.0
    for sign, number, of in re.findall(r"([+-]?)\s*(\d*\.?\d*)\s*([DP]?)", text):
        if number or of:
            total += float(sign + (number or "1")) * {"D": thread.major, "P": thread.pitch, "": 1.0}[of]
    return round(total, 9)


@cache
def parameters() -> tuple[Parameter, ...]:
    """Every row of the table, in its order."""
    return tuple(_from_row(dict(row)) for row in tables.rows("parameters"))


def _from_row(row: dict[str, Any]) -> Parameter:
    row.pop("source")
    step = float(row.pop("step") or 0)
    row |= dict(step=step, inch_step=float(row["inch_step"] or step), uses=tuple(row["uses"].split()))
    row["line"] = tuple(row["line"].split("|")) if row["line"] else ()
    return Parameter(**row)


def find(name: str, *owners: str) -> Parameter:
    """A parameter by its key, or by its name in the model, among those of some owners; ValueError with those there are.

    >>> find("chamfer").name, find("core_diameter").key
    ('chamfer_threads', 'core')
    """
    known = [p for p in parameters() if not owners or p.owner in owners]
    for one in known:
        if one.key == name:
            return one
    for one in known:
        if one.name == name:
            return one
    raise ValueError(
        _(
            "there is no parameter {name}; there are {known}",
            name=door.quoted(name),
            known=", ".join(p.key for p in known),
        )
    )


def used_in(use: str) -> tuple[Parameter, ...]:
    """The parameters of a use: "report" or "sweep"."""
    return tuple(p for p in parameters() if use in p.uses)


def groups() -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Titles of the groups on the bench and the keys in them."""
    titles = dict.fromkeys(p.group for p in parameters() if p.group)
    return tuple((title, tuple(p.key for p in parameters() if p.group == title)) for title in titles)


# --- values by key, and the job they stand for ------------------------------------------------------------


def job_from(values: Mapping[str, Any], **fixed: Any) -> Operation:
    """The job that values by key stand for; `fixed` fields of the job come first, what is not said is usual.

    Raises ValueError with one sentence for what cannot be.
    """
    job, faults = fields(values, "job"), fields(values, "faults")
    work = Workpiece.parse(job.pop("workpiece", "C45"))
    made = tap_from(values, work)
    d, p = made.thread.major, made.thread.pitch
    hole = Hole(**{"kind": "through", "depth": d, "diameter": d - p} | fields(values, "hole"))
    lost = faults.pop("missing_teeth", ())
    faulty = Faults(**faults, missing_teeth=frozenset([lost] if isinstance(lost, (int, float)) else lost) - {0})
    return Operation(**{"tap": made, "hole": hole, "workpiece": work, "faults": faulty} | job | fixed)


def tap_from(values: Mapping[str, Any], metal: Workpiece | None = None) -> Tap:
    """The tap that values by key stand for; what is not said is usual, for a metal where one is given."""
    tap = fields(values, "tap")
    form = tap.pop("flute_form", None) or form_for(tap.get("axial_rake", 0.0))
    return Tap.make(tap.pop("thread"), form, tap.pop("chamfer_threads", "plug"), metal=metal, **tap)


def fields(values: Mapping[str, Any], owner: str) -> dict[str, Any]:
    """The fields of one owner among values by key."""
    names = _names(owner)
    return {names[key]: value for key, value in values.items() if key in names}


@cache
def _names(owner: str) -> dict[str, str]:
    return {p.key: p.name for p in parameters() if p.owner == owner}


def owner_of(job: Operation, what: Parameter) -> Any:
    """The part of a job that has the field."""
    return {"tap": job.tap, "hole": job.hole, "faults": job.faults, "job": job}[what.owner]


def present(job: Operation, what: Parameter) -> float:
    """The job's own value of a number."""
    return float(getattr(owner_of(job, what), what.name))


def sweep_range(what: Parameter, jobs: Iterable[Operation]) -> tuple[float, float]:
    """The range over which a parameter is swept for some jobs: all that is worth trying for any of them."""
    ends = [what.range(Basis.of_job(job)) for job in jobs]
    low, high = min(e[0] for e in ends), max(e[1] for e in ends)
    return low, high if high > low else low + 1


def changed(job: Operation, changes: Iterable[tuple[Parameter, float]]) -> Operation:
    """The job with some parameters set. A tap keeps its flute form."""
    parts: dict[str, dict[str, Any]] = {"tap": {}, "hole": {}, "faults": {}, "job": {}}
    for what, value in changes:
        whole = what.is_whole and float(value).is_integer()
        parts[what.owner][what.name] = int(value) if whole else float(value)
    for owner in ("tap", "hole", "faults"):
        if parts[owner]:
            parts["job"][owner] = replace(getattr(job, owner), **parts[owner])
    return job.with_(**parts["job"])
