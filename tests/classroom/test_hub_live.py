"""A hub started for real: two learners and an instructor sign in and work; nobody sees what is not theirs."""

import csv
import json
import re
import stat
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import nbformat
import psutil
import pytest
import requests
import websocket
from evilpage import SERVE, evil
from hubclient import Kernel
from hubmachine import proxy, reachable
from opening import SECONDS, soon
from races import race, where_it_listens
from races import servers as servers_of

from tapkit.classroom.folder import read_untrusted
from tapkit.classroom.seeds import class_code

pytestmark = pytest.mark.timeout(600)


@pytest.fixture(scope="module")
def people(machine):
    """Everyone signed in with the slip, a password of their own chosen, their server open."""
    ids = ("kai", "lea", "instructor")
    with ThreadPoolExecutor(3) as beside:
        return dict(zip(ids, beside.map(machine.comes, ids)))


@pytest.fixture(scope="module")
def kernels(people):
    """A running kernel of each."""
    return {id: one.connect(one.start_kernel()) for id, one in people.items()}


def test_everyone_gets_slips_and_a_password_is_used_once(machine, people):
    slips = machine.slips()
    assert set(slips) == {"kai", "lea", "noa", "instructor"}
    late = machine.person("kai")
    assert late.sign_in(slips["kai"], "another-one") == "Invalid username or password"
    assert late.sign_in(machine.password("kai")) == ""


def test_the_sign_in_page_speaks_plainly(machine):
    slip = machine.slips()["noa"]
    noa = machine.person("noa")
    assert noa.sign_in("guess") == "Invalid username or password"
    assert noa.sign_in(slip).startswith("This is your first time here")
    assert "not the same" in noa.sign_in(slip, "one-password", "two-password")
    assert "has 5 characters" in noa.sign_in(slip, "short")
    assert "must not be" in noa.sign_in(slip, slip)
    assert machine.person("root").sign_in("x") == "Invalid username or password"
    assert machine.person("tapkit001").sign_in("x") == "Invalid username or password"


def test_each_works_in_a_folder_of_their_own(machine, people, kernels):
    seen = {id: kernels[id].run("import os; print(os.getuid(), os.environ['HOME'])").split() for id in ("kai", "lea")}
    assert len({uid for uid, _ in seen.values()} | {"0"}) == 3
    assert seen["kai"][1] == str(machine.folder / "learners" / "kai")
    names = [x["name"] for x in people["kai"].read("").json()["content"]]
    assert any(n.endswith(".ipynb") for n in names)
    assert not any(n.startswith("class-book") for n in names)
    assert people["kai"].write("note.txt", "mine").ok
    assert people["kai"].read("note.txt").json()["content"] == "mine"


TRIES = """
import os, pathlib, glob
def tried(act):
    try:
        return str(act())
    except OSError as error:
        return type(error).__name__
root = pathlib.Path({root!r})
for path in {paths!r}:
    print(path, tried(lambda: (root / path).read_bytes()[:20]), sep="|")
for path in {folders!r}:
    print(path, tried(lambda: os.listdir(root / path)), sep="|")
for path in {targets!r}:
    print(path, tried(lambda: open(root / path, "a").close()), sep="|")
"""


def test_a_learner_cannot_reach_what_is_not_theirs(machine, people, kernels):
    assert people["lea"].write("secret.txt", "lea's").ok
    book = next(p.name for p in sorted((machine.folder / "originals").glob("0*.ipynb")))
    paths = ["learners/lea/workbooks/secret.txt", "key/seed.txt", "hub/passwords.json", "hub/jupyterhub_config.py"]
    paths += ["hub/cookie_secret", "hub/hub.sqlite", "hub/slips.html"]
    folders = ["learners", "learners/lea", "room/answers/lea", "key", "marks", "hub", "instructors/instructor", "tls"]
    targets = [f"originals/{book}", "originals/new.ipynb", "room/question.json", "room/answers/lea/000001.json"]
    targets += ["key/x", "marks/x", "roster.csv"]
    said = kernels["kai"].run(TRIES.format(root=str(machine.folder), paths=paths, folders=folders, targets=targets))
    told = dict(line.split("|") for line in said.strip().splitlines())
    assert told == dict.fromkeys([*paths, *folders, *targets], "PermissionError")
    assert kernels["kai"].run(f"print(open({str(machine.folder / 'originals' / book)!r}).read()[:1])").strip() == "{"


