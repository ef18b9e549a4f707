"""Sentences with named quantities; their language and system of units are chosen at the edge.

The convention is gettext's, with the English in place: `_("a hole {hole} wide", hole=length(8.5))` and
`ngettext("{count} thread", "{count} threads", n)`. Both make a `Sentence`, which is said when it is shown:
`said(sentence, "inch")`. Babel extracts the messages; a catalogue in `tapkit/locale/LANGUAGE/LC_MESSAGES/tapkit.mo`
translates them. A sentence is never glued from pieces: whatever varies is a named value.
"""

import gettext as _gettext
import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from tapkit import units

CATALOGUES = Path(__file__).parent / "locale"
LANGUAGE_VARIABLE = "TAPKIT_LANGUAGE"


# --- the language -----------------------------------------------------------------------------------

_catalogue: _gettext.NullTranslations | None = None


def catalogue() -> _gettext.NullTranslations:
    """The catalogue in use: that of `use`, else of the variable TAPKIT_LANGUAGE, else the English in place."""
    global _catalogue
    if _catalogue is None:
        use(os.environ.get(LANGUAGE_VARIABLE, ""))
    return _catalogue  # type: ignore[return-value]


def use(language: str | _gettext.NullTranslations) -> None:
    """Take a language's catalogue ("" is the English in place), or a catalogue itself."""
    global _catalogue
    if isinstance(language, str):
        languages = [language] if language else []
        language = _gettext.translation("tapkit", CATALOGUES, languages=languages, fallback=True)
    _catalogue = language


def language_in_use() -> str:
    """The code of that language, as a page names it."""
    return catalogue().info().get("language", "en")


@contextmanager
def english() -> Iterator[None]:
    """Says the English in place for a while, whatever the language in use: for what must not change with it."""
    kept = catalogue()
    use(_gettext.NullTranslations())
    try:
        yield
    finally:
        use(kept)


