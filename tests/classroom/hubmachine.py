"""A classroom machine for the tests: a real hub, a real proxy, real Linux accounts, all taken away again."""

import contextlib
import csv
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest
import requests
from hubclient import Person
from opening import SECONDS, soon
from realbrowser import Messages

import tapkit

try:
    import pwd
except ImportError:  # Windows, where `why_not` says so
    pwd = None

ROSTER = "id;name\nkai;Kai Moor\nlea;Lea Ruß\nnoa;Noa Peña\n"


def why_not() -> str:
    """Why no hub can be started here, or nothing."""
    if sys.platform != "linux" or os.geteuid() != 0:
        return "a hub needs Linux and root"
    if not proxy():
        return "configurable-http-proxy is not installed (npm install -g configurable-http-proxy)"
    try:
        import jupyterhub  # noqa: F401
    except ImportError:
        return "jupyterhub is not installed (the extra tapkit[hub])"
    return ""


def needed() -> None:
    """Skip the test where no hub can be started; fail it where TAPKIT_NEEDS_HUB says that one must."""
    reason = why_not()
    if reason and not os.environ.get("TAPKIT_NEEDS_HUB"):
        pytest.skip(reason)
    assert not reason, reason


def proxy() -> str | None:
    """The proxy, on the PATH or where TAPKIT_PROXY says."""
    return shutil.which(os.environ.get("TAPKIT_PROXY", "configurable-http-proxy"))


class Machine:
    """A class folder with a hub running on it, as long as a `with` goes; `start` and `stop` as often as needed."""

    verify: bool | str = True
    host = ""
    """Certificate to trust; name with everyone's own names below it."""

    def __init__(self, port: int, *options: str, roster: str = ROSTER) -> None:
        needed()
        self.top = Path(tempfile.mkdtemp(prefix="tapkit-class-", dir="/tmp"))
        self.top.chmod(0o755)
        self.folder, self.port, self.options = self.top / "class", port, options
        self.roster = self.top / "roster.csv"
        self.roster.write_text(roster, encoding="utf-8")
        self.url = f"http://127.0.0.1:{port}"
        self.hub: subprocess.Popen | None = None
        self.own: dict[str, str] = {}

    def __enter__(self) -> "Machine":
        try:
            return self.start()
        except BaseException:
            self.clear()
            raise

    def __exit__(self, *_why: object) -> None:
        self.clear()

    def command(self, *more: str) -> list[str]:
        python = [sys.executable, "-m", "tapkit", "hub", "--roster", str(self.roster), "--class", str(self.folder)]
        return [*reachable(), *python, "--port", str(self.port), "--proxy", proxy(), *self.options, *more]

    def once(self, *more: str) -> subprocess.CompletedProcess:
        """Run `tapkit hub` with options that end by themselves."""
        return subprocess.run(self.command(*more), capture_output=True, text=True, timeout=300, cwd="/")

    def start(self) -> "Machine":
        taken = soon(lambda: [p for p in range(self.port, self.port + 3) if not is_free(p)], lambda found: not found)
        assert not taken, f"ports {taken} are taken"
        self.said = open(self.top / "said.txt", "ab")  # noqa: SIM115 - the hub writes to it
        self.hub = subprocess.Popen(self.command(), stdout=self.said, stderr=self.said, start_new_session=True, cwd="/")
        end = time.monotonic() + SECONDS
        while time.monotonic() < end:
            if self.hub.poll() is not None:
                break
            try:
                if requests.get(f"{self.url}/hub/login", timeout=30, verify=False).ok:
                    return self
            except requests.RequestException:
                time.sleep(0.3)
        raise RuntimeError(f"the hub did not start:\n{(self.top / 'said.txt').read_text()[-3000:]}")

    def stop(self) -> None:
        if self.hub:
            self.hub.send_signal(signal.SIGTERM)
            self.hub.wait(SECONDS)
            self.said.close()
        self._end_proxy()

    def _end_proxy(self) -> None:
        """End the proxy of this hub where it has outlived it (one that was started again by the hub does)."""
        for process in Path("/proc").glob("[0-9]*"):
            with contextlib.suppress(OSError):
                command = (process / "cmdline").read_bytes().split(b"\0")
                if b"--api-port" in command and str(self.port + 1).encode() in command:
                    _kill(int(process.name))

    def slips(self, page: str = "slips.html") -> dict[str, str]:
        """First-use password by id, as printed."""
        text = (self.folder / "hub" / page).read_text(encoding="utf-8")
        return dict(re.findall(r"<code>([^<]+)</code></dd>\s*<dt>First password</dt><dd><code>([^<]+)</code>", text))

    def person(self, id: str) -> Person:
        """Somebody at a browser of their own, not signed in."""
        return Person(self.url, id, self.verify, home=f"http://{id}.{self.host}:{self.port}" if self.host else self.url)

    def comes(self, id: str) -> Person:
        """Somebody signed in, with the slip and a password of their own the first time, and their server open."""
        one, own = self.person(id), self.password(id)
        kept = json.loads((self.folder / "hub" / "passwords.json").read_text())
        said = one.sign_in(self.slips()[id], own) if kept[id]["first"] == "yes" else one.sign_in(own)
        assert said == "", said
        one.open_server()
        return one

    def browsed(self, browser, id: str, place: str, **context):
        """A page of a browser in which somebody signs in on the way to a place."""
        page = browser.new_context(**context).new_page()
        page.messages = Messages(page)
        page.goto(f"{self.url}/hub/login?next={place}")
        page.fill("#username_input", id)
        page.fill("#password_input", self.password(id))
        page.click("#login_submit")
        return page

    def password(self, id: str) -> str:
        """The password this person has chosen, or will choose at the first sign-in."""
        return f"{id}-works-here"

    def accounts(self) -> dict[str, str]:
        noted = self.folder / "hub" / "accounts.csv"
        rows = csv.DictReader(noted.read_text().splitlines() if noted.exists() else [])
        return {r["id"]: r["account"] for r in rows}

    def processes(self, *ids: str) -> list[int]:
        """Numbers of all running processes of these people, or of everybody."""
        users = {pwd.getpwnam(a).pw_uid for i, a in self.accounts().items() if not ids or i in ids}
        return [int(p.name) for p in Path("/proc").iterdir() if p.name.isdigit() and _owner(p) in users]

    def clear(self) -> None:
        """Stop everything, remove the accounts and the folder."""
        try:
            self.stop()
        finally:
            for number in self.processes():
                _kill(number)
            for account in self.accounts().values():
                subprocess.run(["userdel", account], capture_output=True)
                for place in (account, f"servers/{account}"):
                    shutil.rmtree(f"/run/tapkit/{place}", ignore_errors=True)
            if os.path.ismount(self.folder):
                subprocess.run(["umount", "--lazy", str(self.folder)], capture_output=True)
            shutil.rmtree(self.top, ignore_errors=True)


