"""Third step: exercises chosen from pictures become a set: sheets for the class, an answer grid, a key."""

from typing import Any

import ipywidgets

from tapkit.classroom.given import to_give
from tapkit.classroom.sets import SheetSet, make_set, set_of, sets_of, sheets_of
from tapkit.classroom.sheetpage import class_page
from tapkit.classroom.sheets import head_of
from tapkit.messages import Sentence, _, ngettext
from tapkit.panels.desk import widgets
from tapkit.panels.desk.files import DeskFile, DeskFiles, of_path
from tapkit.panels.desk.pick import ExercisePick
from tapkit.panels.desk.testing import TestPart, give_own
from tapkit.panels.onscreen import set_visible

WORDS: dict[str, tuple[Sentence, Sentence]] = {
    "class": (_("Print the sheets"), _("One file for the class; each sheet begins on a front page")),
    "late": (_("Print late learners only"), _("The sheets of those who came after the set was made")),
    "grid": (_("Print the answer grid"), _("All right answers on one page, to mark by")),
    "key": (_("Print the key"), _("Right answers with tolerances, known mistakes, worked solutions")),
}


class PrintStep(widgets.DeskStep):
    """Sets of exercises, and what is printed of them."""

    title = _("Exercises and print")

    def refresh(self) -> None:
        """Show the sets of the class, and the exercises that there are now."""
        self.pick.refresh()
        sets = sets_of(self.desk.school)
        widgets.offer(self.sets, [(one.title, one.title) for one in sets], last=True)
        set_visible(self.sets, bool(sets))
        self._show_files()
        single = self.desk.school.kind == "single"
        files = to_give() if single else {}
        self.give.show(of_path(_("Save {file}", file=name), "save", path) for name, path in files.items())
        set_visible(self.giving, bool(files))

    def make(self) -> None:
        """Make the set of what is chosen."""
        _title, names = self.chosen()
        give_own(self.desk.school, names)
        made = make_set(self.desk.school, self.name.value, names)
        self._made(made)
        self.told.say(_("{title} is made: sheets, grid and key are ready to print.", title=made.title))

    def chosen(self) -> tuple[str, list[str]]:
        """Title and names of what is chosen, in the order of the course."""
        order = [item["name"] for lesson in self.pick.lessons for item in lesson["items"]]
        return self.name.value, [name for name in order if name in self.pick.chosen]

    def _made(self, made: SheetSet) -> None:
        self.desk.refresh()
        self.sets.value = made.title

    def again(self) -> None:
        """Add those who came late to the set chosen."""
        one = set_of(self.desk.school, self.sets.value)
        if one is None:
            raise ValueError(_("make a set first"))
        make_set(self.desk.school, one.title, one.names, one.test)
        self._show_files()
        late = "late" in one.prints
        self.told.say(
            _("The sheets of late learners are ready; the others were not changed.")
            if late
            else _("Nobody came late: everyone has a sheet already.")
        )

    def _show_files(self, _change: Any = None) -> None:
        one = set_of(self.desk.school, self.sets.value)
        found = one.prints if one else {}
        files = [
            of_path(WORDS[word][0], "print", path, WORDS[word][1], word == "class") for word, path in found.items()
        ]
        if one is not None:
            files.insert(1, DeskFile(_("Print them on one side"), "print", "one-side.html", self._one_side))
        self.files.show(files)
        set_visible(self.more, one is not None)
        if one is not None:
            told = ngettext("{title}: {count} exercise", "{title}: {count} exercises", len(one.names), title=one.title)
            self.about.value = widgets.paragraphs(told).value

    def _one_side(self) -> bytes:
        """The sheets without the empty backs that keep both sides apart."""
        school, one = self.desk.school, set_of(self.desk.school, self.sets.value)
        if one is None:
            raise ValueError(_("make a set first"))
        sheets = sheets_of(school, one)
        head = head_of(one.test) if one.test else one.title
        return class_page(sheets, title=head, paper=school.paper, both_sides=False).encode()

    def parts(self) -> list[Any]:
        self.about = ipywidgets.HTML()
        self.name = widgets.entry(_("Title"), _("such as Test 1"))
        self.pick = ExercisePick()
        self.test = TestPart(self.desk, self.chosen, self._made)
        self.sets = widgets.dropdown(_("Set"))
        self.sets.observe(self._show_files, "value")
        self.give = DeskFiles(self.told.trouble)
        told = _("For your learners’ machines: they drop these files at Start here, below Your name.")
        self.giving = ipywidgets.VBox([widgets.paragraphs(told), self.give])
        self.more = self.key(_("Add late learners"), self.again, slow=True)
        return [
            widgets.paragraphs(_("Open a lesson, tick exercises, give them a title. Each learner gets other numbers.")),
            self.pick,
            self.name,
            self.key(_("Make the sheets"), self.make, slow=True, first=True),
            self.told.widget,
            self.test.widget,
            self.sets,
            self.about,
            self.files,
            self.more,
            self.giving,
        ]
