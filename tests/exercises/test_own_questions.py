"""Questions of a class's own: rows of a spreadsheet file become exercises like ours; bad rows are told by line and column."""

import csv
import io
import math
import re
from pathlib import Path

import pytest
from matplotlib.text import Text

from tapkit import setupline, spreadsheet
from tapkit.classroom.sheetpage import mistakes_in_words
from tapkit.drawing.sketch import figure_of
from tapkit.exercises import bank, ownfile
from tapkit.exercises.number import holds
from tapkit.exercises.ownlook import DRAWINGS
from tapkit.exercises.ownquestions import HEADS, question_of, questions_of
from tapkit.exercises.ownvalues import part_of
from tapkit.exercises.quantities import askable, askables, read_slip
from tapkit.geometry.thread import Thread
from tapkit.planning.press import press_parts

SET_UP = "M10x1.5 plug | through 8.5 x 15 | C45"
CHAMFER = {
    "title": "How long is the chamfer",
    "lesson": "1",
    "kind": "number",
    "text": "A tap {thread} is ground over {chamfer} threads. How long is its chamfer?",
    "set-up": SET_UP,
    "varies": "chamfer = 2.5; 4; 8 | thread = M8; M10; M12; 1/4-20",
    "asked": "chamfer length along the axis",
    "hint 1": "Each thread is one pitch long.",
    "mistake 1": "pitch",
    "says 1": "That is one thread alone.",
    "mistake 2": "/ 2",
    "says 2": "You halved it.",
    "why": "Threads times pitch.",
}
SMALLEST = {
    "title": "Least force",
    "lesson": "3",
    "kind": "choose the smallest",
    "text": "You tap {work}. With which chamfer does the hardest-loaded tooth bear least?",
    "set-up": SET_UP,
    "varies": "work = C45; AlCuMg1",
    "compare": "chamfer = 1.5; 4; 8",
    "asked": "largest_force",
    "mistake 1": "1.5",
    "says 1": "The shortest chamfer has the fewest teeth.",
}
PARTS = [
    {"part": "pedal plate", "scenario": "go-kart", "thread": "M8", "hole": "through", "depth": "12", "metal": "S235JR"},
    {"part": "axle block", "scenario": "go-kart", "thread": "M10", "hole": "blind", "depth": "20", "metal": "C45"},
    {
        "part": "bracket",
        "scenario": "go-kart",
        "thread": "1/4-20",
        "hole": "through",
        "depth": ".375",
        "metal": "AlCuMg1",
    },
]


def sheet(*rows, separator=";", heads=HEADS):
    out = io.StringIO()
    write = csv.DictWriter(out, heads, delimiter=separator)
    write.writeheader()
    write.writerows(rows)
    return out.getvalue()


def found(*rows, parts=()):
    table = spreadsheet.read_sheet(sheet(*rows).encode())
    own = {p.part: p for p in map(part_of, parts)}
    return questions_of(table, own, {e.name: e for e in bank.exercises()})


@pytest.fixture
def class_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("TAPKIT_ROOM", str(tmp_path))
    monkeypatch.setattr(ownfile, "_also", [])
    monkeypatch.setenv("TAPKIT_FOLDER", str(tmp_path / "nothing"))
    monkeypatch.delenv("TAPKIT_CLASS", raising=False)
    return tmp_path


def test_every_variant_is_computed_and_its_mistakes_are_known():
    one = question_of(CHAMFER)
    assert len(one) == 12
    assert one.lesson == 1
    assert not one.core
    for question in one.questions:
        _a, _tap, thread, *_b = question.text.split()
        threads = float(question.text.split("over ")[1].split()[0])
        if not thread.startswith("1/4"):
            assert question.judge(f"{threads * Thread.parse(thread).pitch} mm").is_right
        assert question.judge(question.right_text).is_right
        assert {s.says.said() for s in question.ask.mistakes} == {"That is one thread alone.", "You halved it."}
        assert question.hints == ("Each thread is one pitch long.",)
    inch = next(q for q in one.questions if "1/4-20" in q.text)
    assert inch.ask.unit == "in"
    assert math.isclose(inch.ask.right, float(inch.text.split("over ")[1].split()[0]) / 20)
    assert inch.judge("0.05 in").message == "That is one thread alone."


