"""The four ways to look at a workbook, in a real Chromium: `tapkit open`, plain JupyterLab, an HTML export, paper.

And our part of the page by the rules of axe-core (WCAG A and AA): no serious and no critical finding.
"""

import contextlib
import importlib.resources
import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request

import nbformat
import panelnames
import psutil
import pytest
import requests
from nbconvert import HTMLExporter
from notebooks import BOOKS, FOLDER, cells
from opening import SECONDS, ended, opened, soon
from playwright.sync_api import Error
from realbrowser import resize, settled

pytestmark = pytest.mark.browser
each_book = pytest.mark.parametrize("book", BOOKS, ids=lambda b: b.stem)

WIDGETS = {*panelnames.LIVE} - {"lesson_room"}
"""Calls that show something live; the others show text or a picture, and a room without a class nothing."""
AXE = """async () => {
    const found = await axe.run({include: [['.jp-Notebook .jp-Cell-outputArea']]},
        {resultTypes: ['violations'], runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa']});
    return found.violations.filter(v => ['serious', 'critical'].includes(v.impact))
        .map(v => `${v.impact} ${v.id}: ${v.nodes.slice(0, 3).map(n => n.html.slice(0, 200) + n.failureSummary.slice(0, 200)).join(' // ')}`);
}"""


CUT_OFF = """() => [...document.querySelectorAll(`.jp-Cell-outputArea :is(img, svg, button, select, .noUi-target,
    .widget-readout, .tapkit-sentence, input)`)].filter(e => e.offsetParent && e.getBoundingClientRect().right >
    innerWidth + 1).map(e => e.outerHTML.slice(0, 120))"""
"""What runs out of the window to the right."""
NAMELESS = """() => [...document.querySelectorAll(`.jp-Cell-outputArea :is(.noUi-handle, select, button,
    input:not([type=hidden]))`)].filter(e => e.offsetParent && !(e.labels && [...e.labels].some(l => l.textContent.trim()))
    && !e.textContent.trim() && !e.getAttribute('aria-label') && !e.title).map(e => e.outerHTML.slice(0, 150))"""
"""Controls that a screen reader has no name for."""


def calls(book):
    """Names of the panels a workbook calls, in order."""
    return re.findall(r"panels\.(\w+)\(", "\n".join(c.source for c in cells(book, "code")))


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    with opened(tmp_path_factory.mktemp("learner"), "--workbook", "00", "--instructor") as run:
        yield run


def show(page, run, book):
    """A workbook opened as from the list of files, nothing run by hand."""
    page.set_viewport_size({"width": 1366, "height": 768})
    page.problems.clear()
    page.goto(f"http://127.0.0.1:{run.port}/doc/tree/{book.name}?token={run.token}")
    wait_until_live(page, book)
    return page


def live(page):
    """How many of the workbook's cells show a live widget."""
    return page.locator(".jp-OutputArea:has(.jupyter-widgets, .tapkit-notes)").count()


def cut_off(page, wanted=0):
    """What is cut off in a window as narrow as one of 1366 pixels offers at 200 %, once the page has laid itself out:
    as soon as there are `wanted`, or after ten seconds."""
    resize(page, 683, 768)
    return soon(lambda: page.evaluate(CUT_OFF), lambda found: len(found) == wanted)


def wait_until_live(page, book):
    wanted = sum(name in WIDGETS for name in calls(book))
    count = "n => document.querySelectorAll('.jp-OutputArea:has(.jupyter-widgets, .tapkit-notes)').length >= n"
    page.wait_for_function(count, arg=wanted)
    page.locator(".jp-OutputArea-output").first.wait_for()
    resize(page, 1366, 768)
    assert soon(lambda: live(page), lambda count: count == wanted) == wanted


def findings(page):
    """Serious and critical findings of axe-core; the window is as high as the workbook, as contrast is judged only
    where something is in sight."""
    height = page.locator(".jp-WindowedPanel-outer").first.evaluate("e => e.scrollHeight")
    page.evaluate("document.body.style.overflow = 'visible'")  # its body has no height: axe would see nothing of it
    resize(page, 1366, height + 200)
    script = importlib.resources.files("axe_playwright_python") / "axe.min.js"
    page.evaluate(script.read_text(encoding="utf-8"))
    return page.evaluate(AXE)


def errors(page):
    return page.locator(
        "[data-mime-type='application/vnd.jupyter.stderr'], [data-mime-type*='error']"
    ).all_inner_texts()


@each_book
def test_opened_everything_is_live_and_open_to_everyone(page, run, book):
    show(page, run, book)
    assert errors(page) == []
    assert page.problems == []
    assert page.locator(".jp-InputArea-editor:visible").count() == 0, "no code in sight"
    assert findings(page) == []
    assert page.evaluate(NAMELESS) == []
    assert cut_off(page) == []


