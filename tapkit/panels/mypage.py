"""Pages of a learner: the own page and a lesson in short; on the screen, and kept as a file for printing."""

from pathlib import Path

import ipywidgets
from IPython.display import HTML, display
from markupsafe import Markup

from tapkit.classroom.handingin import file_name, hand_in
from tapkit.exercises import lessonpage, me
from tapkit.exercises.finaltest import Sitting, finished
from tapkit.exercises.lessons import Lesson, lesson
from tapkit.exercises.progress import Progress, progress
from tapkit.exercises.record import Record
from tapkit.messages import _, said
from tapkit.panels.deck import given_seed
from tapkit.panels.desk.files import DeskFile, DeskFiles
from tapkit.panels.inpage import InPage
from tapkit.panels.markup import folded, paragraph, tag
from tapkit.panels.panel import button, hidden_style, show_live
from tapkit.panels.quiz import own_record
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


def in_view(*parts: ipywidgets.Widget, still: str) -> ipywidgets.VBox:
    """The parts one below another; what is shown without them (the class `still`) is hidden beside them."""
    hidden = hidden_style("", still)
    return ipywidgets.VBox([hidden, *parts, InPage()])


def button_row(*buttons: ipywidgets.Button) -> ipywidgets.Box:
    """Buttons in a row."""
    for one in buttons:
        one.layout.width = "auto"
    return ipywidgets.Box(buttons).add_class("tapkit-keys")


class MyPage:
    """The page on the screen, with buttons to bring it up to date and to keep it as a file for printing."""

    def __init__(self, record: Record | None = None) -> None:
        self.record = own_record() if record is None else record
        self.page_shown, self.said = ipywidgets.HTML(), ipywidgets.HTML()
        fresh = button(_("Bring up to date"), _("Count the answers again"), self.refresh)
        keep = button(_("Save for printing"), _("Write {file} beside the workbooks", file=FILE), self.save)
        give = button(_("Hand in"), _("Hand your answers in to your instructor"), self.hand_in)
        self._file = DeskFiles(lambda error: self._tell(str(error)))
        self.widget = in_view(
            button_row(fresh, keep, give, self._file), self.said, self.page_shown, still="tapkit-my-still"
        )
        self.refresh()

    @property
    def progress(self) -> Progress:
        """What the record says now."""
        return progress(self.record.history())

    @property
    def tests(self) -> tuple[Sitting, ...]:
        """The final tests that are finished."""
        return finished(self.record.history(), given_seed())

    def refresh(self) -> None:
        """Count again."""
        self.page_shown.value = lessonpage.fragment(self.progress, name=me.name(), tests=self.tests)

    def save(self) -> None:
        """Write the page as a file that any browser prints; says where it lies."""
        whole = lessonpage.document(self.progress, name=me.name(), tests=self.tests)
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

    def _ipython_display_(self) -> None:
        show_live(self.widget, _("My page"), paragraph(STILL, look="tapkit-my-still"))


class Summary:
    """A lesson on one page, in a fold, and a button that keeps it as a file."""

    def __init__(self, one: Lesson, record: Record | None = None) -> None:
        self.lesson, self.record = one, own_record() if record is None else record
        self.said = ipywidgets.HTML()
        file = f"summary-{one.file}.html"
        self._place = self.record.path.parent / file
        keep = button(_("Save this page for printing"), _("Write {file} beside the workbooks", file=file), self.save)
        self.widget = in_view(button_row(keep), self.said, still="tapkit-nothing")

    def save(self) -> None:
        """Write the page as a file that any browser prints; says where it lies."""
        self.said.value = saved_page(self._place, lessonpage.lesson_page(self.lesson, whole=True))

    def _ipython_display_(self) -> None:
        title = said(_("The lesson on one page"))
        told = Markup(lessonpage.lesson_page(self.lesson))
        display(HTML(CSS + tag("div", folded(title, told), class_="tk-text")))
        show_live(self.widget, title)


def my_page(*, record: Record | None = None) -> MyPage:
    """The learner's own page."""
    return MyPage(record)


def summary(number: int, *, record: Record | None = None) -> Summary:
    """A lesson on one page, to read again and to print."""
    return Summary(lesson(number), record)
