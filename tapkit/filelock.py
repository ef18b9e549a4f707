"""A lock on an open file that other processes see, on POSIX and on Windows."""

import contextlib
import errno
import os
import time
from collections.abc import Iterator

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

FAR = 1 << 30
"""Where the one byte lies that is locked on Windows: beyond the end, so that readers are not kept out."""

_BUSY = {errno.EACCES, errno.EAGAIN, errno.EDEADLK, getattr(errno, "EDEADLOCK", errno.EDEADLK)}
_NO_LOCKS = {errno.ENOLCK, errno.ENOSYS, errno.EOPNOTSUPP, errno.EINVAL}


class StillLocked(TimeoutError):  # noqa: N818 (its message is a sentence for the learner)
    """Another process held the lock for too long."""


@contextlib.contextmanager
def locked(handle: int, timeout: float = 5.0) -> Iterator[bool]:
    """Hold the lock of an open file; yields whether the file system has locks at all.

    Raises StillLocked after `timeout` seconds.
    """
    held = _wait(handle, time.monotonic() + timeout)
    try:
        yield held
    finally:
        if held:
            _release(handle)


def take_now(handle: int) -> bool:
    """Take the lock of an open file for as long as it is open; False where another process has it.

    True on a file system without locks. The system lets go of it when the process ends, however it ends.
    """
    try:
        _take(handle)
    except OSError as error:
        return error.errno not in _BUSY
    return True


def _wait(handle: int, until: float) -> bool:
    pause = 0.001
    while True:
        try:
            _take(handle)
            return True
        except OSError as error:
            if error.errno in _NO_LOCKS:
                return False
            if error.errno not in _BUSY:
                raise
            if time.monotonic() > until:
                raise StillLocked("another window is writing to it") from None
        time.sleep(pause)
        pause = min(2 * pause, 0.005)


def _take(handle: int) -> None:
    if fcntl is not None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        return
    import msvcrt

    os.lseek(handle, FAR, os.SEEK_SET)
    msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]


def _release(handle: int) -> None:
    if fcntl is not None:
        fcntl.flock(handle, fcntl.LOCK_UN)
        return
    import msvcrt

    os.lseek(handle, FAR, os.SEEK_SET)
    msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)  # type: ignore[attr-defined]
