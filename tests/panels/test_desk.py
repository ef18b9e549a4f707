"""The instructor's desk, step by step, as its buttons work it: from a pasted list to marks, and nothing lost on the way."""

import csv
import io
import os
import sys
import zipfile
from pathlib import Path

import pytest

from tapkit import panels
from tapkit.classroom import sets
from tapkit.classroom.collecting import take
from tapkit.classroom.pasting import understood
from tapkit.classroom.questions import exercise_set
from tapkit.classroom.schoolclass import open_class
from tapkit.exercises import bank, me, ownfile
from tapkit.exercises.record import Record
from tapkit.panels.desk.desk import Desk
from tapkit.panels.myname import my_name
from tapkit.panels.mypage import my_page

NAMES = "1. Moor, Kai\n2. Ruß, Lea\n3. Peña, Noa\n4. Berg, Uma\n5. Lind, Olaf\n"
CHOSEN = ["chamfer-length", "order-by-chamfer-length", "set-the-load", "load-first-tooth"]
PEOPLE, PRINT, COLLECT, MARK, END = range(1, 6)


def press(step, words):

    def found(widget):
        if getattr(widget, "description", None) == words and hasattr(widget, "click"):
            return widget
        return next(filter(None, map(found, getattr(widget, "children", ()))), None)

    button = found(step.widget)
    assert button is not None, words
    assert not button.disabled, words
    button.click()


def told(step):
    return step.told.widget.value


@pytest.fixture
def made(tmp_path):
    """A desk with a class of five on single machines, and a set."""
    return make(tmp_path)


def make(tmp_path, kind="single", **more):
    desk = Desk(tmp_path / "classes")
    first = desk.steps[0]
    first.box.value = NAMES
    first.name.value, first.kind.value = "T1 2027", kind
    for name, value in more.items():
        getattr(first, name).value = value
    press(first, "Make this class")
    assert "is made" in told(first), told(first)
    assert "Make a set in step 3 first" in told(desk.steps[MARK])
    desk.steps[PRINT].name.value, desk.steps[PRINT].pick.chosen = "Test 1", CHOSEN
    press(desk.steps[PRINT], "Make the sheets")
    assert told(desk.steps[MARK]) == ""
    return desk


def test_a_class_has_its_units_chosen_once_and_sheets_tests_polls_and_panels_follow(tmp_path, monkeypatch):
    shared = tmp_path / "shared"
    shared.mkdir()
    desk = make(tmp_path, "shared", shared=str(shared), new_units="inch")
    assert ownfile.home() == shared / "room", "a question kept now is this class's"
    monkeypatch.setattr(ownfile, "_also", [])  # as in the kernels of learners
    monkeypatch.setenv("TAPKIT_FOLDER", str(tmp_path / "kai"))
    me.keep_class_folder(shared)
    assert ownfile.units() == "inch"
    assert "in" in panels.tip().sentence
    assert " mm" not in panels.tip().sentence + str(panels.bench().words.value)
    deck = panels.quiz("most-loaded-tooth", record=Record(tmp_path / "r.jsonl")).deck
    assert [deck.at(n).draft.system for n in range(7)] == ["inch"] * 6 + ["metric"]
    assert len({deck.at(n).seed for n in range(80)}) == 80
    assert deck.at(40).index == deck.at(0).index
    ownfile.look_in(shared / "room")
    step = desk.steps[PRINT]
    chosen = ["chamfer-length", "most-loaded-tooth", "percent-of-a-hole"]
    step.name.value, step.pick.chosen = "Inch", chosen
    press(step, "Make the sheets")
    step.name.value = "On the screen"
    press(step.test, "Make it a test on the screen")
    assert "inch" in (shared / "room" / "tests.csv").read_text()
    for title in ("Inch", "On the screen"):
        one = sets.set_of(desk.school, title)
        before = sets.sheets_of(desk.school, one)
        for own in before:
            assert [q.draft.system for q in own.questions] == ["metric", "inch", "inch"], "no inch thread in the first"
            right = {q.exercise.name: q.right_text for q in own.questions}
            sets.type_in(desk.school, one, own.learner.id, right)
        marks = sets.marks_of_set(desk.school, one, sets.How())
        assert not marks.problems
        assert {marks.points(own.learner.id) for own in before} == {3.0}
        desk.steps[0].units.value = "metric"
        assert "keep their units" in told(desk.steps[0])
        assert sets.sheets_of(desk.school, sets.set_of(desk.school, title)) == before
        assert sets.marks_of_set(desk.school, one, sets.How()).results == marks.results
    assert ownfile.units() == "metric"


