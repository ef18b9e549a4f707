"""A question to the whole room: `panels.tally()` for the instructor, `panels.room()` at each learner's place.

Both look at the class folder every two seconds. Names stay hidden until the instructor asks for them.
"""

import asyncio
import contextlib
import os
import weakref
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import ipywidgets
from IPython.display import HTML

from tapkit.classroom.folder import ClassFolder
from tapkit.classroom.room import Asked, Reply, Room
from tapkit.classroom.roster import ID, plain_id, read_roster
from tapkit.classroom.schoolclass import last_used
from tapkit.classroom.spread import spread_of_replies
from tapkit.exercises import bank, me, ownfile
from tapkit.exercises.exercise import Question
from tapkit.exercises.options import OrderAsked
from tapkit.messages import Sentence, _, ngettext, said
from tapkit.panels import roomlook as look
from tapkit.panels.answerbox import answer_for
from tapkit.panels.answerkeys import AnswerKeys
from tapkit.panels.classfolder import AskFolder
from tapkit.panels.desk.widgets import offer
from tapkit.panels.handvote import HandVote, spread_of_hands
from tapkit.panels.markup import bold, paragraph
from tapkit.panels.onscreen import OnScreen, cause, in_view, key_row, put_class, set_visible
from tapkit.panels.panel import switch

EVERY = 2.0
"""Seconds between two looks at the class folder."""
GO_ON = {
    "collecting": _("Close answers, show the spread"),
    "spread shown": _("Show the answer"),
    "revealed": _("All is shown"),
}


def tally(
    folder: str | Path | None = None, *, roster: str | Path | None = None, lesson: int | None = None
) -> "Tally | AskFolder":
    """The instructor's side: choose a question, ask it, close it, show the answer.

    `folder` is the class's room folder and `roster` a CSV that gives names to ids (the hub sets both), `lesson`
    whose exercises are offered. Where no folder is set, it is asked for.
    """

    def exercises() -> tuple[Any, ...]:
        return bank.exercises(lesson=lesson, own=True)

    if not (folder or roster or os.environ.get("TAPKIT_ROOM")) and me.is_instructor():
        place = own_room()
        return Tally(place.room, place.names, exercises, own_room)
    return _with_folder(folder, lambda place: Tally(Room(place), _names(roster), exercises))


class OwnRoom(NamedTuple):
    """Where an instructor's questions go without a hub: the `room`, `names` by id, whether hands are counted."""

    room: Room
    names: dict[str, str]
    by_hand: bool


def own_room() -> OwnRoom:
    """Of the class worked with at the desk; hands are counted where no folder leads to the learners."""
    top = Path(os.environ.get("TAPKIT_FOLDER") or ".")
    school = last_used(top / "classes")
    entered = me.class_folder()
    if school is None:
        return OwnRoom(Room(_room_in(entered) if entered else top / ".tapkit" / "room"), {}, entered is None)
    place = Path(school.shared) if school.shared else school.folder.root
    return OwnRoom(Room(place / "room"), {one.id: one.name for one in school.roster}, not school.shared)


def room(folder: str | Path | None = None, *, learner: str | None = None) -> "TallyPlace | AskFolder":
    """A learner's side: the question now asked, an answer to hand in, and the reveal when the instructor shows it.

    Where no folder is set, it is asked for.
    """
    return _with_folder(folder, lambda place: TallyPlace(Room(place), learner or me.name()))


def lesson_room(lesson: int) -> "TallyPlace | HTML":
    """The same in a lesson: questions of this lesson alone, and nothing at all where no class folder is set."""
    place = os.environ.get("TAPKIT_ROOM") or me.class_folder()
    return TallyPlace(Room(_room_in(Path(place))), me.name(), lesson) if place else HTML("<span hidden></span>")


def _with_folder(folder: str | Path | None, made: Callable[[Path], Any]) -> Any:
    place = folder or os.environ.get("TAPKIT_ROOM") or me.class_folder()
    return made(_room_in(Path(place))) if place else AskFolder(lambda found: made(_room_in(found)), look.STYLE)


def _room_in(place: Path) -> Path:
    """The room folder of a class folder."""
    return place / "room" if (place / "room").is_dir() else place