def test_a_learner_cannot_open_anothers_server_or_the_admin_page(machine, people):
    for path in ("/user/lea/lab", "/user/lea/api/contents", "/hub/admin", "/hub/spawn/lea"):
        answer = people["kai"].web.get(machine.url + path, timeout=SECONDS)
        assert answer.status_code in (403, 404), path
    assert people["instructor"].web.get(f"{machine.url}/user/kai/lab", timeout=SECONDS).status_code in (403, 404)
    assert people["instructor"].web.get(f"{machine.url}/hub/admin", timeout=SECONDS).ok
    assert requests.get(f"{machine.url}/user/kai/api/contents", timeout=SECONDS).status_code == 403


def test_a_kernel_is_heard_by_nobody_else(machine, kernels):
    runtime = Path("/run/tapkit") / machine.accounts()["kai"]
    assert stat.S_IMODE(runtime.stat().st_mode) & 0o077 == 0
    said = kernels["kai"].run("import ipykernel.kernelapp as k; a = k.IPKernelApp.instance(); print(a.transport, a.ip)")
    assert said.split()[0] == "ipc"
    assert said.split()[1].startswith(str(runtime))


def test_the_instructor_has_the_class_folder_without_the_learners(machine, people, kernels):
    names = {x["name"] for x in people["instructor"].read("").json()["content"]}
    assert {"originals", "key", "marks", "workbooks"} <= names
    assert not {"learners", "room", "hub"} & names
    assert people["instructor"].write("key/plan.txt", "x").ok
    assert people["instructor"].write("originals/handout.txt", "for all").ok
    said = kernels["instructor"].run(f"open({str(machine.folder / 'hub' / 'passwords.json')!r})")
    assert said.startswith("PermissionError")


def test_every_cell_of_the_class_book_is_live_when_it_is_opened(machine, people):
    book = people["instructor"].read("workbooks/class-book.ipynb", timeout=400).json()["content"]
    cells = [cell for cell in book["cells"] if cell["cell_type"] == "code" and "import" not in cell["source"]]
    without = [cell["source"] for cell in cells if not cell["outputs"]]
    errors = [cell["source"] for cell in cells if any(o["output_type"] == "error" for o in cell["outputs"])]
    assert len(cells) > 30
    assert (without, errors) == ([], [])


def trap(machine):
    """A notebook and a module named like one that every kernel loads; where either runs as the instructor it tells."""
    act = f"open({str(machine.folder / 'marks' / 'trapped')!r}, 'w')"
    return notebook(f"import tapkit\n{act}"), act


def test_opening_a_learners_work_never_runs_it(machine, people, kernels):
    kai, instructor = people["kai"], people["instructor"]
    book, act = trap(machine)
    assert kai.api("PUT", "contents/trap.ipynb", json=book).ok
    for module in ("random", "tapkit", "IPython", "ipykernel", "numpy"):
        assert kai.write(f"{module}.py", act).ok
    for path in ("learners/kai/workbooks/trap.ipynb", "../../learners/kai/workbooks/trap.ipynb", "learners"):
        assert instructor.read(path).status_code in (400, 404)
    for place in ("learners/kai/workbooks/trap.ipynb", "../../learners/kai/workbooks/trap.ipynb"):
        asked = dict(path=place, name="trap", type="notebook", kernel=dict(name="python3"))
        started = instructor.api("POST", "sessions", json=asked)
        if started.ok:
            kernel = instructor.connect(started.json()["kernel"]["id"])
            where = kernel.run("import os, random, numpy, tapkit; print(os.getcwd())").strip()
            assert where.startswith(str(machine.folder / "instructors")), where
            kernel.close()
    shown = instructor.web.get(f"{instructor.home}/tapkit/work/kai/workbooks/trap.ipynb", timeout=SECONDS)
    assert "trapped" in shown.text
    assert "sandbox; default-src" in shown.headers["Content-Security-Policy"]
    listed = instructor.web.get(f"{instructor.home}/tapkit/work", timeout=SECONDS).text
    assert "/kai/workbooks/trap.ipynb" in listed
    assert not (machine.folder / "marks" / "trapped").exists()
    assert kai.web.get(f"{kai.home}/tapkit/work/lea/records/answers-lea.jsonl", timeout=SECONDS).status_code == 404