def answers_of(monkeypatch, folder, name, *texts, chosen=CHOSEN, seed=5):
    """A record written by the learner's own workbook, the name given once at Start here."""
    for key in ("TAPKIT_LEARNER", "TAPKIT_CLASS_NAME", "TAPKIT_RECORDS"):
        monkeypatch.delenv(key, raising=False)
    folder.mkdir(exist_ok=True)
    monkeypatch.setenv("TAPKIT_FOLDER", str(folder))
    me.keep_name(name)
    record = Record(folder / "my-answers.jsonl")
    for one, text in zip(exercise_set(", ".join(chosen)), texts):
        question = one.variant(seed)
        assert record.add(question, question.right_text if text == "right" else text).saved
    return record.path.read_bytes()


def test_nothing_is_made_before_what_was_understood_is_shown(tmp_path):
    desk = Desk(tmp_path / "classes")
    first = desk.steps[0]
    assert first.make.disabled
    first.box.value = "Name;Vorname\nMoor;Kai\n"
    assert "Kai Moor" in first.seen.value
    assert not (tmp_path / "classes").exists()
    first.box.value = "a,b\nc,d,e\n"
    assert first.make.disabled
    assert "does not name the columns" in told(first)


@pytest.mark.parametrize(
    ("data", "names"),
    [
        ("Name;Vorname\nMoor;Kai\n", ["Kai Moor"]),
        ("Nr.;Name;Vorname\n1;Moor;Kai\n2;Moor;Kai\n", ["Kai Moor", "Kai Moor"]),
        ("1. Moor, Kai\n2. Berg, Uma\n", ["Kai Moor", "Uma Berg"]),
        ("1\tKai Moor\n2\tUma Berg\n", ["Kai Moor", "Uma Berg"]),
        ("Kai Moor\nUma Berg", ["Kai Moor", "Uma Berg"]),
        ("Moor\tKai\tT1\nRuß\tLea\tT2".encode("utf-16"), ["Kai Moor", "Lea Ruß"]),
        ("Moor;Kai\nPeña;Noa".encode("cp1252"), ["Kai Moor", "Noa Peña"]),
        ("\ufeffNom,Prénom\nMoor,Kai\n", ["Kai Moor"]),
    ],
)
def test_lists_are_understood_as_people_have_them(data, names):
    roster = understood(data)
    assert [one.name for one in roster] == names
    assert len({one.id for one in roster}) == len(names)


def test_a_class_that_is_there_is_not_made_again(made):
    before = open_class(made.school.folder.root).seed
    first = made.steps[0]
    first.box.value, first.name.value = NAMES, "t1 2027"
    press(first, "Make this class")
    assert "choose another name" in told(first)
    assert open_class(made.school.folder.root).seed == before


def test_people_come_change_their_name_and_leave(made, monkeypatch, tmp_path):
    people = made.steps[PEOPLE]
    sheet = made.school.folder.key / "sheets/test-1/sheets/sheet-kai-moor.html"
    before = sheet.read_bytes()
    people.name.value = "Ina Holm"
    press(people, "Add")
    assert "Ina Holm is in the class" in told(people)
    press(made.steps[PRINT], "Add late learners")
    assert sheet.read_bytes() == before
    late = (made.school.folder.key / "sheets/test-1/sheets/late.html").read_text("utf-8")
    assert "Ina Holm" in late
    assert "Kai Moor" not in late
    take(made.school, "x", answers_of(monkeypatch, tmp_path / "kai", "Kai Moor", "right"))
    people.pick.value, people.new.value = "kai-moor", "Kai Moor-Berg"
    press(people, "Change the name")
    assert take(made.school, "y", answers_of(monkeypatch, tmp_path / "kai2", "kai moor", "right")).learner == "kai-moor"
    press(people, "Take out of the class")
    assert "tick the box" in told(people)
    people.pick.value, people.sure.value = "kai-moor", True
    press(people, "Take out of the class")
    assert made.school.roster.find("kai-moor") is None
    people.name.value = "Kai Moor"
    press(people, "Add")
    assert (made.school.records / "kai-moor/records/answers-kai-moor.jsonl").exists()


