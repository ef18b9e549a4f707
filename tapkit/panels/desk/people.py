"""Second step: learners who come, change their name or leave; slips to print; forgotten passwords."""

from typing import Any

import ipywidgets

from tapkit.classroom.office import HubOffice, Settled
from tapkit.messages import _
from tapkit.panels.desk import widgets
from tapkit.panels.desk.files import DeskFile
from tapkit.panels.onscreen import key_row


class PeopleStep(widgets.DeskStep):
    """The people of the class."""

    title = _("Learners")

    def refresh(self) -> None:
        """Show who is in the class."""
        roster = self.desk.school.roster
        heads = (_("No."), _("Name"), _("Name to sign in with"), _("Group"))
        rows = ((str(n), one.name, one.id, one.group) for n, one in enumerate(roster, start=1))
        self.seen.value = widgets.sliding_table(heads, rows)
        widgets.offer(self.pick, [(one.name, one.id) for one in roster])
        self._slips()

    def add(self) -> None:
        """One more learner."""
        self._settled(self.desk.office.add(self.desk.school, self.name.value, self.group.value))
        self.name.value = ""

    def rename(self) -> None:
        """Another name for the learner chosen."""
        self._settled(self.desk.office.rename(self.desk.school, self.pick.value, self.new.value))
        self.new.value = ""

    def remove(self) -> None:
        """The learner chosen leaves, once it was said twice."""
        if not self.sure.value:
            raise ValueError(_("tick the box first: the learner leaves the class"))
        self._settled(self.desk.office.remove(self.desk.school, self.pick.value))
        self.sure.value = False

    def reset(self) -> None:
        """A new first-use password for the learner chosen."""
        self._settled(self.desk.office.reset(self.pick.value))

    def _settled(self, settled: Settled) -> None:
        self.desk.reopen()
        self.told.say(settled.says)
        self._slips(settled.slips)

    def _slips(self, fresh: str = "") -> None:
        about = _("Slips to print and cut, one for each learner")
        school, office = self.desk.school, self.desk.office
        files = [DeskFile(_("Print the slips"), "print", "slips.html", lambda: office.slips(school).encode(), about)]
        if fresh:
            files.insert(0, DeskFile(_("Print the new slip"), "print", "slip.html", lambda: fresh.encode(), first=True))
        self.files.show(files)

    def parts(self) -> list[Any]:
        self.seen = ipywidgets.HTML()
        self.name = widgets.entry(_("Another learner"), _("first name and last name"))
        self.group = widgets.entry(_("Group"))
        self.pick = widgets.dropdown(_("This learner"))
        self.new = widgets.entry(_("is now called"))
        self.sure = widgets.tick(_("leaves the class; the work is put aside and comes back with the name"))
        change = widgets.key(_("Change the name"), self.told.tried(self.rename))
        of_hub = [widgets.key(_("New first-use password"), self.told.tried(self.reset))]
        return [
            self.seen,
            self.files,
            self.told.widget,
            self.name,
            self.group,
            self.key(_("Add"), self.add, first=True),
            self.pick,
            self.new,
            key_row(change, *(of_hub if isinstance(self.desk.office, HubOffice) else [])),
            self.sure,
            self.key(_("Take out of the class"), self.remove),
        ]
