"""A question to the whole room, and everyone's answers, as small files in a folder that all can reach.

    room/question.json             the question now asked, written by the instructor
    room/answers/ID/000003.json    one learner's answer to question 3

Every file is written whole and put in place by a rename, and each has one writer: no locks are needed, so any
shared folder will do. What learners wrote is read as untrusted.
"""

import json
import time
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from tapkit.classroom.folder import read_untrusted, write_safely
from tapkit.classroom.roster import ID
from tapkit.messages import _

STEPS = ("collecting", "spread shown", "revealed")
"""What the instructor has shown so far; only forward."""
LARGEST = 4096
"""Bytes of one answer file; a longer one is refused."""


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A question put to the room: its `number`, the `exercise` by name with `seed` and `stage`, the `step` of
    `STEPS`, and when it was asked [s since 1970]."""

    number: int
    exercise: str
    seed: int
    stage: str = "whole"
    step: str = STEPS[0]
    time: float = 0.0

    @property
    def is_open(self) -> bool:
        """Whether answers are still taken."""
        return self.step == STEPS[0]

    @property
    def is_revealed(self) -> bool:
        """Whether the right answer is shown."""
        return self.step == STEPS[-1]


@dataclass(frozen=True)
class Reply:
    """One learner's answer, as typed, and when it was given by the learner's clock [s since 1970]."""

    learner: str
    text: str
    time: float = 0.0


@dataclass(frozen=True)
class Room:
    """The room folder."""

    folder: Path

    @property
    def _question(self) -> Path:
        return self.folder / "question.json"

    def _answer(self, learner: str, number: int) -> Path:
        if not ID.fullmatch(learner):
            raise ValueError(
                _("{id!r} is not an id of letters a-z and digits; use the one on the roster", id=learner[:40])
            )
        return self.folder / "answers" / learner / f"{number:06d}.json"

    # --- the instructor ---

    def ask(self, exercise: str, seed: int, stage: str = "whole") -> Asked:
        """Put a question to the room; the answers to the one before stay where they are."""
        last = self.current()
        asked = Asked(
            number=1 + (last.number if last else 0), exercise=exercise, seed=int(seed), stage=stage, time=time.time()
        )
        return self._put(asked)

    def go_on(self) -> Asked:
        """Show the next thing: the spread of the answers, which ends the collecting, then the right answer.

        Raises ValueError where nothing is asked or all is shown.
        """
        now = self.current()
        if now is None or now.is_revealed:
            raise ValueError(_("there is nothing more to show; ask a question first"))
        return self._put(replace(now, step=STEPS[STEPS.index(now.step) + 1]))

    def _put(self, asked: Asked) -> Asked:
        self.folder.mkdir(parents=True, exist_ok=True)
        write_safely(self._question, json.dumps(asdict(asked)) + "\n", mode=0o664)
        return asked

    def replies(self, number: int, learners: Iterable[str]) -> tuple[list[Reply], list[str]]:
        """Answers to a question from these learners, and a sentence for each file that could not be read."""
        found, trouble = [], []
        for learner in learners:
            try:
                reply = self.reply_of(learner, number)
            except (ValueError, OSError) as error:
                trouble.append(f"{learner}: {getattr(error, 'strerror', None) or error}")
                continue
            if reply is not None:
                found.append(reply)
        return found, trouble

    def present(self) -> list[str]:
        """Ids of all who have a folder for answers, in order."""
        try:
            return sorted(p.name for p in (self.folder / "answers").iterdir() if ID.fullmatch(p.name))
        except OSError:
            return []

    # --- the learner ---

    def current(self) -> Asked | None:
        """The question now asked, or None. A file that is just being changed counts as unchanged for the caller:
        OSError is raised, and the next look will find it."""
        try:
            told = _object(read_untrusted(self._question, LARGEST))
        except FileNotFoundError:
            return None
        try:
            asked = Asked(**{k: told[k] for k in ("number", "exercise", "seed", "stage", "step", "time")})
        except KeyError as error:
            raise ValueError(_("question.json has no {error}; ask the question again", error=error)) from None
        if asked.step not in STEPS or not isinstance(asked.number, int) or not isinstance(asked.seed, int):
            raise ValueError(_("question.json holds no question; ask it again"))
        return asked

    def answer(self, asked: Asked, learner: str, text: str) -> Reply:
        """Hand in an answer; it is on disk when this returns, and takes the place of an earlier one.

        Raises ValueError where answers are no longer taken, OSError where the folder cannot be written.
        """
        now = self.current()
        if now is None or now.number != asked.number or not now.is_open:
            raise ValueError(_("this question is closed; wait for the next one"))
        reply = Reply(learner, text[:300], time.time())
        place = self._answer(learner, asked.number)
        place.parent.mkdir(parents=True, exist_ok=True)
        write_safely(place, json.dumps(asdict(reply) | {"question": asked.number}) + "\n", mode=0o640)
        return reply

    def reply_of(self, learner: str, number: int) -> Reply | None:
        """One learner's answer to a question, or None; the folder it lies in says whose it is.

        Raises ValueError for a file that is no answer.
        """
        try:
            told = _object(read_untrusted(self._answer(learner, number), LARGEST))
        except FileNotFoundError:
            return None
        if told.get("question") != number or told.get("learner") != learner or not isinstance(told.get("text"), str):
            raise ValueError(_("the answer file is not theirs or not to this question; it is left out"))
        moment = told.get("time")
        return Reply(learner, told["text"][:300], float(moment) if isinstance(moment, int | float) else 0.0)


def _object(data: bytes) -> dict[str, Any]:
    try:
        told = json.loads(data.decode("utf-8"))
    except (ValueError, RecursionError):
        raise ValueError(_("the file is damaged; it is left out")) from None
    if not isinstance(told, dict):
        raise ValueError(_("the file is damaged; it is left out"))
    return told
