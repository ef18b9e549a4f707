"""A test of the class at a learner's place: it opens and closes by the clock, one answer to each question, no hints.

panels.class_test()    at Start here
"""

import contextlib
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, NamedTuple

import anywidget
import ipywidgets
import traitlets

from tapkit.drawing import style
from tapkit.exercises import classtest, locked, me
from tapkit.exercises.classtest import ClassTest
from tapkit.exercises.record import BEGIN, Record
from tapkit.exercises.verdict import Verdict
from tapkit.messages import Sentence, _, ngettext, said
from tapkit.panels import quizlook
from tapkit.panels.deck import given_seed
from tapkit.panels.finaltest import SittingDeck, SittingQuiz
from tapkit.panels.markup import joined, paragraph, tag
from tapkit.panels.onscreen import in_view, key_row
from tapkit.panels.panel import button
from tapkit.panels.quiz import own_record
from tapkit.panels.tally import Watcher

STYLE = f"""{quizlook.STYLE}
.tapkit-countdown {{font-weight: 600; font-variant-numeric: tabular-nums; padding: 2px 0 6px}}
.tapkit-countdown.tapkit-soon {{color: {style.WARN}; text-decoration: underline}}
.tapkit-quiz .tapkit-results td {{padding: 2px 14px 2px 0; border-bottom: 1px solid {style.FAINT}}}
"""
NONE = _("No test is set now. When your instructor sets one, it appears here.")
SECURE = (
    _(
        "Everybody gets other numbers. One answer to each question counts: the first. What stands in the answer when "
        "the time is over is taken. Hints and solutions stay closed."
    ),
    _(
        "What this test cannot do: it closes no other window, does not see who sits here, and goes by this machine's "
        "clock. It computes on this machine, so somebody who programs can look behind it. Where marks must stand, "
        "it is written on paper."
    ),
    _(
        "When you begin is written into your record. On a hub, which keeps a copy of it, a second beginning shows on "
        "the marks whatever is deleted. On a machine of one's own, whoever deletes the whole record can begin again, "
        "and no mark shows it unless the record was handed in before."
    ),
)
"""What is and what is not secure about it, said to everybody."""


class Countdown(anywidget.AnyWidget):
    """Time left, counted in the page."""

    _esm = Path(__file__).with_name("countdown.js")
    seconds = traitlets.Float(0.0).tag(sync=True)
    words = traitlets.Dict().tag(sync=True)


class SeenTest(NamedTuple):
    """What there is to show: the test (None for none), and whether it is "before", "open", "begun" or "over"."""

    test: ClassTest | None
    state: str
    problems: tuple[Sentence, ...] = ()


class TestQuiz(SittingQuiz):
    """Takes one answer to each question, and none once the time is over."""

    __test__ = False  # nothing for pytest

    def __init__(self, deck: SittingDeck, *, record: Record, at_end: Callable[[], None], takes: Callable[[], bool]):
        self.takes = takes
        super().__init__(deck, record=record, at_end=at_end)

    def check(self) -> Verdict | None:
        if not self.takes():
            self._end()
            return None
        return super().check()


