"""Marking: recomputed from what was typed; whatever was done to the records is told by line."""

import csv
import io
import json
import os
import re
import shutil
import threading
import time

import pytest
from classrecords import as_learner, later_question, write_class
from hypothesis import given
from hypothesis import strategies as st

from tapkit.classroom import marks as marks_command
from tapkit.classroom import recordcopy
from tapkit.classroom.evidence import Book, gather
from tapkit.classroom.gradebook import gradebook, marks_page, safe_cell
from tapkit.classroom.marking import How, mark
from tapkit.classroom.questions import exercise_set, questions_for
from tapkit.classroom.roster import roster_from
from tapkit.classroom.seeds import class_code
from tapkit.cli import main
from tapkit.exercises import bank
from tapkit.exercises.record import Record, _line

SET, SEED = "chamfer-length, minor-diameter, order-by-chamfer-length, predict-the-chip", "4711"
ROSTER = "id,name,group\nkai,Kai Moor,T1\nlea,Lea Ruß,T1\nnoa,=Noa(),T2\n"


@pytest.fixture
def roster():
    return roster_from(ROSTER.encode())


@pytest.fixture
def book(roster):
    return Book(roster, SEED, tuple(e.name for e in exercise_set(SET)))


@pytest.fixture
def records(tmp_path, roster):
    folder = tmp_path / "learners"
    write_class(folder, roster, SET, SEED)
    return folder


def record_of(records, id):
    return records / id / "records" / f"answers-{id}.jsonl"


def told(found):
    return [(p.file.split("/")[-1], p.line, p.learner, str(p.text)) for p in found.problems]


def last_run(tmp_path):
    """The folder of the last run of `tapkit marks`."""
    return max((tmp_path / "out").iterdir(), key=lambda p: (p.stat().st_mtime_ns, p.name))


def graded(tmp_path, name="gradebook.csv", separator=","):
    """A table of the last run, rows by id."""
    text = (last_run(tmp_path) / name).read_text("utf-8-sig")
    return {row["id"]: row for row in csv.DictReader(io.StringIO(text), delimiter=separator)}


def command(tmp_path, name, *more, chosen=SET):
    """`tapkit sheets` or `tapkit marks` for the class and a set."""
    (tmp_path / "roster.csv").write_text(ROSTER)
    return [name, "--roster", str(tmp_path / "roster.csv"), "--set", chosen, "--seed", SEED, *map(str, more)]


def lines_of(path):
    return path.read_bytes().splitlines(keepends=True)


def sealed(line: bytes, **changes) -> bytes:
    """A line changed by somebody who knows how to make its sum fit again."""
    values = json.loads(line)
    values.pop("sum")
    return _line(values | changes).encode() + b"\n"


# --- a sound class ------------------------------------------------------------------------------------------


def test_a_sound_class_has_no_problems_and_every_answer_is_judged(records, book, roster):
    found = gather(records, book)
    assert found.problems == []
    assert found.elsewhere == 0
    assert len(found.given) == found.lines == sum(len(lines_of(record_of(records, one.id))) for one in roster)
    marks = mark(book, found)
    for one in roster:
        own = {q.exercise.name: q for q in questions_for(exercise_set(SET), SEED, one.id)}
        for name, result in marks.results[one.id].items():
            expected = any(own[name].judge(t.given.answer).is_right for t in result.tries)
            assert result.points == int(expected)


def test_the_right_answer_counts_and_a_wrong_one_does_not(tmp_path, roster, book):
    own = {q.exercise.name: q for q in questions_for(exercise_set(SET), SEED, "kai")}
    with as_learner("kai", class_code(SEED)):
        record = Record(tmp_path / "answers-kai.jsonl")
        record.add(own["chamfer-length"], "999 mm")
        record.add(own["chamfer-length"], own["chamfer-length"].right_text)
        record.add(own["minor-diameter"], "1")
        record.add(own["predict-the-chip"], own["predict-the-chip"].right_text, seen=True)
    found = gather(tmp_path, book)
    best = mark(book, found).results["kai"]
    assert {n: r.points for n, r in best.items()} == {
        "chamfer-length": 1, "minor-diameter": 0, "order-by-chamfer-length": 0, "predict-the-chip": 0,
    }  # fmt: skip
    assert best["predict-the-chip"].note.said() == "right after the worked solution"
    first = mark(book, found, How("first")).results["kai"]
    assert first["chamfer-length"].points == 0


