"""Who comes, changes the name, leaves, gets a new password: by the instructor's own hand, or by the hub's service.

What needs more rights than an instructor has goes to the service (`classdesk`); everything else is the same.
"""

from dataclasses import replace
from pathlib import Path

from tapkit.classroom.deskclient import Settled, ask_service
from tapkit.classroom.folder import ClassFolder, put_aside, take_back
from tapkit.classroom.schoolclass import SchoolClass, added, keep_class, open_class, renamed, without
from tapkit.classroom.slips import start_page
from tapkit.messages import _


class OwnOffice:
    """A class in a folder of the instructor's."""

    def add(self, made: SchoolClass, name: str, group: str = "") -> Settled:
        """One more learner."""
        roster, learner = added(made.roster, name, group)
        take_back(made.records / learner.id, made.folder.left)
        keep_class(made, roster)
        return Settled(_("{name} is in the class.", name=learner.name))

    def rename(self, made: SchoolClass, id: str, name: str) -> Settled:
        """Another name; sheets, records and marks stay theirs."""
        known, roster = renamed(made, id, name)
        keep_class(known, roster)
        return Settled(_("The name is {name} from now on; marks and sheets stay.", name=" ".join(name.split())))

    def remove(self, made: SchoolClass, id: str) -> Settled:
        """A learner leaves; the records are put aside."""
        roster = without(made.roster, id)
        put_aside(made.records / id, made.folder.left)
        keep_class(made, roster)
        return Settled(_("{id} has left; the records are put aside and come back with the same name.", id=id))

    def slips(self, made: SchoolClass) -> str:
        """Slips that tell everyone how to begin."""
        return start_page(made.roster, made.shared)


class HubOffice:
    """A class on a hub, through its service."""

    def add(self, made: SchoolClass, name: str, group: str = "") -> Settled:
        """One more learner, with an account and a slip."""
        return self.enroll([(added(made.roster, name, group)[1].id, name, group)])

    def enroll(self, people: list[tuple[str, str, str]]) -> Settled:
        """Learners by id, name and group; everything is checked before the first account is made."""
        return ask_service("enroll", people=people)

    def rename(self, made: SchoolClass, id: str, name: str) -> Settled:
        """Another name; the sign-in name stays."""
        known, roster = renamed(made, id, name)
        keep_class(known, roster)
        return Settled(_("The name is {name} from now on; the name to sign in with stays {id}.", name=name, id=id))

    def remove(self, made: SchoolClass, id: str) -> Settled:
        """A learner leaves: account and password go, the work is put aside."""
        without(made.roster, id)
        return ask_service("remove", id=id)

    def reset(self, id: str) -> Settled:
        """A new first-use password."""
        return ask_service("reset", id=id)

    def slips(self, made: SchoolClass) -> str:
        """The slips not yet used."""
        return ask_service("slips").slips

    def empty(self, name: str) -> Settled:
        """Erase all learners with their work, marks and keys; the hub and its instructors stay."""
        return ask_service("empty", name=name)


Office = OwnOffice | HubOffice


def hub_class(folder: Path) -> SchoolClass:
    """The class of a hub, which has nobody in it at first."""
    return replace(open_class(folder), folder=ClassFolder(folder), kind="hub")
