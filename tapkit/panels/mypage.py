"""The learner's own page: what is done, which mistakes come back, what to try next; to print or keep as a file."""

from __future__ import annotations

from pathlib import Path

import ipywidgets
from IPython.display import HTML, display

from tapkit.classroom.handingin import file_name, hand_in
from tapkit.exercises import me, page
from tapkit.exercises.progress import Progress, progress
from tapkit.exercises.record import Record
from tapkit.messages import _, said
from tapkit.panels.desk.files import DeskFile, DeskFiles
from tapkit.panels.panel import VIEW, button, paragraph
from tapkit.panels.quiz import own_record

FILE = "my-page.html"
STILL = _("Your page is on the screen only, as it changes with every answer. There it can be saved for printing.")


class MyPage:
    """The page on the screen, with buttons to bring it up to date and to keep it as a file for printing."""

    def __init__(self, record: Record | None = None) -> None:
        self.record = own_record() if record is None else record
        self._page = ipywidgets.HTML()
        self._said = ipywidgets.HTML()
        fresh = button(_("Bring up to date"), _("Count the answers again"), self.refresh)
        keep = button(_("Save for printing"), _("Write {file} beside the workbooks", file=FILE), self.save)
        give = button(_("Hand in"), _("Hand your answers in to your instructor"), self.hand_in)
        self._file = DeskFiles(lambda error: self._tell(str(error)))
        buttons = ipywidgets.Box([fresh, keep, give, self._file])
        buttons.add_class("tapkit-keys")
        hidden = ipywidgets.HTML("<style>.tapkit-my-still {display: none}</style>", layout={"display": "none"})
        self.widget = ipywidgets.VBox([hidden, buttons, self._said, self._page])
        self.refresh()

    @property
    def progress(self) -> Progress:
        """What the record says now."""
        return progress(self.record.history())

    def refresh(self) -> None:
        """Count again."""
        self._page.value = page.fragment(self.progress, name=me.name())

    def save(self) -> Path | None:
        """Write the page as a file that any browser prints; says where it lies."""
        place = self.record.path.parent / FILE
        try:
            place.write_text(page.document(self.progress, name=me.name()), encoding="utf-8")
        except OSError as error:
            why = error.strerror or _("the file cannot be written")
            self._said.value = paragraph(_("Not saved: {why}.", why=why))
            return None
        told = _("Saved as {file} beside your answers. Open it in a browser to print it.", file=FILE)
        self._said.value = paragraph(told)
        return place

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
        self._said.value = paragraph(sentence)

    def _ipython_display_(self) -> None:
        view = {"version_major": 2, "version_minor": 0, "model_id": self.widget.model_id}
        display({VIEW: view, "text/plain": said(_("My page"))}, raw=True)
        display(HTML(f"<p class='tapkit-my-still'>{said(STILL)}</p>"))


def my_page(*, record: Record | None = None) -> MyPage:
    """The learner's own page."""
    return MyPage(record)


def my_page_still(record: Record | None = None) -> HTML:
    """The page as plain HTML, without buttons."""
    return HTML(page.fragment(progress((own_record() if record is None else record).history()), name=me.name()))
