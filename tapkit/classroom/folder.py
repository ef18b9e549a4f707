"""The class folder on a classroom machine: where things lie, and who may read and write them.

hub/        settings, passwords, keys of the hub          root alone
tls/        certificate and its key                       root, readable by the proxy's account
originals/  the workbooks as handed out                   instructors write, everyone reads
learners/   one folder for each learner                   the learner writes, instructors read
room/       questions to the room, and their answers      instructors write, everyone reads;
                                                          an answer is its learner's own
key/        class seed, keys of the sheets                instructors alone
marks/      marking, and the append-only copies       instructors alone
instructors/ one folder for each instructor               that instructor alone
"""

import errno
import os
import shutil
import stat
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from itertools import chain, count
from pathlib import Path
from typing import Any

from tapkit.classroom.roster import Roster, read_roster
from tapkit.launch.workspace import FOR_INSTRUCTORS
from tapkit.messages import _

TEACHERS = "tapkit-teachers"
"""The Linux group of the instructors."""
PROXY = "tapkit-proxy"
"""The Linux account of the proxy, which faces the network."""


def _inner(name: str) -> Any:
    return property(lambda folder: folder.root / name)


@dataclass(frozen=True)
class ClassFolder:
    """The paths inside a class folder; `left` holds the work of those who left, for instructors alone."""

    root: Path

    hub = _inner("hub")
    tls = _inner("tls")
    originals = _inner("originals")
    learners = _inner("learners")
    room = _inner("room")
    key = _inner("key")
    marks = _inner("marks")
    left = _inner("marks/left")
    copies = _inner("marks/copies")
    roster_file = _inner("key/roster.csv")
    seed_file = _inner("key/seed.txt")
    accounts = _inner("hub/accounts.csv")
    passwords = _inner("hub/passwords.json")
    logs = _inner("hub/logs")

    @property
    def roster(self) -> Roster:
        """Who is in the class; nobody at first. ValueError where the list cannot be read."""
        return read_roster(self.roster_file) if self.roster_file.exists() else Roster(())

    @property
    def seed(self) -> str:
        """The class seed. OSError where it cannot be read."""
        return self.seed_file.read_text(encoding="utf-8").strip()

    def learner(self, id: str) -> Path:
        return self.learners / id

    def instructor(self, id: str) -> Path:
        return self.root / "instructors" / id

    def answers(self, id: str) -> Path:
        return self.room / "answers" / id