def test_later_variants_count_and_practice_is_set_aside(tmp_path, roster, book):
    exercise = exercise_set("chamfer-length")[0]
    with as_learner("kai", class_code(SEED)):
        record = Record(tmp_path / "answers-kai.jsonl")
        later = later_question(exercise, SEED, "kai", 3)
        record.add(later, later.right_text)
        record.add(exercise.variant(5), "1")
        record.add(exercise_set("inclination")[0].variant(5), "1")
    found = gather(tmp_path, book)
    assert [g.seed for g in found.given] == [later.seed]
    assert found.elsewhere == 2
    assert found.problems == []
    alone = gather(tmp_path, Book(roster, SEED, book.exercises, any_seed=True))
    assert len(alone.given) == 2


def test_shared_mistakes_are_counted_by_learner(tmp_path, roster, book):
    for id in ("kai", "lea"):
        question = questions_for(exercise_set("chamfer-length"), SEED, id)[0]
        slip = question.ask.mistakes[0]
        with as_learner(id, class_code(SEED)):
            record = Record(tmp_path / f"answers-{id}.jsonl")
            for _ in range(2):
                record.add(question, question.ask.text(slip.value / question.ask.own))
    marks = mark(book, gather(tmp_path, book))
    assert [(s.exercise.name, s.name, s.learners) for s in marks.shared] == [
        ("chamfer-length", slip.name, ("kai", "lea"))
    ]
    page = marks_page(marks, title="Marks")
    assert str(slip.says) in page
    assert "2 learners" in page


# --- what can be done to records ------------------------------------------------------------------------------


BROKEN = "does not follow on from the line before: lines were lost, moved or edited here; still marked"
TWICE = "the same line stands already at kai/records/answers-kai.jsonl, line 1; counted once"


@pytest.mark.parametrize(
    ("change", "says", "lost"),
    [
        (
            lambda lines: [lines[0].replace(b'"answer":"', b'"answer":"1'), *lines[1:]],
            {1: "is changed since it was written; left out", 2: BROKEN},
            1,
        ),
        (lambda lines: [lines[0][:-20]], {1: "is cut off in the middle; left out"}, None),
        (lambda lines: [lines[0], lines[0], *lines[1:]], {2: TWICE}, 0),
        (lambda lines: [lines[1], lines[0], *lines[3:]], dict.fromkeys((1, 2, 3), BROKEN), 1),
    ],
    ids=["edited", "cut off", "doubled", "moved and missing"],
)
def test_what_is_done_to_lines_is_told_and_the_rest_is_marked(records, book, change, says, lost):
    path = record_of(records, "kai")
    lines = lines_of(path)
    path.write_bytes(b"".join(change(lines)))
    found = gather(records, book)
    assert told(found) == [("answers-kai.jsonl", line, "kai", text) for line, text in says.items()]
    count = len([g for g in found.given if g.learner == "kai"])
    assert count == (0 if lost is None else len(lines) - lost)


def test_a_verdict_somebody_claims_is_ignored(records, book, roster):
    path = record_of(records, "kai")
    line = lines_of(path)[0]
    path.write_bytes(sealed(line, answer="999", verdict="right", points=100))
    found = gather(records, book)
    marks = mark(book, found)
    assert marks.points("kai") == 0


def test_every_cut_gives_every_whole_line(records, book):
    path = record_of(records, "lea")
    data = path.read_bytes()
    for cut in range(0, len(data), 7):
        path.write_bytes(data[:cut])
        found = gather(records, book)
        whole = data[:cut].count(b"\n") + (data[cut : cut + 1] == b"\n")
        assert len([g for g in found.given if g.learner == "lea"]) == whole
        assert len(found.problems) == int(
            not (cut == 0 or data[cut - 1 : cut] == b"\n" or data[cut : cut + 1] == b"\n")
        )


def test_a_record_in_anothers_place_is_left_out(records, book):
    kai, lea = record_of(records, "kai"), record_of(records, "lea")
    a, b = kai.read_bytes(), lea.read_bytes()
    kai.write_bytes(b)
    lea.write_bytes(a)
    found = gather(records, book)
    assert {g.learner for g in found.given} == {"noa"}
    assert {text for *_, text in told(found)} == {
        "was written by 'lea' and lies in the place of 'kai'; left out",
        "was written by 'kai' and lies in the place of 'lea'; left out",
    }