def test_the_checks_would_find_what_is_wrong(page, run):
    """What has no name or is cut off; a picture without a text and grey words on grey."""
    show(page, run, FOLDER / "glossary.ipynb")
    add = "bad => document.querySelector('.tk-text').insertAdjacentHTML('beforeend', bad)"
    page.evaluate(add, "<button style='margin-left:1300px'></button><button style='margin-left:1300px'>x</button>")
    assert len(page.evaluate(NAMELESS)) == 1
    page.evaluate(add, "<img src='data:,' width=9><p style='color:#999;background:#aaa'>pale</p><input>")
    told = " ".join(findings(page))
    assert all(rule in told for rule in ("image-alt", "color-contrast", "label"))
    found = cut_off(page, 2)
    assert ["margin-left:1300px" in e for e in found] == [True, True], found


def test_the_bench_keeps_its_pictures_in_sight_until_asked_not_to(page, run):
    show(page, run, FOLDER / "bench.ipynb")
    bench = page.locator(".tapkit-bench").first
    picture = bench.locator(".tapkit-view .tapkit-picture")
    last = bench.get_by_text("Assumptions").first

    def is_in_sight():
        last.scroll_into_view_if_needed()
        page.wait_for_timeout(300)
        box = picture.bounding_box()
        return box["y"] > 0 and box["y"] + box["height"] < 768

    assert soon(is_in_sight, bool)
    bench.get_by_role("button", name="Keep pictures in sight").click()
    assert not soon(is_in_sight, lambda found: not found)


def test_a_word_leads_to_its_row(page, run):
    show(page, run, FOLDER / "glossary.ipynb")
    show(page, run, FOLDER / "01-reading-a-tap.ipynb")
    page.locator(".jp-RenderedMarkdown a", has_text="lands").first.click()
    row = page.locator("#land")
    row.wait_for()
    page.wait_for_function("() => { const r = document.getElementById('land').getBoundingClientRect(); "
                           "return r.top > 0 && r.top < innerHeight }")  # fmt: skip
    page.locator("a[href='#picture-tip']").first.click()
    page.wait_for_function("() => document.getElementById('picture-tip').getBoundingClientRect().top < innerHeight")
    assert page.locator("#picture-tip + figure img").evaluate("e => e.complete && e.naturalWidth > 500")


# --- plain JupyterLab ---------------------------------------------------------------------------------------


@pytest.fixture(scope="module", params=["jupyterlab", "notebook"])
def plain(request, tmp_path_factory):
    """JupyterLab and Notebook 7 as they come, on a folder with the workbooks: its kind and address."""
    folder = tmp_path_factory.mktemp(request.param)
    for book in BOOKS:
        shutil.copy(book, folder)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    own = {f"JUPYTER_{k}_DIR": str(folder / ".own" / k.lower()) for k in ("CONFIG", "RUNTIME")}
    own |= {"JUPYTERLAB_SETTINGS_DIR": str(folder / ".own" / "settings")}
    command = [sys.executable, "-m", request.param, "--no-browser", "--allow-root", f"--ServerApp.root_dir={folder}"]
    command += [f"--ServerApp.port={port}", "--IdentityProvider.token=", "--LabApp.news_url=None"]
    with open(folder / "log.txt", "w", encoding="utf-8") as log:
        server = subprocess.Popen(command, env={**os.environ, **own}, stdout=log, stderr=log)
    try:
        yield request.param, f"http://localhost:{port}"
    finally:
        ended(server)


def wait_for_server(address):
    end = time.monotonic() + SECONDS
    while time.monotonic() < end:
        with contextlib.suppress(OSError), urllib.request.urlopen(f"{address}/api", timeout=5):
            return
        time.sleep(0.5)
    raise AssertionError("JupyterLab did not start")


def run_all(page):
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_text("Run All Cells", exact=True).click()


def test_plain_jupyterlab_and_notebook_need_one_run_all(page, plain):
    kind, address = plain
    wait_for_server(address)
    book = FOLDER / "03-the-load-on-each-tooth.ipynb"
    page.set_viewport_size({"width": 1366, "height": 768})
    page.goto(f"{address}/{'doc/tree' if kind == 'jupyterlab' else 'notebooks'}/{book.name}")
    which = page.get_by_role("button", name="Select Kernel")
    assert soon(lambda: which.is_visible() or sessions(address), bool)
    if which.is_visible():
        which.click()
    run_all(page)
    page.locator(".tapkit-panel").first.wait_for()
    page.locator(".tapkit-panel").nth(1).wait_for()
    assert errors(page) == []
    sentence = page.locator(".tapkit-sentence").first
    before = sentence.inner_text()
    page.locator(".tapkit-panel .tapkit-range").first.focus()
    page.keyboard.press("ArrowLeft")
    page.wait_for_function(
        "before => document.querySelector('.tapkit-panel .tapkit-sentence').innerText !== before", arg=before
    )
    assert soon(lambda: page.evaluate(NAMELESS), lambda found: found == []) == []
    kernel = sessions(address)[0]["kernel"]["id"]
    [running] = [p for p in psutil.process_iter() if kernel in " ".join(command_of(p))]
    running.kill()
    told = page.locator(".tapkit-ended")
    told.wait_for()
    assert "Run All Cells" in told.inner_text()
    page.get_by_role("button", name="Ok", exact=True).click()  # JupyterLab's own word that the kernel starts again
    told.get_by_role("button", name="Close").click()
    again = soon(lambda: sessions(address)[0]["kernel"], is_idle)
    assert is_idle(again)
    run_all(page)
    settled(page)  # a key pressed on a panel that is just being replaced is lost
    assert soon(lambda: answers_a_key(page), bool)