def _names(roster: str | Path | None) -> dict[str, str]:
    kept = ClassFolder(Path(os.environ.get("TAPKIT_CLASS", "/nowhere"))).roster_file
    if roster is None and not os.access(kept, os.R_OK):
        return {}
    return {one.id: one.name for one in read_roster(roster or kept)}


_looking: "weakref.WeakValueDictionary[type, Watcher]" = weakref.WeakValueDictionary()
"""Who looks in this kernel: a cell that is run again takes the place of what it showed before."""


class Watcher(OnScreen):
    """Something on the screen that looks at a folder every two seconds, as long as anybody holds it."""

    name = _("A question to the room")

    def __init__(self) -> None:
        self.task: asyncio.Task[None] | None = None
        self._shown: Any = None

    def start(self) -> None:
        """Begin to look, where a kernel's loop is running; else `look` is called by hand."""
        with contextlib.suppress(RuntimeError):
            loop = asyncio.get_running_loop()
            earlier = _looking.get(type(self))
            if earlier is not None and earlier is not self:
                earlier.stop()
            _looking[type(self)] = self
            if self.task is None:
                self.task = loop.create_task(_watch(weakref.ref(self)))

    def stop(self) -> None:
        if self.task is not None:
            self.task.cancel()
            self.task = None

    def look(self) -> None:
        """Read the folder and show it."""
        try:
            seen = self.read()
        except (OSError, ValueError) as error:
            seen = error
        self._show(seen)

    async def _look(self) -> None:
        """The same, reading beside the kernel's loop, as a network folder may be slow."""
        try:
            seen = await asyncio.to_thread(self.read)
        except (OSError, ValueError) as error:
            seen = error
        self._show(seen)

    def _show(self, seen: Any) -> None:
        if repr(seen) == self._shown:
            return
        self._shown = repr(seen)
        try:
            if isinstance(seen, Exception):
                raise seen
            self.show(seen)
        except (OSError, ValueError) as error:
            self.trouble(_in_words(error))

    def read(self) -> Any:
        """What is in the folder now; only reads."""
        raise NotImplementedError

    def show(self, seen: Any) -> None:
        raise NotImplementedError

    def trouble(self, sentence: Sentence) -> None:
        """Say why the folder cannot be read."""
        raise NotImplementedError

    def _ipython_display_(self) -> None:
        super()._ipython_display_()
        self.start()


async def _watch(held: weakref.ref[Watcher]) -> None:
    while (one := held()) is not None:
        await one._look()
        del one
        await asyncio.sleep(EVERY)


def _in_words(error: Exception) -> Sentence:
    if isinstance(error, OSError):
        return _("The class folder cannot be reached ({why}). It is tried again.", why=cause(error))
    return _("The class folder cannot be used: {why}.", why=cause(error))


class RoomSeen(NamedTuple):
    """What an instructor sees: the question, replies, what is wrong with others, ids, whether hands are counted, and
    the exercises on offer, own ones too, each as words and name."""

    asked: Asked | None
    replies: list[Reply]
    trouble: list[str]
    learners: list[str]
    by_hand: bool
    offered: tuple[tuple[str, str], ...]


