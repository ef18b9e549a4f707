"""One press part, one hole: panels, exercises, workbooks and class book agree on drill, depth and tap."""

import json
import re
from pathlib import Path

import pytest

from tapkit import panels
from tapkit.exercises.bank import choosing, holes, shopwork, strengths
from tapkit.panels.fivechoices import PARTS
from tapkit.planning.machine import machine_names
from tapkit.planning.press import press_part, press_parts

WORKBOOKS = Path(__file__).parents[2] / "workbooks"
ONE = press_parts(press="orchard")


def same(part, ask):
    """Whether a hole is the part's own."""
    own = part.ask()
    return (ask.thread, ask.drill, ask.kind, ask.full_thread) == (own.thread, own.drill, own.kind, own.full_thread)


@pytest.mark.parametrize("name", PARTS)
def test_the_panel_of_five_choices_has_the_parts_own_job(name):
    part, five = press_part(name), panels.five_choices()
    assert five.jobs[name] == part.job(five.machine)
    best = part.choice(five.machine).best.tap
    five.choose(name, best.flute_form, best.chamfer_name)
    assert five._judged(name)[0] == best.name


@pytest.mark.parametrize("part", ONE, ids=lambda p: p.part)
def test_the_bank_has_the_parts_own_hole(part):
    assert same(part, choosing.judged_tap(part, "straight", "plug").job.asked)
    if part.is_through:
        assert strengths.through_job(part).hole == part.operation(part.tap("straight", "plug")).hole
    planned = [c.plan.ask for c in holes._plans() if c.part == part]
    assert all(same(part, ask) for ask in planned)
    assert bool(planned) == (not part.is_through)
    for case in shopwork.broken((part,)):
        assert case.diagnosis.job == part.operation()


@pytest.mark.parametrize("machine", machine_names())
def test_the_base_plate_has_one_answer(machine):
    """Grey iron, a through hole: straight flutes, whatever the press and the machine."""
    for part in press_parts():
        if part.part == "base":
            assert part.tap(machine=machine).flute_form == "straight"


def told(notebook):
    cells = json.loads((WORKBOOKS / notebook).read_text(encoding="utf-8"))["cells"]
    return " ".join("".join(c["source"]) for c in cells if c["cell_type"] == "markdown").replace("\n", " ")


def test_the_workbooks_tell_the_parts_as_the_table_has_them():
    words = {"grey-iron": "grey iron", "stainless": "austenitic stainless", "aluminium": "wrought aluminium"}
    words |= {"brass": "leaded brass", "alloy-steel": "alloy steel", "steel": "steel"}
    start = told("00-start-here.ipynb")
    for part in ONE:
        line = next(x for x in re.split(r" - ", start) if part.part.removesuffix("s") in x)
        assert any(word in line and part.workpiece.group == group for word, group in words.items()), part
        size = re.search(rf"{part.part}s? with[^,]* (M\d+)", line)
        assert size is None or part.thread.designation.startswith(size[1] + "x")


def test_lessons_one_and_two_ask_for_taps_of_one_thread_that_send_chips_their_own_way():
    plate, crosshead = press_part("thrust plate"), press_part("crosshead")
    for notebook in ("01-reading-a-tap.ipynb", "02-where-the-chips-go.ipynb"):
        assert "thrust plate" in told(notebook)
        assert "crosshead" in told(notebook)
        assert "base plate" not in told(notebook)
    assert plate.thread == crosshead.thread
    assert plate.tap().flute_form == "spiral-point"
    assert crosshead.tap().flute_form == "spiral-flute"


def test_the_class_book_answers_from_the_same_bank():
    source = (WORKBOOKS / "class-book.ipynb").read_text(encoding="utf-8")
    assert 'panels.answers(\\"07-choosing-a-tap\\")' in source
    assert "spiral" not in "".join(re.findall(r"[^.]*\bbase\b[^.]*\.", told("class-book.ipynb")))
