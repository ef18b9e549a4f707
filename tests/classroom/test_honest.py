"""Never against the honest: whatever is done beside them, whole records give the marks they would have given."""

import json
import random
import tempfile
from pathlib import Path

import pytest
from classrecords import write_class
from hypothesis import given
from hypothesis import strategies as st

from tapkit.classroom.evidence import Book, gather
from tapkit.classroom.marking import COUNTED, mark
from tapkit.classroom.questions import exercise_set
from tapkit.classroom.roster import roster_from
from tapkit.exercises.record import _line

SET, SEED = "chamfer-length, minor-diameter, order-by-chamfer-length, predict-the-chip", "4711"
CLASS = roster_from(b"id,name\nkai,Kai\nlea,Lea\nnoa,Noa\n")
EXERCISES = exercise_set(SET)
BOOK = Book(CLASS, SEED, tuple(e.name for e in EXERCISES))
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
    marks = mark(CLASS, EXERCISES, found.given, found.problems, count=count)
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


def test_a_flood_of_files_beside_it_hides_no_record(originals):
    with tempfile.TemporaryDirectory() as top:
        folder = Path(top)
        honest = tamper(folder, originals, LAYOUTS[1], [])
        before = results(folder, "best", honest)
        for number in range(150):
            (folder / f"aa{number:03d}.jsonl").write_bytes(b"x\n")
            (folder / f"answers-kai ({number}).jsonl").write_bytes(originals[LAYOUTS[1], SEED]["lea"])
        assert results(folder, "best", honest) == before