def sessions(address):
    return requests.get(f"{address}/api/sessions", timeout=SECONDS).json()


def is_idle(kernel):
    return kernel["execution_state"] == "idle"


def answers_a_key(page):
    sentence = page.locator(".tapkit-sentence").first
    with contextlib.suppress(Error):  # the panel is being put in place
        before = sentence.inner_text(timeout=10_000)
        page.locator(".tapkit-panel .tapkit-range").first.focus(timeout=10_000)
        page.keyboard.press("ArrowLeft")
        changed = "before => document.querySelector('.tapkit-sentence').innerText !== before"
        page.wait_for_function(changed, arg=before, timeout=10_000)
        return True
    return False


def command_of(process):
    try:
        return process.cmdline()
    except psutil.Error:
        return []


# --- exported and printed -----------------------------------------------------------------------------------


@pytest.fixture
def offline(chromium):
    """A page that can load nothing from anywhere."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    page.route("**/*", lambda r: r.continue_() if r.request.url.startswith(("file:", "data:")) else r.abort())
    yield page
    page.close()


def exported(page, run, book, folder):
    """The learner's copy, as `tapkit open` has run it, by nbconvert."""
    if b'"outputs": [\n    {' not in run.read(book.name):  # not opened yet
        show(page, run, book)
    notebook = nbformat.reads(run.read(book.name).decode(), as_version=4)
    place = folder / f"{book.stem}.html"
    place.write_text(HTMLExporter().from_notebook_node(notebook)[0], encoding="utf-8")
    return place, notebook


@each_book
def test_an_export_shows_every_panel_and_prints(page, run, offline, book, tmp_path):
    place, notebook = exported(page, run, book, tmp_path)
    offline.goto(place.as_uri())
    code = [c for c in notebook.cells if c.cell_type == "code" and c.source.startswith("panels.")]
    shown = offline.locator(".jp-CodeCell:has(.jp-OutputArea-output)")
    heights = shown.evaluate_all("all => all.map(e => e.getBoundingClientRect().height)")
    assert len(heights) == len(code)
    flat = {c.source for c, height in zip(code, heights) if height <= 18}
    assert flat <= {c.source for c in code if "lesson_room" in c.source}, "no empty box but the room of no class"
    assert offline.locator(".jp-InputArea-editor:visible").count() == 0
    pictures = offline.locator("img:visible")
    assert pictures.evaluate_all("all => all.filter(i => !i.alt || !i.complete || !i.naturalWidth).length") == 0
    for name in set(calls(book)) & {
        "tip",
        "load",
        "groove",
        "section",
        "hole",
        "wrench",
        "askew",
        "lean",
        "thread_strength",
        "drills",
        "bench",
        "choice",
    }:
        cell = shown.nth([c.source.startswith(f"panels.{name}(") for c in code].index(True))
        assert cell.locator("img:visible, iframe:visible").count() >= 1, name
        assert len(cell.inner_text()) > 40, f"{name} has its sentence"
    check_paper(offline, tmp_path / "paper.pdf")


def check_paper(page, place):
    """On paper nothing is wider than the sheet, and no picture is higher."""
    page.set_viewport_size({"width": 718, "height": 1046})  # A4 less margins of 1 cm, in CSS pixels
    page.emulate_media(media="print")
    page.pdf(path=str(place), format="A4", margin=dict.fromkeys(("top", "bottom", "left", "right"), "1cm"))
    assert place.stat().st_size > 10_000
    wide = page.locator("img:visible, table:visible, .tapkit-quiz:visible").evaluate_all(
        "all => all.filter(e => e.getBoundingClientRect().right > 719 || (e.tagName === 'IMG' && "
        "e.getBoundingClientRect().height > 1046)).map(e => e.outerHTML.slice(0, 100))"
    )
    assert wide == []


def test_the_film_plays_in_an_export_and_stops_by_a_key(page, run, offline, tmp_path):
    book = FOLDER / "02-where-the-chips-go.ipynb"
    offline.goto(exported(page, run, book, tmp_path)[0].as_uri())
    asked = offline.locator("figure iframe").first
    asked.scroll_into_view_if_needed()
    key = asked.content_frame.get_by_role("button", name="Side").bounding_box()
    box = asked.bounding_box()
    assert key["y"] + key["height"] <= box["y"] + box["height"], "a scene without its film fits its frame too"
    frame = offline.locator("figure:has(iframe)").last
    frame.scroll_into_view_if_needed()
    film = frame.frame_locator("iframe")
    film.get_by_role("button", name="Stop").press("Enter")
    depth = film.get_by_role("slider", name="Depth of the point")
    before = float(depth.input_value())
    film.get_by_role("button", name="One turn on").press("Enter")
    assert float(depth.input_value()) > before
