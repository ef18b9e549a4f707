"""A desk for everyone who signs in to the hub: a server under an account of their own, within limits.

Loaded by the hub from its configuration; nothing else imports it.
"""

from __future__ import annotations

import os
import pwd
import resource
from collections.abc import Callable
from pathlib import Path
from typing import Any

from jupyterhub.spawner import LocalProcessSpawner, set_user_setuid
from traitlets import Dict, Integer, Set, Unicode

from tapkit.classroom import fence
from tapkit.classroom.folder import ClassFolder

RUN = Path("/run/tapkit")
"""Sockets and connection files of running kernels, one folder for each account, gone after a restart."""


class DeskSpawner(LocalProcessSpawner):
    """Starts `tapkit.classroom.seat` for a learner or an instructor."""

    class_folder = Unicode(config=True, help="The class folder.")
    accounts = Dict(config=True, help="Linux account of each id.")
    instructors = Set(config=True, help="Ids of the instructors.")
    seeds = Dict(config=True, help="Seed of each learner; the class seed itself never reaches a desk.")
    class_code = Unicode(config=True, help="Code that the records of this class carry.")
    processes = Integer(256, config=True, help="Most processes and threads of one learner.")
    largest_file = Integer(256 * 2**20, config=True, help="Largest file a learner may write, in bytes.")

    @property
    def account(self) -> str:
        """The Linux account of whoever sits here; nobody else's is ever used."""
        return self.accounts[self.user.name]

    @property
    def is_instructor(self) -> bool:
        return self.user.name in self.instructors

    @property
    def home(self) -> Path:
        places = ClassFolder(Path(self.class_folder))
        return places.instructor(self.user.name) if self.is_instructor else places.learner(self.user.name)

    def make_preexec_fn(self, name: str) -> Callable[[], None]:
        """What the new process does before it becomes the server: take its limits, then its account."""
        become = set_user_setuid(self.account, chdir=False)
        fences = fence.build(self.account, memory=self.mem_limit)
        umask = 0o002 if self.is_instructor else 0o027
        limits = {
            resource.RLIMIT_DATA: self.mem_limit,
            resource.RLIMIT_NPROC: self.processes,
            resource.RLIMIT_FSIZE: self.largest_file,
            resource.RLIMIT_CORE: 0,
        }

        def prepare() -> None:
            os.umask(umask)
            fence.enter(fences)
            for which, most in limits.items():
                if most:
                    resource.setrlimit(which, (most, most))
            become()

        return prepare

    def user_env(self, env: dict[str, str]) -> dict[str, str]:
        """Environment of the server: its account, its folder, its place in the class."""
        places = ClassFolder(Path(self.class_folder))
        runtime = self._runtime_folder()
        env |= {
            "USER": self.account,
            "LOGNAME": self.account,
            "HOME": str(self.home),
            "SHELL": "/bin/sh",
            "JUPYTER_RUNTIME_DIR": str(runtime),
            "PYTHONNOUSERSITE": "1",
            "TAPKIT_CLASS": str(places.root),
            "TAPKIT_CLASS_NAME": self.class_code,
            "TAPKIT_ROOM": str(places.room),
            "TAPKIT_ORIGINALS": str(places.originals),
        }
        if not self.is_instructor:
            env |= {
                "TAPKIT_LEARNER": self.user.name,
                "TAPKIT_SEED": str(self.seeds[self.user.name]),
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

    async def start(self) -> Any:
        """Start the server in its own folder, with its log in the hub's, where no learner can plant a link."""
        logs = ClassFolder(Path(self.class_folder)).hub / "logs"
        logs.mkdir(mode=0o700, exist_ok=True)
        with open(logs / f"{self.user.name}.log", "ab") as log:
            self.popen_kwargs = dict(cwd=str(self.home), stdout=log, stderr=log)
            return await super().start()
