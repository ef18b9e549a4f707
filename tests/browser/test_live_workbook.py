"""A newcomer's first minute: `tapkit open`, a panel that is live, a key pressed, picture and sentence changed."""

import itertools
import json

import nbformat
import psutil
import pytest
from opening import opened, soon
from panelnames import SPECIFIED
from playwright.sync_api import expect
from realbrowser import resize, settled

BOOK = "03-the-load-on-each-tooth"
START = "12 teeth cut"
"""Begin of the sentence for the controls as they start: a regression value."""


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    with opened(tmp_path_factory.mktemp("learner"), "--workbook", "03") as run:
        yield run


@pytest.fixture
def book(page, run):
    """The workbook on the screen, nothing run by hand, the controls of its first panel where they begin."""
    page.set_viewport_size({"width": 1366, "height": 768})
    if not page.url.startswith(run.address.split("?")[0]):
        page.goto(run.address)
        panel(page).locator("img.tapkit-picture").wait_for()
    panel(page).get_by_role("button", name="Reset").click()
    page.wait_for_function(
        f"() => document.querySelector('.tapkit-panel .tapkit-sentence').innerText.includes({START!r})"
    )
    return page


def panel(page):
    """The load panel, the first of the workbook."""
    return page.locator(".tapkit-panel").first


def slider(page, name):
    return panel(page).get_by_role("slider", name=name)


def sentence(page):
    return panel(page).locator(".tapkit-sentence").inner_text()


def picture(page):
    """The pixels on the screen, as the browser has decoded them."""
    return (
        panel(page)
        .locator("img.tapkit-picture")
        .evaluate(
            """async image => {
            await image.decode();
            const canvas = document.createElement('canvas');
            [canvas.width, canvas.height] = [image.width, image.height];
            const context = canvas.getContext('2d');
            context.drawImage(image, 0, 0, image.width, image.height);
            const bytes = context.getImageData(0, 0, image.width, image.height).data;
            const hash = await crypto.subtle.digest('SHA-256', bytes);
            return Array.from(new Uint8Array(hash)).join('-');
        }"""
        )
    )


def press(page, name, key):
    settled(page)
    slider(page, name).focus()
    before = sentence(page)
    page.keyboard.press(key)
    page.wait_for_function(
        "before => document.querySelector('.tapkit-panel .tapkit-sentence').innerText !== before", arg=before
    )
    settled(page)


def test_live_without_run_all_and_no_code_in_sight(book):
    assert book.title().startswith("03-the-load")
    expect(slider(book, "Chamfer length")).to_have_attribute("aria-valuetext", "4 threads")
    assert "carries the most" in sentence(book)
    assert not book.get_by_text("panels.load()").is_visible()
    assert not book.get_by_text("from tapkit").is_visible()
    assert book.locator(".jp-Dialog, .Toastify__toast").count() == 0
    assert book.problems == []


def test_an_arrow_key_changes_picture_and_sentence(book):
    before, words = picture(book), sentence(book)
    press(book, "Chamfer length", "ArrowLeft")
    expect(slider(book, "Chamfer length")).to_have_attribute("aria-valuetext", "3.75 threads")
    assert sentence(book) != words
    assert picture(book) != before
    press(book, "Chamfer length", "ArrowRight")
    assert sentence(book) == words


def test_the_sentence_is_the_pictures_text(book):
    press(book, "Flutes", "ArrowRight")
    words = panel(book).locator(".tapkit-sentence p").first.inner_text()
    expect(panel(book).locator("img.tapkit-picture")).to_have_attribute("alt", words)
    panel(book).get_by_role("button", name="Reset").click()


def test_what_cannot_be_is_said_over_the_last_good_picture(book):
    slider(book, "Hole diameter").focus()
    book.keyboard.press("Home")
    said = panel(book).locator(".tapkit-problem")
    said.wait_for()
    assert "too small" in said.inner_text()
    assert said.bounding_box()["y"] < 768, "in sight"
    panel(book).get_by_role("button", name="Reset").click()
    said.wait_for(state="detached")


def test_inch_switch(book):
    panel(book).get_by_role("button", name="Inch").click()
    slider(book, "Hole diameter, in").wait_for()
    hole = panel(book).get_by_role("textbox", name="Hole diameter, in")
    expect(hole).to_have_value("0.3346")
    settled(book)  # no stale value comes back
    expect(hole).to_have_value("0.3346")
    expect(slider(book, "Hole diameter, in")).to_have_attribute("aria-valuetext", "0.3346 in")
    panel(book).get_by_role("button", name="Inch").click()
    slider(book, "Hole diameter, mm").wait_for()


