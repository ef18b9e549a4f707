"""PasswordFile of a class: one for the first time, printed on a slip; then one that the learner chooses.

Only salted scrypt hashes are kept, in one file that root alone reads.
"""

import contextlib
import hashlib
import hmac
import json
import os
import secrets
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from tapkit.classroom.folder import write_safely
from tapkit.filelock import locked
from tapkit.messages import _
from tapkit.pages import page

SIGNS = "abcdefghjkmnpqrstuvwxyz23456789"
"""Letters and digits that nobody mistakes for each other on paper."""
SHORTEST = 8
COST = dict(n=2**14, r=8, p=1, dklen=32)
"""Cost of one scrypt hash, about 50 ms and 16 MB: RFC 7914, section 2."""


class RefusedError(ValueError):
    """A sign-in that fails, with the sentence to show."""


class PasswordFile:
    """The password file of a class. Every change is on disk before it is acknowledged."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def _all(self) -> dict[str, dict[str, str]]:
        try:
            return json.loads(self.path.read_text(encoding="utf-8"))
        except FileNotFoundError:
            return {}
        except ValueError:
            raise ValueError(
                _("{file} is damaged; delete it, and new slips are made for the whole class", file=self.path)
            ) from None

    @contextlib.contextmanager
    def _changed(self) -> Iterator[dict[str, dict[str, str]]]:
        """All entries, to be changed and kept, while nobody else changes any: a whole class signs in at once."""
        handle = os.open(self.path.with_suffix(".lock"), os.O_RDWR | os.O_CREAT, 0o600)
        try:
            with locked(handle, timeout=60.0):
                known = self._all()
                before = dict(known)
                yield known
                if known != before:
                    write_safely(self.path, json.dumps(known, indent=1, sort_keys=True) + "\n", mode=0o600)
        finally:
            os.close(handle)

    def issue(self, ids: Iterable[str], *, again: bool = False) -> dict[str, str]:
        """A first-use password for each id that has no password yet (or for all, `again`), by id."""
        made = {}
        with self._changed() as known:
            for id in ids:
                if again or id not in known:
                    made[id] = first_use_password()
                    known[id] = {"first": "yes", **_hashed(plain_first(made[id]))}
        return made

    def is_first(self, id: str) -> bool:
        """Whether somebody has not signed in since the slip was printed."""
        return self._all().get(id, {}).get("first") == "yes"

    def forget(self, ids: Iterable[str]) -> None:
        """Drop the passwords of people who left."""
        with self._changed() as known:
            for id in ids:
                known.pop(id, None)

    def check(self, id: str, password: str, chosen: str = "", repeated: str = "") -> bool:
        """True where the password is right; with a first-use password the chosen one takes its place.

        Raises RefusedError where the password is right and the chosen one is not fit.
        """
        known = self._all()
        entry = known.get(id) or {"first": "no", **_NOBODY}
        first = entry["first"] == "yes"
        if not _matches(entry, plain_first(password) if first else password) or id not in known:
            return False
        return self._replace(id, entry, password, chosen, repeated) if first else True

    def _replace(self, id: str, entry: dict[str, str], password: str, chosen: str, repeated: str) -> bool:
        """Whether the chosen password has taken the place of a first-use one that is still there."""
        if not chosen:
            raise RefusedError(
                _(
                    "This is your first time here: type the password from your slip again, and a password of "
                    "your own in the two boxes below it."
                )
            )
        if chosen != repeated:
            raise RefusedError(_("The two new passwords are not the same. Type your new password twice."))
        if len(chosen) < SHORTEST:
            raise RefusedError(
                _(
                    "Your new password has {count} characters. It needs {shortest} or more.",
                    count=len(chosen),
                    shortest=SHORTEST,
                )
            )
        if plain_first(chosen) == plain_first(password) or chosen.casefold() == id:
            raise RefusedError(_("Your new password must not be your name or the password on the slip."))
        with self._changed() as known:
            is_there = known.get(id) == entry
            if is_there:
                known[id] = {"first": "no", **_hashed(chosen)}
        return is_there


def first_use_password() -> str:
    """Three groups of four signs, about 59 bits by chance: "hk7m-2wqp-x9ct"."""
    return "-".join("".join(secrets.choice(SIGNS) for _ in range(4)) for _ in range(3))


def plain_first(text: str) -> str:
    """A first-use password as typed from paper, without hyphens, spaces and capitals.

    >>> plain_first(" HK7M 2wqp-x9ct")
    'hk7m2wqpx9ct'
    """
    return "".join(c for c in text[:200].lower() if c in SIGNS)


def _hashed(password: str) -> dict[str, str]:
    salt = secrets.token_bytes(16)
    return {"salt": salt.hex(), "hash": hashlib.scrypt(password.encode()[:1024], salt=salt, **COST).hex()}


def _matches(entry: dict[str, str], password: str) -> bool:
    found = hashlib.scrypt(password.encode()[:1024], salt=bytes.fromhex(entry["salt"]), **COST)
    return hmac.compare_digest(found, bytes.fromhex(entry["hash"]))


_NOBODY = {"salt": "00" * 16, "hash": "00" * 32}
"""Checked for a name that is not in the class, so that the answer takes as long."""


class PasswordSlip(NamedTuple):
    """One slip: the name, the id to type, the first-use password."""

    name: str
    id: str
    password: str


def slips_page(slips: Sequence[PasswordSlip], address: str) -> str:
    """A page with all slips; `address` is where the class signs in."""
    return page("slips.html", slips=slips, address=address)
