"""The door: what people write becomes floats in tapkit's units, or one sentence says why it cannot.

A number may have a decimal point or comma, be a fraction or a mixed one, and bear a unit. A bare number is in the unit
of the system that was chosen; one that would have to be guessed is asked about. Units beyond those of the trade (the
table `unit_spellings`) are looked up by pint, which only this module knows and loads only then.
"""

import math
import re
from functools import cache, lru_cache
from typing import Any

from tapkit import tables, units
from tapkit.messages import Sentence, _, of_table

MAX_TEXT = 120
"""Longer text is never a measurement; it is refused unread."""

SPELLINGS: dict[str, dict[str, str]] = {}
for _row in tables.rows("unit_spellings"):
    SPELLINGS.setdefault(_row["kind"], {}).update(dict.fromkeys(_row["spellings"].split("|"), _row["unit"]))
"""What people write for a unit, in lower case, and the unit's name in `units.FACTOR`, by kind of quantity."""

KIND = {kind: of_table(row["words"]) for kind, row in units.KINDS.items()}
"""What a kind of quantity is called in a sentence."""

_DIGITS = r"(?:\d+(?:[.,]\d*)?|[.,]\d+)"
_NUMBER = re.compile(
    rf"""\s*(?P<sign>[+-]?)\s*
    (?:(?:(?P<whole>\d+)[\s-]+)?(?P<num>\d+)\s*/\s*(?P<den>\d+)
     |(?P<dec>{_DIGITS})(?:e(?P<exp>[+-]?\d{{1,3}}))?)
    \s*(?P<rest>[^\d].*)?$""",
    re.VERBOSE | re.DOTALL | re.IGNORECASE,
)
_SAME = str.maketrans(
    {
        "−": "-",
        "–": "-",
        "—": "-",
        "‑": "-",
        "×": "x",
        "⁄": "/",
        "″": '"',
        "′": "'",
        "⋅": "·",
        "º": "°",
        "✕": "x",
        "✖": "x",
        "∅": "⌀",
    }
    | dict.fromkeys("”“„", '"')
    | dict.fromkeys("‘’", "'")
    | dict(zip("МΜмхХ", "MMmxX"))  # as a Russian or Greek keyboard has them
    | {0xFEE0 + n: chr(n) for n in range(ord("A"), ord("z") + 1)}  # as wide as an ideograph
    | dict.fromkeys("\u00a0\u202f\u2009", " ")
)
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}


def plain(text: str) -> str:
    """Text with typographic minus, quotes, spaces and fractions in their plain spelling.

    >>> plain("−12°"), plain("6½")
    ('-12°', '6 1/2')
    """
    if text.isascii():
        return text.strip()
    for sign, digits in _VULGAR.items():
        if sign in text:
            text = text.replace(sign, " " + digits)
    return text.translate(_SAME).strip()


def casefolded(name: str) -> str:
    """A name as it is compared: small letters, single spaces, no hyphens."""
    return " ".join(re.sub(r"[-_]", " ", name.lower()).split())


def quoted(value: Any) -> str:
    """What was read, in quotes and on one line, shortened where it is long."""
    shown = repr(value)
    return shown if len(shown) <= MAX_TEXT + 20 else shown[:MAX_TEXT] + "…"


def refusal(sentence: Sentence, read: Any, **values: Any) -> ValueError:
    """The error that says what was read, {text} in a sentence, and what is wrong with it.

    >>> str(refusal(_("{text} is no size; try {example}"), "x", example="M10"))
    "'x' is no size; try M10"
    """
    return ValueError(sentence.of(text=quoted(read), **values))


@lru_cache(maxsize=64)
def _match(text: str) -> re.Match[str]:
    if len(text) > MAX_TEXT:
        raise ValueError(_("a text of {n} characters is not a measurement; write a number and a unit", n=len(text)))
    found = _NUMBER.match(plain(text))
    if not found:
        raise ValueError(_("cannot read {text} as a number; write it like 8.5, 8,5 or 1 1/2", text=quoted(text)))
    return found


