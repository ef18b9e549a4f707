"""A control group of the Linux kernel around all processes of one account: how much memory they may hold together.

Control groups in version 2 or version 1, whichever the machine has; where neither can be written (in some
containers), only the limit on each single process remains.
"""

import contextlib
import os
from pathlib import Path

GROUPS = Path("/sys/fs/cgroup")
NAME = "tapkit"


def build(account: str, *, memory: int | None, root: Path = GROUPS) -> list[Path]:
    """Make the control group of an account and set its limit in bytes; the files a process enters it by.

    An empty list where the machine has no control groups that can be written. Version 2:
    https://docs.kernel.org/admin-guide/cgroup-v2.html, "Memory"; version 1:
    https://docs.kernel.org/admin-guide/cgroup-v1/memory.html, "memory.limit_in_bytes".
    """
    two, one = folders(account, root)
    is_two = _is_two(root)
    group, limit = (two, "memory.max") if is_two else (one, "memory.limit_in_bytes")
    with contextlib.suppress(OSError):
        if memory:
            group.parent.mkdir(exist_ok=True)
            if is_two:
                _pass_down(root, group.parent)
            group.mkdir(exist_ok=True)
            (group / limit).write_text(str(memory))
            return [group / "cgroup.procs"]
    return []


def _pass_down(root: Path, group: Path) -> None:
    """In version 2 a controller is passed from group to group; the root may have passed it already."""
    with contextlib.suppress(OSError):
        (root / "cgroup.subtree_control").write_text("+memory")
    (group / "cgroup.subtree_control").write_text("+memory")


def folders(account: str, root: Path = GROUPS) -> list[Path]:
    """Where the control group of an account may be, in either version."""
    return [root / NAME / account, root / "memory" / NAME / account]


def enter(files: list[Path]) -> None:
    """Move the calling process into the groups; called in the child, as root, before it changes its account."""
    for file in files:
        handle = os.open(file, os.O_WRONLY)
        try:
            os.write(handle, str(os.getpid()).encode())
        finally:
            os.close(handle)


def _is_two(root: Path) -> bool:
    """True where version 2 has the memory controller (on mixed machines version 1 may hold it)."""
    with contextlib.suppress(OSError):
        return "memory" in (root / "cgroup.controllers").read_text().split()
    return False
