"""What a hub promises and this machine does not give, said at the start in one sentence, with what follows."""

import os
import subprocess
import sys
from pathlib import Path

from tapkit.classroom import controlgroup
from tapkit.classroom.accounts import number_of
from tapkit.classroom.folder import FOR_INSTRUCTORS, ClassFolder
from tapkit.messages import Sentence, _, listed

MEMORY = _("memory by control group (a learner with several kernels can take more than one share)")
QUOTA = _("disk quotas (one learner can fill the disk of all)")
PROCESSES = _("hidden processes (learners see the names of each other's programs, not what is in them)")
WORK = _("pages of learners' work (they are made by a process without rights, which needs seccomp; none is shown)")
QUOTAS = {"usrquota", "usrjquota", "prjquota", "uquota", "pquota", "quota"}
HIDING = {"hidepid=1", "hidepid=2", "hidepid=invisible", "hidepid=noaccess"}
"""Options of a file system, and of /proc."""


def shortfalls(folder: ClassFolder, account: str, memory: int, shut: tuple[Path, ...] = ()) -> Sentence | None:
    """One sentence on what could not be set up, None where all of it was; `account` is that of a learner.

    `shut` are files that learners must not read.
    """
    seen = [path for path in shut if _can_read(account, path)][:1]
    lacks = {
        MEMORY: not controlgroup.build(account, memory=memory),
        QUOTA: not QUOTAS & _options(folder.root),
        PROCESSES: not HIDING & _options(Path("/proc")),
        WORK: not _can_only_compute(),
    }
    found = [what for what, is_lacking in lacks.items() if is_lacking]
    found += [_("the instructors' workbook kept from learners (they can read {path})", path=path) for path in seen]
    return _("Not set up on this machine: {what}.", what=listed(found)) if found else None


def _can_only_compute() -> bool:
    code = "from tapkit.classroom.seccomp import only_compute; only_compute()"
    return subprocess.run([sys.executable, "-c", code], capture_output=True, timeout=60).returncode == 0


def _can_read(account: str, path: Path) -> bool:
    user = number_of(account)
    tried = subprocess.run(
        ["test", "-r", str(path)], user=user, group=user, extra_groups=[], cwd="/", capture_output=True, timeout=60
    )
    return tried.returncode == 0


def _options(path: Path) -> set[str]:
    """Options of the file system that holds a path."""
    best, options = -1, set()
    for line in Path("/proc/self/mounts").read_text(encoding="utf-8", errors="replace").splitlines():
        _device, place, _kind, given, *_rest = line.split()
        place = place.replace("\\040", " ")
        if len(place) >= best and path.resolve().is_relative_to(place):
            best, options = len(place), set(given.split(","))
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
