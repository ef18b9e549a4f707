"""GO and NO-GO: what the gauges will say of the tapped hole, as a range.

The pitch diameter of the hole is that of the tap, within its class, and what tapping adds: a little overcut always;
runout and a crooked start at the mouth, fading as the tap follows its own thread; a feed that is not the lead. The GO
gauge passes from the least pitch diameter on. The NO-GO gauge may enter by two turns (metric) or three (inch), so what
counts for it is the pitch diameter that far in.
"""

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from tapkit import tables
from tapkit.geometry.thread import Thread, round_r40
from tapkit.mechanics.assumptions import assumption
from tapkit.messages import Sentence, Span, _, length, listed, of_table, turns_of

NO_GO_TURNS = {"metric": (2, "ISO 1502 [memory]"), "unified": (3, "ASME B1.2-1983")}
"""Turns by which a NO-GO plug gauge may enter, by the thread's system, and the standard that says so."""

SHARE_OF_2B = 0.4
"""Where in the tolerance of 2B a tap's largest pitch diameter lies, for a size no table names: as the named sizes have
it, 0.33 to 0.51. Common practice (no source)."""

IN, PERHAPS, OUT = "goes in", "may go in", "stays out"
"""What a gauge does, as far as the range says."""


class TapClass(NamedTuple):
    """Pitch diameter of a tap of a class [mm], and the fits it is `made_for`."""

    name: str
    low: float
    high: float
    made_for: Sentence | str
    source: str


class Advised(NamedTuple):
    """Numbers of the H limits advised for holes of class 2B and 3B."""

    for_2b: int
    for_3b: int
    source: str


class Growth(NamedTuple):
    """What one cause adds to the pitch diameter, least and most [mm]: at the `mouth`, and `inside`, as far in as
    NO-GO may go."""

    name: Sentence
    mouth: tuple[float, float]
    inside: tuple[float, float]


class Gauges(NamedTuple):
    """What the gauges say. Pitch diameter of the hole, least and most, at the `mouth` and as far `inside` as NO-GO
    may go, and its `limits` [mm]; `go` and `no_go` one of `IN`, `PERHAPS`, `OUT`; `parts` of the growth; `sentence`."""

    tap: TapClass
    mouth: tuple[float, float]
    inside: tuple[float, float]
    limits: tuple[float, float]
    go: str
    no_go: str
    parts: tuple[Growth, ...]
    sentence: Sentence


@lru_cache(maxsize=64)
def tap_classes(thread: Thread) -> tuple[TapClass, ...]:
    """The classes of taps for a thread. Source: ISO 2857 [memory], shares of T_D2 of grade 5; ASME B94.9, H limits of
    half a thousandth of an inch each.

    >>> [(c.name, round(c.low, 3), round(c.high, 3)) for c in tap_classes(Thread.parse("M10"))]
    [('1', 9.04, 9.068), ('2', 9.068, 9.096), ('3', 9.096, 9.124)]
    """
    unit, basic = 0.0254, thread.pitch_diameter
    if thread.system == "metric":
        unit, basic = grade_5(thread), thread.limits.pitch_min
    return tuple(
        TapClass(r["name"], *(basic + unit * float(r[end]) for end in ("low", "high")), *_made_for(thread, r))
        for r in _rows(thread)
    )


def _made_for(thread: Thread, row: dict[str, str]) -> tuple[Sentence | str, str]:
    """What fits a class is made for, and by which source."""
    if thread.system == "metric":
        return of_table(row["made_for"]), row["source"]
    advice, number = advised(thread), int(row["name"][1:])
    if number == advice.for_2b == advice.for_3b:
        return _("2B and 3B"), advice.source
    names = {advice.for_2b: _("2B"), advice.for_3b: _("3B, and passes 2B too")}
    between = _("2B, on its tight side") if number < advice.for_2b else _("2B threads to be plated")
    return names.get(number, between if number > advice.for_3b else _("close fits")), advice.source


@lru_cache(maxsize=256)
def advised(thread: Thread) -> Advised:
    """The H limits advised for a unified thread, by its size; where no table names it, from the tolerance of 2B.

    >>> [advised(Thread.parse(size)).for_2b for size in ("#4-40", "10-24", "1/4-28", "1/4-20", "1-8")]
    [3, 3, 4, 5, 6]
    """
    for row in tables.rows("tap_limits"):
        if (
            abs(float(row["major_in"]) * 25.4 - thread.major) < 0.01
            and abs(float(row["threads_per_inch"]) - thread.threads_per_inch) < 0.01
        ):
            return Advised(int(row["limit_2b"]), int(row["limit_3b"]), row["source"])
    limits, most = thread.limits, len(_rows(thread))
    steps = SHARE_OF_2B * (limits.pitch_max - limits.pitch_min) / 0.0127
    number = min(max(round(steps), 1), most)
    return Advised(number, max(min(round(0.75 * steps), number), 1), "common practice (no source)")


def tap_class(thread: Thread, name: str = "") -> TapClass:
    """A class by name ("2", "ISO 2", "H3"), or the usual one for 6H or 2B; ValueError with those there are.

    >>> tap_class(Thread.parse("1/4-20")).name, str(tap_class(Thread.parse("M10"), "ISO 3").made_for)
    ('H5', '6G and wider')
    """
    wanted = name.strip().upper().removeprefix("ISO").strip() or usual_class(thread)
    for one in tap_classes(thread):
        if one.name == wanted:
            return one
    known = ", ".join(row["name"] for row in _rows(thread))
    raise ValueError(
        _("a tap for {thread} has no class {name}; there are {known}", thread=thread.designation, name=repr(name),
          known=known)
    )  # fmt: skip


