"""Set-ups and values of a question of one's own: what varies, the jobs of all combinations, values in words."""

import difflib
import itertools
import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from tapkit import batch, door, setupline
from tapkit.geometry.fluteform import form_of
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Sentence, _, listed, of_table
from tapkit.operation import Operation
from tapkit.parameters import CHOICES, find, job_from, parameters
from tapkit.planning.drill import chart_drill
from tapkit.planning.press import PressPart

NAMES = ("set-up", "part", "scenario")
"""Names a sentence may use beside the keys of the table `parameters`."""
EXAMPLE = "chamfer = 2; 4; 8 | work = C45; AlCuMg1"


class InColumn(ValueError):  # noqa: N818 (its message is a sentence)
    """What is wrong in one column."""

    def __init__(self, column: str, error: Exception | Sentence) -> None:
        why = error.args[0] if isinstance(error, Exception) else error
        super().__init__(_("column {column}: {why}", column=door.quoted(column), why=why))


class Varied(NamedTuple):
    """One thing that varies: its `key`, the `values` in tapkit's units, and the `texts` they were written as."""

    key: str
    values: tuple[Any, ...]
    texts: tuple[str, ...]


@dataclass(frozen=True)
class OwnCase:
    """One combination: `values` by key of the table `parameters`, and the `part` where the set-up is of one."""

    values: tuple[tuple[str, Any], ...]
    part: PressPart | None = None

    @property
    def job(self) -> Operation:
        """The set-up. ValueError where it cannot be."""
        return job_from(dict(self.values))

    @property
    def system(self) -> str:
        """The units its thread is drawn in."""
        return "metric" if self.job.tap.thread.system == "metric" else "inch"

    def with_(self, key: str, value: Any) -> "OwnCase":
        """The case with one thing set. Another thread takes the drill of its wall chart."""
        values = dict(self.values) | {key: value}
        if key == "thread":
            values["hole"] = chart_drill(Thread.parse(value)).diameter
        return OwnCase(tuple(values.items()), self.part)

    def shown(self, key: str) -> Any:
        """What a name in a sentence stands for."""
        if key == "set-up":
            return setupline.Line(self.job, exact=False)
        if key in ("part", "scenario"):
            return of_table(getattr(self.part, "press" if key == "scenario" else "part", "")) or "–"
        values = dict(self.values)
        if key in values:
            return shown_value(key, values[key], in_text=True)
        row = find(key)
        owner = {"tap": self.job.tap, "hole": self.job.hole, "faults": self.job.faults}.get(row.owner, self.job)
        return shown_value(key, getattr(owner, row.name), in_text=True)


def shown_value(key: str, value: Any, *, in_text: bool = False) -> Any:
    """A value in words; a plain number has its unit behind it, not so where it stands in a text."""
    row = find(key)
    if key == "form":
        return of_table(form_of(value).printed)
    if key == "work":
        return of_table(value.printed if isinstance(value, Workpiece) else Workpiece.parse(value).printed)
    if key == "kind":
        return _("through") if value == "through" else _("blind")
    if key in CHOICES:
        return next((of_table(told) for known, told in CHOICES[key].options if known == value), value)
    if isinstance(value, float | int) and not isinstance(value, bool):
        number = row.shown(value)
        return number if in_text or row.quantity or not row.unit else _("{n} {unit}", n=number, unit=of_table(row.unit))
    return getattr(value, "designation", None) or str(value)


def name_of(text: str) -> str:
    """The key a name in braces stands for. ValueError with the nearest ones."""
    wanted = door.casefolded(text)
    known = {door.casefolded(name): name for name in NAMES}
    for one in parameters():
        if one.owner in ("tap", "hole", "faults", "job"):
            known |= {door.casefolded(word): one.key for word in (one.label, one.name, one.key)}
    if wanted not in known:
        near = [known[n] for n in difflib.get_close_matches(wanted, known, 3, 0.5)] or ["chamfer", "thread", "set-up"]
        told = listed([f"{{{n}}}" for n in dict.fromkeys(near)], "or")
        raise ValueError(_("there is nothing called {name}; write {near}", name=f"{{{text}}}", near=told))
    return known[wanted]


def varied_of(text: str, parts: Mapping[str, PressPart], system: str = "metric") -> Varied:
    """One thing and its values, "chamfer = 2; 4; 8". Raises ValueError with one sentence."""
    name, sign, told = text.partition("=")
    texts = tuple(filter(None, (part.strip() for part in told.split(";"))))
    if not sign or not texts:
        raise ValueError(
            _("cannot read {text}; write a thing, =, and its values, like {example}", text=text, example=EXAMPLE)
        )
    if door.casefolded(name) == "part":
        return Varied("part", _parts_named(texts, parts), texts)
    reader = batch.column_reader(name)
    if reader is None or reader.key == batch.TAP:
        raise ValueError(_("there is no {name} to set; write one like {example}", name=name.strip(), example=EXAMPLE))
    row, values = find(reader.key), []
    for one in texts:
        try:
            values.append(_value_of(row.key, one, reader.unit, system))
        except ValueError as error:
            raise ValueError(_("{value}: {why}", value=door.quoted(one), why=error.args[0])) from None
    return Varied(row.key, tuple(values), texts)


