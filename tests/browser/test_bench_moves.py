"""The bench played by hypothesis in a real browser: after every move screen, picture and saved file are the state's."""

import base64
import io
import itertools
import json
import os
import random
import re
from pathlib import Path

import nbformat
import numpy as np
import psutil
import pytest
import test_tapphoto as photos
from hypothesis import Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule, run_state_machine_as_test
from jupyter_client import BlockingKernelClient
from opening import opened, soon
from PIL import Image
from playwright.sync_api import expect
from realbrowser import settled

from tapkit import Tap, compare, tapphoto
from tapkit.panels import photoexample
from tapkit.panels.bench import set_up_controls
from tapkit.panels.state import Pick, State
from tapkit.parameters import Parameter, job_from

CODE = "from tapkit import panels\nbench = panels.bench()\nbench"
READ = """() => [...document.querySelectorAll('.tapkit-bench .tapkit-columns > .tapkit-controls')].map(side =>
    Object.fromEntries([...side.querySelectorAll('.tapkit-row')].map(row => {
        const [range, box, select] = ['.tapkit-range', '.tapkit-box, .tapkit-combo', 'select'].map(s => row.querySelector(s));
        return [row.dataset.key, {hidden: row.hidden, position: range ? +range.value : null,
            text: select ? select.selectedOptions[0]?.textContent ?? '' : box.value}];
    })))"""
"""In the page: what every control of A and B shows."""
COVERED = """() => [...document.querySelectorAll('.tapkit-bench .tapkit-problem')].some(told => [...document.querySelectorAll(
    '.tapkit-bench .tapkit-switches button')].some(key => {
        const [a, b] = [told, key].map(e => e.getBoundingClientRect());
        return Math.min(a.right, b.right) - Math.max(a.left, b.left) > 2 && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 2;
    }))"""
"""In the page: whether the sentence that says what is not possible hides a key."""
STATE = """dict(A=vars(bench.sides['A'].values), B=vars(bench.sides['B'].values), system=bench.system,
    problem=bench.problem, jobs=[repr(job) for job in bench.jobs], alt=bench.stage.widget.tooltip)"""
CONTROLS = {c.key: c for c in set_up_controls()}
STARTS = {"A": {}, "B": {"form": "spiral-flute", "chamfer": 1.5}}


