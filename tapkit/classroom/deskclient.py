"""The instructor's end of the hub's service `classdesk`: one request over its socket, with the server's own token."""

import http.client
import json
import os
import socket
from typing import Any, NamedTuple

from tapkit.messages import Sentence, _

SECONDS = 300


class Settled(NamedTuple):
    """What was done: what is said of it, and a page of slips to print where there are new ones."""

    says: Sentence | str
    slips: str = ""


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
