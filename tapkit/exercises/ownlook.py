"""The drawing a question of one's own carries: that of the panel it was made on, of the question's own set-up.

It never gives the answer away: a number that would be the right answer stands as "?", and where the drawing shows what
was computed and that is asked, the tap alone is drawn.
"""

from collections.abc import Callable
from functools import partial
from typing import Any, NamedTuple

from tapkit import door, setupline
from tapkit.exercises import quantities
from tapkit.exercises.exercise import Sketch
from tapkit.exercises.number import NUMBER, NumberAsked, is_answer
from tapkit.messages import _, listed
from tapkit.operation import Operation
from tapkit.parameters import parameters


class Carried(NamedTuple):
    """A drawing by the name of `sketch`, what of a job it shows, and whether it `tells` what was computed."""

    sketch: str
    of: Callable[[Operation], Any]
    tells: bool = True


def _whole(job: Operation) -> Operation:
    return job


TAP = Carried("tip", lambda job: job.tap, tells=False)
DRAWINGS = {
    "tip": TAP,
    "load": Carried("toothforces", _whole),
    "chips": Carried("film", _whole),
    "hole": Carried("holeview", _whole),
    "section": Carried("endview", lambda job: job.tap, tells=False),
    "groove": Carried("groove", _whole),
    "askew": Carried("askew", _whole),
    "lean": Carried("lean", _whole),
}
"""Drawings by the name that stands in the column `drawing`."""


def drawing_of(text: str) -> Carried | None:
    """The drawing of a name, None for none. ValueError with those there are."""
    wanted = door.casefolded(text)
    if wanted and wanted not in DRAWINGS:
        known = listed(DRAWINGS, "or")
        raise ValueError(_("there is no drawing {name}; write {known}", name=door.quoted(text), known=known))
    return DRAWINGS.get(wanted)


def sketch_of(text: str, job: Operation, asked: str, ask: Any) -> Sketch | None:
    """The drawing of a name for a job, nothing of what is `asked` on it; None where no drawing is wanted."""
    carried = drawing_of(text)
    if carried is None:
        return None
    if carried.tells and asked in _told():
        carried = TAP
    mask = partial(hidden, ask=ask) if isinstance(ask, NumberAsked) else None
    return Sketch(carried.sketch, carried.of(job), _("Drawing of the set-up: {line}.", line=setupline.Line(job)), mask)


def hidden(text: str, ask: NumberAsked) -> str:
    """A text with "?" in place of every number that would be the right answer."""
    return NUMBER.sub(lambda found: "?" if is_answer(found[0], ask) else found[0], text)


def _told() -> set[str]:
    """Quantities that drawings of a cut tell: all that is computed, and what is said in words."""
    return {row.key for row in parameters() if row.owner == "result"} | set(quantities.WORDS)
