"""What a hub promises and this machine does not give, said at the start in one sentence, with what follows."""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from tapkit.classroom import controlgroup
from tapkit.classroom.accounts import number_of
from tapkit.classroom.folder import FOR_INSTRUCTORS, ClassFolder
from tapkit.messages import Sentence, _, listed


def shortfalls(folder: ClassFolder, account: str, memory: int, shut: tuple[Path, ...] = ()) -> Sentence | None:
    """One sentence on what could not be set up, None where all of it was; `account` is that of a learner.

    `shut` are files that learners must not read.
    """
    found = [
        *_memory(account, memory),
        *_quota(folder.root),
        *_processes(),
        *_showing(),
        *_readable(account, shut),
    ]
    return _("Not set up on this machine: {what}.", what=listed(found)) if found else None


def _memory(account: str, memory: int) -> Iterator[Sentence]:
    if not controlgroup.build(account, memory=memory):
        yield _("memory by control group (a learner with several kernels can take more than one share)")


def _quota(folder: Path) -> Iterator[Sentence]:
    if not any(word in _options(folder) for word in ("usrquota", "usrjquota", "prjquota", "uquota", "pquota", "quota")):
        yield _("disk quotas (one learner can fill the disk of all)")


def _processes() -> Iterator[Sentence]:
    if not _hides(_options(Path("/proc"))):
        yield _("hidden processes (learners see the names of each other's programs, not what is in them)")


def _showing() -> Iterator[Sentence]:
    code = "from tapkit.classroom.seccomp import only_compute; only_compute()"
    if subprocess.run([sys.executable, "-c", code], capture_output=True, timeout=60).returncode:
        yield _(
            "pages of learners' work (they are made by a process without rights, which needs seccomp; none is shown)"
        )


def _hides(options: list[str]) -> bool:
    return any(option in ("hidepid=1", "hidepid=2", "hidepid=invisible", "hidepid=noaccess") for option in options)


def _readable(account: str, files: tuple[Path, ...]) -> Iterator[Sentence]:
    seen = [path for path in files if _can_read(account, path)]
    if seen:
        yield _("the instructors' workbook kept from learners (they can read {path})", path=seen[0])


def _can_read(account: str, path: Path) -> bool:
    user = number_of(account)
    tried = subprocess.run(
        ["test", "-r", str(path)], user=user, group=user, extra_groups=[], cwd="/", capture_output=True, timeout=60
    )
    return tried.returncode == 0


def _options(path: Path) -> list[str]:
    """Options of the file system that holds a path."""
    best, options = -1, []
    for line in Path("/proc/self/mounts").read_text(encoding="utf-8", errors="replace").splitlines():
        _device, place, _kind, given, *_rest = line.split()
        place = place.replace("\\040", " ")
        if len(place) >= best and path.resolve().is_relative_to(place):
            best, options = len(place), given.split(",")
    return options


def shut_class_books(given: dict[str, Path], group: int) -> tuple[Path, ...]:
    """Take the instructors' workbooks, wherever they were installed, from everybody else's eyes; what must not be read.

    A file that cannot be changed is left and found by `shortfalls`. In a checkout its history holds the workbook too.
    """
    books = [path for name, path in given.items() if Path(name).name.startswith(FOR_INSTRUCTORS)]
    for path in books:
        try:
            os.chown(path, -1, group)
            path.chmod(0o640)
        except OSError:
            continue
    history = {path.parents[1] / ".git" for path in books} | {path.parents[2] / ".git" for path in books}
    return (*books, *(place for place in sorted(history) if place.is_dir()))
