"""The quiz in a real browser, with the keyboard alone from start to end: the focus is never lost."""

import json

import pytest
from cutline import Line
from opening import opened, soon
from playwright.sync_api import expect
from realbrowser import Messages, settled

from tapkit.exercises.bank import exercise_named

FIRST = "most-loaded-tooth"
FADED = "chip-thickness"


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    with opened(tmp_path_factory.mktemp("learner"), "--workbook", "03") as run:
        yield run


@pytest.fixture(scope="module")
def book(page, run):
    page.goto(run.address)
    page.locator(".tapkit-quiz .tapkit-answer input").first.wait_for()
    page.wait_for_function("() => document.querySelectorAll('.tapkit-quiz[data-keys]').length >= 4")
    return page


def quiz(page, title):
    return page.locator(f".tapkit-quiz[data-keys]:has(.tapkit-head:has-text('{title}'))").first


def shown(one, name, stage="whole"):
    """The question that stands on the screen, found among the first seeds by its text."""
    said = " ".join(one.inner_text().split())
    found = (exercise_named(name).variant(seed).at_stage(stage) for seed in range(8))
    return next(q for q in found if " ".join(q.text.split()) in said)


def focused(page):
    """What has the focus, and whether it lies in a question."""
    return page.evaluate(
        """() => { const a = document.activeElement;
            return {tag: a.tagName, type: a.type || '', text: (a.textContent || '').trim(),
                    inside: !!a.closest('.tapkit-quiz'), value: a.value || ''} }"""
    )


def press(page, *keys):
    """Press keys one by one; the focus must stay in the question all the time."""
    for key in keys:
        page.keyboard.press(key)
        settled(page)
        assert focused(page)["inside"], f"{key} took the focus to {focused(page)}"


def tab_to(page, text):
    for _ in range(12):
        if focused(page)["text"] == text:
            return
        press(page, "Tab")
    raise AssertionError(f"no way to {text!r} with Tab; at {focused(page)}")


def cells(page):
    return page.locator(".jp-Notebook .jp-Cell").count()


def verdict_of(one, text=""):
    said = one.locator(".tapkit-verdict")
    said.filter(has_text=text).first.wait_for()
    return said.first.inner_text()


def recorded(run):
    lines = (run.folder / "my-answers.jsonl").read_text(encoding="utf-8").splitlines()
    return [json.loads(line) for line in lines]


def test_a_choice_from_start_to_end(book, run):
    one = quiz(book, exercise_named(FIRST).title)
    one.locator("input[type=radio]").first.focus()
    before = cells(book)
    question = shown(one, FIRST)
    letter, reason = question.right_text.split()
    press(book, "Space", *["ArrowDown"] * "ABCD".index(letter), "Tab", "Space", *["ArrowDown"] * (int(reason) - 1))
    tab_to(book, "Check")
    press(book, "Enter")
    assert "That is right" in verdict_of(one, "That is right")
    assert focused(book)["text"] == "Check"
    press(book, "b", "a", "x", "d", "d", "ArrowDown", "ArrowUp")
    assert cells(book) == before, "letters pressed on a button reached the notebook"
    tab_to(book, "Next question")
    press(book, "Enter")
    one.locator(".tapkit-verdict").wait_for(state="detached")
    book.wait_for_function("() => document.activeElement.type === 'radio'")
    assert recorded(run)[-1]["answer"] == question.right_text


def test_hints_and_solution_keep_the_focus(book):
    one = quiz(book, exercise_named(FIRST).title)
    one.locator("input[type=radio]").first.focus()
    tab_to(book, "Hint")
    press(book, "Enter", "Space", "Enter")
    expect(one.locator("ol li")).to_have_count(2)
    tab_to(book, "Worked solution")
    press(book, "Enter")
    one.locator(".tapkit-solution").wait_for()
    settled(book)
    assert focused(book)["text"] == "Worked solution"


def test_enter_in_a_box_gives_the_answer_and_keeps_the_focus(book, run):
    one = quiz(book, exercise_named(FADED).title + " · one step")
    box = one.locator("input[type=text]").first
    box.focus()
    book.keyboard.type("12 N")
    press(book, "Enter")
    assert "Another kind" in verdict_of(one, "Another kind")
    assert focused(book)["type"] == "text"
    press(book, "Control+a")
    right = shown(one, FADED, "faded-1").right_text
    book.keyboard.type(right)
    press(book, "Enter")
    assert "That is right." in verdict_of(one, "That is right")
    assert recorded(run)[-1]["answer"] == f"step-1 = {right}"


