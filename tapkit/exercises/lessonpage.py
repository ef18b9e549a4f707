"""The learner's own page, the summary of a lesson and the record of a final test, as HTML that needs nothing else and
prints on A4 and Letter."""

from collections.abc import Sequence
from datetime import UTC, datetime

from tapkit import tables
from tapkit.exercises.classtest import Outcome
from tapkit.exercises.finaltest import Checked, Sitting
from tapkit.exercises.lessons import FINAL, Lesson, all_lessons, lesson
from tapkit.exercises.progress import Progress
from tapkit.messages import _
from tapkit.pages import page

STATES = {"sure": ("●", _("sure")), "begun": ("◐", _("begun")), "new": ("○", _("not begun"))}
"""Sign and word for each state; the sign stands for those who do not see colour."""


def fragment(
    progress: Progress,
    *,
    name: str = "",
    when: datetime | None = None,
    whole: bool = False,
    tests: Sequence[Sitting] = (),
    outcomes: Sequence[Outcome] = (),
) -> str:
    """The page as a piece of HTML for a notebook, or as a `whole` file; `tests` are final tests that are finished,
    `outcomes` how it stands with tests of the class."""
    by_lesson = [(n, [s for s in progress.standings if s.exercise.lesson == n.number]) for n in all_lessons()]
    checked = [Checked(name, t.day, t.seed, t.marks) for t in tests]
    done = {n.number: progress.is_done(n.number) for n in all_lessons()}
    done[FINAL] = any(test.is_passed for test in checked)
    undone = [n for n in all_lessons() if not done[n.number]]
    return page(
        "mypage.html",
        progress=progress,
        name=name,
        when=when or datetime.now(UTC),
        whole=whole,
        lessons=by_lesson,
        next=undone[0] if undone else None,
        lesson=lesson,
        states=STATES,
        final=FINAL,
        done=done,
        tests=checked,
        outcomes=outcomes,
    )


def lesson_page(one: Lesson, *, whole: bool = False) -> str:
    """A lesson on one page: its goal, its formulas, the reasons of its exercises, its words, the cautions."""
    return page("summary.html", lesson=one, whole=whole, cautions=tables.rows("cautions"))


def record(sitting: Sitting, *, name: str = "", whole: bool = False) -> str:
    """What was done in a final test, to print and to sign."""
    checked = Checked(name, sitting.day, sitting.seed, sitting.marks)
    return page("finaltest.html", sitting=sitting, checked=checked, name=name, whole=whole, final=lesson(FINAL))
