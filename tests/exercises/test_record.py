"""The record: nothing acknowledged is lost, whatever happens to the kernel, the disk, or the file."""

import contextlib
import errno
import json
import os
import random
import signal
import subprocess
import sys
import time
import types

import pytest

from tapkit import filelock
from tapkit.exercises import record
from tapkit.exercises.bank import exercise_named
from tapkit.exercises.record import Record, parse_record, read_record

posix = pytest.mark.skipif(os.name != "posix", reason="needs fork and signals")
QUESTION = exercise_named("chamfer-length").variant(5)
ANSWERS = ["6 mm", "8,5", "", "½ in", "a\nb", '"quoted"', "\u202e−12°", "\ud800", "9" * 5000, "{}"]


def _filled(path, answers=ANSWERS):
    mine = Record(path)
    for text in answers:
        assert mine.add(QUESTION, text, hints=1).saved
    return path.read_bytes()


def test_answers_come_back_as_typed(tmp_path):
    data = _filled(tmp_path / "r.jsonl")
    found = parse_record(data)
    assert [e.answer for e in found.entries] == [a[: record.KEPT] for a in ANSWERS]
    assert [e.number for e in found.entries] == list(range(1, len(ANSWERS) + 1))
    assert not found.damaged
    assert not found.breaks
    assert data.isascii()
    assert data.count(b"\n") == len(ANSWERS)
    first = json.loads(data.splitlines()[0])
    assert (first["v"], first["do"], first["seed"], first["q"]) == (1, "chamfer-length", 5, QUESTION.digest)
    assert found.entries[0].hints == 1


def test_no_verdict_is_kept(tmp_path):
    line = json.loads(_filled(tmp_path / "r.jsonl").splitlines()[0])
    assert not {"verdict", "right", "mark", "kind"} & set(line)


def test_one_write_and_one_sync_for_an_answer(tmp_path, monkeypatch):
    calls = []
    for name in ("write", "fsync"):
        real = getattr(os, name)
        monkeypatch.setattr(os, name, lambda *a, _real=real, _name=name: (calls.append(_name), _real(*a))[1])
    mine = Record(tmp_path / "r.jsonl")
    mine.add(QUESTION, "1")
    calls.clear()
    mine.add(QUESTION, "2")
    assert calls == ["write", "fsync"]


def _whole_lines(data, cut):
    """How many lines end at or before a cut; a line that lacks only its line end counts."""
    lines = data.split(b"\n")[:-1]
    ends = [sum(len(line) + 1 for line in lines[: i + 1]) - 1 for i in range(len(lines))]
    return sum(end <= cut for end in ends)


def test_cut_at_every_byte_keeps_every_whole_line(tmp_path):
    data = _filled(tmp_path / "r.jsonl", ANSWERS[:6])
    for cut in range(len(data) + 1):
        found = parse_record(data[:cut])
        assert len(found.entries) == _whole_lines(data, cut)
        assert len(found.damaged) <= 1


@pytest.mark.parametrize("step", [7, pytest.param(1, marks=pytest.mark.slow)])
def test_writing_goes_on_after_a_cut_at_any_byte(tmp_path, step):
    data = _filled(tmp_path / "r.jsonl", ANSWERS[:4])
    path = tmp_path / "cut.jsonl"
    for cut in range(0, len(data) + 1, step):
        path.write_bytes(data[:cut])
        assert Record(path).add(QUESTION, "after the cut").saved
        found = read_record(path)
        kept = _whole_lines(data, cut)
        assert [e.answer for e in found.entries] == [*ANSWERS[:kept], "after the cut"], cut
        assert [e.number for e in found.entries] == list(range(1, kept + 2))
        assert not found.breaks


def test_a_changed_byte_costs_its_own_line_at_most(tmp_path):
    data = _filled(tmp_path / "r.jsonl", ANSWERS[:4])
    for place in range(0, len(data), 3):
        hurt = data[:place] + bytes([data[place] ^ 0x11]) + data[place + 1 :]
        found = parse_record(hurt)
        assert len(found.entries) >= (2 if data[place : place + 1] == b"\n" else 3)


