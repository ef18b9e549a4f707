"""Screw threads: reading designations, basic profile, limits of size, percent of thread."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache
from typing import NamedTuple

from tapkit import tables, units

SQRT3 = math.sqrt(3.0)
TAN30 = math.tan(math.radians(30.0))

R40 = (
    1.0,
    1.06,
    1.12,
    1.18,
    1.25,
    1.32,
    1.4,
    1.5,
    1.6,
    1.7,
    1.8,
    1.9,
    2.0,
    2.12,
    2.24,
    2.36,
    2.5,
    2.65,
    2.8,
    3.0,
    3.15,
    3.35,
    3.55,
    3.75,
    4.0,
    4.25,
    4.5,
    4.75,
    5.0,
    5.3,
    5.6,
    6.0,
    6.3,
    6.7,
    7.1,
    7.5,
    8.0,
    8.5,
    9.0,
    9.5,
    10.0,
)
"""Preferred numbers of the R40 series over one decade (ISO 3)."""

DIAMETER_STEPS = (0.99, 1.4, 2.8, 5.6, 11.2, 22.4, 45.0, 90.0, 180.0, 355.0)
"""Ranges of diameter in mm over which ISO 965-1 takes one tolerance."""


class Limits(NamedTuple):
    """Limits of size of the internal thread, all in mm."""

    minor_min: float
    minor_max: float
    pitch_min: float
    pitch_max: float


@dataclass(frozen=True)
class Thread:
    """A 60° internal screw thread, ISO metric or unified.

    Parameters: `designation` as written in the trade; `major` diameter D and `pitch` P in mm; `system`
    "metric" or "unified"; `series` ("coarse", "fine", "UNC", …, or "special" off the standard's list);
    `tolerance` class of the tapped hole; `hand` "right" or "left". One start: the lead is the pitch.
    Source of the profile: ISO 68-1, ASME B1.1.

    >>> Thread.parse("M10").pitch, Thread.parse("1/4-20").designation
    (1.5, '1/4-20 UNC')
    """

    designation: str
    major: float
    pitch: float
    system: str = "metric"
    series: str = "special"
    tolerance: str = "6H"
    hand: str = "right"

    def __post_init__(self) -> None:
        if not (math.isfinite(self.major) and 0.25 <= self.major <= 300):
            raise ValueError(f"a major diameter of {self.major:g} mm is outside 0.25 to 300 mm; try M10x1.5 or 1/4-20")
        if not (math.isfinite(self.pitch) and 0.05 <= self.pitch <= 8):
            raise ValueError(f"a pitch of {self.pitch:g} mm is outside 0.05 to 8 mm; try M10x1.5")
        if self.pitch > 0.4 * self.major:
            raise ValueError(
                f"a pitch of {self.pitch:g} mm is too coarse for a thread of {self.major:g} mm: "
                f"no core would be left; at most {0.4 * self.major:.3g} mm works"
            )
        if self.hand not in ("right", "left"):
            raise ValueError(f"hand {self.hand!r} is not 'right' or 'left'")

    @classmethod
    def parse(cls, text: str) -> Thread:
        """A thread from its designation, metric or unified, in any usual spelling.

        Raises ValueError with one sentence for anything else.

        >>> Thread.parse("m10 × 1,5").designation, Thread.parse("M8x1-LH").hand
        ('M10x1.5', 'left')
        >>> Thread.parse("0.250-20 UNC-2B") == Thread.parse("1/4-20")
        True
        """
        return read_thread(text)

    @property
    def height(self) -> float:
        """Height of the fundamental triangle H = (√3/2) P [mm]; ISO 68-1."""
        return SQRT3 / 2 * self.pitch

    @property
    def pitch_diameter(self) -> float:
        """Basic pitch diameter D2 = D − 2·(3/8) H [mm]; ISO 724."""
        return self.major - 2 * (3 / 8) * self.height

    @property
    def minor_diameter(self) -> float:
        """Basic minor diameter D1 = D − 2·(5/8) H [mm]; ISO 724."""
        return self.major - 2 * (5 / 8) * self.height

    @property
    def lead(self) -> float:
        """Advance in one turn [mm]; the pitch, as these threads have one start."""
        return self.pitch

    @property
    def threads_per_inch(self) -> float:
        """Threads per inch, 25.4 / P."""
        return 25.4 / self.pitch

    @property
    def is_listed(self) -> bool:
        """Whether the standard lists this diameter with this pitch (ISO 261 or ASME B1.1)."""
        return self.series != "special"

    def groove_width(self, radius: float) -> float:
        """Axial width of the tapped groove at a radius [mm]: P/8 + 2 (D/2 − r) tan 30°; ISO 68-1."""
        return self.pitch / 8 + 2 * (self.major / 2 - radius) * TAN30

    @property
    def limits(self) -> Limits:
        """Limits of minor and pitch diameter of the tapped hole [mm] (ISO 965-1, ASME B1.1)."""
        return limits_metric(self) if self.system == "metric" else limits_unified(self)

    def percent(self, hole_diameter: float, basis: str = "custom") -> float:
        """Percent of thread left by a hole [%].

        "custom": 100 (D − D_h)/(1.299 P), the handbook custom from the old 3/4 H height.
        "iso": 100 (D − D_h)/(1.0825 P), against the basic height of ISO 68-1.

        >>> round(Thread.parse("M10x1.5").percent(8.5), 1)
        77.0
        """
        return 100 * (self.major - hole_diameter) / self._full_depth(basis)

    def hole_for_percent(self, percent: float, basis: str = "custom") -> float:
        """Hole diameter that leaves a percent of thread [mm]; the reverse of `percent`."""
        return self.major - percent / 100 * self._full_depth(basis)

    def _full_depth(self, basis: str) -> float:
        depths = {"custom": 2 * (3 / 4) * self.height, "iso": 2 * (5 / 8) * self.height}
        if basis not in depths:
            raise ValueError(f"percent of thread on the basis {basis!r} is unknown; say 'custom' or 'iso'")
        return depths[basis]

    def cautions(self) -> tuple[str, ...]:
        """What is possible but unusual about this thread."""
        if self.is_listed:
            return ()
        standard = "ISO 261" if self.system == "metric" else "ASME B1.1 (UNC, UNF, UNEF, 8-UN)"
        return (f"{self.designation} is not a size that {standard} lists: a special tap is needed",)


def round_r40(value: float) -> float:
    """A value rounded to the nearest preferred number of the R40 series (ISO 3).

    >>> round_r40(302.0)
    300.0
    """
    decade = 10.0 ** math.floor(math.log10(value))
    return min(R40, key=lambda n: abs(n - value / decade)) * decade


def minor_tolerance_iso(pitch: float) -> float:
    """Tolerance of the minor diameter T_D1, grade 6 [mm], from P [mm].

    The standard's table for its own pitches; for others its formula, 230 P^0.7 µm from P = 1 mm and
    433 P − 190 P^1.22 µm below, rounded to R40. (At P = 2.5 mm the table holds 450 µm where the formula
    rounds to 425.) Source: ISO 965-1 [memory].

    >>> minor_tolerance_iso(1.5), minor_tolerance_iso(2.5)
    (0.3, 0.45)
    """
    for row in tables.rows("minor_tolerance_6h"):
        if float(row["pitch_mm"]) == pitch:
            return float(row["td1_um"]) / 1000
    micron = 230 * pitch**0.7 if pitch >= 1 else 433 * pitch - 190 * pitch**1.22
    return round_r40(micron) / 1000


def pitch_tolerance_iso(pitch: float, major: float) -> float:
    """Tolerance of the pitch diameter T_D2, grade 6 [mm], from P and D [mm].

    1.32 · 90 P^0.4 d^0.1 µm, d the geometric mean of the diameter step; rounded to R40.
    Source: ISO 965-1 [memory].

    >>> pitch_tolerance_iso(1.25, 8)
    0.16
    """
    step = next((i for i, top in enumerate(DIAMETER_STEPS[1:]) if major <= top), len(DIAMETER_STEPS) - 2)
    mean = math.sqrt(DIAMETER_STEPS[step] * DIAMETER_STEPS[step + 1])
    return round_r40(1.32 * 90 * pitch**0.4 * mean**0.1) / 1000


def limits_metric(thread: Thread) -> Limits:
    """Limits of a metric tapped hole, class 6H [mm]. Source: ISO 965-1 (fundamental deviation H is zero)."""
    minor, pitch = round(thread.minor_diameter, 3), round(thread.pitch_diameter, 3)
    return Limits(
        minor, minor + minor_tolerance_iso(thread.pitch), pitch, pitch + pitch_tolerance_iso(thread.pitch, thread.major)
    )


def minor_tolerance_unified(pitch: float, major: float) -> float:
    """Tolerance of the minor diameter, class 2B [inch], from P and D [inch].

    0.25 P − 0.40 P² from 1/4 inch; below, 0.05 P^(2/3) + 0.03 P/D − 0.002, kept between that value and
    0.394 P. Source: ASME B1.1 [memory].
    """
    usual = 0.25 * pitch - 0.40 * pitch**2
    if major >= 0.25:
        return usual
    return min(max(0.05 * pitch ** (2 / 3) + 0.03 * pitch / major - 0.002, usual), 0.394 * pitch)


def pitch_tolerance_unified(pitch: float, major: float, engagement: float) -> float:
    """Tolerance of the pitch diameter, class 2B [inch], from P, D and length of engagement [inch].

    1.3 (0.0015 D^(1/3) + 0.0015 √LE + 0.015 P^(2/3)). Source: ASME B1.1 [memory].
    """
    return 1.3 * (0.0015 * major ** (1 / 3) + 0.0015 * math.sqrt(engagement) + 0.015 * pitch ** (2 / 3))


def limits_unified(thread: Thread) -> Limits:
    """Limits of a unified tapped hole, class 2B [mm]. Source: ASME B1.1 [memory]."""
    p, d = thread.pitch / 25.4, thread.major / 25.4
    engagement = d if thread.series in ("UNC", "UNF", "8-UN") else 9 * p
    minor, pitch = thread.minor_diameter / 25.4, thread.pitch_diameter / 25.4
    places = 3 if d >= 0.138 else 4
    top = round(minor + minor_tolerance_unified(p, d), places)
    pitch_max = pitch + pitch_tolerance_unified(p, d, engagement)
    return Limits(*(25.4 * x for x in (round(minor, places), top, round(pitch, 4), round(pitch_max, 4))))


# --- reading designations ---------------------------------------------------------------------------

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
    tidy = re.sub(r"(?<=\d),(?=\d)", ".", units.plain(text)).upper()
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
