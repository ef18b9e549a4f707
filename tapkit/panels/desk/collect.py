"""Fourth step: answers come in, as files of any name, from the shared folder, or typed from paper."""

import asyncio
import os
from pathlib import Path
from typing import Any, NamedTuple

import ipywidgets
from markupsafe import Markup

from tapkit.classroom.collecting import RECORD, Arrived, take, take_shared, with_alias
from tapkit.classroom.schoolclass import SchoolClass, keep_class
from tapkit.classroom.sets import SheetSet, set_of, sets_of, sheets_of, type_in, typed
from tapkit.classroom.sheets import typed_answers
from tapkit.exercises.verdict import CANNOT_READ, NOT_ATTEMPTED
from tapkit.messages import _, said
from tapkit.panels.desk import widgets
from tapkit.panels.desk.drop import DeskDrop
from tapkit.panels.markup import paragraph, tag
from tapkit.panels.onscreen import set_visible

HOW = {
    "hub": _("On a hub the answers are here already: every learner's record is read when you mark."),
    "shared": _("Learners press Hand in on their page; fetch what lies in the shared folder, as often as you like."),
    "single": _("Learners press Hand in on their page and bring the file. Drop all of them here, under any name."),
    "paper": _("Choose a set and a learner, and type what stands on the sheet."),
}


def _work_link() -> Markup:
    """Where a hub shows learners' work, never run."""
    base = os.environ.get("JUPYTERHUB_SERVICE_PREFIX", "/")
    return tag("p", tag("a", _("Look at the learners’ work"), href=f"{base}tapkit/work", target="_blank"))


SOON = 0.7
"""Seconds after the last letter until what was typed is written."""


class Typed(NamedTuple):
    """Answers typed from a learner's paper and not yet written, of a set of a class."""

    school: SchoolClass
    one: SheetSet
    answers: dict[str, str]


