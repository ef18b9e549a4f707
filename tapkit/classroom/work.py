"""Learners' work shown to the instructor, at `…/tapkit/work` of the instructor's server: never opened, never run.

A file is read once, through one open file, no link followed, no more than a limit; another process without rights makes
a page of it (`rendering.py`); the browser is told that the page may do nothing.
"""

import asyncio
import contextlib
import os
import subprocess
import sys
from itertools import islice
from pathlib import Path
from typing import Any
from urllib.parse import quote

from jupyter_server.base.handlers import JupyterHandler
from jupyter_server.utils import url_path_join
from tornado import web

import tapkit
from tapkit.classroom.folder import ClassFolder, printable, read_untrusted
from tapkit.classroom.rendering import LARGEST, NO_WAY
from tapkit.classroom.roster import ID
from tapkit.messages import _, said
from tapkit.pages import page

POLICY = "sandbox; default-src 'none'; img-src data:; style-src 'unsafe-inline'"
SHOWN, DEEPEST = 500, 4
"""Files of one learner that are listed, and folders they may lie below."""
START = "import sys; sys.path.insert(0, sys.argv[1]); from tapkit.classroom.rendering import main; main(*sys.argv[2:])"


def work_page(learners: Path, owner: str, name: str) -> str:
    """The page of one file of a learner. Raises ValueError, in a sentence, or OSError where it cannot be read."""
    data = read_untrusted(learners / owner / name, LARGEST, beneath=learners)
    command = [sys.executable, "-I", "-c", START, str(Path(tapkit.__file__).parents[1]), printable(name), owner]
    done = subprocess.run(command, input=data, capture_output=True, timeout=60, cwd="/", env={})
    if done.returncode == NO_WAY:
        raise ValueError(_("this machine cannot hold what makes the page (it has no seccomp); nothing is shown"))
    if done.returncode:
        raise ValueError(_("{file} cannot be shown", file=printable(name)))
    return done.stdout.decode("utf-8", "replace")


def files_of(learners: Path, owner: str) -> list[str]:
    """Notebooks, records and texts of a learner, by their place; links are left out, and all beyond a number."""
    return list(islice(_files(learners / owner), SHOWN))


def _files(folder: Path) -> Any:
    for inner, folders, names in os.walk(folder, followlinks=False):
        place = Path(inner).relative_to(folder)
        folders[:] = [] if len(place.parts) >= DEEPEST else sorted(f for f in folders if not f.startswith("."))
        for name in sorted(names):
            if name.endswith((".ipynb", ".jsonl", ".txt", ".md", ".csv")) and not (Path(inner) / name).is_symlink():
                yield (place / name).as_posix()


class _Handler(JupyterHandler):
    @property
    def content_security_policy(self) -> str:
        return POLICY

    @property
    def learners(self) -> Path:
        return ClassFolder(Path(os.environ["TAPKIT_CLASS"])).learners

    def give(self, text: str) -> None:
        self.set_header("X-Content-Type-Options", "nosniff")
        self.set_header("Content-Type", "text/html; charset=utf-8")
        self.finish(text)


class ListHandler(_Handler):
    """Whose work there is."""

    @web.authenticated
    async def get(self) -> None:
        """The list of all."""
        owners = sorted(p.name for p in self.learners.iterdir() if ID.fullmatch(p.name))
        found = []
        for owner in owners:
            with contextlib.suppress(OSError):
                names = await asyncio.to_thread(files_of, self.learners, owner)
                base = url_path_join(self.base_url, "tapkit", "work", owner)
                links = [(f"{base}/{quote(n.encode('utf-8', 'surrogateescape'))}", printable(n)) for n in names]
                found.append((owner, links))
        self.give(page("worklist.html", found=found))


class WorkHandler(_Handler):
    """One file of one learner."""

    @web.authenticated
    async def get(self, owner: str, name: str) -> None:
        """The page made of its copy."""
        if not ID.fullmatch(owner):
            raise web.HTTPError(404)
        try:
            text = await asyncio.to_thread(work_page, self.learners, owner, name)
        except (ValueError, OSError, subprocess.SubprocessError) as error:
            self.set_status(404)
            text = page("message.html", told=getattr(error, "strerror", None) or said(error))
        self.give(text)


def _jupyter_server_extension_points() -> list[dict[str, str]]:
    return [{"module": "tapkit.classroom.work"}]


def _load_jupyter_server_extension(app: Any) -> None:
    base = url_path_join(app.web_app.settings["base_url"], "tapkit", "work")
    app.web_app.add_handlers(".*$", [(f"{base}/?", ListHandler), (f"{base}/([^/]+)/(.+)", WorkHandler)])
