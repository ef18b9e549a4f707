"""The quiz: a question, its drawing, a place to answer, the verdict beside it, hints, the worked solution, next.

panels.quiz("chamfer-length")                 questions of one exercise, without end
panels.worked("chamfer-length")               one question with all its steps
panels.faded("chamfer-length", blanks=1)      the same with its last steps blank
panels.exercises(lesson=3)                    all exercises of a lesson, to choose from
panels.practice(topic="tooth load", level=1)  a mixed session: worked, faded, whole
"""

import contextlib
import logging
import os
import uuid
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

import ipywidgets
from IPython.display import HTML, display
from markupsafe import Markup

from tapkit.exercises import bank
from tapkit.exercises.attempt import Attempt
from tapkit.exercises.progress import progress as progress_of
from tapkit.exercises.record import History, Record, Saved
from tapkit.exercises.verdict import NOT_ATTEMPTED, Verdict
from tapkit.messages import _, ngettext, said
from tapkit.panels import quizlook as look
from tapkit.panels.answerbox import answer_for
from tapkit.panels.answerkeys import AnswerKeys
from tapkit.panels.controls import Controls
from tapkit.panels.deck import Deck, SessionDeck, VariantDeck, given_seed
from tapkit.panels.inpage import InPage
from tapkit.panels.markup import paragraph, tag
from tapkit.panels.onscreen import OnScreen, put_class, set_visible
from tapkit.panels.panel import hidden_style
from tapkit.panels.state import Pick, State

LATER = 3
"""So many questions behind the learner's seed a list of exercises begins."""


@cache
def own_record() -> Record:
    """The record of the learner of this notebook."""
    return Record()


def _told(extra: str = "") -> ipywidgets.HTML:
    words = ipywidgets.HTML().add_class("tapkit-told")
    if extra:
        words.add_class(extra)
    return words


