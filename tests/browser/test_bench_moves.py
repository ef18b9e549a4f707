"""The bench played at random in a real browser: after every move screen, picture and saved file are the state's."""

import json
import os
import random
from pathlib import Path

import nbformat
import psutil
import pytest
from jupyter_client import BlockingKernelClient
from opening import opened, soon
from realbrowser import settled

from tapkit import compare
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
STATE = """dict(A=vars(bench.sides['A'].values), B=vars(bench.sides['B'].values), system=bench.system,
    problem=bench.problem, jobs=[repr(job) for job in bench.jobs], alt=bench.stage.widget.tooltip)"""
CONTROLS = {c.key: c for c in set_up_controls()}
STARTS = {"A": {}, "B": {"form": "spiral-flute", "chamfer": 1.5}}


class Played:
    """The bench in a page, and its kernel."""

    def __init__(self, page, run):
        self.page, self.folder = page, run.folder
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

    def move(self, dice):
        """A control moved at random, as a hand would; what was done, in words."""
        side, key = dice.choice("AB"), dice.choice(list(CONTROLS))
        control = CONTROLS[key]
        if isinstance(control, Pick):
            index = dice.randrange(len(control.pairs))
            if self.row(side, key).locator("select").count():
                self.select(side, key, index)
            else:
                self.type_in(side, key, str(control.pairs[index][0]))
            return side, key, str(control.pairs[index][1])
        if self.row(side, key).is_hidden():
            return side, key, "nothing to move"
        if dice.random() < 0.3:
            text = dice.choice(["3", "0.5", "8,1", "1/4", "#7", "banana", "-4"])
            self.type_in(side, key, text)
            return side, key, text
        presses = dice.choice([["Home"], ["End"], ["ArrowRight"] * 7, ["ArrowLeft", "ArrowLeft"], ["PageUp"]])
        self.slide(side, key, presses)
        return side, key, presses

    def act(self, dice, before):
        """A button pressed, and what must be so after it."""
        what = dice.choice(["A → B", "B → A", "Swap A and B", "Reset", "Inch"])
        self.press(what)
        now = self.check(what)
        if what == "Reset":
            for name, start in STARTS.items():
                assert now[name] == vars(State.begin(set_up_controls(), **start).values), what
            assert now["problem"] is None
        elif what == "Inch":
            assert (now["A"], now["B"]) == (before["A"], before["B"])
            assert now["system"] != before["system"]
        else:
            wanted = {"A → B": "AA", "B → A": "BB", "Swap A and B": "BA"}[what]
            assert [now[n] for n in "AB"] == [before[n] for n in wanted], what
            assert (before["problem"] is None) <= (now["problem"] is None), what
        return (what,)

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


def play(played, seed, steps):
    dice, told = random.Random(seed), [f"seed {seed}"]
    played.press("Reset")
    state = played.check(told)
    for _ in range(steps):
        for _ in range(dice.randint(1, 3)):  # a few at once, as fast as they can be made
            told.append(played.act(dice, played.check(told)) if dice.random() < 0.3 else played.move(dice))
        state = played.check(told)
        if dice.random() < 0.15:
            told.append("save")
            played.save(state)
    assert played.page.problems == []


def test_ten_moves_and_what_the_issue_names(played):
    played.press("Reset")
    start = played.check("reset")
    for thread in ("M6x1", "1 1/2-6 UNC", "M1.6x0.35"):
        played.type_in("A", "thread", thread)
        for name in ("A → B", "Swap A and B", "B → A", "Reset"):
            played.press(name)
            assert played.check((thread, name))["problem"] is None, (thread, name)
    assert played.check("reset") == {**start, "system": "metric"}


@pytest.mark.parametrize("seed", range(2))
def test_random_moves(played, seed):
    play(played, seed, steps=8)


@pytest.mark.slow
@pytest.mark.timeout(7200)
def test_hundreds_of_random_sequences(played):
    first, count = (
        int(os.environ.get(f"TAPKIT_{name}", usual)) for name, usual in (("SEED", "100"), ("SEQUENCES", "300"))
    )
    for seed in range(first, first + count):
        play(played, seed, steps=6)
