"""Two jobs side by side: what was put in, what comes out, and what differs. Pure; tables as text, CSV and JSON."""

import csv
import io
import json
import math
from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from tapkit import units
from tapkit.mechanics import gauges
from tapkit.messages import Number, Quantity, Sentence, _, angle, length, of_table, rough_depth, said
from tapkit.operation import Operation
from tapkit.parameters import CHOICES, Parameter, owner_of, parameters


class ComparedLine(NamedTuple):
    """One line of a comparison: a `label`, the values of the jobs (numbers in tapkit's unit, or words), the `kind`
    of quantity (as in `units`) or None, and how many `decimals` where there is no kind."""

    label: Sentence
    values: tuple[Any, ...]
    kind: str | None
    decimals: int

    @property
    def differs(self) -> bool:
        """Whether the jobs differ here by more than rounding."""
        first, *rest = self.values
        if not isinstance(first, float | int):
            return any(v != first for v in rest)
        return any(not math.isclose(v, first, rel_tol=1e-9, abs_tol=1e-12) for v in rest)

    def shown(self, system: str = "metric") -> tuple[str, ...]:
        """The values as text with their unit, all to as many decimals as the one that needs most."""
        return tuple(_text(v, self.kind, self._decimals(system), system) for v in self.values)

    def _decimals(self, system: str) -> int:
        if not self.kind:
            return self.decimals
        numbers = (v for v in self.values if isinstance(v, float | int) and math.isfinite(v))
        shown = (units.show_number(v, self.kind, system) for v in numbers)
        return max((len(number.partition(".")[2]) for number in shown), default=0)

    def change(self) -> Sentence | str:
        """What the second job has against the first, "▲ 12 %", or nothing where both are alike."""
        if len(self.values) < 2 or not self.differs:
            return ""
        first, second = self.values[:2]
        if not isinstance(first, float | int):
            return _("◆ other")
        sign = "▲" if second > first else "▼"
        if self.kind == "angle":
            return _("{sign} {change}", sign=sign, change=angle(abs(second - first)))
        if first == 0 or first * second < 0 or not math.isfinite(first + second):
            return sign
        share = 100 * (second / first - 1)
        if abs(share) < 0.5:
            return _("{sign} under 1 %", sign=sign)
        return _("{sign} {change} %", sign=sign, change=Number(abs(share), decimals=0))


def _text(value: Any, kind: str | None, decimals: int, system: str) -> str:
    if not isinstance(value, float | int):
        return said(value, system)
    if not math.isfinite(value):
        return said(_("no limit"))
    if kind == "torque":  # no more than is known
        return said(Quantity(value, kind, digits=3), system)
    return said(Quantity(value, kind, decimals, decimals) if kind else Number(value, decimals=decimals), system)


Getter = Callable[[Operation], Any]


def _input(one: Parameter) -> tuple[Sentence, str | None, int, Getter]:
    """A parameter as a line of what goes in."""
    label = of_table(one.label)
    if one.unit:
        label = _("{label}, {unit}", label=label, unit=of_table(one.unit))
    return label, one.quantity, 0 if one.is_whole else 2, lambda job: _value(one, job)


WORDS: dict[str, Callable[[Operation], Any]] = {
    "form": lambda job: of_table(job.tap.form.name(job.tap.thread.hand)),
    "kind": lambda job: _("through hole") if job.hole.is_through else _("blind hole"),
}
"""What a job has, in words, by the key of its parameter."""


def _value(one: Parameter, job: Operation) -> Any:
    """A number, or the words of what a job has."""
    if one.key in WORDS:
        return WORDS[one.key](job)
    value = getattr(owner_of(job, one), one.name)
    if one.key in CHOICES:
        return next((of_table(told) for known, told in CHOICES[one.key].options if known == value), value)
    if isinstance(value, frozenset):
        return ", ".join(str(n) for n in sorted(value)) or _("none")
    if hasattr(value, "printed"):
        return of_table(value.printed)
    return getattr(value, "designation", value)


INPUTS: tuple[tuple[Sentence, str | None, int, Getter], ...] = tuple(_input(p) for p in parameters() if p.group)
"""What goes in: label, kind, decimals, and how to read it from a job."""


def _may_pack(job: Operation) -> Sentence:
    tight, loose = job.chip_room.packs_at, job.chip_room.may_pack_at
    if tight is not None:
        return _("packs at {depth}", depth=length(tight, decimals=1))
    if loose is not None:
        return _("loose chips may pack at {depth}", depth=length(loose, decimals=1))
    return _("does not pack")


def _jams(job: Operation) -> Sentence:
    at = job.expected_torque.open_from
    return _("no") if at is None else _("from {depth}", depth=rough_depth(at))


GAUGE = {gauges.IN: _("goes in"), gauges.PERHAPS: _("may go in"), gauges.OUT: _("stays out")}
"""What a thread gauge does, in words."""