class CollectStep(widgets.DeskStep):
    """What came in."""

    title = _("Collect")

    def __init__(self, desk: Any) -> None:
        self.arrived: list[tuple[Arrived, bytes]] = []
        self.boxes: dict[str, ipywidgets.Text] = {}
        self._pending: dict[tuple[Path, str], Typed] = {}
        self._place_shown: tuple[Path, str] | None = None
        self._later: asyncio.TimerHandle | None = None
        super().__init__(desk)

    def refresh(self) -> None:
        """Show what fits the way the class works."""
        school = self.desk.school
        self.how.value = paragraph(HOW[school.kind]) + (_work_link() if school.kind == "hub" else "")
        set_visible(self.fetch, school.kind == "shared")
        set_visible(self.drop, school.kind != "hub")
        sets = sets_of(school)
        widgets.offer(self.sets, [(one.title, one.title) for one in sets], last=True)
        widgets.offer(self.who, [(one.name, one.id) for one in school.roster])
        set_visible(self.paper, bool(sets))
        self._show_boxes()

    def take(self, name: str, data: bytes, is_last: bool) -> None:
        """Take a file in that was dropped."""
        try:
            seen = take(self.desk.school, name, data)
        except (OSError, ValueError) as error:
            seen = Arrived(name, "other", "", "", 0, widgets.error_words(error))
        self.arrived = [(a, d) for a, d in self.arrived if a.file != seen.file] + [(seen, data)]
        if is_last:
            self._show_arrived()

    def take_all(self) -> None:
        """Take in what lies in the shared folder."""
        self.arrived = [(seen, b"") for seen in take_shared(self.desk.school)]
        if not self.arrived:
            self.told.say(_("Nothing lies in the shared folder yet."))
        self._show_arrived()

    def assign(self, seen: Arrived, data: bytes, learner: str) -> None:
        """Say whose a record is; the name in it stands for the learner from now on."""
        school = with_alias(self.desk.school, seen.name, learner)
        keep_class(school)
        self.desk.open(school)
        if data:
            self.take(seen.file, data, True) if seen.name else self._place(seen, data, learner)
        else:
            self.take_all()

    def _place(self, seen: Arrived, data: bytes, learner: str) -> None:
        placed = take(self.desk.school, seen.file, data, learner)
        self.arrived = [(placed if a is seen else a, d) for a, d in self.arrived]
        self._show_arrived()

    def _show_arrived(self) -> None:
        names = {one.id: one.name for one in self.desk.school.roster}
        rows = [(a.file, names.get(a.learner, a.name), a.says) for a, _data in self.arrived]
        self.seen.value = widgets.sliding_table((_("File"), _("Learner"), _("What it is")), rows) if rows else ""
        unknown = [(a, d) for a, d in self.arrived if a.kind == RECORD and not a.learner]
        misspelt = [(a._replace(name=other), d) for a, d in self.arrived if a.learner for other in a.others]
        self.whose.children = [self._asks(a, d) for a, d in (*unknown, *misspelt)]
        missing = [one.name for one in self.desk.school.roster if not (self.desk.school.records / one.id).is_dir()]
        self.told.say(
            _("Nothing yet from: {names}", names=", ".join(missing)) if missing else _("Everybody has handed in.")
        )

    def _asks(self, seen: Arrived, data: bytes) -> Any:
        asks = _("{file} is of", file=seen.file)
        if seen.others:
            asks = _("{name}, who answered in {file} too, is", name=seen.name, file=seen.file)
        pick = widgets.dropdown(asks, [(one.name, one.id) for one in self.desk.school.roster])
        pick.value = seen.learner or pick.value
        return ipywidgets.VBox([pick, self.key(_("So it is"), lambda: self.assign(seen, data, pick.value))])

    # --- from paper ---

    def keep(self) -> None:
        """Keep what is typed, and go on to the next learner."""
        one, learner = set_of(self.desk.school, self.sets.value), self.who.value
        if one is None or learner is None:
            raise ValueError(_("make a set first"))
        self._pending.setdefault((one.folder, learner), Typed(self.desk.school, one, {})).answers.update(
            {name: box.value for name, box in self.boxes.items()}
        )
        self.flush()
        ids = [id for _name, id in self.who.options]
        name = next(shown for shown, id in self.who.options if id == learner)
        at = ids.index(learner) + 1
        done = sum(any(row[3:]) for row in typed_answers(one.folder, sheets_of(self.desk.school, one)).values())
        told = _("The answers of {name} are kept; sheets typed: {done} of {all}.", name=name, done=done, all=len(ids))
        self.told.say(told)
        if at < len(ids):
            self.who.value = ids[at]
        else:
            self._show_boxes()
        self.desk.page.turn += 1

    def typed(self, place: tuple[Path, str], into: Typed, name: str, text: str) -> None:
        """Something was typed: kept for the learner whose box it is, soon, and at once where another one is shown."""
        self._pending.setdefault(place, into._replace(answers={})).answers[name] = text
        if place == self._place_shown and self.boxes[name].value != text:
            self.boxes[name].value = text  # a letter that came late, from the box that stood here before
        try:
            loop = asyncio.get_running_loop() if place == self._place_shown else None
        except RuntimeError:
            loop = None
        if self._later is not None:
            self._later.cancel()
        self._later = loop and loop.call_later(SOON, self.told.tried(self.flush))
        if loop is None:
            self.told.tried(self.flush)()

    def flush(self) -> None:
        """Write what was typed. OSError where it cannot be written; it is kept then and tried again."""
        for (place, learner), into in list(self._pending.items()):
            before = typed(into.school, into.one, learner)
            if any(before.get(name, "") != text for name, text in into.answers.items()):
                type_in(into.school, into.one, learner, before | into.answers)
            del self._pending[place, learner]

    def _show_boxes(self, _change: Any = None) -> None:
        if self._pending:
            self.told.tried(self.flush)()
        one = set_of(self.desk.school, self.sets.value) if self.desk.school else None
        if one is None or self.who.value is None:
            self.answers.children = ()
            return
        own = next(s for s in sheets_of(self.desk.school, one) if s.learner.id == self.who.value)
        place, school = (one.folder, self.who.value), self.desk.school
        kept = self._pending.get(place)
        there = typed(school, one, self.who.value) | (kept.answers if kept else {})
        self._place_shown = place
        self.boxes = {}
        rows = []
        for number, question in enumerate(own.questions, start=1):
            label = _("{number}. {title}", number=number, title=question.exercise.title)
            box = widgets.entry(label, "", there.get(question.exercise.name, ""))
            sign = ipywidgets.HTML()
            box.continuous_update = True
            box.observe(lambda change, q=question, s=sign: self._judge(q, s, change["new"]), "value")
            name, into = question.exercise.name, Typed(school, one, {})
            box.observe(lambda change, n=name, p=place, i=into: self.typed(p, i, n, change["new"]), "value")
            self._judge(question, sign, box.value)
            self.boxes[name] = box
            rows.append(ipywidgets.HBox([box, sign]))
        code, keep = _("Sheet {code}", code=own.code), self.key(_("Keep, next learner"), self.keep, first=True)
        self.answers.children = (widgets.paragraphs(code), *rows, keep)

    def _judge(self, question: Any, sign: ipywidgets.HTML, text: str) -> None:
        verdict = question.judge(text)
        told = said(verdict.says) if verdict.kind == CANNOT_READ else ""
        sign.value = "" if verdict.kind == NOT_ATTEMPTED else paragraph(f"{verdict.sign} {told}")

    def parts(self) -> list[Any]:
        self.how, self.seen = ipywidgets.HTML(), ipywidgets.HTML()
        self.drop = DeskDrop(_("Drop the files with answers here"), _("(any number, any name)"), self.take)
        self.fetch = self.key(_("Fetch from the shared folder"), self.take_all, first=True)
        self.whose, self.answers = ipywidgets.VBox(), ipywidgets.VBox()
        self.answers.add_class("tapkit-from-paper")
        self.sets, self.who = widgets.dropdown(_("Set")), widgets.dropdown(_("Learner"))
        for box in (self.sets, self.who):
            box.observe(self._show_boxes, "value")
        how = widgets.paragraphs(_("Enter goes to the next answer, and after the last one to the next learner."))
        head = widgets.heading(_("Answers from paper"))
        self.paper = ipywidgets.VBox([head, how, self.sets, self.who, self.answers])
        return [self.how, self.fetch, self.drop, self.seen, self.whose, self.told.widget, self.paper]
