"""`tapkit open` without a browser: live notebooks, a port for everyone, nothing left behind."""

import contextlib
import os
import re
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request

import nbformat
import psutil
import pytest
from opening import Opened, end, left_of, opened, soon

from tapkit.launch.nbclientinternals import CELL_SECONDS

VIEW = "application/vnd.jupyter.widget-view+json"
BOOK = "03-the-load-on-each-tooth.ipynb"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("learner")


@pytest.fixture(scope="module")
def run(folder):
    with opened(folder, "--workbook", "03") as run:
        yield run


def outputs(notebook):
    return [out for cell in notebook["cells"] for out in cell.get("outputs", [])]


def views(notebook):
    return [out["data"][VIEW]["model_id"] for out in outputs(notebook) if VIEW in out.get("data", {})]


def book(run, path):
    return run.get(f"/api/contents/{path}?type=notebook&content=1")["content"]


def test_the_address_is_of_the_workbook_and_needs_the_token(run):
    assert f"/doc/tree/{BOOK}" in run.address
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(f"http://127.0.0.1:{run.port}/api/contents", timeout=60)
    assert refused.value.code == 403


def test_only_this_machine_can_reach_it(run):
    addresses = {c.laddr.ip for c in psutil.Process(run.process.pid).net_connections("tcp") if c.status == "LISTEN"}
    assert addresses == {"127.0.0.1"}


def test_a_listener_beside_it_is_not_at_the_printed_address(run):
    """Somebody else takes the same port on the other loopback: the printed address still is ours alone."""
    with contextlib.ExitStack() as held:
        with contextlib.suppress(OSError):  # a machine without IPv6
            other = held.enter_context(socket.socket(socket.AF_INET6))
            other.bind(("::1", run.port))
            other.listen()
        assert run.address.startswith(f"http://127.0.0.1:{run.port}/")
        assert run.get("/api/status")["started"]
        with pytest.raises(OSError), socket.socket() as same:  # noqa: PT011 - whatever the system calls it
            same.bind(("127.0.0.1", run.port))


def test_the_workbook_is_live_on_a_kernel_of_its_own(run):
    sessions = [s for s in run.get("/api/sessions") if s["path"] == BOOK]
    assert len(sessions) == 1
    notebook = book(run, BOOK)
    assert views(notebook)
    assert not [out for out in outputs(notebook) if out["output_type"] == "error"]
    assert all(cell["metadata"].get("trusted", True) for cell in notebook["cells"])


def test_asking_again_runs_nothing_again(run):
    assert views(book(run, BOOK)) == views(book(run, BOOK))


def test_any_other_workbook_is_live_when_it_is_opened(run, folder):
    (folder / "my-own.ipynb").write_bytes((folder / BOOK).read_bytes())
    assert views(book(run, "my-own.ipynb"))
    assert views(book(run, "my-own.ipynb")) != views(book(run, BOOK))
    assert [s["path"] for s in run.get("/api/sessions")].count("my-own.ipynb") == 1


def test_a_notebook_without_tapkit_is_not_run(run, folder):
    text = '{"cells": [{"cell_type": "code", "id": "a", "metadata": {}, "source": ["1/0"], "outputs": [], "execution_count": null}], "metadata": {}, "nbformat": 4, "nbformat_minor": 5}'
    (folder / "plain.ipynb").write_text(text, encoding="utf-8")
    assert outputs(book(run, "plain.ipynb")) == []
    assert "plain.ipynb" not in [s["path"] for s in run.get("/api/sessions")]


TALKS_BACK = """
import tapkit, time
from ipywidgets import interact
from IPython.display import Image, display
for _ in range(6):
    interact(lambda size: display(Image(data=bytes(200_000 + size), format="png")), size=(0, 9));
done = time.monotonic()
"""
AND_THEN = "print(time.monotonic() - done)"


def test_a_workbook_whose_widgets_talk_back_while_it_runs(run, folder):
    # a race: with one client for both, a reply was missed in about every third run, and waited for till the cell's time was up
    for number in range(2):
        cells = map(nbformat.v4.new_code_cell, (TALKS_BACK, AND_THEN))
        nbformat.write(nbformat.v4.new_notebook(cells=list(cells)), folder / f"talks-{number}.ipynb")
        found = book(run, f"talks-{number}.ipynb")
        assert len(views(found)) == 6
        assert float(outputs(found)[-1]["text"]) < CELL_SECONDS / 2


