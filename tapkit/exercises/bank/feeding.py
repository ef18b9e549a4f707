"""Lesson 8, the feed: for each minute, for each turn, and when it is not the lead."""

from itertools import product
from typing import NamedTuple

from tapkit.exercises.bank.rows import about, bare_number, metric, unified
from tapkit.exercises.exercise import Draft, Mistake, exercise, worked
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
    mistakes=(
        Mistake(
            "divided-by-pitch",
            lambda c: c.rpm / c.thread.lead,
            _("You divided. Every turn takes the tap one pitch on: multiply."),
        ),
        Mistake(
            "diameter-for-pitch",
            lambda c: c.rpm * c.thread.major,
            _("You took the diameter. The way of one turn along the axis is the pitch."),
        ),
    ),
)
def feed_per_minute(case: Fed) -> Draft:
    feed = NumberAsked(case.feed, "feed", "feed")
    return Draft(
        _("The machine wants the feed for each minute. You tap {thread} at {rpm}, rigid. What feed goes with it?"),
        feed,
        (_("In one turn the tap must move one lead, exactly."), _("So many turns a minute, each one lead.")),
        (worked(_("Feed"), feed, "{lead} × {rpm}"),),
        given=dict(thread=case.thread.designation, lead=length(case.thread.lead), rpm=Quantity(case.rpm, "rotation")),
    )


@exercise(
    "feed-per-turn-inch",
    cases=lambda: unified(0.1, 1.0),
    mistakes=(
        Mistake(
            "threads-for-feed",
            lambda t: 25.4 * t.threads_per_inch,
            _("That is the number of threads along an inch. The feed is what one of them takes of the inch."),
        ),
        Mistake(
            "diameter-over-threads",
            lambda t: t.major / t.threads_per_inch,
            _("You shared the diameter. Share one inch among the threads."),
        ),
    ),
)
def feed_per_turn_inch(thread: Thread) -> Draft:
    feed = NumberAsked(thread.lead, "feed per turn", "feed per turn", "inch")
    return Draft(
        _(
            "{whole} has a thread {thread}. The machine wants the feed for each turn, in inch. What do you "
            "enter? Give at least four decimals."
        ),
        feed,
        (_("Feed for each turn is the lead."), _("Lead = one inch shared among the threads on it.")),
        (worked(_("Feed"), feed, "{inch} / {tpi}"),),
        given=dict(
            thread=thread.designation,
            inch=length(25.4),
            tpi=bare_number(thread.threads_per_inch),
            whole=whole_of(_("The export press")),
        ),
        system="inch",
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
    mistakes=(
        Mistake(
            "one-turn-only",
            lambda c: abs(c.feed - c.part.thread.pitch),
            _("That is the error of one turn. It adds up from turn to turn."),
        ),
        Mistake(
            "depth-for-turns",
            lambda c: abs(c.feed - c.part.thread.pitch) * c.depth,
            _("You multiplied by the depth in mm. Multiply by the turns: depth over pitch."),
        ),
    ),
)
def feed_error_adds_up(case: Off) -> Draft:
    thread = case.part.thread
    slip = NumberAsked(case.result.slip, "length", "thickness")
    turns = NumberAsked(case.depth / thread.pitch, "turns", "turns")
    each = NumberAsked(abs(case.feed - thread.pitch), "length", "thickness")
    return Draft(
        _(
            "Rigid tapping of the {part}, {thread}, {deep} deep. Somebody enters a feed of {feed} for each turn. "
            "Nothing gives way. How far is the last thread out of step?"
        ),
        slip,
        (_("First the error of one turn: feed and lead differ."), _("Then how many turns it takes.")),
        (
            worked(_("Error of one turn"), each, "{more} − {less}"),
            worked(_("To that depth"), turns, "{deep} / {pitch}"),
            worked(_("Out of step"), slip, "{each} × {turns}"),
        ),
        given=about(case.part)
        | {
            "deep": length(case.depth),
            "feed": length(case.feed),
            "more": length(max(case.feed, thread.pitch)),
            "less": length(min(case.feed, thread.pitch)),
            "each": each,
            "turns": turns,
        },
    )
