"""First step: which class, or a new one from a list of names; what was understood is shown before anything is made."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import ipywidgets

from tapkit.classroom.office import HubOffice
from tapkit.classroom.pasting import understood
from tapkit.classroom.roster import Roster
from tapkit.classroom.schoolclass import KINDS, classes_in, keep_class, make_class
from tapkit.exercises import ownfile
from tapkit.messages import _, ngettext, said
from tapkit.panels.desk import widgets
from tapkit.panels.desk.drop import DeskDrop
from tapkit.panels.desk.files import DeskFile
from tapkit.panels.desk.testing import public_folder
from tapkit.panels.markup import joined, paragraph
from tapkit.panels.onscreen import key_row, set_visible

UNITS = ((_("metric"), "metric"), (_("inch"), "inch"))
UNITS_TOLD = {
    "metric": _("Units: metric. Where a question is of an inch thread, it is asked in inch."),
    "inch": _(
        "Units: inch. Panels, the bench and your own questions begin in inch; sheets, tests and questions to the room "
        "ask of inch threads where a question has them, and of a metric thread in metric units, as shops do."
    ),
}
PASTE = _("Paste the names here, one learner a line, as your list has them: with or without headings, numbers, groups.")


class ClassStep(widgets.DeskStep):
    """Choose a class, or make one."""

    title = _("Class")

    def __init__(self, desk: Any) -> None:
        self.roster: Roster | None = None
        self._filling = False
        super().__init__(desk)
        for part in (self.kind, self.name, self.shared, self.paper, self.new_units):
            set_visible(part, not desk.is_hub)
        self._kind_chosen()

    def refresh(self) -> None:
        """Show the classes that there are, and the one that is open."""
        found = [] if self.desk.is_hub else classes_in(self.desk.place)
        self._filling = True
        here = self.desk.school
        self.pick.options = [(said(_("choose a class")), ""), *((one.name, str(one.folder.root)) for one in found)]
        self.pick.value = str(here.folder.root) if here and not self.desk.is_hub else ""
        self._filling = False
        set_visible(self.pick, bool(found))
        count = len(here.roster) if here else 0
        if here:
            told = ngettext(
                "{name}: {count} learner, {kind}.",
                "{name}: {count} learners, {kind}.",
                count,
                name=here.name,
                kind=KINDS[here.kind],
            )
            self.now.value = paragraph(told) + paragraph(UNITS_TOLD[here.units])
            self.units.value = here.units
        else:
            self.now.value = paragraph(_("No class is open."))
        set_visible(self.units, here is not None)

    def read(self, data: bytes | str, name: str = "list") -> None:
        """Understand a list and show it; nothing is made."""
        self.roster = None
        self.make.disabled = True
        try:
            self.roster = understood(data, name)
        except ValueError as error:
            self.seen.value = ""
            self.told.trouble(error)
            return
        head = ngettext(
            "{count} learner was understood. Look at them, then make the class.",
            "{count} learners were understood. Look at them, then make the class.",
            len(self.roster),
        )
        heads = (_("No."), _("Name"), _("Name to sign in with"), _("Group"))
        rows = ((str(n), one.name, one.id, one.group) for n, one in enumerate(self.roster, start=1))
        notes = joined(paragraph(note, look="tapkit-note") for note in map(str, self.roster.notes))
        self.seen.value = paragraph(head) + notes + widgets.sliding_table(heads, rows)
        self.told.say()
        self.make.disabled = False

    def make_it(self) -> None:
        """Make the class that was understood."""
        if self.roster is None:
            raise ValueError(_("paste or load the list first"))
        if isinstance(self.desk.office, HubOffice):
            self._enroll(self.roster)
        else:
            text = self.shared.value.strip().strip('"') if self.kind.value == "shared" else ""
            shared = Path(text).expanduser() if text else None
            school = make_class(
                self.desk.place,
                self.name.value,
                self.kind.value,
                self.roster,
                paper=self.paper.value,
                shared=shared,
                units=self.new_units.value,
            )
            self.desk.open(school)
            self._give_units()
            self.told.say(_("The class {name} is made. Go on with step 2 or 3.", name=school.name))
        self.box.value, self.seen.value, self.roster, self.make.disabled = "", "", None, True
        self.fold.selected_index = None

    def _units_chosen(self, change: dict[str, Any]) -> None:
        here = self.desk.school
        if here is not None and change["new"] != here.units:
            self.told.tried(lambda: self.set_units(change["new"]))()

    def set_units(self, units: str) -> None:
        """Change the units of the class that is open; sets that are made keep theirs."""
        school = replace(self.desk.school, units=units)
        keep_class(school)
        self.desk.open(school)
        self._give_units()
        self.told.say(_("From now on. Sheets and tests that are made keep their units; panels that are open do too."))

    def _give_units(self) -> None:
        here = self.desk.school
        public_folder(here).mkdir(exist_ok=True)
        ownfile.give_units(public_folder(here), here.name, here.units)

    def _enroll(self, roster: Roster) -> None:
        settled = self.desk.office.enroll([(one.id, one.name, one.group) for one in roster])
        self.desk.reopen()
        self.told.say(settled.says)
        slips = settled.slips.encode()
        if slips:
            self.files.show([DeskFile(_("Print the slips"), "print", "slips.html", lambda: slips, first=True)])

    def _loaded(self, name: str, data: bytes, _is_last: bool) -> None:
        if data:
            self.read(data, name)
        else:
            self.told.warn(_("{file} is empty, or larger than any class list", file=name))

    def _pasted(self, change: dict[str, Any]) -> None:
        if change["new"].strip():
            self.read(change["new"])

    def _chosen(self, change: dict[str, Any]) -> None:
        if change["new"] and not self._filling:
            self.told.tried(lambda: self.desk.open_folder(Path(change["new"])))()

    def _kind_chosen(self, _change: Any = None) -> None:
        set_visible(self.shared, self.kind.value == "shared" and not self.desk.is_hub)

    def parts(self) -> list[Any]:
        self.now, self.seen = ipywidgets.HTML(), ipywidgets.HTML().add_class("tapkit-comes")
        self.pick = widgets.dropdown(_("Class"))
        self.pick.observe(self._chosen, "value")
        self.name = widgets.entry(_("Name of the class"), _("such as T1 2027"))
        kinds = [(words, name) for name, words in KINDS.items() if name != "hub"]
        self.kind = widgets.dropdown(_("How it works"), kinds)
        self.kind.observe(self._kind_chosen, "value")
        self.shared = widgets.entry(_("Shared folder"), _("such as Z:\\class"))
        self.paper = widgets.dropdown(_("Paper"), [("A4", "A4"), (_("Letter"), "Letter")])
        self.units, self.new_units = (widgets.dropdown(_("Units"), UNITS) for _once in range(2))
        self.units.observe(self._units_chosen, "value")
        self.box = ipywidgets.Textarea(description=said(_("Names")), placeholder=said(PASTE), continuous_update=False)
        self.box.observe(self._pasted, "value")
        what, how = _("Or drop a class list here"), _("(CSV or text, from any spreadsheet)")
        self.make = widgets.key(_("Make this class"), self.told.tried(self.make_it), first=True)
        self.make.disabled = True
        anew = [
            self.name,
            self.kind,
            self.shared,
            self.paper,
            self.new_units,
            self.box,
            DeskDrop(what, how, self._loaded, many=False),
            self.key(_("Show what is understood"), lambda: self.read(self.box.value)),
            self.seen,
            key_row(self.make),
        ]
        self.fold = ipywidgets.Accordion([ipywidgets.VBox(anew)], titles=[said(_("Make a class"))])
        if not classes_in(self.desk.place) or self.desk.is_hub:
            self.fold.selected_index = 0
        return [self.now, self.pick, self.units, self.fold, self.told.widget, self.files]
