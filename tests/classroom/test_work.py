"""A learner's work shown as a page: nothing in it can act, and what makes the page has no rights."""

import base64
import json
import os
import subprocess
import sys

import pytest

from tapkit.classroom.folder import printable, read_untrusted
from tapkit.classroom.rendering import rendered
from tapkit.classroom.work import files_of, work_page

pytestmark = pytest.mark.skipif(os.name == "nt", reason="links and rights are those of POSIX")
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


def test_what_makes_the_page_can_open_and_write_nothing(tmp_path):
    code = f"""
import os, signal, socket
from tapkit.classroom.rendering import give_up_rights
handle = os.open({str(tmp_path / "open")!r}, os.O_CREAT | os.O_WRONLY)
give_up_rights()
for act in (lambda: open('/etc/passwd'), socket.socket, lambda: os.pipe(), lambda: os.listdir('/'), lambda: os.dup(1)):
    try:
        act()
        print('done')
    except OSError:
        print('refused')
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
try:
    os.write(handle, b'x')
    print('done')
except OSError:
    print('refused')
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert done.stdout.split() == ["refused"] * 6, done.stderr


def test_a_giant_is_refused_and_a_names_odd_signs_are_shown(learners):
    (learners / "kai" / "big.txt").write_bytes(b"x" * (10 * 2**20 + 1))
    with pytest.raises(ValueError, match="more than"):
        read_untrusted(learners / "kai" / "big.txt", 10 * 2**20, beneath=learners)
    assert printable("a\nb") == "a\ufffdb"