def test_a_restarted_kernel_is_made_live_again(run):
    before = views(book(run, BOOK))
    kernel = next(s["kernel"]["id"] for s in run.get("/api/sessions") if s["path"] == BOOK)
    request = urllib.request.Request(f"http://127.0.0.1:{run.port}/api/kernels/{kernel}/restart", method="POST")
    request.add_header("Authorization", f"token {run.token}")
    urllib.request.urlopen(request, timeout=60).close()
    after = views(book(run, BOOK))
    assert after
    assert after != before


def test_a_damaged_notebook_is_an_error_message_not_a_dead_server(run, folder):
    (folder / "damaged.ipynb").write_text("{", encoding="utf-8")
    with pytest.raises(urllib.error.HTTPError):
        book(run, "damaged.ipynb")
    assert views(book(run, BOOK))


@pytest.fixture(scope="module")
def beside(run, folder):
    """One more `open` of the same folder, its wanted port taken, without a screen where that can be; and the port."""
    has_screen = not sys.platform.startswith("linux")
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        more = ["--no-browser"] if has_screen else []
        one = Opened(folder, "--port", str(port), *more, DISPLAY="", WAYLAND_DISPLAY="", BROWSER="")
        try:
            one.wait_for_address()
            yield one, port
        finally:
            end(one)


def test_the_same_folder_twice_is_two_folders(run, beside):
    assert "is open already, so this one works in" in beside[0].said
    assert beside[0].port != run.port


def test_a_taken_port_is_stepped_over(beside):
    one, port = beside
    assert one.port != port


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="a screen can be missing on Linux only")
def test_without_a_screen_it_prints_the_address(beside):
    assert "Open this address in a browser" in beside[0].said


@pytest.mark.skipif(os.name == "nt", reason="POSIX kill; on Windows kernels watch their parent's handle")
def test_kernels_do_not_outlive_a_killed_server(beside):
    family = beside[0].processes()
    assert soon(lambda: kernels_of(beside[0]), bool)
    beside[0].process.kill()
    assert left_of(family) == []


def kernels_of(run):
    """Running kernels of an `open`."""
    with contextlib.suppress(psutil.Error):  # one that has just ended
        return [p for p in run.processes() if "ipykernel_launcher" in " ".join(p.cmdline())]
    return []


def test_ctrl_c_while_it_starts(tmp_path):
    run = Opened(tmp_path / "mine", "--no-browser")
    try:
        run.wait_for("Starting JupyterLab")
        for wait in (0.6, 1.2):
            time.sleep(wait)
            if run.process.poll() is None:
                run.press_ctrl_c()
        run.wait_for_the_end()
        assert "Traceback" not in run.said
    finally:
        end(run)


@pytest.fixture(scope="module")
def shown(run, tmp_path_factory):
    """Another learner's `open`, in a browser that writes down where it was led; and the file that holds it."""
    top = tmp_path_factory.mktemp("second")
    seen, script = top / "seen.txt", top / "browser.py"
    script.write_text(f"import sys; open({str(seen)!r}, 'w').write(sys.argv[1])", encoding="utf-8")
    one = Opened(top / "mine", BROWSER=f"{sys.executable} {script} %s")
    try:
        one.wait_for("open in your browser")
        yield one, seen
    finally:
        end(one)


def test_the_browser_is_led_by_a_page_that_hides_the_token(shown):
    one, seen = shown
    page = one.folder / "open-workbooks.html"
    assert soon(lambda: seen.exists() and seen.read_text().endswith(page.name), bool)
    text = page.read_text(encoding="utf-8")
    assert "/doc/tree/" in text
    assert "token=" in text
    assert "token=" not in one.said
    if os.name != "nt":
        assert page.stat().st_mode & 0o077 == 0


def test_a_second_learner_gets_a_free_port(run, shown):
    text = (shown[0].folder / "open-workbooks.html").read_text(encoding="utf-8")
    shown[0].port, shown[0].token = re.search(r"127\.0\.0\.1:(\d+)/.*?token=(\w+)", text).groups()
    assert int(shown[0].port) != run.port
    assert views(book(shown[0], BOOK))


def test_ctrl_c_ends_everything(shown):
    assert soon(lambda: kernels_of(shown[0]), bool), "the kernel kept ready is starting"
    assert shown[0].stop() == (0, [])
    assert "Traceback" not in shown[0].said
    assert not (shown[0].folder / "open-workbooks.html").exists()


def test_help_starts_nothing():
    shown = subprocess.run(
        [sys.executable, "-m", "tapkit", "open", "--help"], capture_output=True, text=True, timeout=300
    )
    assert shown.returncode == 0
    assert "--no-browser" in shown.stdout