def read_number(text: str) -> tuple[float, str]:
    """The number at the start of a text, and whatever stands after it.

    Reads whole numbers, decimal point or comma, fractions, mixed fractions and powers of ten; it never
    evaluates the text.

    Raises ValueError where no number can be read.

    >>> read_number("8,5 mm"), read_number('1 1/2"'), read_number("1.2e3"), read_number("-12°")
    ((8.5, 'mm'), (1.5, '"'), (1200.0, ''), (-12.0, '°'))
    """
    found = _match(text)
    if found["den"] is not None:
        if int(found["den"]) == 0:
            raise ValueError(_("{text} divides by zero; write a fraction like 1/4", text=quoted(text)))
        value = int(found["whole"] or 0) + int(found["num"]) / int(found["den"])
    else:
        value = float(f"{found['dec'].replace(',', '.')}e{found['exp'] or 0}")
    if not math.isfinite(value):
        raise ValueError(_("{text} is too large a number to measure; write it like 8.5", text=quoted(text)))
    return (-value if found["sign"] == "-" else value), (found["rest"] or "").strip()


def is_bare_fraction(text: str) -> bool:
    """Whether a text is a fraction without a unit, as inch sizes are written.

    >>> is_bare_fraction("1 1/2"), is_bare_fraction("1/4 in"), is_bare_fraction("0.5")
    (True, False, False)
    """
    found = _match(text)
    return found["den"] is not None and not found["rest"]


# --- units --------------------------------------------------------------------------------------------


@lru_cache(maxsize=512)
def kind_of_unit(word: str) -> tuple[str, str] | None:
    """The kind of quantity and the name of the unit for a unit of the trade as people write it, or None.

    >>> kind_of_unit("IN."), kind_of_unit("N·m"), kind_of_unit("bananas")
    (('length', 'inch'), ('torque', 'N*m'), None)
    """
    word = " ".join(plain(word).lower().split())
    for written in (word, word.removesuffix(".")):
        for kind, spellings in SPELLINGS.items():
            if written in spellings:
                return kind, spellings[written]
    return None


@lru_cache(maxsize=1)
def registry() -> Any:
    """The one pint registry of tapkit, made on first use."""
    import pint

    return pint.UnitRegistry(cache_folder=None)


_FOREIGN = re.compile(r"[a-zA-Zµμ]{1,24}(?:\s?[·*/]\s?[a-zA-Zµμ]{1,24})?(?:\s?(?:\^|\*\*)?\s?[23²³])?")


@cache
def _own_dimension(kind: str) -> Any:
    return registry().Quantity(1.0, units.UNIT[kind])


@lru_cache(maxsize=512)
def _foreign(word: str, kind: str) -> float | None:
    """How many of tapkit's unit of `kind` one unit known to pint alone is; None where it knows no such one."""
    text = plain(word)
    if not _FOREIGN.fullmatch(text):
        return None
    try:
        unit = registry().Quantity(1.0, text.replace("·", "*").replace("²", "**2").replace("³", "**3"))
        if unit.dimensionality != _own_dimension(kind).dimensionality or not unit._is_multiplicative:
            return None
        return float(unit.to(units.UNIT[kind]).magnitude)
    except Exception:
        return None


def _unit_factor(word: str, kind: str, text: str, system: str) -> float:
    found = kind_of_unit(word)
    if found and found[0] == kind:
        return units.factor(found[1], units.UNIT[kind])
    if found:
        raise ValueError(
            _(
                "{text} is {found}, and {wanted} is wanted; try {example}",
                text=text,
                found=KIND[found[0]],
                wanted=KIND[kind],
                example=example(kind, system),
            )
        )
    foreign = _foreign(word, kind) if kind not in ("angle", "rotation") else None
    if foreign is None:
        raise ValueError(
            _(
                "cannot read the unit {unit} in {text}; try {example}",
                unit=quoted(word),
                text=text,
                example=example(kind, system),
            )
        )
    return foreign


# --- quantities ---------------------------------------------------------------------------------------