FLIP = """
import os, time
os.chdir(os.environ['HOME'] + '/workbooks')
os.makedirs('flip/real', exist_ok=True)
open('flip/real/x.txt', 'w').write('mine'); open('flip/plain.txt', 'w').write('mine')
end = time.time() + {seconds}
while time.time() < end and not os.path.exists('flip/enough'):
    for target, name in (('{root}/key', 'flip/folder'), ('real', 'flip/folder'), ('{root}/key/seed.txt', 'flip/x.txt'), ('plain.txt', 'flip/x.txt')):
        os.symlink(target, 'flip/new')
        os.replace('flip/new', name)
    os.link('flip/plain.txt', 'flip/new'); os.replace('flip/new', 'flip/x.txt')
"""


def test_a_link_switched_while_it_is_opened_shows_nothing_of_the_key(machine, people, kernels):
    seed = (machine.folder / "key" / "seed.txt").read_text().strip()
    said = []
    code = FLIP.format(root=machine.folder, seconds=SECONDS / 2)
    attack = threading.Thread(target=lambda: said.append(kernels["kai"].run(code)))
    attack.start()
    learners, begun, seen = machine.folder / "learners", time.monotonic(), set()
    while attack.is_alive() and not ({b"mine", "ValueError"} <= seen and time.monotonic() > begun + 6):
        for name in ("x.txt", "folder/seed.txt", "folder/x.txt"):
            try:
                data = read_untrusted(learners / "kai/workbooks/flip" / name, 10_000, beneath=learners)
            except (ValueError, OSError) as error:
                seen.add(type(error).__name__)
                continue
            seen.add(data)
            assert seed.encode() not in data
    (learners / "kai/workbooks/flip/enough").touch()
    attack.join()
    assert said == [""]
    assert b"mine" in seen
    assert "ValueError" in seen
    place = f"{people['instructor'].home}/tapkit/work/kai/workbooks/flip/folder/seed.txt"
    assert seed not in people["instructor"].web.get(place, timeout=SECONDS).text


def test_no_kernel_has_the_class_seed_in_its_environment(machine, kernels):
    seed = (machine.folder / "key" / "seed.txt").read_text().strip()
    for id in ("kai", "instructor"):
        said = kernels[id].run("import os, sys; print(dict(os.environ), sys.flags.safe_path, sys.path)")
        assert seed not in said
        assert " True ['" in said
        assert "''" not in said.rsplit("True", 1)[1]


def test_memory_is_limited(machine, kernels):
    said = kernels["lea"].run("x = bytearray(900 * 2**20)")
    assert said.startswith("MemoryError")
    assert kernels["lea"].run("print(1 + 1)").strip() == "2"


def test_no_secret_stands_in_logs_pages_or_commands(machine, people):
    secrets = [*machine.slips().values(), *(machine.password(i) for i in people), _seed(machine)]
    logs = [machine.top / "said.txt", *(machine.folder / "hub" / "logs").iterdir()]
    commands = [" ".join(p.info["cmdline"] or ()) for p in psutil.process_iter(["cmdline"])]
    for secret in secrets:
        assert not any(secret in log.read_text(errors="replace") for log in logs)
        assert not any(secret in line for line in commands)
    assert not re.search(r"token=[0-9a-f]{8}", (machine.top / "said.txt").read_text())


def _seed(machine):
    return (machine.folder / "key" / "seed.txt").read_text().strip()


WORK = """
import warnings; warnings.simplefilter("ignore")
from tapkit import panels
from tapkit.exercises import bank
told = []
for name in {names!r}:
    quiz = panels.quiz(name)
    quiz.answer_box.fill({wrong!r} or quiz.attempt.question.right_text)
    told.append(quiz.check().kind)
    assert quiz.saved.saved, quiz.saved
print("|".join(told), quiz.record.path)
"""