def test_a_borrowed_answer_with_a_new_name_is_found_by_its_seed(records, book):
    borrowed = b"".join(sealed(line, who="kai") for line in lines_of(record_of(records, "lea")))
    record_of(records, "kai").write_bytes(borrowed)
    found = gather(records, book)
    assert "kai" not in {g.learner for g in found.given}
    assert all("answers a question of 'lea', not of 'kai'" in t for *_, t in told(found) if "follow" not in t)


def test_another_class_is_told(tmp_path, roster, book):
    write_class(tmp_path, roster, SET, "another seed")
    found = gather(tmp_path, book)
    assert found.given == []
    assert {text for *_, text in told(found)} == {"comes from another class; left out"}


def test_strangers_and_junk_are_told_by_line(tmp_path, book):
    (tmp_path / "x.jsonl").write_bytes(b'{"v":1}\n\xff\xfe\n\n[[[[\n' + b"x" * 9000 + b"\n")
    with as_learner("zed", class_code(SEED)):
        Record(tmp_path / "answers-zed.jsonl").add(exercise_set("chamfer-length")[0].variant(1), "=cmd()")
    found = gather(tmp_path, book)
    assert told(found) == [
        ("answers-zed.jsonl", 1, "", "belongs to 'zed', who is not on the roster; left out"),
        ("x.jsonl", 1, "", "is not a whole line of a record; left out"),
        ("x.jsonl", 2, "", "is not text; left out"),
        ("x.jsonl", 4, "", "is not a whole line of a record; left out"),
        ("x.jsonl", 5, "", "is too long; left out"),
    ]


def test_links_and_giants_are_not_read(records, book, tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("seed")
    path = record_of(records, "kai")
    path.unlink()
    path.symlink_to(secret)
    with open(record_of(records, "lea"), "r+b") as file:
        file.truncate(9 * 2**20)
    found = gather(records, book)
    assert {g.learner for g in found.given} == {"noa"}
    assert [t for *_, t in told(found)] == [
        "answers-kai.jsonl is a link to another file; nothing was read",
        "answers-lea.jsonl has 9437184 bytes, more than 8388608; nothing was read",
    ]


@given(st.data())
def test_whatever_is_done_to_a_record_the_others_are_marked(tmp_path_factory, data):
    folder = tmp_path_factory.mktemp("records")
    class_ = roster_from(ROSTER.encode())
    write_class(folder, class_, SET, SEED)
    path = record_of(folder, "kai")
    content = bytearray(path.read_bytes())
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(content) - 1))
        act = data.draw(st.sampled_from(["flip", "cut", "add"]))
        if act == "flip":
            content[at] ^= data.draw(st.integers(1, 255))
        elif act == "cut":
            del content[at : at + data.draw(st.integers(1, 300))]
        else:
            content[at:at] = data.draw(st.binary(max_size=40))
        content = content or bytearray(b"x")
    path.write_bytes(bytes(content))
    found = gather(folder, Book(class_, SEED, tuple(e.name for e in exercise_set(SET))))
    for id in ("lea", "noa"):
        assert len([g for g in found.given if g.learner == id]) == len(lines_of(record_of(folder, id)))
    assert len([g for g in found.given if g.learner == "kai"]) <= content.count(b"\n") + 1


# --- the append-only copy -----------------------------------------------------------------------------------------


def test_a_record_rewritten_with_care_is_found_by_the_copy(records, book, roster, tmp_path):
    copies = tmp_path / "copies"
    path = record_of(records, "kai")
    own = {q.exercise.name: q for q in questions_for(exercise_set(SET), SEED, "kai")}
    path.unlink()
    with as_learner("kai", class_code(SEED)):
        record = Record(path)
        record.add(own["chamfer-length"], "999")
        record.add(own["minor-diameter"], "999")
        assert recordcopy.copy_records(records, copies) == 3
        path.unlink()
        record.add(own["chamfer-length"], own["chamfer-length"].right_text)
        record.add(own["minor-diameter"], own["minor-diameter"].right_text)
        record.add(own["predict-the-chip"], own["predict-the-chip"].right_text)
    assert gather(records, book).problems == []
    found = gather(records, book, copies)
    marks = mark(book, found)
    assert marks.points("kai") == 1
    assert marks.results["kai"]["predict-the-chip"].points == 1
    assert [(line, text.split(":")[0][:40]) for _, line, _, text in told(found)] == [
        (1, "from here on the record was changed or c"),
        (1, "was put in place of a line written befor"),
        (2, "was put in place of a line written befor"),
    ]
    assert recordcopy.copy_records(records, copies) == 1
    assert [p.name for p in recordcopy.versions("kai", copies)] == ["kai.jsonl", "kai.2.jsonl"]


