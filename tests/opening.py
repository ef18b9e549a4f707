"""`tapkit open` as a learner starts it: a process of its own, stopped with Ctrl-C."""

import contextlib
import json
import os
import re
import signal
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from pathlib import Path

import psutil

SECONDS = 180
"""For whatever must come: a busy machine may take long, and only a failing test waits so long."""

if signal.getsignal(signal.SIGINT) == signal.SIG_IGN and threading.current_thread() is threading.main_thread():
    signal.signal(signal.SIGINT, signal.default_int_handler)  # tests started with & would hand the ignoring on


def soon(read, wanted, seconds=SECONDS):
    """What `read()` gives, as soon as `wanted(it)` holds, or after so many seconds."""
    end = time.monotonic() + seconds
    while not wanted(found := read()) and time.monotonic() < end:
        time.sleep(0.1)
    return found


class Opened:
    """A running `tapkit open`: `said` so far, `address`, `port`, `token`."""

    def __init__(self, folder, *arguments, **environment):
        command = [sys.executable, "-m", "tapkit", "open", "--folder", str(folder), *arguments]
        group = (
            {"creationflags": subprocess.CREATE_NEW_PROCESS_GROUP} if os.name == "nt" else {"start_new_session": True}
        )
        self.folder = Path(folder)
        self.started = time.monotonic()
        self.process = subprocess.Popen(
            command,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            encoding="utf-8",
            env={**os.environ, "PYTHONIOENCODING": "utf-8", "TAPKIT_SEED": "0", **environment},
            **group,
        )
        self.said = ""
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self):
        for line in self.process.stdout:
            self.said += line

    def wait_for(self, pattern, seconds=SECONDS):
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            found = re.search(pattern, self.said)
            if found:
                return found
            if self.process.poll() is not None:
                break
            time.sleep(0.02)
        raise AssertionError(f"never said {pattern!r}: {self.said}")

    def wait_for_address(self):
        found = self.wait_for(r"(http://127.0.0.1:(\d+)/\S+?)\?token=(\w+)")
        self.address, self.port, self.token = found[0], int(found[2]), found[3]
        self.seconds = time.monotonic() - self.started
        return self.address

    def post(self, path):
        return self.get(path, b"{}")

    def get(self, path, data=None):
        request = urllib.request.Request(f"http://127.0.0.1:{self.port}{path}", data)
        request.add_header("Authorization", f"token {self.token}")
        with urllib.request.urlopen(request, timeout=SECONDS) as answer:
            return json.load(answer)

    def read(self, name):
        return (self.folder / name).read_bytes()

    def write(self, name, data):
        (self.folder / name).write_bytes(data)

    def processes(self):
        """This process and all it started."""
        own = psutil.Process(self.process.pid)
        return [own, *own.children(recursive=True)]

    def press_ctrl_c(self):
        self.process.send_signal(signal.CTRL_BREAK_EVENT if os.name == "nt" else signal.SIGINT)

    def wait_for_the_end(self):
        """The exit code; `said` is whole then."""
        code = self.process.wait(SECONDS)
        self._reader.join(SECONDS)
        return code

    def stop(self):
        """Ctrl-C; the exit code, and what is still alive a good while after."""
        family = self.processes()
        self.press_ctrl_c()
        return self.wait_for_the_end(), left_of(family)


def left_of(family):
    """Those of some processes that do not end."""

    def alive(process):
        with contextlib.suppress(psutil.NoSuchProcess):
            return process.is_running() and process.status() != psutil.STATUS_ZOMBIE
        return False

    return soon(lambda: [p for p in family if alive(p)], lambda left: not left, 60)


@contextlib.contextmanager
def opened(folder, *arguments, **environment):
    """A running `tapkit open --no-browser`, ended whatever happens."""
    run = Opened(folder, "--no-browser", *arguments, **environment)
    try:
        run.wait_for_address()
        yield run
    finally:
        end(run)


def ended(server):
    """A server of the test's own, ended politely, then not: how soon it ends by itself is not what is tested."""
    server.terminate()
    with contextlib.suppress(subprocess.TimeoutExpired):
        server.wait(20)
    server.kill()
    server.wait(20)


def end(run):
    """End a run and all it started, politely, then not."""
    if run.process.poll() is None:
        family = run.processes()
        with contextlib.suppress(subprocess.TimeoutExpired):
            run.press_ctrl_c()
            run.process.wait(10)
        for process in family:
            with contextlib.suppress(psutil.NoSuchProcess):
                process.kill()
