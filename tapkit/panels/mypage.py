"""Pages of a learner: the own page and a lesson in short; on the screen, and kept as a file for printing."""

from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple

import ipywidgets
from IPython.display import HTML, display
from markupsafe import Markup

from tapkit.classroom.handingin import file_name, hand_in
from tapkit.exercises import lessonpage, me
from tapkit.exercises.classtest import Outcome, outcomes, without_open
from tapkit.exercises.finaltest import finished
from tapkit.exercises.lessons import Lesson, lesson
from tapkit.exercises.progress import progress
from tapkit.exercises.record import Record
from tapkit.messages import _, said
from tapkit.panels.deck import given_seed
from tapkit.panels.desk.files import DeskFile, DeskFiles
from tapkit.panels.markup import folded, paragraph, tag
from tapkit.panels.onscreen import OnScreen, in_view, key_row
from tapkit.panels.panel import button
from tapkit.panels.quiz import own_record
from tapkit.panels.tally import Watcher
from tapkit.panels.text import CSS

FILE = "my-page.html"
STILL = _("Your page is on the screen only, as it changes with every answer. There it can be saved for printing.")


def saved_page(place: Path, page: str) -> str:
    """Write a page into a file that any browser prints; says where it lies, or why not."""
    try:
        place.write_text(page, encoding="utf-8")
    except OSError as error:
        why = error.strerror or _("the file cannot be written")
        return paragraph(_("Not saved: {why}.", why=why))
    told = _("Saved as {file} beside your answers. Open it in a browser to print it.", file=place.name)
    return paragraph(told)


class OwnPage(NamedTuple):
    """What a page is counted from: the learner's `name`, the record as it is, and how the tests of the class stand."""

    name: str
    changed: tuple[int, int]
    outcomes: tuple[Outcome, ...]


class MyPage(Watcher):
    """The page on the screen, counted again as the record changes, with a button to keep it as a file for printing."""

    name, kept, mark = _("My page"), STILL, "tapkit-my-still"

    def __init__(self, record: Record | None = None) -> None:
        super().__init__()
        self.record = own_record() if record is None else record
        self.page_shown, self.said = ipywidgets.HTML(), ipywidgets.HTML()
        keep = button(_("Save for printing"), _("Write {file} beside the workbooks", file=FILE), self.save)
        give = button(_("Hand in"), _("Hand your answers in to your instructor"), self.hand_in)
        self._file = DeskFiles(lambda error: self._tell(str(error)))
        self.widget = in_view(key_row(keep, give, self._file), self.said, self.page_shown, mark=self.mark, looks=())
        self.look()

    def read(self) -> OwnPage:
        file = self.record.path.stat() if self.record.path.exists() else None
        changed = (file.st_mtime_ns, file.st_size) if file else (0, 0)
        return OwnPage(me.name(), changed, outcomes(self.record.history(), given_seed(), datetime.now()))

    def show(self, seen: OwnPage) -> None:
        self.page_shown.value = self._page(seen)

    def trouble(self, sentence: Any) -> None:
        self._tell(sentence)

    def _page(self, seen: OwnPage, *, whole: bool = False) -> str:
        history = without_open(self.record.history(), given_seed(), datetime.now())
        tests = finished(history, given_seed())
        counted = progress(history)
        return lessonpage.fragment(counted, name=seen.name, tests=tests, outcomes=seen.outcomes, whole=whole)

    def save(self) -> None:
        whole = self._page(self.read(), whole=True)
        self.said.value = saved_page(self.record.path.parent / FILE, whole)

    def hand_in(self) -> Path | None:
        """Put a copy of the answers into the class folder, or offer it as a file; says what to do."""
        if me.is_given():
            self._tell(_("Your instructor reads your answers here on the hub. There is nothing to hand in."))
        elif not me.name():
            self._tell(_("First write your name in the box Your name, further up on this page."))
        elif (place := me.class_folder()) is None:
            name, path = file_name(me.name()), self.record.path
            self._file.show([DeskFile(_("Save {file}", file=name), "save", name, path.read_bytes, first=True)])
            self._tell(_("Press Save and give the file to your instructor. You can do it again as often as you like."))
        else:
            try:
                there = hand_in(self.record.path, me.name(), place)
            except (OSError, ValueError) as error:
                why = getattr(error, "strerror", None) or said(error)
                self._tell(_("Not handed in: {why}. Your answers are kept here; try again later.", why=why))
                return None
            self._tell(_("Handed in as {file}. You can do it again as often as you like.", file=there.name))
            return there
        return None

    def _tell(self, sentence: object) -> None:
        self.said.value = paragraph(sentence)


class Summary(OnScreen):
    """A lesson on one page, in a fold, and a button that keeps it as a file."""

    name = _("The lesson on one page")

    def __init__(self, one: Lesson, record: Record | None = None) -> None:
        self.lesson, self.record = one, own_record() if record is None else record
        self.said = ipywidgets.HTML()
        file = f"summary-{one.file}.html"
        self._place = self.record.path.parent / file
        keep = button(_("Save this page for printing"), _("Write {file} beside the workbooks", file=file), self.save)
        self.widget = in_view(key_row(keep), self.said, mark="tapkit-nothing", looks=())

    def save(self) -> None:
        """Write the page as a file that any browser prints; says where it lies."""
        self.said.value = saved_page(self._place, lessonpage.lesson_page(self.lesson, whole=True))

    def _ipython_display_(self) -> None:
        told = Markup(lessonpage.lesson_page(self.lesson))
        display(HTML(CSS + tag("div", folded(self.name, told), class_="tk-text")))
        super()._ipython_display_()


def my_page(*, record: Record | None = None) -> MyPage:
    """The learner's own page."""
    return MyPage(record)


def summary(number: int, *, record: Record | None = None) -> Summary:
    """A lesson on one page, to read again and to print."""
    return Summary(lesson(number), record)
