"""What goes wrong in a room: kernels die, disks fill, the proxy is cut, two tabs, a laptop sleeps.

In each case no acknowledged answer is lost, and work goes on.
"""

import contextlib
import json
import os
import re
import signal
import subprocess
import time

import hubmachine
import psutil
import pytest
from opening import SECONDS, soon

from tapkit.exercises.record import parse_record

pytestmark = pytest.mark.timeout(600)

ANSWER = """
import warnings; warnings.simplefilter("ignore")
from tapkit import panels
quiz = panels.quiz({name!r})
quiz.answer_box.fill({text!r})
quiz.check()
print(quiz.saved.saved, quiz.saved.message)
"""


@pytest.fixture(scope="module")
def machine():
    """A classroom machine whose class folder is a disk of 48 MB, so that it can be filled."""
    one = hubmachine.Machine(18640)
    one.folder.mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=48m,mode=755", "tmpfs", str(one.folder)], check=True)
    with one:
        yield one


@pytest.fixture(scope="module")
def kai(machine):
    return machine.comes("kai")


@pytest.fixture
def kernel(kai):
    """Kai's kernel, the one there is, or a new one where it ended with its server."""
    running = kai.api("GET", "kernels").json()
    one = kai.connect(running[0]["id"] if running else kai.start_kernel())
    yield one
    while kai.lines:
        kai.lines.pop().close()


def answers(machine):
    path = machine.folder / "learners/kai/records/answers-kai.jsonl"
    history = parse_record(path.read_bytes())
    assert history.damaged == ()
    assert history.breaks == ()
    return [e.answer for e in history.entries]


def saved(kernel, text, name="chamfer-length"):
    return kernel.run(ANSWER.format(name=name, text=text))


def kernel_process(machine, kernel):
    return next(n for n in machine.processes("kai") if kernel.id in " ".join(psutil.Process(n).cmdline()))


def test_a_killed_kernel_loses_nothing_and_comes_back(machine, kai, kernel):
    for n in range(3):
        assert saved(kernel, f"{n} mm").startswith("True")
    os.kill(kernel_process(machine, kernel), signal.SIGKILL)
    states = []
    end = time.monotonic() + SECONDS
    while "restarting" not in states and "autorestarting" not in states and time.monotonic() < end:
        message = kernel.receive()
        states.append(message["content"].get("execution_state"))
    assert {"restarting", "autorestarting"} & set(states)
    kernel.close()
    again = kai.connect(kernel.id)
    assert saved(again, "3 mm").startswith("True")
    assert answers(machine)[-4:] == ["0 mm", "1 mm", "2 mm", "3 mm"]


def test_a_killed_server_comes_back_with_everything(machine, kai, kernel):
    assert saved(kernel, "before").startswith("True")
    server = next(n for n in machine.processes("kai") if "tapkit.classroom." in " ".join(psutil.Process(n).cmdline()))
    os.kill(server, signal.SIGKILL)
    end = time.monotonic() + SECONDS
    while kai.web.get(f"{kai.home}/lab", timeout=SECONDS).url.startswith(kai.home) and time.monotonic() < end:
        time.sleep(0.5)
    told = kai.web.get(f"{kai.home}/lab", timeout=SECONDS)
    assert re.search(r"not running|Start My Server|starting up", told.text)
    kai.open_server()
    assert saved(kai.connect(kai.start_kernel()), "after").startswith("True")
    assert answers(machine)[-2:] == ["before", "after"]


def test_a_full_disk_is_told_and_the_answer_waits(machine, kai, kernel):
    assert saved(kernel, "room").startswith("True")
    before = answers(machine)
    filler = machine.folder / "learners/kai/filler"
    said = kernel.run(
        f"f = open({str(filler)!r}, 'wb')\ntry:\n    while True: f.write(bytes(2**16))\nexcept OSError as e: print(e)"
    )
    assert "No space left" in said
    kernel.run("f.close() if not f.closed else None")
    kernel.run(f"import os; os.truncate({str(filler)!r}, os.path.getsize({str(filler)!r}))")
    told = saved(kernel, "x" * 900)
    while told.startswith("True"):
        before = answers(machine)
        told = saved(kernel, f"{len(before)}" * 300)
    assert "the disk is full" in told
    assert "not saved" in told
    assert answers(machine) == before
    room = "from pathlib import Path; from tapkit.classroom.room import Room; import os; r = Room(Path(os.environ['TAPKIT_ROOM']))\n"
    assert kernel.run(room + "print(r.current())").strip() == "None"
    noa = machine.person("noa")
    assert "could not be kept" in noa.sign_in(machine.slips()["noa"], "noa-works-here")
    os.truncate(filler, 0)
    assert saved(kernel, "the next one").startswith("True")
    assert answers(machine)[: len(before)] == before
    assert answers(machine)[-1] == "the next one"
    assert len(answers(machine)) == len(before) + 2
    assert noa.sign_in(machine.slips()["noa"], "noa-works-here") == ""


