"""Never against the honest: whatever is done beside them, whole records give the marks they would have given."""

import json
import random
import tempfile
from pathlib import Path

import pytest
from classrecords import write_class
from hypothesis import given
from hypothesis import strategies as st

from tapkit.classroom.collecting import take
from tapkit.classroom.evidence import Book, gather
from tapkit.classroom.folder import write_safely
from tapkit.classroom.marking import COUNTED, How, mark
from tapkit.classroom.questions import exercise_set
from tapkit.classroom.roster import roster_from
from tapkit.classroom.schoolclass import make_class
from tapkit.exercises.record import _line

SET, SEED = "chamfer-length, minor-diameter, order-by-chamfer-length, predict-the-chip", "4711"
CLASS = roster_from(b"id,name\nkai,Kai\nlea,Lea\nnoa,Noa\n")
BOOK = Book(CLASS, SEED, tuple(e.name for e in exercise_set(SET)))
LAYOUTS = ("{id}/records/answers-{id}.jsonl", "answers-{id}.jsonl")
IDS = ("kai", "lea", "noa")
BESIDE = (
    "x.jsonl", "answers-{id} (2).jsonl", "{id}.jsonl", "answers-{other}.jsonl", "{other}/records/answers-{id}.jsonl",
    "{id}/records/a.jsonl", "{id}/answers-{id}.jsonl", "{id}/records/answers-{id} (1).jsonl", "a/answers-{id}.jsonl",
    "answers-{upper}.jsonl", "{id}/records/answers-{id}.jsonl", "answers-{id}.jsonl",
)  # fmt: skip


@pytest.fixture(scope="module")
def originals():
    """Records of the class by layout, path and lines; and of another class and another seed."""
    found = {}
    for layout in LAYOUTS:
        for seed in (SEED, "other"):
            with tempfile.TemporaryDirectory() as top:
                write_class(Path(top), CLASS, SET, seed, layout=layout)
                files = {id: (Path(top) / layout.format(id=id)).read_bytes() for id in IDS}
            found[layout, seed] = files
    return found


def resealed(lines, dice):
    """Lines with answer, number, name or seed changed by somebody who makes the sums fit again."""
    out = []
    for raw in lines:
        values = json.loads(raw)
        values.pop("sum")
        values |= dice.choice(({"answer": "1"}, {"who": dice.choice(IDS)}, {"n": dice.randrange(9)}, {"after": ""}, {}))
        out.append(_line(values).encode() + b"\n")
    return out


def tampered(data, how, dice):
    """The bytes of a record after one change."""
    lines = data.splitlines(keepends=True)
    if how == "append":
        return b"".join(lines + resealed(dice.choices(lines, k=2) if lines else [], dice))
    if how == "reorder":
        return b"".join(dice.sample(lines, len(lines)))
    if how == "truncate":
        return data[: dice.randrange(len(data) + 1)]
    if how == "edit":
        at = dice.randrange(len(data) + 1)
        return data[:at] + b"7" + data[at + 1 :]
    if how == "reseal":
        return b"".join(resealed(lines, dice))
    return data


CHANGES = st.tuples(
    st.sampled_from(("copy", "append", "reorder", "truncate", "edit", "reseal", "swap")),
    st.sampled_from(IDS),
    st.sampled_from(IDS),
    st.sampled_from(BESIDE),
    st.sampled_from((SEED, "other")),
    st.integers(0, 10**6),
)


def results(folder, count, ids):
    found = gather(folder, BOOK)
    marks = mark(BOOK, found, How(count))
    return {id: {n: (r.points, r.counts and r.counts.given.answer) for n, r in marks.results[id].items()} for id in ids}


