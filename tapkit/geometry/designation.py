"""Reading thread designations: ISO metric and unified, in the spellings people use."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache, lru_cache

from tapkit import door, tables
from tapkit.geometry.thread import Thread

_METRIC = re.compile(
    r"M\s*(?P<d>\d+(?:\.\d+)?)(?:\s*[X*-]\s*(?P<p>\d*\.?\d+))?"
    r"(?:[\s-]+(?P<tol>\d[GH](?:\d[GH])?))?(?:[\s-]*(?P<lh>LH))?$"
)
_UNIFIED = re.compile(
    r"(?P<hash>#|NO\.?\s*)?(?P<size>\d+\s+\d+/\d+|\d+-\d+/\d+|\d+/\d+|\d*\.\d+|\d+\.?)"
    r"\s*(?:\"|IN\.?|INCH)?\s*-\s*(?P<tpi>\d+(?:\.\d+|\s*1/2)?)\s*(?:TPI)?"
    r"(?:[\s-]*(?P<series>UNC|UNF|UNEF|UNS|8-?UN|UN))?"
    r"(?:[\s-]+(?P<tol>[123]B))?(?:[\s-]*(?P<lh>LH))?$"
)


@cache
def _metric_table() -> dict[float, list[tuple[float, str]]]:
    table: dict[float, list[tuple[float, str]]] = {}
    for row in tables.rows("threads_metric"):
        table.setdefault(float(row["major_mm"]), []).append((float(row["pitch_mm"]), row["series"]))
    return table


@cache
def _unified_table() -> dict[tuple[float, float], tuple[str, str]]:
    return {
        (round(float(r["major_in"]), 4), float(r["threads_per_inch"])): (r["size"], r["series"])
        for r in tables.rows("threads_unified")
    }


@cache
def number_sizes() -> dict[int, float]:
    """Diameter in inch of each number size, #0 to #12 (ASME B1.1)."""
    return {int(r["size"][1:]): float(r["major_in"]) for r in tables.rows("threads_unified") if r["size"][0] == "#"}


def standard_threads(system: str = "metric") -> tuple[Thread, ...]:
    """Every thread in our tables of one system, in order of size.

    >>> standard_threads()[0].designation, len(standard_threads("unified")) > 60
    ('M1x0.25', True)
    """
    if system == "metric":
        names = [f"M{r['major_mm']}x{r['pitch_mm']}" for r in tables.rows("threads_metric")]
    else:
        names = [f"{r['size']}-{r['threads_per_inch']} {r['series']}" for r in tables.rows("threads_unified")]
    return tuple(sorted((read_thread(n) for n in names), key=lambda t: (t.major, -t.pitch)))


@lru_cache(maxsize=4096)
def read_thread(text: str) -> Thread:
    """A thread from its designation; see `Thread.parse`."""
    if not isinstance(text, str):
        raise ValueError(f"{text!r} is not a thread designation; write M10x1.5 or 1/4-20")
    if len(text) > 60:
        raise ValueError(f"a text of {len(text)} characters is not a thread designation; write M10x1.5 or 1/4-20")
    tidy = re.sub(r"(?<=\d),(?=\d)", ".", door.plain(text)).upper()
    tidy = re.sub(r"\s*(×|\*)\s*", "X", tidy)
    if tidy.startswith("M") and (found := _METRIC.match(tidy)):
        return _metric(text, found)
    if found := _UNIFIED.match(tidy):
        return _unified(text, found)
    raise ValueError(
        f"cannot read {text!r} as a thread; write metric like M10x1.5 or M8x1-LH, unified like 1/4-20 or #10-32 UNF"
    )


