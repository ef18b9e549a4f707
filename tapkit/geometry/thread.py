"""Screw threads: reading designations, basic profile, limits of size, percent of thread."""

import math
from dataclasses import dataclass
from typing import NamedTuple

from tapkit import tables
from tapkit.messages import Sentence, Span, _, length

SQRT3 = math.sqrt(3.0)
TAN30 = math.tan(math.radians(30.0))

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
            raise ValueError(
                _(
                    "a major diameter of {major} is outside {span}; try M10x1.5 or 1/4-20",
                    major=length(self.major, digits=4),
                    span=Span(0.25, 300, "length", digits=3),
                )
            )
        if not (math.isfinite(self.pitch) and 0.05 <= self.pitch <= 8):
            span = Span(0.05, 8, "length", digits=3)
            raise ValueError(
                _("a pitch of {pitch} is outside {span}; try M10x1.5", pitch=length(self.pitch, digits=4), span=span)
            )
        if self.pitch > 0.4 * self.major:
            raise ValueError(
                _(
                    "a pitch of {pitch} is too coarse for a thread of {major}: no core would be left; at most {most} "
                    "works",
                    pitch=length(self.pitch, digits=4),
                    major=length(self.major, digits=4),
                    most=length(0.4 * self.major, digits=3),
                )
            )
        if self.hand not in ("right", "left"):
            raise ValueError(_("hand {hand} is not 'right' or 'left'", hand=repr(self.hand)))

    @classmethod
    def parse(cls, text: str) -> "Thread":
        """A thread from its designation, metric or unified, in any usual spelling.

        Raises ValueError with one sentence for anything else.

        >>> Thread.parse("m10 × 1,5").designation, Thread.parse("M8x1-LH").hand
        ('M10x1.5', 'left')
        >>> Thread.parse("0.250-20 UNC-2B") == Thread.parse("1/4-20")
        True
        """
        from tapkit.geometry.designation import read_thread

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
            raise ValueError(
                _("percent of thread on the basis {basis} is unknown; say 'custom' or 'iso'", basis=repr(basis))
            )
        return depths[basis]

    def turns_left(self) -> tuple[Sentence, ...]:
        """How a left-hand thread is cut; nothing for a right-hand one."""
        if self.hand == "right":
            return ()
        return (_("a left-hand thread: the tap turns left (anticlockwise) on the way in, and right on the way out"),)

    def cautions(self) -> tuple[Sentence, ...]:
        """What is possible but unusual about this thread."""
        if self.is_listed:
            return self.turns_left()
        standard = "ISO 261" if self.system == "metric" else "ASME B1.1 (UNC, UNF, UNEF, 8-UN)"
        return (
            *self.turns_left(),
            _(
                "{thread} is not a size that {standard} lists: a special tap is needed",
                thread=self.designation,
                standard=standard,
            ),
        )


def round_r40(value: float) -> float:
    """A value rounded to the nearest preferred number of the R40 series (ISO 3).

    >>> round_r40(302.0)
    300.0
    """
    decade = 10.0 ** math.floor(math.log10(value))
    series = tables.row("preferred_numbers", series="R40")["numbers"]
    return min(map(float, series.split()), key=lambda n: abs(n - value / decade)) * decade


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

    The standard's table for its own pitches; for others its formula, 1.32 · 90 P^0.4 d^0.1 µm, d the geometric mean of
    the diameter step, rounded to R40. (For M10x1.5 the table holds 180 µm where the formula rounds to 170.)
    Source: ISO 965-1 [memory].

    >>> pitch_tolerance_iso(1.25, 8), pitch_tolerance_iso(1.5, 10)
    (0.16, 0.18)
    """
    for row in tables.rows("pitch_tolerance_6h"):
        low, high = tables.span(row["major_mm"])
        if low < major <= high and float(row["pitch_mm"]) == pitch:
            return float(row["td2_um"]) / 1000
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
    """Limits of a unified tapped hole, class 2B [mm].

    The basic pitch diameter to 4 decimals of an inch and its tolerance to 6 are added, and the sum is rounded once,
    half
    up, as the standard's tables have it (#10-24: 0.1672 in). Source: ASME B1.1 [memory].
    """
    p, d = thread.pitch / 25.4, thread.major / 25.4
    engagement = d if thread.series in ("UNC", "UNF", "8-UN") else 9 * p
    minor, pitch = thread.minor_diameter / 25.4, round(thread.pitch_diameter / 25.4, 4)
    places = 3 if d >= 0.138 else 4
    top = round(minor + minor_tolerance_unified(p, d), places)
    pitch_max = math.floor((pitch + round(pitch_tolerance_unified(p, d, engagement), 6)) * 1e4 + 0.5 + 1e-6) / 1e4
    return Limits(*(25.4 * x for x in (round(minor, places), top, pitch, pitch_max)))