def test_a_copy_grows_with_its_record_and_takes_no_half_line(records, tmp_path):
    copies = tmp_path / "copies"
    path = record_of(records, "kai")
    whole = path.read_bytes()
    path.write_bytes(whole[:-10])
    recordcopy.copy_records(records, copies)
    assert whole.startswith((copies / "kai.jsonl").read_bytes())
    path.write_bytes(whole)
    recordcopy.copy_records(records, copies)
    assert (copies / "kai.jsonl").read_bytes() == whole
    assert recordcopy.copy_records(records, copies) == 0


def test_a_copy_made_while_answers_come_holds_whole_lines_of_them(records, tmp_path):
    copies, path = tmp_path / "copies", record_of(records, "kai")
    record, question = Record(path), bank.exercise_named("chamfer-length").variant(1)
    writer = threading.Thread(target=lambda: [record.add(question, f"{n} mm") for n in range(150)])
    writer.start()
    looks = 0
    while writer.is_alive():
        recordcopy.copy_records(records, copies)
        copy = (copies / "kai.jsonl").read_bytes()
        assert copy.endswith(b"\n")
        assert path.read_bytes().startswith(copy)
        looks += 1
    recordcopy.copy_records(records, copies)
    assert (copies / "kai.jsonl").read_bytes() == path.read_bytes()
    assert [p.name for p in recordcopy.versions("kai", copies)] == ["kai.jsonl"]
    assert looks > 3


def test_a_deleted_record_is_marked_from_the_copy(records, book, tmp_path):
    copies = tmp_path / "copies"
    recordcopy.copy_records(records, copies)
    path = record_of(records, "kai")
    count = len(lines_of(path))
    path.write_bytes(b"")
    found = gather(records, book, copies)
    assert len([g for g in found.given if g.learner == "kai"]) == count
    assert len(found.problems) == 1


# --- what comes out -------------------------------------------------------------------------------------------


def run(tmp_path, records):
    return main(command(tmp_path, "marks", "--records", records, "--out", tmp_path / "out"))


def test_the_command_writes_gradebook_details_problems_and_page(tmp_path, records, capsys):
    record_of(records, "kai").write_bytes(b"junk\n")
    assert run(tmp_path, records) == 0
    out = last_run(tmp_path)
    rows = graded(tmp_path)
    assert list(rows) == ["kai", "lea", "noa"]
    assert rows["kai"]["points"] == "0"
    assert rows["noa"]["name"] == "'=Noa()"
    assert {p.name for p in out.iterdir()} == {
        "gradebook.csv", "details.csv", "problems.csv", "marks.html", "set.csv", "all-sets.csv",
    }  # fmt: skip
    said = capsys.readouterr()
    assert "answers-kai.jsonl, line 1: is not a whole line of a record" in said.err
    assert "<script" not in (out / "marks.html").read_text()


def test_the_same_records_make_the_same_bytes(tmp_path, records):
    run(tmp_path, records)
    first = {p.name: p.read_bytes() for p in last_run(tmp_path).iterdir()}
    run(tmp_path, records)
    assert {p.name: p.read_bytes() for p in last_run(tmp_path).iterdir()} == first
    assert len(list((tmp_path / "out").iterdir())) == 2, "no run writes over another"