def test_choices_and_orders_follow_the_quantity():
    smallest = question_of(SMALLEST)
    largest = question_of(SMALLEST | {"kind": "choose the largest", "mistake 1": "8"})
    order = question_of(SMALLEST | {"kind": "from smallest to largest"})
    for less, more, row in zip(smallest.questions, largest.questions, order.questions):
        assert less.right_words.endswith("8 threads")
        assert more.right_words.endswith("1.5 threads")
        assert row.right_words.split(": ")[1] == "8 threads; 4 threads; 1.5 threads"
        wrong = next(letter[0] for letter in less.lines if letter.endswith("1.5 threads"))
        assert less.judge(wrong).message == "The shortest chamfer has the fewest teeth."


@pytest.mark.parametrize(("kind", "asked"), [("choose the smallest", "largest_force"), ("choose", "chip_direction")])
def test_a_known_mistake_of_a_choice_is_one_of_what_can_be_chosen(kind, asked):
    row = SMALLEST | {"kind": kind, "asked": asked, "text": "Of {set-up}?", "mistake 1": "pitch"}
    with pytest.raises(ValueError, match=r"column 'mistake 1': 'pitch' is none of what can be chosen; write .* or "):
        question_of(row)


def test_what_is_said_in_words_is_chosen():
    one = question_of(
        {
            "title": "Where do they go",
            "lesson": "2",
            "kind": "choose",
            "text": "Where do the chips go with {set-up}?",
            "set-up": SET_UP,
            "varies": "form = spiral-point; spiral-flute",
            "asked": "which way the chips go",
        }
    )
    assert {q.right_words[3:] for q in one.questions} == {"Ahead of the point", "Toward the shank"}
    assert len({q.right_words[3:] for q in one.questions if "spiral-point" in q.text}) == 1


BAD = [
    ({"title": ""}, "title"),
    ({"lesson": "9"}, "lesson"),
    ({"kind": "riddle"}, "kind"),
    ({"text": ""}, "text"),
    ({"text": "How long with {chamfer}?"}, "text"),
    ({"text": "A {thread} tap with {chamfer} and {colour}"}, "text"),
    ({"text": "A {thread tap with {chamfer}"}, "text"),
    ({"text": "A {thread.__class__} tap, {chamfer}"}, "text"),
    ({"set-up": ""}, "set-up"),
    ({"set-up": "M10 plug"}, "set-up"),
    ({"set-up": "M10x1.5 plug | through 12.5 x 15 | C45", "varies": ""}, "set-up"),
    ({"varies": "chamfer"}, "varies"),
    ({"varies": "colour = red"}, "varies"),
    ({"varies": "chamfer = 2; four"}, "varies"),
    ({"varies": "chamfer = 2; 4 | chamfer = 8"}, "varies"),
    ({"varies": "chamfer = " + "; ".join(str(n / 10) for n in range(10, 180))}, "varies"),
    ({"asked": "beauty"}, "asked"),
    ({"tolerance": "roughly"}, "tolerance"),
    ({"units": "ells"}, "units"),
    ({"mistake 1": "beauty"}, "mistake 1"),
    ({"mistake 1": "× 1.0001"}, "mistake 1"),
    ({"mistake 1": "× 0"}, "mistake 1"),
    ({"says 1": ""}, "says 1"),
    ({"kind": "choose the largest", "compare": ""}, "compare"),
    ({"kind": "choose the largest", "compare": "chamfer = 2"}, "compare"),
    ({"kind": "like chamfer-lenght"}, "kind"),
    ({"kind": "like turns-to-the-floor"}, "kind"),
    ({"title": "…"}, "title"),
    ({"drawing": "map"}, "drawing"),
]


@pytest.mark.parametrize(("changes", "column"), BAD, ids=[f"{c}-{i}" for i, (_r, c) in enumerate(BAD)])
def test_a_bad_row_is_told_by_line_and_column_and_the_others_stay(changes, column):
    seen = found(CHAMFER, CHAMFER | {"title": "Another"} | changes, SMALLEST)
    assert list(seen.exercises) == ["own-how-long-is-the-chamfer", "own-least-force"]
    (told,) = map(str, seen.problems)
    assert told.startswith(f"line 3, column '{column}': ")
    assert "\n" not in told
    assert len(told) < 400


def test_two_of_one_name_and_unknown_headings_are_told():
    assert [str(p)[:24] for p in found(CHAMFER, CHAMFER).problems] == ["line 3, column 'title': "]
    table = spreadsheet.read_sheet(sheet(CHAMFER, heads=(*HEADS, "tolerence")).encode())
    (told,) = questions_of(table, {}, {}).problems
    assert "'tolerence'" in str(told)
    assert "tolerance" in str(told)


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("separator", [";", ",", "\t"])
def test_files_of_any_spreadsheet_are_read(encoding, separator):
    row = CHAMFER | {"title": "Länge der Fase"}
    text = sheet(row, separator=separator)
    for first in ("", f"sep={separator}\r\n", f'"sep={separator}"\r\n'):
        table = spreadsheet.read_sheet((first + text).encode(encoding))
        assert list(questions_of(table, {}, {}).exercises) == ["own-lange-der-fase"]
        assert table.lines == ((2,) if not first else (3,))


