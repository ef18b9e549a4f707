"""The configuration of the hub, as the text of a file that a person can read and check."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from pprint import pformat
from typing import Any

from tapkit.classroom.folder import PROXY, ClassFolder
from tapkit.messages import _, language_in_use

INSTRUCTOR_SCOPES = ["admin-ui", "list:users", "read:users", "read:servers", "servers", "read:hub"]
"""What instructors may do on the hub's admin page. Opening a learner's server is not among it: a page written by a
learner would then run in the instructor's browser. Instructors read the learners' files instead."""


SCOPE = "custom:tapkit:desk"
"""What an instructor's token needs at the service of the desk."""
RUN = Path("/run/tapkit")
"""Sockets and connection files of running kernels, one folder for each account, gone after a restart."""
DESKS = RUN / "classdesk"
"""Sockets of that service, one for each class; the folder is the instructors' group's."""

GATE = Path(__file__).parent / "pages" / "gate.mjs"
"""What the proxy loads so that at /user/ID/ only ID's own browser gets through."""
GATE_KEY = "gate.key"

HUB_SAYS = {
    "Invalid username or password": _("Invalid username or password"),
    "Login form invalid or expired. Try again.": _("The page had stood open too long. Sign in again."),
}
"""What the hub itself says on that page, and our words for it."""
SIGN_IN = {
    "title": _("Sign in"),
    "open": _("This page came over a line that others can read. Tell your instructor before you type a password."),
    "name": _("User name:"),
    "password": _("Password:"),
    "show": _("Show what is typed"),
    "first": _("First time here?"),
    "how": _(
        "Type the password from your slip above. Then choose a password of your own, 8 characters or more, and type it "
        "twice."
    ),
    "chosen": _("Your new password:"),
    "repeated": _("The same once more:"),
}
"""Words of the page for signing in."""


def sign_in_words() -> dict[str, Any]:
    """The words of that page in the language in use."""
    said = {key: words.said() for key, words in SIGN_IN.items()}
    return {**said, "hub": {key: words.said() for key, words in HUB_SAYS.items()}, "language": language_in_use()}


@dataclass(frozen=True, kw_only=True)
class HubSettings:
    """Everything the configuration says.

    With a `host`, a name, everyone's server has a name of its own below it, so that no page of a learner shares the
    origin of the hub's pages or of anybody's server. `memory` [bytes] and `idle` [s] are for one learner; `accounts`
    are by id. The ports after `port` are used inside the machine by the proxy and the hub.
    """

    folder: ClassFolder
    python: str
    proxy: str
    address: str = "127.0.0.1"
    host: str = ""
    port: int = 8000
    certificate: bool = False
    learners: tuple[str, ...] = ()
    instructors: tuple[str, ...] = ()
    accounts: Mapping[str, str] = field(default_factory=dict)
    code: str = ""
    memory: int = 512 * 2**20
    idle: int = 3600
    templates: Path = Path(__file__).parent / "pages"

    @property
    def url(self) -> str:
        """Where people point their browsers."""
        return self._at(self.host or self.address)

    @property
    def desk(self) -> Path:
        """The socket of the service for the instructors' desk."""
        return DESKS / f"{self.code}.sock"

    @property
    def gate_key(self) -> Path:
        """The key of the gate, which root and the proxy's account can read."""
        return self.folder.tls / GATE_KEY

    @property
    def listens(self) -> str:
        """Where the proxy listens."""
        return self._at(self.address)

    def _at(self, host: str) -> str:
        host = f"[{host}]" if ":" in host else host
        return f"http{'s' if self.certificate else ''}://{host}:{self.port}"


def config_text(settings: HubSettings) -> str:
    """The text of `jupyterhub_config.py`."""
    parts = [_HEAD, _network(settings), _people(settings), _servers(settings), _culling(settings), _TAIL]
    return "\n".join(parts)


def _assign(values: Mapping[str, object]) -> str:
    return "".join(f"c.{name} = {pformat(value, width=110, compact=True)}\n" for name, value in values.items())


def _network(s: HubSettings) -> str:
    tls = {"JupyterHub.ssl_cert": str(s.folder.tls / "cert.pem"), "JupyterHub.ssl_key": str(s.folder.tls / "key.pem")}
    keep = ["--reuid", PROXY, "--regid", PROXY, "--clear-groups", "--inh-caps", "+net_bind_service", "--ambient-caps",
            "+net_bind_service", "--no-new-privs"]  # fmt: skip
    return "# Where the class is reached; the proxy runs under an account that owns nothing.\n" + _assign(
        {
            "JupyterHub.bind_url": s.listens,
            **({"JupyterHub.subdomain_host": s.url} if s.host else {}),
            "JupyterHub.hub_bind_url": f"http://127.0.0.1:{s.port + 2}",
            "ConfigurableHTTPProxy.api_url": f"http://127.0.0.1:{s.port + 1}",
            "ConfigurableHTTPProxy.command": ["setpriv", *keep, *([] if s.host else gate(s.gate_key)), s.proxy],
            "ConfigurableHTTPProxy.pid_file": str(s.folder.hub / "proxy.pid"),
            **(tls if s.certificate else {}),
        }
    )