def test_learners_work_and_are_marked(machine, people, kernels):
    names = ["chamfer-length", "minor-diameter", "chamfer-angle"]
    said = kernels["kai"].run(WORK.format(names=names, wrong=""))
    assert said.split() == ["right|right|right", str(machine.folder / "learners/kai/records/answers-kai.jsonl")]
    assert "right" not in kernels["lea"].run(WORK.format(names=names, wrong="777 mm")).split()[0]
    rewritten = machine.folder / "learners/lea/records/answers-lea.jsonl"
    copy = machine.folder / "marks/copies/lea.jsonl"
    # a look of the hub may fall between two answers: till it has them all
    assert soon(lambda: copy.exists() and copy.read_bytes() == rewritten.read_bytes(), bool)
    assert kernels["lea"].run(f"import os; os.remove({str(rewritten)!r})") == ""
    kernels["lea"].run("from tapkit.panels.quiz import own_record; own_record.cache_clear()")
    assert "right|right|right" in kernels["lea"].run(WORK.format(names=names, wrong=""))
    command = ["-m", "tapkit", "marks", "--class", str(machine.folder), "--set", ",".join(names)]
    run = f"import subprocess, sys; d = subprocess.run([sys.executable, *{command!r}], capture_output=True, text=True); print(d.stdout, d.stderr)"
    told = kernels["instructor"].run(run)
    assert "answers judged" in told
    assert "was changed or cut after it was written" in told
    book = next(machine.folder.glob("marks/marks-*/gradebook.csv")).read_text("utf-8-sig")
    rows = csv.DictReader(book.splitlines())
    assert {r["id"]: r["points"] for r in rows} == {"kai": "3", "lea": "0", "noa": "0"}
    assert kernels["kai"].run(run).count("cannot read the key of the class") == 1


ROOM = (
    "import os, pathlib; from tapkit.classroom.room import Room; room = Room(pathlib.Path(os.environ['TAPKIT_ROOM']))\n"
)


def test_a_question_goes_round_the_room(machine, people, kernels):
    assert kernels["instructor"].run(ROOM + "print(room.ask('predict-the-chip', 5).number)").strip() == "1"
    for id, text in (("kai", "A 1"), ("lea", "B 2")):
        assert kernels[id].run(ROOM + f"print(room.answer(room.current(), {id!r}, {text!r}).text)").strip() == text
    assert kernels["kai"].run(ROOM + "room.answer(room.current(), 'lea', 'C 3')").startswith("PermissionError")
    assert kernels["kai"].run(ROOM + "room.ask('inclination', 1)").startswith("PermissionError")
    look = "print([r.text for r in room.replies(1, room.present())[0]], room.present())"
    seen = kernels["instructor"].run(ROOM + look)
    assert seen.strip() == "['A 1', 'B 2'] ['kai', 'lea', 'noa']"
    assert kernels["instructor"].run(ROOM + "print(room.go_on().step)").strip() == "spread shown"
    late = kernels["kai"].run(ROOM + "room.answer(room.current(), 'kai', 'B 2')")
    assert late.startswith("ValueError: this question is closed")


def notebook(code):
    """A notebook of one cell, as the server's interface takes it."""
    kernel = dict(name="python3", display_name="Python 3", language="python")
    made = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(code)], metadata=dict(kernelspec=kernel))
    return dict(type="notebook", format="json", content=made)


@pytest.mark.browser
def test_in_the_browser_a_question_goes_round_live(machine, people, chromium):
    books = {"kai": "room.ipynb", "instructor": "workbooks/tally.ipynb"}
    for id, code in (("kai", "panels.room()"), ("instructor", "panels.tally(lesson=2)")):
        assert people[id].api("PUT", f"contents/{books[id]}", json=notebook(f"from tapkit import panels\n{code}")).ok
    pages = {}
    for id, book in books.items():
        size = dict(width=1280, height=900)
        pages[id] = machine.browsed(chromium, id, f"/user/{id}/doc/tree/{book}", viewport=size)
        pages[id].wait_for_selector(".tapkit-room")
    front, kai = pages["instructor"], pages["kai"]
    front.select_option(".tapkit-room select", "2 · Which way does the chip go?")
    front.click("text=Ask the room")
    kai.wait_for_selector(r"text=/Question \d+ ·/")
    kai.wait_for_selector("button:has-text('Hand in'):not([disabled])")
    for group in kai.query_selector_all(".tapkit-quiz [role=radiogroup]"):
        group.query_selector("input").click()
    kai.click("text=Hand in")
    kai.wait_for_selector("text=Handed in: A 1")
    front.wait_for_selector("text=1 of 3 have answered")
    assert "Kai Moor" not in front.inner_text(".tapkit-room")
    front.click("text=Close answers, show the spread")
    front.wait_for_selector(".tapkit-bars")
    kai.wait_for_selector("text=Answers are closed")
    front.click("text=Show the answer")
    kai.wait_for_selector("text=Worked solution")
    front.click("text=Names")
    front.wait_for_selector("text=Not yet: Lea Ruß, Noa Peña")
    for page in pages.values():
        page.context.close()