def test_a_damaged_line_in_the_middle_is_kept_aside_and_told(tmp_path):
    path = tmp_path / "r.jsonl"
    lines = _filled(path).splitlines(keepends=True)
    lines[3] = b'{"half a li\n'
    lines[5] = b"\xff\xfe\x00\n"
    path.write_bytes(b"".join(lines))
    found = read_record(path)
    assert len(found.entries) == len(ANSWERS) - 2
    assert [d.line for d in found.damaged] == [4, 6]
    assert found.damaged[0].text.startswith('{"half')
    assert "line 4" in found.note or "lines 4" in found.note
    assert Record(path).add(QUESTION, "on").saved
    assert read_record(path).entries[-1].number == len(ANSWERS) + 1
    assert path.read_bytes().startswith(b"".join(lines))


@pytest.mark.parametrize(
    "line",
    [
        b"{}", b"[]", b"null", b"{" * 5000, b'{"v":1,"sum":"00000000"}', b"\x00" * 100, b"9" * 20000, b'{"v":1e999}',
        b'{"v":2,"sum":"' + record._sum('{"v":2}').encode() + b'"}', b'{"a":"\\ud800"}',
    ],
)  # fmt: skip
def test_hostile_lines_are_damage_never_errors(line):
    found = parse_record(b"\n".join([line, line]))
    assert not found.entries
    assert len(found.damaged) == 2
    assert all(d.why for d in found.damaged)


def test_a_line_with_the_wrong_kind_of_field_is_damage():
    values = {
        "v": 1,
        "n": True,
        "t": "",
        "who": "",
        "class": "",
        "do": "x",
        "seed": 1,
        "stage": "",
        "q": "",
        "answer": "",
    }
    values |= {"hints": 0, "seen": False, "after": ""}
    assert "“n”" in parse_record(record._line(values).encode()).damaged[0].why


def test_lines_lost_edited_or_swapped_break_the_chain(tmp_path):
    lines = _filled(tmp_path / "r.jsonl").splitlines(keepends=True)
    assert parse_record(b"".join(lines[:3] + lines[4:])).breaks == (5,)
    assert parse_record(b"".join([lines[0], lines[2], lines[1], *lines[3:]])).breaks == (3, 2, 4)
    assert parse_record(b"".join(lines[:3] + lines[2:])).breaks == (3,)


def test_a_record_too_large_is_not_read_into_memory(monkeypatch):
    monkeypatch.setattr(record, "MAX_BYTES", 1000)
    assert "more than" in parse_record(b"x" * 1001).damaged[0].why


# --- the kernel is killed ---------------------------------------------------------------------------------


def _write_until_killed(path, pipe):
    mine, number = Record(path), 0
    while True:
        number += 1
        if mine.add(QUESTION, f"answer {os.getpid()} {number}").saved:
            os.write(pipe, f"answer {os.getpid()} {number}\n".encode())


