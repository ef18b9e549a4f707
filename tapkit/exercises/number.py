"""A number with its unit as an answer: what is right, what is near, and which known mistake gave it.

Values here are in the unit asked (mm or inch, N·m or in·lbf …), the unit of a bare number.
"""

import math
import re
from dataclasses import dataclass
from functools import cache, cached_property
from typing import NamedTuple

from tapkit import door, tables, units
from tapkit.exercises import answer
from tapkit.exercises.tolerance import Tolerance, tolerance
from tapkit.exercises.verdict import CLOSE, MISTAKE, WRONG, WRONG_KIND, Verdict, cannot_read, not_attempted, right
from tapkit.messages import Sentence, _, localized_number, ngettext, of_table, said

APART = 2.0
"""A known mistake must lie this many tolerances from the right answer and from the other mistakes."""

COUNTED = ("count",)
"""Tolerances of whole numbers, where a power of ten is no slip of the decimal point."""

NAMING = {"tooth number": _("Not this tooth. Look again."), "flute number": _("Not this flute. Look again.")}
"""Kinds where a number names a thing: nothing is too large or too small."""


class Slip(NamedTuple):
    """A known mistake with this variant's numbers: its name, the value it gives, the sentence that teaches."""

    name: str
    value: float
    says: Sentence


@dataclass(frozen=True)
class NumberAsked:
    """A number asked with a unit.

    `value` in tapkit's own unit of `kind` (a kind of `units.UNIT` or of the table `answer_units`);
    `tolerance` by name; `system` "metric" or "inch", in whose unit the question asks; `mistakes` known ones,
    their values in tapkit's own unit; `sign_says` the sentence for the wrong sign; `printed` the right value as a
    calculator gives it from the numbers printed before it, in the unit asked.
    """

    value: float
    kind: str
    tolerance: str
    system: str = "metric"
    mistakes: tuple[Slip, ...] = ()
    sign_says: Sentence = _("The size is right, the sign is not. Say again which way counts as positive.")  # noqa: RUF009
    printed: float | None = None

    @property
    def unit(self) -> str:
        """The unit asked, as printed."""
        return said(of_table(unit_asked(self.kind, self.system)[0]))

    @cached_property
    def own(self) -> float:
        """How many of tapkit's own unit one unit asked is."""
        return unit_asked(self.kind, self.system)[1]

    @cached_property
    def right(self) -> float:
        """The right value in the unit asked."""
        return self.value / self.own

    @property
    def rule(self) -> Tolerance:
        """The row of the tolerance table."""
        return tolerance(self.tolerance)

    def band(self, value: float) -> float:
        """Half width of the tolerance about a value, in the unit asked."""
        return self.rule.band(value, self.system)

    @property
    def how(self) -> Sentence:
        if self.kind in _HOWS:
            return _HOWS[self.kind]
        if self.tolerance in COUNTED:
            return _("Answer with a number of {unit}.", unit=self.unit)
        written = {"°": _("Answer in degrees (°)."), "in": _("Answer in inches (in).")}
        return written.get(self.unit) or _("Answer in {unit}.", unit=self.unit)

    def number(self, system: str = "metric", value: float | None = None) -> str:
        """The right value or another in the unit asked, without it, with as many digits as the tolerance needs and
        four at least."""
        shown = value if value is not None else self.right if self.printed is None else self.printed
        digits = math.ceil(-math.log10(self.band(shown)) - 1e-9)
        leading = math.floor(math.log10(abs(shown))) if shown else 0
        number = f"{shown:.{min(max(digits, 3 - leading, 0), 6)}f}"
        number = number.rstrip("0").rstrip(".") if "." in number else number
        return localized_number("0" if float(number) == 0 else number.replace("-", "−"))

    def text(self, value: float | None = None) -> str:
        """The right value or another in the unit asked, as one types it."""
        return self.number(value=value) + ("" if self.unit in ("°", "") else " ") + self.unit

    def said(self, system: str = "metric") -> str:
        """The right value, for a worked solution; it stays in the unit asked."""
        return self.text()

    @property
    def right_text(self) -> str:
        return self.text()

    def judge(self, text: object) -> Verdict:
        """The verdict on an answer as typed; checks in the order readable, unit, slip, sign, size."""
        if answer.is_empty(text):
            return not_attempted()
        try:
            read = answer.read_measurement(text, self.kind)
        except answer.ReadingError as error:
            return cannot_read(error)
        if (read.kind, self.kind) == ("percent", "times"):
            read = read._replace(kind="times", factor=0.01)
        if read.kind not in (None, self.kind):
            return Verdict(WRONG_KIND, self._wrong_kind(read), "wrong-unit")
        scale = 1.0 if read.factor is None else read.factor / self.own
        given = [read.value * scale] + ([read.also * scale] if read.also is not None else [])
        verdicts = [self.judge_value(v) for v in given]
        verdict = next((v for v in verdicts if v.is_right), verdicts[0])
        mixed = abs(scale - 1) > 1e-6 and abs(read.value - self.right) <= self.band(self.right)
        if not verdict.is_right and mixed:
            says = _(
                "The number fits, its unit does not: you wrote {typed}, not {unit}.", typed=read.unit, unit=self.unit
            )
            return Verdict(MISTAKE, says, "unit-mixed")
        return verdict

    def _wrong_kind(self, read: answer.Reading) -> Sentence:
        if read.kind == "threads" and self.kind == "length":
            return _(
                "You count threads. The question asks for a length in {unit}: threads times pitch.", unit=self.unit
            )
        return _(
            "{typed} is a unit of {kind}. The question asks for {asked}, in {unit}.",
            typed=answer.typed_shown(read.unit),
            kind=noun(read.kind),
            asked=noun(self.kind),
            unit=self.unit,
        )

    def judge_value(self, given: float) -> Verdict:
        """The verdict on a value in the unit asked."""
        if abs(given - self.right) <= self.band(self.right) * (1 + 1e-9):
            return right()
        return self._slip(given) or self._size(given)

    def _slip(self, given: float) -> Verdict | None:
        """A shifted decimal point, inch taken for mm, or the wrong sign."""
        if abs(self.right) <= self.band(0.0) or given == 0 or self.kind in NAMING:
            return None
        near = min(self.band(self.right), 0.03 * abs(self.right))
        other = other_unit(self.kind, self.system)
        if other and abs(given * other[1] - self.right) <= near:
            name = "inch-for-mm" if self.system == "metric" else "mm-for-inch"
            says = _(
                "Your number would be right with the unit {other}. The question asks for {unit}.",
                other=other[0],
                unit=self.unit,
            )
            return Verdict(MISTAKE, says, name)
        if self.tolerance not in COUNTED:
            power = round(math.log10(abs(self.right / given)))
            if power and abs(given * 10.0**power - self.right) <= near:
                says = ngettext(
                    "The digits fit, but the decimal point is one place off.",
                    "The digits fit, but the decimal point is {count} places off.",
                    abs(power),
                )
                return Verdict(MISTAKE, says, "decimal-point")
        if abs(given + self.right) <= self.band(self.right):
            return Verdict(MISTAKE, self.sign_says, "sign")
        return None

    def _size(self, given: float) -> Verdict:
        for slip in self.mistakes:
            at = slip.value / self.own
            if abs(given - at) <= self.band(at) * (1 + 1e-9):
                return Verdict(MISTAKE, slip.says, slip.name)
        if self.kind in NAMING:
            return Verdict(WRONG, NAMING[self.kind])
        off = abs(given - self.right)
        if off <= self.rule.close * self.band(self.right) and self.rule.close > 1:
            return Verdict(CLOSE, of_table(self.rule.close_says), partly=0.5)
        return Verdict(WRONG, _("This is too large.") if given > self.right else _("This is too small."))

    @cached_property
    def is_apart(self) -> bool:
        """Whether every known mistake can be told from the right answer and from the others."""
        at = [m.value / self.own for m in self.mistakes]
        for i, (slip, value) in enumerate(zip(self.mistakes, at)):
            others = [self.right, *at[:i], *at[i + 1 :]]
            if any(abs(value - o) <= APART * max(self.band(value), self.band(o)) for o in others):
                return False
            if self.judge_value(value).mistake != slip.name:
                return False
        return True


