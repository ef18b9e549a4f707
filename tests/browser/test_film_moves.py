"""The film of the cut in a real JupyterLab: live, without messages or kernel; and its still where nothing is trusted."""

import contextlib
import os
import re
import socket
import subprocess
import sys
import urllib.request

import nbformat
import pytest
from opening import ended, soon
from playwright.sync_api import expect
from realbrowser import Messages, settled

from tapkit.panels.chips import chips


@pytest.fixture(scope="module")
def lab(tmp_path_factory):
    """A JupyterLab on an empty folder; gives its address and the folder."""
    folder = tmp_path_factory.mktemp("lab")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    own = {f"JUPYTER_{k}_DIR": str(folder / k.lower()) for k in ("DATA", "CONFIG", "RUNTIME")}
    command = [sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", f"--ServerApp.root_dir={folder}"]
    command += [f"--ServerApp.port={port}", "--IdentityProvider.token=", "--ServerApp.password="]
    with (folder / "log").open("w") as log:
        server = subprocess.Popen(command, env=os.environ | own, stdout=log, stderr=subprocess.STDOUT)
    address = f"http://127.0.0.1:{port}"
    try:
        assert soon(lambda: _answers(address + "/api"), bool), f"nothing answers at {address}"
        yield address, folder
    finally:
        ended(server)


def _answers(address):
    with contextlib.suppress(OSError):
        return urllib.request.urlopen(address, timeout=5).status


def _opened(chromium, lab, name, *cells):
    address, folder = lab
    notebook = nbformat.v4.new_notebook(cells=list(cells))
    notebook.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3", "language": "python"}
    nbformat.write(notebook, folder / f"{name}.ipynb")
    page = chromium.new_page(viewport={"width": 1366, "height": 900})
    page.messages = Messages(page)
    page.goto(f"{address}/lab/tree/{name}.ipynb?reset")
    return page


def test_a_notebook_that_is_not_trusted_shows_the_still_with_its_words(chromium, lab):
    out = nbformat.v4.new_output("display_data", {"text/html": chips().still(), "text/plain": "chips"})
    cell = nbformat.v4.new_code_cell("panels.chips()", outputs=[out], execution_count=1)
    page = _opened(chromium, lab, "foreign", cell)
    try:
        picture = page.locator(".jp-OutputArea-output figure img").first
        picture.wait_for()
        assert page.locator(".jp-OutputArea-output :is(style, svg, iframe)").count() == 0, "it was cleaned"
        assert picture.evaluate("e => e.complete && e.naturalWidth > 800")
        assert "ahead of the point" in picture.get_attribute("alt")
    finally:
        page.close()


def test_a_live_film_runs_without_a_message_and_stops_without_a_kernel(chromium, lab):
    asleep = lab[1] / "asleep"
    asleep.touch()
    sleep = "import os, time\nwhile os.path.exists('asleep'): time.sleep(0.1)"
    cells = ("from tapkit import panels\npanels.chips()", sleep)
    page = _opened(chromium, lab, "live", *map(nbformat.v4.new_code_cell, cells))
    messages = []
    page.on("websocket", lambda socket: socket.on("framereceived", lambda frame: messages.append(frame)))
    try:
        page.reload()  # so that its sockets are heard
        _run_first_cell(page)
        settled(page)
        expect(page.locator(".jp-OutputArea-output figure")).to_be_hidden()  # the saved picture beside the live one
        page.locator("button:text-is('Inch')").click()
        expect(page.locator(".tapkit-round-axes")).to_contain_text("in·lbf")  # its chart, too
        settled(page)
        heard = len(messages)
        runs(page)
        assert not [m for m in messages[heard:] if _is_of_a_widget(m)]
        page.locator(".jp-CodeCell .cm-content").nth(1).click()
        page.keyboard.press("Control+Enter")  # now the kernel sleeps and answers nothing
        expect(page.locator(".jp-InputPrompt").nth(1)).to_have_text("[*]:")
        page.get_by_role("button", name="Stop").press("Space")
        before = page.evaluate(DEPTH)
        page.wait_for_timeout(700)
        assert page.evaluate(DEPTH) == before
        page.get_by_role("button", name="Play").press("Space")
        runs(page)
        assert page.locator(".jp-InputPrompt").nth(1).inner_text().strip() == "[*]:", "it still sleeps"
    finally:
        asleep.unlink()
        page.close()


DEPTH = """[...document.querySelectorAll('.tapkit-chips *')].find(e => e.tapkitRound).tapkitRound.scene.film.depth"""


def runs(page):
    """Wait until the film has gone on."""
    page.wait_for_function(f"before => {DEPTH} !== before", arg=page.evaluate(DEPTH))


def _run_first_cell(page):
    """Run it, again if the kernel was not there yet, until it has its number."""

    def number():
        page.locator(".jp-CodeCell .cm-content").first.click()
        page.keyboard.press("Control+Enter")
        with contextlib.suppress(AssertionError):
            expect(page.locator(".jp-InputPrompt").first).to_have_text(re.compile(r"[\d*]"), timeout=2000)
            expect(page.locator(".jp-InputPrompt").first).to_have_text(re.compile(r"\d"), timeout=20_000)
        return page.locator(".jp-InputPrompt").first.inner_text()

    assert re.search(r"\d", soon(number, re.compile(r"\d").search))
    page.locator(".tapkit-chips canvas").first.wait_for()


def _is_of_a_widget(message):
    text = message if isinstance(message, str) else message.decode("utf-8", "replace")
    return "comm_msg" in text