class Played:
    """The bench in a page, and its kernel."""

    def __init__(self, page, run):
        self.page, self.folder, self.port, self.token = page, run.folder, run.port, run.token
        book = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(CODE)])
        nbformat.write(book, run.folder / "moves.ipynb")
        page.goto(f"http://localhost:{run.port}/doc/tree/moves.ipynb?token={run.token}")
        page.locator(".tapkit-bench .tapkit-range").first.wait_for(state="attached")
        page.evaluate("() => document.querySelectorAll('.tapkit-bench details').forEach(d => d.open = true)")
        kernel = next(s["kernel"]["id"] for s in run.get("/api/sessions") if s["path"] == "moves.ipynb")
        found = [p.cmdline() for p in psutil.Process(run.process.pid).children(recursive=True)]
        place = next(word for line in found for word in line if kernel in word and word.endswith(".json"))
        self.client = BlockingKernelClient(connection_file=place)
        self.client.load_connection_file()
        self.client.start_channels()
        self.client.wait_for_ready(timeout=180)
        self.side = {
            name: page.locator(".tapkit-bench .tapkit-columns > .tapkit-controls").nth(i) for i, name in enumerate("AB")
        }

    def state(self):
        """What the kernel holds, once all that was sent before has been heard."""
        reply = self.client.execute_interactive(
            "", user_expressions={"it": STATE}, timeout=180, output_hook=lambda message: None
        )["content"]["user_expressions"]["it"]
        assert reply["status"] == "ok", reply
        return eval(reply["data"]["text/plain"], {})

    # --- moves ------------------------------------------------------------------------------------

    def row(self, side, key):
        return self.side[side].locator(f".tapkit-row[data-key={key}]")

    def slide(self, side, key, presses):
        self.row(side, key).locator(".tapkit-range").focus()
        for press in presses:
            self.page.keyboard.press(press)

    def type_in(self, side, key, text):
        self.row(side, key).locator(".tapkit-box, .tapkit-combo").fill(text)
        self.page.keyboard.press("Enter")

    def select(self, side, key, index):
        self.row(side, key).locator("select").select_option(index=index)

    def press(self, name):
        self.page.locator(".tapkit-bench .tapkit-switches").get_by_role("button", name=name, exact=True).click()

    def move(self, side, key, how, index):
        """A control moved as a hand would."""
        control = CONTROLS[key]
        if isinstance(control, Pick):
            index %= len(control.pairs)
            if self.row(side, key).locator("select").count():
                self.select(side, key, index)
            else:
                self.type_in(side, key, str(control.pairs[index][0]))
        elif not self.row(side, key).is_hidden():
            (self.type_in if isinstance(how, str) else self.slide)(side, key, how)

    # --- what must hold ---------------------------------------------------------------------------

    def check(self, told):
        settled(self.page)
        state, wrong = soon(lambda: (now := self.state(), self.differences(now)), lambda found: not found[1], 60)
        assert not wrong, (told, wrong)
        return state

    def differences(self, state):
        """Where screen, picture and state part."""
        shown, wrong = self.page.evaluate(READ), []
        for name, items in zip("AB", shown):
            assert items.keys() == state[name].keys()
            now = State(tuple(CONTROLS.values()), state[name], system=state["system"])
            for key, item in items.items():
                if not item["hidden"] and (found := difference(now, CONTROLS[key], item)):
                    wrong.append((name, key, found))
        if not state["problem"] and state["jobs"] != [repr(job_from(state[name])) for name in "AB"]:
            wrong.append("the picture is of other jobs")
        picture = self.page.locator(".tapkit-bench .tapkit-view img.tapkit-picture")
        if picture.get_attribute("alt") != state["alt"]:
            wrong.append("the picture's words are not those of the kernel")
        if picture.evaluate("e => getComputedStyle(e).opacity") != "1":
            wrong.append("what slides under the picture shines through")
        if self.page.evaluate(COVERED):
            wrong.append("what is not possible lies over the keys")
        told = " ".join(self.page.locator(".tapkit-bench .tapkit-view .tapkit-problem").all_inner_texts())
        if bool(state["problem"]) != bool(told) or (state["problem"] or "") not in told:
            wrong.append(("problem", state["problem"]))
        return wrong

    def save(self, state):
        """Save: the file is what the screen shows, or nothing is written and this is said."""
        place = Path(self.folder) / "saved-from-the-bench"
        before = set(place.glob("*.json"))
        words = self.page.locator(".tapkit-bench .tapkit-switches .widget-html-content")
        self.page.evaluate("() => document.querySelector('.tapkit-bench .tapkit-switches').dataset.old = '1'")
        self.press("Save table and pictures")
        if state["problem"]:
            assert soon(words.inner_text, lambda text: "nothing was written" in text)
            assert "nothing was written" in words.inner_text()
            self.state()
            assert set(place.glob("*.json")) == before
            return
        self.state()  # the kernel has done what was asked
        new = soon(lambda: set(place.glob("*.json")) - before, bool)
        jobs = {name: job_from(state[name]) for name in "AB"}
        assert json.loads(new.pop().read_text(encoding="utf-8")) == json.loads(compare.as_json(jobs))
        soon(words.inner_text, lambda text: "Saved in" in text)
        assert "Saved in" in words.inner_text()


