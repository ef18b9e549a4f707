"""A class at work on one machine, measured: memory of each learner, and how fast a moved slider is answered.

    python tests/classroom/classload.py --learners 30 --minutes 2 [--workbook NAME] [--turn] [--json FILE]

Every learner signs in, opens the workbook as JupyterLab does, and moves one slider every three seconds; the
answer is the next picture. With --turn every learner turns the tap in the round instead: the browser draws it alone, and
tells the kernel how it is held when the hand rests; the answer is the next message of the kernel. Prints a table. Run as root on Linux, with the proxy on the PATH or in TAPKIT_PROXY.
"""

import argparse
import json
import random
import sys
import threading
import time
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parent))

import psutil
from hubclient import Kernel
from hubmachine import Machine
from opening import SECONDS

EVERY = 3.0
"""Seconds between the moves of one learner."""

PARTS = ("tapkit.classroom.", "ipykernel")
"""Processes of one learner, by what stands in their command."""

FIND = """
import json, ipywidgets as w
from ipywidgets.widgets.widget import _instances
seen = [(k, v) for k, v in _instances.items()]
print(json.dumps(dict(
    rounds=[k for k, v in seen if hasattr(v, "vertices")],
    pictures=[k for k, v in seen if isinstance(v, w.Image) or hasattr(v, "vertices")],
    sliders=[
        (k, key, item["count"])
        for k, v in seen if isinstance(getattr(v, "shown", None), dict)
        for key, item in v.shown.get("items", {}).items() if item.get("count", 0) >= 10
    ],
)))
"""


class Learner(threading.Thread):
    """One learner moving one slider until told to stop."""

    def __init__(self, machine: Machine, id: str, workbook: str, stop: threading.Event, turns: bool = False) -> None:
        super().__init__(name=id, daemon=True)
        self.machine, self.workbook, self.stop_now, self.turns = machine, workbook, stop, turns
        self.person = machine.person(id)
        self.every = EVERY
        self.times: list[float] = []
        self.trouble: list[str] = []
        self.ready = 0.0
        self.value: int | None = None
        self.moving = threading.Event()

    def arrive(self) -> None:
        """Sign in, open the server and the workbook; what JupyterLab asks for is asked for here."""
        start = time.monotonic()
        slip, own = self.machine.slips()[self.person.id], self.machine.password(self.person.id)
        said = self.person.sign_in(slip, own)
        if said:
            raise RuntimeError(said)
        self.person.open_server(300)
        book = self.person.api("GET", f"contents/{self.workbook}?type=notebook&content=1")
        book.raise_for_status()
        session = self.person.api(
            "POST",
            "sessions",
            json=dict(path=self.workbook, name=self.workbook, type="notebook", kernel=dict(name="python3")),
        )
        session.raise_for_status()
        self.kernel: Kernel = self.person.connect(session.json()["kernel"]["id"])
        found = json.loads(self.kernel.run(FIND).strip().splitlines()[-1])
        if not found["sliders"] or not found["pictures"]:
            raise RuntimeError(f"the workbook is not live: {found}")
        self.pictures = set(found["pictures"])
        self.slider = found["sliders"][0]
        if self.turns and not found["rounds"]:
            raise RuntimeError("there is no tap in the round in this workbook")
        self.round = found["rounds"][:1]
        self.ready = time.monotonic() - start

    def run(self) -> None:
        try:
            self.arrive()
        except Exception as error:
            self.trouble.append(f"{self.name} did not arrive: {error!r}")
            return
        self.moving.set()
        dice = random.Random(self.name)
        time.sleep(dice.uniform(0, self.every))
        while not self.stop_now.is_set():
            start = time.monotonic()
            try:
                self.times.append(self.turn(dice) if self.turns else self.move(dice))
            except Exception as error:
                self.trouble.append(f"{self.name}: {error!r}")
            time.sleep(max(0.0, self.every - (time.monotonic() - start)))

    def turn(self, dice: random.Random) -> float:
        """Seconds from a tap turned by hand to the first message that answers it."""
        view = {"turn": round(dice.uniform(-180, 180), 1), "tilt": 18.0, "zoom": 1.0}
        data = dict(method="update", state={"view": view}, buffer_paths=[])
        self.kernel.drain()
        start = time.monotonic()
        self.kernel.send("comm_msg", dict(comm_id=self.round[0], data=data))
        while time.monotonic() < start + SECONDS:
            if self.kernel.receive()["msg_type"] == "comm_msg":
                return time.monotonic() - start
        raise TimeoutError(f"no answer in {SECONDS} s")

    def move(self, dice: random.Random) -> float:
        """Seconds from a moved slider to the picture that answers it."""
        comm, key, count = self.slider
        value = self.value = dice.choice([n for n in range(count + 1) if n != self.value])
        self.kernel.drain()
        start = time.monotonic()
        data = dict(method="custom", content={"key": key, "position": value, "from": [self.name, 1]})
        self.kernel.send("comm_msg", dict(comm_id=comm, data=data))
        while time.monotonic() < start + SECONDS:
            message = self.kernel.receive()
            if message["msg_type"] == "comm_msg" and message["content"]["comm_id"] in self.pictures:
                return time.monotonic() - start
        raise TimeoutError(f"no picture for {value} in {SECONDS} s")