class Tally(Watcher):
    """The instructor's side. `asked` is the question now in the room, `exercises()` those on offer; `find()` says where
    the room is, if it may change, and `by_hand` whether hands are counted."""

    def __init__(
        self,
        room: Room,
        names: dict[str, str],
        exercises: Callable[[], tuple[Any, ...]],
        find: Callable[[], OwnRoom] | None = None,
    ) -> None:
        super().__init__()
        self.where, self._find, self.asked = OwnRoom(room, names, by_hand=False), find, None
        self.with_names = False
        self._hands_for: tuple[int, bool] | None = None
        self.hands = HandVote(self._count)
        self._exercises = exercises
        self._build()
        self.look()

    # --- what one does ---

    def ask(self) -> None:
        """Put the chosen question to the room; one of the class's own is given to the learners with it."""

        def asked() -> None:
            if self.room.folder in ownfile.own_folders():
                ownfile.give_to(self.room.folder, [self.pick.value])
            seed = bank.exercise_named(self.pick.value).seed_in(ownfile.units(), self.variant.value)
            self.room.ask(self.pick.value, seed)

        self._do(asked)

    def go_on(self) -> None:
        self._do(self.room.go_on)

    def show_names(self, shown: bool) -> None:
        """Names beside the bars, or none."""
        self.with_names, self._shown = shown, None
        self.look()

    # --- inside ---

    @property
    def room(self) -> Room:
        return self.where.room

    @property
    def names(self) -> dict[str, str]:
        return self.where.names

    def _find_room(self) -> None:
        if self._find is not None:
            self.where = self._find()

    def read(self) -> RoomSeen:
        self._find_room()
        asked = self.room.current()
        learners = sorted({*self.room.present(), *self.names})
        replies, trouble = self.room.replies(asked.number, learners) if asked else ([], [])
        return RoomSeen(asked, replies, trouble, learners, self.where.by_hand, self._offered())

    def _offered(self) -> tuple[tuple[str, str], ...]:
        return tuple((f"{e.lesson} · {e.title}", e.name) for e in self._exercises())

    def show(self, seen: RoomSeen) -> None:
        fresh = seen.asked is not None and (seen.asked.number, seen.by_hand) != self._hands_for
        self.asked, replies, trouble, learners, is_by_hand, offered = seen
        if offered != self.pick.options:
            offer(self.pick, offered)
        set_visible(self.hands.widget, is_by_hand and seen.asked is not None)
        self.next.disabled = self.asked is None or self.asked.is_revealed
        self.next.description = said(GO_ON[self.asked.step if self.asked else "collecting"])
        if self.asked is None:
            size = ngettext("There is {count} learner in the class.", "There are {count} learners in the class.",
                            len(learners))  # fmt: skip
            told = paragraph(_("Choose a question and ask the room.")) + (paragraph(size) if learners else "")
            self.question.value, self.body.value = "", told + self._how()
            return
        question = _question(self.asked)
        self.question.value = look.room_question_html(question, self.asked)
        if is_by_hand and fresh:
            self.hands.ask(question)
        self._hands_for = (self.asked.number, is_by_hand)
        found = (
            spread_of_hands(question, self.hands.votes, learners)
            if is_by_hand
            else spread_of_replies(question, replies, learners)
        )
        named = {one: self.names.get(one, one) for one in learners} if self.with_names else None
        odd = ngettext("{count} answer could not be used.", "{count} answers could not be used.", len(trouble))
        more = (paragraph(odd) if trouble else "") + ("" if replies or is_by_hand else self._how())
        self.body.value = look.tally_html(question, self.asked, found, named) + more

    def _how(self) -> str:
        return look.how_html(by_hand=self.where.by_hand, has_folder=self._find is not None)

    def trouble(self, sentence: Sentence) -> None:
        self.body.value = bold(sentence)

    def _count(self) -> None:
        self._shown = None
        self.look()

    def _do(self, action: Callable[[], Any]) -> None:
        try:
            self._find_room()
            action()
        except (OSError, ValueError) as error:
            self.trouble(_in_words(error))
            return
        self.start()
        self.look()

    def _build(self) -> None:
        self.pick = ipywidgets.Dropdown(description=said(_("Question")), layout={"width": "min(34em, 100%)"})
        offer(self.pick, self._offered())
        self.variant = ipywidgets.BoundedIntText(value=1, min=0, max=10**6, description=said(_("Variant")))
        ask, self.next = ipywidgets.Button(description=said(_("Ask the room"))), ipywidgets.Button()
        ask.add_class("tapkit-first")
        ask.on_click(lambda _: self.ask())
        self.next.on_click(lambda _: self.go_on())
        names = switch(_("Names"), _("Show names; leave off on the projector"), self.show_names)
        big = switch(_("Projector size"), _("Larger text"), self._enlarge)
        self.question, self.body = ipywidgets.HTML(), ipywidgets.HTML()
        both = ipywidgets.Box([self.question, self.body]).add_class("tapkit-both")
        self.widget = _box(
            ipywidgets.HBox([self.pick, self.variant]), key_row(ask, self.next, names, big), self.hands.widget, both
        )

    def _enlarge(self, large: bool) -> None:
        put_class(self.widget, "tapkit-projector", large)