def test_a_sign_in_is_sent_to_ones_own_server_and_to_no_other(people):
    for name, person in people.items():
        paths = [c.path for c in person.web.cookies if c.name == f"jupyterhub-user-{name}"]
        assert paths == [f"/user/{name}/"]


def test_servers_are_forked_from_one_process_and_do_without_it(machine, people):
    servers = [p for id in people for p in servers_of(machine, id)]
    memory = [server.memory_full_info() for server in servers]
    assert max(m.uss / m.rss for m in memory) < 0.5, "more than half of each server is shared"
    parents = {server.ppid() for server in servers}
    assert len(parents) == 1
    first = psutil.Process(parents.pop())
    assert first.username() == "root"
    assert not [k for k in first.environ() if "TOKEN" in k or k.startswith(("JUPYTERHUB", "CONFIGPROXY"))]
    first.kill()
    assert machine.comes("noa").read("").ok
    assert people["kai"].read("note.txt").ok


@pytest.mark.browser
def test_what_a_learner_serves_is_shown_to_nobody_else(machine, people, kernels, chromium):
    noa = machine.comes("noa")
    kernel = noa.connect(noa.start_kernel())
    assert kernel.run(SERVE.format(page=evil(machine.url, machine.url))) == "listening\n"
    assert "<title>wait" in noa.web.get(f"{noa.home}/lab", timeout=60).text, "it stands there"
    for path in ("lab", "api/contents", "../noa/lab", "%2e/lab", "..%2fnoa/lab"):
        for one in (people["kai"].web, people["instructor"].web, requests):
            for mode in ("navigate", "cors"):
                answer = one.get(f"{noa.home}/{path}", headers={"Sec-Fetch-Mode": mode}, timeout=60)
                assert "<title>wait" not in answer.text
    with pytest.raises(websocket.WebSocketBadStatusException, match="403"):
        Kernel(people["instructor"], "x", at=noa.home)
    page = machine.browsed(chromium, "instructor", "/hub/home")
    page.wait_for_url("**/hub/home")
    page.goto(f"{noa.home}/lab")
    page.wait_for_url("**/hub/**")
    assert re.search("40[34]", page.inner_text("body"))
    page.context.close()
    for number in machine.processes("noa"):
        psutil.Process(number).kill()


def test_nobody_takes_the_place_of_a_server_that_ended(machine, people, kernels):
    tally, taken, seen = race(machine, [people["kai"]], kernels["lea"], 2)
    assert taken == []
    assert seen["taken"] == 0
    assert tally["connect: PermissionError"] > 10
    assert {why.split(": ")[1] for why in tally} <= {"PermissionError", "FileExistsError"}


def test_servers_listen_on_sockets_that_only_the_proxy_may_reach(machine, people):
    places = where_it_listens(machine, "instructor")
    assert [place for place in places if isinstance(place, tuple)] == [], "no port"
    folder = Path("/run/tapkit/servers") / machine.accounts()["instructor"]
    assert str(folder / "server.sock") in places
    assert stat.S_IMODE(folder.stat().st_mode) == 0o2710
    assert folder.group() == "tapkit-proxy"
    assert stat.S_IMODE((folder / "server.sock").stat().st_mode) == 0o660


def test_a_forgotten_password_is_reset_while_the_hub_runs(machine, people):
    assert machine.once("--reset", "lea").returncode == 0
    slip = machine.slips("slips-new.html")
    assert set(slip) == {"lea"}
    lea = machine.person("lea")
    assert lea.sign_in(machine.password("lea")) == "Invalid username or password"
    assert lea.sign_in(slip["lea"], "a-new-start") == ""


DESK = """
import warnings; warnings.simplefilter("ignore")
from tapkit.panels.desk.desk import desk
d = desk()
{act}
print(d.steps[0].told.widget.value, d.steps[1].told.widget.value, d.steps[5].told.widget.value)
"""


def afresh(person):
    """A new kernel of somebody whose server may have been started again."""
    person.open_server()
    return person.connect(person.start_kernel())


def at_the_desk(kernels, act):
    """What the instructor's desk says after something was done at it, in the instructor's own kernel."""
    return kernels["instructor"].run(DESK.format(act=act), seconds=300)


