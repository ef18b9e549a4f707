"""Printing and marking end at any moment, on any disk: what a run writes is there together or not at all."""

import os
import resource
import signal

import pytest
from test_class_test import answer, folder, open_test, school  # noqa: F401 (fixtures)

from tapkit.classroom import together
from tapkit.classroom.roster import Learner, Roster
from tapkit.classroom.schoolclass import keep_class, open_class
from tapkit.classroom.sets import How, keep_marks, make_set, marks_of_set, sets_of, type_in
from tapkit.exercises.record import Record

NAMES = ("chamfer-length", "minor-diameter")
STEPS = ("rename", "replace", "fsync", "mkdir", "chmod")
MARKS = {"gradebook.csv", "details.csv", "problems.csv", "set.csv", "all-sets.csv", "marks.html"}


def ended_at(step, action):
    """Run in a process of its own that is killed before its so many-th step on the disk; whether it was."""
    child = os.fork()
    if child == 0:
        seen = {"steps": 0}

        def counted(real):
            def call(*arguments, **more):
                seen["steps"] += 1
                if seen["steps"] == step:
                    os.kill(os.getpid(), signal.SIGKILL)
                return real(*arguments, **more)

            return call

        for name in STEPS:
            setattr(os, name, counted(getattr(os, name)))
        try:
            action()
        finally:
            os._exit(0)
    return os.waitpid(child, 0)[1] == signal.SIGKILL


def printed(school):  # noqa: F811
    """Who stands in each file of the set, once whoever opens the class has put it in order; None where there is none."""
    sets = sets_of(open_class(school.folder.root))
    if not sets:
        return None
    (one,) = sets
    sheets = {path.stem.removeprefix("sheet-") for path in one.folder.glob("sheets/sheet-*.html")}
    found = [sheets]
    for path in (one.folder / "sheets/class.html", one.folder / "key/key.html", one.folder / "key/grid.html",
                 one.folder / "key/answers.csv"):  # fmt: skip
        text = path.read_text(encoding="utf-8-sig")
        found.append({learner.id for learner in school.roster if learner.name in text})
    assert not list(one.folder.glob(f"{together.READY}*"))
    return found


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a process to kill")
def test_a_kill_at_any_step_of_printing_leaves_the_set_of_before_or_the_whole_new_one(school, folder):  # noqa: F811
    everybody = {one.id for one in school.roster}
    seen = set()
    for step in range(1, 400, 3):
        killed = ended_at(step, lambda: make_set(school, "Test 1", NAMES))
        found = printed(school)
        assert found is None or found == [everybody] * 5, step
        seen.add(found is None)
        if found is not None:
            break
        assert killed, step
    assert seen == {True, False}
    one = sets_of(school)[0]
    type_in(school, one, "kai", dict.fromkeys(NAMES, "4 mm"))
    keep_class(school, Roster((*school.roster, Learner("uma", "Uma"))))
    later = open_class(school.folder.root)
    for step in range(1, 400, 3):
        killed = ended_at(step, lambda: make_set(later, "Test 1", NAMES))
        found = printed(later)
        assert found in ([everybody] * 5, [everybody | {"uma"}] * 5), step
        assert "4 mm" in (one.folder / "key/answers.csv").read_text(encoding="utf-8-sig")
        if found[0] != everybody or not killed:
            break
    assert "uma" in found[0]


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a process to kill")
def test_a_kill_at_any_step_of_marking_leaves_whole_markings_alone(school, folder):  # noqa: F811
    test = open_test()
    one = make_set(school, test.title, test.names, test)
    answer(school, "kai", test, ["1 mm", "2 mm"])
    before = (school.records / "answers-kai.jsonl").read_bytes()
    how, step, killed = How(), 0, True
    while killed:
        step += 1
        killed = ended_at(step, lambda: keep_marks(school, one, marks_of_set(school, one, how), how))
        runs = list(school.folder.marks.glob("marks-*"))
        assert all({path.name for path in run.iterdir()} == MARKS for run in runs), step
        assert all((run / "marks.html").read_text(encoding="utf-8").rstrip().endswith("</html>") for run in runs), step
        assert (school.records / "answers-kai.jsonl").read_bytes() == before
    assert step > 10
    assert runs


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a process of its own")
@pytest.mark.parametrize("room", [0, 200])
def test_a_full_disk_changes_nothing_and_is_said(school, folder, room):  # noqa: F811
    """Files may be no longer than `room` bytes in the process that prints and marks: the disk says no in mid-file."""
    test = open_test()
    one = make_set(school, test.title, test.names, test)
    answer(school, "kai", test, ["1 mm", "2 mm"])
    before = {path: path.read_bytes() for path in school.folder.root.rglob("*") if path.is_file()}
    keep_class(school, Roster((*school.roster, Learner("uma", "Uma"))))
    before[school.folder.key / "roster.csv"] = (school.folder.key / "roster.csv").read_bytes()
    later = open_class(school.folder.root)

    def refused():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))
        for action in (
            lambda: make_set(later, test.title, test.names, test),
            lambda: keep_marks(later, one, marks_of_set(later, one, How()), How()),
        ):
            with pytest.raises(OSError, match=r"Errno"):
                action()
        saved = Record(school.records / "answers-kai.jsonl").add(test.questions(7)[0], "3 mm")
        os.write(done, b"told" if not saved.saved and saved.message else b"lost")

    heard, done = os.pipe()
    if (child := os.fork()) == 0:
        try:
            refused()
        finally:
            os._exit(0)
    os.close(done)
    os.waitpid(child, 0)
    assert os.read(heard, 10) == b"told"
    os.close(heard)
    assert {path: path.read_bytes() for path in school.folder.root.rglob("*") if path.is_file()} == before