def test_what_is_typed_is_read_and_said_or_refused_and_said(book):
    box = panel(book).get_by_role("textbox", name="Hole diameter")
    said = panel(book).locator(".tapkit-row[data-key=hole] .tapkit-told")
    for typed, shown, words in (
        ("8,4", "8.4", "8,4 is read as 8.4 mm"),
        ("R", "8.611", "R is read as 8.611 mm"),
        ("11/32", "8.731", "11/32 is read as 8.731 mm"),
        ("12", "8.731", "12 mm is outside 7.6 mm to 10.15 mm; it stays at 8.731 mm"),
        ("banana", "8.731", "it stays at 8.731 mm"),
    ):
        box.fill(typed)
        book.keyboard.press("Enter")
        expect(said).to_contain_text(words)
        expect(box).to_have_value(shown)
    press(book, "Chamfer length", "ArrowLeft")
    expect(said).to_have_text("")


def test_a_long_list_is_narrowed_by_typing(book):
    thread = panel(book).get_by_role("combobox", name="Thread")
    thread.click()
    options = panel(book).get_by_role("option")
    assert soon(options.count, lambda count: count > 100) > 100
    thread.fill("1/4-28")
    expect(options).to_have_count(1)
    book.keyboard.press("Enter")
    expect(thread).to_have_value("1/4-28 UNF")
    expect(panel(book).locator(".tapkit-problem")).to_have_count(0)
    thread.fill("M10x9")
    book.keyboard.press("Enter")
    expect(panel(book).locator(".tapkit-row[data-key=thread] .tapkit-told")).to_contain_text("stays at 1/4-28 UNF")
    expect(thread).to_have_value("1/4-28 UNF")


def test_another_thread_brings_its_own_hole(book):
    for thread, hole in (("M6x1", "5"), ("M24x3", "21"), ("m10x1,5", "8.5")):
        panel(book).get_by_role("combobox", name="Thread").fill(thread)
        book.keyboard.press("Enter")
        box = panel(book).get_by_role("textbox", name="Hole diameter")
        expect(box).to_have_value(hole)
        settled(book)  # no stale value comes back
        expect(box).to_have_value(hole)
        expect(panel(book).locator(".tapkit-problem")).to_have_count(0)


def test_projector_size_makes_everything_larger(book):
    image = panel(book).locator("img.tapkit-picture")
    size = panel(book).locator(".tapkit-sentence p").first
    before = image.get_attribute("width"), float(size.evaluate("e => parseFloat(getComputedStyle(e).fontSize)"))
    panel(book).get_by_role("button", name="Projector size").click()
    book.wait_for_function(
        "w => +document.querySelector('.tapkit-panel img.tapkit-picture').getAttribute('width') > +w", arg=before[0]
    )
    settled(book)
    assert float(size.evaluate("e => parseFloat(getComputedStyle(e).fontSize)")) >= 1.4 * before[1]
    panel(book).get_by_role("button", name="Projector size").click()


@pytest.mark.parametrize("width", [1366, 1920])
def test_nothing_is_cut_off_or_overlaps(book, width):
    resize(book, width, 768 if width == 1366 else 1080)
    one = panel(book)
    one.evaluate("e => e.scrollIntoView({block: 'start'})")
    parts = one.locator(".tapkit-controls > *, .tapkit-switches > *, img.tapkit-picture, .tapkit-sentence")
    boxes = [parts.nth(i).bounding_box() for i in range(parts.count())]
    assert all(b["x"] >= 0 and b["x"] + b["width"] <= width for b in boxes)
    controls = one.locator(".tapkit-controls > *:not(.tapkit-switches)")
    tops = [controls.nth(i).bounding_box() for i in range(controls.count())]
    assert all(a["y"] + a["height"] <= b["y"] + 1 for a, b in itertools.pairwise(tops))
    rows = one.locator(".tapkit-controls .tapkit-row:visible")
    tops = [rows.nth(i).bounding_box() for i in range(rows.count())]
    assert all(a["y"] + a["height"] <= b["y"] + 1 for a, b in itertools.pairwise(tops))
    labels = one.locator(".tapkit-controls .tapkit-name:visible")
    for i in range(labels.count()):
        assert labels.nth(i).evaluate("e => e.scrollWidth <= e.clientWidth + 1"), labels.nth(i).inner_text()
    image, left = (one.locator(part).bounding_box() for part in ("img.tapkit-picture", ".tapkit-controls"))
    assert image["x"] >= left["x"] + left["width"] - 1


