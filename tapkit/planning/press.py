"""The invented press of the lessons: one job for each part, the same in workbooks, panels, exercises and class book.

A part's drill is what `advised_drills` gives for its metal and depth, its tap what `choose` gives on a machine.
"""

import contextlib
import math
from collections.abc import Iterator
from contextvars import ContextVar
from dataclasses import dataclass
from functools import cache
from typing import Any

from tapkit import tables
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Sentence, _, listed, of_table
from tapkit.operation import Operation
from tapkit.planning.candidate import Job, candidate
from tapkit.planning.choice import Choice, choose
from tapkit.planning.drill import DrillFit, advised_drills, wanted_percent
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holeplan import HolePlan

FLOOR = 2.0
"""Metal left below the drill's point in a blind hole of the press [mm]; this project's choice."""
MACHINE = "drill press"
"""What the press is tapped on where nothing is said."""
QUANTITY = 20
"""Holes of a kind in a set of presses."""


@dataclass(frozen=True)
class PressPart:
    """A part of an apple press (invented): `depth` is the thickness of a through part, or the full thread wanted in a
    blind hole [mm].

    >>> part = press_part("base")
    >>> part.bore, part.choice().best.tap.name
    (8.5, 'straight-flute plug')
    """

    part: str
    press: str
    thread: Thread
    hole: str
    depth: float
    workpiece: Workpiece
    is_own: bool = False

    @property
    def name(self) -> Sentence | str:
        """The part and its press in words; of a part of one's own, `press` names what it belongs to."""
        if self.is_own:
            return _("{part} of the {whole}", part=self.part, whole=self.press) if self.press else self.part
        return _("{part} of the {press} press", part=of_table(self.part), press=of_table(self.press))

    @property
    def metal(self) -> str:
        """The workpiece as the trade prints it."""
        return self.workpiece.printed

    @property
    def system(self) -> str:
        """The units it is drawn in: "metric", or "inch" with a unified thread."""
        return "metric" if self.thread.system == "metric" else "inch"

    @property
    def is_through(self) -> bool:
        """Whether the hole goes through."""
        return self.hole == "through"

    @property
    def drill(self) -> DrillFit:
        return _drill(self)

    @property
    def bore(self) -> float:
        """Diameter of that drill [mm]."""
        return self.drill.drill.diameter

    def ask(self, **changes: Any) -> DrawingAsk:
        """What its drawing asks; a blind hole has twice the thread's width of metal below its thread, and a floor."""
        if self.is_through:
            return DrawingAsk(
                thread=self.thread, drill=self.bore, **dict(kind="through", thickness=self.depth) | changes
            )
        step = 1.0 if self.thread.system == "metric" else 25.4 / 16
        thick = step * math.ceil((self.depth + 2 * self.thread.major + FLOOR) / step - 1e-9)
        usual = dict(full_thread=self.depth, thickness=thick, floor=FLOOR)
        return DrawingAsk(thread=self.thread, drill=self.bore, **usual | changes)

    def plan(self, threads: float, **changes: Any) -> HolePlan:
        return HolePlan(self.ask(**changes), threads)

    def job(self, machine: str = MACHINE) -> Job:
        """Its tapping job on a machine."""
        return Job.make(self.ask(), self.workpiece, machine, QUANTITY)

    def choice(self, machine: str = MACHINE) -> Choice:
        """Its taps, judged and ranked."""
        return _choice(self, machine)

    def tap(self, form: str | None = None, chamfer: str | float | None = None, machine: str = MACHINE) -> Tap:
        """The best tap for it on a machine, or one of another form and chamfer for this metal."""
        if form is None:
            return self.choice(machine).best.tap  # type: ignore[union-attr]
        return candidate(self.thread, self.workpiece, form, chamfer or "plug")

    def operation(self, tap: Tap | None = None, thick: float | None = None) -> Operation:
        """A tap (its own where none is given) in its hole; `thick` for another thickness of a through part [mm]."""
        tap = tap or self.tap()
        if self.is_through:
            hole = Hole(kind="through", diameter=self.bore, depth=thick or self.depth)
        else:
            hole = self.plan(tap.chamfer_threads).hole()
        return Operation(tap=tap, hole=hole, workpiece=self.workpiece)


@cache
def _drill(part: PressPart) -> DrillFit:
    percent = wanted_percent(part.workpiece, full_thread=part.depth, major=part.thread.major).percent
    return advised_drills(part.thread, percent, count=1, work=part.workpiece.name)[0]


@cache
def _choice(part: PressPart, machine: str) -> Choice:
    return choose(part.job(machine))


_instead: ContextVar[tuple[PressPart, ...]] = ContextVar("parts in place of the press", default=())


@contextlib.contextmanager
def press_parts_are(parts: tuple[PressPart, ...]) -> Iterator[None]:
    """Parts of one's own in place of those of the press, for as long as it holds."""
    token = _instead.set(parts)
    try:
        yield
    finally:
        _instead.reset(token)


def parts_in_place() -> tuple[PressPart, ...]:
    """Parts of one's own that stand in place of the press; empty where none do."""
    return _instead.get()


def whole_of(usual: Sentence) -> Sentence:
    """What the parts belong to, in words: the press as it is usually called, or what parts of one's own name; with a
    capital where the usual words have one."""
    own = _instead.get()
    if not own:
        return usual
    if str(usual)[:1].isupper():
        return _("The {whole}", whole=own[0].press) if own[0].press else _("This job")
    return _("the {whole}", whole=own[0].press) if own[0].press else _("this job")


def press_parts(hole: str | None = None, system: str | None = None, press: str | None = None) -> tuple[PressPart, ...]:
    """Parts of the presses by kind of hole, system of thread and press; all where nothing is said."""
    own = _instead.get()
    if own:
        return tuple(p for p in own if hole in (None, p.hole) and system in (None, p.thread.system))
    return _parts(hole, system, press)


@cache
def _parts(hole: str | None, system: str | None, press: str | None) -> tuple[PressPart, ...]:
    rows = (
        PressPart(
            part=r["part"],
            press=r["press"],
            thread=Thread.parse(r["thread"]),
            hole=r["hole"],
            depth=float(r["depth_mm"]),
            workpiece=Workpiece.parse(r["workpiece"]),
        )
        for r in tables.rows("press_parts")
    )
    return tuple(
        p for p in rows if hole in (None, p.hole) and system in (None, p.thread.system) and press in (None, p.press)
    )


def press_part(part: str, press: str = "orchard") -> PressPart:
    """One part of one press; ValueError with the parts there are."""
    parts = {p.part: p for p in press_parts(press=press)}
    if part not in parts:
        presses = dict.fromkeys(p.press for p in press_parts())
        told = _(
            "there is no part {part} of a press {press}; the parts are {parts}, the presses {presses}",
            part=str(part)[:40],
            press=str(press)[:40],
            parts=listed(dict.fromkeys(p.part for p in press_parts())),
            presses=listed(presses),
        )
        raise ValueError(told)
    return parts[part]