def test_files_of_any_name_find_their_learner(made, monkeypatch, tmp_path):
    collect = made.steps[COLLECT]
    first = answers_of(monkeypatch, tmp_path / "a", "kai moor", "right")
    more = answers_of(monkeypatch, tmp_path / "a", "kai moor", "right", "right")
    collect.take("my-answers (3).jsonl", more, True)
    assert "answers taken in" in collect.seen.value
    collect.take("older.jsonl", first, True)
    assert "is here already" in collect.seen.value
    other = answers_of(monkeypatch, tmp_path / "b", "Kai Moor", "1 mm", seed=9)
    collect.take("copied.jsonl", other, True)
    assert "second record" in collect.seen.value
    place = made.school.records / "kai-moor/records"
    assert (place / "answers-kai-moor.jsonl").read_bytes() == more
    assert (place / "answers-kai-moor (2).jsonl").read_bytes() == other
    collect.take("holiday.jpg", b"\xff\xd8\xff", True)
    assert "holds no answers" in collect.seen.value
    press(made.steps[MARK], "Mark")
    assert made.steps[MARK].marks.points("kai-moor") == 2


def test_a_record_of_somebody_unknown_is_asked_for_once(made, monkeypatch, tmp_path):
    collect = made.steps[COLLECT]
    data = answers_of(monkeypatch, tmp_path / "a", "Olli", "right")
    collect.take("x.jsonl", data, True)
    assert "Olli is not in the class" in collect.seen.value
    collect.whose.children[0].children[0].value = "olaf-lind"
    press(collect, "So it is")
    assert (made.school.records / "olaf-lind/records/answers-olaf-lind.jsonl").read_bytes() == data
    assert take(made.school, "again", data).learner == "olaf-lind"
    press(made.steps[MARK], "Mark")
    assert made.steps[MARK].marks.points("olaf-lind") == 1


def test_a_name_misspelt_at_first_takes_no_answers_from_its_learner(made, monkeypatch, tmp_path):
    collect, mark = made.steps[COLLECT], made.steps[MARK]
    answers_of(monkeypatch, tmp_path / "a", "Olaf Lnid", "right")
    data = answers_of(monkeypatch, tmp_path / "a", "Olaf Lind", "", "right", "right")
    collect.take("x.jsonl", data, True)
    press(mark, "Mark")
    assert mark.marks.points("olaf-lind") == 2
    asked = collect.whose.children[0].children[0]
    assert "Olaf Lnid, who answered in x.jsonl too" in asked.description
    assert asked.value == "olaf-lind"
    press(collect, "So it is")
    assert not collect.whose.children
    press(mark, "Mark")
    assert mark.marks.points("olaf-lind") == 3


def test_a_shared_folder_brings_them_in(monkeypatch, tmp_path):
    shared = tmp_path / "shared"
    shared.mkdir()
    desk = make(tmp_path, "shared", shared=str(shared))
    for number, name in enumerate(("Kai Moor", "Ruß Lea")):
        answers_of(monkeypatch, tmp_path / str(number), name, "right", "right")
        monkeypatch.delenv("TAPKIT_ROOM", raising=False)
        box, asked = my_name(), panels.room()
        assert asked.inner is None
        box.folder.value = str(shared)
        assert asked.inner is not None, "the folder is asked for once on a page"
        asked.inner.stop()
        mine = my_page(record=Record(tmp_path / str(number) / "my-answers.jsonl"))
        assert mine.hand_in().parent == shared / "records"
    assert not list(shared.glob("**/seed.txt"))
    name = bank.exercises()[0].name
    (shared / "records" / "typed.csv").write_text(f"id,{name}\nkai,0 mm\n")
    press(desk.steps[COLLECT], "Fetch from the shared folder")
    assert "drop it on the desk where it is yours" in desk.steps[COLLECT].seen.value
    assert not list(desk.school.folder.key.glob("typed/*"))
    assert "Nothing yet from: Noa Peña, Uma Berg, Olaf Lind" in told(desk.steps[COLLECT])
    press(desk.steps[MARK], "Mark")
    assert [desk.steps[MARK].marks.points(id) for id in ("kai-moor", "lea-russ")] == [2, 2]


