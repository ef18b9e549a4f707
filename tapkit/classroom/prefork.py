"""The pre-fork server: the learners' servers are forked from it, so what they have in common is in memory once.

The hub starts it, with an environment that holds no secret; it loads what every server needs and waits on a socket
that root alone can reach. For each request it forks; the child takes its limits, its account and its environment, and
becomes the server. It ends when the hub does.
"""

import contextlib
import ctypes
import gc
import importlib
import json
import os
import select
import signal
import socket
import subprocess
import sys
from pathlib import Path
from typing import Any

CONSTANT = {
    "JUPYTER_PLATFORM_DIRS": "1",
    "JUPYTER_PREFER_ENV_PATH": "1",
    "JUPYTER_NO_CONFIG": "1",
    "OPENBLAS_NUM_THREADS": "1",
    "OMP_NUM_THREADS": "1",
    "MALLOC_ARENA_MAX": "2",
    "JUPYTERLAB_SETTINGS_DIR": "/nonexistent",
    "JUPYTERLAB_WORKSPACES_DIR": "/nonexistent",
}
"""Environment that libraries look at while they are loaded."""
SHARED = (
    "tapkit.classroom.singleuser",
    "tapkit.classroom.controlgroup",
    "tapkit.launch.live",
    "jupyterlab.labapp",
    "ipykernel.kernelspec",
    "anyio._backends._asyncio",
    "tornado.platform.asyncio",
    "jinja2.ext",
    "sqlalchemy.orm",
    "sqlalchemy.dialects.sqlite",
    "alembic.command",
    "alembic.config",
    "aiohttp",
    "cryptography.x509",
    "mako.template",
    "pygments.lexers",
)
"""Modules every server comes to load, besides the handlers of its services. JupyterHub itself must not be among them:
as it is loaded it takes from the environment where a server's cookies belong, and there is nothing of it here."""
PR_SET_DUMPABLE = 4
"""prctl(2): lets the account see its own process under /proc again, as after any change of program."""
LARGEST = 256 * 1024
"""Bytes of one request at most."""


# --- the hub's side ----------------------------------------------------------------------------------------


def start(place: Path) -> subprocess.Popen[bytes]:
    """Start the pre-fork server, listening at `place`; it ends when its standard input is closed."""
    place.unlink(missing_ok=True)
    keep = {k: v for k, v in os.environ.items() if k in ("PATH", "LANG", "LC_ALL", "VIRTUAL_ENV", "PYTHONPATH")}
    command = [sys.executable, "-s", "-m", "tapkit.classroom.prefork", str(place)]
    return subprocess.Popen(
        command, env={**keep, **CONSTANT}, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, cwd="/"
    )


def ask(place: Path, request: dict[str, Any], log: int, *, seconds: float = 60.0) -> int:
    """The number of a new server's process, whose log goes to the open file `log`. Raises OSError where none came."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_SEQPACKET) as line:
        line.settimeout(seconds)
        line.connect(str(place))
        socket.send_fds(line, [json.dumps(request).encode()], [log])
        answer = line.recv(64)
    if not answer:
        raise OSError("the pre-fork server gave no answer")
    return int(answer)


# --- the pre-fork server --------------------------------------------------------------------------------------


def fork_servers(place: Path) -> None:
    """Load, listen, fork; until the hub closes the standard input."""
    _load()
    server = socket.socket(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    old = os.umask(0o177)
    server.bind(str(place))
    os.umask(old)
    server.listen(64)
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    while True:
        ready, _, _ = select.select([server, sys.stdin], [], [])
        if sys.stdin in ready:
            return
        line, _ = server.accept()
        with line:
            _answer(server, line)


def _load() -> None:
    """What every server needs; it is kept out of the collector's way then, so that its pages stay shared."""

    from jupyter_server.serverapp import JUPYTER_SERVICE_HANDLERS

    handlers = (name for names in JUPYTER_SERVICE_HANDLERS.values() for name in names or ())
    for name in (*SHARED, *handlers):
        with contextlib.suppress(ImportError):  # a server then loads what it needs by itself
            importlib.import_module(name)
    if len(os.listdir("/proc/self/task")) > 1:
        raise RuntimeError("a library started a thread while it was loaded; servers cannot be forked from here")
    gc.collect()
    gc.freeze()


def _answer(server: socket.socket, line: socket.socket) -> None:
    data, files, _, _ = socket.recv_fds(line, LARGEST, 1)
    if not data or not files:
        return
    child = os.fork()
    if child == 0:
        server.close()
        line.close()
        _become(json.loads(data), files[0])
    os.close(files[0])
    line.send(str(child).encode())


def _become(request: dict[str, Any], log: int) -> None:
    """In the child: limits, account, environment; then the server, until it ends."""
    code = 1
    try:
        os.setsid()
        for number in (signal.SIGCHLD, signal.SIGINT):
            signal.signal(number, signal.SIG_DFL)
        nothing = os.open(os.devnull, os.O_RDONLY)
        for target, source in ((0, nothing), (1, log), (2, log)):
            os.dup2(source, target)
        take_place(request)
        os.environ.clear()
        os.environ.update(request["env"])
        from tapkit.classroom import singleuser

        singleuser.main()
        code = 0
    except SystemExit as leaving:
        code = leaving.code if isinstance(leaving.code, int) else 1
    except BaseException:
        import traceback

        traceback.print_exc()
    finally:
        sys.stderr.flush()
        os._exit(code)


def take_place(request: dict[str, Any]) -> None:
    """Take limits and account for good, as root; nothing of root's is left after it."""
    import resource

    from tapkit.classroom import controlgroup

    os.umask(request["umask"])
    controlgroup.enter([Path(p) for p in request["control_groups"]])
    for which, most in request["limits"]:
        resource.setrlimit(which, (most, most))
    os.setgroups(request["groups"])
    os.setgid(request["group"])
    os.setuid(request["user"])
    ctypes.CDLL(None).prctl(PR_SET_DUMPABLE, 1, 0, 0, 0)
    os.chdir(request["home"])


if __name__ == "__main__":
    fork_servers(Path(sys.argv[1]))
