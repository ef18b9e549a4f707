"""Which job a question is about."""

from typing import Any

from tapkit.operation import Operation


def job_of(case: Any, *sketches: Any) -> Operation | None:
    """The one job that a case is or holds, or that a sketch shows; None where there is none, or more than one."""
    shown = [sketch.model for sketch in sketches if sketch]
    found = [case, getattr(case, "job", None), *(case if isinstance(case, tuple) else ()), *shown]
    jobs = {one for one in found if isinstance(one, Operation)}
    return jobs.pop() if len(jobs) == 1 else None
