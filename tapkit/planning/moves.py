"""Moves of a tapping cycle: how a way is broken to clear chips, and how long a move takes."""

import math

BACK_BY = 0.5
"""Turns the tap is turned back each time to break chips; common practice (no source)."""


def steps(way: float, every: float | None) -> list[float]:
    """Ends of the steps of a way that is broken after `every` so much of it, the last one at its end."""
    count = math.ceil(way / every - 1e-9) if every else 1
    return [k * every for k in range(1, count)] + [way] if every else [way]


def time_for(turns: float, speed: float, acceleration: float) -> float:
    """Time for some turns from rest to rest [s] at most at `speed` [turns/s]."""
    if math.isinf(acceleration):
        return turns / speed
    ramp = speed**2 / acceleration
    if ramp <= turns:
        return 2 * speed / acceleration + (turns - ramp) / speed
    return 2 * math.sqrt(turns / acceleration)


def moves(face: float, stops: tuple[float, ...], back_turns: float | None) -> tuple[float, ...]:
    """Turns of every move from rest to rest on the ways in: to each of the `stops`, all in turns from the start, in
    metal from the `face` on, and in what is cut anew turned back after every `back_turns`.

    >>> moves(1.0, (3.0, 5.0), 1.0)
    (2.0, 0.5, 1.5, 4.0, 0.5, 1.5)
    """
    found: list[float] = []
    done = face
    for stop in stops:
        first, *more = steps(stop - done, back_turns)
        found.append(done + first)
        for before, now in zip((first, *more), more):
            found += [BACK_BY, BACK_BY + now - before]
        done = stop
    return tuple(found)