def test_the_still_copy_is_hidden_while_the_panel_lives(book):
    stills = book.locator("figure[class^=tapkit-]")
    assert stills.count() == book.locator(".tapkit-panel").count()
    assert not any(still.is_visible() for still in stills.all())


def test_a_reloaded_page_finds_the_same_panel(book):
    press(book, "Chamfer length", "ArrowLeft")
    words = sentence(book)
    book.reload()
    panel(book).locator("img.tapkit-picture").wait_for()
    expect(slider(book, "Chamfer length")).to_have_attribute("aria-valuetext", "3.75 threads")
    assert soon(lambda: sentence(book), lambda found: found == words) == words


def test_a_panel_that_the_lab_gave_up_is_shown_anew(book):
    shown = panel(book)
    shown.locator("img.tapkit-picture").wait_for()
    before = sentence(book)
    # as the lab leaves it where a busy page stood still while it looked for the panel's state
    shown.evaluate("""e => { const node = e.closest(".jp-OutputArea-output"); node.classList.add("jupyter-widgets");
        node.textContent = "Error displaying widget: model not found"; }""")
    shown.locator("img.tapkit-picture").wait_for()
    expect(book.get_by_text("model not found")).to_have_count(0)
    assert sentence(book) == before


def test_another_workbook_opened_in_the_session_is_live_too(book, run):
    lesson = json.loads(run.read(f"{BOOK}.ipynb"))
    needed = ("from tapkit", "panels.load()")
    lesson["cells"] = [c for c in lesson["cells"] if any(words in "".join(c["source"]) for words in needed)]
    run.write("my-copy.ipynb", json.dumps(lesson).encode())
    book.goto(run.address.replace(f"{BOOK}.ipynb", "my-copy.ipynb"))
    slider(book, "Chamfer length").wait_for()
    press(book, "Chamfer length", "ArrowLeft")


def test_run_all_leaves_every_panel_once_and_live(book):
    panels = book.locator(".tapkit-panel").count()
    book.evaluate("() => document.querySelectorAll('.tapkit-panel').forEach(e => e.dataset.old = '1')")
    book.get_by_role("menuitem", name="Run", exact=True).click()
    book.get_by_text("Run All Cells", exact=True).click()
    book.wait_for_function("() => document.querySelector('.jp-Notebook-ExecutionIndicator[data-status=idle]')")
    expect(book.locator(".tapkit-panel[data-old]")).to_have_count(0)
    settled(book)
    expect(book.locator(".tapkit-panel")).to_have_count(panels)
    expect(slider(book, "Chamfer length")).to_have_attribute("aria-valuetext", "4 threads")
    press(book, "Chamfer length", "ArrowLeft")


def test_what_is_typed_and_left_is_saved(book, run):
    book.keyboard.press("Control+s")
    address = f"/api/contents/{BOOK}.ipynb?type=notebook&content=1"

    def has_figure(notebook):
        return any("figure" in str(cell.get("outputs")) for cell in notebook["content"]["cells"])

    assert has_figure(soon(lambda: run.get(address), has_figure))


POINTED = """() => [...document.querySelectorAll('.tapkit-panel *')].map(e => e.tapkitRound?.scene.pointed).find(n => n >= 0)"""


def test_who_points_at_a_bar_lights_its_tooth_and_its_words(book):
    panel(book).locator(".tapkit-teeth polygon[data-tooth='5']").last.hover()
    assert soon(lambda: book.evaluate(POINTED), lambda tooth: tooth == 5) == 5
    expect(panel(book).locator(".tapkit-tooth-told")).to_contain_text("tooth 5")
    panel(book).locator(".tapkit-teeth").focus()
    book.keyboard.press("Home")
    book.keyboard.press("ArrowRight")
    assert soon(lambda: book.evaluate(POINTED), lambda tooth: tooth == 2) == 2
    book.keyboard.press("Escape")
    assert soon(lambda: book.evaluate(POINTED), lambda tooth: tooth == 0) == 0


FOCUSED = """() => { const e = document.activeElement, name = e.getAttribute('aria-label') || e.title || e.textContent;
    return `${e.tagName} ${e.getAttribute('role') || ''} ${name.trim().slice(0, 40)}`; }"""


def tab_to(page, wanted):
    for _ in range(120):
        page.keyboard.press("Tab")
        if wanted in page.evaluate(FOCUSED):
            return
    raise AssertionError(f"the Tab key never came to {wanted!r}")


