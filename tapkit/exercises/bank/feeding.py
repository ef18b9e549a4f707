"""Lesson 8, the feed: for each minute, for each turn, and when it is not the lead."""

from __future__ import annotations

from itertools import product
from typing import NamedTuple

from tapkit.exercises.bank.rows import an, g, metric, mm, unified
from tapkit.exercises.exercise import Draft, Mistake, Step, exercise
from tapkit.exercises.number import Number
from tapkit.geometry.thread import Thread
from tapkit.planning.cycle import FeedError, feed_error
from tapkit.planning.press import PressPart, press_parts


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
    lesson=8,
    topic="cycle",
    level=1,
    kind="number",
    title="Feed for each minute",
    cases=lambda: [Fed(t, n) for t, n in product((*metric(4, 20), *metric(8, 20, "fine")), (120.0, 260.0, 450.0))],
    mistakes=(
        Mistake(
            "divided-by-pitch",
            lambda c: c.rpm / c.thread.lead,
            "You divided. Every turn takes the tap one pitch on: multiply.",
        ),
        Mistake(
            "diameter-for-pitch",
            lambda c: c.rpm * c.thread.major,
            "You took the diameter. The way of one turn along the axis is the pitch.",
        ),
    ),
)
def feed_per_minute(case: Fed) -> Draft:
    """Feed for each minute."""
    feed = Number(case.feed, "feed", "feed")
    return Draft(
        f"The machine wants the feed for each minute. You tap {case.thread.designation} at {g(case.rpm)} rpm, rigid. "
        "What feed goes with it?",
        feed,
        ("In one turn the tap must move one lead, exactly.", "So many turns a minute, each one lead."),
        (Step(f"Feed: {mm(case.thread.lead)} × {g(case.rpm)} rpm = {{}}", feed),),
    )


@exercise(
    "feed-per-turn-inch",
    lesson=8,
    topic="cycle",
    level=1,
    kind="number",
    title="Feed for each turn of an inch thread",
    cases=lambda: unified(0.1, 1.0),
    mistakes=(
        Mistake(
            "threads-for-feed",
            lambda t: 25.4 * t.threads_per_inch,
            "That is the number of threads along an inch. The feed is what one of them takes of the inch.",
        ),
        Mistake(
            "diameter-over-threads",
            lambda t: t.major / t.threads_per_inch,
            "You shared the diameter. Share one inch among the threads.",
        ),
    ),
)
def feed_per_turn_inch(thread: Thread) -> Draft:
    """Feed for each turn of an inch thread."""
    feed = Number(thread.lead, "feed per turn", "feed per turn", "inch")
    return Draft(
        f"The export press has {an(thread.designation)} thread. The machine wants the feed for each turn, in inch. "
        "What do you enter? Give at least four decimals.",
        feed,
        ("Feed for each turn is the lead.", "Lead = one inch shared among the threads on it."),
        (Step(f"Feed: 1 in / {g(thread.threads_per_inch)} = {{}}", feed),),
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
    lesson=8,
    topic="cycle",
    level=3,
    kind="number",
    title="When the feed is not the lead",
    cases=_offs,
    mistakes=(
        Mistake(
            "one-turn-only",
            lambda c: abs(c.feed - c.part.thread.pitch),
            "That is the error of one turn. It adds up from turn to turn.",
        ),
        Mistake(
            "depth-for-turns",
            lambda c: abs(c.feed - c.part.thread.pitch) * c.depth,
            "You multiplied by the depth in mm. Multiply by the turns: depth over pitch.",
        ),
    ),
)
def feed_error_adds_up(case: Off) -> Draft:
    """When the feed is not the lead."""
    thread = case.part.thread
    slip = Number(case.result.slip, "length", "thickness")
    turns = case.depth / thread.pitch
    each = abs(case.feed - thread.pitch)
    return Draft(
        f"Rigid tapping of the {case.part.name}, {thread.designation}, {mm(case.depth)} deep. Somebody enters a feed "
        f"of {g(case.feed)} mm for each turn. Nothing gives way. How far is the last thread out of step?",
        slip,
        ("First the error of one turn: feed and lead differ.", "Then how many turns it takes."),
        (
            Step(
                f"Error of one turn: {g(max(case.feed, thread.pitch))} − {g(min(case.feed, thread.pitch))} = {{}}",
                Number(each, "length", "thickness"),
            ),
            Step(f"Turns: {mm(case.depth)} / {mm(thread.pitch)} = {{}}", Number(turns, "turns", "turns")),
            Step(f"Out of step: {g(each)} mm × {g(turns)} = {{}}", slip),
        ),
    )


EXERCISES = (
    feed_per_minute,
    feed_per_turn_inch,
    feed_error_adds_up,
)
