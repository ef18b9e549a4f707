"""Signing in to the hub: names from the roster, a first-use password from a slip, then one's own.

Loaded by the hub from its configuration; nothing else imports it.
"""

import asyncio
import hmac
from collections import defaultdict
from pathlib import Path
from typing import Any

from jupyterhub.auth import Authenticator
from tornado import web
from traitlets import Unicode

from tapkit.classroom.folder import ClassFolder
from tapkit.classroom.members import account_of
from tapkit.classroom.passwordfile import PasswordFile, RefusedError
from tapkit.classroom.roster import plain_id
from tapkit.messages import _

SLOWEST = 8.0
"""Seconds that a wrong password costs at most; each try for one name waits for the one before."""
OWN = "tapkit-own"
"""Cookie by which the proxy knows the browser of a server's owner (`pages/gate.mjs`)."""


class ClassAuthenticator(Authenticator):
    """Lets in whoever is in the class and knows the password."""

    class_folder = Unicode(config=True, help="The class folder; who has an account noted there is in the class.")
    gate = Unicode(config=True, help="File with the key of the gate; none where everyone has a name of their own.")

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._turn: dict[str, asyncio.Lock] = defaultdict(asyncio.Lock)
        self._wrong: dict[str, int] = defaultdict(int)

    @property
    def places(self) -> ClassFolder:
        return ClassFolder(Path(self.class_folder))

    def normalize_username(self, username: str) -> str:
        """Names are typed in any case, with accents or without."""
        return plain_id(username)

    async def authenticate(self, handler: Any, data: dict[str, str]) -> str | None:
        """The id where name and password are right, None where not; a sentence where more is needed."""
        id = plain_id(data.get("username", "")[:100])
        if not self._is_member(id):
            await asyncio.sleep(0.5)
            return None
        async with self._turn[id]:
            found = await self._try(id, data)
        if found and self.gate:
            self._mark(handler, found)
        return found

    def _mark(self, handler: Any, id: str) -> None:
        """Let this browser through the gate to the person's own server."""
        mark = hmac.digest(Path(self.gate).read_bytes(), id.encode(), "sha256").hex()
        secure = handler.request.protocol == "https"
        handler.set_cookie(OWN, mark, path=f"/user/{id}", expires_days=1, httponly=True, secure=secure, samesite="Lax")

    def _is_member(self, id: str) -> bool:
        """Whether somebody is in the class at this moment: people come and go while the hub runs."""
        return account_of(self.places, id) is not None

    async def check_allowed(self, username: str, authentication: Any = None) -> bool:
        """Whoever is in the class."""
        return self._is_member(username)

    def check_allow_config(self) -> None:
        """Nothing else says who may come in."""

    def add_user(self, user: Any) -> None:
        """Refuse whoever left, so that the hub forgets them at its next start."""
        if not self._is_member(user.name):
            raise ValueError(f"{user.name} is not in the class")
        super().add_user(user)

    async def _try(self, id: str, data: dict[str, str]) -> str | None:
        typed = [data.get(key, "") for key in ("password", "chosen", "repeated")]
        store = PasswordFile(self.places.passwords)
        try:
            right = await asyncio.to_thread(store.check, id, *typed)
        except RefusedError as refused:
            self._wrong.pop(id, None)
            raise web.HTTPError(403, str(refused), reason="Forbidden") from None
        except OSError as error:
            self.log.error("the password file could not be written: %s", error.strerror)
            told = _("Your new password could not be kept, the disk may be full. Tell your instructor.")
            raise web.HTTPError(503, told.said(), reason="Full") from None
        if right:
            self._wrong.pop(id, None)
            return id
        self._wrong[id] += 1
        await asyncio.sleep(min(SLOWEST, 0.25 * 2 ** min(self._wrong[id], 10)))
        return None