def difference(state, control, item):
    """What is wrong with a control on the screen, or None."""
    value = getattr(state.values, control.key)
    try:
        read = control.read(item["text"], state.system)
    except ValueError:
        return f"{item['text']!r} still stands there"
    if isinstance(control, Parameter):
        scale, step = state.scale(control), control.step
        if abs(read - value) > 0.005 * max(abs(value), step) and abs(read - value) > 0.0006 * 25.4:
            return f"the box shows {item['text']} for {value}"
        at = state.at(control, item["position"])
        size = step if state.system == "metric" else max(step, control.inch_step * 25.4)
        return f"the slider stands at {at} for {value}" if scale.count and abs(at - value) > 0.51 * size else None
    return None if read == value else f"the list shows {item['text']} for {value}"


@pytest.fixture(scope="module")
def played(page, tmp_path_factory):
    with opened(tmp_path_factory.mktemp("bench"), "--workbook", "00") as run:
        yield Played(page, run)


HOW = ["3", "0.5", "8,1", "1/4", "#7", "banana", "-4"]
HOW += [("Home",), ("End",), ("ArrowRight",) * 7, ("ArrowLeft", "ArrowLeft"), ("PageUp",)]
COPIES = {"A → B": "AA", "B → A": "BB", "Swap A and B": "BA"}
moves = st.tuples(st.sampled_from("AB"), st.sampled_from(list(CONTROLS)), st.sampled_from(HOW), st.integers(0, 999))


class BenchMoves(RuleBasedStateMachine):
    """Any sequence of moves, keys and savings; after each all is compared."""

    played: Played

    @initialize()
    def begin(self):
        self.press("Reset")

    @rule(moves=st.lists(moves, min_size=1, max_size=3))
    def some_controls_as_fast_as_can_be(self, moves):
        for move in moves:
            self.played.move(*move)
        self.state = self.played.check(moves)

    @rule(moves=st.lists(moves, min_size=1, max_size=2), name=st.sampled_from([*COPIES, "Reset", "Inch"]))
    def a_key(self, moves, name):
        self.some_controls_as_fast_as_can_be(moves)
        self.press(name)

    @rule(moves=st.lists(moves, min_size=1, max_size=1))
    def save(self, moves):
        self.some_controls_as_fast_as_can_be(moves)
        self.played.save(self.state)

    def press(self, name):
        self.played.press(name)
        before, self.state = getattr(self, "state", None), self.played.check(name)
        if name == "Reset":
            wanted = [vars(State.begin(set_up_controls(), **start).values) for start in STARTS.values()]
            assert self.state["problem"] is None
        else:
            wanted = [before[side] for side in COPIES.get(name, "AB")]
            assert (before["problem"] is None) <= (self.state["problem"] is None)
            assert (self.state["system"] != before["system"]) == (name == "Inch")
        assert [self.state[side] for side in "AB"] == wanted

    def teardown(self):
        assert self.played.page.problems == []


def play(played, sequences, steps, **more):
    BenchMoves.played = played
    phases = (Phase.explicit, Phase.generate)  # moves of a page are slow: what fails is told as it was found
    run_state_machine_as_test(
        BenchMoves, settings=settings(max_examples=sequences, stateful_step_count=steps, phases=phases, **more)
    )


def test_ten_moves_and_what_the_issue_names(played):
    played.press("Reset")
    start = played.check("reset")
    for thread in ("M6x1", "1 1/2-6 UNC", "M1.6x0.35"):
        played.type_in("A", "thread", thread)
        for name in ("A → B", "Swap A and B", "B → A", "Reset"):
            played.press(name)
            assert played.check((thread, name))["problem"] is None, (thread, name)
    assert played.check("reset") == {**start, "system": "metric"}


def test_any_moves(played):
    play(played, sequences=4, steps=5)


