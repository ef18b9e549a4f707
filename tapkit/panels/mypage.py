"""The learner's own page: what is done, which mistakes come back, what to try next; to print or keep as a file."""

from __future__ import annotations

from pathlib import Path

import ipywidgets
from IPython.display import HTML, display

from tapkit.exercises import page
from tapkit.exercises.progress import Progress, progress
from tapkit.exercises.record import Record, learner
from tapkit.panels.panel import VIEW
from tapkit.panels.quiz import own_record

FILE = "my-page.html"
STILL = "Your page is on the screen only, as it changes with every answer. There it can be saved for printing."


class MyPage:
    """The page on the screen, with buttons to bring it up to date and to keep it as a file for printing."""

    def __init__(self, record: Record | None = None) -> None:
        self.record = own_record() if record is None else record
        self._page = ipywidgets.HTML()
        self._said = ipywidgets.HTML()
        fresh = ipywidgets.Button(description="Bring up to date", tooltip="Count the answers again")
        keep = ipywidgets.Button(description="Save for printing", tooltip=f"Write {FILE} beside the workbooks")
        fresh.on_click(lambda _: self.refresh())
        keep.on_click(lambda _: self.save())
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
        self._page.value = page.fragment(self.progress, name=learner())

    def save(self) -> Path | None:
        """Write the page as a file that any browser prints; says where it lies."""
        place = self.record.path.parent / FILE
        try:
            place.write_text(page.document(self.progress, name=learner()), encoding="utf-8")
        except OSError as error:
            self._said.value = f"<p>Not saved: {error.strerror or 'the file cannot be written'}.</p>"
            return None
        self._said.value = f"<p>Saved as <b>{FILE}</b> beside your answers. Open it in a browser to print it.</p>"
        return place

    def _ipython_display_(self) -> None:
        view = {"version_major": 2, "version_minor": 0, "model_id": self.widget.model_id}
        display({VIEW: view, "text/plain": "My page"}, raw=True)
        display(HTML(f"<p class='tapkit-my-still'>{STILL}</p>"))


def my_page(*, record: Record | None = None) -> MyPage:
    """The learner's own page."""
    return MyPage(record)


def my_page_still(record: Record | None = None) -> HTML:
    """The page as plain HTML, without buttons."""
    return HTML(page.fragment(progress((own_record() if record is None else record).history()), name=learner()))