# --- quantities -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value in tapkit's unit of its kind (`units.UNIT`). `decimals` in metric, `inch_decimals` in inch units, the
    usual ones of the kind where None; `digits` instead asks for significant digits in both.

    >>> q = Quantity(8.5, "length")
    >>> q.said(), q.said("inch"), Quantity(38.753, "torque", digits=2).said()
    ('8.5 mm', '0.3346 in', '39 N·m')
    """

    value: float
    kind: str
    decimals: int | None = None
    inch_decimals: int | None = None
    digits: int | None = None

    def number(self, system: str = "metric") -> str:
        """The number alone, without its unit."""
        if self.digits is not None:
            return localized_number(significant(units.convert(self.value, self.kind, system), self.digits))
        decimals = self.decimals if system == "metric" else self.inch_decimals
        return localized_number(units.show_number(self.value, self.kind, system, decimals=decimals))

    def said(self, system: str = "metric") -> str:
        return units.with_unit(self.number(system), self.kind, system)

    __str__ = said


@dataclass(frozen=True, slots=True)
class Span:
    """A range of a quantity, "4 to 6 N·m"; one value where both ends are printed alike.

    >>> Span(4.2, 6.1, "torque", digits=1).said(), Span(8, 12, "angle").said()
    ('4 to 6 N·m', '8° to 12°')
    """

    low: float
    high: float
    kind: str
    decimals: int | None = None
    inch_decimals: int | None = None
    digits: int | None = None

    def said(self, system: str = "metric") -> str:
        ends = [Quantity(v, self.kind, self.decimals, self.inch_decimals, self.digits) for v in (self.low, self.high)]
        low, high = (end.number(system) for end in ends)
        if low == high:
            return ends[0].said(system)
        if self.kind == "angle":
            low = ends[0].said(system)
        return _("{low} to {high}", low=low, high=ends[1].said(system)).said(system)

    __str__ = said


@dataclass(frozen=True, slots=True)
class Unit:
    """The printed unit of a kind of quantity, to stand beside a column or an axis.

    >>> Unit("torque").said(), Unit("torque").said("inch")
    ('N·m', 'in·lbf')
    """

    kind: str

    def said(self, system: str = "metric") -> str:
        return units.unit_label(self.kind, system)

    __str__ = said


@dataclass(frozen=True, slots=True)
class BySystem:
    """One thing for each system of units, such as an example: what a reader in that system would write.

    >>> BySystem("8.5 mm", "#7").said("inch")
    '#7'
    """

    metric: Any
    inch: Any

    def said(self, system: str = "metric") -> str:
        return said(self.inch if system == "inch" else self.metric, system)

    __str__ = said


@dataclass(frozen=True, slots=True)
class Number:
    """A number without a unit: `digits` significant ones, or `decimals`.

    >>> Number(1.5).said(), Number(0.66667, digits=2).said(), Number(-4.0, decimals=1).said()
    ('1.5', '0.67', '−4.0')
    """

    value: float
    digits: int = 3
    decimals: int | None = None

    def said(self, system: str = "metric") -> str:
        if self.decimals is not None:
            return localized_number(f"{units.half_up(self.value):.{self.decimals}f}".replace("-", "−"))
        return localized_number(significant(self.value, self.digits))

    __str__ = said


length = partial(Quantity, kind="length")
"""A length [mm] to stand in a sentence."""
angle = partial(Quantity, kind="angle")
"""An angle [deg] to stand in a sentence."""
torque = partial(Quantity, kind="torque")
"""A torque [N·m] to stand in a sentence."""
force = partial(Quantity, kind="force")
"""A force [N] to stand in a sentence."""
stress = partial(Quantity, kind="stress")
"""A stress [N/mm2] to stand in a sentence."""
speed = partial(Quantity, kind="speed")
"""A cutting speed [m/min] to stand in a sentence."""


def rough_depth(value: Any) -> Quantity:
    """A depth as far as it can be told, in tenths of a millimetre [mm]."""
    return length(value, decimals=1, inch_decimals=2)


def significant(value: float, digits: int) -> str:
    """A number to some significant digits, without power of ten and without trailing zeros.

    >>> significant(1234.5, 2), significant(0.04567, 2), significant(-8.50, 3), significant(1.1, 6)
    ('1230', '0.046', '−8.5', '1.1')
    """
    if not abs(value) < 1e15 or value == 0:
        return "0" if value == 0 else f"{value:g}".replace("-", "−")
    value = units.half_up(value)
    places = max(digits, len(f"{abs(value):.0f}") - 1 if abs(value) >= 1 else 0)
    mantissa, exponent = f"{value:.{places - 1}e}".split("e")
    text = f"{float(f'{mantissa}e{exponent}'):.{max(0, places - 1 - int(exponent))}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.replace("-", "−")


def localized_number(number: str) -> str:
    """A number with the decimal mark of the language (the message "." in the context "decimal mark")."""
    mark = catalogue().pgettext("decimal mark", ".")
    return number if mark == "." else number.replace(".", mark)


# --- sentences --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Sentence:
    """A message and its named values, not said yet. `plural` and `count` where the number decides the form."""

    message: str
    values: tuple[tuple[str, Any], ...] = ()
    plural: str | None = None
    count: int | None = None
    context: str | None = None

    def said(self, system: str = "metric") -> str:
        """The sentence in the language in use and the units of `system`."""
        words = catalogue()
        if self.plural is not None:
            text = words.ngettext(self.message, self.plural, self.count)  # type: ignore[arg-type]
        elif self.context is not None:
            text = words.pgettext(self.context, self.message)
        else:
            text = words.gettext(self.message)
        return text.format(**{key: said(value, system) for key, value in self.values}) if self.values else text

    def of(self, **values: Any) -> "Sentence":
        """The same message with these values."""
        return replace(self, values=_checked(values))

    def __str__(self) -> str:
        return self.said()

    def __contains__(self, part: str) -> bool:
        return part in self.said()


def _(message: str, /, **values: Any) -> Sentence:
    """A sentence with named values: texts, whole numbers, quantities, other sentences. A bare float is refused: it
    knows no unit.

    >>> _("a hole {hole} wide needs {torque}", hole=length(8.5), torque=Span(4, 6, "torque")).said("inch")
    'a hole 0.3346 in wide needs 35.4 to 53.1 in·lbf'
    """
    return Sentence(message, _checked(values))


def ngettext(singular: str, plural: str, count: int, /, **values: Any) -> Sentence:
    """A sentence whose form follows a number, which stands in it as {count}.

    >>> [str(ngettext("{count} thread", "{count} threads", n)) for n in (1, 4)]
    ['1 thread', '4 threads']
    """
    return Sentence(singular, _checked({"count": count} | values), plural, count)


def pgettext(context: str, message: str, /, **values: Any) -> Sentence:
    """A sentence or word that means another thing elsewhere, with the context that says which."""
    return Sentence(message, _checked(values), context=context)


def of_table(text: str) -> Sentence | str:
    """A text of a table (extracted from the CSV) to be said in the language in use; "" stays "".

    The braces of such a text are its own; give values with `_`.
    """
    if not isinstance(text, str):
        raise TypeError(f"{text!r} is no text of a table")
    return Sentence(text) if text else ""


def _checked(values: dict[str, Any]) -> tuple[tuple[str, Any], ...]:
    for key, value in values.items():
        if isinstance(value, float) and not value.is_integer():
            raise TypeError(f"the value {key}={value!r} of a sentence has no unit; give a Quantity or a Number")
    return tuple(values.items())


def threads_of(chamfer: float, **look: Any) -> Sentence:
    """A length of chamfer in threads; `look` as of a `Number`.

    >>> str(threads_of(1)), str(threads_of(2.5))
    ('1 thread', '2.5 threads')
    """
    number = Number(chamfer, **look)
    return ngettext("{n} thread", "{n} threads", 1 if number.said() == "1" else 2, n=number)


def turns_of(turns: float, **look: Any) -> Sentence:
    """How many turns; `look` as of a `Number`.

    >>> str(turns_of(1)), str(turns_of(1, decimals=1))
    ('1 turn', '1.0 turns')
    """
    number = Number(turns, **look)
    return ngettext("{n} turn", "{n} turns", 1 if number.said() == "1" else 2, n=number)


def listed(things: Iterable[Any], joined: str = "and") -> "Listed":
    """Things in a row, the last joined by "and" or "or".

    >>> str(listed(["a", "b", "c"])), str(listed(["a", "b"], "or"))
    ('a, b and c', 'a or b')
    """
    return Listed(tuple(things), joined)


@dataclass(frozen=True, slots=True)
class Listed:
    """Things in a row; see `listed`."""

    things: tuple[Any, ...]
    joined: str = "and"

    def said(self, system: str = "metric") -> str:
        words = [said(thing, system) for thing in self.things]
        if len(words) < 2:
            return "".join(words)
        before = _("{before}, {next}")
        text = words[0]
        for word in words[1:-1]:
            text = Sentence(before.message, (("before", text), ("next", word))).said(system)
        if self.joined == "or":
            return _("{before} or {last}", before=text, last=words[-1]).said(system)
        return _("{before} and {last}", before=text, last=words[-1]).said(system)

    __str__ = said


@dataclass(frozen=True, slots=True)
class Text:
    """Whole sentences one after another; see `text`."""

    parts: tuple[Any, ...]

    def said(self, system: str = "metric") -> str:
        return " ".join(said(part, system) for part in self.parts)

    __str__ = said

    def __contains__(self, part: str) -> bool:
        return part in self.said()


@dataclass(frozen=True, slots=True)
class Capital:
    """A phrase as a sentence begins with it."""

    phrase: Any

    def said(self, system: str = "metric") -> str:
        words = said(self.phrase, system)
        return words[:1].upper() + words[1:]

    __str__ = said


def text(*parts: Any) -> Text:
    """Whole sentences one after another; None and "" are left out.

    >>> str(text(_("It fits."), None, _("It will not break.")))
    'It fits. It will not break.'
    """
    return Text(tuple(part for part in parts if part))


def said(thing: Any, system: str = "metric") -> str:
    """Anything as text in a system of units: sentences, quantities, errors that carry a sentence, plain texts.

    >>> said(ValueError(_("a hole {hole} wide", hole=length(8.5))), "inch"), said(4.0)
    ('a hole 0.3346 in wide', '4')
    """
    if isinstance(thing, BaseException):
        return said(thing.args[0], system) if len(thing.args) == 1 else str(thing)
    if hasattr(thing, "said"):
        return thing.said(system)
    return f"{thing:g}" if isinstance(thing, float) else str(thing)