def write_safely(path: Path, content: str | bytes, mode: int = 0o644) -> None:
    """Write a file whole or not at all: a reader sees the old text or the new one, never half.

    Raises OSError where the folder cannot be written or the disk is full; the old file stands then.
    """
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content.encode("utf-8", "replace") if isinstance(content, str) else content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, mode)
        put_in_place(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise


def put_in_place(temporary: str, path: Path) -> None:
    """Rename; where a reader holds the old file open, as Windows and some shares refuse, a few times over."""
    for _attempt in range(20):
        try:
            return os.replace(temporary, path)
        except PermissionError:
            if os.name != "nt":
                raise
            time.sleep(0.05)
    os.replace(temporary, path)


def free_place(place: Path, suffix: str = "") -> Path:
    """This place, or the first like it where nothing lies: its name with -2, -3 … before the suffix."""
    stem = place.name.removesuffix(suffix)
    names = chain([place], (place.with_name(f"{stem}-{n}{suffix}") for n in count(2)))
    return next(name for name in names if not os.path.lexists(name))


def put_aside(place: Path, left: Path) -> None:
    """Move the folder of somebody who leaves into `left`, beside what others of the name left there."""
    if _is_real(place):
        left.mkdir(exist_ok=True)
        place.rename(free_place(left / place.name))


def take_back(place: Path, left: Path) -> None:
    """Put the folder of somebody who returns into its place again."""
    if _is_real(left / place.name) and not os.path.lexists(place):
        (left / place.name).rename(place)


def read_untrusted(path: Path, limit: int, *, beneath: Path | None = None) -> bytes:
    """The bytes of a file that a learner may have put there: no link, no pipe, at most `limit` bytes.

    With `beneath`, a folder above the file, no folder between the two may be a link either, also where one is switched
    while the file is opened. Raises ValueError, in a sentence, for anything but a plain file of that size; OSError
    where it cannot be read.
    """
    name = printable(path.name)
    try:
        handle = _open_plain(path, beneath)
    except OSError as error:
        if error.errno in (errno.ELOOP, errno.ENOTDIR, errno.EMLINK):
            raise ValueError(_("{file} is a link to another file; nothing was read", file=name)) from None
        raise
    try:
        about = os.fstat(handle)
        if not stat.S_ISREG(about.st_mode):
            raise ValueError(_("{file} is not a plain file; nothing was read", file=name))
        if about.st_size > limit:
            told = _("{file} has {size} bytes, more than {limit}; nothing was read", file=name, size=about.st_size,
                     limit=limit)  # fmt: skip
            raise ValueError(told)
        with os.fdopen(os.dup(handle), "rb") as file:
            return file.read(limit)
    finally:
        os.close(handle)


def _open_plain(path: Path, beneath: Path | None) -> int:
    """The file opened, no link followed at its end, and none on the way from `beneath`."""
    flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    if beneath is None or os.open not in os.supports_dir_fd:
        if path.is_symlink():
            raise OSError(errno.ELOOP, os.strerror(errno.ELOOP))
        return os.open(path, flags)
    *folders, name = path.relative_to(beneath).parts
    if ".." in (*folders, name):
        raise ValueError(_("{file} is not below its folder; nothing was read", file=printable(path.name)))
    at = os.open(beneath, os.O_RDONLY | os.O_DIRECTORY)
    try:
        for part in folders:
            inner = os.open(part, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW, dir_fd=at)
            os.close(at)
            at = inner
        return os.open(name, flags, dir_fd=at)
    finally:
        os.close(at)


def printable(name: str) -> str:
    """A file's name or another's text as it can be printed: signs that cannot be shown become \ufffd.

    >>> printable("a\\nb\\udcff.jsonl")
    'a\ufffdb\ufffd.jsonl'
    """
    return "".join(c if c.isprintable() else "\ufffd" for c in name)


def guard(folder: ClassFolder, group_of: Callable[[str], int]) -> None:
    """Give every common folder its owner, group and mode; run as root.

    `group_of(name)` gives the number of a Linux group.
    """
    teachers, proxy = group_of(TEACHERS), group_of(PROXY)
    for path, group, mode in (
        (folder.root, 0, 0o755),
        (folder.hub, 0, 0o700),
        (folder.tls, proxy, 0o750),
        (folder.originals, teachers, 0o2775),
        (folder.learners, teachers, 0o751),
        (folder.root / "instructors", teachers, 0o751),
        (folder.room, teachers, 0o2775),
        (folder.room / "answers", teachers, 0o2755),
        (folder.key, teachers, 0o2770),
        (folder.marks, teachers, 0o2770),
    ):
        path.mkdir(parents=True, exist_ok=True)
        _real_folder(path)
        os.chown(path, 0, group)
        os.chmod(path, mode)


def give(path: Path, *, user: int, group: int, mode: int) -> None:
    """Make one folder that belongs to an account; a folder that is already there keeps what it holds.

    What lies in a folder of an account that was made anew (the folder moved to another machine) is handed over.
    """
    path.mkdir(exist_ok=True)
    _real_folder(path)
    if path.lstat().st_uid not in (user, 0):
        for inner, folders, files in os.walk(path, followlinks=False):
            for name in (*folders, *files):
                os.chown(os.path.join(inner, name), user, group, follow_symlinks=False)
    os.chown(path, user, group)
    os.chmod(path, mode)


def _is_real(folder: Path) -> bool:
    return folder.is_dir() and not folder.is_symlink()


def _real_folder(path: Path) -> None:
    if not _is_real(path):
        raise ValueError(_("{path} is not a folder; move it away and start again", path=path))


def copy_originals(folder: ClassFolder, given: dict[str, Path] | None = None) -> list[str]:
    """Copy the workbooks that are not yet in originals/, for everyone to read; the names copied.

    `given` is paths by name, the installed workbooks by default. A workbook that stands there already is left
    alone: the instructor may have changed it.
    """
    if given is None:
        from tapkit.launch.workspace import originals

        given = originals()
    copied = []
    for name, path in given.items():
        target = folder.originals / name
        target.parent.mkdir(parents=True, exist_ok=True)
        if not target.exists():
            shutil.copyfile(path, target)
            copied.append(name)
    for path in (folder.originals, *folder.originals.rglob("*")):
        if not path.is_symlink():
            path.chmod(0o2775 if path.is_dir() else 0o660 if path.name.startswith(FOR_INSTRUCTORS) else 0o664)
    return copied
