"""A test of the class: a plain file, opens and closes by the clock, one answer, numbers of its own; marked like other sets."""

import csv
import re
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import pytest
from classrecords import as_learner

from tapkit.classroom.evidence import Book, gather, tell_overtime
from tapkit.classroom.roster import read_roster
from tapkit.classroom.schoolclass import make_class
from tapkit.classroom.seeds import class_code, learner_seed
from tapkit.classroom.sets import How, make_set, marks_of_set, sets_of, sheets_of, type_in
from tapkit.cli import main
from tapkit.exercises import classtest, locked, ownfile
from tapkit.exercises.classtest import ClassTest, add_test, read_test
from tapkit.exercises.progress import progress
from tapkit.exercises.record import BEGIN, Record
from tapkit.panels import mypage
from tapkit.panels.classtest import SECURE, ClassTestPlace
from tapkit.panels.desk.testing import public_folder
from tapkit.panels.mypage import MyPage

ROW = {"title": "Test 1", "exercises": "chamfer-length, minor-diameter", "opens": "2027-03-02 09:15",
       "closes": "2027-03-02 10:00", "minutes": "30"}  # fmt: skip
NAMES = ("chamfer-length", "minor-diameter")


@pytest.fixture
def school(tmp_path):
    roster = tmp_path / "roster.csv"
    roster.write_text("id,name\nkai,Kai\nlea,Lea\nnoa,Noa\n")
    return make_class(tmp_path / "classes", "T1", "single", read_roster(roster))


@pytest.fixture
def folder(tmp_path, monkeypatch):
    place = tmp_path / "room"
    monkeypatch.setattr(ownfile, "_also", [])
    place.mkdir()
    monkeypatch.setenv("TAPKIT_ROOM", str(place))
    monkeypatch.setenv("TAPKIT_FOLDER", str(tmp_path / "own"))
    monkeypatch.setenv("TAPKIT_RECORDS", str(tmp_path / "own"))
    (tmp_path / "own").mkdir()
    for name in ("TAPKIT_CLASS", "TAPKIT_LEARNER"):
        monkeypatch.delenv(name, raising=False)
    return place


def open_test(minutes=30.0, opened=5, closes=40, title="Test 1"):
    now = datetime.now().replace(second=0, microsecond=0)
    return ClassTest(title, NAMES, now - timedelta(minutes=opened), now + timedelta(minutes=closes), minutes)


@pytest.mark.parametrize(
    ("changes", "column"),
    [
        ({"title": " "}, "title"),
        ({"exercises": ""}, "exercises"),
        ({"exercises": "chamfer-lenght"}, "exercises"),
        ({"exercises": "77"}, "exercises"),
        ({"opens": "tomorrow"}, "opens"),
        ({"opens": "2027-13-02 09:15"}, "opens"),
        ({"closes": "2027-03-02 09:15"}, "closes"),
        ({"minutes": "half an hour"}, "minutes"),
        ({"minutes": "0"}, "minutes"),
    ],
)
def test_a_bad_row_is_told_by_line_and_column_and_the_others_stay(changes, column, folder):
    with pytest.raises(ValueError, match=f"column '{column}': "):
        read_test(ROW | changes)
    with open(folder / "tests.csv", "w", newline="", encoding="utf-8") as file:
        write = csv.DictWriter(file, list(ROW), delimiter=";")
        write.writeheader()
        write.writerows([ROW, ROW | {"title": "Other"} | changes])
    found, problems = classtest.class_tests()
    assert list(found) == ["Test 1"]
    assert [str(p).split("':")[0] for p in problems] == [f"tests.csv, line 3, column '{column}"]


def test_spellings_of_a_row(folder):
    one = read_test(ROW | {"exercises": "1; minor-diameter", "opens": "2.3.2027 9.15", "minutes": "25 min"})
    assert one.opens == datetime(2027, 3, 2, 9, 15)
    assert one.minutes == 25
    assert one.names.count("minor-diameter") == 1
    assert read_test(one.cells()) == one
    add_test(one, folder)
    add_test(read_test(ROW), folder)
    assert classtest.class_tests()[0] == {"Test 1": read_test(ROW)}
    assert classtest.find_class_test(" test  1 ").minutes == 30
    with pytest.raises(ValueError, match="there are: Test 1"):
        classtest.find_class_test("Test 2")


def test_numbers_are_not_those_of_practice_and_differ_by_learner_and_test():
    one, other = open_test(), open_test(title="Test 2")
    asked = [[q.index for q in t.questions(seed)] for t in (one, other) for seed in (7, 8)]
    assert len({t.turn for t in (one, other)}) == 2
    assert min(one.turn, other.turn) >= 1000
    assert len(set(map(tuple, asked))) > 1
    assert all(q.stage == "test" for q in one.questions(7))