def test_own_parts_stand_in_place_of_the_press():
    mine = {"title": "Turns", "lesson": "0", "kind": "like turns-to-the-floor"}
    seen = found(mine, parts=PARTS)
    ours = bank.exercise_named("turns-to-the-floor")
    before = [q.text for q in ours.questions]
    (one,) = seen.exercises.values()
    assert all("axle block of the go-kart" in q.text for q in one.questions)
    assert [q.text for q in ours.questions] == before
    assert "go-kart" not in "".join(before)
    assert all(p.press != "go-kart" for p in press_parts())
    assert one.variant(1).judge(one.variant(1).right_text).is_right


RICH = [
    dict(zip(("part", "scenario", "thread", "hole", "depth", "metal"), row))
    for row in (
        ("pedal plate", "go-kart", "M8", "blind", "16 mm", "C45"),
        ("seat bracket", "go-kart", "M6", "blind", "12 mm", "AlCuMg1"),
        ("floor plate", "go-kart", "M10", "through", "12 mm", "C45"),
        ("axle block", "go-kart", "1/4-20 UNC", "through", "0.5 in", "C45"),
        ("wheel hub", "go-kart", "M12", "through", "20 mm", "X5CrNi18-10"),
        ("steering arm", "go-kart", "M5", "blind", "10 mm", "C45"),
        ("engine mount", "go-kart", "3/8-16 UNC", "blind", "0.75 in", "EN-GJL-250"),
        ("brake lever", "go-kart", "M8", "through", "8 mm", "AlCuMg1"),
        ("tow eye", "go-kart", "M10", "blind", "20 mm", "C45"),
    )
]


def test_every_exercise_that_speaks_of_a_part_or_a_thread_can_be_asked_of_ones_own():
    ours = {e.name: e for e in bank.exercises()}
    parts = {p.part: p for p in map(part_of, RICH)}
    told, texts = {}, []
    for name in ours:
        try:
            one = question_of({"title": f"My {name}", "lesson": "1", "kind": f"like {name}"}, parts, ours)
            texts += [f"{q.text} {q.lines}" for q in one.questions]
            assert one.variant(3).judge(one.variant(3).right_text).is_right, name
        except ValueError as error:
            told[name] = str(error)
    assert {n for n in told if ours[n].lesson != 9} == {"inclination", "neutral-axial-rake", "order-by-lift"}
    assert all("belongs to the final test" in t or "no part, thread or metal" in t for t in told.values())
    presses = ("the press", "export press", "orchard", "old press")
    assert not [text for text in texts if any(press in text for press in presses)]


def test_why_an_exercise_cannot_be_asked_of_these_parts_is_said():
    seen = found({"title": "A", "lesson": "1", "kind": "like drill-depth"}, parts=PARTS[:1])
    assert "drill-depth is asked of several parts with blind holes and metric threads" in str(seen.problems[0])


@pytest.mark.parametrize("asked", ["chamfer_length", "hole", "largest_force"])
@pytest.mark.parametrize("name", DRAWINGS)
def test_a_drawing_is_that_of_the_variant_and_does_not_tell_the_answer(name, asked):
    row = CHAMFER | {"text": "{thread}, {chamfer} threads: how large?", "asked": asked, "drawing": name}
    one = question_of({key: cell for key, cell in row.items() if key not in ("mistake 1", "mistake 2")})
    taps = set()
    for question in one.questions[::11]:
        sketch = question.sketch
        taps.add(getattr(sketch.model, "tap", sketch.model))
        assert sketch.system == question.draft.system
        words = [sketch.alt]
        if sketch.name != "film":
            drawn = figure_of(sketch.name, sketch.model, sketch.system, mask=sketch.mask)
            words += [t.get_text() for t in drawn.findobj(Text) if t.get_visible()]
        assert not any(holds(text, question.ask) for text in words), words
    assert len(taps) == len(one.questions[::11])
    assert not (asked == "largest_force" and sketch.name in ("toothforces", "holeview", "film", "groove"))


