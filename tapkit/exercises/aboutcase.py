"""What a question is about: the one part, tap, thread, workpiece, plan and job that its case is, or holds."""

from collections.abc import Iterator
from typing import Any, TypeVar

from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Number, angle, length
from tapkit.operation import Operation
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holeplan import HolePlan
from tapkit.planning.press import PressPart

T = TypeVar("T")


def about(case: Any) -> dict[str, Any]:
    """What the sentences of a question may say of its case, by name."""
    things = list(_held(case))
    given: dict[str, Any] = {}
    if thread := the_one(Thread, things):
        given |= {"thread": thread.designation, "major": length(thread.major)}
        given |= {"pitch": length(thread.pitch, inch_decimals=5)}
    if work := the_one(Workpiece, things):
        given |= {"metal": work.printed}
    if job := the_one(Operation, things):
        given |= {"hole": length(job.hole.diameter)}
    if tap := the_one(Tap, things):
        given |= {"tap": tap.name, "flutes": tap.flutes, "threads": Number(tap.chamfer_threads, 4)}
        given |= {"core": length(tap.core_diameter)}
    if ask := the_one(DrawingAsk, things):
        given |= {"thickness": length(ask.thickness), "floor": length(ask.floor), "drill": length(ask.drill)}
        given |= {"point": angle(ask.drill_angle), "half": angle(ask.drill_angle / 2)}
    if plan := the_one(HolePlan, things):
        given |= {"threads": Number(plan.threads, 4), "cylinder": length(plan.cylinder)}
    if part := the_one(PressPart, things):
        given |= {"part": part.name, "depth": length(part.depth)}
    return given


def system_of(case: Any) -> str:
    """The units of a case: those its thread is drawn in."""
    thread = the_one(Thread, list(_held(case)))
    return "metric" if thread is None or thread.system == "metric" else "inch"


def job_of(case: Any, *sketches: Any) -> Operation | None:
    """The one job that a case is or holds, or that a sketch shows; None where there is none, or more than one."""
    shown = [sketch.model for sketch in sketches if sketch]
    found = [case, getattr(case, "job", None), *(case if isinstance(case, tuple) else ()), *shown]
    return the_one(Operation, found)


def the_one(kind: type[T], things: list[Any]) -> T | None:
    """The one thing of a kind among some, None where there is none, or more than one."""
    found = {thing for thing in things if isinstance(thing, kind)}
    return found.pop() if len(found) == 1 else None


def _held(case: Any) -> Iterator[Any]:
    """A case and all that it holds."""
    yield case
    fields = ("tap", "thread", "workpiece", "ask")
    for thing in case if isinstance(case, tuple) else (getattr(case, field, None) for field in fields):
        if thing is not None:
            yield from _held(thing)