def test_the_desk_takes_learners_in_and_lets_them_go_while_the_class_works(machine, people, kernels):
    before = machine.accounts()
    act = "f = d.steps[0]; f.box.value = 'Name;Vorname\\nHolm;Ina\\nVeit;Jo'; f.make.click(); print(f.files._files[0].content().decode())"
    told = at_the_desk(kernels, act)
    assert "2 learners are in the class" in told, told
    slips = dict(re.findall(r"<code>([^<]+)</code></dd>\s*<dt>First password</dt><dd><code>([^<]+)</code>", told))
    assert set(slips) == {"ina-holm", "jo-veit"}
    ina = machine.person("ina-holm")
    assert ina.sign_in(slips["ina-holm"], "ina-works-here") == ""
    ina.open_server()
    assert ina.connect(ina.start_kernel()).run("print(6 * 7)").strip() == "42"
    assert ina.write("note.txt", "ina's").ok
    assert people["kai"].read("").ok, "the class was not cut"
    act = (
        "p = d.steps[2]; p.name.value = 'Test 1'; p.pick.chosen = ['chamfer-length']; p.make(); m = d.steps[4]; m.mark()\n"
        "print(p.told.widget.value, m.told.widget.value, len(m.files.items), len(d.steps[3].boxes))"
    )
    told = at_the_desk(kernels, act)
    assert re.search("sheets, grid and key are ready.*judged.* 5 1$", told, re.M), told
    assert (machine.folder / "key/sheets/test-1/key/key.html").stat().st_mode & 0o777 == 0o660
    told = at_the_desk(kernels, "p = d.steps[1]; p.pick.value = 'jo-veit'; p.reset()")
    assert "jo-veit has a new first-use password" in told, told
    assert machine.person("jo-veit").sign_in(slips["jo-veit"], "jo-works-here") == "Invalid username or password"
    told = at_the_desk(kernels, "p = d.steps[1]; p.pick.value = 'ina-holm'; p.sure.value = True; p.remove()")
    assert "ina-holm has left" in told, told
    assert "ina-holm" not in machine.accounts()
    assert ina.sign_in("ina-works-here") == "Invalid username or password"
    left = ina.read("note.txt")
    assert left.status_code in (401, 403, 404, 424, 503) or left.url.startswith(f"{machine.url}/hub/login"), left.url
    assert "ina's" not in left.text
    assert "the hub keeps" not in (machine.top / "said.txt").read_text(), "the hub forgets who left"
    at_the_desk(kernels, "p = d.steps[1]; p.pick.value = 'jo-veit'; p.sure.value = True; p.remove()")
    assert machine.accounts() == before
    assert "ina-holm" not in (machine.folder / "key" / "roster.csv").read_text("utf-8-sig")


def test_the_service_of_the_desk_hears_instructors_alone_and_checks_before_it_acts(machine, people, kernels):
    before = machine.accounts()
    socket = next(Path("/run/tapkit/classdesk").glob("*.sock"))
    assert stat.S_IMODE(socket.parent.stat().st_mode) == 0o750
    assert "PermissionError" in afresh(people["kai"]).run(
        f"import socket; socket.socket(socket.AF_UNIX).connect({str(socket)!r})"
    )
    told = at_the_desk(kernels, "import os; os.environ['JUPYTERHUB_API_TOKEN'] = 'x'; d.steps[1].reset()")
    assert "only an instructor" in told
    act = (
        "from tapkit.classroom.office import ask_service\n"
        "for people in ([['ok-one', 'Ok One', ''], ['instructor', 'In Structor', '']], [['../x', 'X', '']], 'x', [['kai', 'Kai', '']]):\n"
        "    try: print(ask_service('enroll', people=people))\n"
        "    except ValueError as error: print('refused:', error)\n"
        "try: ask_service('shell', command='id')\n"
        "except ValueError as error: print('refused:', error)"
    )
    assert afresh(people["instructor"]).run(act).count("refused:") == 5
    assert machine.accounts() == before


def test_run_again_while_it_runs_it_never_cuts_the_class(machine, people, kernels):
    running = machine.hub.pid
    again = machine.once()
    assert again.returncode == 0, again.stderr
    assert "was not touched" in again.stdout
    assert machine.hub.poll() is None
    assert machine.hub.pid == running
    assert afresh(people["kai"]).run("print(40 + 2)").strip() == "42"


