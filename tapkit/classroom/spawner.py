"""A server for everyone who signs in to the hub: under an account of their own, within limits.

Loaded by the hub from its configuration; nothing else imports it.
"""

import asyncio
import contextlib
import grp
import os
import pwd
import resource
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import quote

from jupyterhub.spawner import LocalProcessSpawner
from traitlets import Integer, Set, Unicode, default

from tapkit.classroom import controlgroup, prefork
from tapkit.classroom.folder import PROXY, ClassFolder
from tapkit.classroom.hubsettings import RUN, SCOPE
from tapkit.classroom.members import account_of, seed_of

SERVERS = RUN / "servers"
"""Sockets of the servers: a folder for each account, that only it and the proxy may enter. A port could be taken by any
account once its server has ended; a socket in such a folder cannot."""
NO_PORT = 8888
"""The port Jupyter takes for none given; nothing listens on it."""


class ClassSpawner(LocalProcessSpawner):
    """Starts `tapkit.classroom.singleuser` for a learner or an instructor."""

    class_folder = Unicode(config=True, help="The class folder.")
    instructors = Set(config=True, help="Ids of the instructors.")
    desk_socket = Unicode(config=True, help="Socket of the service for the instructors' desk.")
    class_code = Unicode(config=True, help="Code that the records of this class carry.")
    born = Unicode(help="When the server's process was started.")
    processes = Integer(256, config=True, help="Most processes and threads of one learner.")
    largest_file = Integer(256 * 2**20, config=True, help="Largest file a learner may write, in bytes.")

    @default("server_token_scopes")
    def _server_token_scopes(self) -> list[str]:
        """What a server's token may do: an instructor's may ask the service of the desk."""
        own = ["users:activity!user", "access:servers!server"]
        return [*own, SCOPE] if self.is_instructor else own

    @property
    def places(self) -> ClassFolder:
        return ClassFolder(Path(self.class_folder))

    @property
    def account(self) -> str:
        """The Linux account of whoever sits here; nobody else's is ever used. KeyError for who has left."""
        found = account_of(self.places, self.user.name)
        if found is None:
            raise KeyError(self.user.name)
        return found

    @property
    def is_instructor(self) -> bool:
        return self.user.name in self.instructors

    @property
    def home(self) -> Path:
        return (self.places.instructor if self.is_instructor else self.places.learner)(self.user.name)

    def place(self) -> dict[str, Any]:
        """Account, limits and folder of the server, for `prefork.take_place`."""
        account = pwd.getpwnam(self.account)
        limits = {
            resource.RLIMIT_DATA: self.mem_limit,
            resource.RLIMIT_NPROC: self.processes,
            resource.RLIMIT_FSIZE: self.largest_file,
            resource.RLIMIT_CORE: 0,
        }
        return {
            "user": account.pw_uid,
            "group": account.pw_gid,
            "groups": os.getgrouplist(self.account, account.pw_gid),
            "umask": 0o002 if self.is_instructor else 0o027,
            "home": str(self.home),
            "control_groups": [str(p) for p in controlgroup.build(self.account, memory=self.mem_limit)],
            "limits": [(which, most) for which, most in limits.items() if most is not None],
        }

    def make_preexec_fn(self, name: str) -> Callable[[], None]:
        """The same for a server that is started on its own, where the pre-fork server cannot be used."""
        place = self.place()
        return lambda: prefork.take_place(place)

    def user_env(self, env: dict[str, str]) -> dict[str, str]:
        """Environment of the server: its account, its folder, its place in the class."""
        env |= {
            "USER": self.account,
            "LOGNAME": self.account,
            "HOME": str(self.home),
            "SHELL": "/bin/sh",
            "JUPYTER_RUNTIME_DIR": str(self._runtime_folder()),
            "TAPKIT_SOCKET": str(self.listening),
            "PYTHONNOUSERSITE": "1",
            "PYTHONSAFEPATH": "1",
            "TAPKIT_CLASS": str(self.places.root),
            "TAPKIT_CLASS_NAME": self.class_code,
            "TAPKIT_ROOM": str(self.places.room),
            "TAPKIT_ORIGINALS": str(self.places.originals),
        }
        if self.is_instructor:
            env |= {"TAPKIT_DESK": self.desk_socket}
        else:
            env |= {
                "TAPKIT_LEARNER": self.user.name,
                "TAPKIT_SEED": str(seed_of(self.places, self.user.name)),
                "TAPKIT_RECORDS": str(self.home / "records"),
            }
        return env

    def _runtime_folder(self) -> Path:
        account = pwd.getpwnam(self.account)
        RUN.mkdir(mode=0o755, exist_ok=True)
        place = RUN / self.account
        place.mkdir(mode=0o700, exist_ok=True)
        os.chown(place, account.pw_uid, account.pw_gid)
        return place

    @property
    def listening(self) -> Path:
        """The socket the server listens on."""
        return SERVERS / self.account / "server.sock"

    @LocalProcessSpawner.server.getter
    def server(self) -> Any:
        """Where the hub and the proxy find the server: its socket, whatever the hub's database can hold of it."""
        found = LocalProcessSpawner.server.fget(self)
        if found is not None and found.proto == "http+unix":
            with contextlib.suppress(KeyError):  # of somebody who has left, while the hub still ends the server
                found.connect_url = self._address
        return found

    @property
    def _address(self) -> str:
        return f"http+unix://{quote(str(self.listening), safe='')}"

    async def get_url(self) -> str:
        """The same for a hub that was started again."""
        return self.server.url

    def _server_folder(self) -> None:
        """The folder of the socket: the account writes, the proxy's account may only pass."""
        account = pwd.getpwnam(self.account)
        place = self.listening.parent
        RUN.mkdir(mode=0o755, exist_ok=True)
        SERVERS.mkdir(mode=0o755, exist_ok=True)
        place.mkdir(mode=0o700, exist_ok=True)
        os.chown(place, account.pw_uid, grp.getgrnam(PROXY).gr_gid)
        os.chmod(place, 0o2710)

    async def start(self) -> Any:
        """Fork the server from the pre-fork server, or start it on its own; its log lies out of a learner's reach."""
        self._server_folder()
        self.port = NO_PORT
        self.places.logs.mkdir(mode=0o700, exist_ok=True)
        with open(self.places.logs / f"{self.user.name}.log", "ab") as log:
            try:
                await self._fork(log.fileno())
                return self._address
            except (OSError, ValueError) as error:
                self.log.warning("no server from the pre-fork server (%s); starting one on its own", error)
            self.popen_kwargs = dict(cwd=str(self.home), stdout=log, stderr=log)
            await super().start()
            self.born = born(self.pid)
            return self._address

    async def _fork(self, log: int) -> None:
        """A server forked from the pre-fork server."""
        socket = await asyncio.to_thread(self._prefork_socket)
        request = {**self.place(), "env": self.get_env()}
        self.pid = await asyncio.to_thread(prefork.ask, socket, request, log)
        self.proc, self.born = None, born(self.pid)

    def _prefork_socket(self) -> Path:
        """The socket of the hub's one pre-fork server, started where it is not running."""
        place = self.places.hub / "prefork"
        with _starting:
            running = _preforks.get(place)
            if running is None or running.poll() is not None:
                _preforks[place] = running = prefork.start(place)
            end = time.monotonic() + 60
            while not place.exists() and running.poll() is None and time.monotonic() < end:
                time.sleep(0.05)
        return place

    # --- a process number that has gone to another process is not ours ---

    def get_state(self) -> dict[str, Any]:
        """What is kept over a restart of the hub."""
        return {**super().get_state(), "born": self.born}

    def load_state(self, state: dict[str, Any]) -> None:
        """What was kept."""
        super().load_state(state)
        self.born = state.get("born", "")

    async def _signal(self, sig: int) -> bool:
        """Send a signal to the server; False where it is gone."""
        if not self.pid or born(self.pid) != self.born:
            return False
        return await super()._signal(sig)


_preforks: dict[Path, Any] = {}
_starting = threading.Lock()


def born(number: int) -> str:
    """When a process was started, in ticks since the machine was; "" where there is none or it has ended."""
    try:
        fields = Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return ""
    return "" if fields[0] == "Z" else fields[19]
