"""The instructor's desk: a class from its list of names to its marks, on one page.

panels.desk()    in the class book
"""

import os
from pathlib import Path
from typing import Any

import anywidget
import ipywidgets
import traitlets

from tapkit.classroom.office import HubOffice, Office, OwnOffice, hub_class
from tapkit.classroom.schoolclass import SchoolClass, last_used, note_use, open_class
from tapkit.exercises import ownfile
from tapkit.messages import _
from tapkit.panels.desk import widgets
from tapkit.panels.desk.collect import CollectStep
from tapkit.panels.desk.ending import EndStep
from tapkit.panels.desk.mark import MarkStep
from tapkit.panels.desk.people import PeopleStep
from tapkit.panels.desk.printing import PrintStep
from tapkit.panels.desk.schoolclasses import ClassStep
from tapkit.panels.desk.testing import public_folder
from tapkit.panels.onscreen import OnScreen, in_view, put_class

STEPS = (ClassStep, PeopleStep, PrintStep, CollectStep, MarkStep, EndStep)


class DeskPage(anywidget.AnyWidget):
    """Shows nothing: what the desk does in the page. When `turn` changes, the first answer to type gets the focus."""

    _esm = Path(__file__).with_name("deskpage.js")
    turn = traitlets.Int(0).tag(sync=True)


class Desk(OnScreen):
    """The desk. `school` is the class that is open, or None; `place` the folder of the classes."""

    name, mark = _("The desk"), "tapkit-desk-still"
    kept = _("The desk is on the screen only: make a class, print, collect, mark.")

    def __init__(self, place: Path, *, hub: Path | None = None) -> None:
        self.place, self.is_hub = place, hub is not None
        self.office: Office = HubOffice() if hub else OwnOffice()
        self.school: SchoolClass | None = hub_class(hub) if hub else None
        if not hub:
            self.school = last_used(place)
        if self.school is not None:
            ownfile.look_in(public_folder(self.school))
        self.steps = [step(self) for step in STEPS]
        self._build()
        self.go(0)

    @property
    def archives(self) -> Path:
        """Where packed classes are kept."""
        return self.place / "archive"

    def open(self, school: SchoolClass) -> None:
        """Work with a class from now on; the steps of another, with all that was said in them, are put away."""
        if self.school is not None and self.school.folder.root != school.folder.root:
            self.steps[1:] = [step(self) for step in STEPS[1:]]
        self.school = school
        note_use(school)
        ownfile.look_in(public_folder(school))
        self.refresh()

    def open_folder(self, folder: Path) -> None:
        """The same for the class in a folder."""
        self.open(open_class(folder))

    def reopen(self) -> None:
        """Read the class again after it was changed."""
        assert self.school is not None
        root = self.school.folder.root
        self.open(hub_class(root) if self.is_hub else open_class(root))

    def close(self, told: Any) -> None:
        """No class is open any more; say why."""
        self.school = None
        self.go(0)
        self.steps[0].told.say(told)

    def refresh(self) -> None:
        """Show everything as it is now."""
        has_people = self.school is not None and len(self.school.roster) > 0
        for number, button in enumerate(self._keys):
            button.disabled = number > 0 and not has_people
        self.steps[0].refresh()
        if has_people:
            for step in self.steps[1:]:
                step.refresh()

    def go(self, number: int) -> None:
        """Show a step."""
        for at, button in enumerate(self._keys):
            put_class(button, "tapkit-here", at == number)
        self.refresh()
        self._shown.children = (self.steps[number].widget,)

    def _build(self) -> None:
        self._shown, self.page = ipywidgets.VBox(), DeskPage()
        self._keys = [
            widgets.key(_("{number} {step}", number=n, step=step.title), lambda n=n: self.go(n - 1))
            for n, step in enumerate(self.steps, start=1)
        ]
        steps = ipywidgets.Box(self._keys).add_class("tapkit-steps")
        parts, looks = (steps, self._shown, self.page), ("tapkit-quiz", "tapkit-desk")
        self.widget = in_view(*parts, style=widgets.STYLE, mark=self.mark, label=self.name, looks=looks)


def desk(place: str | Path | None = None) -> Desk:
    """The instructor's desk; classes lie in the folder `classes` beside the workbooks, or in `place`."""
    hub = os.environ.get("TAPKIT_CLASS")
    if hub and place is None:
        return Desk(Path(os.environ.get("HOME", ".")) / "classes", hub=Path(hub))
    return Desk(Path(place or Path(os.environ.get("TAPKIT_FOLDER") or ".") / "classes"))
