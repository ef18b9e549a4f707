"""A soak: learners move sliders and answer for a while; memory stays flat and nothing that was acknowledged is lost.

The long form runs an hour (or TAPKIT_SOAK_MINUTES) and is marked slow; a short form runs in `test_hub_names.py`, at
the hub that is there.
"""

import os
import threading
import time

import hubmachine
import pytest
from classload import EVERY, Learner, memory_of
from opening import SECONDS, soon

from tapkit.exercises.record import parse_record

ANSWER = """
import warnings; warnings.simplefilter("ignore")
from tapkit import panels
quiz = globals().get("soak") or panels.quiz("chamfer-length")
soak = quiz
quiz.answer_box.fill({text!r})
quiz.check()
print(quiz.saved.saved)
"""


class Working(Learner):
    """A learner who answers after every third move, and remembers what was acknowledged."""

    def __init__(self, *args):
        super().__init__(*args)
        self.acknowledged: list[str] = []

    def move(self, dice):
        took = super().move(dice)
        if len(self.times) % 3 == 0:
            text = f"{len(self.acknowledged)}.5 mm"
            if self.kernel.run(ANSWER.format(text=text)).strip() == "True":
                self.acknowledged.append(text)
        return took


def work_on(class_, seconds: float, answers: int) -> None:
    """Let the class work so many seconds, and until each has so many answers acknowledged."""
    end = time.monotonic() + seconds
    soon(
        lambda: time.monotonic() > end and all(len(one.acknowledged) >= answers or one.trouble for one in class_),
        bool,
        seconds + SECONDS,
    )


def soak(machine, ids: list[str], minutes: float, every: float) -> None:
    """Let these learners work at a running hub, a move each so many seconds."""
    stop = threading.Event()
    try:
        class_ = [Working(machine, id, "03-the-load-on-each-tooth.ipynb", stop) for id in ids]
        for one in class_:
            one.every = every
            one.start()
        assert all(one.moving.wait(400) for one in class_), [one.trouble for one in class_]
        work_on(class_, minutes * 60 * 0.4, 1)
        early = memory_of(machine.processes(*ids))
        work_on(class_, minutes * 60 * 0.6, 2)
        late = memory_of(machine.processes(*ids))
    finally:
        stop.set()
    for one in class_:
        one.join(SECONDS)
    for one in class_:
        assert one.trouble == []
        record = machine.folder / "learners" / one.name / "records" / f"answers-{one.name}.jsonl"
        history = parse_record(record.read_bytes())
        assert history.damaged == ()
        assert history.breaks == ()
        assert [e.answer for e in history.entries] == one.acknowledged
        assert len(one.acknowledged) > 1
    assert late < 1.05 * early + 6 * len(ids), f"{early:.0f} MiB became {late:.0f} MiB"


@pytest.mark.slow
@pytest.mark.timeout(3 * 3600)
def test_a_soak_of_an_hour():
    ids = [f"l{n}" for n in range(10)]
    with hubmachine.Machine(18690, roster="id,name\n" + "".join(f"{i},Learner {i}\n" for i in ids)) as machine:
        soak(machine, ids, float(os.environ.get("TAPKIT_SOAK_MINUTES", "60")), EVERY)