def gate(key: Path) -> list[str]:
    """A command before the proxy's, so that it loads the gate."""
    return ["env", f"TAPKIT_GATE={key}", f"NODE_OPTIONS=--import={GATE.as_uri()}"]


def _people(s: HubSettings) -> str:
    return "# Who may sign in, and as what.\n" + _assign(
        {
            "JupyterHub.authenticator_class": "tapkit.classroom.authenticator.ClassAuthenticator",
            "ClassAuthenticator.class_folder": str(s.folder.root),
            **({} if s.host else {"ClassAuthenticator.gate": str(s.gate_key)}),
            "Authenticator.delete_invalid_users": True,
            "JupyterHub.template_paths": [str(s.templates)],
            "JupyterHub.template_vars": {"tapkit_words": sign_in_words()},
            "JupyterHub.cookie_max_age_days": 1,
            "JupyterHub.custom_scopes": {SCOPE: {"description": "Take learners in and let them go, at the desk"}},
            "JupyterHub.load_roles": [
                {
                    "name": "instructor",
                    "description": "Start, stop and watch the servers of the class",
                    "users": list(s.instructors),
                    "scopes": [*INSTRUCTOR_SCOPES, SCOPE],
                },
                {
                    "name": "classdesk",
                    "description": "Have the hub forget learners who left",
                    "services": ["classdesk"],
                    "scopes": ["delete:users", "delete:servers"],
                },
                {
                    "name": "culler",
                    "description": "Stop servers nobody uses",
                    "services": ["culler"],
                    "scopes": ["list:users", "read:users:activity", "read:servers", "delete:servers"],
                },
            ],
        }
    )


def _servers(s: HubSettings) -> str:
    return "# What everyone gets.\n" + _assign(
        {
            "JupyterHub.spawner_class": "tapkit.classroom.spawner.ClassSpawner",
            "ClassSpawner.class_folder": str(s.folder.root),
            "ClassSpawner.instructors": sorted(s.instructors),
            "ClassSpawner.desk_socket": str(s.desk),
            "ClassSpawner.class_code": s.code,
            "Spawner.cmd": [s.python, "-m", "tapkit.classroom.singleuser"],
            "Spawner.environment": {"TAPKIT_IDLE": str(s.idle)},
            "Spawner.mem_limit": s.memory,
            "Spawner.disable_user_config": True,
            "Spawner.poll_interval": 10,
            "Spawner.start_timeout": 300,
            "Spawner.http_timeout": 300,
            "JupyterHub.concurrent_spawn_limit": 100,
            "JupyterHub.allow_named_servers": False,
        }
    )


def _culling(s: HubSettings) -> str:
    command = [s.python, "-m", "jupyterhub_idle_culler", f"--timeout={s.idle}", "--cull-every=60"]
    look = [s.python, "-P", "-m", "tapkit.classroom.recordcopy", str(s.folder.learners), str(s.folder.copies)]
    copying = {"name": "record-copy", "command": look, "user": s.accounts[s.instructors[0]], "cwd": str(s.folder.marks)}
    return (
        "# Servers that nobody has used for a while are stopped; nothing of a learner's is lost by it.\n"
        "# A service keeps a copy of the records that no learner can reach, under an instructor's account.\n"
        "# A service does at the desk what needs root, and nothing else.\n"
    ) + _assign({"JupyterHub.services": [{"name": "culler", "command": command, "user": PROXY}, copying, _desk(s)]})


def _desk(s: HubSettings) -> dict[str, object]:
    command = [s.python, "-P", "-m", "tapkit.classroom.classdesk", str(s.folder.root), str(s.desk), s.url]
    return {"name": "classdesk", "command": [*command, *s.instructors], "cwd": str(s.folder.hub)}


_HEAD = '''"""Written by `tapkit hub` at every start. Put changes of your own in local_config.py beside this file."""

import pathlib

c = get_config()
c.JupyterHub.log_level = "WARN"
c.ConfigurableHTTPProxy.log_level = "warn"
c.JupyterHub.db_url = "sqlite:///" + str(pathlib.Path(__file__).parent / "hub.sqlite")
c.JupyterHub.cookie_secret_file = str(pathlib.Path(__file__).parent / "cookie_secret")
'''

_TAIL = """local = pathlib.Path(__file__).parent / "local_config.py"
if local.exists():
    load_subconfig(str(local))
"""