def test_fast_typing_is_judged_whole(book, run):
    one = quiz(book, exercise_named(FADED).title + " · one step")
    box = one.locator("input[type=text]").first
    box.focus()
    sent = [f"{1000 + i}.{i}" for i in range(12)]
    for text in sent:
        book.keyboard.press("Control+a")
        book.keyboard.type(text)
        book.keyboard.press("Enter")
        settled(book)
    wanted = [f"step-1 = {t}" for t in sent]
    assert soon(lambda: [r["answer"] for r in recorded(run)[-12:]], lambda found: found == wanted) == wanted
    assert focused(book)["inside"]


def test_leaving_a_box_is_no_answer(book, run):
    one = quiz(book, exercise_named(FADED).title + " · two steps")
    before = len(recorded(run))
    one.locator("input[type=text]").first.focus()
    book.keyboard.type("3")
    press(book, "Tab", "Tab", "Tab")
    settled(book)
    assert len(recorded(run)) == before


def test_another_exercise_is_chosen_with_the_keyboard(book):
    one = book.locator(".tapkit-quiz[data-keys]:has(select)").first
    here = int(one.locator("select").input_value())
    wanted = one.locator("option").nth(here + 2).text_content().split(". ", 1)[1]
    one.locator("select").focus()
    press(book, "ArrowDown", "ArrowDown")
    one.locator(f".tapkit-head:has-text('{wanted}')").wait_for()
    settled(book)
    assert focused(book)["tag"] == "SELECT"
    press(book, "Tab")
    assert focused(book)["inside"]


def test_names_and_roles_for_screen_readers(book):
    one = quiz(book, exercise_named(FIRST).title)
    assert one.get_attribute("role") == "group"
    assert exercise_named(FIRST).title in one.get_attribute("aria-label")
    assert one.get_by_role("radiogroup", name="Answer").count() == 1
    assert one.get_by_role("radiogroup", name="because").count() == 1
    assert one.locator("[role=status][aria-live=polite]").count() >= 2
    unnamed = one.locator("input, button, select").evaluate_all(
        "all => all.filter(e => !(e.labels && e.labels.length) && !e.textContent.trim() && !e.getAttribute('aria-label')).length"
    )
    assert unnamed == 0
    assert one.locator("img:not([hidden]):not([alt])").count() == 0


def test_nothing_went_wrong_on_the_page(book):
    assert book.problems == []


@pytest.fixture(scope="module")
def line(run):
    one = Line(int(run.port))
    yield one
    one.close()


@pytest.fixture(scope="module")
def far(chromium, run, line):
    """The workbook's page, with a line to its server that can be cut."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    page.messages = Messages(page)
    page.goto(run.address.replace(str(run.port), str(line.port)))
    page.locator(".tapkit-quiz[data-keys]:has(select) .tapkit-answer input[type=text]").first.wait_for()
    settled(page)
    yield page
    page.close()


def kept(run):
    """The answers in the learner's record."""
    lines = [line for file in run.folder.rglob("*.jsonl") for line in file.read_text("utf-8").splitlines()]
    return [json.loads(line).get("answer") for line in lines]


@pytest.mark.parametrize(("how", "typed"), [("cut", "0.111 mm"), ("mute", "0.222 mm"), ("deaf", "0.333 mm")])
def test_a_cut_line_is_told_and_what_is_pressed_meanwhile_is_done_once(far, run, line, how, typed):
    one = far.locator(".tapkit-quiz[data-keys]:has(select):has(.tapkit-answer input[type=text])").first
    box = one.locator(".tapkit-answer input[type=text]").first
    settled(far)  # the answer before this one is judged and shown
    box.fill(typed[:3])
    settled(far)
    getattr(line, how)()
    box.press_sequentially(typed[3:])
    one.get_by_role("button", name="Check").click()
    if how == "deaf":
        assert soon(lambda: kept(run), lambda found: typed in found).count(typed) == 1
    line.cut()
    told = far.locator(".tapkit-cut")
    expect(told).to_contain_text("tapkit does not answer. Answers that were checked are kept.")
    line.heal()
    expect(told).to_have_count(0)
    assert soon(lambda: kept(run), lambda found: typed in found).count(typed) == 1
    expect(one.locator(".tapkit-verdict").first).to_be_visible()
    assert box.input_value() == typed
    assert far.locator(".jp-Dialog").count() == 0
    box.fill(later := typed.replace("0.", "9."))
    one.get_by_role("button", name="Check").click()
    assert later in soon(lambda: kept(run), lambda found: later in found), "what is pressed then is done after it"
    assert kept(run).count(typed) == 1