def is_free(port: int) -> bool:
    """Whether a port of this machine can be taken."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except OSError:
            return False
        return True


def _owner(process: Path) -> int:
    try:
        return process.stat().st_uid
    except OSError:
        return -1


def _kill(number: int) -> None:
    with contextlib.suppress(ProcessLookupError):
        os.kill(number, signal.SIGKILL)


def reachable() -> list[str]:
    """A command before the command, where Python or the package lie in folders that other accounts cannot enter.

    It shows them, and nothing else of those folders, in a mount namespace of its own.
    """
    package, tool = Path(tapkit.__file__).resolve().parent, Path(proxy())
    needed = [Path(sys.base_prefix).resolve(), Path(sys.prefix).resolve(), package, package.parent / "workbooks"]
    needed += [tool.parent, tool.resolve().parent]
    hidden = {p: shut for p in dict.fromkeys(needed) if p.exists() and (shut := _shut(p))}
    if not hidden:
        return []
    kept = [f'd{n}=$(mktemp -d) && mount --bind "{p}" "$d{n}"' for n, p in enumerate(hidden)]
    opened = [f'mount -t tmpfs -o mode=755 tmpfs "{shut}"' for shut in dict.fromkeys(hidden.values())]
    shown = [f'mkdir -p "{p}" && mount --bind "$d{n}" "{p}"' for n, p in enumerate(hidden)]
    return ["unshare", "--mount", "sh", "-c", " && ".join([*kept, *opened, *shown, 'exec "$@"']), "sh"]


def _shut(path: Path) -> Path | None:
    """The topmost folder above a path that other accounts cannot enter, or None."""
    return next((p for p in reversed(path.parents) if not p.stat().st_mode & 0o001), None)