def test_everything_is_reached_and_moved_by_the_keyboard_alone(book, run):
    book.goto(run.address)
    panel(book).locator("img.tapkit-picture").wait_for()
    settled(book)
    tab_to(book, "INPUT  Chamfer length")
    before = sentence(book)
    book.keyboard.press("ArrowRight")
    book.wait_for_function(
        "before => document.querySelector('.tapkit-panel .tapkit-sentence').innerText !== before", arg=before
    )
    for wanted in (
        "INPUT  Hole diameter, mm =",
        "SUMMARY  More",
        "BUTTON  Everything back to where it began",
        "BUTTON  Show inch units",
        "BUTTON  Check",
    ):
        tab_to(book, wanted)


def test_a_kernel_that_is_killed_is_told_and_the_page_loads_live_again(book, run):
    book.goto(run.address)
    panel(book).locator("img.tapkit-picture").wait_for()
    settled(book)
    kernel = next(s["kernel"]["id"] for s in run.get("/api/sessions") if s["path"].startswith(BOOK))
    found = [p for p in psutil.Process(run.process.pid).children(recursive=True) if kernel in " ".join(p.cmdline())]
    found[0].kill()
    told = book.locator(".tapkit-ended")
    told.wait_for()
    assert "Answers that were checked are kept" in told.inner_text()
    with book.expect_navigation():
        told.get_by_role("button", name="Load the page again").click()
    panel(book).locator("img.tapkit-picture").wait_for()
    settled(book)
    before = sentence(book)
    slider(book, "Chamfer length").focus()
    book.keyboard.press("ArrowRight")
    book.wait_for_function(
        "before => document.querySelector('.tapkit-panel .tapkit-sentence').innerText !== before", arg=before
    )


# --- every panel at every size ----------------------------------------------------------------------

SIZES = {"laptop": (1366, 768), "small laptop": (1280, 720), "at 200 %": (683, 384), "800 wide": (800, 700), "tablet": (768, 1024)}  # fmt: skip
APART = """async () => {
    const frames = () => new Promise(r => requestAnimationFrame(() => requestAnimationFrame(() => requestAnimationFrame(r))));
    const panels = [...document.querySelectorAll('.tapkit-panel')], found = [];
    const window_ = panels[0].closest('.jp-WindowedPanel-outer').getBoundingClientRect();
    for (const [i, panel] of panels.entries()) {
        const wide = (e) => e.getBoundingClientRect().width;
        const [picture] = [...panel.querySelectorAll('.tapkit-view :is(.tapkit-round-view, img.tapkit-picture, .tapkit-photo)')]
            .sort((a, b) => wide(b) - wide(a));
        const open = [...panel.querySelector('.tapkit-moves > .tapkit-group, .tapkit-moves > details[open]').children];
        for (const row of open.filter(r => r.matches('.tapkit-row') && r.checkVisibility())) {
            const control = row.querySelector('input, select');
            control.focus();
            await frames();
            const [p, c] = [picture, control].map(e => e.getBoundingClientRect());
            const seen = (Math.min(p.bottom, window_.bottom) - Math.max(p.top, window_.top)) / p.height;
            const hit = document.elementFromPoint(c.left + Math.min(c.width / 2, 30), c.top + c.height / 2);
            if (!row.contains(hit) || seen < 0.98 || Math.max(p.width, p.height) < 0.45 * Math.min(innerWidth, innerHeight))
                found.push([i, row.dataset.key, row.contains(hit) || `behind ${hit?.className}`, +seen.toFixed(2), p.width, p.height]);
        }
    }
    return found;
}"""
"""In the page: controls that, reached by key, are not in sight together with the whole picture, and not a mere stamp of it."""


@pytest.fixture(scope="module")
def everything(page, run):
    """One page with every panel on it, and their names."""
    names = [*SPECIFIED, "bench"]
    source = [nbformat.v4.new_code_cell(f"from tapkit import panels\npanels.{name}().widget") for name in names]
    run.write("everything.ipynb", nbformat.writes(nbformat.v4.new_notebook(cells=source)).encode())
    page.goto(run.address.replace(f"{BOOK}.ipynb", "everything.ipynb"))
    there = (
        "n => [...document.querySelectorAll('.tapkit-panel')].filter(p => p.querySelector('.tapkit-row')).length >= n"
    )
    page.wait_for_function(there, arg=len(names), timeout=180_000)
    pictures = (
        "[...document.querySelectorAll('.tapkit-view img.tapkit-picture')].every(i => i.complete && i.naturalWidth)"
    )
    page.wait_for_function(pictures)
    return names


@pytest.mark.parametrize("size", SIZES)
def test_the_picture_and_the_control_in_use_are_both_in_sight(page, everything, size):
    resize(page, *SIZES[size])
    found = page.evaluate(APART)
    assert [(everything[i], *rest) for i, *rest in found] == []
