"""A learner's sheet, and the instructor's key of a whole class, as HTML files that print cleanly."""

import math
from collections.abc import Sequence
from typing import NamedTuple

from tapkit.classroom.answerkey import right_answers, short_answer
from tapkit.classroom.roster import Learner
from tapkit.classroom.sheetlayout import MARGIN, PAPERS, columns_of, how_of, pages_of, space_of
from tapkit.classroom.sketches import printed_sketch
from tapkit.classroom.textfit import width_of
from tapkit.exercises.blanks import BlanksAsked
from tapkit.exercises.exercise import Question
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.options import ChoiceAsked, OrderAsked
from tapkit.locale import mistake_words
from tapkit.messages import Sentence, _
from tapkit.pages import PAGE, PAGES, page

NAMES, LEAST = 62.0, 6.5
"""Width of names and points in the grid [mm], and its smallest letters [pt]."""


class LearnerSheet(NamedTuple):
    """One learner's sheet: whose it is, its code (which does not tell its seed), its questions."""

    learner: Learner
    code: str
    questions: tuple[Question, ...]


def sheet_page(sheet: LearnerSheet, *, title: str, paper: str = "A4") -> str:
    """One learner's sheet on `paper`, A4 or Letter."""
    return class_page((sheet,), title=title, paper=paper)


def class_page(sheets: Sequence[LearnerSheet], *, title: str, paper: str = "A4", both_sides: bool = True) -> str:
    """The sheets of a whole class as one file to print; each begins on a front page, so both sides can be printed,
    unless only one side is."""
    return page(
        "sheet.html",
        sheets=[(sheet, [p for p in pages_of(sheet.questions, paper) if p or both_sides]) for sheet in sheets],
        title=title,
        paper=paper,
        size=_size(paper),
        height=PAPERS[paper][1] - 2 * MARGIN - 0.5,
        sketch=printed_sketch,
        how_of=how_of,
        columns_of=columns_of,
        space_of=space_of,
    )


def grid_page(sheets: Sequence[LearnerSheet], *, title: str, paper: str = "A4") -> str:
    """Right answers of a whole class on one page, to mark by: a row for each learner, a column for each exercise.

    A class too large for that gets a page for each block of exercises, all learners on each.
    """
    high, wide = PAPERS[paper]
    widths = _widths(sheets)
    blocks = _blocks(widths, wide - 20 - NAMES)
    tall = high - 36 - 3.6 * math.ceil(len(widths) / 3) - 6 * len(blocks)
    is_paged = tall / max(1, len(sheets) * len(blocks)) < LEAST_ROW
    return page(
        "grid.html",
        sheets=sheets,
        exercises=[one.exercise for one in sheets[0].questions] if sheets else [],
        blocks=blocks,
        title=title,
        size=f"{_size(paper)} landscape",
        row=min(9.0, tall / max(1, len(sheets) * (1 if is_paged else len(blocks)))),
        is_paged=is_paged,
        letters=min([9.0, *((wide - 20 - NAMES - 3 * len(b)) / sum(widths[i] for i in b) for b in blocks)]),
        short=short_answer,
    )


LEAST_ROW = 3.4
"""Height of a row that can be read and ticked [mm]."""


def _widths(sheets: Sequence[LearnerSheet]) -> list[float]:
    """The widest answer of each exercise [mm] at letters of one point."""
    rows = ([short_answer(q) for q in sheet.questions] for sheet in sheets)
    return [max(width_of(text, 1.0) for text in column) for column in zip(*rows)]


def _blocks(widths: Sequence[float], width: float) -> list[list[int]]:
    """Exercises side by side so that letters of `LEAST` points fit a width [mm]."""
    blocks: list[list[int]] = [[]]
    for place, one in enumerate(widths):
        own = blocks[-1]
        if own and sum(LEAST * widths[i] + 3 for i in own) + LEAST * one + 3 > width:
            blocks.append([])
        blocks[-1].append(place)
    return blocks


def _size(paper: str) -> str:
    return {"A4": "A4", "Letter": "letter"}[paper]


def key_page(sheets: Sequence[LearnerSheet], *, title: str, seed: str, paper: str = "A4") -> str:
    """The key of a whole class: all right answers with tolerance, known mistakes, and each worked solution once."""
    foot = _("Key · page {page} of {pages}", page=PAGE, pages=PAGES)
    return page(
        "key.html",
        sheets=sheets,
        title=title,
        seed=seed,
        size=_size(paper),
        foot=foot,
        answers_of=right_answers,
        mistakes_of=mistakes_in_words,
        solutions=_solutions(sheets),
    )


# --- the key ------------------------------------------------------------------------------------------------


def known_mistakes(question: Question) -> list[tuple[str, str]]:
    """What a learner writes and the name of the mistake it comes from, for all that are known."""
    ask = question.ask
    if isinstance(ask, NumberAsked):
        return [(ask.text(slip.value / ask.own), slip.name) for slip in ask.mistakes]
    if isinstance(ask, ChoiceAsked):
        options = [(letter, o.name) for letter, o in zip("ABCDEFGH", ask.options) if not o.is_right]
        return options + [(str(n), r.name) for n, r in enumerate(ask.reasons, start=1) if not r.is_right]
    if isinstance(ask, OrderAsked):
        orders = [(", ".join(ask.letters_of(m.texts)), m.name) for m in ask.mistakes]
        return [*orders, (", ".join(ask.letters_of(ask.items[::-1])), "opposite-order")]
    if isinstance(ask, BlanksAsked):
        return [
            (f"{p.label} {p.number.text(s.value / p.number.own)}", s.name) for p in ask.parts for s in p.number.mistakes
        ]
    return []


def mistakes_in_words(question: Question) -> dict[Sentence, list[str]]:
    """The same in words: by name, and in a question of the class's own, which names none, by what it says of it."""
    ask, own = question.ask, f"{question.exercise.name}-"
    says = {m.name: m.says for m in getattr(ask, "options", None) or getattr(ask, "mistakes", ())}
    together: dict[Sentence, list[str]] = {}
    for value, name in known_mistakes(question):
        words = says.get(name) if name.startswith(own) else None
        together.setdefault(words or Sentence(mistake_words(name)), []).append(value)
    return together


def _solutions(sheets: Sequence[LearnerSheet]) -> list[tuple[Question, list[str]]]:
    """Every variant that somebody has, once, with who has it; in the order of the set."""
    used: dict[tuple[str, int], tuple[Question, list[str]]] = {}
    for sheet in sheets:
        for one in sheet.questions:
            used.setdefault((one.exercise.name, one.index), (one, []))[1].append(sheet.learner.id)
    order = {name: place for place, name in enumerate(dict.fromkeys(name for name, _index in used))}
    return [used[key] for key in sorted(used, key=lambda key: (order[key[0]], key[1]))]
