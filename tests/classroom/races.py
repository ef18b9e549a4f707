"""Races for the place of a server that has ended: another learner wants to stand there when its owner asks again."""

import contextlib
import json
import threading
from collections import Counter
from pathlib import Path

import psutil
from opening import SECONDS

ATTACK = """
import collections, contextlib, json, os, shutil, socket, threading, time
tally, taken, going = collections.Counter(), [], True
PAGE = b"HTTP/1.1 200 OK\\r\\nContent-Length: 8\\r\\nConnection: close\\r\\n\\r\\ntaken it"
def serve(line):
    while True:
        one, _ = line.accept()
        with one, contextlib.suppress(OSError):
            one.recv(65536); one.sendall(PAGE)
def bound(kind, place):
    line = socket.socket(kind)
    try:
        line.bind(place); line.listen(16)
    except OSError:
        line.close()
        raise
    threading.Thread(target=serve, args=(line,), daemon=True).start()
def reached(place):
    with socket.socket(socket.AF_UNIX) as line:
        line.connect(place)
def ways(place):
    folder = os.path.dirname(place)
    return {
        "connect": lambda: reached(place),
        "remove": lambda: os.unlink(place),
        "listen": lambda: bound(socket.AF_UNIX, place),
        "link": lambda: os.symlink(mine, place),
        "move the folder": lambda: os.rename(folder, folder + "x"),
        "make the folder": lambda: os.mkdir(folder),
    }
mine = os.environ["HOME"] + "/there/mine.sock"
os.makedirs(os.path.dirname(mine), exist_ok=True)
bound(socket.AF_UNIX, mine)
def attack(places):
    while going:
        for place in places:
            for name, act in ways(place).items():
                try:
                    act()
                    taken.append((name, place))
                except OSError as error:
                    tally[f"{name}: {type(error).__name__}"] += 1
        time.sleep(0.01)
control = dict.fromkeys(ways(mine), "")
for name in ("connect", "remove", "listen", "move the folder", "make the folder", "link"):
    try:
        ways(mine)[name]()
        control[name] = "done"
    except OSError as error:
        control[name] = type(error).__name__
attacking = threading.Thread(target=attack, args=(PLACES,))
attacking.start()
print(json.dumps(control))
"""
"""What an attacker's kernel does till it is told to stop. At a place of its own everything works: the control."""

STOP = """
going = False
attacking.join()
print(json.dumps([dict(tally), taken]))
"""


def where_it_listens(machine, id):
    """Every place, port or path, at which the server of a person takes connections."""
    found = set()
    for process in servers(machine, id):
        for one in process.net_connections("all"):
            if one.status == "LISTEN":
                found.add(tuple(one.laddr))
            elif isinstance(one.laddr, str) and one.laddr:
                found.add(one.laddr)
    return sorted(found, key=str)


def servers(machine, id):
    """The server's process of a person, without kernels."""
    own, name = machine.processes(id), "tapkit.classroom.prefork"
    return [p for p in psutil.process_iter(["cmdline"]) if p.pid in own and name in (p.info["cmdline"] or ())]


def race(machine, victims, kernel, times):
    """Kill each victim's server so many times while the attack runs in `kernel`; the attack's figures and the
    statuses the victims' browsers saw."""
    places = [place for one in victims for place in where_it_listens(machine, one.id)]
    assert [place for place in places if isinstance(place, tuple)] == [], "no port"
    assert len({Path(place).parent for place in places}) == len(victims)
    said = kernel.run(ATTACK.replace("PLACES", repr(places)))
    assert said.startswith("{"), said
    control = json.loads(said)
    assert set(control.values()) == {"done"}, control
    seen, trouble = Counter(), []

    def be_hit(one):
        try:
            for _race in range(times):
                for process in servers(machine, one.id):
                    with contextlib.suppress(psutil.NoSuchProcess):
                        process.kill()
                for _ask in range(3):
                    answer = one.web.get(f"{one.home}/api/status", timeout=SECONDS)
                    seen["taken" if "taken it" in answer.text else answer.status_code] += 1
                one.open_server(300)
        except Exception as error:
            trouble.append(repr(error))

    threads = [threading.Thread(target=be_hit, args=(one,)) for one in victims]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert trouble == []
    tally, taken = json.loads(kernel.run(STOP, seconds=300))
    return tally, taken, seen
