"""The live tally: counting, what each step shows, names hidden, both sides on one folder."""

import asyncio
import importlib
import json

import pytest

from tapkit.classroom.room import Reply, Room
from tapkit.classroom.spread import spread_of_replies
from tapkit.exercises import bank, ownfile
from tapkit.panels import roomlook

tally = importlib.import_module("tapkit.panels.tally")


def question(name, seed=3):
    return bank.exercise_named(name).variant(seed)


def replies(*texts):
    return [Reply(f"l{n}", text) for n, text in enumerate(texts)]


def test_numbers_are_put_together_by_value_whatever_their_spelling():
    asked = question("chamfer-length")
    right = asked.ask.right
    found = spread_of_replies(
        asked,
        replies(f"{right} mm", f"{right}".replace(".", ","), f"{right / 25.4:.6f} in", "1", "x?", ""),
        ["l0", "l5", "l9"],
    )
    assert [(len(b.learners), b.verdict.is_right) for b in found.bars] == [(1, False), (3, True)]
    assert found.unreadable == ("l4",)
    assert found.answered == ("l0", "l1", "l2", "l3", "l4")
    assert found.missing == ("l5", "l9")
    assert found.right == 3


def test_choices_show_letters_and_reasons_in_order():
    asked = question("predict-the-chip")
    found = spread_of_replies(asked, replies("b 2", "A 1", "B because 2", "b 3"), [])
    assert [(b.label, len(b.learners)) for b in found.bars] == [("A 1", 1), ("B 2", 2), ("B 3", 1)]


def test_many_different_answers_are_shortened():
    asked = question("chamfer-length")
    found = spread_of_replies(asked, replies(*(f"{n}.5" for n in range(100, 130)), "200", "200"), [])
    assert len(found.bars) == 10
    assert found.bars[-1].label == "other answers"
    assert sum(len(b.learners) for b in found.bars) == 32
    assert "200 mm" in [b.label for b in found.bars]


@pytest.mark.parametrize("text", ["<script>alert(1)</script>", "=1", "9" * 300, "\x00", "‮6", "A" * 300])
@pytest.mark.parametrize(
    "name", ["chamfer-length", "predict-the-chip", "name-the-drawn-tap", "order-by-chamfer-length", "set-chips-up"]
)
def test_hostile_answers_do_no_harm(name, text, tmp_path):
    asked = question(name)
    found = spread_of_replies(asked, replies(text), ["l0"])
    told = Room(tmp_path).ask(name, 3)
    for step in ("collecting", "spread shown", "revealed"):
        page = roomlook.tally_html(asked, told.__class__(**{**told.__dict__, "step": step}), found, {"l0": "<b>Kai"})
        assert "<script" not in page
        assert "<b>Kai" not in page


@pytest.fixture
def both(tmp_path):
    """An instructor's tally and two learners' places on one folder."""
    front = tally.Tally(Room(tmp_path), {"kai": "Kai Moor", "lea": "Lea Ruß"}, lambda: bank.exercises(lesson=2))
    return front, tally.TallyPlace(Room(tmp_path), "kai"), tally.TallyPlace(Room(tmp_path), "lea")


def choose(place, *numbers):
    place.answer_box.take({"chosen": dict(zip(("answer", "reason"), numbers))})


def test_a_question_goes_round(both):
    front, kai, lea = both
    assert "Wait for a question" in kai.said.value
    front.pick.value = "predict-the-chip"
    front.ask()
    assert "0 of 2 have answered" in front.body.value
    kai.look()
    lea.look()
    assert "where do its chips go" in kai.question.value
    choose(kai, 0, 0)
    kai.hand_in()
    assert "Handed in: A 1" in kai.said.value
    front.look()
    assert "1 of 2 have answered" in front.body.value
    assert "tapkit-bars" not in front.body.value
    front.go_on()
    assert "tapkit-bars" in front.body.value
    assert "Right" not in front.body.value
    lea.look()
    assert "closed" in lea.said.value
    assert lea.button.disabled
    front.go_on()
    assert "Worked solution" in front.body.value
    kai.look()
    assert "Worked solution" in kai.said.value
    assert kai.given == "A 1"


def test_names_are_hidden_until_asked_for(both):
    front, kai, _ = both
    front.pick.value = "predict-the-chip"
    front.ask()
    kai.look()
    choose(kai, 0, 0)
    kai.hand_in()
    front.go_on()
    assert not any(name in front.body.value for name in ("Kai", "Lea", "kai", "lea"))
    front.show_names(True)
    assert "Kai Moor" in front.body.value
    assert "Lea Ruß" in front.body.value
    front.show_names(False)
    assert "Moor" not in front.body.value


