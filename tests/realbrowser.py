"""A real Chromium: Debian's, or the one CHROMIUM names. Missing, it is a skip for a person and a failure in CI.

One browser for the whole run. Playwright's loop runs in the main thread as long as the browser does, and no other may
run there meanwhile, so `conftest.py` puts the files that use it behind all others.
"""

import os
import shutil

import pytest

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


def find_chromium():
    named = os.environ.get("CHROMIUM")
    return named or next(filter(None, map(shutil.which, PLACES)), None)


@pytest.fixture(scope="session")
def chromium():
    place = find_chromium()
    if place is None:
        missing = "no Chromium here: install Debian's package chromium, or set CHROMIUM to the program"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(missing)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=place, args=list(FLAGS))
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def page(chromium):
    """One page for a module; `page.problems` collects errors of the page itself."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    page.set_default_timeout(60_000)
    page.problems = []
    page.on("pageerror", lambda error: page.problems.append(str(error)))
    page.on("console", lambda said: page.problems.append(said.text) if said.type == "error" else None)
    yield page
    page.close()


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
