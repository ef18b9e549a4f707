"""Linux accounts of a class: every learner works under an account of their own, which is what keeps them apart.

An account is made for each id, called tapkit001 and so on, without a password and without a login shell:
nobody signs in to the machine with it. No account that was there before is ever used.
"""

import contextlib
import csv
import os
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

from tapkit.classroom import folder as places
from tapkit.classroom.folder import ClassFolder, write_safely
from tapkit.classroom.hubsettings import gate
from tapkit.messages import _

try:
    import grp
    import pwd
except ImportError:  # Windows, where `require_linux` says what to do
    grp = pwd = None  # type: ignore[assignment]

ACCOUNT = "tapkit"
BARE = ("--no-create-home", "--home-dir", "/nonexistent", "--shell", "/usr/sbin/nologin")
"""Options of an account that nobody signs in with."""
NOBODY = 65534
"""A number that owns nothing, to try things with before there are accounts."""


def require_linux_root() -> None:
    """Raise ValueError, with the way out, on a machine or account where learners cannot be kept apart."""
    if sys.platform != "linux":
        raise ValueError(
            _(
                "a hub runs on Linux only (JupyterHub does not run on Windows); on this machine each "
                "learner can use 'tapkit open', with answers in a shared folder"
            )
        )
    if os.geteuid() != 0:
        raise ValueError(
            _(
                "a hub keeps learners apart by Linux accounts, which only root can make; start it with "
                "sudo, or use 'tapkit open' for one learner"
            )
        )


def group_number(name: str) -> int:
    """The number of a Linux group, made where it is not there."""
    try:
        return grp.getgrnam(name).gr_gid
    except KeyError:
        _do("groupadd", "--system", name)
        return grp.getgrnam(name).gr_gid


def proxy_account() -> str:
    """The account of the proxy, made where it is not there."""
    if not _exists(places.PROXY):
        group_number(places.PROXY)
        _do("useradd", "--system", *BARE, "--gid", places.PROXY, places.PROXY)
    return places.PROXY


def accounts_for(folder: ClassFolder, ids: Iterable[str]) -> dict[str, str]:
    """The account of each id, from the list in the class folder, with new ones made and noted there."""
    known = read_accounts(folder)
    for id in ids:
        if id not in known:
            known[id] = _free_name(set(known.values()))
    for account in known.values():
        if not _exists(account):
            _do("useradd", *BARE, "--user-group", account)
    note_accounts(folder, known)
    return known


def note_accounts(folder: ClassFolder, known: dict[str, str]) -> None:
    """Keep the list of accounts by id."""
    rows = [("id", "account"), *sorted(known.items())]
    write_safely(folder.accounts, "".join(f"{id},{account}\n" for id, account in rows), mode=0o600)


def number_of(account: str) -> int | None:
    """The number of an account, None where there is none."""
    return pwd.getpwnam(account).pw_uid if _exists(account) else None


def read_accounts(folder: ClassFolder) -> dict[str, str]:
    """Account by id, as noted by an earlier start."""
    with contextlib.suppress(FileNotFoundError):
        rows = csv.DictReader(folder.accounts.read_text(encoding="utf-8").splitlines())
        return {r["id"]: r["account"] for r in rows if r["account"].startswith(ACCOUNT)}
    return {}


def settle(
    folder: ClassFolder, accounts: dict[str, str], *, learners: Iterable[str], instructors: Iterable[str]
) -> None:
    """Give every learner and instructor a folder of their own, with the rights of the class folder."""
    teachers = group_number(places.TEACHERS)
    for id in learners:
        user = pwd.getpwnam(accounts[id]).pw_uid
        places.give(folder.learner(id), user=user, group=teachers, mode=0o2750)
        places.give(folder.answers(id), user=user, group=teachers, mode=0o2750)
    for id in instructors:
        user = pwd.getpwnam(accounts[id])
        places.give(folder.instructor(id), user=user.pw_uid, group=user.pw_gid, mode=0o700)
        _do("usermod", "--append", "--groups", places.TEACHERS, accounts[id])


def check_reach(user: int, folder: Path) -> None:
    """Raise ValueError where an account without rights cannot run this Python or reach the class folder."""
    common = dict(user=user, group=user, extra_groups=[], cwd="/", capture_output=True, timeout=120)
    try:
        tried = subprocess.run([sys.executable, "-c", "import tapkit, jupyterhub, jupyterlab"], **common)
        fine, why = tried.returncode == 0, (tried.stderr.decode(errors="replace").strip().splitlines() or [""])[-1]
    except PermissionError:
        fine, why = False, _("permission denied")
    if not fine:
        raise ValueError(
            _(
                "the learners' accounts cannot run {python} ({why}); install tapkit where everyone may "
                "read it, such as one beside the class folder, and start the hub from there",
                python=sys.executable,
                why=why,
            )
        )
    if subprocess.run(["test", "-x", str(folder)], **common).returncode:
        raise ValueError(
            _(
                "the learners' accounts cannot reach {folder}; choose a place such as /srv/tapkit with --class",
                folder=folder,
            )
        )


def check_proxy(path: str) -> None:
    """Raise ValueError where an account without rights cannot run the proxy."""
    common = dict(user=NOBODY, group=NOBODY, extra_groups=[], cwd="/", capture_output=True, timeout=60)
    try:
        tried = subprocess.run([*gate(Path(os.devnull)), path, "--version"], **common)
        why = tried.stderr.decode(errors="replace").strip().splitlines()[-1:] if tried.returncode else []
    except (OSError, subprocess.TimeoutExpired) as error:
        why = [str(error)]
    if why:
        raise ValueError(
            _(
                "the account {account} cannot run {path} ({why}); install it with npm install -g",
                account=places.PROXY,
                path=path,
                why=why[0],
            )
        )


def _free_name(taken: set[str]) -> str:
    for number in range(1, 10_000):
        name = f"{ACCOUNT}{number:03d}"
        if name not in taken and not _exists(name):
            return name
    raise ValueError(_("there are 9999 tapkit accounts on this machine; remove those of old classes with userdel"))


def _exists(name: str) -> bool:
    try:
        pwd.getpwnam(name)
    except KeyError:
        return False
    return True


def _do(*command: str) -> None:
    """Run a command that changes accounts; its own words in a ValueError where it fails."""
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=60)
    except FileNotFoundError:
        raise ValueError(
            _("this Linux has no {command}; install the package that brings it (passwd or shadow)", command=command[0])
        ) from None
    if done.returncode:
        raise ValueError(
            _(
                "{command} failed: {why}",
                command=command[0],
                why=done.stderr.strip().splitlines()[-1:] or done.returncode,
            )
        )
