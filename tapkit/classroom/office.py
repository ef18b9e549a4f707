"""Who comes, changes the name, leaves, gets a new password: by the instructor's own hand, or by the hub's service.

What needs more rights than an instructor has goes to the service (`classdesk`); everything else is the same.
"""

import http.client
import json
import os
import socket
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

from tapkit.classroom.folder import ClassFolder, put_aside, take_back
from tapkit.classroom.schoolclass import SchoolClass, added, keep_class, open_class, renamed, without
from tapkit.messages import Sentence, _
from tapkit.pages import page


class Settled(NamedTuple):
    """What was done: what is said of it, and a page of slips to print where there are new ones."""

    says: Sentence | str
    slips: str = ""


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
        """Slips that tell everyone how to begin: the name to write, and the folder to hand answers in to."""
        return page("startslips.html", learners=list(made.roster), shared=made.shared)


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


# --- the instructor's end of the service: one request over its socket, with the server's own token -------------------

SECONDS = 300


class _OverSocket(http.client.HTTPConnection):
    """HTTP over a socket in the file system."""

    def __init__(self, path: str) -> None:
        super().__init__("localhost", timeout=SECONDS)
        self._path = path

    def connect(self) -> None:
        self.sock = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self.sock.settimeout(self.timeout)
        self.sock.connect(self._path)


def ask_service(action: str, **values: Any) -> Settled:
    """Have something done. Raises ValueError, in the service's own sentence, where it was not."""
    path = os.environ.get("TAPKIT_DESK", "")
    line = _OverSocket(path)
    try:
        headers = {"Authorization": f"token {os.environ.get('JUPYTERHUB_API_TOKEN', '')}"}
        line.request("POST", f"/{action}", json.dumps(values), headers)
        answer = line.getresponse()
        told = json.loads(answer.read() or b"{}")
    except (OSError, ValueError, http.client.HTTPException) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise ValueError(_("the hub's service does not answer ({why}); nothing was changed", why=why)) from None
    finally:
        line.close()
    if answer.status != 200:
        raise ValueError(str(told.get("says")) if told.get("says") else _("the hub's service refused"))
    return Settled(str(told.get("says", "")), str(told.get("slips", "")))