def _value_of(key: str, text: str, unit: str, system: str) -> Any:
    if key == "thread":
        return Thread.parse(text).designation
    if key == "form":
        return form_of(text.lower().replace(" ", "-")).key
    if key == "work":
        return Workpiece.parse(text).name
    if key == "kind":
        if text.lower() not in ("through", "blind"):
            raise ValueError(_("a hole is through or blind"))
        return text.lower()
    return find(key).read(f"{text} {unit}".strip(), system)


def _parts_named(texts: Sequence[str], parts: Mapping[str, PressPart]) -> tuple[str, ...]:
    if not parts:
        raise ValueError(_("there are no parts of your own; write them into a file parts.csv beside this one"))
    if [door.casefolded(one) for one in texts] == ["all"]:
        return tuple(parts)
    for one in texts:
        if one not in parts:
            known = listed(parts)
            raise ValueError(_("there is no part {part}; there are {known}", part=door.quoted(one), known=known))
    return tuple(texts)


def cases_of(
    cell: Callable[[str], str], parts: Mapping[str, PressPart], system: str | None, *, most: int
) -> tuple[tuple[Varied, ...], list[OwnCase]]:
    """What varies in a row, and its cases: every combination that can be. Raises ValueError that names the column."""
    varied = tuple(
        _told("varies", lambda one=one: varied_of(one, parts, system or "metric"))
        for one in filter(None, (part.strip() for part in cell("varies").split("|")))
    )
    if len({one.key for one in varied}) < len(varied):
        raise InColumn("varies", _("the same thing stands in it twice"))
    count = math.prod(len(one.values) for one in varied)
    if count > most:
        raise InColumn("varies", _("these are {count} combinations; {most} are the most", count=count, most=most))
    base = _base(cell("set-up"), parts, varied, system)
    found, first = [], None
    for values in itertools.product(*(one.values for one in varied)):
        try:
            case = base
            for one, value in sorted(zip(varied, values), key=lambda pair: pair[0].key not in ("part", "thread")):
                case = of_part(parts[value]) if one.key == "part" else case.with_(one.key, value)  # type: ignore
            case.job  # noqa: B018 (raises where it cannot be)
            found.append(case)
        except ValueError as error:
            first = first or error
    if not found:
        raise InColumn("varies" if varied else "set-up", first or _("nothing can be asked"))
    return varied, found  # type: ignore[return-value]


def _base(text: str, parts: Mapping[str, PressPart], varied: Sequence[Varied], system: str | None) -> OwnCase | None:
    if not text and any(one.key == "part" for one in varied):
        return None
    if text in parts:
        return _told("set-up", lambda: of_part(parts[text]))
    if not text:
        raise InColumn("set-up", _("it is empty; write one like {example}", example=setupline.EXAMPLE))
    return _told("set-up", lambda: OwnCase(tuple(setupline.values(text, system or "metric").items())))


def of_part(part: PressPart) -> OwnCase:
    """The case of a part, with the tap and drill it gets in the course."""
    job = part.operation()
    return OwnCase(tuple(setupline.values(setupline.line(job)).items()), part)


def _told(column: str, read: Callable[[], Any]) -> Any:
    try:
        return read()
    except ValueError as error:
        raise InColumn(column, error) from None


# --- parts of one's own -----------------------------------------------------------------------------------

PART_HEADS = ("part", "scenario", "thread", "hole", "depth", "metal")
_METAL = re.compile(r"metal|work(piece)?")


def part_of(cells: Mapping[str, str]) -> PressPart:
    """A part of one's own from a row: part, scenario, thread, hole (through or blind), depth, metal.

    `depth` is the thickness of a through part, or the full thread wanted in a blind hole. ValueError names the column.
    """
    row = {door.casefolded(head): cell.strip() for head, cell in cells.items()}
    row["metal"] = next((cell for head, cell in row.items() if _METAL.fullmatch(head)), "")
    if not row.get("part"):
        raise InColumn("part", _("the part has no name; write one, like 'base plate'"))
    thread = _told("thread", lambda: Thread.parse(row.get("thread", "")))
    hole = row.get("hole", "").lower()
    if hole not in ("through", "blind"):
        raise InColumn("hole", _("{text} is neither through nor blind", text=door.quoted(row.get("hole", ""))))
    system = "metric" if thread.system == "metric" else "inch"
    depth = _told("depth", lambda: door.length(row.get("depth", ""), system))
    if not 0 < depth < 1000:
        raise InColumn("depth", _("write the depth of the thread, like '15 mm'"))
    metal = _told("metal", lambda: Workpiece.parse(row["metal"]))
    made = PressPart(row["part"], row.get("scenario", ""), thread, hole, depth, metal, is_own=True)
    _told("depth", made.operation)
    return made
