"""The marks of a class as one HTML page: what to teach tomorrow first, then everyone, then every line left out."""

from tapkit.classroom.marking import Marks
from tapkit.exercises.exercise import Exercise
from tapkit.messages import Number, _
from tapkit.pages import PAGE, PAGES, page

ACROSS = 24
"""Exercises side by side in one table, so that it fits the paper."""
SHOWN_MOST = 400
"""Problems listed on the page; all of them stand in problems.csv."""


def marks_page(marks: Marks, *, title: str) -> str:
    """The whole page."""
    numbered = list(enumerate(marks.exercises, start=1))
    return page(
        "marks.html",
        marks=marks,
        title=title,
        most=SHOWN_MOST,
        shown=lambda points: points if isinstance(points, int) else Number(points, decimals=2),
        foot=_("Marks · page {page} of {pages}", page=PAGE, pages=PAGES),
        names={one.id: one.name for one in marks.roster},
        tried=_tried(marks),
        blocks=[numbered[at : at + ACROSS] for at in range(0, len(numbered), ACROSS)],
        done_by=lambda learner: [r for r in marks.results[learner.id].values() if r.tries],
    )


def _tried(marks: Marks) -> list[tuple[Exercise, float]]:
    """The exercises that somebody tried and the share that is right, the lowest first."""
    tried = [e for e in marks.exercises if any(r[e.name].counts for r in marks.results.values())]
    return sorted(((e, marks.right_share(e)) for e in tried), key=lambda pair: pair[1])