def test_a_class_begins_with_nobody_and_no_account_is_made_before_all_is_checked(machine):
    other = machine.top / "other"
    command = [*reachable(), sys.executable, "-m", "tapkit", "hub", str(other), "--proxy", proxy(), "--write-only"]

    def begun(*more):
        return subprocess.run([*command, *more], capture_output=True, text=True, timeout=300, cwd="/")

    taken = begun("--port", str(machine.port))
    assert taken.returncode == 2
    assert "choose another --port, nothing was changed" in taken.stderr
    assert not (other / "hub").exists()
    assert begun("--port", str(machine.port + 30)).returncode == 0
    assert (other / "hub" / "accounts.csv").read_text().startswith("id,account\ninstructor,")
    settings = json.loads((other / "hub" / "settings.json").read_text())
    assert settings["port"] == machine.port + 30
    assert begun().returncode == 0
    assert json.loads((other / "hub" / "settings.json").read_text()) == settings
    assert begun("--erase", "other").returncode == 0
    assert not other.exists()


def test_who_left_can_neither_sign_in_nor_be_found(machine, people):
    before, whole = machine.accounts(), machine.roster.read_text()
    (machine.folder / "learners" / "lea" / "kept.txt").write_text("lea's")
    machine.roster.write_text("".join(line for line in whole.splitlines(True) if not line.startswith("lea")))
    machine.stop()
    machine.start()
    machine.roster.write_text(whole)
    assert "No longer on the roster, so without account and password: lea" in (machine.top / "said.txt").read_text()
    lea = machine.person("lea")
    for password in (machine.password("lea"), "a-new-start"):
        assert lea.sign_in(password) == "Invalid username or password"
    assert "lea" not in machine.accounts()
    assert subprocess.run(["id", before["lea"]], capture_output=True).returncode
    for place in ("learners/lea", "room/answers/lea", "hub/logs/lea.log"):
        assert not (machine.folder / place).exists()
    assert '"lea"' not in (machine.folder / "hub" / "passwords.json").read_text()
    assert "'lea'" not in (machine.folder / "hub" / "jupyterhub_config.py").read_text()
    assert (machine.folder / "marks" / "left" / "lea" / "kept.txt").read_text() == "lea's"


def test_one_comes_back_with_all_work_and_a_new_one_joins_and_nobody_loses_anything(machine, people):
    machine.roster.write_text(machine.roster.read_text() + "uma;Uma Berg\n")
    machine.stop()
    before = {id: (machine.folder / "learners" / id).stat().st_uid for id in ("kai", "noa")}
    machine.start()
    assert set(machine.slips()) == {"lea", "uma"}
    assert (machine.folder / "learners" / "lea" / "kept.txt").read_text() == "lea's"
    assert {id: (machine.folder / "learners" / id).stat().st_uid for id in before} == before
    assert machine.comes("kai").read("note.txt").json()["content"] == "mine"


def test_what_could_not_be_set_up_is_said_at_the_start(machine):
    told = (machine.top / "said.txt").read_text()
    if "usrquota" not in Path("/proc/self/mounts").read_text():
        assert re.search(r"Not set up on this machine: .*disk quotas \(one learner can fill the disk of all\)", told)


def test_an_erased_class_leaves_nothing(machine, people):
    accounts, name = machine.accounts(), machine.folder.name
    refused = machine.once("--erase", name)
    assert refused.returncode == 2
    assert "is running; stop it first" in refused.stderr
    machine.stop()
    served = lambda: [p for p in psutil.process_iter(["cmdline"]) if str(machine.folder) in (p.info["cmdline"] or ())]  # noqa: E731
    assert soon(served, lambda left: left == []) == [], "no service outlives its hub"
    wrong = machine.once("--erase", "another")
    assert wrong.returncode == 2
    assert (machine.folder / "key" / "seed.txt").exists()
    code = class_code((machine.folder / "key" / "seed.txt").read_text().strip())
    done = machine.once("--erase", name)
    assert done.returncode == 0, done.stderr
    assert not Path(f"/run/tapkit/classdesk/{code}.sock").exists()
    assert f"{len(accounts)} accounts" in done.stdout
    assert not machine.folder.exists()
    for account in accounts.values():
        assert subprocess.run(["id", account], capture_output=True).returncode
        assert not (Path("/run/tapkit") / account).exists()
        assert not (Path("/run/tapkit/servers") / account).exists()