def test_a_learner_sits_it_once_without_hints_and_the_rest_is_taken_up(folder):
    test = open_test()
    add_test(test, folder)
    record = Record(folder.parent / "answers.jsonl")
    place = ClassTestPlace(record, 7)
    assert place.seen.state == "open"
    assert place.quiz is None
    place.begin()
    quiz = place.quiz
    question = quiz.attempt.question
    assert question == test.questions(7)[0]
    quiz.answer_box.fill("no number at all")
    quiz.check()
    assert "Cannot read" in quiz.verdict.value
    quiz.answer_box.fill("1234 mm")
    quiz.check()
    assert "taken" in quiz.verdict.value
    assert "right" not in quiz.verdict.value.lower()
    quiz.answer_box.fill(question.right_text)
    quiz.check()
    assert [e.answer for e in record.history().entries][-1] == "1234 mm"
    again = ClassTestPlace(record, 7)
    assert again.seen.state == "begun"
    assert again.quiz.attempt.question == test.questions(7)[1]
    again.quiz.answer_box.fill(again.quiz.attempt.question.right_text)
    again.quiz.check()
    again.quiz.next()
    assert again.quiz is None
    first, *rest = [e.stage for e in record.history().entries]
    assert (first, set(rest)) == ("begin", {"test"})
    assert progress(record.history()).answers == len(rest)


def test_my_page_says_that_a_test_was_handed_in_and_what_came_of_it_only_once_it_has_closed(folder, monkeypatch):
    test = open_test()
    add_test(test, folder)
    monkeypatch.setenv("TAPKIT_SEED", "7")
    record = Record(folder.parent / "answers.jsonl")
    page, place = MyPage(record), ClassTestPlace(record, 7)
    assert "Nothing answered yet" in page.page_shown.value
    place.begin()
    first, second, *others = test.questions(7)
    for question, text in ((first, first.right_text), (second, "1234 mm"), *((q, q.right_text) for q in others)):
        record.add(question, text)
        page.look()
        assert not re.search(r"[✓✗]|variant \d|\d right", page.page_shown.value)
    count = len(test.names)
    assert f"Handed in: {count} of {count} questions answered." in page.page_shown.value
    assert f"at {test.closes:%H:%M}" in page.page_shown.value
    monkeypatch.setattr(mypage, "datetime", SimpleNamespace(now=lambda: test.closes))
    page.look()
    assert f"{count} of {count} questions answered, {count - 1} right." in page.page_shown.value
    assert "1234 mm" in page.page_shown.value


def test_it_opens_and_closes_by_the_clock(folder, monkeypatch):
    test = open_test(minutes=10, opened=-5)
    add_test(test, folder)
    record = Record(folder.parent / "answers.jsonl")
    now = {"at": test.opens - timedelta(minutes=1)}
    monkeypatch.setattr(ClassTestPlace, "now", staticmethod(lambda: now["at"]))
    place = ClassTestPlace(record, 7)
    assert place.seen.state == "before"
    place.begin()
    assert place.seen.state == "before"
    now["at"] = test.opens + timedelta(minutes=1)
    place.look()
    place.begin()
    quiz = place.quiz
    now["at"] += timedelta(minutes=11)
    quiz.answer_box.fill("5 mm")
    quiz.check()
    assert [e.stage for e in record.history().entries] == ["begin"], "no answer is taken any more"
    assert place.seen.state == "over"
    assert "0 of 2" in place._body.children[1].value
    now["at"] = test.closes + timedelta(hours=1)
    assert ClassTestPlace(record, 8).seen.state == "over"


def test_what_stands_in_the_answer_when_the_time_is_over_is_taken(folder, monkeypatch):
    test = open_test(minutes=0)
    add_test(test, folder)
    record = Record(folder.parent / "answers.jsonl")
    now = {"at": test.closes - timedelta(seconds=2)}
    monkeypatch.setattr(ClassTestPlace, "now", staticmethod(lambda: now["at"]))
    place = ClassTestPlace(record, 7)
    place.begin()
    place.quiz.answer_box.fill("5 mm")
    now["at"] = test.closes + timedelta(seconds=1)
    place.look()
    assert [e.answer for e in record.history().entries][1:] == ["5 mm"]
    assert "1 of 2" in place._body.children[1].value
    place.look()
    assert len(record.history().entries) == 2


def answer(school, learner, test, texts, *, stage=None):
    """Answers of a learner in the record the class collects."""
    seed = learner_seed(school.seed, learner)
    place = school.records / f"answers-{learner}.jsonl"
    with as_learner(learner, class_code(school.seed)):
        record = Record(place)
        for question, text in zip(test.questions(seed), texts):
            record.add(question if stage is None else question.exercise.variant(seed).at_stage(stage), text)


