"""A learner's sheet, and the instructor's key of a whole class, as HTML files that print cleanly."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from tapkit.classroom.roster import Learner
from tapkit.classroom.sketches import sketch_html
from tapkit.exercises.blanks import BlanksAsked, SettingAsked
from tapkit.exercises.exercise import Question
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.options import ChoiceAsked, OrderAsked
from tapkit.messages import Sentence, _
from tapkit.pages import PAGE, PAGES, page

PAPERS = {"A4": "210mm 297mm", "Letter": "8.5in 11in"}


class LearnerSheet(NamedTuple):
    """One learner's sheet: whose it is, its code (which does not tell its seed), its questions."""

    learner: Learner
    code: str
    questions: tuple[Question, ...]


class SheetPlace(NamedTuple):
    """A place to write on: the words before it, the unit after it, its look ("", "box" or "long")."""

    label: Sentence | str
    unit: str = ""
    look: str = ""


class Space(NamedTuple):
    """Room for one answer."""

    has_work: bool
    places: tuple[SheetPlace, ...]


def sheet_page(sheet: LearnerSheet, *, title: str, paper: str = "A4") -> str:
    """One learner's sheet on `paper`, A4 or Letter."""
    foot = _("{name} · {title} · page {page} of {pages}", name=sheet.learner.name, title=title, page=PAGE, pages=PAGES)
    return _sheets((sheet,), (foot,), title, paper)


def class_page(sheets: Sequence[LearnerSheet], *, title: str, paper: str = "A4") -> str:
    """The sheets of a whole class as one file to print; each begins on a front page, so both sides can be printed."""
    feet = [_("{name} · {id} · {title}", name=s.learner.name, id=s.learner.id, title=title) for s in sheets]
    return _sheets(sheets, feet, title, paper)


def _sheets(sheets: Sequence[LearnerSheet], feet: Sequence[Sentence], title: str, paper: str) -> str:
    return page(
        "sheet.html",
        sheets=sheets,
        feet=feet,
        title=title,
        size=PAPERS[paper],
        sketch=sketch_html,
        how_of=_how,
        columns_of=_columns,
        space_of=_space,
    )


def key_page(sheets: Sequence[LearnerSheet], *, title: str, seed: str, paper: str = "A4") -> str:
    """The key of a whole class: right answers, known mistakes, seeds, and each worked solution once."""
    foot = _("Key · page {page} of {pages}", page=PAGE, pages=PAGES)
    return page(
        "key.html",
        sheets=sheets,
        title=title,
        seed=seed,
        size=PAPERS[paper],
        foot=foot,
        mistakes_of=_mistakes,
        solutions=_solutions(sheets),
    )


# --- a sheet ------------------------------------------------------------------------------------------------


def _how(question: Question) -> Sentence | str:
    if isinstance(question.ask, SettingAsked):
        return _("Write a value in every blank so that all requests are met.")
    return question.how


def _columns(question: Question) -> list[list[str]]:
    """Options, with the reasons beside them; items; requests."""
    if isinstance(question.ask, BlanksAsked) or not question.lines:
        return []
    lines = list(question.lines)
    reasons = len(question.ask.reasons) if isinstance(question.ask, ChoiceAsked) else 0
    cut = len(lines) - reasons - 1
    return [lines[:cut], lines[cut:]] if reasons else [lines]


def _space(question: Question) -> Space:
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
        return Space(
            False, (SheetPlace(_("Answer"), look="box"), *(SheetPlace("", look="box") for one in ask.lines[1:]))
        )
    return Space(False, () if isinstance(ask, SettingAsked) else (SheetPlace(_("Answer"), look="long"),))


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


def _mistakes(question: Question) -> dict[Sentence, list[str]]:
    """The same by name, in words."""
    together: dict[Sentence, list[str]] = {}
    for value, name in known_mistakes(question):
        together.setdefault(Sentence(name.replace("-", " ")), []).append(value)
    return together


def _solutions(sheets: Sequence[LearnerSheet]) -> list[tuple[Question, list[str]]]:
    """Every variant that somebody has, once, with who has it; in the order of the set."""
    used: dict[tuple[str, int], tuple[Question, list[str]]] = {}
    for sheet in sheets:
        for one in sheet.questions:
            used.setdefault((one.exercise.name, one.index), (one, []))[1].append(sheet.learner.id)
    order = {name: place for place, name in enumerate(dict.fromkeys(name for name, _index in used))}
    return [used[key] for key in sorted(used, key=lambda key: (order[key[0]], key[1]))]
