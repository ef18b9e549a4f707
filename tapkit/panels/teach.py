"""A lesson as it is held: the plan by minutes for the instructor, and a view for the whole screen, step by step, with
nothing on it that learners should not see.

panels.lesson_plan(3)       minutes, board sketch, model answers, what to bring
panels.teach(3)             the view; → and ← or a presenter's keys turn the steps
panels.training_topics()    usual topics of training plans and the lessons that cover them
"""

import contextlib
from functools import cache
from types import SimpleNamespace
from typing import Any, NamedTuple

import anywidget
import ipywidgets
import traitlets
from IPython.display import HTML
from markupsafe import Markup

from tapkit import tables
from tapkit.drawing import style
from tapkit.exercises import bank, ownfile
from tapkit.exercises.lessons import all_lessons
from tapkit.messages import _, listed, of_table, said
from tapkit.panels import quizlook
from tapkit.panels.markup import BREAK, bold, paragraph, table, tag
from tapkit.panels.onscreen import OnScreen, in_view
from tapkit.panels.script import script
from tapkit.panels.tally import Tally, tally
from tapkit.panels.text import CSS

STYLE = f"""{quizlook.STYLE}
.tapkit-teach {{max-width: none; background: {style.PAPER}; overflow: auto}}
.tapkit-teach .tapkit-slide:focus {{outline: none}}
.tapkit-teach h2 {{font-size: 1.7em; margin: .3em 0 .2em; line-height: 1.2}}
.tapkit-teach .tapkit-shown {{font-size: 1.35em; max-width: 40em; margin: 0 0 .6em}}
.tapkit-teach .tapkit-slide img {{max-height: 58vh; max-width: 100%; width: auto; object-fit: contain}}
.tapkit-teach .tapkit-slide img[hidden] {{display: none}}
.tapkit-teach .tapkit-make {{display: none}}
.tapkit-teach .tapkit-place {{align-self: center; color: {style.SOFT_INK}}}
.tapkit-teach:fullscreen {{padding: 3vh 4vw; font-size: 24px; border: 0; border-radius: 0; width: 100vw; height: 100vh}}
.tapkit-teach:fullscreen .tapkit-keys button {{font-size: 16px}}
.tapkit-teach:fullscreen .tapkit-slide img {{max-height: calc(94vh - 210px)}}
.tapkit-teach:fullscreen .tapkit-room :is(.widget-label, select, input) {{font-size: 20px; width: auto; height: auto}}
"""
PLAN_STYLE = CSS + tag(
    "style",
    Markup(f"""
.tapkit-plan table {{border-collapse: collapse; margin: 4px 0 10px}}
.tapkit-plan :is(td, th) {{text-align: left; vertical-align: top; padding: 3px 14px 3px 0;
  border-bottom: 1px solid {style.FAINT}}}
.tapkit-plan td.when {{white-space: nowrap; font-variant-numeric: tabular-nums}}
.tapkit-plan svg {{width: 360px; max-width: 100%; height: auto; border: 1px solid {style.FAINT}; margin: 4px 0;
  background: {style.PAPER}; display: block}}
"""),
)
POLL = "poll "


class Turn(NamedTuple):
    """One step of a lesson: its `minutes`, `title`, what is `shown`, the `notes` of the instructor, a `picture` of
    figures/, and what is `live`."""

    minutes: int
    title: str
    shown: str
    notes: str
    picture: str
    live: str


@cache
def turns(lesson: int) -> tuple[Turn, ...]:
    """The steps of a lesson in order. ValueError for a lesson that has none."""
    rows = [row for row in tables.rows("teaching") if row["lesson"] == str(lesson)]
    if not rows:
        known = listed(list(dict.fromkeys(row["lesson"] for row in tables.rows("teaching"))))
        raise ValueError(
            _("there is no plan for lesson {lesson}; there are plans for {known}", lesson=lesson, known=known)
        )
    return tuple(
        Turn(int(row["minutes"]), *(row[head] for head in ("title", "shown", "notes", "picture", "live")))
        for row in rows
    )


# --- the plan, for the instructor -------------------------------------------------------------------------


def _bring(lesson: int) -> Markup:
    return tag("p", tag("b", _("Bring")), " ", of_table(_row("bring", lesson)["things"]), ".")


def _minutes(lesson: int) -> Markup:
    rows, at = [], 0
    for turn in turns(lesson):
        when = f"{at}–{at + turn.minutes}"
        at += turn.minutes
        notes = tag("td", of_table(turn.notes), " ", _live_words(turn))
        name = tag("td", tag("b", of_table(turn.title)))
        rows.append(tag("tr", tag("td", when, class_="when"), name, tag("td", of_table(turn.shown)), notes))
    names = (_("Minutes"), _("Step"), _("For the room"), _("For you"))
    return tag("table", tag("thead", tag("tr", *(tag("th", name) for name in names))), tag("tbody", *rows))


def _questions(lesson: int) -> Markup:
    rows = [row for row in tables.rows("room_questions") if row["lesson"] == str(lesson)]
    items = (tag("li", of_table(row["question"]), BREAK, tag("i", of_table(row["answer"]))) for row in rows)
    return bold(_("Questions for the room, with model answers")) + tag("ol", *items)


def _row(table: str, lesson: int) -> Any:
    return next(row for row in tables.rows(table) if row["lesson"] == str(lesson))


def _live_words(turn: Turn) -> Any:
    if turn.live.startswith(POLL):
        return _("Question to the room: {name}.", name=_title(turn.live[len(POLL) :]))
    return _("Live: the panel {name}.", name=turn.live) if turn.live else ""