def test_marks_count_the_first_answer_to_the_questions_of_the_test_alone(school, folder):
    test = open_test()
    one = make_set(school, test.title, test.names, test)
    right = {who: [q.right_text for q in test.questions(learner_seed(school.seed, who))] for who in ("kai", "lea")}
    answer(school, "kai", test, right["kai"])
    answer(school, "lea", test, ["0.001 mm", right["lea"][1]])
    answer(school, "lea", test, [right["lea"][0], "2 mm"])
    answer(school, "noa", test, ["1 mm", "1 mm"], stage="whole")
    marks = marks_of_set(school, one, How())
    assert {who: marks.points(who) for who in ("kai", "lea", "noa")} == {"kai": 2, "lea": 1, "noa": 0}
    assert sets_of(school)[0].test == test
    practice = make_set(school, "Practice", test.names)
    assert marks_of_set(school, practice, How()).answers == 2
    with pytest.raises(ValueError, match="there is a set Test 1 already"):
        make_set(school, "Test 1", test.names)


def test_answers_outside_the_time_are_told_and_left_out(school, folder):
    test = open_test(opened=60, closes=-30)
    one = make_set(school, test.title, test.names, test)
    answer(school, "kai", test, ["1 mm", "2 mm"])
    marks = marks_of_set(school, one, How())
    assert marks.answers == 0
    assert ["while the test was not open" in str(p) for p in marks.problems] == [True, True]


def test_more_minutes_than_there_are_is_told(school):
    test = open_test(minutes=5)
    times = [f"{t.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}" for t in (test.opens, test.opens + timedelta(minutes=20))]
    assert classtest.too_long(test, times)
    assert not classtest.too_long(test, times[:1])
    assert not classtest.too_long(open_test(minutes=0), times)


def test_no_file_that_is_deleted_gives_a_new_beginning(folder):
    test = open_test(minutes=10)
    add_test(test, folder)
    record = Record(folder.parent / "answers.jsonl")
    place = ClassTestPlace(record, 7)
    place.begin()
    begun = place.begun(test)
    locked.place().unlink()
    assert ClassTestPlace(record, 7).seen.state == "begun"
    assert abs(ClassTestPlace(record, 7).begun(test) - begun) < timedelta(seconds=2)
    place.begin()
    assert [e.stage for e in record.history().entries] == ["begin"]
    record.path.unlink()
    ClassTestPlace(record, 7).begin()
    assert "can begin again" in "".join(map(str, SECURE)), "what cannot be helped is said to everybody"


def test_a_second_beginning_shows_on_the_marks_though_the_record_was_deleted(school, folder):
    """On a hub its copy of the record holds the first beginning."""
    test = open_test(minutes=10)
    one = make_set(school, test.title, test.names, test)
    seed = learner_seed(school.seed, "kai")
    copies = folder / "copies"
    path = school.records / "answers-kai.jsonl"
    with as_learner("kai", class_code(school.seed)):
        Record(path).add(test.begin_line(seed), BEGIN, hints=1)
        copies.mkdir(exist_ok=True)
        (copies / "kai.jsonl").write_bytes(path.read_bytes())
        path.unlink()
        record = Record(path)
        record.add(test.begin_line(seed), BEGIN)
        for question in test.questions(seed):
            record.add(question, question.right_text)
    book = Book(school.roster, school.seed, one.names, test=test)
    found = gather(school.records, book, copies=copies)
    tell_overtime(book, found)
    assert len(found.begins["kai"]) == 2
    assert any("began the test 2 times" in str(p) for p in found.problems)


def test_the_paper_twin_asks_the_same_and_is_marked(school, folder):
    test = open_test()
    one = make_set(school, test.title, test.names, test)
    sheets = {s.learner.id: s for s in sheets_of(school, one)}
    for who, sheet in sheets.items():
        asked = test.questions(learner_seed(school.seed, who))
        assert [q.text for q in sheet.questions] == [q.text for q in asked]
        type_in(school, one, who, {q.exercise.name: q.right_text for q in sheet.questions})
    assert "Test 1 · 30 minutes" in one.prints["class"].read_text(encoding="utf-8")
    marks = marks_of_set(school, one, How())
    assert [marks.points(who) for who in sheets] == [2, 2, 2]
    assert marks.problems == ()


def test_a_row_by_hand_is_a_set_without_sheets_and_the_commands_know_it(school, folder, tmp_path, capsys):
    test = open_test()
    add_test(test, folder)
    (one,) = sets_of(school)
    assert one.test == test
    answer(school, "kai", test, [q.right_text for q in test.questions(learner_seed(school.seed, "kai"))])
    assert marks_of_set(school, one, How()).points("kai") == 2
    root = str(school.folder.root)
    assert main(["sheets", "--class", root, "--test", "test 1", "--out", str(tmp_path / "paper")]) == 0
    assert main(["marks", "--class", root, "--test", "Test 1"]) == 0
    (book,) = school.folder.marks.glob("marks-*/gradebook.csv")
    assert "kai" in book.read_text(encoding="utf-8")
    assert main(["marks", "--class", root, "--test", "Test 9"]) == 2
    assert "there is no test Test 9; there are: Test 1" in capsys.readouterr().err
    assert public_folder(school) == school.folder.root