def _metric(text: str, found: re.Match[str]) -> Thread:
    major = float(found["d"])
    listed = _metric_table().get(major, [])
    if found["p"] is None:
        coarse = [p for p, series in listed if series == "coarse"]
        if not coarse:
            raise ValueError(
                f"{text!r} gives no pitch and ISO 261 has no coarse pitch for {major:g} mm; "
                f"write the pitch, like M{major:g}x{_near_pitch(major):g}"
            )
        pitch = coarse[0]
    else:
        pitch = float(found["p"])
    tolerance = found["tol"] or "6H"
    if tolerance != "6H":
        raise ValueError(
            f"{text!r} asks for class {tolerance}; tapkit has the limits of 6H only, so write M{major:g}x{pitch:g}"
        )
    series = next((s for p, s in listed if p == pitch), "special")
    hand = "left" if found["lh"] else "right"
    name = f"M{major:g}x{pitch:g}" + ("-LH" if hand == "left" else "")
    return Thread(name, major, pitch, "metric", series, tolerance, hand)


def _near_pitch(major: float) -> float:
    nearest = min(_metric_table(), key=lambda d: abs(d - major))
    return max(p for p, _ in _metric_table()[nearest])


def _unified(text: str, found: re.Match[str]) -> Thread:
    tpi = float(found["tpi"].replace(" ", "").replace("1/2", ".5"))
    if not 3 <= tpi <= 100:
        raise ValueError(f"{text!r} asks for {tpi:g} threads per inch, and 3 to 100 are possible; try 1/4-20")
    inch = _unified_size(text, found, tpi)
    size, series = _unified_table().get((round(inch, 4), tpi), (_size_name(inch), "special"))
    asked = (found["series"] or "").replace("8UN", "8-UN")
    if asked not in ("", "UN", "UNS") and asked != series:
        right = [t for (d, t), (_, s) in _unified_table().items() if d == round(inch, 4) and s == asked]
        hint = f"{size}-{right[0]:g} {asked}" if right else f"{size}-{tpi:g} without a series"
        raise ValueError(f"{text!r}: {size}-{tpi:g} is not {asked} in ASME B1.1; did you mean {hint}?")
    tolerance = found["tol"] or "2B"
    if tolerance != "2B":
        raise ValueError(
            f"{text!r} asks for class {tolerance}; tapkit has the limits of 2B only, so write {size}-{tpi:g}"
        )
    hand = "left" if found["lh"] else "right"
    shown = "UNS" if series == "special" else series
    name = f"{size}-{tpi:g} {shown}" + ("-LH" if hand == "left" else "")
    return Thread(name, 25.4 * inch, 25.4 / tpi, "unified", series, tolerance, hand)


def _unified_size(text: str, found: re.Match[str], tpi: float) -> float:
    """Major diameter in inch; a bare whole number is an inch size where listed, else a number size."""
    size = found["size"].rstrip(".")
    if "/" in size:
        whole, _, part = size.replace("-", " ").rpartition(" ")
        num, den = part.split("/")
        if int(den) == 0 or int(num) == 0:
            raise ValueError(f"{text!r} has a fraction that is no size; write 1/4-20")
        return float(Fraction(int(whole or 0)) + Fraction(int(num), int(den)))
    if "." in size:
        return float(size)
    number = int(size)
    is_number = number in number_sizes()
    if found["hash"] and not is_number:
        raise ValueError(
            f"{text!r}: there is no number size #{number}; the sizes are {', '.join(f'#{n}' for n in number_sizes())}"
        )
    listed_inch = (round(float(number), 4), tpi) in _unified_table()
    listed_number = is_number and (number_sizes()[number], tpi) in _unified_table()
    if found["hash"] or (is_number and not listed_inch and (listed_number or number > 4 or number == 0)):
        return number_sizes()[number]
    return float(number)


def _size_name(inch: float) -> str:
    for number, diameter in number_sizes().items():
        if abs(diameter - inch) < 5e-5:
            return f"#{number}"
    near = Fraction(inch).limit_denominator(64)
    if abs(float(near) - inch) > 1e-9:
        return f"{inch:.4g}"
    whole, rest = divmod(near, 1)
    return f"{whole} {rest}".strip() if whole and rest else str(whole or rest)