def read(value: Any, kind: str, *, bare: str | None = None, system: str = "metric") -> float:
    """A float in tapkit's unit of `kind` from a number, a text or a pint quantity.

    A bare number is taken in the unit of `system`, or in `bare` (a unit as people write it) where given. A bare
    fraction is an inch size: among metric lengths it is asked about.

    Raises ValueError with one sentence that says what was read, what is wrong and what would be right.

    >>> read("1/4 in", "length"), read("8,5", "length"), read(12, "angle"), read("50 sfm", "speed")
    (6.35, 8.5, 12.0, 15.24)
    """
    if hasattr(value, "magnitude") and hasattr(value, "to"):
        return _from_quantity(value, kind, system)
    bare = bare or units.unit_label(kind, system)
    if isinstance(value, str):
        number, word = read_number(value)
        if kind == "length" and bare == "mm" and not word and is_bare_fraction(value):
            raise _which_unit(value)
        _ask_of_comma_and_span(value, word, kind, system)
    else:
        number, word = _plain_number(value, kind, system), ""
    factor = _unit_factor(word or bare, kind, quoted(value), system)
    if factor != 1:  # to the digits a float keeps: 2.125 in is 53.975 mm, as 2 1/8 in is
        number = float(f"{number * factor:.15g}")
    if not math.isfinite(number) or (number < 0 and units.KINDS[kind]["signed"] == "no"):
        told = _("{text} is not {wanted} one can measure; try {example}")
        raise refusal(told, value, wanted=KIND[kind], example=example(kind, system))
    return number


def _ask_of_comma_and_span(text: str, word: str, kind: str, system: str) -> None:
    """ValueError where a comma may part thousands, "1,000 sfm", and where two numbers are written, "10-12 m/min"."""
    if re.match(r"(?:-|to\b|bis\b|\.\.)\s*\d", word):
        told = dict(text=quoted(text), example=example(kind, system))
        raise ValueError(_("{text} are two numbers, and one is wanted; write it like {example}", **told))
    found = re.match(r"\s*([1-9]\d{0,2}),(\d{3})(?!\d)", text)
    if found and kind in ("speed", "rotation", "stress", "force", "power"):
        told = dict(text=quoted(text), many=found[1] + found[2], few=f"{found[1]}.{found[2]}")
        raise ValueError(_("{text} may be {many} or {few}; write which, without the comma", **told))


def _plain_number(value: Any, kind: str, system: str) -> float:
    try:
        return float(value)
    except (TypeError, ValueError, OverflowError):
        told = _("{text} is not {wanted}; give a number, a text like {example} or a quantity")
        raise refusal(told, value, wanted=KIND[kind], example=example(kind, system)) from None


def _which_unit(text: str) -> ValueError:
    number = text.strip()
    told = _("{text} bears no unit: is it in inches or in mm? Write '{number} in' or '{number} mm'")
    return refusal(told, text, number=number)


def _from_quantity(value: Any, kind: str, system: str) -> float:
    try:
        return float(value.to(units.UNIT[kind]).magnitude)
    except Exception:
        raise ValueError(
            _("{text} is not {wanted}; try {example}", text=value, wanted=KIND[kind], example=example(kind, system))
        ) from None


def example(kind: str, system: str = "metric") -> Sentence:
    """A well-written example of a quantity of this kind, in quotes, for messages.

    >>> str(example("length")), str(example("torque", "inch"))
    ("'8.5 mm'", "'45 in·lbf'")
    """
    row, inch = units.KINDS[kind], system == "inch"
    value, decimals = float(row["inch_example" if inch else "example"]), int(row["inch_example_decimals"])
    shown = units.show(value, kind, system, decimals=decimals if inch else None)
    return _("'{example}'", example=shown)


def length(value: Any, system: str = "metric") -> float:
    """A length in mm from a number (of the system), a text ("8.5 mm", "1/4 in") or a quantity."""
    return read(value, "length", system=system)


def angle(value: Any, system: str = "metric") -> float:
    """An angle in degrees from a number (degrees), a text ("12 deg", "−12°") or a quantity."""
    return read(value, "angle", system=system)
