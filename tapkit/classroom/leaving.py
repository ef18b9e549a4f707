"""Leaving and ending: a learner who left can neither sign in nor be found; an erased class leaves nothing behind."""

import contextlib
import os
import shutil
import signal
import subprocess
import time
from collections.abc import Iterable
from pathlib import Path

from tapkit.classroom import accounts as linux
from tapkit.classroom.controlgroup import folders as control_groups
from tapkit.classroom.folder import ClassFolder, put_aside
from tapkit.classroom.hubsettings import DESKS, RUN
from tapkit.classroom.passwordfile import PasswordFile
from tapkit.classroom.seeds import class_code
from tapkit.messages import Sentence, _, ngettext

PARTS = ("hub", "tls", "originals", "learners", "room", "key", "marks", "instructors")
"""All that a class folder is made of."""


def let_go(folder: ClassFolder, stay: Iterable[str]) -> tuple[str, ...]:
    """Take account, password and folder from whoever is no longer in the class; their ids.

    Their work goes to marks/left, where instructors alone read it; `take_back` gives it back to one who returns.
    """
    known = linux.read_accounts(folder)
    gone = tuple(sorted(set(known) - set(stay)))
    if not gone:
        return ()
    PasswordFile(folder.passwords).forget(gone)
    for id in gone:
        _remove_account(known[id])
        folder.left.mkdir(mode=0o2750, exist_ok=True)
        for place in (folder.learner(id), folder.instructor(id)):
            put_aside(place, folder.left)
        shutil.rmtree(folder.answers(id), ignore_errors=True)
        (folder.logs / f"{id}.log").unlink(missing_ok=True)
    linux.note_accounts(folder, {id: account for id, account in known.items() if id not in gone})
    return gone


def erase(folder: ClassFolder) -> Sentence:
    """Remove accounts, processes, sockets and every folder of a class that is not running.

    Raises ValueError where it is no class folder, where its hub runs, or where something could not be removed.
    """
    if not folder.accounts.is_file():
        raise ValueError(_("{folder} is not the folder of a class; nothing was erased", folder=folder.root))
    if hub_runs(folder):
        raise ValueError(_("the hub of {folder} is running; stop it first (Ctrl-C), then erase", folder=folder.root))
    known = linux.read_accounts(folder)
    for account in known.values():
        _remove_account(account)
    with contextlib.suppress(OSError):
        (DESKS / f"{class_code(folder.seed)}.sock").unlink()
    for part in PARTS:
        shutil.rmtree(folder.root / part, ignore_errors=True)
    left = [part for part in PARTS if os.path.lexists(folder.root / part)]
    if left:
        raise ValueError(
            _("these could not be removed from {folder}: {left}", folder=folder.root, left=", ".join(left))
        )
    with contextlib.suppress(OSError):  # something that is not ours lies there
        folder.root.rmdir()
    return ngettext(
        "The class in {folder} is erased: {count} account, all folders, passwords and copies.",
        "The class in {folder} is erased: {count} accounts, all folders, passwords and copies.",
        len(known),
        folder=folder.root,
    )


def hub_runs(folder: ClassFolder) -> bool:
    """Whether a hub runs on this class folder."""
    mark = os.fsencode(folder.hub / "jupyterhub_config.py")
    for process in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            if mark in (process / "cmdline").read_bytes().split(b"\0"):
                return True
    return False


def _remove_account(account: str) -> None:
    """End every process of an account, then the account, its sockets and its control groups."""
    _end_processes(account)
    subprocess.run(["userdel", account], capture_output=True, timeout=60)
    subprocess.run(["groupdel", account], capture_output=True, timeout=60)
    for place in (RUN / account, RUN / "servers" / account):
        shutil.rmtree(place, ignore_errors=True)
    for group in control_groups(account):
        with contextlib.suppress(OSError):
            group.rmdir()


def _end_processes(account: str) -> None:
    end = time.monotonic() + 10
    while time.monotonic() < end:
        numbers = _processes(account)
        for number in numbers:
            with contextlib.suppress(ProcessLookupError):
                os.kill(number, signal.SIGKILL)
        if not numbers:
            return
        time.sleep(0.1)


def _processes(account: str) -> list[int]:
    user = linux.number_of(account)
    found = []
    for process in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            if user is not None and process.stat().st_uid == user and "Z" not in _state(process):
                found.append(int(process.name))
    return found


def _state(process: Path) -> str:
    return (process / "stat").read_text().rpartition(")")[2].split()[0]
