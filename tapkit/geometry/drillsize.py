"""Drill sizes: metric steps, inch fractions, numbers and letters, and reading their names.

The names and diameters are rows of the tables `drills_*`. A diameter is in mm.
"""

import re
from fractions import Fraction
from functools import cache, lru_cache
from typing import NamedTuple

from tapkit import door, tables, units
from tapkit.door import quoted, refusal
from tapkit.messages import BySystem, Number, Sentence, Span, _, length, listed, pgettext

SETS = ("metric", "metric 0.05", "fraction", "number", "letter")
"""The sets of drills tapkit knows."""

HINT = _("write it like {size}, #7, F or 27/64", size=BySystem("8.5 mm", ".201 in"))


class DrillSize(NamedTuple):
    """One drill: its `name` as the shop calls it, `diameter` [mm], and the `set` it belongs to.

    >>> drill_set("number")[6]
    DrillSize(name='#7', diameter=5.1054, set='number')
    """

    name: str
    diameter: float
    set: str

    def said(self, system: str = "metric") -> str:
        """Its name and what that is in the unit of a system; an inch drill is known by its inches everywhere.

        >>> drill_set("number")[6].said("inch"), read_size("8.5 mm").said("inch"), read_size("6.8").said()
        ('#7 (0.2010 in)', '8.5 mm (0.3346 in)', '6.8 mm')
        """
        inch, mm = length(self.diameter, inch_decimals=4), length(self.diameter, decimals=3)
        if self.set not in ("metric", "metric 0.05", "own"):
            if system == "inch":
                return _("{name} ({inch})", name=self.name, inch=inch.said("inch")).said(system)
            return _("{name} ({inch}, {mm})", name=self.name, inch=inch.said("inch"), mm=mm).said(system)
        return self.name if system == "metric" else _("{name} ({inch})", name=self.name, inch=inch).said(system)

    __str__ = said


INCH_SETS = ("fraction", "number", "letter")


def usual_sets(thread_system: str, system: str = "metric") -> tuple[str, ...]:
    """The sets of drills a shop takes for a thread of a system, where lengths are read in `system`: letter, number and
    fraction drills for unified threads, and for every thread where the shop works in inches.

    >>> usual_sets("metric"), usual_sets("metric", "inch")
    (('metric',), ('fraction', 'number', 'letter'))
    """
    return INCH_SETS if "inch" in (system, "inch" if thread_system == "unified" else "") else ("metric",)


@cache
def drill_set(name: str) -> tuple[DrillSize, ...]:
    """All drills of a set, metric and fraction from the smallest, number and letter in order of name.

    Raises ValueError for a set that is not one of `SETS`.

    >>> len(drill_set("letter")), drill_set("fraction")[26].name
    (26, '27/64')
    """
    if name in ("number", "letter"):
        rows = tables.rows(f"drills_{name}")
        return tuple(DrillSize(r["name"], round(25.4 * float(r["diameter_in"]), 6), name) for r in rows)
    if name == "fraction":
        return tuple(_fraction(Fraction(n, 64)) for row in tables.rows("drills_fraction") for n in _run64(row))
    if name in ("metric", "metric 0.05"):
        rows = (r for r in tables.rows("drills_metric") if r["set"] == name)
        return tuple(DrillSize(f"{d:g} mm", d, name) for row in rows for d in _run_mm(row))
    raise ValueError(_("there is no set of drills {name}; the sets are {sets}", name=quoted(name), sets=listed(SETS)))


def _run64(row: dict[str, str]) -> range:
    return range(int(row["from_64ths"]), int(row["to_64ths"]) + 1, int(row["step_64ths"]))


def _run_mm(row: dict[str, str]) -> list[float]:
    low, high, step = (float(row[k]) for k in ("from_mm", "to_mm", "step_mm"))
    return [round(low + i * step, 4) for i in range(round((high - low) / step) + 1)]


def _fraction(inch: Fraction) -> DrillSize:
    whole, rest = divmod(inch, 1)
    name = f"{whole} {rest}" if whole and rest else str(rest or f"{whole} in")
    return DrillSize(name, round(25.4 * float(inch), 6), "fraction")


_NUMBER = re.compile(r"(?:#|no\.?|nr\.?|number|wire)\s*(\d{1,3})", re.IGNORECASE)
_LETTER = re.compile(r"(?:letter\s*(?:drill\s*)?)?([a-z])", re.IGNORECASE)
_FRACTION = re.compile(r"(?:(\d+)[\s-]+)?(\d+)\s*/\s*(\d+)[\s-]*(?:\"|''|in\.?|inch|zoll)?", re.IGNORECASE)


_AROUND = (
    r"(?i)^\s*(?:(?:drill|bohrer|size|bohrung|kernloch)\b\s*)*(?:[øØ⌀]|dia\b\.?|d(?=\s*[\d.,]))?\s*"
    r"|\s*\b(?:drill|bohrer|dia\.?|hss|carbide)\s*$|\s*[øØ⌀]\s*$"
)
"""What stands around a drill's size and says nothing."""
LARGEST = 4 * 25.4
"""No larger drill [mm] is called by a fraction of an inch."""