def _title(exercise: str) -> str:
    return bank.exercise_named(exercise).title


def _board(lesson: int) -> Markup:
    row = _row("boards", lesson)
    labels = []
    for spot, words in zip(row["places"].split("|"), row["labels"].split("|")):
        x, y = spot.split()
        labels.append(tag("text", of_table(words), x=x, y=y, font_size=9, fill=style.INK))
    how = of_table(row["how"])
    path = tag("path", d=row["strokes"], fill="none", stroke=style.INK, stroke_width=1.6)
    board = tag("svg", path, *labels, viewBox="0 0 240 150", role="img", aria_label=how)
    return tag("p", tag("b", _("On the board")), " ", how) + board


def lesson_plan(lesson: int) -> HTML:
    """The plan of a lesson: what to bring, its minutes, a board sketch, model answers."""
    turns(lesson)
    return _plan(_bring(lesson), _minutes(lesson), _board(lesson), _questions(lesson))


def training_topics() -> HTML:
    """Usual topics of training plans and the lessons that cover them."""
    known = {one.number: one for one in all_lessons()}
    rows = [
        (of_table(row["topic"]), ", ".join(f"{n} {said(known[int(n)].title)}" for n in row["lessons"].split()))
        for row in tables.rows("training_topics")
    ]
    note = _("Usual topics of training plans; common practice, no plan of a country or body is quoted.")
    return _plan(paragraph(note), table(None, (_("Topic"), _("Lessons")), rows))


def _plan(*parts: Markup) -> HTML:
    return HTML(PLAN_STYLE + tag("div", *parts, class_="tk-text tapkit-plan"))


# --- the view, for the room ---------------------------------------------------------------------------------


class Slide(anywidget.AnyWidget):
    """What stands on the screen of one step; `turn(by)` is called for a key."""

    _esm = script("teach.js")
    step = traitlets.Dict().tag(sync=True)
    picture = traitlets.Bytes(b"").tag(sync=True)
    words = traitlets.Dict().tag(sync=True)


class Teach(OnScreen):
    """The view of a lesson. `number` is the step shown, `live` its panel or question to the room (None for none)."""

    name, mark = _("The lesson, step by step"), "tapkit-teach-still"

    def __init__(self, lesson: int) -> None:
        self.lesson, self.number = lesson, 0
        self.live: Any = None
        self._kept: dict[str, Any] = {}
        keys = {"back": _("Back"), "next": _("Next"), "screen": _("Whole screen"), "leave": _("Leave the whole screen")}
        self.slide = Slide(words={key: said(word) for key, word in keys.items()})
        self.slide.on_msg(lambda _widget, content, _buffers: self.go(int(content.get("by", 0))))
        self._place = ipywidgets.VBox()
        looks = ("tapkit-quiz", "tapkit-teach")
        self.widget = in_view(self.slide, self._place, style=STYLE, mark=self.mark, looks=looks)
        names = "; ".join(said(of_table(turn.title)) for turn in turns(lesson))
        self.kept = _("The lesson, step by step: {names}.", names=names)
        self.show()

    def go(self, by: int) -> None:
        """Steps on (1) or back (−1); nothing beyond the ends."""
        number = min(max(self.number + by, 0), len(turns(self.lesson)) - 1)
        if number != self.number:
            self.number = number
            self.show()
            if isinstance(self.live, Tally):
                self.live.start()

    def show(self) -> None:
        steps = turns(self.lesson)
        turn = steps[self.number]
        lesson = next(one for one in all_lessons() if one.number == self.lesson)
        place = _("{lesson} · step {number} of {count}", lesson=lesson.title, number=self.number + 1, count=len(steps))
        told = {"place": said(place), "title": said(of_table(turn.title)), "shown": said(of_table(turn.shown))}
        ends = {"first": self.number == 0, "last": self.number == len(steps) - 1}
        with self.slide.hold_sync():
            self.slide.picture = _plate(turn.picture) if turn.picture else b""
            self.slide.step = {**told, **ends, "alt": told["title"]}
        if turn.live not in self._kept:
            self._place.children = ()  # nothing of the step before stands under the new words while a panel is made
        self.live = self._made(turn.live)
        self._place.children = (self.live.widget,) if self.live else ()

    def _made(self, live: str) -> Any:
        """What is live in a step: made when it is first shown, then as it was left."""
        if not live:
            return None
        if live not in self._kept:
            if live.startswith(POLL):
                made = self._poll(live[len(POLL) :])
            else:
                made = _panel(live)
            self._kept[live] = made
        return self._kept[live]

    def _poll(self, name: str) -> Any:
        """The question to the room; without a class the question alone, for a vote by hand."""
        made = tally(lesson=self.lesson)
        if isinstance(made, Tally):
            made.pick.value = name
            return made
        asked = bank.exercise_named(name)
        question = asked.variant(asked.seed_in(ownfile.units(), 1))
        parts = (
            quizlook.question_html(question, question.exercise.title),
            quizlook.sketch_html(question.sketch),
            quizlook.lines_html(question.lines),
        )
        return SimpleNamespace(widget=ipywidgets.HTML("".join(parts)))


def _panel(name: str) -> Any:
    from tapkit import panels

    return getattr(panels, name)()


def _plate(name: str) -> bytes:
    from tapkit.drawing.plates import plate_png

    with contextlib.suppress(OSError):
        return plate_png(name)
    return b""


def teach(lesson: int) -> Teach:
    """The view of a lesson for the whole screen."""
    turns(lesson)
    return Teach(lesson)
