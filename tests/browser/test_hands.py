"""Ordinary hands at a lesson: keys, double clicks, notes, a lesson given anew. Nothing comes apart, nothing is lost."""

import json
import os
import re
import time

import nbformat
import pytest
from opening import opened, soon
from playwright.sync_api import expect
from realbrowser import settled

from tapkit.exercises.bank import exercises
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
    settled(page)
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


def test_file_export_as_it_comes_gives_a_page_to_hand_out(book, tmp_path):
    """By the menu, with the dialog's box ticked as it is: offline, with pictures, every exercise, no tag as text."""
    book.get_by_role("menuitem", name="File", exact=True).click()
    book.locator(".lm-Menu-item", has_text="Save and Export Notebook As").first.hover()
    book.get_by_role("menuitem", name="HTML", exact=True).click()
    with book.expect_download() as found:
        book.locator(".jp-Dialog button.jp-mod-accept").click()
    found.value.save_as(tmp_path / "lesson.html")
    page = (tmp_path / "lesson.html").read_text(encoding="utf-8")
    page = page[page.index("<body") :]
    assert page.count("<img") >= 8
    assert not re.search(r"&lt;/?(div|p|h\d|b|span|img|style|figure)\b|<script|src=.http", page)
    assert all(one.title in page for one in exercises(lesson=3))


DARK = """() => {
    const set = (name, colour) => document.body.style.setProperty(`--jp-${name}`, colour);
    for (const n of [0, 1, 2, 3]) {
        for (const kind of ['content', 'ui']) set(`${kind}-font-color${n}`, '#ffffff');
        set(`layout-color${n}`, '#111111');
    }
    for (const name of ['color', 'label-color', 'readout-color', 'input-color']) set(`widgets-${name}`, '#ffffff');
    set('widgets-input-background-color', '#111111');
    document.body.dataset.jpThemeLight = 'false';
}"""
FAINT = """() => {
    const numbers = (colour) => (colour.match(/[\\d.]+/g) ?? [0, 0, 0, 0]).map(Number);
    const light = (rgb) => rgb.slice(0, 3).map((c) => ((c /= 255), c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4))
        .reduce((sum, c, i) => sum + c * [0.2126, 0.7152, 0.0722][i], 0);
    const behind = (e) => {
        for (; e; e = e.parentElement) {
            const found = numbers(getComputedStyle(e).backgroundColor);
            if ((found[3] ?? 1) > 0.5) return found;
        }
        return [17, 17, 17];
    };
    const faint = [];
    let seen = 0;
    const blocks = '.tk-text, .tapkit-quiz, .tapkit-panel, .tapkit-notes, .tapkit-page';
    for (const block of document.querySelectorAll(blocks)) {
        for (const e of block.querySelectorAll('*')) {
            const words = [...e.childNodes].filter((n) => n.nodeType === 3).map((n) => n.data.trim()).join(' ').trim();
            if (!words || !e.checkVisibility() || ['STYLE', 'SCRIPT', 'OPTION'].includes(e.tagName) || e.closest('svg')) continue;
            const [a, b] = [light(numbers(getComputedStyle(e).color)), light(behind(e))].sort((x, y) => y - x);
            seen += 1;
            const ratio = (a + 0.05) / (b + 0.05);
            if (ratio < 4.5 && !e.disabled) faint.push([words.slice(0, 40), e.className, ratio.toFixed(1)].join(' | '));
        }
    }
    return [faint, seen > 100];
}"""


def test_every_word_can_be_read_in_the_dark_theme(book):
    """Contrast of at least 4.5 to 1 (WCAG 2.1, criterion 1.4.3) between words and what lies behind them, light and dark."""
    assert book.evaluate(FAINT) == [[], True]
    book.evaluate(DARK)
    try:
        assert book.evaluate(FAINT) == [[], True]
    finally:
        book.reload()
        book.locator(".tapkit-notes textarea").wait_for()


def notes_kept(run):
    place = run.folder / "my-notes" / "lesson-3.txt"
    return place.read_text(encoding="utf-8") if place.exists() else ""


def test_notes_are_kept_as_they_are_written(book, run):
    box = book.locator(".tapkit-notes textarea")
    text = "7,3 mm drill – not 7.25!\ndd x 'ä' <b>"
    box.click()
    book.keyboard.type(text)
    expect(book.locator(".tapkit-notes small")).to_have_text("Saved in my-notes/lesson-3.txt")
    assert soon(lambda: notes_kept(run), lambda kept: kept == text) == text
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
    quiz.locator("input[type=text]").first.focus()
    with book.expect_response(lambda r: r.request.method == "PUT" and BOOK in r.url, timeout=30_000):
        book.keyboard.press("Control+s")  # from within a question: saved at once, not by the next minute's own saving
    spoilt = json.loads(run.read(BOOK))
    wanted = len(spoilt["cells"])
    spoilt["cells"] = [c for c in spoilt["cells"] if "panels.load()" not in "".join(c["source"])]
    for cell in spoilt["cells"]:
        cell.update({"outputs": []} if cell["cell_type"] == "code" else {})
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


