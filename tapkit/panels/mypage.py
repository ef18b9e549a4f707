"""The learner's own page: what is done, which mistakes come back, what to try next; to print or keep as a file."""

from __future__ import annotations

from pathlib import Path

import ipywidgets
from IPython.display import HTML, display

from tapkit.exercises import me, page
from tapkit.exercises.progress import Progress, progress
from tapkit.exercises.record import Record
from tapkit.messages import _, said
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
        buttons = ipywidgets.Box([fresh, keep])
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
