"""The door: text, quantities and bare numbers become floats in one unit; floats become text again.

Inside tapkit a length is a float in mm, a force in N, a stress in N/mm2, a torque in N·m, an angle in
degrees, a cutting speed in m/min. Only this module knows pint, and loads it only when it is needed.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

from tapkit import tables

MAX_TEXT = 120
"""Longer text is never a measurement; it is refused unread."""

UNIT = {
    "length": "mm",
    "angle": "deg",
    "speed": "m/min",
    "force": "N",
    "torque": "N*m",
    "area": "mm**2",
    "volume": "mm**3",
    "stress": "N/mm**2",
    "rotation": "rpm",
    "time": "s",
    "power": "W",
}
"""The one unit of each kind of quantity inside tapkit, as pint spells it."""

SPELLINGS: dict[str, dict[str, str]] = {}
for _row in tables.rows("unit_spellings"):
    SPELLINGS.setdefault(_row["kind"], {}).update(dict.fromkeys(_row["spellings"].split("|"), _row["unit"]))
"""What people write for a unit, in lower case, and pint's name for it, by kind of quantity."""

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
        "×": "x",
        "⁄": "/",
        "”": '"',
        "“": '"',
        "″": '"',
        "\u00a0": " ",
        "\u202f": " ",
        "\u2009": " ",
        "⋅": "·",
        "º": "°",
        "′": "'",
    }
)
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}


def plain(text: str) -> str:
    """Text with typographic minus, quotes, spaces and fractions in their plain spelling.

    >>> plain("−12°"), plain("6½")
    ('-12°', '6 1/2')
    """
    for sign, digits in _VULGAR.items():
        if sign in text:
            text = text.replace(sign, " " + digits)
    return text.translate(_SAME).strip()


def read_number(text: str) -> tuple[float, str]:
    """The number at the start of a text, and whatever stands after it.

    Reads whole numbers, decimal point or comma, fractions, mixed fractions and powers of ten; it never
    evaluates the text.

    Raises ValueError where no number can be read.

    >>> read_number("8,5 mm"), read_number('1 1/2"'), read_number("1.2e3"), read_number("-12°")
    ((8.5, 'mm'), (1.5, '"'), (1200.0, ''), (-12.0, '°'))
    """
    if len(text) > MAX_TEXT:
        raise ValueError(f"a text of {len(text)} characters is not a measurement; write a number and a unit")
    found = _NUMBER.match(plain(text))
    if not found:
        raise ValueError(f"cannot read {text!r} as a number; write it like 8.5, 8,5 or 1 1/2")
    if found["den"] is not None:
        if int(found["den"]) == 0:
            raise ValueError(f"{text!r} divides by zero; write a fraction like 1/4")
        value = int(found["whole"] or 0) + int(found["num"]) / int(found["den"])
    else:
        value = float(f"{found['dec'].replace(',', '.')}e{found['exp'] or 0}")
    return (-value if found["sign"] == "-" else value), (found["rest"] or "").strip()


@lru_cache(maxsize=1)
def registry() -> Any:
    """The one pint registry of tapkit, made on first use."""
    import pint

    return pint.UnitRegistry(cache_folder=None)


@lru_cache(maxsize=512)
def factor(unit: str, to: str) -> float:
    """How many `to` one `unit` is, by pint.

    >>> factor("inch", "mm")
    25.4
    """
    if unit == to:
        return 1.0
    if (unit, to) == ("inch", "mm"):
        return 25.4
    return float(registry().Quantity(1.0, unit).to(to).magnitude)


def kind_of_unit(word: str) -> tuple[str, str] | None:
    """The kind of quantity and pint's unit for a unit as people write it, or None.

    >>> kind_of_unit("IN."), kind_of_unit("N·m"), kind_of_unit("bananas")
    (('length', 'inch'), ('torque', 'N*m'), None)
    """
    word = " ".join(plain(word).lower().split())
    for kind, spellings in SPELLINGS.items():
        if word in spellings:
            return kind, spellings[word]
    return None


def read(value: Any, kind: str, *, bare: str | None = None) -> float:
    """A float in tapkit's unit of `kind` from a number, a text or a pint quantity.

    A bare number is taken in tapkit's own unit, or in `bare` (a unit as people write it) where given.

    Raises ValueError with one sentence that says what was read, what is wrong and what would be right.

    >>> read("1/4 in", "length"), read("8,5", "length"), read(12, "angle"), read("50 sfm", "speed")
    (6.35, 8.5, 12.0, 15.239999999999998)
    """
    own = UNIT[kind]
    if isinstance(value, str):
        number, word = read_number(value)
        word = word or bare or ""
    elif hasattr(value, "magnitude") and hasattr(value, "to"):
        return _from_quantity(value, kind)
    else:
        try:
            number, word = float(value), bare or ""
        except (TypeError, ValueError):
            raise ValueError(
                f"{value!r} is not a {kind}; give a number, a text like {example(kind)!r} or a quantity"
            ) from None
    if number != number or number in (float("inf"), float("-inf")):
        raise ValueError(f"{value!r} is not a {kind} one can measure; try {example(kind)!r}")
    if not word:
        return number
    found = kind_of_unit(word)
    if found is None:
        raise ValueError(f"cannot read the unit {word!r} in {str(value)!r}; try {example(kind)!r}")
    if found[0] != kind:
        raise ValueError(f"{str(value)!r} is a {found[0]}, and a {kind} is wanted; try {example(kind)!r}")
    return number * factor(found[1], own)


