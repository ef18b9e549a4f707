"""The learner's own page as HTML that needs nothing else and prints on A4 and Letter."""

from __future__ import annotations

from datetime import UTC, datetime

from tapkit.exercises.bank import lessons
from tapkit.exercises.progress import Progress
from tapkit.messages import _
from tapkit.pages import page

STATES = {"sure": ("●", _("sure")), "begun": ("◐", _("begun")), "new": ("○", _("not begun"))}
"""Sign and word for each state; the sign stands for those who do not see colour."""


def fragment(progress: Progress, *, name: str = "", when: datetime | None = None, whole: bool = False) -> str:
    """The page as a piece of HTML for a notebook, or as a `whole` file."""
    by_lesson = [(n, [s for s in progress.standings if s.exercise.lesson == n]) for n in lessons()]
    when = when or datetime.now(UTC)
    return page("mypage.html", progress=progress, name=name, when=when, whole=whole, lessons=by_lesson, states=STATES)


def document(progress: Progress, *, name: str = "", when: datetime | None = None) -> str:
    """The page as a whole file."""
    return fragment(progress, name=name, when=when, whole=True)