def _kill_a_writer(path, acknowledged, after):
    """Fork a writer, kill it some seconds after it has acknowledged some answers; all it had acknowledged."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        try:
            _write_until_killed(path, writing)
        finally:
            os._exit(1)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        told = [pipe.readline() for _ in range(acknowledged)]
        time.sleep(after)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        told += pipe.readlines()
    return [line.decode().strip() for line in told if line.endswith(b"\n")]


@posix
@pytest.mark.parametrize("kills", [40, pytest.param(400, marks=pytest.mark.slow)])
def test_a_killed_writer_loses_nothing_acknowledged(tmp_path, kills):
    path, chance, told = tmp_path / "r.jsonl", random.Random(1), []
    for _ in range(kills):
        told += _kill_a_writer(path, chance.randrange(4), chance.uniform(0.0, 0.006))
    found = read_record(path)
    answers = [e.answer for e in found.entries]
    assert len(told) > kills
    assert [a for a in told if a not in set(answers)] == []
    assert len(set(answers)) == len(answers)
    assert [e.number for e in found.entries] == list(range(1, len(answers) + 1))
    assert not found.breaks


@posix
def test_four_kernels_at_once_write_one_unbroken_record(tmp_path):
    path, children = tmp_path / "r.jsonl", []
    for kernel in range(4):
        child = os.fork()
        if child == 0:
            mine = Record(path, timeout=60)
            fine = all(mine.add(QUESTION, f"{kernel}/{i}").saved for i in range(30))
            os._exit(0 if fine else 1)
        children.append(child)
    assert [os.waitpid(c, 0)[1] for c in children] == [0] * 4
    found = read_record(path)
    assert sorted(e.answer for e in found.entries) == sorted(f"{k}/{i}" for k in range(4) for i in range(30))
    assert [e.number for e in found.entries] == list(range(1, 121))
    assert not found.damaged
    assert not found.breaks


# --- the disk and the folder ------------------------------------------------------------------------------


def test_a_full_disk_is_told_and_the_answer_written_later(tmp_path, monkeypatch):
    path = tmp_path / "r.jsonl"
    before = _filled(path, ["one"])
    mine, real = Record(path), os.write
    monkeypatch.setattr(os, "write", lambda handle, data: real(handle, data[:50]))
    said = mine.add(QUESTION, "two")
    assert not said.saved
    assert "disk is full" in said.message
    assert path.read_bytes() == before
    assert [e.answer for e in mine.history().entries] == ["one", "two"]
    assert "2 answers are not saved" in mine.add(QUESTION, "three").message
    monkeypatch.setattr(os, "write", real)
    assert mine.add(QUESTION, "four").saved
    assert [e.answer for e in read_record(path).entries] == ["one", "two", "three", "four"]


def test_an_answer_that_did_not_reach_the_disk_is_not_acknowledged(tmp_path, monkeypatch):
    path, real = tmp_path / "r.jsonl", os.fsync

    def broken(handle):
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    mine = Record(path)
    monkeypatch.setattr(os, "fsync", broken)
    assert not mine.add(QUESTION, "one").saved
    monkeypatch.setattr(os, "fsync", real)
    assert mine.flush().saved
    assert [e.answer for e in read_record(path).entries] == ["one"]


@posix
def test_a_real_limit_on_the_file_size(tmp_path):
    script = f"""