class ClassTestPlace(Watcher):
    """A learner's side. `seen` is what it shows, `quiz` the questions while it is open."""

    name, mark = _("The test of the class"), "tapkit-class-test-still"
    kept = _("A test is sat on the screen.")

    def __init__(self, record: Record | None = None, seed: int | None = None) -> None:
        super().__init__()
        self.record = own_record() if record is None else record
        self.seed = given_seed() if seed is None else seed
        self.seen = SeenTest(None, "over")
        self.quiz: TestQuiz | None = None
        self._body = ipywidgets.VBox()
        self.widget = in_view(self._body, style=STYLE, mark=self.mark, label=self.name)
        self.look()

    @staticmethod
    def now() -> datetime:
        return datetime.now()

    def read(self) -> SeenTest:
        """The test that matters now: one that is open, else the next, else the last one."""
        tests, problems = classtest.class_tests()
        now = self.now()
        order = sorted(tests.values(), key=lambda t: (not t.is_open(now), t.closes < now, abs(t.opens - now)))
        if not order:
            return SeenTest(None, "over", problems)
        test = order[0]
        begun = self.begun(test)
        if now < test.opens:
            state = "before"
        elif now >= (test.ends(begun) if begun else test.closes):
            state = "over"
        else:
            state = "begun" if begun else "open"
        return SeenTest(test, state, problems)

    def begun(self, test: ClassTest) -> datetime | None:
        """When this learner began, None before; kept beside the record and in it, so that no one file undoes it."""
        kept = locked.unlocked(_key(test)).get("begun", "")
        history = self.record.history()
        times: list[datetime | None] = [classtest.local(e.time) for e in test.given(history, self.seed).values()]
        times += test.begins(history, self.seed)
        if kept:
            with contextlib.suppress(ValueError):
                times.append(datetime.fromisoformat(kept))
        return min(filter(None, times), default=None)

    def begin(self) -> None:
        """Begin: the minutes run from now."""
        test = self.seen.test
        if test is not None and test.is_open(self.now()) and self.begun(test) is None:
            self.record.add(test.begin_line(self.seed), BEGIN)
            locked.lock(_key(test), {"begun": self.now().isoformat(timespec="seconds")})
        self.look()

    def takes(self) -> bool:
        test = self.seen.test
        begun = test and self.begun(test)
        return bool(test and begun and self.now() <= test.ends(begun) + timedelta(seconds=5))

    def show(self, seen: SeenTest) -> None:
        quiz, self.quiz = self.quiz, None
        if quiz is not None and (seen.state == "over" or seen.test != self.seen.test) and self.takes():
            quiz.check()  # what stands in the answer when the time is over is the answer, as on paper
        self.seen = seen
        told = [ipywidgets.HTML(paragraph(problem, look="tapkit-caution")) for problem in self._for_instructors(seen)]
        if seen.test is None:
            none = _(
                "A test is set that cannot be shown here: {why}. Tell your instructor.",
                why=next(iter(seen.problems), ""),
            )
            self._body.children = (ipywidgets.HTML(paragraph(none if seen.problems else NONE)), *told)
            return
        parts = {"before": self._before, "open": self._open, "begun": self._questions, "over": self._over}
        self._body.children = (ipywidgets.HTML(_head(seen.test)), *parts[seen.state](seen.test), *told)

    def trouble(self, sentence: str) -> None:
        self._body.children = (ipywidgets.HTML(paragraph(sentence)),)

    def _for_instructors(self, seen: SeenTest) -> tuple[Sentence, ...]:
        return seen.problems if me.is_instructor() else ()

    def _before(self, test: ClassTest) -> list[Any]:
        opens = _("It opens by itself at {time}. Leave this page open.", time=f"{test.opens:%H:%M, %Y-%m-%d}")
        return [ipywidgets.HTML(paragraph(opens) + _rules(test))]

    def _open(self, test: ClassTest) -> list[Any]:
        key = button(_("Begin the test"), _("The time runs from now"), self.begin).add_class("tapkit-first")
        return [ipywidgets.HTML(_rules(test)), key_row(key)]

    def _questions(self, test: ClassTest) -> list[Any]:
        given = test.given(self.record.history(), self.seed)
        questions = test.questions(self.seed)
        left = tuple(q for q in questions if q.exercise.name not in given)
        begun = self.begun(test) or self.now()
        seconds = (test.ends(begun) - self.now()).total_seconds()
        words = {"left": said(_("{clock} left", clock="{time}")), "over": said(_("The time is over."))}
        if not left:
            return [ipywidgets.HTML(paragraph(_("All questions are answered. You can close this page.")))]
        self.quiz = TestQuiz(
            SittingDeck(left, len(questions)), record=self.record, at_end=self._again, takes=self.takes
        )
        return [Countdown(seconds=max(seconds, 0.0), words=words), self.quiz.widget]

    def _again(self) -> None:
        self._shown = None
        self.look()

    def _over(self, test: ClassTest) -> list[Any]:
        """What came of it: how many were answered; which were right once nobody sits it any more."""
        given = test.given(self.record.history(), self.seed)
        questions = test.questions(self.seed)
        told = ngettext(
            "It is over. You answered {given} of {count} question.",
            "It is over. You answered {given} of {count} questions.",
            len(questions),
            given=len(given),
        )
        if self.now() < test.closes or not given:
            return [ipywidgets.HTML(paragraph(told))]
        rows = (tag("tr", tag("td", q.exercise.title), tag("td", _sign(q, given))) for q in questions)
        return [ipywidgets.HTML(paragraph(told) + tag("table", *rows, class_="tapkit-results"))]


def _sign(question: Any, given: dict[str, Any]) -> str:
    entry = given.get(question.exercise.name)
    if entry is None:
        return said(_("no answer"))
    return f"{question.judge(entry.answer).sign} {entry.answer}"


def _key(test: ClassTest) -> str:
    return f"test {test.title} {test.opens:%Y-%m-%d %H:%M}"


def _head(test: ClassTest) -> str:
    return paragraph(_("Test: {title}", title=test.title), look="tapkit-head")


def _rules(test: ClassTest) -> str:
    count = ngettext(
        "{count} question. Open from {opens} to {closes}.",
        "{count} questions. Open from {opens} to {closes}.",
        len(test.names),
        opens=f"{test.opens:%H:%M}",
        closes=f"{test.closes:%H:%M}",
    )
    minutes = None
    if test.minutes:
        minutes = ngettext(
            "You have {minutes} minute from your beginning.",
            "You have {minutes} minutes from your beginning.",
            1 if test.minutes == 1 else 2,
            minutes=f"{test.minutes:g}",
        )
    return joined(paragraph(one) for one in (count, minutes, *SECURE) if one)


def class_test(*, record: Record | None = None, seed: int | None = None) -> ClassTestPlace:
    """The test that the instructor has set, where there is one."""
    return ClassTestPlace(record, seed)
