"""The server of one learner under the hub: JupyterLab on a copy of the workbooks, as lean as it can be.

Started by the hub as `python -m tapkit.classroom.singleuser`, under the learner's own account. Copies and settings
are those of `tapkit open`.
"""

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from tapkit.classroom.folder import FOR_INSTRUCTORS
from tapkit.launch import settings, workspace

if TYPE_CHECKING:
    from tornado.httpserver import HTTPServer

COPY = "workbooks"
"""Folder of the copies in one's home."""
THREADS = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "NUMEXPR_NUM_THREADS"), "1")
"""Thirty kernels share a few cores; threads of their own would only cost memory."""
LEAN = {"MALLOC_ARENA_MAX": "1", "PYTHONDONTWRITEBYTECODE": "1"}


SHARED = ("marks", "key", "originals")
"""Folders of the class that an instructor's server shows: in none of them may a learner write."""


def singleuser_config(folder: Path, state: Path, *, instructor: bool, idle: int) -> dict[str, Any]:
    """Configuration of the server: that of `tapkit open`, what the hub needs, and kernels nobody else can hear."""
    config = settings.server_config(folder, state)
    config["ServerApp"] |= {
        "jpserver_extensions": {"jupyterlab": True, "tapkit.classroom.work": instructor},
        "terminals_enabled": instructor,
        "allow_root": False,
        "log_level": "WARN",
    }
    if "TAPKIT_SOCKET" in os.environ:
        config["ServerApp"] |= {"sock": os.environ["TAPKIT_SOCKET"], "sock_mode": "0660"}
    config["LabApp"] |= {
        "user_settings_dir": str(state / "jupyter" / "settings"),
        "workspaces_dir": str(state / "jupyter" / "workspaces"),
    }
    config["KernelManager"] = {**config.get("KernelManager", {}), "transport": "ipc"}
    config["MappingKernelManager"] = {
        "cull_idle_timeout": idle,
        "cull_interval": 60,
        "cull_connected": False,
    }
    config.pop("IdentityProvider", None)
    return config


def first_page(root: Path, copies: Path) -> str:
    """Where one lands: the class book for an instructor, the first workbook for a learner, else the file list."""
    found = (p for p in copies.glob("*.ipynb") if p.is_relative_to(root))
    books = sorted(found, key=lambda p: (not p.name.startswith(FOR_INSTRUCTORS), p.name))
    return f"/doc/tree/{quote(books[0].relative_to(root).as_posix())}" if books else "/lab"


def instructors_root(home: Path) -> Path:
    """The instructor's own folder, with links to those of the class; learners' folders are not reached from it."""
    for name in SHARED:
        link = home / name
        if not link.is_symlink() and not link.exists():
            link.symlink_to(Path(os.environ["TAPKIT_CLASS"]) / name)
    return home


def main() -> None:
    """Bring the learner's copy up to date, then serve it until the hub says stop."""
    instructor = "TAPKIT_LEARNER" not in os.environ
    home = Path(os.environ["HOME"])
    given = workspace.files_under(Path(os.environ["TAPKIT_ORIGINALS"]))
    ready = workspace.prepare(home / COPY, given if instructor else workspace.for_learners(given))
    root = instructors_root(home) if instructor else ready.folder
    for name, value in {**settings.environment(ready.state), **THREADS, **LEAN}.items():
        os.environ[name] = value
    settings.lay_out(ready.state)
    config = singleuser_config(
        root, ready.state, instructor=instructor, idle=int(os.environ.get("TAPKIT_IDLE", "3600"))
    )
    config["ServerApp"]["default_url"] = first_page(root.resolve(), ready.folder)
    _serve(config)


def _serve(config: dict[str, Any]) -> None:
    from jupyterhub.singleuser.extension import JupyterHubSingleUser
    from traitlets.config import Config

    JupyterHubSingleUser.load_other_extensions = False
    app = JupyterHubSingleUser.initialize_server(argv=[], config=Config(config))
    let_the_proxy_close(app.http_server)
    app.start()


def let_the_proxy_close(server: "HTTPServer") -> None:
    """Have the one who asked close the line, also where "Connection: close" was asked for, as the proxy does.

    After what it sends, Node.js writes nothing at all once more. On a Unix socket, unlike on a port, that fails as
    soon as the other end has closed: a server faster than a busy proxy answered, and the page got 503 instead.
    """
    begin = server.start_request

    def start_request(line: Any, request: Any) -> Any:
        request._can_keep_alive = lambda start, _headers: start.version == "HTTP/1.1"
        return begin(line, request)

    server.start_request = start_request


if __name__ == "__main__":
    main()
