"""The hub's service for the instructor's desk: it takes learners in, lets them go, resets a password, empties a class.

It does these things and nothing else, as root, asked over a socket that the instructors' group alone may open, by
whoever's token carries the scope `custom:tapkit:desk`; the hub says whose a token is. Started by the hub.
"""

import asyncio
import json
import logging
import os
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tornado import web
from tornado.httpserver import HTTPServer
from tornado.netutil import bind_unix_socket

from tapkit.classroom import accounts as linux
from tapkit.classroom import folder as places
from tapkit.classroom import members
from tapkit.classroom.folder import ClassFolder
from tapkit.classroom.hubsettings import SCOPE
from tapkit.messages import Sentence, _, ngettext, said

LARGEST = 2**20
WATCHED = 2.0
"""Seconds between two looks whether the hub still lives."""


class ClassDesk:
    """What the service does. `hub` asks the hub for something with the service's own token."""

    def __init__(self, folder: ClassFolder, instructors: list[str], url: str, hub: Callable[[str, str], Any]) -> None:
        self.folder, self.instructors, self.url, self._hub = folder, instructors, url, hub
        self.turn = asyncio.Lock()

    def do(self, action: str, values: dict[str, Any]) -> dict[str, str]:
        """Do one thing; what is said of it, and slips. ValueError for anything else."""
        actions = {"enroll": self.enroll, "remove": self.remove, "reset": self.reset, "slips": self.slips,
                   "empty": self.empty}  # fmt: skip
        if action not in actions:
            raise ValueError(_("there is no {action} here", action=repr(action[:20])))
        says, slips = actions[action](values)
        return {"says": said(says), "slips": slips}

    def enroll(self, values: dict[str, Any]) -> tuple[Sentence | str, str]:
        people = values.get("people")
        if not isinstance(people, list) or not all(isinstance(one, list) for one in people):
            raise ValueError(_("a list of people is needed"))
        slips = members.enroll(self.folder, people, instructors=self.instructors, url=self.url)
        told = ngettext("{count} learner is in the class, with an account and a slip.",
                        "{count} learners are in the class, each with an account and a slip.", len(people))  # fmt: skip
        return told, slips

    def remove(self, values: dict[str, Any]) -> tuple[Sentence | str, str]:
        id = members.dismiss(self.folder, str(values.get("id", "")), instructors=self.instructors)
        self._forget(id)
        return _("{id} has left; the work is put aside and comes back with the same name.", id=id), ""

    def reset(self, values: dict[str, Any]) -> tuple[Sentence | str, str]:
        id = str(values.get("id", ""))
        slips = members.reset(self.folder, id, url=self.url)
        return _("{id} has a new first-use password; print the slip.", id=id), slips

    def slips(self, values: dict[str, Any]) -> tuple[Sentence | str, str]:
        return "", members.slips_again(self.folder, url=self.url)

    def empty(self, values: dict[str, Any]) -> tuple[Sentence | str, str]:
        ids = [one.id for one in self.folder.roster]
        count = members.empty(self.folder, str(values.get("name", "")), instructors=self.instructors)
        for id in ids:
            self._forget(id)
        told = ngettext("The class is erased: {count} learner with account, work and marks.",
                        "The class is erased: {count} learners with accounts, work and marks.", count)  # fmt: skip
        return told, ""

    def _forget(self, id: str) -> None:
        """Have the hub end the server and the session of somebody who left."""
        try:
            self._hub("DELETE", f"users/{id}")
        except urllib.error.HTTPError as error:
            if error.code != 404:
                logging.getLogger("tapkit").warning("the hub keeps %s until it is started again (%s)", id, error.code)


class DeskHandler(web.RequestHandler):
    """One request of an instructor's desk."""

    def initialize(self, desk: ClassDesk, scopes_of: Callable[[str], list[str]]) -> None:
        """What it works on, and what says which scopes a token has."""
        self.desk, self.scopes_of = desk, scopes_of

    async def post(self, action: str) -> None:
        """Do what is asked, one at a time."""
        token = self.request.headers.get("Authorization", "").removeprefix("token ").strip()
        if not token or SCOPE not in await asyncio.to_thread(self.scopes_of, token):
            self._answer(403, {"says": said(_("only an instructor of this class may do that"))})
            return
        try:
            values = json.loads(self.request.body or b"{}")
            if not isinstance(values, dict):
                raise ValueError(_("an object is needed"))
            async with self.desk.turn:
                told = await asyncio.to_thread(self.desk.do, action, values)
        except ValueError as error:
            self._answer(400, {"says": said(error)})
        except OSError as error:
            why = (error.strerror or str(error)).lower()
            self._answer(500, {"says": said(_("Not done: {why}.", why=why))})
        else:
            self._answer(200, told)

    def _answer(self, status: int, told: dict[str, str]) -> None:
        self.set_status(status)
        self.set_header("Content-Type", "application/json")
        self.finish(json.dumps(told))


def ask_hub(method: str, path: str, token: str = "") -> Any:
    """An answer of the hub's own interface; with the service's token, or another's."""
    token = token or os.environ["JUPYTERHUB_API_TOKEN"]
    request = urllib.request.Request(f"{os.environ['JUPYTERHUB_API_URL']}/{path}", method=method)
    request.add_header("Authorization", f"token {token}")
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    with opener.open(request, timeout=60) as answer:
        return json.loads(answer.read() or b"{}")


def scopes_of(token: str) -> list[str]:
    """The scopes a token carries, by the hub's word; none where it is not valid."""
    try:
        return list(ask_hub("GET", "user", token).get("scopes", ()))
    except (OSError, ValueError):
        return []


def listen(socket: Path, desk: ClassDesk) -> None:
    """Take requests at a socket that root and the instructors' group may open."""
    group = linux.group_number(places.TEACHERS)
    socket.parent.mkdir(mode=0o755, parents=True, exist_ok=True)
    os.chown(socket.parent, 0, group)
    os.chmod(socket.parent, 0o750)
    application = web.Application([("/([a-z]+)", DeskHandler, {"desk": desk, "scopes_of": scopes_of})])
    server = HTTPServer(application, max_body_size=LARGEST)
    line = bind_unix_socket(str(socket), mode=0o660)
    os.chown(socket, 0, group)
    server.add_socket(line)


async def serve_desk(folder: str, socket: str, url: str, *instructors: str) -> None:
    """Listen as long as the hub lives, however it ends."""
    hub = os.getppid()
    listen(Path(socket), ClassDesk(ClassFolder(Path(folder)), list(instructors), url, ask_hub))
    while os.getppid() == hub:
        await asyncio.sleep(WATCHED)


if __name__ == "__main__":
    import sys

    asyncio.run(serve_desk(*sys.argv[1:]))
