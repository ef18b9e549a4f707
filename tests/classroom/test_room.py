"""The room's folder: questions, answers, and what hostile or unlucky files do to them."""

import json
import os
import threading

import pytest

from tapkit.classroom.room import Room


@pytest.fixture
def room(tmp_path):
    return Room(tmp_path / "room")


def test_ask_answer_spread_reveal(room):
    assert room.current() is None
    asked = room.ask("chamfer-length", 7)
    room.answer(asked, "kai", "6 mm")
    room.answer(asked, "lea", "5")
    room.answer(asked, "kai", "7.5 mm")
    replies, trouble = room.replies(1, ["kai", "lea", "noa"])
    assert [(r.learner, r.text) for r in replies] == [("kai", "7.5 mm"), ("lea", "5")]
    assert trouble == []
    assert room.present() == ["kai", "lea"]
    assert [room.go_on().step, room.go_on().step] == ["spread shown", "revealed"]
    with pytest.raises(ValueError, match="nothing more to show"):
        room.go_on()


def test_answers_end_when_the_spread_is_shown(room):
    asked = room.ask("chamfer-length", 7)
    room.go_on()
    with pytest.raises(ValueError, match="closed"):
        room.answer(asked, "kai", "6")
    second = room.ask("chamfer-length", 8)
    with pytest.raises(ValueError, match="closed"):
        room.answer(asked, "kai", "6")
    room.answer(second, "kai", "6")


def test_an_id_cannot_leave_the_folder(room):
    asked = room.ask("x", 1)
    for bad in ("../kai", "..", "a/b", "", "KAI", "a\\b"):
        with pytest.raises(ValueError, match="not an id"):
            room.answer(asked, bad, "1")


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\xff\xfe",
        b"[]",
        b'{"question": 1}',
        b"[" * 4000,
        b"x" * 5000,
        b'{"question":2,"learner":"kai","text":"1"}',
        b'{"question":1,"learner":"lea","text":"1"}',
        b'{"question":1,"learner":"kai","text":[1]}',
    ],
)
def test_hostile_answers_are_left_out_and_told(room, content):
    room.ask("x", 1)
    place = room.folder / "answers" / "kai"
    place.mkdir(parents=True)
    (place / "000001.json").write_bytes(content)
    replies, trouble = room.replies(1, ["kai"])
    assert replies == []
    assert len(trouble) == 1
    assert trouble[0].startswith("kai: ")


@pytest.mark.skipif(os.name == "nt", reason="links and pipes of Linux")
def test_links_and_pipes_are_not_followed(room, tmp_path):
    room.ask("x", 1)
    secret = tmp_path / "secret.json"
    secret.write_text(json.dumps(dict(question=1, learner="kai", text="secret")))
    for learner in ("kai", "lea"):
        (room.folder / "answers" / learner).mkdir(parents=True)
    (room.folder / "answers" / "kai" / "000001.json").symlink_to(secret)
    os.mkfifo(room.folder / "answers" / "lea" / "000001.json")
    replies, trouble = room.replies(1, ["kai", "lea"])
    assert replies == []
    assert "link" in trouble[0]
    assert "plain file" in trouble[1]


def test_a_reader_never_sees_half_a_file(room):
    asked = room.ask("chamfer-length", 7)
    stop, wrong = threading.Event(), []

    def look():
        while not stop.is_set():
            replies, trouble = room.replies(1, ["kai"])
            wrong.extend(trouble)
            wrong.extend(r for r in replies if len(r.text) != 300)

    readers = [threading.Thread(target=look) for _ in range(2)]
    for one in readers:
        one.start()
    for number in range(60):
        room.answer(asked, "kai", chr(97 + number % 26) * 300)
    stop.set()
    for one in readers:
        one.join()
    assert wrong == []


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="needs RLIMIT_FSIZE")
def test_a_full_disk_keeps_the_old_answer_and_says_so(room, monkeypatch):
    asked = room.ask("x", 1)
    room.answer(asked, "kai", "first")

    def full(handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        room.answer(asked, "kai", "second")
    monkeypatch.undo()
    assert room.reply_of("kai", 1).text == "first"
    assert [p.name for p in (room.folder / "answers" / "kai").iterdir()] == ["000001.json"]