def test_a_part_is_a_set_up_and_may_vary():
    row = {
        "title": "Teeth",
        "lesson": "1",
        "text": "The {part} of the {scenario}: {thread}, chamfer {chamfer} threads. How long is the chamfer?",
        "varies": "part = all",
        "asked": "chamfer_length",
    }
    (one,) = found(row, parts=PARTS).exercises.values()
    assert {q.text.split(":")[0] for q in one.questions} == {f"The {p['part']} of the go-kart" for p in PARTS}
    assert {q.ask.unit for q in one.questions} == {"mm", "in"}
    assert "column 'varies': there is no part 'wheel'" in str(
        found(row | {"varies": "part = wheel"}, parts=PARTS).problems[0]
    )


@pytest.mark.parametrize(
    ("changes", "column"),
    [({"part": ""}, "part"), ({"thread": "M0"}, "thread"), ({"hole": "deep"}, "hole"), ({"depth": "x"}, "depth"),
     ({"depth": "9999"}, "depth"), ({"metal": "cheese"}, "metal")],
)  # fmt: skip
def test_a_bad_part_names_its_column(changes, column):
    with pytest.raises(ValueError, match=f"column '{column}': "):
        part_of(PARTS[0] | changes)


def test_every_quantity_can_be_asked_and_is_a_number():
    job = setupline.parse("M10x1.5 spiral-point 4 threads | through 8.5 mm x 15 mm | C45, 10 m/min, oil")
    assert all(math.isfinite(one.value(job)) for one in askables().values())
    assert math.isclose(askable("Spindle speed").value(job), 10000 / (math.pi * 10))
    assert askable("peak torque").value(job) == pytest.approx(job.torque_curve.peak)
    assert read_slip("pitch x 3").value(askable("chamfer length along the axis"), job, "metric") == pytest.approx(4.5)
    assert read_slip("chamfer").value(askable("chamfer_length"), job, "metric") == pytest.approx(4.0)


def test_the_bank_finds_them_and_a_changed_file_is_read_anew(class_folder):
    assert bank.exercises(own=True) == bank.exercises()
    ownfile.add_question(CHAMFER)
    assert bank.exercise_named("own-how-long-is-the-chamfer").lesson == 1
    assert bank.exercises(lesson=1, own=True)[-1].name == "own-how-long-is-the-chamfer"
    assert "own-how-long-is-the-chamfer" not in {e.name for e in bank.exercises()}
    text = (class_folder / "questions.csv").read_text(encoding="utf-8-sig")
    (class_folder / "questions.csv").write_text(text.replace("That is one thread alone.", "Only one thread!"))
    assert (
        bank.exercise_named("own-how-long-is-the-chamfer").variant(0).ask.mistakes[0].says.said() == "Only one thread!"
    )
    with pytest.raises(ValueError, match="there is no exercise own-other"):
        bank.exercise_named("own-other")


def test_a_row_is_added_and_nothing_else_changes(class_folder):
    mine = "title,my notes,lesson\nLater,rückfragen,1\n"
    (class_folder / "questions.csv").write_bytes(mine.encode("cp1252"))
    ownfile.add_question(CHAMFER)
    table = spreadsheet.read_sheet((class_folder / "questions.csv").read_bytes())
    assert table.heads[:3] == ("title", "my notes", "lesson")
    assert table.rows[0][:3] == ("Later", "rückfragen", "1")
    before = (class_folder / "questions.csv").read_bytes()
    with pytest.raises(ValueError, match="there is a question How long is the chamfer already"):
        ownfile.add_question(CHAMFER)
    with pytest.raises(ValueError, match="column 'lesson'"):
        ownfile.add_question(SMALLEST | {"lesson": "nine"})
    assert (class_folder / "questions.csv").read_bytes() == before


def test_the_example_of_the_readme_can_be_asked():
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    questions, parts = (
        spreadsheet.read_sheet(block.encode()) for block in re.findall(r"```csv\n(.*?)```", readme, re.S)
    )
    own, wrong = ownfile.parts_of(parts)
    seen = questions_of(questions, own, {e.name: e for e in bank.exercises()})
    assert (wrong, seen.problems) == ([], ())
    assert len(seen.exercises) == 3
    assert min(len(one) for one in seen.exercises.values()) >= 2


def test_the_key_says_of_a_wrong_choice_what_the_question_says():
    (asked, *_more) = question_of(SMALLEST | {"kind": "choose the largest", "mistake 1": "8"}).questions
    told = {str(words): typed for words, typed in mistakes_in_words(asked).items()}
    assert told == {
        "This is not it. Compare the others again.": ["B"],
        "The shortest chamfer has the fewest teeth.": ["C"],
    }
