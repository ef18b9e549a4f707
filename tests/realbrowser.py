"""A real Chromium: Debian's, or the one CHROMIUM names. Missing, it is a skip for a person and a failure in CI.

One browser for the whole run. Playwright's loop runs in the main thread as long as the browser does, and no other may
run there meanwhile, so `conftest.py` puts the files that use it behind all others.
"""

import os
import re
import shutil

import pytest
from opening import soon

PLACES = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--enable-unsafe-swiftshader",  # WebGL without a graphics card
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


PATIENCE = 90_000
"""Milliseconds for whatever must come on a page of a busy machine; only a failing test waits so long."""


def patient(make):
    """Pages and contexts made with the limit above."""

    def made(*args, **more):
        one = make(*args, **more)
        one.set_default_timeout(PATIENCE)
        return one

    return made


def find_chromium():
    named = os.environ.get("CHROMIUM")
    return named or next(filter(None, map(shutil.which, PLACES)), None)


@pytest.fixture(scope="session")
def chromium():
    place = find_chromium()
    if place is None:
        missing = "no Chromium here: install Debian's package chromium, or set CHROMIUM to the program"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(missing)
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=PATIENCE)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=place, args=list(FLAGS))
        browser.new_page, browser.new_context = patient(browser.new_page), patient(browser.new_context)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def page(chromium):
    """One page for a module; `page.problems` collects errors of the page itself."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    page.messages = Messages(page)
    page.problems = []
    page.on("pageerror", lambda error: page.problems.append(str(error)))
    page.on("console", lambda said: page.problems.append(said.text) if said.type == "error" else None)
    yield page
    page.close()


class Messages:
    """What a page has sent to its kernels and is not done yet, as the frames of its sockets tell."""

    def __init__(self, page):
        self.waiting = {}
        page.on("websocket", self.hear)
        page.on("domcontentloaded", lambda: self.waiting.clear())  # another page: none of the last one's is waited for

    def hear(self, socket):
        numbers = self.waiting[socket] = {}
        socket.on("framesent", lambda frame: numbers.update(dict.fromkeys(self.numbers(frame)[:1])))
        socket.on("framereceived", lambda frame: self.done(numbers, frame))
        socket.on("close", lambda _: self.waiting.pop(socket, None))

    def done(self, numbers, frame):
        if re.search(r'"execution_state": ?"(autorestarting|restarting|dead)"', text(frame)):
            numbers.clear()  # what that kernel was asked it will never answer
        if re.search(r'"execution_state": ?"idle"', text(frame)):
            for number in self.numbers(frame):
                numbers.pop(number, None)

    def numbers(self, frame):
        """Those of a message, and of the one it answers."""
        return re.findall(r'"msg_id": ?"([^"]+)"', text(frame))


def text(frame):
    return frame if isinstance(frame, str) else frame.decode("utf-8", "replace")


TWO_FRAMES = "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"


def settled(page):
    """Wait until the kernels have done all that the page sent, and the page has drawn what came of it."""

    def left():
        page.evaluate(TWO_FRAMES)
        return sum(map(len, page.messages.waiting.values()))

    soon(left, lambda count: not count and not left(), 30)  # a kernel that was killed leaves some for ever


SETTLED = """async width => {
    const signature = () => [innerWidth, ...[...document.querySelectorAll('.jp-Cell, .jp-Cell img')].map(
        e => { const b = e.getBoundingClientRect(); return `${b.left} ${b.width} ${b.height}` })].join();
    const end = performance.now() + 10000;
    let last = '', frames = 0;
    while ((frames < 10 || innerWidth !== width) && performance.now() < end) {
        await new Promise(requestAnimationFrame);
        const now = signature();
        [frames, last] = [now === last ? frames + 1 : 0, now];
    }
}"""


def resize(page, width, height):
    """Another size of the window, and wait until the cells of the page stay where they are."""
    page.set_viewport_size({"width": width, "height": height})
    page.evaluate(SETTLED, width)
