"""Ordinary hands at a lesson: keys, double clicks, notes, a lesson given anew. Nothing comes apart, nothing is lost."""

import json
import os

import pytest
from opening import opened, soon
from playwright.sync_api import expect

from tapkit.launch import seal

BOOK = "03-the-load-on-each-tooth.ipynb"
CELLS = """() => [...document.querySelectorAll('.jp-Notebook .jp-Cell')].map(e => [e.classList.contains('jp-CodeCell'),
    e.querySelectorAll('.jp-OutputArea-output').length, e.querySelector('.jp-MarkdownOutput')?.innerText.replaceAll('¶', '')])"""
KEYS = [*"abcdefghijklmnopqrstuvwxyz0123456789", *"dxmrycvz", "00", "ii", "dd", "Delete", "Backspace", "Enter", "Space"]
"""Two-key commands are two presses of one key."""
CHORDS = [f"Shift+{c}" for c in "MABZRLJK"] + [
    f"{more}+{key}"
    for more in ("Control", "Alt", "Shift", "Control+Shift")
    for key in ("Enter", "Backspace", "Delete", "ArrowUp", "ArrowDown", "ArrowLeft", "Home", "End", "z", "x", "-", "m")
    if (more, key) not in (("Alt", "ArrowLeft"), ("Alt", "Home"))  # the browser's own
]


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    with opened(tmp_path_factory.mktemp("learner"), "--workbook", "03") as run:
        yield run


@pytest.fixture(scope="module")
def book(page, run):
    page.goto(run.address)
    page.locator(".tapkit-notes textarea").wait_for()
    page.locator(".tapkit-quiz .tapkit-answer input").first.wait_for()
    page.wait_for_timeout(1000)
    return page


def editors(page):
    return page.locator(".jp-InputArea-editor:visible").count()


@pytest.mark.parametrize("kind", ["jp-MarkdownCell", "jp-CodeCell:has(img)"])
def test_no_key_takes_the_page_apart(book, kind):
    cell = book.locator(f".jp-Notebook .{kind}").nth(1)
    before = book.evaluate(CELLS)
    keys = [k for keys in KEYS for k in (keys if len(keys) == 2 else [keys])] + CHORDS
    for some in [keys[i : i + 12] for i in range(0, len(keys), 12)]:
        cell.evaluate("e => e.focus()")
        for key in some:
            book.keyboard.press(key)
        assert (book.evaluate(CELLS), editors(book)) == (before, 0), f"one of {some} changed the page"
    expect(book.locator(".jp-Dialog")).to_have_count(0)


def test_a_double_click_shows_no_raw_text(book):
    for words in book.locator(".jp-RenderedMarkdown:visible > :first-child").all():
        words.scroll_into_view_if_needed()
        words.dblclick(position={"x": 4, "y": 4})
        assert editors(book) == 0
        book.keyboard.press("Enter")
        assert editors(book) == 0


def test_edit_menu_cannot_cut_or_delete_a_cell(book):
    before = book.evaluate(CELLS)
    for name in ("Cut Cell", "Delete Cell"):
        book.locator(".jp-Notebook .jp-MarkdownCell").nth(2).evaluate("e => e.focus()")
        book.get_by_role("menuitem", name="Edit", exact=True).click()
        book.get_by_role("menuitem", name=name).first.click(force=True)
        book.keyboard.press("Escape")
        while book.locator(".jp-Dialog button.jp-mod-reject, .jp-Dialog button.jp-mod-accept").count():
            book.locator(".jp-Dialog button.jp-mod-reject, .jp-Dialog button.jp-mod-accept").first.click()
        assert book.evaluate(CELLS) == before, name


def notes_kept(run):
    place = run.folder / "my-notes" / "lesson-3.txt"
    return place.read_text(encoding="utf-8") if place.exists() else ""


def test_notes_are_kept_as_they_are_written(book, run):
    box = book.locator(".tapkit-notes textarea")
    text = "7,3 mm drill – not 7.25!\ndd x 'ä' <b>"
    box.click()
    book.keyboard.type(text)
    expect(book.locator(".tapkit-notes small")).to_have_text("Saved in my-notes/lesson-3.txt")
    assert notes_kept(run) == text
    book.keyboard.type(" more")
    book.reload()  # at once
    assert soon(lambda: notes_kept(run), lambda kept: kept.endswith(" more")).endswith(" more")
    box.wait_for()
    expect(box).to_have_value(text + " more")


