"""Units: the kinds of quantity, their units, conversion, and showing a number with its unit.

Inside tapkit a length is a float in mm, a force in N, a stress in N/mm2, a torque in N·m, an angle in
degrees, a cutting speed in m/min. What people write is read in `tapkit.door`.
"""

from tapkit import tables

SYSTEMS = ("metric", "inch")

KINDS = {row["kind"]: row for row in tables.rows("quantities")}
"""The rows of the kinds of quantity."""

UNIT = {kind: row["unit"] for kind, row in KINDS.items()}
"""The one unit of each kind of quantity inside tapkit."""

FACTOR: dict[str, float] = {row["unit"]: float(row["factor"]) for row in tables.rows("unit_spellings")}
"""How many of tapkit's own unit of its kind one unit is."""


def factor(unit: str, to: str) -> float:
    """How many `to` one `unit` is; both units of one kind, as the table `unit_spellings` names them.

    >>> factor("inch", "mm"), factor("mm", "mm")
    (25.4, 1.0)
    """
    return FACTOR[unit] / FACTOR[to]


SHOWN = {
    system: {
        kind: (row[f"{prefix}unit"], row[f"{prefix}label"], int(row[f"{prefix}decimals"] or -1))
        for kind, row in KINDS.items()
    }
    for system, prefix in zip(SYSTEMS, ("", "inch_"))
}
"""For each system of units and kind: the unit, how it is printed, and usual decimals (-1: 3 significant digits)."""


def convert(value: float, kind: str, system: str = "metric") -> float:
    """A value in tapkit's unit as a number in the unit shown by `system` ("metric" or "inch").

    >>> convert(25.4, "length", "inch")
    1.0
    """
    return value * FACTOR[UNIT[kind]] / FACTOR[SHOWN[system][kind][0]]


def unit_label(kind: str, system: str = "metric") -> str:
    """The printed unit of a kind, "mm" or "in" for a length."""
    return SHOWN[system][kind][1]


def half_up(number: float) -> float:
    """A number that, printed to fewer digits, goes up from a half, as a pocket calculator and every shop does it.

    >>> f"{half_up(14.125):.2f}", f"{half_up(-14.5):.0f}", f"{half_up(2.675):.2f}"
    ('14.13', '-15', '2.68')
    """
    return number * (1 + 1e-13)


def show_number(value: float, kind: str, system: str = "metric", *, decimals: int | None = None) -> str:
    """A value in tapkit's unit as a number in the unit of `system`, without that unit.

    >>> show_number(8.5, "length", "inch"), show_number(8.5, "length", decimals=2)
    ('0.3346', '8.50')
    """
    digits = SHOWN[system][kind][2] if decimals is None else decimals
    number = convert(value, kind, system)
    if digits < 0:
        exponent = int(f"{half_up(number):.2e}"[-3:])
        number, digits = float(f"{half_up(number):.3g}"), max(0, 2 - exponent) if number else 0
    text = f"{half_up(number):.{digits}f}"
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
