"""Strength of a screw in a tapped hole: the screw tears, its thread strips, or the hole's thread strips.

Shear areas are those of FED-STD-H28/2B, appendix B, and ASME B1.1, appendix B, both from memory [memory]: a reprint of
the formulas was opened, the standards were not. They hold for a length of engagement L_e and the limits of both threads
that leave least metal. The load is taken as shared evenly by
all threads engaged; in truth the first ones bear most of it, so a joint is never stronger than this.
"""

import math
from typing import NamedTuple

from tapkit import tables
from tapkit.geometry.thread import TAN30, Thread, pitch_tolerance_iso, pitch_tolerance_unified, round_r40
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Number, Sentence, _, force, length, listed


class ScrewLimits(NamedTuple):
    """Least sizes of the screw's thread [mm]: major and pitch diameter."""

    major_min: float
    pitch_min: float


class ThreadStrength(NamedTuple):
    """What a screw in a tapped hole bears [N]: until the `screw` tears, its thread strips (`external`), or that of the
    hole strips (`internal`); `engaged` length [mm] and the `needed` one at which the screw tears first [mm]."""

    screw: float
    external: float
    internal: float
    engaged: float
    needed: float

    @property
    def least(self) -> float:
        """The force at which the joint fails [N]."""
        return min(self.screw, self.external, self.internal)

    @property
    def fails(self) -> str:
        """What fails: "screw", "external" or "internal"."""
        ends = {"screw": self.screw, "external": self.external, "internal": self.internal}
        return min(ends, key=lambda k: ends[k])

    @property
    def sentence(self) -> Sentence:
        """What fails, at what force, and what length would do."""
        found = dict(
            least=force(self.least, digits=3),
            engaged=length(self.engaged, digits=3),
            needed=length(self.needed, digits=3),
            share=Number(100 * self.least / self.screw, decimals=0),
        )
        return SENTENCES[self.fails].of(**found)


def stress_area(thread: Thread) -> float:
    """Tensile stress area of a screw [mm2].

    Metric: A_s = π/4 ((d2 + d3)/2)², d3 = d1 − H/6 (ISO 898-1 [memory]). Unified: π/4 (D − 0.9743 P)² (ASME B1.1
    [memory]).

    >>> round(stress_area(Thread.parse("M10")), 1)
    58.0
    """
    if thread.system != "metric":
        return math.pi / 4 * (thread.major - 0.9743 * thread.pitch) ** 2
    d3 = thread.minor_diameter - thread.height / 6
    return math.pi / 4 * ((thread.pitch_diameter + d3) / 2) ** 2


def screw_limits(thread: Thread) -> ScrewLimits:
    """Least major and pitch diameter of the screw, class 6g or 2A [mm].

    6g: allowance 15 + 11 P µm, T_d = 180 P^(2/3) − 3.15/√P µm rounded to R40, T_d2 that of the hole's thread over
    1.32 (ISO 965-1 [memory]). 2A: tolerance of the pitch diameter that of 2B over 1.3, allowance 0.3 of it, major
    diameter 0.06 P^(2/3) inch (ASME B1.1 [memory]).
    """
    p = thread.pitch
    if thread.system == "metric":
        gap = (15 + 11 * p) / 1000
        major = round_r40(180 * p ** (2 / 3) - 3.15 / math.sqrt(p)) / 1000
        pitch = pitch_tolerance_iso(p, thread.major) / 1.32
    else:
        d, q = thread.major / 25.4, p / 25.4
        pitch = 25.4 * pitch_tolerance_unified(q, d, d) / 1.3
        gap, major = 0.3 * pitch, 25.4 * 0.06 * q ** (2 / 3)
    return ScrewLimits(thread.major - gap - major, thread.pitch_diameter - gap - pitch)


def external_shear_area(*, thread: Thread, hole: float, engaged: float) -> float:
    """Area in which the screw's thread shears at the hole's diameter [mm2].

    AS_s = π n L_e K_n (1/(2n) + tan 30° (E_s − K_n)), n = 1/P, `hole` K_n the minor diameter of the tapped hole [mm],
    E_s the screw's least pitch diameter; nothing where the hole is too wide to be touched. Source: FED-STD-H28/2B,
    appendix B [memory].
    """
    wide = thread.pitch / 2 + TAN30 * (screw_limits(thread).pitch_min - hole)
    return math.pi * engaged / thread.pitch * hole * max(wide, 0.0)


def internal_shear_area(*, thread: Thread, engaged: float) -> float:
    """Area in which the hole's thread shears at the screw's least major diameter [mm2].

    AS_n = π n L_e D_s (1/(2n) + tan 30° (D_s − E_n)), E_n the hole's largest pitch diameter. It does not depend on the
    drill. Source: FED-STD-H28/2B, appendix B [memory].
    """
    d = screw_limits(thread).major_min
    return math.pi * engaged / thread.pitch * d * (thread.pitch / 2 + TAN30 * (d - thread.limits.pitch_max))


BASIS = _(
    "From memory: the shear areas (FED-STD-H28/2B), the stress area (ISO 898-1, ASME B1.1), the limits of the screw "
    "and the strength of screws and metals; shear as a share of tension is common practice (no source)."
)
"""What the numbers rest on, said wherever they are shown."""


def tapped_metals() -> tuple[str, ...]:
    """Workpieces whose strength is known."""
    return tuple(r["workpiece"] for r in tables.rows("tapped_strength"))


def strengths(table: str, key: str, name: str) -> tuple[float, float]:
    """Strength in tension and in shear [N/mm2] of a row; ValueError where there is none."""
    for row in tables.rows(table):
        if row[key] == name:
            tensile = float(row["tensile_N_mm2"])
            return tensile, tensile * float(row["shear"])
    known = listed([r[key] for r in tables.rows(table)], "or")
    raise ValueError(_("no tensile strength is known for {name}; there are {known}", name=name, known=known))


def thread_strength(
    *, thread: Thread, hole: float, engaged: float, workpiece: Workpiece, screw: str = "8.8"
) -> ThreadStrength:
    """What a screw of a property class bears in a tapped hole of a diameter [mm], engaged over a length [mm].

    Raises ValueError for a length that is none, a screw or a metal whose strength is not known.
    """
    if not (math.isfinite(engaged) and engaged > 0):
        raise ValueError(
            _("a length of engagement of {engaged} is none; try {d}", engaged=length(engaged), d=length(thread.major))
        )
    tears, shears = strengths("screw_strength", "name", screw)
    _tension, strips = strengths("tapped_strength", "workpiece", workpiece.name)
    bears = tears * stress_area(thread)
    outside = shears * external_shear_area(thread=thread, hole=hole, engaged=engaged)
    inside = strips * internal_shear_area(thread=thread, engaged=engaged)
    if outside == 0:
        raise ValueError(
            _("a hole of {hole} leaves no thread for {thread} to hold by", hole=length(hole), thread=thread.designation)
        )
    return ThreadStrength(bears, outside, inside, engaged, engaged * bears / min(outside, inside))


SENTENCES = {
    "screw": _("the screw tears first, at {least}; {needed} of engaged thread would do, and {engaged} are there"),
    "external": _(
        "the thread of the screw strips first, at {least}, {share} % of what the screw bears; with {needed} of engaged "
        "thread the screw would tear first, and {engaged} are there"
    ),
    "internal": _(
        "the thread of the hole strips first, at {least}, {share} % of what the screw bears; with {needed} of engaged "
        "thread the screw would tear first, and {engaged} are there"
    ),
}
