"""Lesson 8, the feed: for each minute, for each turn, and when it is not the lead."""

from itertools import product
from typing import NamedTuple

from tapkit.exercises.bank.rows import bare_number, metric, unified
from tapkit.exercises.exercise import Draft, exercise, worked
from tapkit.exercises.number import NumberAsked
from tapkit.geometry.thread import Thread
from tapkit.messages import Quantity, _, length
from tapkit.planning.cycle import FeedError, feed_error
from tapkit.planning.press import PressPart, press_parts, whole_of


class Fed(NamedTuple):
    """A thread cut at a spindle speed [rpm]."""

    thread: Thread
    rpm: float

    @property
    def feed(self) -> float:
        """Feed for each minute [mm/min]."""
        return self.thread.lead * self.rpm


@exercise(
    "feed-per-minute",
    cases=lambda: [Fed(t, n) for t, n in product((*metric(4, 20), *metric(8, 20, "fine")), (120.0, 260.0, 450.0))],
    mistakes={
        "divided-by-pitch": lambda c: c.rpm / c.thread.lead,
        "diameter-for-pitch": lambda c: c.rpm * c.thread.major,
    },
)
def feed_per_minute(case: Fed) -> Draft:
    feed = NumberAsked(case.feed, "feed", "feed")
    return Draft(
        feed,
        (worked(_("Feed"), feed, "{lead} × {rpm}"),),
        given=dict(lead=length(case.thread.lead), rpm=Quantity(case.rpm, "rotation")),
    )


@exercise(
    "feed-per-turn-inch",
    cases=lambda: unified(0.1, 1.0),
    mistakes={
        "threads-for-feed": lambda t: 25.4 * t.threads_per_inch,
        "diameter-over-threads": lambda t: t.major / t.threads_per_inch,
    },
)
def feed_per_turn_inch(thread: Thread) -> Draft:
    feed = NumberAsked(thread.lead, "feed per turn", "feed per turn")
    return Draft(
        feed,
        (worked(_("Feed"), feed, "{inch} / {tpi}"),),
        given=dict(inch=length(25.4), tpi=bare_number(thread.threads_per_inch), whole=whole_of(_("The export press"))),
    )


class Off(NamedTuple):
    """A feed [mm/rev] that is not the lead, over a depth [mm]."""

    part: PressPart
    feed: float
    depth: float

    @property
    def result(self) -> FeedError:
        """What it does."""
        return feed_error(self.part.thread, self.depth, self.feed)


def _offs() -> list[Off]:
    found = []
    for part, share in product(press_parts(system="metric"), (0.004, -0.006, 0.01)):
        feed = round(part.thread.pitch * (1 + share), 3)
        found.append(Off(part, feed, max(part.depth, part.thread.major)))
    return found


@exercise(
    "feed-error",
    cases=_offs,
    mistakes={
        "one-turn-only": lambda c: abs(c.feed - c.part.thread.pitch),
        "depth-for-turns": lambda c: abs(c.feed - c.part.thread.pitch) * c.depth,
    },
)
def feed_error_adds_up(case: Off) -> Draft:
    thread = case.part.thread
    slip = NumberAsked(case.result.slip, "length", "thickness")
    turns = NumberAsked(case.depth / thread.pitch, "turns", "turns")
    each = NumberAsked(abs(case.feed - thread.pitch), "length", "thickness")
    return Draft(
        slip,
        (
            worked(_("Error of one turn"), each, "{more} − {less}"),
            worked(_("To that depth"), turns, "{deep} / {pitch}"),
            worked(_("Out of step"), slip, "{each} × {turns}"),
        ),
        given={
            "deep": length(case.depth),
            "feed": length(case.feed),
            "more": length(max(case.feed, thread.pitch)),
            "less": length(min(case.feed, thread.pitch)),
            "each": each,
            "turns": turns,
        },
    )
