"""Where everything of a sheet stands: exercises packed tight on pages of both sides of the paper.

A sheet takes as few leaves as it can, and fills both sides of each evenly; what room is left goes to the fields for
working. An exercise stands in two columns: what is asked to the left, where one works and answers to the right.
"""

from collections.abc import Sequence
from typing import NamedTuple

from tapkit.classroom.sketches import MM, shown_size
from tapkit.classroom.textfit import lines_of, width_of
from tapkit.exercises.blanks import BlanksAsked, SettingAsked
from tapkit.exercises.exercise import Question
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.options import ChoiceAsked, OrderAsked
from tapkit.messages import Sentence, _, said

PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height [mm]."""
MARGIN, FOOT = 10.0, 9.0
"""Round the page, and of the line at its foot [mm]."""
WIDE, RIGHT, GAP = 186.0, 64.0, 5.0
"""Width of what is printed, of the column to answer in, and between the two [mm]."""
SIZE, LINE, SMALL, SMALL_LINE = 10.0, 4.75, 8.5, 4.1
"""Letters [pt] and lines [mm], and the small ones."""
HEAD, TITLE, BETWEEN = 23.0, 5.6, 5.5
"""The head of the first page, the title of an exercise, and what parts two exercises [mm]."""
WORK, PLACE, BOX = 13.0, 9.5, 12.0
"""The least field to work in, the height of a place to answer, the width of a box [mm]."""
INDENT = 6.0


class SheetPlace(NamedTuple):
    """A place to write on: the words before it, the unit after it, its look ("", "box" or "long")."""

    label: Sentence | str
    unit: str = ""
    look: str = ""


class Space(NamedTuple):
    """Room for one answer."""

    has_work: bool
    places: tuple[SheetPlace, ...]


class Numbered(NamedTuple):
    """An exercise and its number on the sheet."""

    number: int
    question: Question


def pages_of(questions: Sequence[Question], paper: str) -> list[list[Numbered]]:
    """The exercises by page, an even number of pages unless all stands on one; a page may be empty."""
    room = PAPERS[paper][1] - 2 * MARGIN - FOOT - 1
    numbered = [Numbered(n, q) for n, q in enumerate(questions, start=1)]
    tall = [question_height(q) for q in questions]
    least = len(_packed(tall, room, room))
    if least <= 1:
        return [numbered, []]
    wanted = least + least % 2
    low, high = max(tall), room
    while high - low > 0.5:  # the lowest mark to fill to that needs no more pages
        middle = (low + high) / 2
        low, high = (low, middle) if len(_packed(tall, middle, room)) <= wanted else (middle, high)
    cuts = _packed(tall, high, room)
    pages = [numbered[a:b] for a, b in zip([0, *cuts], cuts)]
    return pages + [[] for _missing in range(wanted - len(pages))]


def _packed(tall: Sequence[float], fill: float, room: float) -> list[int]:
    """The ends of the pages where each is filled to a mark; one that is too tall stands alone."""
    ends, at = [], HEAD
    for place, one in enumerate(tall):
        if (
            at
            and at + one > min(fill + (HEAD if not ends else 0.0), room)
            and (place and (not ends or ends[-1] != place))
        ):
            ends.append(place)
            at = 0.0
        at += one
    return [*ends, len(tall)]


def question_height(question: Question) -> float:
    """What an exercise takes of a page [mm]."""
    left = WIDE - RIGHT - GAP
    return TITLE + max(_asked_height(question, left), _answer_height(question)) + BETWEEN


def _asked_height(question: Question, width: float) -> float:
    tall = sum(LINE * lines_of(line, width=width, size=SIZE) + 1 for line in said(question.text).splitlines() if line)
    if question.sketch:
        size = shown_size(question.sketch.name)
        words = LINE * lines_of(said(question.sketch.alt), width=width - 4, size=SIZE)
        tall += 3 + (size[1] * MM * min(1.0, width / (size[0] * MM)) if size else words)
    columns = columns_of(question)
    if columns:
        inner = (width - 4) * (0.45 if len(columns) > 1 else 1.0) - INDENT - 2
        last = (width - 4) * 0.55 - INDENT - 2 if len(columns) > 1 else inner
        widths = [inner, last]
        tall += 1.5 + max(
            sum(LINE * lines_of(str(line), width=w, size=SIZE) + 0.7 for line in lines)
            for lines, w in zip(columns, widths)
        )
    return tall


def _answer_height(question: Question) -> float:
    space, how = space_of(question), said(how_of(question))
    tall = SMALL_LINE * lines_of(how, width=RIGHT, size=SMALL) + 1.5 + (WORK if space.has_work else 0.0)
    at, rows = 0.0, 1 if space.places else 0
    for place in space.places:
        label = width_of(f"{said(place.label)} {place.unit} ", SIZE)
        long = label + {"box": BOX, "long": RIGHT - label}.get(place.look, 26.0) + 5
        if at and at + long > RIGHT:
            rows, at = rows + 1, 0.0
        at += long
        rows += int(at > RIGHT and long <= at and label + 26 > RIGHT)
    return tall + rows * PLACE


def how_of(question: Question) -> Sentence | str:
    """How to answer on paper."""
    if isinstance(question.ask, SettingAsked):
        return _("Write a value in every blank so that all requests are met.")
    return question.how


def columns_of(question: Question) -> list[list[str]]:
    """Options, with the reasons beside them; items; requests."""
    if isinstance(question.ask, BlanksAsked) or not question.lines:
        return []
    lines = list(question.lines)
    if isinstance(question.ask, SettingAsked):
        return [lines[: len(question.ask.requests)]]
    reasons = len(question.ask.reasons) if isinstance(question.ask, ChoiceAsked) else 0
    cut = len(lines) - reasons - 1
    return [lines[:cut], lines[cut:]] if reasons else [lines]


def space_of(question: Question) -> Space:
    """Room to work and places for the answer, by the kind of answer."""
    ask = question.ask
    if isinstance(ask, NumberAsked):
        return Space(True, (SheetPlace(_("Answer"), ask.unit),))
    if isinstance(ask, BlanksAsked):
        return Space(True, tuple(SheetPlace(p.label, p.number.unit) for p in ask.parts))
    if isinstance(ask, ChoiceAsked):
        reason = (SheetPlace(_("because"), look="box"),) if ask.reasons else ()
        return Space(False, (SheetPlace(_("Answer"), look="box"), *reason))
    if isinstance(ask, OrderAsked):
        return Space(False, tuple(SheetPlace("", look="box") for one in ask.lines))
    if isinstance(ask, SettingAsked):
        return Space(False, tuple(SheetPlace(s.label, f"({said(s.span)})") for s in ask.sliders))
    return Space(False, (SheetPlace("", look="long"),))
