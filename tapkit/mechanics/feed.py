"""A feed that is not the lead: how far machine and thread get out of step, what the holder takes up, what is left.

In every turn the machine feeds off by |f − P|; over a depth t that adds up to |f − P| t / P. A holder that gives
lengthwise takes it up, with the force of its spring. What is left the tap must do: it slips against the thread it has
cut. A place ζ below the mouth is passed first by the chamfer and last by the thread that stands there at the end, so
the tap slips there by |f − P| min(t − ζ, l) / P, l the length of the tap's thread, and widens the pitch diameter by as
much over tan 30° (profile of ISO 68-1): most at the mouth, not at all at the bottom. Derived for this project.
"""

from functools import cache
from typing import NamedTuple

from tapkit import tables
from tapkit.geometry.thread import TAN30
from tapkit.mechanics.workpiece import fold
from tapkit.messages import Sentence, Span, _, length, of_table


class Holder(NamedTuple):
    """What holds the tap: stiffness along the axis from `low` to `high` [N/mm] within its `travel` [mm]; by hand the
    tap sets its own feed and both are None."""

    name: str
    printed: str
    low: float
    high: float
    travel: float | None
    source: str


class FeedOff(NamedTuple):
    """What a wrong feed does: `per_turn` feed less lead, `out_of_step` of the machine at the end, `slip` of the tap
    against its own thread at the place asked for [mm], `growth` of the pitch diameter there, least and most [mm], and
    axial `force` on the tap, least and most [N]; `sentence`."""

    per_turn: float
    out_of_step: float
    slip: float
    growth: tuple[float, float]
    force: tuple[float, float]
    sentence: Sentence


@cache
def holder(name: str) -> Holder:
    """A holder by name; ValueError with the names there are.

    >>> holder(" Float").travel, [h for h in holders()]
    (5.0, ['rigid', 'float', 'hand'])
    """
    for row in tables.rows("holders"):
        if fold(str(name)) in {fold(n) for n in (row["name"], *row["other_names"].split("|"))}:
            travel = float(row["travel_mm"]) if row["travel_mm"] else None
            ends = float(row["low_n_per_mm"]), float(row["high_n_per_mm"])
            return Holder(row["name"], row["printed"], *ends, travel, row["source"])
    known = ", ".join(holders())
    raise ValueError(_("{holder} is not a holder; write one of {known}", holder=repr(name), known=known))


def holders() -> tuple[str, ...]:
    """Names of the holders."""
    return tuple(row["name"] for row in tables.rows("holders"))


def slip(*, off: float, pitch: float, depth: float, thread_length: float, at: float = 0.0) -> float:
    """Slip of a tap against its own thread at a place below the mouth [mm]: |off| min(t − ζ, l) / P.

    >>> round(slip(off=0.01, pitch=1.5, depth=60, thread_length=24), 3)
    0.16
    """
    return abs(off) * min(max(depth - at, 0.0), thread_length) / pitch


def growth(slipped: float) -> float:
    """Growth of the pitch diameter of a groove widened along the axis [mm]: s / tan 30°; ISO 68-1 profile.

    >>> round(growth(0.1), 4)
    0.1732
    """
    return slipped / TAN30


def feed_off(
    *, feed: float, pitch: float, depth: float, thread_length: float, held: Holder, at: float = 0.0
) -> FeedOff:
    """What a feed [mm/turn] does to thread and tap over a tapped depth, at a place below the mouth [mm]."""
    if not 0 < feed <= 100:
        raise ValueError(
            _("a feed of {feed} a turn is outside {span}; the lead is {lead}", feed=length(feed, decimals=3),
              span=Span(0, 100, "length"), lead=length(pitch))
        )  # fmt: skip
    off = feed - pitch
    apart = abs(off) * depth / pitch
    if held.travel is None or apart == 0:
        told = _("the feed is the lead: nothing is out of step")
        if apart:
            told = _("by hand the tap draws itself in at its own lead: there is no feed to be wrong")
        return FeedOff(off, 0.0 if held.travel is None else apart, 0.0, (0.0, 0.0), (0.0, 0.0), told)
    left = max(apart - held.travel, 0.0) / apart
    slipped = left * slip(off=off, pitch=pitch, depth=depth, thread_length=thread_length, at=at)
    force = (held.low * apart, held.high * apart)
    if left:
        stiff = holder("rigid")
        force = max(force[0], stiff.low * left * apart), max(force[1], stiff.high * left * apart)
    found = dict(
        off=length(abs(off), decimals=4, inch_decimals=5), apart=length(apart, decimals=3, inch_decimals=4),
        holder=of_table(held.printed), force=Span(*force, "force", digits=2),
        growth=length(growth(slipped), decimals=3, inch_decimals=4),
    )  # fmt: skip
    if left:
        told = _(
            "{off} a turn off the lead puts tap and thread {apart} out of step at the end; {holder} does not give: "
            "the tap is "
            "pushed with {force} until its flanks shave the thread, whose pitch diameter grows by up to {growth}",
            **found,
        )
    else:
        told = _(
            "{off} a turn off the lead puts machine and thread {apart} out of step at the end; {holder} takes it "
            "up and pulls "
            "with {force}",
            **found,
        )
    return FeedOff(off, apart, slipped, (0.0, growth(slipped)), force, told)