def tamper(folder, files, layout, changes):
    """Carry the changes out; the ids whose own record stayed as it was."""
    originals = files[layout, SEED]
    for id in IDS:
        place = folder / layout.format(id=id)
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(originals[id])
    for how, source, to, beside, seed, number in changes:
        dice = random.Random(number)
        if how == "swap":
            one, two = (folder / layout.format(id=id) for id in (source, to))
            first, second = one.read_bytes(), two.read_bytes()
            one.write_bytes(second)
            two.write_bytes(first)
            continue
        place = folder / beside.format(id=to, other=source, upper=to.upper())
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(tampered(files[layout, seed][source], how, dice))
    return [id for id in IDS if (folder / layout.format(id=id)).read_bytes() == originals[id]]


@given(
    changes=st.lists(CHANGES, min_size=1, max_size=6), layout=st.sampled_from(LAYOUTS), count=st.sampled_from(COUNTED)
)
def test_whole_records_give_the_marks_they_would_have_given(originals, changes, layout, count):
    with tempfile.TemporaryDirectory() as top:
        folder = Path(top)
        whole = tamper(folder, originals, layout, [])
        before = results(folder, count, whole)
        honest = tamper(folder, originals, layout, changes)
        assert results(folder, count, honest) == {id: before[id] for id in honest}


def test_copies_in_the_places_of_all_take_nothing_from_whole_records(originals):
    """Found by three thousand tamperings: a copy in a better place than that where the class keeps its records."""
    changes = [("copy", "kai", id, BESIDE[10], SEED, 0) for id in IDS]
    with tempfile.TemporaryDirectory() as top:
        before = results(Path(top), "first", tamper(Path(top), originals, LAYOUTS[1], []))
        assert results(Path(top), "first", tamper(Path(top), originals, LAYOUTS[1], changes)) == before


def test_a_flood_of_files_beside_it_hides_no_record(originals):
    with tempfile.TemporaryDirectory() as top:
        folder = Path(top)
        honest = tamper(folder, originals, LAYOUTS[1], [])
        before = results(folder, "best", honest)
        for number in range(150):
            (folder / f"aa{number:03d}.jsonl").write_bytes(b"x\n")
            (folder / f"answers-kai ({number}).jsonl").write_bytes(originals[LAYOUTS[1], SEED]["lea"])
        assert results(folder, "best", honest) == before


DROPPED = st.tuples(
    st.sampled_from(("copy", "double", "reorder", "truncate", "edit", "whole")),
    st.sampled_from(IDS),
    st.sampled_from((SEED, "other")),
    st.integers(0, 10**6),
)


def dropped(data, how, dice):
    """A file as it may be dropped on the desk: whole, or spoilt by accident or by a careless hand."""
    if how == "double":
        return data + b"".join(dice.choices(data.splitlines(keepends=True), k=2))
    return data if how == "whole" else tampered(data, how, dice)


@given(changes=st.lists(DROPPED, max_size=6), dice=st.randoms(use_true_random=False))
def test_files_dropped_on_the_desk_in_any_order_take_nothing_from_whole_ones(originals, changes, dice):
    """Every learner's whole file comes in once, at any place among spoilt copies and files of another class."""
    own = originals[LAYOUTS[1], SEED]
    files = [dropped(originals[LAYOUTS[1], seed][id], how, random.Random(n)) for how, id, seed, n in changes]
    with tempfile.TemporaryDirectory() as top:
        made = make_class(Path(top), "T1", "single", CLASS)
        write_safely(made.folder.key / "seed.txt", SEED)
        for number, data in enumerate(dice.sample([*own.values(), *files], len(own) + len(files))):
            take(made, f"file {number}.txt", data)
        after = mark(BOOK, gather(made.records, Book(CLASS, SEED, BOOK.exercises, any_seed=True)))
        with tempfile.TemporaryDirectory() as alone:
            tamper(Path(alone), originals, LAYOUTS[1], [])
            before = results(Path(alone), "best", IDS)
        assert {
            id: {n: (r.points, r.counts and r.counts.given.answer) for n, r in after.results[id].items()} for id in IDS
        } == before