RESULTS: tuple[tuple[Sentence, str | None, int, Getter], ...] = (
    (_("Chamfer, US word"), None, 0, lambda j: of_table(j.tap.chamfer_name)),
    (_("Chamfer angle"), "angle", 1, lambda j: j.edge_angles["chamfer_angle"]),
    (_("Percent of thread, handbook custom"), None, 0, lambda j: j.tap.thread.percent(j.hole.diameter)),
    (_("Teeth that cut"), None, 0, lambda j: int((j.tooth_loads.area > 0).sum())),
    (_("Teeth that rub"), None, 0, lambda j: int(j.tooth_loads.rubbing.sum())),
    (_("Largest force on a tooth"), "force", 0, lambda j: float(j.tooth_loads.force.max(initial=0))),
    (_("Largest chip area"), "area", 4, lambda j: float(j.tooth_loads.area.max(initial=0))),
    (_("Thickest chip"), "length", 4, lambda j: float(j.tooth_loads.thickness.max(initial=0))),
    (_("Largest torque to expect, low end"), "torque", 2, lambda j: j.expected_torque.peak[0]),
    (_("Largest torque to expect, high end"), "torque", 2, lambda j: j.expected_torque.peak[1]),
    (_("Chips jam, and torque has no upper end"), None, 0, _jams),
    (_("Sum of the tooth forces alone, as torque"), "torque", 2, lambda j: j.torque_curve.peak),
    (_("Torque to turn it back out, least"), "torque", 2, lambda j: j.expected_torque.going_back[0]),
    (_("Torque to turn it back out, most"), "torque", 2, lambda j: j.expected_torque.going_back[1]),
    (_("Torque at breakage (assumed strength), least"), "torque", 1, lambda j: j.breakage.torque_range[0]),
    (_("Torque at breakage (assumed strength), most"), "torque", 1, lambda j: j.breakage.torque_range[1]),
    (_("Margin, least"), None, 1, lambda j: j.breakage.margin_range[0]),
    (_("Margin, most"), None, 1, lambda j: j.breakage.margin_range[1]),
    (_("Stress in the core by torque"), "stress_per_torque", 1, lambda j: j.section.stress_per_torque),
    (_("Inclination of the edge"), "angle", 1, lambda j: j.chip_flow.inclination),
    (_("Normal rake"), "angle", 1, lambda j: j.chip_flow.normal_rake),
    (_("Chips go"), None, 0, lambda j: of_table(j.chip_flow.direction)),
    (_("Chip room"), None, 0, _may_pack),
    (_("GO gauge"), None, 0, lambda j: GAUGE[j.gauges.go]),
    (_("NO-GO gauge"), None, 0, lambda j: GAUGE[j.gauges.no_go]),
)
"""What comes out, in the same form."""


def lines(jobs: Sequence[Operation], what: str = "results") -> tuple[ComparedLine, ...]:
    """Lines of a comparison of one job or more: "inputs" or "results".

    >>> a = Operation.parse("M10 spiral-point plug", "through 8.5 x 15")
    >>> b = Operation.parse("M10 straight bottoming", "through 8.5 x 15")
    >>> [str(line.change()) for line in lines([a, b]) if str(line.label) == "Teeth that cut"]
    ['▼ 58 %']
    """
    rows = {"inputs": INPUTS, "results": RESULTS}[what]
    return tuple(
        ComparedLine(label, tuple(read(job) for job in jobs), kind, decimals) for label, kind, decimals, read in rows
    )


def differing(jobs: Sequence[Operation], what: str = "inputs") -> tuple[ComparedLine, ...]:
    """Only the lines in which the jobs differ."""
    return tuple(line for line in lines(jobs, what) if line.differs)


def as_csv(jobs: dict[str, Operation], system: str = "metric") -> str:
    """Inputs and results as CSV: plain numbers, the unit in a column of its own, one column a job by its name."""
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(["part", "quantity", "unit", *jobs])
    for what in ("inputs", "results"):
        for line in lines(list(jobs.values()), what):
            unit = units.unit_label(line.kind, system) if line.kind else ""
            writer.writerow([what, said(line.label), unit, *(_plain(v, line.kind, system) for v in line.values)])
    return file.getvalue()


def _plain(value: Any, kind: str | None, system: str) -> Any:
    if kind:
        return round(units.convert(value, kind, system), 9)
    return value if isinstance(value, float | int) else said(value, system)


def as_json(jobs: dict[str, Operation]) -> str:
    """Inputs and results as JSON; numbers in the unit written beside them, metric."""
    data: dict[str, Any] = {}
    for name, job in jobs.items():
        data[name] = {what: _as_data(job, what) for what in ("inputs", "results")}
        data[name]["cautions"] = [said(c) for c in job.cautions]
    return json.dumps(data, indent=2, ensure_ascii=False) + "\n"


def _as_data(job: Operation, what: str) -> dict[str, Any]:
    out = {}
    for line in lines([job], what):
        value = line.values[0]
        if isinstance(value, float) and not math.isfinite(value):
            value = None
        plain = _plain(value, None, "metric") if value is not None else None
        out[said(line.label)] = {"value": plain, "unit": units.unit_label(line.kind)} if line.kind else plain
    return out