class TallyPlace(Watcher):
    """A learner's side. `given` is the answer handed in to the question now asked, or None."""

    def __init__(self, room: Room, learner: str, lesson: int | None = None) -> None:
        super().__init__()
        self.lesson = lesson
        self.room, self.learner, self.asked = room, plain_id(learner), None
        self.given: str | None = None
        self.answer_box: Any = None
        self._build()
        self.look()

    def hand_in(self) -> None:
        who = self.learner or plain_id(self.name_box.value)
        if not ID.fullmatch(who):
            self.said.value = bold(_("First type your name from the class list in the box above."))
            return
        text = self.answer_box.text.strip() if self.answer_box else ""
        if not text or self.asked is None:
            self.said.value = paragraph(_("Type or choose an answer first."))
            return
        try:
            self.given = self.room.answer(self.asked, who, text).text
        except OSError as error:
            why = cause(error)
            told = _("Not handed in: the class folder cannot be written ({why}). Press the button again.", why=why)
            self.said.value = bold(told)
            return
        except ValueError as error:
            self.said.value = bold(_("Not handed in: {why}.", why=cause(error)))
            return
        self.learner = who
        self.said.value = look.place_html(_question(self.asked), self.asked, self.given)

    # --- inside ---

    def read(self) -> tuple[Asked | None, str | None]:
        asked = self.room.current()
        reply = self.room.reply_of(self.learner, asked.number) if asked and ID.fullmatch(self.learner) else None
        return asked, reply.text if reply else None

    def show(self, seen: tuple[Asked | None, str | None]) -> None:
        asked, self.given = seen
        lesson = bank.exercise_named(asked.exercise).lesson if asked else self.lesson
        if self.lesson not in (None, lesson):
            asked = None
        fresh = asked is not None and (self.asked is None or asked.number != self.asked.number)
        self.asked = asked
        set_visible(self.button, asked is not None)
        if asked is None:
            told = _("Wait for a question from the front.")
            if self.lesson not in (None, lesson):
                told = _("A question of lesson {lesson} is asked now. Open that lesson, or Start here.", lesson=lesson)
            self.question.value, self.said.value = "", paragraph(told)
            self.place.children, self.button.disabled = (), True
            return
        question = _question(asked)
        if fresh:
            self.question.value = look.room_question_html(
                question, asked, with_lines=isinstance(question.ask, OrderAsked)
            )
            number = self.keys.number = asked.number
            self.answer_box = answer_for(question, self._entered(number), number=number)
            self.place.children = (self.answer_box.widget,)
        self.button.disabled = not asked.is_open
        self.said.value = look.place_html(question, asked, self.given)

    def trouble(self, sentence: Sentence) -> None:
        self.said.value = bold(sentence)

    def _entered(self, number: int) -> Callable[[], None]:
        """What Enter does in the answer to one question, and to no other."""
        return lambda: self.hand_in() if self.asked and self.asked.number == number and self.asked.is_open else None

    def _build(self) -> None:
        self.name_box = ipywidgets.Text(description=said(_("Your name")), placeholder=said(_("as on the class list")))
        self.name_box.layout.display = "none" if self.learner else ""
        self.question, self.said = ipywidgets.HTML(), ipywidgets.HTML()
        self.said.add_class("tapkit-told")
        self.place = ipywidgets.VBox().add_class("tapkit-answer")
        self.keys = AnswerKeys(lambda standing: self.answer_box and self.answer_box.take(standing))
        self.button = self.keys.add("hand-in", said(_("Hand in")), self.hand_in, "tapkit-first")
        self.widget = _box(self.name_box, self.question, self.place, self.keys, self.said)


def _question(asked: Asked) -> Question:
    return bank.exercise_named(asked.exercise).variant(asked.seed).at_stage(asked.stage)


def _box(*parts: ipywidgets.Widget) -> ipywidgets.VBox:
    return in_view(*parts, style=look.STYLE, looks=("tapkit-quiz", "tapkit-room"))