def _from_quantity(value: Any, kind: str) -> float:
    try:
        return float(value.to(UNIT[kind]).magnitude)
    except Exception:
        raise ValueError(f"{value} is not a {kind}; try {example(kind)!r}") from None


def example(kind: str) -> str:
    """A well-written example of a quantity of this kind, for messages."""
    return {
        "length": "8.5 mm",
        "angle": "12 deg",
        "speed": "10 m/min",
        "force": "120 N",
        "torque": "5 N·m",
        "area": "0.4 mm2",
        "volume": "60 mm3",
        "stress": "1400 N/mm2",
        "rotation": "400 rpm",
        "time": "3 s",
        "power": "90 W",
    }[kind]


def length(value: Any) -> float:
    """A length in mm from a number (mm), a text ("8.5 mm", "1/4 in") or a quantity."""
    return read(value, "length")


def angle(value: Any) -> float:
    """An angle in degrees from a number (degrees), a text ("12 deg", "−12°") or a quantity."""
    return read(value, "angle")


def speed(value: Any) -> float:
    """A cutting speed in m/min from a number (m/min), a text ("50 sfm") or a quantity."""
    return read(value, "speed")


SHOWN = {
    "metric": {
        "length": ("mm", "mm", 3),
        "area": ("mm**2", "mm²", 4),
        "volume": ("mm**3", "mm³", 1),
        "force": ("N", "N", 0),
        "torque": ("N*m", "N·m", 2),
        "stress": ("N/mm**2", "N/mm²", 0),
        "speed": ("m/min", "m/min", 1),
        "angle": ("deg", "°", 1),
        "rotation": ("rpm", "rpm", 0),
        "time": ("s", "s", 1),
        "power": ("W", "W", 0),
    },
    "inch": {
        "length": ("inch", "in", 4),
        "area": ("inch**2", "in²", 6),
        "volume": ("inch**3", "in³", 4),
        "force": ("lbf", "lbf", 1),
        "torque": ("lbf*inch", "in·lbf", 1),
        "stress": ("ksi", "ksi", 1),
        "speed": ("ft/min", "ft/min", 0),
        "angle": ("deg", "°", 1),
        "rotation": ("rpm", "rpm", 0),
        "time": ("s", "s", 1),
        "power": ("hp", "hp", 3),
    },
}
"""For each system of units and kind: pint's unit, how it is printed, and usual decimals."""


def convert(value: float, kind: str, system: str = "metric") -> float:
    """A value in tapkit's unit as a number in the unit shown by `system` ("metric" or "inch").

    >>> convert(25.4, "length", "inch")
    1.0
    """
    return value * factor(UNIT[kind], SHOWN[system][kind][0]) if system != "metric" else float(value)


def unit_label(kind: str, system: str = "metric") -> str:
    """The printed unit of a kind, "mm" or "in" for a length."""
    return SHOWN[system][kind][1]


def show_number(value: float, kind: str, system: str = "metric", *, decimals: int | None = None) -> str:
    """A value in tapkit's unit as a number in the unit of `system`, without that unit.

    >>> show_number(8.5, "length", "inch"), show_number(8.5, "length", decimals=2)
    ('0.3346', '8.50')
    """
    digits = SHOWN[system][kind][2] if decimals is None else decimals
    text = f"{convert(value, kind, system):.{digits}f}"
    if "." in text and decimals is None:
        text = text.rstrip("0").rstrip(".")
    return text.replace("-", "−") if float(text) else text.lstrip("-")


def with_unit(number: str, kind: str, system: str = "metric") -> str:
    """A printed number with the printed unit of its kind.

    >>> with_unit("8.5", "length"), with_unit("12", "angle")
    ('8.5 mm', '12°')
    """
    printed = unit_label(kind, system)
    return number + ("" if printed == "°" else " ") + printed


def show(value: float, kind: str, system: str = "metric", *, decimals: int | None = None) -> str:
    """A value in tapkit's unit as text with its unit.

    >>> show(8.5, "length"), show(8.5, "length", "inch"), show(-12, "angle")
    ('8.5 mm', '0.3346 in', '−12°')
    """
    return with_unit(show_number(value, kind, system, decimals=decimals), kind, system)


_WRITTEN = re.compile(r"([−-]?\d+(?:\.\d+)?)(?: to ([−-]?\d+(?:\.\d+)?))? (mm|N·m|N/mm2|m/min|N)(?![\w²³/·])")


def in_system(text: str, system: str) -> str:
    """A sentence whose metric quantities are said in the units of `system` instead.

    >>> in_system("a hole 8.5 mm wide needs 4 to 6 N·m", "inch")
    'a hole 0.335 in wide needs 35 to 53 in·lbf'
    """
    if system == "metric":
        return text
    kinds = {"mm": "length", "N·m": "torque", "N/mm2": "stress", "m/min": "speed", "N": "force"}

    def said(found: re.Match[str]) -> str:
        kind = kinds[found[3]]
        numbers = (convert(float(n.replace("−", "-")), kind, system) for n in found.groups()[:2] if n)
        shown = [f"{n:.3f}" if kind == "length" else f"{n:.3g}" if abs(n) < 10 else f"{n:.0f}" for n in numbers]
        return f"{' to '.join(shown).replace('-', '−')} {unit_label(kind, system)}"

    return _WRITTEN.sub(said, text)