def test_a_cut_proxy_comes_back_and_the_kernel_with_it(machine, kai, kernel):
    assert saved(kernel, "before the cut").startswith("True")
    kernel.run("kept = 41")
    number = int((machine.folder / "hub/proxy.pid").read_text())
    assert psutil.Process(number).username() == "tapkit-proxy"
    os.kill(number, signal.SIGKILL)
    end, found = time.monotonic() + SECONDS, False
    while not found and time.monotonic() < end:
        time.sleep(1)
        try:
            found = kai.api("GET", f"kernels/{kernel.id}").ok
        except OSError:
            continue
    assert found
    again = kai.connect(kernel.id)
    assert again.run("print(kept + 1)").strip() == "42"
    assert saved(again, "after the cut").startswith("True")
    assert answers(machine)[-2:] == ["before the cut", "after the cut"]


def test_two_tabs_on_one_workbook_both_count(machine, kai, kernel):
    other = kai.connect(kernel.id)
    before = len(answers(machine))
    for n in range(4):
        assert saved(kernel if n % 2 else other, f"tab {n}").startswith("True")
    assert answers(machine)[before:] == [f"tab {n}" for n in range(4)]


def test_two_kernels_at_once_both_count(machine, kai, kernel):
    other = kai.connect(kai.start_kernel())
    before = len(answers(machine))
    loop = "from tapkit.exercises.record import Record; from tapkit.exercises import bank; r = Record(); q = bank.exercise_named('chamfer-length').variant(1)\n"
    loop += "print(all(r.add(q, f'{} {{n}}').saved for n in range(25)))"
    numbers = [
        one.send("execute_request", dict(code=loop.format(name), silent=False))
        for one, name in ((kernel, "a"), (other, "b"))
    ]
    for one, number in zip((kernel, other), numbers):
        said = ""
        while True:
            message = one.receive()
            if message["parent_header"].get("msg_id") != number:
                continue
            said += message["content"].get("text", "")
            if message["msg_type"] == "status" and message["content"]["execution_state"] == "idle":
                break
        assert said.strip() == "True"
    new = answers(machine)[before:]
    assert sorted(new) == sorted([f"{name} {n}" for name in "ab" for n in range(25)])
    kai.api("DELETE", f"kernels/{other.id}")


def test_a_laptop_that_slept_gets_what_it_missed(machine, kai, kernel):
    asleep = machine.folder / "learners/kai/asleep"
    asleep.touch()
    code = f"import os, time\nwhile os.path.exists({str(asleep)!r}): time.sleep(0.05)\nprint('while you slept')"
    number = kernel.send("execute_request", dict(code=code, silent=False))

    def seen():
        return kai.api("GET", f"kernels/{kernel.id}").json()

    soon(seen, lambda it: it["execution_state"] == "busy")
    kernel.close()
    soon(seen, lambda it: it["connections"] == 0)
    asleep.unlink()
    soon(seen, lambda it: it["execution_state"] == "idle")
    again = kai.connect(kernel.id, kernel.session)
    said = ""
    while "slept" not in said:
        message = again.receive()
        if message["parent_header"].get("msg_id") == number and message["msg_type"] == "stream":
            said += message["content"]["text"]
    assert said.strip() == "while you slept"
    assert json.loads(kai.api("GET", f"kernels/{kernel.id}").text)["id"] == kernel.id


FORKS = """
import os, time
children = []
try:
    while True:
        child = os.fork()
        if not child:
            time.sleep(60)
            os._exit(0)
        children.append(child)
except OSError as error:
    print(len(children), error.strerror)
"""


def test_one_who_takes_all_processes_stops_nobody_else(machine, kai, kernel):
    lea = machine.comes("lea")
    number, why = lea.connect(lea.start_kernel()).run(FORKS).split(maxsplit=1)
    assert 100 < int(number) < 256
    assert why.strip() == os.strerror(11)
    assert len(machine.processes("lea")) > 100
    assert saved(kernel, "beside it").startswith("True")
    noa = machine.person("noa")
    assert "" in (noa.sign_in(machine.password("noa")), noa.sign_in(machine.slips()["noa"], machine.password("noa")))
    for process in machine.processes("lea"):
        with contextlib.suppress(ProcessLookupError):
            os.kill(process, signal.SIGKILL)


def test_a_folder_that_cannot_be_written_is_told_and_nothing_is_lost(machine, kai, kernel):
    assert saved(kernel, "3.5 mm").startswith("True")
    before = answers(machine)
    modes = "import os\nhome = os.environ['HOME']\n"
    modes += "for place, mode in {{home + '/records': 0o{0}00, home + '/records/answers-kai.jsonl': 0o{1}00, '.': 0o{0}00}}.items():\n"
    modes += "    os.chmod(place, mode)"
    kernel.run(modes.format(5, 4))
    told = saved(kernel, "4.5 mm")
    assert told.startswith("False")
    assert "not saved" in told
    said = kernel.run("from tapkit import panels; bench = panels.bench(); bench._save(); print(bench._files.value)")
    assert "Not saved" in said
    assert "Traceback" not in said
    kernel.run(modes.format(7, 6))
    said = kernel.run("bench._save(); print(bench._files.value)")
    assert ".csv" in said
    assert "Not saved" not in said
    assert saved(kernel, "5.5 mm").startswith("True")
    assert answers(machine)[: len(before)] == before
    assert answers(machine)[-1] == "5.5 mm"