@cache
def unit_asked(kind: str, system: str) -> tuple[str, float]:
    """The printed unit of a kind in a system, and how many of tapkit's own unit it is.

    >>> unit_asked("length", "inch"), unit_asked("feed", "metric")
    (('in', 25.4), ('mm/min', 1.0))
    """
    if kind in units.UNIT:
        return units.unit_label(kind, system), units.factor(units.SHOWN[system][kind][0], units.UNIT[kind])
    rows = [r for r in tables.rows("answer_units") if r["kind"] == kind]
    if not rows:
        raise ValueError(_("there is no kind of quantity {kind}", kind=kind))
    row = next((r for r in rows if system == "inch" and float(r["factor"]) == 25.4), rows[0])
    return row["label"], float(row["factor"])


@cache
def other_unit(kind: str, system: str) -> tuple[str, float] | None:
    """The unit the other system uses and how many of this system's unit it is; None where they agree."""
    label, own = unit_asked(kind, system)
    there, factor = unit_asked(kind, "inch" if system == "metric" else "metric")
    return None if there == label else (there, factor / own)


_HOWS = {
    "number": _("Answer with a number."),
    "times": _("Answer with how many times as much."),
    "tooth number": _("Answer with the number of the tooth."),
    "flute number": _("Answer with the number of the flute."),
}

_NOUNS = door.KIND | {row["kind"]: of_table(row["words"]) for row in tables.rows("answer_units")}


def noun(kind: str) -> Sentence:
    """A kind of quantity in words, with its article.

    >>> str(noun("torque"))
    'a torque'
    """
    return _NOUNS[kind]


def holds(words: str, number: NumberAsked) -> bool:
    """Whether a number within the tolerance stands in a text."""
    return any(is_answer(found, number) for found in NUMBER.findall(words))


NUMBER = re.compile(r"(?<![\w.,/])[−-]?\d+(?:\.\d+)?(?![\w/]|\.\d)")
"""A number as it stands in a text."""


def is_answer(text: str, number: NumberAsked) -> bool:
    """Whether a number as printed is the right answer, within the tolerance."""
    band = min(number.band(number.right), 0.02 * abs(number.right) + 1e-12)
    return abs(abs(float(text.replace("−", "-"))) - abs(number.right)) <= band