class Quiz(OnScreen):
    """Questions of a deck on the screen, one at a time. `attempt` is the state of the present one, `turn` counts all
    that were shown, so that a late word of the page about an earlier one is known as such."""

    def __init__(self, deck: Deck, *, record: Record | None = None, panel: Any = None) -> None:
        self.deck, self.panel = deck, panel
        self.record = own_record() if record is None else record
        self.number = self.turn = -1
        self.attempt: Attempt
        self._mark = f"tapkit-{uuid.uuid4().hex[:12]}"
        self.answer_box: Any = None
        self.saved = Saved(True)
        self._build()
        self.use(deck)

    # --- what one does ------------------------------------------------------------------------------

    def check(self) -> Verdict | None:
        """Judge what stands in the answer, and write it into the record."""
        text = self.answer_box.text
        fresh = self.attempt.is_new(text)
        verdict = self.attempt.answer(text)
        if fresh and verdict.kind != NOT_ATTEMPTED:
            question, attempt = self.attempt.question, self.attempt
            self.saved = self.record.add(question, text, hints=attempt.hints, seen=attempt.seen)
        self._tell()
        return verdict

    def hint(self) -> None:
        self.attempt.next_hint()
        self._help()

    def solution(self) -> None:
        self.attempt.open_solution()
        self._help()

    def next(self) -> None:
        self.open(self.number + 1)

    def open(self, number: int, *, focus: bool = True, again: bool = True) -> None:
        """Show the question of this number; with `again` as it was left, where the record holds answers to it."""
        question = self.deck.at(number)
        if question is None:
            self._end()
            return
        self.number, self.turn, self.attempt = number, self.turn + 1, Attempt(question)
        worked = question.stage == "worked"
        self.answer_box = answer_for(question, self._entered(self.turn), self.panel, self.turn)
        self.keys.number = self.turn
        self.asked.value = look.question_html(question, self.deck.head(number))
        own = getattr(self.answer_box, "panel", None) is not None
        self.picture.value = ("" if own else look.sketch_html(question.sketch)) + look.asked_html(question)
        put_class(self.place, "tapkit-wide", self.answer_box.is_wide)
        self.place.children = () if worked else (self.answer_box.widget, self.how)
        self.how.value = tag("span", self.answer_box.how, class_="tapkit-small")
        self.verdict.value = self.helped.value = self.reveal.value = ""
        self._show_keys(worked)
        self.foot.value = self._standing()
        self.in_page.label = _("Question: {title}", title=question.exercise.title).said()
        self.in_page.turn += focus
        if again and self.deck.takes_up:
            self._guarded(self._take_up)()

    def use(self, deck: Deck) -> None:
        """Ask the questions of a deck, from the last one answered in a row; the focus stays where it is."""
        self.deck = deck
        number, history = 0, self.record.history() if deck.takes_up else History()
        while all((one := deck.at(number + n)) and history.to(one) for n in (0, 1)):
            number += 1
        self.open(number, focus=False)

    # --- inside -------------------------------------------------------------------------------------

    def _build(self) -> None:
        style = hidden_style(look.STYLE, self._mark)
        self.in_page, self.asked, self.picture = InPage(), ipywidgets.HTML(), ipywidgets.HTML()
        self.verdict, self.helped, self.reveal = _told(), _told(), _told("tapkit-reveal")
        self.how, self.foot = ipywidgets.HTML(), ipywidgets.HTML()
        self.place = ipywidgets.VBox().add_class("tapkit-answer")
        row = ipywidgets.Box([self.place, self.verdict]).add_class("tapkit-row")
        keys = self.keys = AnswerKeys(lambda standing: self.answer_box.take(standing))
        self.check_key = keys.add("check", str(_("Check")), self._guarded(self.check), "tapkit-first")
        self.hint_key = keys.add("hint", str(_("Hint")), self._guarded(self.hint))
        self.solve_key = keys.add("solve", str(_("Worked solution")), self._guarded(self.solution))
        self.next_key = keys.add("next", str(_("Next question")), self._guarded(self.next))
        parts = [style, self.asked, self.picture, row, keys, self.helped, self.reveal, self.foot, self.in_page]
        self.widget = ipywidgets.VBox(parts).add_class("tapkit-quiz")

    def _take_up(self) -> None:
        """Show the answers of the record again, as before the kernel was started anew."""
        given = self.record.history().to(self.attempt.question)
        if given:
            self.attempt.replay(given)
            self.answer_box.fill(given[-1].answer)
            self._tell()
            self._help(solved=bool(self.attempt.verdict and self.attempt.verdict.is_right))

    def _entered(self, turn: int) -> Callable[[], None]:
        """What Enter does in the answer of one turn, and of no other."""
        return self._guarded(lambda: self.check() if turn == self.turn else None)

    def _show_keys(self, worked: bool) -> None:
        for button in (self.check_key, self.hint_key, self.solve_key):
            set_visible(button, not worked)
        self.solve_key.remove_class("tapkit-offered")
        put_class(self.next_key, "tapkit-first", worked)
        prediction = self.attempt.is_prediction
        self.check_key.description = str(_("Lock my prediction") if prediction else _("Check"))

    def _tell(self) -> None:
        attempt = self.attempt
        told = look.verdict_html(attempt.verdict, attempt.question.exercise.why)
        if not self.saved.saved:
            told += paragraph(_("Not saved. {why}", why=self.saved.message))
        offered = attempt.offers_solution and not attempt.is_done
        if offered:
            told += paragraph(_("The worked solution is there if you want it."))
        put_class(self.solve_key, "tapkit-offered", offered)
        if attempt.is_done and not attempt.seen:
            told += look.set_up_html(attempt.question)
        self.verdict.value = told
        if attempt.is_locked:
            self.answer_box.lock()
            self.reveal.value = look.sketch_html(attempt.question.reveal)
        self.foot.value = self._standing()

    def _help(self, solved: bool = False) -> None:
        attempt = self.attempt
        no_more = attempt.hints >= len(attempt.question.hints)
        told = look.hints_html(attempt.open_hints, no_more)
        if attempt.seen or solved:
            told += look.solution_html(attempt.question.solution)
            told += "" if attempt.is_prediction else look.sketch_html(attempt.question.reveal)
            told += look.set_up_html(attempt.question) if attempt.seen else ""
        self.helped.value = told

    def _standing(self) -> str:
        try:
            told = said(self.deck.standing(self.number, self.record))
        except OSError:
            told = ""
        return tag("span", told, class_="tapkit-small")

    def _end(self) -> None:
        sign = tag("span", "✓", class_="tapkit-sign", aria_hidden="true")
        told = (sign, tag("b", _("Done.")), " ", self.deck.farewell)
        self.verdict.value = tag("div", *told, class_="tapkit-verdict right")

    def _guarded(self, action: Callable[[], Any]) -> Callable[[], None]:
        def done() -> None:
            try:
                action()
            except Exception as error:
                logging.getLogger("tapkit").exception("a quiz failed")
                why = f"{type(error).__name__}: {error}"
                told = _("Sorry. This question failed ({why}). Go on with the next one.", why=why)
                self.verdict.value = paragraph(told)

        return done

    def still(self) -> str:
        """The question as HTML that needs nothing else; hidden where the live one is shown."""
        return look.still_html(self.attempt.question, self.deck.head(self.number), self._mark)

    @property
    def name(self) -> str:
        question = self.attempt.question
        return "\n".join([question.text, *question.lines, question.how])


# --- the public way ---------------------------------------------------------------------------------------