def usual_class(thread: Thread) -> str:
    """Name of the class that makes a hole of 6H or 2B."""
    if thread.system == "metric":
        return next(row["name"] for row in _rows(thread) if row["usual"])
    return f"H{advised(thread).for_2b}"


def class_names() -> tuple[str, ...]:
    """Names of all classes, metric and unified."""
    return tuple(row["name"] for row in tables.rows("tap_classes"))


def _rows(thread: Thread) -> list[dict[str, str]]:
    return [row for row in tables.rows("tap_classes") if row["system"] == thread.system]


def grade_5(thread: Thread) -> float:
    """Tolerance of the pitch diameter of grade 5 [mm], from that of grade 6: 1.06/1.32 of it, rounded to R40. Source:
    ISO 965-1 [memory].

    >>> [grade_5(Thread.parse(name)) for name in ("M3", "M6", "M8", "M10", "M16", "M24")]
    [0.08, 0.118, 0.125, 0.14, 0.17, 0.212]
    """
    limits = thread.limits
    return round(round_r40(1000 * 1.06 / 1.32 * (limits.pitch_max - limits.pitch_min)) / 1000, 6)


def fades(depth: float, major: float) -> tuple[float, float]:
    """Share of a widening at the mouth that is left at a depth [mm], least and most: e^(−ζ/λ), λ assumed."""
    assumed = assumption("fade_length")
    return tuple(float(np.exp(-depth / (end * major))) for end in (assumed.low, assumed.high))  # type: ignore[return-value]


def no_go_depth(thread: Thread) -> float:
    """How far in a NO-GO plug gauge may go [mm]."""
    return NO_GO_TURNS[thread.system][0] * thread.pitch


def at_the_mouth(name: Sentence, most: float, thread: Thread) -> Growth:
    """A widening of up to `most` at the mouth [mm] that fades; none where the tap finds its own way from the start."""
    return Growth(name, (0.0, most), (0.0, most * fades(no_go_depth(thread), thread.major)[1]))


def growths(
    *, thread: Thread, runout: float, tilt: float, chamfer: float, feed: tuple[tuple[float, float], tuple[float, float]]
) -> tuple[Growth, ...]:
    """What tapping adds: `runout` as a dial reads it [mm], which is twice the eccentricity and so the growth of a
    diameter; `tilt` [deg] over the length of the `chamfer` [mm], until the thread guides; the growth of a wrong `feed`
    at mouth and inside [mm]."""
    over = assumption("tap_overcut")
    found = [Growth(_("overcut"), (over.low, over.high), (over.low, over.high))]
    if runout:
        found.append(at_the_mouth(_("runout"), runout, thread))
    if tilt:
        found.append(at_the_mouth(_("crooked start"), chamfer * float(np.tan(np.radians(tilt))), thread))
    if feed[0][1]:
        found.append(Growth(_("feed"), *feed))
    return tuple(found)


def gauges(*, thread: Thread, tap: TapClass, parts: tuple[Growth, ...]) -> Gauges:
    """What GO and NO-GO say of a hole tapped by a tap of a class, with what tapping adds."""
    limits = (thread.limits.pitch_min, thread.limits.pitch_max)
    mouth, inside = (
        (tap.low + sum(getattr(p, where)[0] for p in parts), tap.high + sum(getattr(p, where)[1] for p in parts))
        for where in ("mouth", "inside")
    )
    go = IN if inside[0] >= limits[0] else OUT if inside[1] < limits[0] else PERHAPS
    no_go = OUT if inside[1] <= limits[1] else IN if inside[0] > limits[1] else PERHAPS
    turns, standard = NO_GO_TURNS[thread.system]
    sentence = _(
        "{told} (class of the tap: {source}; NO-GO may enter by {turns}: {standard})",
        told=_sentence(tap, mouth, inside, limits, go, no_go, parts, turns_of(turns)),
        source=of_table(tap.source), turns=turns_of(turns), standard=standard,
    )  # fmt: skip
    return Gauges(tap, mouth, inside, limits, go, no_go, parts, sentence)


def _sentence(
    tap: TapClass,
    mouth: tuple,
    inside: tuple,
    limits: tuple,
    go: str,
    no_go: str,
    parts: tuple[Growth, ...],
    turns: Sentence,
) -> Sentence:
    look = dict(decimals=3, inch_decimals=4)
    most = max(parts, key=lambda p: p.inside[1])
    found = dict(
        tap=tap.name, made_for=tap.made_for, turns=turns, inside=Span(*inside, "length", **look),
        limits=Span(*limits, "length", **look), mouth=length(mouth[1], **look),
        parts=listed(p.name for p in parts), most=most.name,
    )  # fmt: skip
    if go != IN:
        return _(
            "a tap of class {tap} makes a pitch diameter of {inside} at {turns} below the mouth ({limits} is allowed): "
            "the GO gauge may stop",
            **found,
        )
    if no_go == OUT:
        return _(
            "a tap of class {tap} (made for {made_for}) makes a pitch diameter of {inside} at {turns} below the mouth, "
            "up to {mouth} at the mouth ({limits} is allowed; {parts} counted): GO goes in, NO-GO stays out",
            **found,
        )
    if no_go == IN:
        return _(
            "a tap of class {tap} (made for {made_for}) makes a pitch diameter of {inside} at {turns} below the mouth "
            "({limits} is allowed; {parts} counted): GO goes in, and NO-GO goes in too: scrap",
            **found,
        )
    return _(
        "a tap of class {tap} (made for {made_for}) makes a pitch diameter of {inside} at {turns} below the mouth, "
        "up to {mouth} at the mouth ({limits} is allowed; {parts} counted): GO goes in, and NO-GO may go in too; "
        "most of that is {most}",
        **found,
    )