def read_size(text: str, *, bare: str | None = None) -> DrillSize:
    """A drill from its name: a length, a number, a letter or an inch fraction.

    A bare fraction is in inches, as the shop has it; a bare decimal is in mm, or in `bare` (a unit as people
    write it). Raises ValueError, in one sentence, for a name that is no drill.

    >>> read_size("No. 7").diameter, read_size("f").name, read_size("27/64").name, read_size("6,8").name
    (5.1054, 'F', '27/64', '6.8 mm')
    """
    if not isinstance(text, str) or len(text) > 40:
        raise ValueError(_("a drill is named by a short text; {hint}", hint=HINT))
    word = size_alone(text)
    if found := _NUMBER.fullmatch(word):
        return _named(text, f"#{int(found[1])}", "number")
    if found := _LETTER.fullmatch(word):
        return _named(text, found[1].upper(), "letter")
    if found := _FRACTION.fullmatch(word):
        return _read_fraction(text, found)
    try:
        diameter = door.read(word, "length", bare=bare)
    except ValueError:
        raise ValueError(_("cannot read {text} as a drill; {hint}", text=quoted(text), hint=HINT)) from None
    if bare and door.kind_of_unit(bare) == ("length", "inch") and word[-1:].isdigit() and diameter > LARGEST:
        if re.fullmatch(r"\d{1,2}", word):
            told = dict(text=word, n=int(word))
            raise ValueError(_("{text} alone would be {text} inches; did you mean #{n} or {n} mm?", **told))
        raise ValueError(_("{text} alone would be {text} inches; did you mean {text} mm?", text=word))
    return _measured(text, diameter)


@lru_cache(maxsize=64)
def size_alone(text: str) -> str:
    """A drill's size without the words around it.

    >>> size_alone("drill ⌀ 8,5"), size_alone("#7 drill"), size_alone("D8.5")
    ('8,5', '#7', '8.5')
    """
    return re.sub(_AROUND, "", door.plain(text)).strip().removesuffix(".")


def is_inch_name(text: str) -> bool:
    """Whether a drill is called by a number, a letter or a bare fraction, as inch drills are.

    >>> is_inch_name("#7"), is_inch_name("27/64"), is_inch_name("8.5"), is_inch_name("27/64 in")
    (True, True, False, False)
    """
    word = size_alone(text)
    named = _NUMBER.fullmatch(word) or _LETTER.fullmatch(word)
    return bool(named or (_FRACTION.fullmatch(word) and word[-1].isdigit()))


def _named(text: str, name: str, which: str) -> DrillSize:
    for size in drill_set(which):
        if size.name == name:
            return size
    first, last = drill_set(which)[0].name, drill_set(which)[-1].name
    told = _("there is no {which} drill {text}; the {which} drills run from {first} to {last}")
    raise refusal(told, text, which=_set_word(which), first=first, last=last)


def _set_word(which: str) -> Sentence:
    return pgettext("drills", "number") if which == "number" else pgettext("drills", "letter")


def _read_fraction(text: str, found: re.Match[str]) -> DrillSize:
    whole, top, bottom = int(found[1] or 0), int(found[2]), int(found[3])
    if bottom == 0 or top == 0 or 64 % bottom:
        raise ValueError(_("{text} is no drill fraction; inch drills go by 1/64, like 27/64", text=quoted(text)))
    inch = whole + Fraction(top, bottom)
    if 25.4 * inch > LARGEST and door.plain(text)[-1:].isdigit():
        raise ValueError(
            _("{text} alone would be in inches; did you mean {n} mm?", text=quoted(text), n=Number(float(inch)))
        )
    return _measured(text, round(25.4 * float(inch), 6), _fraction(inch))


def _measured(text: str, diameter: float, size: DrillSize | None = None) -> DrillSize:
    if not 0.05 <= diameter <= 300:
        told = _("a drill of {text} is {diameter}, outside {range}; {hint}")
        raise refusal(told, text, diameter=length(diameter, digits=4), range=Span(0.05, 300.0, "length"), hint=HINT)
    return size or DrillSize(f"{diameter:.4g} mm", diameter, "own")


def read_drill(text: str, *, bare: str | None = None) -> float:
    """The diameter in mm of a drill named like `read_size` reads it.

    >>> read_drill("#7"), read_drill("I"), read_drill(".201 in")
    (5.1054, 6.9088, 5.1054)
    """
    return read_size(text, bare=bare).diameter


def drill_name(diameter: float, system: str = "metric") -> str:
    """The usual name of a drill of this diameter in mm: of the sets where it is one, else in the unit of `system`.

    >>> drill_name(5.1054), drill_name(8.5), drill_name(8.5, "inch"), drill_name(8.53, "inch")
    ('#7', '8.5 mm', '8.5 mm', '0.3358 in')
    """
    for which in ("metric", "number", "letter", "fraction"):
        for size in drill_set(which):
            if abs(size.diameter - diameter) < 5e-4:
                return size.name
    return str(units.show(diameter, "length", system)) if system == "inch" else f"{diameter:.4g} mm"