def quiz(name: str, *, seed: int | None = None, panel: Any = None, record: Record | None = None) -> Quiz:
    """Questions of one exercise, beginning at a seed (the learner's own where none is given).

    `panel` is a panel of the workbook whose sliders answer a "set the sliders" question.
    """
    return Quiz(
        VariantDeck(bank.exercise_named(name), given_seed() if seed is None else seed), record=record, panel=panel
    )


def faded(name: str, *, blanks: int = 1, seed: int | None = None, record: Record | None = None) -> Quiz:
    """Questions of one exercise with the last one or two steps of the solution left blank.

    One blank and two begin with different questions, so that the first does not give the second away.
    """
    if blanks not in (1, 2):
        raise ValueError(_("{count} blanks cannot be asked; 1 or 2 work", count=blanks))
    deck = VariantDeck(bank.exercise_named(name), given_seed() + blanks if seed is None else seed, f"faded-{blanks}")
    return Quiz(deck, record=record)


def worked(name: str, *, seed: int | None = None) -> HTML:
    """One question of an exercise with its whole solution; never the one that `quiz` and `faded` begin with."""
    question = bank.exercise_named(name).variant((given_seed() if seed is None else seed) - 1)
    parts = (
        look.question_html(question, _("Worked example: {title}", title=question.exercise.title)),
        look.sketch_html(question.sketch),
        look.lines_html(question.lines),
        look.solution_html(question.solution),
        look.sketch_html(question.reveal),
        look.set_up_html(question, live=False),
    )
    return HTML(tag("style", Markup(look.STYLE)) + tag("div", *parts, class_="tapkit-quiz"))


def exercises(
    *,
    lesson: int | None = None,
    topic: str | None = None,
    level: int | None = None,
    core: bool | None = None,
    record: Record | None = None,
) -> "ExerciseSet":
    """The exercises of a lesson, topic or level, to choose from; its core, or what is more practice (`core` False)."""
    return ExerciseSet(bank.exercises(lesson=lesson, topic=topic, level=level, core=core, own=True), record=record)


class ExerciseSet:
    """A list of exercises and the one that is chosen."""

    def __init__(self, chosen: tuple[Any, ...], *, record: Record | None = None) -> None:
        if not chosen:
            raise ValueError(_("no exercise fits; give a lesson from 0 to 9, or a topic"))
        self.chosen = chosen
        self.quiz = Quiz(self._deck(chosen[0]), record=record)
        options = [(f"{i}. {e.title}", e.name) for i, e in enumerate(chosen, start=1)]
        pick = Pick(
            key="exercise",
            label=_("Exercise"),
            options=options,
            start=chosen[0].name,
            help=_("which exercise stands below"),
        )
        self.pick = Controls(State.begin([pick]))
        self.pick.on_change = self._choose
        self.quiz.widget.children = (self.pick, *self.quiz.widget.children)
        self.widget = self.quiz.widget

    def _choose(self) -> None:
        self.quiz.use(self._deck(bank.exercise_named(self.pick.values.exercise)))
        self.pick.tell()

    def _deck(self, exercise: Any) -> VariantDeck:
        """Begins behind what the prediction and the faded examples of the same workbook ask."""
        return VariantDeck(exercise, given_seed() + LATER)

    def _ipython_display_(self) -> None:
        self.quiz._ipython_display_()
        if "TAPKIT_PRINTED" in os.environ:
            display(HTML(printed([one.name for one in self.chosen[1:]], given_seed() + LATER)))
            return
        others = "; ".join(one.title for one in self.chosen[1:])
        if others:
            told = ngettext(
                "On the screen there is {count} more to choose from: {titles}. The command tapkit handout prints all.",
                "On the screen there are {count} more to choose from: {titles}. The command tapkit handout prints all.",
                len(self.chosen) - 1,
                titles=others,
            )
            names, seed = " ".join(one.name for one in self.chosen[1:]), given_seed() + LATER
            display(HTML(tag("p", told, class_=self.quiz._mark, data_exercises=names, data_seed=seed)))


def printed(names: Sequence[str], seed: int) -> str:
    """Exercises by name as HTML for paper; a name there is none of, as of a question taken away, is left out."""
    found = []
    for name in names:
        with contextlib.suppress(ValueError):
            deck = VariantDeck(bank.exercise_named(name), seed)
            found.append(look.still_html(deck.at(0), deck.head(0), ""))
    return "".join(found)


def practice(
    *,
    topic: str | None = None,
    level: int | None = None,
    lesson: int | None = None,
    length: int = 4,
    seed: int | None = None,
    record: Record | None = None,
) -> Quiz:
    """A mixed session by topic, level or lesson; what the learner's record asks for comes first."""
    record = own_record() if record is None else record
    history = record.history()
    start = given_seed() + len(history.entries) if seed is None else seed
    deck = SessionDeck.make(
        topic=topic, level=level, lesson=lesson, length=length, seed=start, progress=progress_of(history)
    )
    return Quiz(deck, record=record)