def test_paper_answers_are_marked_from_the_typed_list(tmp_path, capsys):
    assert main(command(tmp_path, "sheets", "--out", tmp_path / "paper")) == 0
    rows = list(csv.reader(io.StringIO((tmp_path / "paper/key/answers.csv").read_text("utf-8-sig"))))
    assert rows[0][:3] == ["id", "name", "sheet"]
    for row in rows[1:3]:
        for question in questions_for(exercise_set(SET), SEED, row[0]):
            row[rows[0].index(question.exercise.name)] = question.right_text
    rows[2][2] = rows[1][2]
    typed = tmp_path / "typed"
    typed.mkdir()
    with open(typed / "answers.csv", "w", encoding="utf-16") as file:
        csv.writer(file, delimiter=";").writerows(rows)
    assert run(tmp_path, typed) == 0
    assert [r["points"] for r in graded(tmp_path).values()] == ["4", "4", "0"]
    assert "is that of 'kai', not of 'lea'" in capsys.readouterr().err


def typed_list(tmp_path, chosen, cells):
    """Marks of answers typed from paper: `cells` by id and exercise."""
    paper, typed = tmp_path / f"paper-{len(list(tmp_path.iterdir()))}", tmp_path / "typed"
    assert main(command(tmp_path, "sheets", "--out", paper, chosen=chosen)) == 0
    rows = list(csv.reader(io.StringIO((paper / "key/answers.csv").read_text("utf-8-sig"))))
    for row in rows[1:]:
        for name in rows[0][3:]:
            row[rows[0].index(name)] = cells.get((row[0], name), "")
    typed.mkdir(exist_ok=True)
    with open(typed / "answers.csv", "w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)
    codes = {row[0]: row[2] for row in rows[1:]}
    return command(tmp_path, "marks", "--records", typed, "--out", tmp_path / "out", chosen=chosen), codes


def test_an_unreadable_answer_from_paper_is_no_silent_zero(tmp_path, capsys):
    own = questions_for(exercise_set(SET), SEED, "kai")[0]
    marks, codes = typed_list(tmp_path, SET, {("kai", "chamfer-length"): "l8 or so", ("lea", "chamfer-length"): "1"})
    assert main(marks) == 0
    told = capsys.readouterr().err
    assert f"answers.csv, line 2: sheet {codes['kai']}, chamfer-length: “l8 or so” counts as no answer yet" in told
    assert "correct the cell and mark again" in told
    rows = graded(tmp_path)
    assert (rows["kai"]["chamfer-length"], rows["lea"]["chamfer-length"]) == ("?", "0")
    marks, _codes = typed_list(tmp_path, SET, {("kai", "chamfer-length"): own.right_text})
    assert main(marks) == 0
    assert graded(tmp_path)["kai"]["chamfer-length"] == "1"


def test_numbers_parted_by_a_comma_and_a_space_are_read(tmp_path):
    question = questions_for(exercise_set("fill-the-hole-plan"), SEED, "kai")[0]
    typed = ", ".join(p.number.number() for p in question.ask.parts)
    assert question.judge(typed).is_right
    marks, _codes = typed_list(tmp_path, question.exercise.name, {("kai", question.exercise.name): typed})
    assert main(marks) == 0
    assert graded(tmp_path)["kai"]["points"] == "1"


def test_right_parts_count_where_it_is_asked_for_and_exercises_have_points(tmp_path):
    question = questions_for(exercise_set("fill-the-hole-plan"), SEED, "kai")[0]
    parts = [p.number.number() for p in question.ask.parts]
    name, typed = question.exercise.name, "; ".join([*parts[:-1], "99999"])
    marks, _codes = typed_list(tmp_path, name, {("kai", name): typed})
    assert main(marks) == 0
    assert graded(tmp_path)["kai"]["points"] == "0"
    more = ["--partial", "--points", f"{name}=3", "--separator", "semicolon"]
    assert main([*marks, *more]) == 0
    row = graded(tmp_path, separator=";")["kai"]
    expected = round(3 * (len(parts) - 1) / len(parts), 2)
    assert float(row["points"].replace(",", ".")) == expected
    assert row["of"].replace(",", ".").removesuffix(".0") == "3"
    assert main([*marks, "--points", "nothing=2"]) == 2


def test_one_gradebook_over_all_sets(tmp_path, capsys):
    first, second = SET.split(", ")[:2]
    for chosen in (first, second):
        own = questions_for(exercise_set(chosen), SEED, "kai")[0]
        marks, _codes = typed_list(tmp_path, chosen, {("kai", chosen): own.right_text, ("lea", chosen): "1"})
        assert main(marks) == 0
    rows = graded(tmp_path, "all-sets.csv")
    assert [rows["kai"][key] for key in (first, second, "points", "of")] == ["1", "1", "2", "2"]
    assert [rows["lea"][key] for key in (first, second, "points")] == ["0", "0", "0"]
    assert len(list((tmp_path / "out").iterdir())) == 2


@pytest.mark.parametrize(
    ("cell", "safe"),
    [
        ("=1+1", "'=1+1"),
        ("+1+1", "'+1+1"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("-2+3|cmd", "'-2+3|cmd"),
        ("\t=1", "'=1"),
        ("\r\n=1", "'=1"),
        ("  =1", "'=1"),
        ("6 mm;=HYPERLINK(1)", "6 mm;'=HYPERLINK(1)"),
        ("6,+1", "6,'+1"),
        ('6;"=1', "6;\"'=1"),
        ("＝1+1", "'＝1+1"),
        ("-12.5", "-12.5"),
        ("8.5 mm", "8.5 mm"),
        (3, "3"),
    ],
)
def test_no_cell_becomes_a_formula(cell, safe):
    assert safe_cell(cell) == safe


@given(st.text(max_size=40))
def test_no_text_becomes_a_formula_at_any_separator(text):
    for separator in ",;\t|":
        for part in safe_cell(text).split(separator):
            clean = part.lstrip(" \"'")
            assert (
                part.strip(' "')[:1] not in ("=", "+", "-", "@")
                or clean.lstrip("+-").replace(",", ".").replace(".", "", 1).isdigit()
            )


def test_hostile_answers_are_escaped_on_the_page(tmp_path, roster, book):
    with as_learner("kai", class_code(SEED)):
        question = questions_for(exercise_set("chamfer-length"), SEED, "kai")[0]
        Record(tmp_path / "answers-kai.jsonl").add(question, "<script>alert(1)</script>")
    marks = mark(book, gather(tmp_path, book))
    page = marks_page(marks, title="</title><script>")
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert gradebook(marks)


def test_a_missing_folder_is_said(tmp_path, capsys):
    assert run(tmp_path, tmp_path / "nowhere") == 2
    assert "there is no folder" in capsys.readouterr().err


def test_ten_thousand_answers_in_ten_seconds(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr("os.fsync", lambda handle: None)
    ids = [f"l{n:03d}" for n in range(300)]
    class_ = roster_from(("id,name\n" + "".join(f"{i},Learner {i}\n" for i in ids)).encode())
    exercises = exercise_set("1, 2, 3")
    book = Book(class_, SEED, tuple(e.name for e in exercises))
    code = class_code(SEED)
    for id in ids:
        last, lines = "", []
        for n in range(34):
            question = later_question(exercises[n % len(exercises)], SEED, id, n // len(exercises))
            lines.append(_line({"v": 1, "n": n + 1, "t": "2026-03-02T09:15:07Z", "who": id, "class": code,
                "do": question.exercise.name, "seed": question.seed, "stage": "whole", "q": question.digest,
                "answer": question.right_text if n % 3 else "6 mm", "hints": 0, "seen": False, "after": last}))  # fmt: skip
            last = json.loads(lines[-1])["sum"]
        (tmp_path / f"answers-{id}.jsonl").write_text("\n".join(lines) + "\n")
    start = time.process_time()
    found = gather(tmp_path, book)
    marks = mark(book, found)
    page, table = marks_page(marks, title="Marks"), gradebook(marks)
    took = time.process_time() - start
    assert marks.answers == 300 * 34
    assert marks.problems == ()
    assert len(page) > 10_000
    assert len(table.splitlines()) == 301
    assert took < 10


# --- attacks: the marks come, and the honest have theirs ----------------------------------------------------


def swamp(folder):
    """Very many, very large, oddly named and unreadable files."""
    folder.mkdir(parents=True)
    for number in range(3000):
        (folder / f"{number}.jsonl").write_bytes(b"junk\n" * 50)
    (folder / "big.jsonl").write_bytes(b"x" * 100 * 2**20)
    os.mkfifo(folder / "pipe.jsonl")
    (folder / "loop.jsonl").symlink_to("loop.jsonl")
    for name in (b"a\nb.jsonl", b"\xff\xfe.jsonl", "\u202e.jsonl".encode(), b"=1+1;.jsonl", b"x" * 240 + b".jsonl"):
        with open(os.path.join(os.fsencode(folder), name), "wb") as file:
            file.write(b"junk\n")


def hostile_lines(record):
    """Lines whose sums are right: lone surrogates, giants, other kinds, deep nesting."""
    line = lines_of(record)[0]
    for answer in ("\ud800", "\udcff\n\x00", "9" * 9000, "=cmd|' /C calc'!A0", "＝1+1", "a；＝1", "\u202e1", "٣"):
        yield sealed(line, answer=answer)
    yield sealed(line, seed=10**400)
    yield sealed(line, seed=-(10**400))
    yield sealed(line, exercise="\ud800")
    yield sealed(line, stage="\ud800")
    yield sealed(line, learner="\ud800")
    yield b"[" * 100_000 + b"\n"


@pytest.mark.skipif(os.name == "nt", reason="names and pipes of POSIX")
def test_the_marks_come_whatever_a_learner_leaves(tmp_path, records, capsys):
    assert run(tmp_path, records) == 0
    honest = graded(tmp_path)
    swamp(records / "noa" / "records" / "more")
    with open(record_of(records, "noa"), "ab") as file:
        file.writelines(hostile_lines(record_of(records, "noa")))
    shutil.copy(record_of(records, "lea"), records / "kai" / "records" / "aaa.jsonl")
    capsys.readouterr()
    assert run(tmp_path, records) == 0
    last, now = last_run(tmp_path), graded(tmp_path)
    assert [now[id] for id in ("kai", "lea")] == [honest[id] for id in ("kai", "lea")]
    problems = list(csv.DictReader(io.StringIO((last / "problems.csv").read_text("utf-8-sig"))))
    assert len(problems) < 2000
    for name in ("gradebook", "details", "problems"):
        for row in csv.reader(io.StringIO((last / f"{name}.csv").read_text("utf-8-sig"))):
            assert not any(re.search("(^|[,;；，]) *[=＝]", cell) for cell in row), row


def test_a_copied_record_costs_its_true_owner_nothing(tmp_path, records, book, roster):
    before = mark(book, gather(records, book)).results["lea"]
    for target in ("kai/records/0.jsonl", "0.jsonl", "noa/records/answers-noa.jsonl"):
        shutil.copy(record_of(records, "lea"), records / target)
        after = mark(book, gather(records, book)).results["lea"]
        assert {n: r.points for n, r in after.items()} == {n: r.points for n, r in before.items()}, target


def test_a_run_that_is_cut_off_leaves_nothing(tmp_path, records, monkeypatch):
    monkeypatch.setattr(marks_command, "problem_list", lambda problems, separator: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        run(tmp_path, records)
    assert list((tmp_path / "out").iterdir()) == []


@pytest.mark.skipif(os.name == "nt", reason="names and pipes of POSIX")
@pytest.mark.parametrize("hostile", ["kai", "lea", "noa"])
def test_the_append_only_copy_never_stops(tmp_path, records, hostile):
    others = {"kai", "lea", "noa"} - {hostile}
    mine = record_of(records, hostile)

    def unreadable():
        mine.unlink()
        mine.mkdir()

    def linked():
        shutil.rmtree(mine)
        shutil.rmtree(mine.parent)
        mine.parent.symlink_to(tmp_path)
        (tmp_path / mine.name).write_text("secret")

    def a_file_in_place_of_the_folder():
        mine.parent.unlink()
        mine.parent.write_text("x")

    def huge():
        mine.parent.unlink()
        mine.parent.mkdir()
        with open(mine, "wb") as file:
            file.truncate(2**33)

    (records / "odd \n name").mkdir()
    (records / os.fsdecode(b"\xff")).mkdir()
    for number, attack in enumerate((unreadable, linked, a_file_in_place_of_the_folder, huge)):
        attack()
        for one in others:
            with open(record_of(records, one), "ab") as file:
                file.write(b"line %d\n" % number)
        told = []
        assert recordcopy.copy_records(records, tmp_path / "copies", told.append) == 2
        assert [hostile in str(sentence) for sentence in told] == [True], attack.__name__
        for one in others:
            assert (tmp_path / "copies" / f"{one}.jsonl").read_bytes() == record_of(records, one).read_bytes()
        assert not any(b"secret" in p.read_bytes() for p in (tmp_path / "copies").iterdir())
