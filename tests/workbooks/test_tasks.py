"""Every "try this" can be done with the controls beside it, panels start with the case told, formulas stand before."""

import ast
import re
from itertools import pairwise

import nbformat
import pytest
from notebooks import BOOKS, LESSONS, cells

from tapkit import panels, tables
from tapkit.exercises.bank import exercises
from tapkit.messages import said
from tapkit.panels.state import Pick, words
from tapkit.parameters import Parameter
from tapkit.planning.press import press_part

BUTTONS = ("Reset", "Inch", "Projector size")
PARTS = [
    ("02", "chips", "crosshead"),
    ("04", "drills", "spout plate"),
    ("04", "thread_strength", "spout plate"),
    ("05", "holeplan", "guide block"),
    ("05", "hole", "guide block"),
    ("06", "sayings", "crosshead"),
    ("07", "choice", "thrust plate"),
    ("08", "cycle", "crosshead"),
    ("08", "setup_card", "crosshead"),
]
"""Lesson, panel, and the part of the press its text tells of."""


def panel_of(source):
    """What a cell shows."""
    call = ast.parse(source).body[0].value
    values = {k.arg: ast.literal_eval(k.value) for k in call.keywords}
    return getattr(panels, call.func.attr)(*map(ast.literal_eval, call.args), **values)


def tasks(book):
    """Each task of a workbook with the call of the panel it stands below, and whether *More* was opened before it."""
    shown = None
    for cell in nbformat.read(book, as_version=4).cells:
        if cell.cell_type == "code":
            shown = cell.source if cell.source.startswith("panels.") else shown
            continue
        for block in re.findall(r"(?:Try this|to try):\n\n((?:\d\..*(?:\n(?!\n).*)*\n?)+)", cell.source):
            opened = False
            for item in re.split(r"\n(?=\d\.)", block):
                opened = opened or "*More*" in item
                yield shown, " ".join(item.split()), opened


def trouble(panel, task, opened):
    """What cannot be done as the task says it."""
    controls = {said(words(c.label)): c for c in panel.spec.controls}
    found = [m for m in re.finditer(r"\*\*([^*]+)\*\*", task) if m[1] not in BUTTONS]
    can_be_dragged = "turn" in panel.spec.hidden and "Drag the tap in the picture" in task
    if "**" not in task and not can_be_dragged:
        yield "names no control"
    for this, after in pairwise([*found, None]):
        told = task[this.end() : after.start() if after else None]
        control = controls.get(this[1])
        if control is None:
            yield f"no control {this[1]}; there are {', '.join(controls)}"
            continue
        if control.key in panel.spec.hidden:
            yield f"{this[1]} is not shown"
        main = panel.spec.main or [control.key]
        if control.key not in main and not opened:
            yield f"{this[1]} is under More, which the task does not say"
        for value in re.findall(r"(?<!\*)\*([^*]+)\*(?!\*)", told):
            if value == "More":
                continue
            if isinstance(control, Pick) and value not in [said(text) for text, _ in control.pairs]:
                yield f"{this[1]} has no {value}"
            if isinstance(control, Parameter):
                low, high = control.range(panel.controls.state.basis)
                if not low <= float(value.replace("−", "-")) <= high:
                    yield f"{this[1]} goes from {low} to {high}, not to {value}"


@pytest.mark.parametrize("book", BOOKS, ids=lambda b: b.stem)
def test_every_task_can_be_done_in_the_words_of_its_controls(book):
    made = {}
    for source, task, opened in tasks(book):
        panel = made.setdefault(source, None) or panel_of(source)
        made[source] = panel
        assert list(trouble(panel, task, opened)) == [], task


def test_each_lesson_has_tasks():
    assert [b.stem for b in LESSONS if not list(tasks(b))] == []


def test_a_task_that_cannot_be_done_is_found():
    panel = panels.chips()
    for task, part in (
        ("Move **Missing tooth** up.", "no control"),
        ("Set **Flute form** to *bent*.", "has no bent"),
        ("Move **Chamfer length** to *40*.", "goes from"),
        ("Move **Axial rake** to *-5*.", "under More"),
        ("Look hard.", "names no control"),
    ):
        assert any(part in said_ for said_ in trouble(panel, task, False)), task


@pytest.mark.parametrize(("lesson", "name", "part"), PARTS)
def test_a_panel_starts_and_resets_to_the_part_the_lesson_tells_of(lesson, name, part):
    book = next(b for b in LESSONS if b.name.startswith(lesson))
    source = next(c.source for c in cells(book, "code") if c.source.startswith(f"panels.{name}("))
    panel, told = panel_of(source), press_part(part)
    assert part in " ".join("".join(c.source for c in cells(book, "markdown")).split())
    start = vars(panel.values)
    assert start["thread"] == told.thread.designation
    assert start["work"] == told.workpiece.name
    assert start.get("kind", told.hole) == told.hole
    assert start.get("full", told.depth) == told.depth
    assert start.get("deep", told.depth) == told.depth
    assert start.get("engaged", told.depth) == told.depth
    assert panel.problem is None
    panel.set(thread="M16x2").reset()
    assert vars(panel.values) == start


@pytest.mark.parametrize("book", LESSONS, ids=lambda b: b.stem)
def test_every_formula_an_exercise_needs_stands_before_it(book):
    shown, missing = set(), []
    for cell in cells(book, "code"):
        call = ast.parse(cell.source).body[0].value if cell.source.startswith("panels.") else None
        if call is None:
            continue
        given = [ast.literal_eval(a) for a in call.args]
        asked = {k.arg: ast.literal_eval(k.value) for k in call.keywords}
        if call.func.attr in ("formula", "formulas"):
            shown.update(given)
        if call.func.attr in ("quiz", "worked", "faded"):
            found = [e for e in exercises() if e.name == given[0]]
        else:
            found = exercises(lesson=asked["lesson"], core=asked["core"]) if call.func.attr == "exercises" else []
        missing += [(e.name, f) for e in found for f in e.formulas if f not in shown and call.func.attr != "quiz"]
    assert missing == []


def test_an_exercise_that_asks_a_number_names_its_formula():
    """But for one that only adds or takes what the question gives."""
    known = {row["name"] for row in tables.rows("formulas")}
    assert {f for e in exercises() for f in e.formulas} <= known
    assert [e.name for e in exercises(kind="number") if not e.formulas] == ["load-after-a-lost-tooth"]


@pytest.mark.parametrize("book", LESSONS, ids=lambda b: b.stem)
def test_the_text_asks_the_core_and_more_practice_the_rest(book):
    code = "\n".join(c.source for c in cells(book, "code"))
    lesson = int(book.name[:2])
    core, rest = (code.find(f"panels.exercises(lesson={lesson}, core={which})") for which in (True, False))
    assert 0 < core < rest or not exercises(lesson=lesson, core=False)