MARKS = "() => Object.fromEntries([...document.querySelectorAll('.tapkit-photo circle')].map(c => [c.dataset.mark, [+c.getAttribute('cx'), +c.getAttribute('cy')]]))"
DROP = """([data, name, type]) => {
    const bytes = Uint8Array.from(atob(data), (c) => c.charCodeAt(0));
    const held = new DataTransfer();
    held.items.add(new File([bytes], name, { type }));
    const place = document.querySelector('.tapkit-photo');
    for (const kind of ['dragenter', 'dragover', 'drop']) {
        place.dispatchEvent(new DragEvent(kind, { bubbles: true, cancelable: true, dataTransfer: held }));
    }
}"""


class Photo:
    """The photograph panel in a page."""

    def __init__(self, page, run):
        code = ("from tapkit import panels\npanels.measure_tap()", "panels.quiz('margin', seed=0)")
        book = nbformat.v4.new_notebook(cells=list(map(nbformat.v4.new_code_cell, code)))
        nbformat.write(book, run.folder / "photo.ipynb")
        page.goto(f"http://localhost:{run.port}/doc/tree/photo.ipynb?token={run.token}")
        page.locator(".tapkit-photo circle").first.wait_for()
        self.page = page

    def marks(self):
        return self.page.evaluate(MARKS)

    def words(self):
        return self.page.locator(".tapkit-panel .tapkit-sentence").inner_text()

    def told(self, before):
        """The sentence once it is another."""
        return soon(self.words, lambda text: text != before, 30)

    def centre(self, mark):
        box = self.page.locator(f"circle[data-mark={mark}]").bounding_box()
        return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    def unit(self):
        """Pixels of the picture in one of the screen."""
        return self.page.evaluate(
            "() => { const s = document.querySelector('.tapkit-photo svg'); return s.viewBox.baseVal.width / s.getBoundingClientRect().width }"
        )

    def drop(self, content, name, kind):
        self.page.evaluate(DROP, [base64.b64encode(content).decode(), name, kind])


@pytest.fixture(scope="module")
def photographed(page, played):
    return Photo(page, played)


def test_the_set_up_of_a_question_is_copied_once_it_is_answered(photographed):
    page = photographed.page
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    quiz = page.locator(".tapkit-quiz")
    assert quiz.locator("button[data-copy]").count() == 0
    quiz.get_by_role("button", name="Solution").click()
    copy = quiz.locator("button[data-copy]")
    copy.focus()
    page.keyboard.press("Enter")
    expect(copy).to_have_text("Copied")
    assert page.evaluate("() => navigator.clipboard.readText()") == quiz.locator("code").inner_text()
    expect(copy).to_have_text("Copy")


def test_the_other_mouse_button_in_a_box_brings_no_menu_of_the_lab(photographed):
    page = photographed.page
    page.locator(".tapkit-panel input[type=text]").first.click(button="right")
    page.locator(".tapkit-photos .tapkit-help").click(button="right")
    expect(page.locator(".lm-Menu")).to_have_count(1)  # the lab's own, beside the boxes
    page.keyboard.press("Escape")
    expect(page.locator(".lm-Menu")).to_have_count(0)
    page.locator(".tapkit-panel input[type=text]").first.click(button="right")
    expect(page.locator(".lm-Menu")).to_have_count(0)


def picture(size=(900, 1200)):
    out = io.BytesIO()
    Image.frombytes("L", size, random.Random(2).randbytes(size[0] * size[1])).save(out, "PNG")
    return out.getvalue()


def by_mouse(photo, mark, dx, dy):
    x, y = photo.centre(mark)
    photo.page.mouse.move(x, y)
    photo.page.mouse.down()
    photo.page.mouse.move(x + dx / 2, y + dy / 2)
    photo.page.mouse.move(x + dx, y + dy)
    photo.page.mouse.up()


def by_touch(photo, mark, dx, dy):
    x, y = photo.centre(mark)
    send = photo.page.context.new_cdp_session(photo.page).send
    send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for share in (0.3, 0.7, 1.0):
        point = {"x": x + share * dx, "y": y + share * dy}
        send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [point]})
    send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