import resource, sys
from tapkit.exercises.bank import exercise_named
from tapkit.exercises.record import Record
mine, question = Record({str(tmp_path / "r.jsonl")!r}), exercise_named("chamfer-length").variant(5)
resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))
told = [mine.add(question, str(i)) for i in range(12)]
print(sum(t.saved for t in told)); print(told[-1].message)
"""
    out = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout.splitlines()
    found = read_record(tmp_path / "r.jsonl")
    assert 0 < int(out[0]) < 12
    assert [e.answer for e in found.entries] == [str(i) for i in range(int(out[0]))]
    assert not found.damaged
    assert "disk is full" in out[1]


@contextlib.contextmanager
def _small_disk(folder):
    """A disk of 64 KiB mounted on a folder; skips where that is not allowed."""
    folder.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(folder)], capture_output=True, check=False
    )
    if made.returncode:
        pytest.skip("may not mount a small disk here")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=False)


@posix
def test_a_real_full_disk(tmp_path):
    with _small_disk(tmp_path / "small") as folder:
        mine = Record(folder / "r.jsonl")
        assert mine.add(QUESTION, "first").saved
        with contextlib.suppress(OSError), open(folder / "fill", "wb", buffering=0) as fill:
            while fill.write(b"x" * 1024):
                pass
        told = [mine.add(QUESTION, f"{i}") for i in range(40)]
        assert not told[-1].saved
        assert "disk is full" in told[-1].message
        saved = [e.answer for e in read_record(folder / "r.jsonl").entries]
        assert saved == ["first", *(str(i) for i in range(sum(t.saved for t in told)))]
        assert not read_record(folder / "r.jsonl").damaged
        (folder / "fill").unlink()
        assert mine.flush().saved
        assert [e.answer for e in read_record(folder / "r.jsonl").entries] == ["first", *map(str, range(40))]


@posix
def test_a_real_read_only_folder_says_so_and_goes_on(tmp_path):
    with _small_disk(tmp_path / "small") as folder:
        subprocess.run(["mount", "-o", "remount,ro", str(folder)], check=True)
        mine = Record(folder / "r.jsonl")
        said = mine.add(QUESTION, "one")
        assert not said.saved
        assert "cannot be written to" in said.message
        assert [e.answer for e in mine.history().entries] == ["one"]
        subprocess.run(["mount", "-o", "remount,rw", str(folder)], check=True)
        assert mine.add(QUESTION, "two").saved
        assert [e.answer for e in read_record(folder / "r.jsonl").entries] == ["one", "two"]


def test_a_folder_that_refuses_is_told_in_a_sentence(tmp_path, monkeypatch):
    def refuse(*args, **more):
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(os, "open", refuse)
    said = Record(tmp_path / "r.jsonl").add(QUESTION, "one")
    assert said.message == (
        "Your answer was judged but not saved: this folder cannot be written to. Go on; it is tried again with the next answer."
    )


def test_a_record_that_cannot_be_read_is_told(tmp_path):
    path = tmp_path / "r.jsonl"
    path.mkdir()
    mine = Record(path)
    assert not mine.add(QUESTION, "one").saved
    assert mine.history().damaged
    assert [e.answer for e in mine.history().entries] == ["one"]


# --- locks --------------------------------------------------------------------------------------------------


@posix
def test_a_lock_held_elsewhere_is_waited_for_then_told(tmp_path):
    import fcntl

    path = tmp_path / "r.jsonl"
    _filled(path, ["one"])
    with open(path, "rb") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        mine = Record(path, timeout=0.05)
        said = mine.add(QUESTION, "two")
        assert not said.saved
        assert "another window" in said.message
    assert mine.add(QUESTION, "three").saved
    assert [e.answer for e in read_record(path).entries] == ["one", "two", "three"]


def test_a_file_system_without_locks_is_written_all_the_same(tmp_path, monkeypatch):
    def none(handle):
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(filelock, "_take", none)
    assert Record(tmp_path / "r.jsonl").add(QUESTION, "one").saved


def test_the_lock_of_windows(tmp_path, monkeypatch):
    calls, busy = [], [True, True]

    def locking(handle, mode, count):
        calls.append((mode, count, os.lseek(handle, 0, os.SEEK_CUR)))
        if mode == "take" and busy and busy.pop():
            raise OSError(errno.EACCES, "Permission denied")

    fake = types.SimpleNamespace(locking=locking, LK_NBLCK="take", LK_UNLCK="free")
    monkeypatch.setitem(sys.modules, "msvcrt", fake)
    monkeypatch.setattr(filelock, "fcntl", None)
    mine = Record(tmp_path / "r.jsonl")
    assert mine.add(QUESTION, "one").saved
    assert mine.add(QUESTION, "two").saved
    assert [c[0] for c in calls] == ["take", "take", "take", "free", "take", "free"]
    assert all(c[1:] == (1, filelock.FAR) for c in calls)
    assert [e.answer for e in read_record(tmp_path / "r.jsonl").entries] == ["one", "two"]


# --- where the record lies ----------------------------------------------------------------------------------


def test_the_record_lies_beside_the_workbooks_or_where_the_class_says(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("TAPKIT_RECORDS", raising=False)
    monkeypatch.delenv("TAPKIT_LEARNER", raising=False)
    assert Record().add(QUESTION, "one").saved
    assert (tmp_path / "my-answers.jsonl").is_file()
    monkeypatch.setenv("TAPKIT_RECORDS", str(tmp_path / "records"))
    monkeypatch.setenv("TAPKIT_LEARNER", "a/../b c")
    assert Record().add(QUESTION, "two").saved
    assert [p.name for p in (tmp_path / "records").iterdir()] == ["answers-a_.._b_c.jsonl"]
    assert read_record(tmp_path / "records" / "answers-a_.._b_c.jsonl").entries[0].learner == "a/../b c"