def test_a_lesson_is_given_anew_and_no_answer_is_lost(book, run):
    quiz = book.locator(".tapkit-quiz:has(input[type=text])").first
    quiz.locator("input[type=text]").first.fill("12 N")
    quiz.get_by_role("button", name="Check").click()
    quiz.locator(".tapkit-verdict").first.wait_for()
    answers = run.read("my-answers.jsonl")
    book.keyboard.press("Control+s")
    spoilt = json.loads(run.read(BOOK))
    wanted = len(spoilt["cells"])
    spoilt["cells"] = [c for c in spoilt["cells"] if "panels.load()" not in "".join(c["source"])]
    for cell in spoilt["cells"]:
        cell.update({"outputs": []} if cell["cell_type"] == "code" else {})
    book.wait_for_timeout(500)
    run.write(BOOK, json.dumps(spoilt).encode())
    book.goto(run.address)
    book.locator(".tapkit-notes textarea").wait_for()
    assert book.locator(".tapkit-panel .tapkit-moves").count() == 1, "the load panel is gone"
    kept = notes_kept(run)
    book.get_by_role("button", name="Give me this lesson anew").click()
    book.get_by_role("button", name="Yes, anew").click()
    book.wait_for_function("n => document.querySelectorAll('.jp-Notebook .jp-Cell').length === n", arg=wanted)
    book.locator(".tapkit-panel img.tapkit-picture").nth(1).wait_for()
    expect(book.locator(".tapkit-notes textarea")).to_have_value(kept)
    assert run.read("my-answers.jsonl") == answers
    before = run.folder / BOOK.replace(".ipynb", "-before.ipynb")
    assert len(json.loads(before.read_bytes())["cells"]) == wanted - 1, "the changed one is kept beside"
    given = json.loads(run.read(BOOK))["cells"]
    assert all(seal.CLOSED.items() <= c["metadata"].items() for c in given)


TRIALS = int(os.environ.get("TAPKIT_TRIALS", "100"))
TRIAL = """async ([box, check, text, way]) => {
    box.focus();
    box.value = '';
    for (const letter of text) {
        box.value += letter;
        box.dispatchEvent(new InputEvent('input', {bubbles: true}));
    }
    if (way === 'Enter') box.dispatchEvent(new KeyboardEvent('keydown', {key: 'Enter', bubbles: true}));
    else if (way === 'mouse') check.click();
    else {
        check.dispatchEvent(new PointerEvent('pointerdown', {bubbles: true, pointerType: 'touch'}));
        check.click();
    }
}"""
"""Faster than any hand: the text and the key within one task of the page."""


def test_a_key_pressed_at_once_takes_what_stands_in_the_box(book, run):
    quiz = book.locator(".tapkit-quiz:has(.tapkit-typed input)").first
    box, check = (quiz.locator(s).first.element_handle() for s in (".tapkit-typed input", "button:text-is('Check')"))
    before = len(answers(run))
    sent = [f"{7000 + i}.5" for i in range(TRIALS)]
    for i, text in enumerate(sent):
        book.evaluate(TRIAL, [box, check, text, ("mouse", "touch", "Enter")[i % 3]])
        if i % 10 == 9:  # now and then as a hand would, with the browser's own events
            box.fill(f"{text}1")
            (check.click if i % 20 == 9 else lambda: box.press("Enter"))()
            sent[i] = (text, f"{text}1")
    wanted = [t for one in sent for t in (one if isinstance(one, tuple) else (one,))]
    got = soon(lambda: answers(run)[before:], lambda found: len(found) >= len(wanted), 60)
    assert [a.removeprefix("step-1 = ") for a in got] == wanted


def answers(run):
    lines = run.read("my-answers.jsonl").decode().splitlines() if (run.folder / "my-answers.jsonl").exists() else []
    return [json.loads(line)["answer"] for line in lines]