TRIALS = int(os.environ.get("TAPKIT_TRIALS", "60"))
TRIAL = """async ([act, key, what, way]) => {
    if (act.tagName) {
        act.focus();
        act.value = '';
        for (const letter of what) {
            act.value += letter;
            act.dispatchEvent(new InputEvent('input', {bubbles: true}));
        }
    }
    const boxes = act.tagName ? [act] : what.map(([group, place]) => act[group].querySelectorAll('input')[place]);
    if (!act.tagName) boxes.forEach(one => one.click());
    if (way === 'Enter') boxes.at(-1).dispatchEvent(new KeyboardEvent('keydown', {key: 'Enter', bubbles: true}));
    else if (way === 'mouse') key.click();
    else {
        key.dispatchEvent(new PointerEvent('pointerdown', {bubbles: true, pointerType: 'touch'}));
        key.click();
    }
}"""
"""Faster than any hand: the answer and the key within one task of the page."""
WAYS = ("mouse", "touch", "Enter")


def given_since(run, before, wanted):
    return soon(lambda: answers(run)[before:], lambda found: len(found) >= len(wanted))


def test_a_key_pressed_at_once_takes_what_stands_in_the_box(book, run):
    quiz = book.locator(".tapkit-quiz:has(.tapkit-typed input)").first
    box, check = (quiz.locator(s).first.element_handle() for s in (".tapkit-typed input", "button:text-is('Check')"))
    before = len(answers(run))
    sent = [f"{7000 + i}.5" for i in range(TRIALS)]
    for i, text in enumerate(sent):
        book.evaluate(TRIAL, [box, check, text, WAYS[i % 3]])
        if i % 10 == 9:  # now and then as a hand would, with the browser's own events
            box.fill(f"{text}1")
            (check.click if i % 20 == 9 else lambda: box.press("Enter"))()
            sent[i] = (text, f"{text}1")
    wanted = [t for one in sent for t in (one if isinstance(one, tuple) else (one,))]
    assert [a.removeprefix("step-1 = ") for a in given_since(run, before, wanted)] == wanted


