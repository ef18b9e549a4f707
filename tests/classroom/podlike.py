"""Servers as a cluster would give them, on one machine: the volumes of a pod as mounts that only its server sees.

`PodSpawner` stands in for KubeSpawner in a real hub; it does what a pod's `volumeMounts` and `runAsUser` ask for.
"""

import os
import shlex
from pathlib import Path

from jupyterhub.spawner import LocalProcessSpawner
from traitlets import List, Unicode

USER = 1000
"""Account of a pod, as in the values."""


class PodSpawner(LocalProcessSpawner):
    """Starts the server with the mounts that a hook has set, and nothing else of the volume."""

    volumes = List()
    volume_mounts = List()
    volume = Unicode(config=True, help="The folder that stands for the claim.")

    def make_preexec_fn(self, name):
        return lambda: None

    def user_env(self, env):
        """What a container has, and nothing of the hub's own."""
        return env | {"PATH": os.environ["PATH"]}

    async def start(self):
        steps = []
        for mount in self.volume_mounts:
            source, target = Path(self.volume) / mount.get("subPath", ""), mount["mountPath"]
            steps.append(f"mkdir -p {shlex.quote(target)}")
            empty = any(v["name"] == mount["name"] and "emptyDir" in v for v in self.volumes)
            what = "-t tmpfs -o mode=777 tmpfs" if empty else f"--bind {shlex.quote(str(source))}"
            steps.append(f"mount {what} {shlex.quote(target)}")
            if mount.get("readOnly"):
                steps.append(f"mount -o remount,ro,bind {shlex.quote(target)}")
        drop = f'exec setpriv --reuid {USER} --regid {USER} --clear-groups "$@"'
        self.popen_kwargs = dict(cwd="/")
        whole, self.cmd = self.cmd, ["unshare", "--mount", "sh", "-ec", "\n".join([*steps, drop]), "sh", *self.cmd]
        try:
            return await super().start()
        finally:
            self.cmd = whole
