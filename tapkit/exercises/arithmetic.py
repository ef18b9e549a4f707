"""A pocket calculator for printed formulas: "4 × 1.5", "8.5 / 2 / tan 59°", "π × 10", "tan⁻¹(0.45 / 6)".

A worked step is computed from its numbers as they are printed, so that who follows it with a calculator gets what
stands there, digit by digit.
"""

import math
import re
from collections.abc import Mapping
from typing import Any, NamedTuple

from tapkit.messages import said

_TOKEN = re.compile(r"\s*(\d+(?:\.\d*)?|tan⁻¹|tan|sin|cos|[π()×/+−√²³^°])")
_FUNCTIONS = {
    "tan⁻¹": lambda x: math.degrees(math.atan(x)),
    "tan": lambda x: math.tan(math.radians(x)),
    "sin": lambda x: math.sin(math.radians(x)),
    "cos": lambda x: math.cos(math.radians(x)),
    "√": math.sqrt,
}


def computed(formula: str) -> float:
    """The value of a formula in printed signs, angles in degrees.

    Raises ValueError where the formula holds anything else.

    >>> computed("(10 − 8.5) / 2"), round(computed("8.5 / 2 / tan 59°"), 4), computed("2² × √9")
    (0.75, 2.5537, 12.0)
    """
    tokens, at = [], 0
    while at < len(formula.rstrip()):
        found = _TOKEN.match(formula, at)
        if not found:
            raise ValueError(f"cannot compute {formula!r} at {formula[at : at + 10]!r}")
        at = found.end()
        tokens += [found[1]] if found[1] != "°" else []
    value = _sum(tokens)
    if tokens:
        raise ValueError(f"cannot compute {formula!r}: {tokens[0]!r} is left over")
    return value


def _sum(tokens: list[str]) -> float:
    value = _product(tokens)
    while tokens and tokens[0] in "+−":
        value += _product(tokens) if tokens.pop(0) == "+" else -_product(tokens)
    return value


def _product(tokens: list[str]) -> float:
    value = _power(tokens)
    while tokens and tokens[0] in "×/":
        value = value * _power(tokens) if tokens.pop(0) == "×" else value / _power(tokens)
    return value


def _power(tokens: list[str]) -> float:
    if tokens and tokens[0] == "−":
        tokens.pop(0)
        return -_power(tokens)
    value = _atom(tokens)
    while tokens and tokens[0] in "²³^":
        sign = tokens.pop(0)
        value **= {"²": 2.0, "³": 3.0}[sign] if sign != "^" else _atom(tokens)
    return value


def _atom(tokens: list[str]) -> float:
    first = tokens.pop(0) if tokens else "nothing"
    if first == "π":
        return math.pi
    if first == "(":
        value = _sum(tokens)
        if not tokens or tokens.pop(0) != ")":
            raise ValueError("a bracket is not closed")
        return value
    if first in _FUNCTIONS:
        return _FUNCTIONS[first](_power(tokens) if first != "√" else _atom(tokens))
    return float(first)


class Formula(NamedTuple):
    """A formula in printed signs with the numbers put in."""

    signs: str
    given: Mapping[str, Any]

    def said(self, system: str = "metric") -> str:
        """The formula in the units of a system."""
        return self.signs.format(**{k: _bracketed(said(v, system)) for k, v in self.given.items()})

    def value(self, system: str = "metric") -> float:
        """What a calculator gives for it, from its numbers as they are printed."""
        return computed(self.signs.format(**{k: _bracketed(_bare(v, system)) for k, v in self.given.items()}))


def _bare(thing: Any, system: str) -> str:
    """A quantity's number alone, as it is printed."""
    return thing.number(system) if hasattr(thing, "number") else said(thing, system)


def _bracketed(number: str) -> str:
    return f"({number})" if number.startswith("−") else number
