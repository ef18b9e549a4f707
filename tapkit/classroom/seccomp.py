"""A process that may do nothing any more but compute, read and write what it has open, and end: a filter of the Linux
kernel on its system calls (seccomp(2)), for good and for all its threads.

Numbers of the calls: the kernel's arch/x86/entry/syscalls/syscall_64.tbl and include/uapi/asm-generic/unistd.h;
the filter's program: https://docs.kernel.org/userspace-api/seccomp_filter.html.
"""

import ctypes
import errno
import os
import platform
import struct
from typing import NamedTuple

NO_NEW_PRIVILEGES = 38
"""prctl(2)"""
SET_MODE_FILTER, ALL_THREADS = 1, 1
"""seccomp(2)"""
LOAD, EQUAL, RETURN = 0x20, 0x15, 0x06
"""Instructions of a filter: load a word of what is asked, skip where it is (not) equal, answer."""
NUMBER_AT, MACHINE_AT = 0, 4
ALLOW, REFUSE, KILL = 0x7FFF0000, 0x00050000 | errno.EPERM, 0x80000000


class Processor(NamedTuple):
    """A kind of processor: its mark, the number of seccomp(2) itself, and those of the calls that stay allowed."""

    mark: int
    seccomp: int
    calls: dict[str, int]


PROCESSORS = {
    "x86_64": Processor(0xC000003E, 317, {
        "read": 0, "write": 1, "close": 3, "fstat": 5, "lseek": 8, "mmap": 9, "mprotect": 10, "munmap": 11, "brk": 12,
        "rt_sigaction": 13, "rt_sigprocmask": 14, "rt_sigreturn": 15, "mremap": 25, "madvise": 28, "exit": 60,
        "sigaltstack": 131, "futex": 202, "restart_syscall": 219, "clock_gettime": 228, "exit_group": 231,
        "getrandom": 318,
    }),
    "aarch64": Processor(0xC00000B7, 277, {
        "read": 63, "write": 64, "close": 57, "fstat": 80, "lseek": 62, "mmap": 222, "mprotect": 226, "munmap": 215,
        "brk": 214, "rt_sigaction": 134, "rt_sigprocmask": 135, "rt_sigreturn": 139, "mremap": 216, "madvise": 233,
        "exit": 93, "sigaltstack": 132, "futex": 98, "restart_syscall": 128, "clock_gettime": 113, "exit_group": 94,
        "getrandom": 278,
    }),
}  # fmt: skip


class _Program(ctypes.Structure):
    _fields_ = (("length", ctypes.c_ushort), ("text", ctypes.c_char_p))


def program(processor: Processor) -> bytes:
    """The filter: another machine's calls end the process, calls not allowed are refused (EPERM)."""
    allowed = list(processor.calls.values())
    parts = [(LOAD, 0, 0, MACHINE_AT), (EQUAL, 1, 0, processor.mark), (RETURN, 0, 0, KILL), (LOAD, 0, 0, NUMBER_AT)]
    parts += [(EQUAL, len(allowed) - at, 0, number) for at, number in enumerate(allowed)]
    parts += [(RETURN, 0, 0, REFUSE), (RETURN, 0, 0, ALLOW)]
    return b"".join(struct.pack("HBBI", *part) for part in parts)


def only_compute() -> None:
    """Take everything else from this process for good. Raises OSError where the machine cannot."""
    processor = PROCESSORS.get(platform.machine())
    if processor is None or platform.system() != "Linux":
        raise OSError(errno.ENOSYS, os.strerror(errno.ENOSYS))
    text = program(processor)
    given = _Program(len(text) // 8, text)
    kernel = ctypes.CDLL(None, use_errno=True)
    if kernel.prctl(NO_NEW_PRIVILEGES, 1, 0, 0, 0) or kernel.syscall(
        processor.seccomp, SET_MODE_FILTER, ALL_THREADS, ctypes.byref(given)
    ):
        raise OSError(ctypes.get_errno(), os.strerror(ctypes.get_errno()))
