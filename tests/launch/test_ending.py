"""`tapkit open` ends whole at any moment of its start: Ctrl-C, a polite kill, a closed terminal, once or twice.

Three moments run with every test. `pytest -m slow` sweeps 0 to 10 s, with 40 times Ctrl-C, and 20 times each a polite
kill, a closed terminal and Ctrl-C pressed twice.
"""

import contextlib
import os
import resource
import signal
import subprocess
import sys
import time

import psutil
import pytest
from opening import Opened, end, soon

from tapkit.launch import workspace

pytestmark = pytest.mark.skipif(os.name == "nt", reason="POSIX signals")

PYTHON_ITSELF = 0.3
"""Seconds in which the interpreter may still be on its way to our code, and says what it likes."""


def family(folder):
    """Every process that works for this folder, whoever its parent is now."""
    for process in psutil.process_iter():
        with contextlib.suppress(psutil.Error):
            if process.environ().get("TAPKIT_FOLDER") == str(folder) and process.status() != psutil.STATUS_ZOMBIE:
                yield process


def worked(run):
    """Processor time an `open` has had [s]: on a busy machine its start is not so far as the clock says."""
    with contextlib.suppress(psutil.Error):
        return sum(psutil.Process(run.process.pid).cpu_times()[:2])
    return PYTHON_ITSELF + 1


def ended(folder, number, moment, times=1):
    """What was said by an `open` that was told to end at a moment; it is ended, and nobody of its own is left."""
    run = Opened(folder, "--no-browser")
    try:
        time.sleep(moment)
        if moment > PYTHON_ITSELF:
            soon(lambda: worked(run), lambda seconds: seconds > PYTHON_ITSELF)
        for _ in range(times):
            run.process.send_signal(number)
            time.sleep(0.15)
        run.wait_for_the_end()
        assert soon(lambda: [p.cmdline() for p in family(folder)], lambda left: not left) == []
        return run.said
    finally:
        end(run)


@pytest.mark.parametrize(
    ("number", "moment", "times"), [(signal.SIGINT, 0.6, 1), (signal.SIGHUP, 1.5, 1), (signal.SIGINT, 3.0, 3)]
)
def test_it_ends_whole(tmp_path, number, moment, times):
    said = ended(tmp_path / "mine", number, moment, times)
    assert "Traceback" not in said, said


SWEEP = [
    *((signal.SIGINT, i * 0.25, 1) for i in range(40)),
    *((signal.SIGTERM, i * 0.5, 1) for i in range(20)),
    *((signal.SIGHUP, i * 0.5, 1) for i in range(20)),
    *((signal.SIGINT, i * 0.5, 2) for i in range(20)),
]


@pytest.mark.slow
@pytest.mark.timeout(3600)
def test_it_ends_whole_at_every_moment(tmp_path):
    faults = []
    for i, (number, moment, times) in enumerate(SWEEP):
        try:
            said = ended(tmp_path / f"mine-{i}", number, moment, times)
        except (AssertionError, subprocess.TimeoutExpired) as error:
            faults.append((number.name, moment, times, str(error)[-300:]))
            continue
        if "Traceback" in said and moment > PYTHON_ITSELF:
            faults.append((number.name, moment, times, said[-800:]))
    assert not faults, "\n".join(map(str, faults))


def started(folder, *, before=None, **environment):
    """An `open` that cannot work: its exit code and what it says."""
    command = [sys.executable, "-m", "tapkit", "open", "--folder", str(folder), "--no-browser"]
    done = subprocess.run(
        command, capture_output=True, text=True, timeout=300, preexec_fn=before, env={**os.environ, **environment}
    )
    return done.returncode, done.stdout + done.stderr


def test_a_full_disk_is_one_sentence(tmp_path):
    """No file may grow at all, which is what a full disk or a spent quota does to a start."""

    def full():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))

    code, said = started(tmp_path / "mine", before=full)
    assert (code, len(said.splitlines())) == (2, 1), said
    assert "cannot work in" in said
    assert "choose another place with --folder" in said
    assert not list(family(tmp_path / "mine"))


def test_a_disk_that_fills_up_while_it_starts_is_one_sentence(tmp_path):
    """The workbooks fit, what comes after them does not."""

    def nearly_full():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))

    folder, lock, _told = workspace.free_folder(tmp_path / "mine")
    lock.close()
    workspace.prepare(folder, workspace.for_learners(workspace.originals()))
    code, said = started(tmp_path / "mine", before=nearly_full)
    assert code == 2, said
    assert "Traceback" not in said, said
    assert len(said.splitlines()) <= 2, said
    assert not list(family(tmp_path / "mine"))


@pytest.mark.skipif(not sys.platform.startswith("linux") or os.geteuid() != 0, reason="mounts a small disk")
@pytest.mark.parametrize("size", ["512k", "1536k"])
def test_a_disk_too_small_for_a_lesson_is_one_sentence(tmp_path, size):
    mounted = ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(tmp_path)]
    if subprocess.run(mounted, capture_output=True, check=False).returncode:
        pytest.skip("no small disk can be mounted here")
    try:
        code, said = started(tmp_path / "mine")
        assert (code, len(said.splitlines())) == (2, 1), said
        assert "no space left" in said
        assert not list((tmp_path / "mine").rglob("*.part"))
        assert not list(family(tmp_path / "mine"))
    finally:
        subprocess.run(["umount", str(tmp_path)], check=True)


def test_a_workbook_that_cannot_be_shown_is_one_sentence(tmp_path):
    """One no kernel can make live and no page can read: the start ends instead of waiting for it."""
    run = Opened(tmp_path / "mine", "--no-browser")
    try:
        run.wait_for(r"Starting")
        odd = soon(lambda: tmp_path / "mine" / "00-start-here.ipynb", lambda path: path.exists())
        odd.write_text('{"cells": [', encoding="utf-8")
        assert run.wait_for_the_end() == 2
        assert "cannot open 00-start-here.ipynb" in run.said
        assert "Traceback" not in run.said
    finally:
        end(run)
    assert not list(family(tmp_path / "mine"))


def test_a_folder_that_cannot_be_written_is_one_sentence(tmp_path):
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / ".tapkit").write_text("", encoding="utf-8")  # for root, too, no folder can be made here
    code, said = started(folder)
    assert (code, len(said.splitlines())) == (2, 1), said
    assert "choose another place with --folder" in said