@pytest.mark.parametrize("by", [by_mouse, by_touch])
def test_a_mark_on_a_photograph_is_pulled(photographed, by):
    photo = photographed
    photo.page.locator("circle[data-mark=chamfer_a]").scroll_into_view_if_needed()
    before, words = photo.marks(), photo.words()
    by(photo, "chamfer_a", -14, 9)
    after, unit = photo.marks(), photo.unit()
    moved = [b - a for a, b in zip(before["chamfer_a"], after["chamfer_a"])]
    assert moved == pytest.approx([-14 * unit, 9 * unit], abs=1.5 * unit)
    assert {k: v for k, v in after.items() if k != "chamfer_a"} == {k: v for k, v in before.items() if k != "chamfer_a"}
    assert "Measured: a chamfer of" in photo.told(words)
    photo.page.get_by_role("button", name="Reset").first.click()
    soon(photo.marks, lambda now: now == before, 30)
    assert photo.marks() == before


def test_a_mark_is_moved_by_keys_and_no_key_is_a_command(photographed):
    photo = photographed
    all_before, words = photo.marks(), photo.words()
    before = all_before["crest_b"]
    photo.page.locator("circle[data-mark=crest_b]").focus()
    for key in ("ArrowRight", "Shift+ArrowDown", "ArrowUp", "x", "d", "d"):
        photo.page.keyboard.press(key)
    assert photo.marks()["crest_b"] == pytest.approx([before[0] + 1, before[1] + 9])
    assert photo.told(words) != words
    assert photo.page.locator(".tapkit-photo").count() == 1
    photo.page.get_by_role("button", name="Reset").first.click()
    assert soon(photo.marks, lambda now: now == all_before) == all_before


def test_lines_settle_on_the_edges_of_the_picture(photographed):
    """Ten pixels off by key, and back on the crests by Enter; the key for all leaves what lies right."""
    photo, there = photographed, photographed.page.locator(".tapkit-photos")
    before = photo.marks()
    mark = photo.page.locator("circle[data-mark=crest_a]")
    mark.focus()
    photo.page.keyboard.press("Shift+ArrowRight")
    assert photo.marks()["crest_a"][0] > before["crest_a"][0] + 4
    photo.page.keyboard.press("Enter")
    assert soon(there.locator(".tapkit-help").inner_text, lambda text: "On the edges" in text).count("crests") == 1
    assert photo.marks()["crest_a"] == pytest.approx(before["crest_a"], abs=1.5)
    there.get_by_role("button", name="Settle on edges").click()
    after = photo.marks()
    assert max(abs(a - b) for key in before for a, b in zip(before[key], after[key])) < 1.5
    photo.page.get_by_role("button", name="Reset").first.click()
    soon(photo.marks, lambda now: now == before, 30)


