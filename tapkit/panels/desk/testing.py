"""A test on the screen, made at the desk from the exercises that are chosen: when it opens and closes, its minutes, and
its paper twin. It is a row of tests.csv where learners find it."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import ipywidgets

from tapkit.classroom.schoolclass import SchoolClass
from tapkit.classroom.sets import SheetSet, make_set
from tapkit.exercises import ownfile
from tapkit.exercises.classtest import FILE, ClassTest, add_test, read_test
from tapkit.messages import Sentence, _, said
from tapkit.panels.classtest import SECURE
from tapkit.panels.desk import widgets
from tapkit.panels.desk.files import DeskFile, DeskFiles
from tapkit.panels.onscreen import key_row

SHARED: dict[str, Sentence] = {
    "hub": _("It appears by itself at Start here of everybody."),
    "shared": _("It appears by itself at Start here of everybody who has entered the class folder there."),
    "single": _("Give the file tests.csv to your learners; they drop it at Start here, below Your name."),
    "paper": _("Print its sheets below; on the screen nobody meets it."),
}
"""How learners of each kind of class meet a test."""


def public_folder(school: SchoolClass) -> Path:
    """Where learners of a class read what is set: the room of a hub or a shared folder, else the class's own folder."""
    if school.kind == "hub":
        return school.folder.room
    return Path(school.shared) / "room" if school.shared else school.folder.root


def give_own(school: SchoolClass, names: Iterable[str]) -> None:
    """Questions of one's own that are set, where the learners' machines read them. ValueError where that cannot be."""
    if school.kind in ("hub", "shared"):
        public_folder(school).mkdir(exist_ok=True)
        ownfile.give_to(public_folder(school), names)


class TestPart:
    """Boxes for the times, and the key that makes the test. `chosen()` gives title and exercises."""

    __test__ = False  # nothing for pytest

    def __init__(self, desk: Any, chosen: Any, made: Any) -> None:
        self.desk, self._chosen, self._made = desk, chosen, made
        now = datetime.now().replace(minute=0, second=0, microsecond=0) + timedelta(hours=1)
        self.opens = widgets.entry(_("Opens"), _("such as 2027-03-02 09:15"))
        self.closes = widgets.entry(_("Closes"), _("such as 2027-03-02 10:00"))
        self.minutes = widgets.entry(_("Minutes for each"), _("empty: until it closes"))
        self.opens.value = f"{now:%Y-%m-%d %H:%M}"
        self.closes.value = f"{now + timedelta(minutes=45):%Y-%m-%d %H:%M}"
        self.told = widgets.Told()
        self.files = DeskFiles(self.told.trouble)
        key = widgets.key(_("Make it a test on the screen"), self.told.tried(self.make, slow=True))
        parts = [
            widgets.paragraphs(
                _("What is ticked above, under its title: it opens and closes by the clock, one answer, no hints.")
            ),
            self.opens,
            self.closes,
            self.minutes,
            key_row(key),
            self.told.widget,
            self.files,
        ]
        self.widget = ipywidgets.Accordion(
            [ipywidgets.VBox(parts)], titles=[said(_("Or sit them as a test on the screen"))]
        )

    def make(self) -> SheetSet:
        """Make the set, its paper twin, and the row that learners meet."""
        title, names = self._chosen()
        cells = dict(title=title, exercises=", ".join(names), opens=self.opens.value, closes=self.closes.value)
        school = self.desk.school
        test: ClassTest = read_test(cells | {"minutes": self.minutes.value, "units": school.units})
        give_own(school, names)
        one = make_set(school, title, names, test)
        folder = public_folder(school)
        folder.mkdir(exist_ok=True)
        file = add_test(test, folder)
        self._made(one)
        give = DeskFile(_("Save {file}", file=FILE), "save", FILE, file.read_bytes)
        self.files.show([give] if school.kind == "single" else [])
        told = _("{title} is set, in {file}. Its paper twin is ready to print.", title=test.title, file=str(file))
        self.told.say(told, SHARED[school.kind], *SECURE)
        return one
