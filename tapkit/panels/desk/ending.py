"""Last step: a term packed into one file, a class erased."""

from typing import Any

from tapkit.classroom.archive import archive, erase_class
from tapkit.classroom.office import HubOffice
from tapkit.messages import _
from tapkit.panels.desk import widgets
from tapkit.panels.desk.files import of_path


class EndStep(widgets.DeskStep):
    """The end of a term."""

    title = _("End of term")

    def refresh(self) -> None:
        """Nothing to bring up to date but the name to type."""
        self.name.placeholder = self.desk.school.name

    def archive(self) -> None:
        """Pack the class into one file."""
        path = archive(self.desk.school, self.desk.archives)
        self.files.show([of_path(_("Save {file}", file=path.name), "save", path, first=True)])
        self.told.say(_("The class is packed into {file}, beside your classes.", file=path.name))

    def erase(self) -> None:
        """Erase the class whose name was typed."""
        school = self.desk.school
        if isinstance(self.desk.office, HubOffice):
            self.told.say(self.desk.office.empty(self.name.value).says)
            self.desk.reopen()
        else:
            self.desk.close(erase_class(school, self.name.value))
        self.name.value = ""

    def parts(self) -> list[Any]:
        self.name = widgets.entry(_("Name of the class"))
        return [
            widgets.paragraphs(_("Packed are records, sheets, keys and marks. Keep the file as your rules ask for.")),
            self.key(_("Pack the class into one file"), self.archive, slow=True, first=True),
            self.files,
            self.told.widget,
            widgets.heading(_("Erase the class")),
            widgets.paragraphs(
                _("For good: records, sheets, keys, marks; on a hub accounts too. Type the name of the class.")
            ),
            self.name,
            self.key(_("Erase for good"), self.erase),
        ]