def test_the_answer_is_not_shown_to_the_room_before_the_reveal(both):
    front, kai, _ = both
    front.pick.value = "predict-the-chip"
    front.ask()
    asked = question("predict-the-chip", 1)
    front.go_on()
    kai.look()
    for shown in (front.body.value, kai.said.value, kai.question.value):
        assert asked.solution[-1] not in shown
        assert asked.right_words not in shown


def test_an_answer_that_cannot_be_written_is_told_and_kept(both, monkeypatch):
    front, kai, _ = both
    front.pick.value = "predict-the-chip"
    front.ask()
    kai.look()
    choose(kai, 0, 0)

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    kai.hand_in()
    assert "Not handed in" in kai.said.value
    assert "no space left" in kai.said.value
    monkeypatch.undo()
    kai.hand_in()
    assert "Handed in" in kai.said.value


def test_a_damaged_or_unknown_question_is_told_and_passes(both, tmp_path):
    front, kai, _ = both
    (tmp_path / "question.json").write_text("{")
    kai.look()
    assert "cannot be used" in kai.said.value
    told = dict(number=9, exercise="no-such", seed=1, stage="whole", step="collecting", time=0)
    (tmp_path / "question.json").write_text(json.dumps(told))
    kai.look()
    front.look()
    assert "there is no exercise" in kai.said.value
    (tmp_path / "question.json").unlink()
    front.pick.value = "predict-the-chip"
    front.ask()
    kai.look()
    assert "where do its chips go" in kai.question.value


def test_an_own_question_written_meanwhile_is_on_offer(monkeypatch, tmp_path):
    monkeypatch.setenv("TAPKIT_ROOM", str(tmp_path))
    front = tally.tally(tmp_path, lesson=1)
    front.pick.value = "teeth-on-the-chamfer"
    cells = {
        "title": "How long is it", "lesson": "1", "kind": "number", "text": "How long is the chamfer of {thread}?",
        "set-up": "M10x1.5 spiral-point 4 threads | through 8.5 mm x 15 mm | C45", "varies": "thread = M8; M10",
        "asked": "chamfer length along the axis",
    }  # fmt: skip
    ownfile.add_question(cells, tmp_path)
    front.look()
    assert front.pick.options[-1] == ("1 · How long is it", "own-how-long-is-it")
    assert front.pick.value == "teeth-on-the-chamfer"
    front.pick.value = "own-how-long-is-it"
    front.ask()
    assert "How long is the chamfer" in front.question.value


def test_without_a_name_one_is_asked_for(tmp_path):
    front = tally.Tally(Room(tmp_path), {}, lambda: bank.exercises(lesson=2))
    front.pick.value = "predict-the-chip"
    front.ask()
    place = tally.TallyPlace(Room(tmp_path), "")
    choose(place, 0, 0)
    place.hand_in()
    assert "type your name" in place.said.value
    place.name_box.value = "Zoë Müller"
    place.hand_in()
    assert "Handed in" in place.said.value
    front.look()
    assert "1 of 1 have answered" in front.body.value


@pytest.mark.parametrize(("make", "kind"), [("tally", "Tally"), ("room", "TallyPlace")])
def test_where_no_folder_is_set_it_is_asked_for(monkeypatch, tmp_path, make, kind):
    monkeypatch.delenv("TAPKIT_ROOM", raising=False)
    asking = getattr(tally, make)()
    asking.use()
    assert "No folder is entered" in asking.said.value
    asking.box.value = str(tmp_path / "none")
    assert "is not a folder" in asking.said.value
    assert asking.inner is None
    asking.box.value = f'"{tmp_path}"'
    assert type(asking.inner).__name__ == kind
    assert asking.inner.room.folder == tmp_path
    assert asking.inner.widget in asking.widget.children
    assert asking.box not in asking.widget.children


def test_it_looks_every_two_seconds_and_stops_when_let_go(both, monkeypatch):
    front, kai, _ = both
    monkeypatch.setattr(tally, "EVERY", 0.05)
    front.pick.value = "predict-the-chip"

    async def watch():
        kai.start()
        front.ask()
        async with asyncio.timeout(60):
            while "where do its chips go" not in kai.question.value:
                await asyncio.sleep(0.02)
        task = kai.task
        kai.stop()
        await asyncio.wait([task])
        assert task.cancelled()

    asyncio.run(watch())


def test_a_cell_run_again_takes_the_place_of_the_one_before(tmp_path, monkeypatch):
    monkeypatch.setattr(tally, "EVERY", 0.02)

    async def watch():
        first, second = tally.TallyPlace(Room(tmp_path), "kai"), tally.TallyPlace(Room(tmp_path), "kai")
        first.start()
        task = first.task
        second.start()
        await asyncio.wait([task], timeout=60)
        assert task.cancelled()
        assert not second.task.done()
        second.stop()

    asyncio.run(watch())