def memory_of(numbers: list[int]) -> float:
    """Proportional share of memory of these processes [MiB]: shared pages are counted once over all."""
    total = 0
    for number in numbers:
        try:
            total += psutil.Process(number).memory_full_info().pss
        except psutil.Error:
            continue
    return total / 2**20


def measure(learners: int, minutes: float, workbook: str | None, options: list[str], turns: bool = False) -> dict:
    """Run a class of so many and give its figures."""
    ids = [f"l{n:03d}" for n in range(1, learners + 1)]
    machine = Machine(18700, *options, roster="id,name\n" + "".join(f"{i},Learner {i}\n" for i in ids))
    stop = threading.Event()
    try:
        machine.start()
        book = workbook or max((machine.folder / "originals").glob("0*.ipynb"), key=lambda p: p.stat().st_size).name
        class_ = [Learner(machine, id, book, stop, turns) for id in ids]
        for one in class_:
            one.start()
        for one in class_:
            while one.is_alive() and not one.moving.is_set():
                time.sleep(0.2)
        used = psutil.cpu_percent(None)
        time.sleep(minutes * 60)
        used = psutil.cpu_percent(None)
        memory = {id: memory_of(machine.processes(id)) for id in ids}
        hub = memory_of(
            [p.pid for p in psutil.process_iter() if p.pid == machine.hub.pid or _is_child(p, machine.hub.pid)]
        )
        parts = {p: memory_of([n for n in machine.processes(ids[0]) if p in _command(n)]) for p in PARTS}
        stop.set()
        for one in class_:
            one.join(40)
        return _figures(class_, memory, hub, book, used) | {f"MiB of {p}": round(v) for p, v in parts.items()}
    finally:
        stop.set()
        machine.clear()


def _command(number: int) -> str:
    try:
        return " ".join(psutil.Process(number).cmdline())
    except psutil.Error:
        return ""


def _is_child(process: psutil.Process, hub: int) -> bool:
    try:
        return process.ppid() == hub and "tapkit.classroom.singleuser" not in process.cmdline()
    except psutil.Error:
        return False


def _figures(class_: list[Learner], memory: dict[str, float], hub: float, book: str, busy: float) -> dict:
    times = sorted(t for one in class_ for t in one.times)
    arrived = [one.ready for one in class_ if one.ready]
    return {
        "workbook": book,
        "learners": len(class_),
        "arrived": len(arrived),
        "seconds to arrive, median": round(median(arrived), 1) if arrived else None,
        "seconds to arrive, last": round(max(arrived), 1) if arrived else None,
        "moves": len(times),
        "answer ms, median": round(1000 * median(times)) if times else None,
        "answer ms, 95th percentile": round(1000 * times[int(0.95 * (len(times) - 1))]) if times else None,
        "answer ms, worst": round(1000 * times[-1]) if times else None,
        "MiB for each learner, median": round(median(memory.values())),
        "MiB for each learner, most": round(max(memory.values())),
        "MiB for the hub and proxy": round(hub),
        "MiB in all": round(sum(memory.values()) + hub),
        "machine busy %": round(busy),
        "failures": sum(len(one.trouble) for one in class_),
        "first failure": next((t for one in class_ for t in one.trouble), ""),
    }


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--learners", type=int, default=30)
    parser.add_argument("--minutes", type=float, default=2)
    parser.add_argument("--workbook")
    parser.add_argument("--turn", action="store_true")
    parser.add_argument("--json", type=Path)
    given, more = parser.parse_known_args()
    found = measure(given.learners, given.minutes, given.workbook, more, given.turn)
    for name, value in found.items():
        print(f"{name:32} {value}")
    if given.json:
        given.json.write_text(json.dumps(found, indent=1) + "\n")