@pytest.mark.parametrize("thread", ["M3", "M12x1", "1/4-20"])
def test_settled_lines_tell_the_chamfer_of_fine_and_short_ones(photographed, thread):
    """Marks of a hand three pixels off, on pictures sound and spoilt: within 1° and 0.1 thread in all but one of 24,
    where marks good to a pixel reach it in two of three."""
    fit = (Path(photoexample.__file__).parent / "edgefit.js").read_text("utf-8")
    rng, good = np.random.default_rng(5), []
    taps = [Tap.make(thread, "straight", threads) for threads in (1.2, 2.5, 5.0)]
    cameras = [photoexample.facing(tap, photos.SIZE, 1.7) for tap in taps]
    made = [(camera, photoexample.side_marks(camera)) for camera in cameras]
    scales = [photos.read_wound(camera.tap, true, true)[1][0] for camera, true in made]
    for ((camera, true), scale), how in itertools.product(zip(made, scales), ("sound", "all at once")):
        tap, seen = camera.tap, photos.carried(camera, how, true)
        pixels = np.clip(photos.taken(camera, **photos.SPOILT[how]), 0, 255).astype(np.uint8)
        for _ in range(4):
            marks = {key: tuple(np.array(at) + rng.normal(0, 0.5, 2)) for key, at in seen.items()}
            lines = [(name, tapphoto.SIDE[name]) for name in ("crest", "chamfer", "point")]
            hand = {key: np.array(seen[key]) + rng.uniform(-3, 3, 2) for _name, keys in lines for key in keys}
            axis = np.mean([hand["point_a"], hand["point_b"]], axis=0)[0]
            asked = [
                [*(hand[key].tolist() for key in keys), None if name == "point" else [axis, float(hand[keys[0]][1])]]
                for name, keys in lines
            ]
            found = photographed.page.evaluate(SETTLED % fit, [base64.b64encode(pixels.tobytes()).decode(), asked])
            for (_name, keys), ends in zip(lines, found):
                marks |= dict(zip(keys, map(tuple, ends)))
            read = tapphoto.read_side(marks, scale)
            near = abs(read["chamfer_length"] / tap.thread.pitch - tap.chamfer_threads) < 0.1
            good.append(near and abs(read["chamfer_angle"] - tap.chamfer_angle) < 1.0)
    assert sum(good) >= len(good) - 1


SETTLED = """([text, lines]) => {
    %s
    const bytes = atob(text), size = Math.sqrt(bytes.length);
    const light = { data: Float32Array.from(bytes, (c) => c.charCodeAt(0)), width: size, height: size };
    return lines.map(([a, b, inside]) => settled(light, a, b, 10, inside));
}"""


def test_a_picture_is_dropped_and_stays_in_the_page(photographed):
    photo = photographed
    sent, cdp = [], photo.page.context.new_cdp_session(photo.page)
    cdp.send("Network.enable")
    cdp.on("Network.webSocketFrameSent", lambda event: sent.append(len(event["response"]["payloadData"])))
    photo.page.on("request", lambda request: sent.append(len(request.post_data_buffer or b"")))
    before = photo.marks()
    photo.drop(b"no picture", "notes.txt", "text/plain")
    assert "no picture this browser can show" in soon(
        photo.page.locator(".tapkit-photos .tapkit-help").inner_text, lambda text: "no picture" in text
    )
    photo.drop(b"no picture", "broken.png", "image/png")
    assert photo.marks() == before
    photo.drop(picture(), "tap.png", "image/png")
    shown = photo.page.locator(".tapkit-photo img")
    expect(shown).to_have_attribute("src", re.compile("^blob:"))
    box = photo.page.locator(".tapkit-photo svg").get_attribute("viewBox")
    assert box == "0 0 900 1200"
    after = soon(photo.marks, lambda now: now != before)
    assert all(0 <= x <= 900 and 0 <= y <= 1200 for x, y in after.values())
    assert 0 < sum(sent) < len(picture()) / 3, "the places of the marks are told, and no pixel"
    photo.page.locator(".tapkit-photos input[type=file]").set_input_files(
        {"name": "b.png", "mimeType": "image/png", "buffer": picture(size=(640, 480))}
    )
    soon(lambda: photo.page.locator(".tapkit-photo svg").get_attribute("viewBox"), lambda box: box == "0 0 640 480")
    assert photo.page.locator(".tapkit-photo svg").get_attribute("viewBox") == "0 0 640 480"
    photo.page.get_by_role("button", name="Reset").first.click()
    soon(photo.marks, lambda now: now == before, 30)
    assert photo.marks() == before
    assert photo.page.problems == []


@pytest.mark.slow
@pytest.mark.timeout(7200)
def test_hundreds_of_sequences(played):
    """TAPKIT_SEQUENCES=n of them; others with each --hypothesis-seed."""
    play(played, int(os.environ.get("TAPKIT_SEQUENCES", "300")), steps=8, derandomize=False, database=None)
