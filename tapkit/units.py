"""Units: the kinds of quantity, their units, conversion, and showing a number with its unit.

Inside tapkit a length is a float in mm, a force in N, a stress in N/mm2, a torque in N·m, an angle in
degrees, a cutting speed in m/min. What people write is read in `tapkit.door`.
"""

from tapkit import tables

SYSTEMS = ("metric", "inch")

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
    "torsion_constant": "mm**4",
    "stress_per_torque": "N/mm**2/(N*m)",
}
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
        "torsion_constant": ("mm**4", "mm⁴", 1),
        "stress_per_torque": ("N/mm**2/(N*m)", "(N/mm²)/(N·m)", 1),
    },
    "inch": {
        "length": ("inch", "in", 4),
        "area": ("inch**2", "in²", 6),
        "volume": ("inch**3", "in³", 4),
        "force": ("lbf", "lbf", 1),
        "torque": ("lbf*inch", "in·lbf", 1),
        "stress": ("psi", "psi", None),
        "speed": ("ft/min", "sfm", 0),
        "angle": ("deg", "°", 1),
        "rotation": ("rpm", "rpm", 0),
        "time": ("s", "s", 1),
        "power": ("hp", "hp", 3),
        "torsion_constant": ("inch**4", "in⁴", 6),
        "stress_per_torque": ("psi/(lbf*inch)", "psi/(in·lbf)", None),
    },
}
"""For each system of units and kind: the unit, how it is printed, and usual decimals (None: 3 significant digits)."""


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
    if digits is None:
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
