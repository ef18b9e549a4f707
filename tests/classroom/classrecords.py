"""Records of an invented class, written by the learner's own record writer."""

import os
import random
from contextlib import contextmanager
from pathlib import Path

from tapkit.classroom.questions import exercise_set, questions_for
from tapkit.classroom.roster import Roster
from tapkit.classroom.seeds import class_code, learner_seed, question_seed
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.record import Record


@contextmanager
def as_learner(learner: str, code: str):
    """The environment a learner of a class works in."""
    before = {k: os.environ.get(k) for k in ("TAPKIT_LEARNER", "TAPKIT_CLASS_NAME")}
    os.environ.update(TAPKIT_LEARNER=learner, TAPKIT_CLASS_NAME=code)
    try:
        yield
    finally:
        for key, value in before.items():
            os.environ.pop(key, None) if value is None else os.environ.update({key: value})


def answers_of(question, dice: random.Random) -> list[str]:
    """What a learner types until right: now and then a known mistake first."""
    typed = []
    if isinstance(question.ask, NumberAsked) and question.ask.mistakes and dice.random() < 0.4:
        slip = dice.choice(question.ask.mistakes)
        typed.append(question.ask.text(slip.value / question.ask.own))
    if dice.random() < 0.85:
        typed.append(question.right_text)
    return typed


def write_class(
    folder: Path, roster: Roster, chosen: str, seed: str, *, layout: str = "{id}/records/answers-{id}.jsonl"
) -> int:
    """Records of everyone in the roster for a set; how many answers were written."""
    written = 0
    for one in roster:
        path = folder / layout.format(id=one.id)
        path.parent.mkdir(parents=True, exist_ok=True)
        dice = random.Random(one.id)
        with as_learner(one.id, class_code(seed)):
            record = Record(path)
            for question in questions_for(exercise_set(chosen), seed, one.id):
                for typed in answers_of(question, dice):
                    assert record.add(question, typed).saved
                    written += 1
    return written


def later_question(exercise, seed: str, learner: str, turn: int):
    """A later variant of an exercise that a learner asked for."""
    return exercise.variant(question_seed(learner_seed(seed, learner), turn))