def test_a_key_pressed_at_once_takes_what_is_chosen(book, run):
    quiz = book.locator(".tapkit-quiz:has(.tapkit-choices)").first
    groups = book.evaluate_handle("q => [...q.querySelectorAll('.tapkit-choice')]", quiz.element_handle())
    check = quiz.get_by_role("button", name="Check").element_handle()
    options = [quiz.locator(".tapkit-choice").nth(i).locator("input").count() for i in range(2)]
    before, wanted = len(answers(run)), []
    for i in range(TRIALS):
        picks = [i % options[0], (i // 2) % options[1]]
        book.evaluate(TRIAL, [groups, check, list(enumerate(picks)), WAYS[i % 3]])
        wanted.append(f"{'ABCDEFGH'[picks[0]]} {picks[1] + 1}")
        if i % 10 == 9:
            picks[0] = (picks[0] + 1) % options[0]
            quiz.locator(".tapkit-choice").first.locator("input").nth(picks[0]).click()
            check.click()
            wanted.append(f"{'ABCDEFGH'[picks[0]]} {picks[1] + 1}")
    assert given_since(run, before, wanted) == wanted
    shown = quiz.locator(".tapkit-choice input").evaluate_all("all => all.flatMap((e, i) => e.checked ? [i] : [])")
    assert shown == [picks[0], options[0] + picks[1]], "no echo of an earlier choice takes the last one back"


def answers(run):
    lines = run.read("my-answers.jsonl").decode().splitlines() if (run.folder / "my-answers.jsonl").exists() else []
    return [json.loads(line)["answer"] for line in lines]


def whole(text):
    """A workbook as saved; None while it is still being written."""
    try:
        return json.loads(text)
    except ValueError:
        return None


def settled_file(read):
    """What a file holds once two looks, half a second apart, find the same."""
    seen = [None]

    def same():
        seen.append(read())
        time.sleep(0.5)
        return seen[-1] if seen[-1] is not None and seen[-1] == seen[-2] else None

    return soon(same, bool)


def test_a_cell_of_ones_own_is_written_undone_and_entered_again(book, run):
    """The footer of the page gives one; Enter edits it, and no cell of the course."""
    before = editors(book)
    book.locator(".jp-Notebook-footer").click()
    own = book.locator(".jp-Notebook .jp-Cell").last
    text = own.locator(".cm-content")
    text.click()
    book.keyboard.type("6 * 7")
    expect(text).to_have_text("6 * 7")
    book.keyboard.press("ControlOrMeta+z")
    expect(text).not_to_have_text("6 * 7")
    book.keyboard.press("ControlOrMeta+Shift+z")
    expect(text).to_have_text("6 * 7")
    book.keyboard.press("Escape")
    expect(own).to_be_focused()
    book.keyboard.press("Enter")
    expect(text).to_be_focused()
    book.keyboard.press("Control+Enter")
    expect(own.locator(".jp-OutputArea-output")).to_have_text("42")
    for kind in ("jp-MarkdownCell", "jp-CodeCell:has(img)"):
        book.locator(f".jp-Notebook .{kind}").nth(1).evaluate("e => e.focus()")
        book.keyboard.press("Enter")
        settled(book)
        assert editors(book) == before + 1
        assert not book.locator(".jp-Notebook.jp-mod-editMode").count()
    book.keyboard.press("Control+s")
    soon(lambda: whole(run.read(BOOK)), lambda kept: kept and "6 * 7" in kept["cells"][-1]["source"], 60)
    book.goto("about:blank")  # a page that is open might save once more, over what is written here
    mine = settled_file(lambda: whole(run.read(BOOK)))
    for cell in mine["cells"]:
        cell.update({"outputs": []} if cell["cell_type"] == "code" else {})
    mine["cells"].append({"cell_type": "markdown", "id": "mine", "metadata": {}, "source": "My *words*"})
    run.write(BOOK, json.dumps(mine).encode())
    book.goto(run.address)
    book.locator(".tapkit-notes textarea").wait_for()
    words = book.locator(".jp-Notebook .jp-MarkdownCell").last
    words.locator("em").wait_for()
    words.evaluate("e => e.focus()")
    book.keyboard.press("Enter")
    expect(words.locator(".cm-content")).to_be_focused()
    book.keyboard.type("2")
    expect(words.locator(".cm-content")).to_contain_text("2")
    book.keyboard.press("ControlOrMeta+z")
    expect(words.locator(".cm-content")).to_have_text("My *words*")
    book.keyboard.press("Control+Enter")
    words.locator("em").wait_for()
    link = book.locator('a[href="#take-care"]').first
    link.evaluate("e => e.click()")
    expect(book.locator("#take-care")).to_be_in_viewport()


def test_after_the_kernel_was_started_anew_everything_stands_as_it_was(book, run):
    """An answer with its verdict, and a prediction that was locked the moment it was chosen."""
    code = ("from tapkit import panels", "panels.quiz('most-loaded-tooth')", "panels.chips(predict=True)")
    cells = list(map(nbformat.v4.new_code_cell, code))
    run.write("anew.ipynb", nbformat.writes(nbformat.v4.new_notebook(cells=cells)).encode())
    book.goto(run.address.replace(BOOK, "anew.ipynb"))
    quiz, asked = book.locator(".tapkit-quiz:has(.tapkit-choices)"), book.locator(".tapkit-predict")

    def choose(place, key, picks):
        place.locator(".tapkit-choice input").first.wait_for()
        settled(book)
        groups = book.evaluate_handle("q => [...q.querySelectorAll('.tapkit-choice')]", place.element_handle())
        book.evaluate(TRIAL, [groups, key.element_handle(), picks, "mouse"])
        settled(book)

    def stands():
        """Words and ticks of both."""
        chosen = "all => all.map(e => e.checked)"
        return [
            (place.locator(told).first.text_content(), place.locator(".tapkit-choice input").evaluate_all(chosen))
            for place, told in ((quiz, ".tapkit-verdict"), (asked, ".tapkit-told"))
        ]

    before, lock = len(answers(run)), asked.get_by_role("button", name="Lock my prediction")
    choose(quiz, quiz.get_by_role("button", name="Check"), [[0, 0], [1, 0]])
    assert given_since(run, before, [1]) == ["A 1"]
    choose(asked, lock, [[0, 1], [1, 4]])
    expect(lock).to_be_disabled()
    left = stands()
    assert re.search("[Yy]ou said: ahead of the point", left[1][0])
    assert [i for i, is_chosen in enumerate(left[1][1]) if is_chosen] == [1, 3 + 4]
    kernel = next(s["kernel"]["id"] for s in run.get("/api/sessions") if s["path"] == "anew.ipynb")
    run.post(f"/api/kernels/{kernel}/restart")
    book.reload()
    book.locator(".tapkit-panel:has(.tapkit-predict) .tapkit-moves").wait_for()
    quiz.locator(".tapkit-verdict").wait_for()
    expect(lock).to_be_disabled()
    assert soon(stands, lambda now: now == left) == left
