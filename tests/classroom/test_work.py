"""A learner's work shown as a page: nothing in it can act, and what makes the page has no rights."""

import base64
import json
import os
import subprocess
import sys

import pytest

from tapkit.classroom import work
from tapkit.classroom.folder import printable, read_untrusted
from tapkit.classroom.rendering import rendered
from tapkit.classroom.work import files_of, work_page

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="what makes the page has its rights taken by Linux")
PNG = base64.b64encode(b"\x89PNG\r\n\x1a\n....").decode()


def notebook(**output):
    outputs = [dict(output_type="display_data", data=output, metadata={})]
    cell = dict(cell_type="code", metadata={}, outputs=outputs, source="<script>act()</script>\ud800")
    return json.dumps(dict(cells=[cell], metadata={}, nbformat=4, nbformat_minor=5)).encode()


@pytest.fixture
def learners(tmp_path):
    (tmp_path / "learners" / "kai" / "workbooks").mkdir(parents=True)
    return tmp_path / "learners"


def test_text_and_pictures_are_shown_and_nothing_that_acts(learners):
    data = notebook(**{"image/png": PNG, "text/html": "<script>act()</script>", "image/svg+xml": "<svg onload=act()>"})
    (learners / "kai" / "workbooks" / "a.ipynb").write_bytes(data)
    page = work_page(learners, "kai", "workbooks/a.ipynb")
    assert f"data:image/png;base64,{PNG}" in page
    assert "&lt;script&gt;act()" in page
    assert "<script" not in page
    assert "<svg" not in page


@pytest.mark.parametrize(
    "data",
    [
        b"", b"[" * 200_000, b"{\"cells\": 3}", b"{\"cells\": [3]}", b"\xff\xfe\x00", b"{\"cells\": [{\"source\": {\"a\": 1}}]}",
        notebook(**{"image/png": "javascript:act()"}), notebook(**{"image/png": [1, 2]}), notebook(**{"text/plain": None}),
    ],
)  # fmt: skip
def test_what_is_no_notebook_is_shown_as_it_stands(data):
    page = rendered(data, "x.ipynb", "kai")
    assert page.endswith(b"</html>\n")
    assert b"javascript:" not in page


def test_links_and_what_lies_elsewhere_are_not_read(learners):
    secret = learners.parent / "key"
    secret.mkdir()
    (secret / "seed.txt").write_text("secret")
    (learners / "kai" / "workbooks" / "seed.txt").symlink_to(secret / "seed.txt")
    (learners / "kai" / "folder").symlink_to(secret)
    os.mkfifo(learners / "kai" / "pipe.txt")
    for name in ("workbooks/seed.txt", "folder/seed.txt", "../../key/seed.txt", "pipe.txt"):
        with pytest.raises(ValueError, match="nothing was read"):
            work_page(learners, "kai", name)
    assert files_of(learners, "kai") == ["pipe.txt"]


ATTACKS = """
import ctypes, os, resource, shutil, signal, socket, sys
from pathlib import Path
from tapkit.classroom.rendering import give_up_rights
place, kernel = Path(sys.argv[1]), ctypes.CDLL(None, use_errno=True)
handle = os.open(place / "open", os.O_CREAT | os.O_WRONLY)
line = socket.socket()
piece = ctypes.create_string_buffer(8)
def call(name, *given):
    if getattr(kernel, name)(*given) < 0:
        raise OSError(ctypes.get_errno(), "")
def raw(number, *given):
    call("syscall", number, *given)
def ran(program):
    try:
        os.execv(program, [program])
    except OSError as error:
        raise OSError(error.errno, "") from None
ways = {
    "read the class seed": lambda: open(place / "seed.txt").read(),
    "list a folder": lambda: os.listdir(place),
    "look at a file": lambda: os.stat(place / "seed.txt"),
    "write a file": lambda: open(place / "new", "w"),
    "write to an open file": lambda: os.write(handle, b"x"),
    "empty an open file": lambda: os.ftruncate(handle, 0),
    "erase": lambda: os.unlink(place / "seed.txt"),
    "rename": lambda: os.rename(place / "seed.txt", place / "x"),
    "open to all": lambda: os.chmod(place / "seed.txt", 0o777),
    "make a folder": lambda: os.mkdir(place / "folder"),
    "link": lambda: os.symlink("x", place / "link"),
    "connect": lambda: line.connect(("127.0.0.1", 9)),
    "a socket": lambda: socket.socket(socket.AF_UNIX),
    "two sockets": socket.socketpair,
    "a pipe": os.pipe,
    "double a handle": lambda: os.dup(1),
    "fork": os.fork,
    "run a program": lambda: ran("/bin/true"),
    "signal its starter": lambda: os.kill(os.getppid(), 0),
    "watch its starter": lambda: call("ptrace", 16, os.getppid(), None, None),
    "read another's memory": lambda: call("process_vm_readv", os.getppid(), piece, 1, piece, 1, 0),
    "more files": lambda: resource.setrlimit(resource.RLIMIT_NOFILE, (1, 1)),
    "another account": lambda: os.setuid(0),
    "a namespace": lambda: call("unshare", 0x10000000),
    "shared memory": lambda: call("shmget", 1, 4096, 0o1666),
    "memory as a file": lambda: os.memfd_create("x"),
    "a watch on events": lambda: raw(425, 1, piece),
    "go elsewhere": lambda: os.chdir("/"),
}
give_up_rights()
told = []
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
for name, act in ways.items():
    try:
        act()
        told.append(name + ": done")
    except (OSError, ValueError):
        told.append(name + ": refused")
sys.stdout.write("\\n".join(told))
"""


def test_what_makes_the_page_can_open_write_start_and_reach_nothing(tmp_path):
    (tmp_path / "seed.txt").write_text("the seed")
    done = subprocess.run([sys.executable, "-c", ATTACKS, str(tmp_path)], capture_output=True, text=True, timeout=300)
    told = dict(line.split(": ") for line in done.stdout.splitlines())
    assert len(told) == 28, done.stderr
    assert set(told.values()) == {"refused"}, told
    assert sorted(p.name for p in tmp_path.iterdir()) == ["open", "seed.txt"]


def test_where_rights_cannot_be_given_up_nothing_is_shown(learners, monkeypatch):
    (learners / "kai" / "a.txt").write_text("x")
    assert "a.txt" in work_page(learners, "kai", "a.txt")
    old = "import platform; platform.machine = lambda: 'sparc'; "
    monkeypatch.setattr(work, "START", old + work.START)
    with pytest.raises(ValueError, match="nothing is shown"):
        work_page(learners, "kai", "a.txt")


def test_a_giant_is_refused_and_a_names_odd_signs_are_shown(learners):
    (learners / "kai" / "big.txt").write_bytes(b"x" * (10 * 2**20 + 1))
    with pytest.raises(ValueError, match="more than"):
        read_untrusted(learners / "kai" / "big.txt", 10 * 2**20, beneath=learners)
    assert printable("a\nb") == "a\ufffdb"
