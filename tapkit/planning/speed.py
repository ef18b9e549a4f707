"""Tapping speeds: where they come from, and the spindle speed they make."""

import math
from typing import NamedTuple

from tapkit import tables
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Sentence, Span, _, listed, of_table, pgettext

LEVELS = ("learner", "shop", "handbook")
"""Where to begin; everyday; the optimum a handbook prints."""
LEVEL_WORDS = {
    "learner": pgettext("speed for", "learner"),
    "shop": pgettext("speed for", "shop"),
    "handbook": pgettext("speed for", "handbook"),
}
"""What a level is called."""


class TappingSpeed(NamedTuple):
    """A cutting speed for a metal: `low` to `high` [m/min], the `level`, what metal the source speaks `of`, and
    the `source`."""

    low: float
    high: float
    level: str
    of: str
    source: str

    @property
    def span(self) -> Span:
        """The range as a quantity."""
        return Span(self.low, self.high, "speed", digits=3)

    def in_words(self) -> Sentence:
        """The range with its source, in one phrase."""
        said = dict(span=self.span, of=of_table(self.of), source=of_table(self.source))
        if self.level == "handbook":
            return _("{span} ({of}; {source}; an optimum for a 45-minute tool life, start far slower)", **said)
        return _("{span} ({of}; {source})", **said)


def is_coarse(thread: Thread) -> bool:
    """Whether a thread counts as coarse in a speed table.

    >>> is_coarse(Thread.parse("M10")), is_coarse(Thread.parse("1/4-28"))
    (True, False)
    """
    return thread.series in ("coarse", "UNC")


def tapping_speeds(work: Workpiece, thread: Thread) -> tuple[TappingSpeed, ...]:
    """Every speed the table `speeds` has for this metal and thread, slowest level first.

    >>> [s.level for s in tapping_speeds(Workpiece.parse("4140"), Thread.parse("M8"))]
    ['learner', 'shop', 'handbook']
    """
    wanted = ("any", "coarse" if is_coarse(thread) else "fine")
    fitting = [r for r in tables.rows("speeds") if r["thread"] in wanted]
    own = [r for r in fitting if r["group"] == work.name]
    rows = own or [r for r in fitting if r["group"] == work.group]
    found = (TappingSpeed(float(r["low"]), float(r["high"]), r["level"], r["of"], r["source"]) for r in rows)
    return tuple(sorted(found, key=lambda s: LEVELS.index(s.level)))


def tapping_speed(work: Workpiece, thread: Thread, level: str = "learner") -> TappingSpeed:
    """The speed of one level, or of the next slower one where the table has none.

    Raises ValueError for an unknown level or a metal without any speed.

    >>> tapping_speed(Workpiece.parse("304"), Thread.parse("M5"), "shop")[:3]
    (3.0, 7.6, 'shop')
    """
    if level not in LEVELS:
        raise ValueError(
            _("there is no level {level}; the levels are {levels}", level=repr(level), levels=listed(LEVELS))
        )
    found = [s for s in tapping_speeds(work, thread) if LEVELS.index(s.level) <= LEVELS.index(level)]
    if not found:
        raise ValueError(_("no tapping speed is known for {work}; ask the instructor or a handbook", work=work.printed))
    return found[-1]


def spindle_speed(speed: float, diameter: float) -> float:
    """Spindle speed n = 1000 v/(π D) [rpm] from v [m/min] and D [mm]; handbook formula.

    >>> round(spindle_speed(10, 10), 1)
    318.3
    """
    return 1000 * speed / (math.pi * diameter)


def cutting_speed(rpm: float, diameter: float) -> float:
    """Cutting speed v = π D n/1000 [m/min], the reverse of `spindle_speed`."""
    return math.pi * diameter * rpm / 1000


def cutting_power(torque: float, rpm: float) -> float:
    """Power P = 2π n M/60 [W] of a torque [N·m] at a spindle speed [rpm].

    >>> round(cutting_power(8.0, 318.3))
    267
    """
    return 2 * math.pi * rpm / 60 * torque


def round_down(rpm: float) -> float:
    """A spindle speed rounded down to two digits, as one would set it.

    >>> round_down(318.3), round_down(1273), round_down(96.4)
    (310.0, 1200.0, 96.0)
    """
    if rpm <= 0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(rpm)) - 1)
    return round(math.floor(rpm / step + 1e-9) * step, 6)
