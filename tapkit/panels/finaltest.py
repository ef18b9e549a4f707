"""The final test on the screen: five tasks, one answer each, then the record of what was done; and its check."""

import os
from collections.abc import Callable
from pathlib import Path

import ipywidgets

from tapkit.classroom.classargs import known
from tapkit.classroom.evidence import Book
from tapkit.classroom.folder import ClassFolder
from tapkit.classroom.roster import read_roster
from tapkit.exercises import finaltest, lessonpage, me
from tapkit.exercises.exercise import Question
from tapkit.exercises.record import Record
from tapkit.exercises.verdict import Verdict
from tapkit.messages import Sentence, _, ngettext, said
from tapkit.panels.deck import given_seed
from tapkit.panels.markup import paragraph
from tapkit.panels.mypage import saved_page
from tapkit.panels.onscreen import OnScreen, in_view, key_row
from tapkit.panels.panel import button
from tapkit.panels.quiz import Quiz, own_record

FILE = "my-final-test.html"


class SittingDeck:
    """The questions of a sitting that have no answer yet."""

    farewell = _("The test is at its end. What was done stands below.")
    takes_up = False

    def __init__(self, questions: tuple[Question, ...], of: int) -> None:
        self.questions, self.of = questions, of

    def at(self, number: int) -> Question | None:
        return self.questions[number] if number < len(self.questions) else None

    def head(self, number: int) -> Sentence:
        place = self.of - len(self.questions) + number + 1
        title = self.questions[number].exercise.title
        return _("Task {number} of {count} · {title}", number=place, count=self.of, title=title)

    def standing(self, number: int, record: Record) -> Sentence:
        left = len(self.questions) - number - 1
        if not left:
            return _("This is the last task. One answer, no hints.")
        return ngettext("{count} more task after this. One answer, no hints.",
                        "{count} more tasks after this. One answer, no hints.", left)  # fmt: skip


class SittingQuiz(Quiz):
    """A quiz that takes one answer to each question, and says only that it was taken; `at_end` is called at its end."""

    def __init__(self, deck: SittingDeck, *, record: Record, at_end: Callable[[], None]) -> None:
        self.at_end = at_end
        super().__init__(deck, record=record)

    def check(self) -> Verdict | None:
        return self.attempt.verdict if self.attempt.tries else super().check()

    def _end(self) -> None:
        self.at_end()

    def _show_keys(self, worked: bool) -> None:
        super()._show_keys(worked)
        self.check_key.description = str(_("Give this answer"))
        for key in (self.hint_key, self.solve_key, self.next_key):
            key.add_class("tapkit-gone")

    def _tell(self) -> None:
        super()._tell()
        self.solve_key.remove_class("tapkit-offered")
        if not self.attempt.tries:
            return
        told = paragraph(_("Your answer is taken. Go on."))
        if not self.saved.saved:
            told += paragraph(_("Not saved. {why}", why=self.saved.message))
        self.verdict.value = told
        self.reveal.value = ""
        self.answer_box.lock()
        self.check_key.add_class("tapkit-gone")
        self.next_key.remove_class("tapkit-gone")
        self.next_key.add_class("tapkit-first")


class FinalTest(OnScreen):
    """The test and, once it is finished, the record of it. `quiz` is None after the end."""

    name, mark = _("The final test"), "tapkit-test-still"
    kept = _("The final test is taken on the screen. Your instructor can print one with tapkit sheets.")

    def __init__(self, record: Record | None = None, seed: int | None = None) -> None:
        self.record = own_record() if record is None else record
        self.seed = given_seed() if seed is None else seed
        self._body, self.page_shown, self.said = ipywidgets.VBox(), ipywidgets.HTML(), ipywidgets.HTML()
        tip = _("Write {file} beside the workbooks", file=FILE)
        self.keys = key_row(
            button(_("Save the record for printing"), tip, self.save),
            button(_("Take the test again, with other numbers"), _("Five new questions"), self.begin),
        )
        self.widget = in_view(self._body, mark=self.mark, looks=())
        self.quiz: SittingQuiz | None = None
        if self.done and not self.begun:
            self.finish()
        else:
            self.begin()

    @property
    def done(self) -> tuple[finaltest.Sitting, ...]:
        return finaltest.finished(self.record.history(), self.seed)

    @property
    def begun(self) -> bool:
        """Whether the present test has an answer already."""
        now = finaltest.sitting(self.record.history(), self.seed)
        return len(now.left) < len(now.tasks)

    def begin(self) -> None:
        """Ask what is still to be asked."""
        now = finaltest.sitting(self.record.history(), self.seed)
        self.quiz = SittingQuiz(SittingDeck(now.left, len(now.tasks)), record=self.record, at_end=self.finish)
        self._body.children = (self.quiz.widget,)

    def finish(self) -> None:
        self.quiz = None
        self.said.value = ""
        self.page_shown.value = lessonpage.record(self.done[-1], name=me.name())
        self._body.children = (self.keys, self.said, self.page_shown)

    def save(self) -> None:
        """Keep the record as a file that any browser prints."""
        whole = lessonpage.record(self.done[-1], name=me.name(), whole=True)
        self.said.value = saved_page(self.record.path.parent / FILE, whole)


class CheckTest(OnScreen):
    """A box for the line of a record, and what it says."""

    name, mark = _("Check the record of a final test"), "tapkit-check-still"
    kept = _("A record of a final test is checked on the screen.")

    def __init__(self) -> None:
        self.box = ipywidgets.Text(description=said(_("Line of the record")), layout={"width": "min(52em, 100%)"})
        self.box.style.description_width = "initial"
        self.box.continuous_update = False
        self.said = ipywidgets.HTML().add_class("tapkit-told")
        self.box.observe(lambda change: self.check(), "value")
        now = button(_("Check"), _("Compute the sign again"), self.check)
        self.widget = in_view(self.box, key_row(now), self.said, mark=self.mark, looks=())

    def check(self) -> None:
        """Compute the sign again, and say what the line says."""
        text = self.box.value
        try:
            holder = holder_of(text)
            found = finaltest.check(text, holder)
        except ValueError as error:
            self.said.value = paragraph(_("✗ Not right: {why}.", why=error))
            return
        told = paragraph(_("✓ The sign fits. {says}", says=found.says))
        if holder:
            told += paragraph(_("The seed is that of {learner} in this class.", learner=holder))
        self.said.value = told


def holder_of(text: str) -> str | None:
    """Whose seed stands in a line, "" for nobody's; None where no class folder of this machine can say."""
    folder = os.environ.get("TAPKIT_CLASS", "")
    parts = text.split("/")
    if not folder or len(parts) < 5 or not parts[-3].strip().isdigit():
        return None
    try:
        told = known(ClassFolder(Path(folder)))
        book = Book(read_roster(told["roster"]), str(told["seed"]), ())
    except (OSError, ValueError):
        return None
    return book.holder(int(parts[-3]))


def final_test(*, record: Record | None = None, seed: int | None = None) -> FinalTest:
    """The final test on five parts of the press."""
    return FinalTest(record, seed)


def check_test() -> CheckTest:
    """For instructors: check the line of a record of a final test."""
    return CheckTest()
