"""Who is in the class of a hub: accounts, folders and passwords come and go with them, while the hub runs or not.

Run as root, by `tapkit hub` and by the hub's service `classdesk`. All is checked before the first account is made.
"""

import os
import shutil
from collections.abc import Iterable, Sequence
from pathlib import Path

from tapkit.classroom import accounts as linux
from tapkit.classroom import folder as places
from tapkit.classroom.folder import ClassFolder, write_safely
from tapkit.classroom.leaving import let_go
from tapkit.classroom.passwordfile import PasswordFile, PasswordSlip, slips_page
from tapkit.classroom.roster import ID, MAX_LEARNERS, MAX_NAME, Learner, Roster
from tapkit.classroom.schoolclass import roster_text, with_one_more, without
from tapkit.classroom.seeds import learner_seed
from tapkit.messages import _

TOOLS = ("useradd", "userdel", "groupadd", "usermod", "setpriv")
ROOM = 8 * 2**20
"""Free bytes on the disk of the class folder below which nobody is taken in."""


def check_machine(folder: ClassFolder) -> None:
    """Raise ValueError where accounts could not be made or would not work; nothing is made but the folder itself."""
    missing = [tool for tool in TOOLS if shutil.which(tool) is None]
    if missing:
        raise ValueError(
            _("this Linux has no {tools}; install the packages that bring them (passwd, util-linux)",
              tools=", ".join(missing))
        )  # fmt: skip
    folder.root.mkdir(mode=0o755, parents=True, exist_ok=True)
    if shutil.disk_usage(folder.root).free < ROOM:
        raise ValueError(_("the disk of {folder} is full; make room first, nothing was changed", folder=folder.root))
    linux.check_reach(linux.NOBODY, folder.root)


def account_of(folder: ClassFolder, id: str) -> str | None:
    """The account of a member, None for anybody else."""
    return linux.read_accounts(folder).get(id)


def seed_of(folder: ClassFolder, id: str) -> int:
    """The seed of a learner; the class seed itself never reaches a server."""
    return learner_seed(folder.seed, id)


def settle_members(folder: ClassFolder, learners: Sequence[str], instructors: Sequence[str]) -> dict[str, str]:
    """Accounts and folders for these, those who returned with their work; accounts by id."""
    known = linux.accounts_for(folder, (*learners, *instructors))
    for id in learners:
        places.take_back(folder.learner(id), folder.left)
    linux.settle(folder, known, learners=learners, instructors=instructors)
    return known


def enroll(folder: ClassFolder, people: Iterable[Sequence[str]], *, instructors: Sequence[str], url: str) -> str:
    """Take learners in by id, name and group; the page of their slips.

    Raises ValueError where one of them cannot be: then nobody was taken in.
    """
    roster = folder.roster
    new = [_checked(one, roster, instructors) for one in people]
    if not new or len({one.id for one in new}) < len(new):
        raise ValueError(_("the list is empty, or has somebody twice; nobody was taken in"))
    if len(roster) + len(new) > MAX_LEARNERS:
        raise ValueError(_("the list has more than {most} learners; split it into classes", most=MAX_LEARNERS))
    check_machine(folder)
    settle_members(folder, [one.id for one in new], ())
    keep_roster(folder, Roster((*roster.learners, *new)))
    store = PasswordFile(folder.passwords)
    return _slips(store.issue([one.id for one in new], again=True), new, url)


def dismiss(folder: ClassFolder, id: str, *, instructors: Sequence[str]) -> str:
    """A learner leaves: account, password and folder go, the work is put aside; who it was."""
    roster = folder.roster
    gone = roster.one(id).id
    left = without(roster, gone)
    keep_roster(folder, left)
    let_go(folder, (*(one.id for one in left), *instructors))
    return gone


def reset(folder: ClassFolder, id: str, *, url: str) -> str:
    """A new first-use password; the page with its slip."""
    learner = folder.roster.one(id)
    return _slips(PasswordFile(folder.passwords).issue([learner.id], again=True), [learner], url)


def slips_again(folder: ClassFolder, *, url: str) -> str:
    """New slips for all who have not signed in yet; their earlier ones are void."""
    roster, store = folder.roster, PasswordFile(folder.passwords)
    waiting = [one for one in roster if store.is_first(one.id)]
    if not waiting:
        raise ValueError(_("everybody has signed in already; nobody needs a slip"))
    return _slips(store.issue([one.id for one in waiting], again=True), waiting, url)


def empty(folder: ClassFolder, name: str, *, instructors: Sequence[str]) -> int:
    """Erase all learners, with their work, marks and keys; hub and instructors stay. How many they were."""
    if name.strip() != folder.root.name:
        raise ValueError(_("to erase the class for good, type its name: {name}", name=folder.root.name))
    count = len(folder.roster)
    let_go(folder, instructors)
    for place in (folder.marks, folder.key, folder.room / "answers"):
        for inner in place.iterdir() if place.is_dir() else ():
            if inner != folder.seed_file:
                shutil.rmtree(inner) if inner.is_dir() and not inner.is_symlink() else inner.unlink()
    (folder.room / "question.json").unlink(missing_ok=True)
    return count


def keep_roster(folder: ClassFolder, roster: Roster) -> None:
    """Write who is in the class, where instructors alone read it."""
    keep_for_instructors(folder.roster_file, roster_text(roster).encode())


def keep_for_instructors(file: Path, data: bytes) -> None:
    """A file that instructors alone read and change."""
    write_safely(file, data, mode=0o660)
    os.chown(file, 0, linux.group_number(places.TEACHERS))


def _checked(one: Sequence[str], roster: Roster, instructors: Sequence[str]) -> Learner:
    id, name, group = (str(part) for part in (*one, "", "")[:3])
    if not ID.fullmatch(id) or not name or len(name) > MAX_NAME:
        raise ValueError(_("{name!r} cannot be taken in; write the name in letters", name=name[:40]))
    if id in instructors:
        raise ValueError(_("{name} has the sign-in name of an instructor; add a second name", name=name))
    return with_one_more(roster, Learner(id, name, group[:MAX_NAME])).learners[-1]


def _slips(made: dict[str, str], people: Iterable[Learner], url: str) -> str:
    names = {one.id: one.name for one in people}
    return slips_page([PasswordSlip(names.get(id, id), id, password) for id, password in made.items()], url)