def test_own_questions_that_are_set_go_where_learners_read_them(monkeypatch, tmp_path):
    (tmp_path / "mine").mkdir()
    monkeypatch.setenv("TAPKIT_FOLDER", str(tmp_path / "mine"))
    for name in ("TAPKIT_ROOM", "TAPKIT_CLASS"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(ownfile, "_also", [])
    row = {"title": "Mine", "lesson": "1", "kind": "like turns-to-the-floor"}
    part = "part;thread;hole;depth;metal\npedal plate;M8;blind;16 mm;C45\nbracket;M6;blind;12 mm;AlCuMg1\n"
    (tmp_path / "mine" / "parts.csv").write_text(part, encoding="utf-8")
    (tmp_path / "mine" / "questions.csv").write_text(
        "title;lesson;kind\n" + ";".join(row.values()) + "\nOther;1;number\n", encoding="utf-8"
    )
    (tmp_path / "shared").mkdir()
    desk = make(tmp_path, "shared", shared=str(tmp_path / "shared"))
    desk.steps[PRINT].name.value, desk.steps[PRINT].pick.chosen = "Own", ["own-mine"]
    for _time in range(2):
        press(desk.steps[PRINT], "Make the sheets")
    monkeypatch.setenv("TAPKIT_FOLDER", str(tmp_path / "learner"))
    monkeypatch.setattr(ownfile, "_also", [tmp_path / "shared" / "room"])
    assert list(bank.own_found().exercises) == ["own-mine"]
    assert set(ownfile.own_parts()) == {"pedal plate", "bracket"}


def test_a_class_as_windows_machines_bring_it(monkeypatch, tmp_path):
    """A stand-in: lists and records as they come from there. It was not run on Windows."""
    desk = Desk(tmp_path / "classes")
    first = desk.steps[0]
    listed = "\ufeffName;Vorname\r\nMoor;Kai\r\nMOOR;KAI\r\nNul;\r\nLea;Zoë\r\n".encode("utf-16-le")
    first.read(listed, "Liste.csv")
    first.name.value, first.kind.value = "NUL", "single"
    press(first, "Make this class")
    assert "is made" in told(first), told(first)
    assert desk.school.folder.root.name == "id-nul"
    ids = [one.id for one in desk.school.roster]
    assert len({id.casefold() for id in ids}) == len(ids)
    assert not set(ids) & {"nul", "con"}
    desk.steps[PRINT].name.value, desk.steps[PRINT].pick.chosen = "Aux", CHOSEN
    press(desk.steps[PRINT], "Make the sheets")
    lines = answers_of(monkeypatch, tmp_path / "kai", "Kai Moor", "right", "right").replace(b"\n", b"\r\n")
    desk.steps[COLLECT].take(r"C:\Users\Kai\answers-kai-moor (1).jsonl", lines, True)
    press(desk.steps[MARK], "Mark")
    assert desk.steps[MARK].marks.points("kai-moor") == 2


def test_on_single_machines_questions_and_tests_are_given_as_files(monkeypatch, tmp_path):
    desk = make(tmp_path, "single")
    (desk.school.folder.root / "questions.csv").write_text("title;lesson;kind\nMine;1;number\n", encoding="utf-8")
    desk.refresh()
    give = desk.steps[PRINT].give
    assert [item["label"] for item in give.items] == ["Save questions.csv"]
    learner = tmp_path / "learner"
    learner.mkdir()
    monkeypatch.setenv("TAPKIT_FOLDER", str(learner))
    box = my_name()
    box.take("questions (2).csv", give._files[0].content(), True)
    assert "questions.csv is taken in, 1 row." in box.said.value
    box.take("q.csv", b"\xef\xbb\xbftitle;lesson;kind\r\nOther;1;number\r\n", True)
    assert "Other" in (learner / "questions.csv").read_text(encoding="utf-8")
    assert "Mine" in (learner / "questions-before.csv").read_text(encoding="utf-8")
    box.take("holiday.csv", b"day;place\n", True)
    assert "Not kept: holiday.csv holds no questions" in box.said.value


def test_paper_is_typed_and_what_cannot_be_read_is_put_right_in_place(tmp_path):
    desk = make(tmp_path, "paper")
    collect, mark = desk.steps[COLLECT], desk.steps[MARK]
    own = sets.sheets_of(desk.school, sets.sets_of(desk.school)[0])[0]
    right = {q.exercise.name: q.right_text for q in own.questions}
    for name, box in collect.boxes.items():
        box.value = right[name] if name != "chamfer-length" else "b mm?"
    press(collect, "Keep, next learner")
    assert collect.who.value == "lea-russ"
    press(mark, "Mark")
    assert mark.marks.points("kai-moor") == 3
    assert own.code in mark.odd.children[2].children[0].value
    assert "b mm?" in mark.odd.children[2].children[0].value
    first = sets.latest(desk.school)
    mark.odd.children[2].children[1].value = right["chamfer-length"]
    press(mark, "Take this, mark again")
    assert mark.marks.points("kai-moor") == 4
    assert sets.latest(desk.school) != first
    assert '"?"' in (first / "gradebook.csv").read_text("utf-8-sig")
    collect.who.value = "kai-moor"
    assert collect.boxes["chamfer-length"].value == "b mm?"
    details = (sets.latest(desk.school) / "details.csv").read_text("utf-8-sig")
    (row,) = (r for r in csv.DictReader(io.StringIO(details)) if r["answer"] == "b mm?")
    assert row["means"] == right["chamfer-length"]
    page = (sets.latest(desk.school) / "marks.html").read_text("utf-8")
    assert f'b mm? <span class="soft">(it means {row["means"]})' in page
    assert told(mark) == "", "what was judged before stands no longer beside"


def test_nothing_typed_from_paper_is_lost_whatever_is_pressed_next(tmp_path, monkeypatch):
    desk = make(tmp_path, "paper")
    collect = desk.steps[COLLECT]
    (one,), (kai, lea) = sets.sets_of(desk.school), (p.id for p in list(desk.school.roster)[:2])
    box = collect.boxes["chamfer-length"]
    box.value = "3 mm"
    collect.who.value = lea
    assert sets.typed(desk.school, one, kai)["chamfer-length"] == "3 mm", "another learner is chosen without Keep"
    box.value = "3.75 mm"
    assert sets.typed(desk.school, one, kai)["chamfer-length"] == "3.75 mm", (
        "a letter that came after the boxes changed"
    )
    assert sets.typed(desk.school, one, lea)["chamfer-length"] == ""
    full = OSError(28, "No space left on device")
    with monkeypatch.context() as disk:
        disk.setattr(sys.modules["tapkit.panels.desk.collect"], "type_in", lambda *_more: (_ for _ in ()).throw(full))
        collect.boxes["chamfer-length"].value = "6 mm"
        collect.who.value = kai
        assert "Not done: no space left on device" in told(collect)
    assert collect.boxes["chamfer-length"].value == "3.75 mm"
    collect.who.value = lea
    assert collect.boxes["chamfer-length"].value == "6 mm"
    assert sets.typed(desk.school, one, lea)["chamfer-length"] == "6 mm"


def test_a_letter_that_comes_after_keep_stands_in_the_box_of_the_last_learner(tmp_path):
    desk = make(tmp_path, "paper")
    collect = desk.steps[COLLECT]
    (one,), last = sets.sets_of(desk.school), list(desk.school.roster)[-1].id
    collect.who.value = last
    before = collect.boxes["chamfer-length"]
    before.value = "3"
    press(collect, "Keep, next learner")
    assert f"sheets typed: 1 of {len(desk.school.roster)}" in told(collect)
    before.value = "3.75 mm"
    assert collect.boxes["chamfer-length"].value == "3.75 mm"
    press(collect, "Keep, next learner")
    assert sets.typed(desk.school, one, last)["chamfer-length"] == "3.75 mm"


def test_every_set_is_in_one_gradebook(tmp_path):
    desk = make(tmp_path, "paper")
    desk.steps[PRINT].name.value, desk.steps[PRINT].pick.chosen = "Test 2", ["inclination"]
    press(desk.steps[PRINT], "Make the sheets")
    assert {desk.steps[step].sets.value for step in (PRINT, COLLECT, MARK)} == {"Test 2"}
    desk.steps[COLLECT].sets.value = "Test 1"
    desk.steps[COLLECT].refresh()
    assert desk.steps[COLLECT].sets.value == "Test 1"
    for title in ("Test 1", "Test 2"):
        desk.steps[MARK].sets.value = title
        press(desk.steps[MARK], "Mark")
    desk.steps[MARK].cells.value = "semicolon"
    press(desk.steps[MARK], "Mark")
    text = (sets.latest(desk.school) / "all-sets.csv").read_text("utf-8-sig")
    assert text.splitlines()[0] == '"id";"name";"group";"Test 1";"Test 2";"points";"of"'
    assert len(list(desk.school.folder.marks.glob("marks-*"))) == 3
    left, fresh = (desk.school.folder.marks / f".marks-{name}" for name in ("old", "new"))
    for place in (left, fresh):
        place.mkdir()
    os.utime(left, (0, 0))
    press(desk.steps[MARK], "Mark")
    assert not left.exists(), "what a program that ended was filling is cleared away"
    assert fresh.exists()


def test_a_title_is_not_taken_by_other_exercises(made):
    made.steps[PRINT].name.value, made.steps[PRINT].pick.chosen = "test 1", ["inclination"]
    press(made.steps[PRINT], "Make the sheets")
    assert "choose another title" in told(made.steps[PRINT])
    assert len(sets.sets_of(made.school)) == 1


def test_the_term_is_packed_and_the_class_erased(made):
    press(made.steps[END], "Pack the class into one file")
    packed = next(made.archives.glob("*.zip"))
    assert any(name.endswith("key/roster.csv") for name in zipfile.ZipFile(packed).namelist())
    root = made.school.folder.root
    made.steps[END].name.value = "T2"
    press(made.steps[END], "Erase for good")
    assert root.is_dir()
    made.steps[END].name.value = "T1 2027"
    press(made.steps[END], "Erase for good")
    assert not root.exists()
    assert packed.exists()


def test_a_full_disk_leaves_what_was_there(made, monkeypatch):
    mark = made.steps[MARK]
    press(mark, "Mark")
    before = {p: p.read_bytes() for p in made.place.rglob("*") if p.is_file()}

    def full(handle):
        raise OSError(28, os.strerror(28))

    monkeypatch.setattr(os, "fsync", full)
    press(mark, "Mark")
    assert "no space left" in told(mark)
    people = made.steps[PEOPLE]
    people.name.value = "Ina Holm"
    press(people, "Add")
    assert "no space left" in told(people)
    made.steps[COLLECT].boxes["chamfer-length"].value = "6"
    press(made.steps[COLLECT], "Keep, next learner")
    assert "no space left" in told(made.steps[COLLECT])
    assert {p: p.read_bytes() for p in made.place.rglob("*") if p.is_file()} == before


def test_files_are_handed_to_the_page_when_they_are_wanted(made):
    sent = []
    files = made.steps[PRINT].files
    files.send = lambda content, buffers: sent.append((content, bytes(buffers[0])))
    assert [item["label"] for item in files.items][:2] == ["Print the sheets", "Print them on one side"]
    files.give({"want": 0})
    content, data = sent[0]
    assert content["type"].startswith("text/html")
    assert b"Kai Moor" in data
    Path(made.school.folder.key / "sheets/test-1/sheets/class.html").unlink()
    files.give({"want": 0})
    assert "no such file" in told(made.steps[PRINT])


def test_the_pictures_of_a_lesson_come_when_it_is_opened(made):
    sent = []
    pick = made.steps[PRINT].pick
    pick.send = lambda content, buffers: sent.append((content["picture"], bytes(buffers[0])[:4]))
    pick.hear({"chosen": ["inclination"]})
    assert pick.chosen == ["inclination"]
    pick.hear({"lesson": 3})
    assert {name for name, _data in sent} == {item["name"] for item in pick.lessons[3]["items"]}
    assert {data for _name, data in sent} == {b"\x89PNG"}


def test_another_class_begins_with_nothing_said_of_the_last_one_and_not_in_its_folder(tmp_path):
    (tmp_path / "room").mkdir()
    desk = make(tmp_path, "shared", shared=str(tmp_path / "room"))
    press(desk.steps[MARK], "Mark")
    assert "judged" in told(desk.steps[MARK])
    first = desk.steps[0]
    first.box.value, first.name.value, first.kind.value = NAMES, "On paper", "paper"
    press(first, "Make this class")
    assert desk.school.shared == ""
    assert not any(told(step) for step in desk.steps[1:MARK])
    assert "Make a set in step 3 first" in told(desk.steps[MARK])
