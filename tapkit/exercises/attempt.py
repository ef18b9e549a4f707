"""One learner at one question: tries, hints, the worked solution, and when what is open."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from tapkit.exercises.exercise import Question
from tapkit.exercises.record import Entry
from tapkit.exercises.verdict import NOT_ATTEMPTED, Verdict

TRIES = 2
"""After so many tries the worked solution is offered."""


@dataclass
class Attempt:
    """The state of one question on the screen; the picture and the keys live elsewhere."""

    question: Question
    tries: int = 0
    hints: int = 0
    seen: bool = False
    verdict: Verdict | None = None
    given: list[str] = field(default_factory=list)

    @property
    def is_done(self) -> bool:
        """Whether the question is answered right, or a prediction is locked."""
        return self.is_locked or (self.verdict is not None and self.verdict.is_right)

    @property
    def is_prediction(self) -> bool:
        """Whether one predicts first and sees then."""
        return self.question.exercise.kind == "predict"

    @property
    def is_locked(self) -> bool:
        """Whether a prediction has been made; it can no longer be changed."""
        return self.is_prediction and self.tries > 0

    @property
    def offers_solution(self) -> bool:
        """Whether the worked solution should be pointed out."""
        return self.tries >= TRIES or self.is_locked

    def is_new(self, text: str) -> bool:
        """Whether an answer says something that was not judged just now, and may still be given."""
        return not self.is_locked and (not self.given or self.given[-1] != text)

    def answer(self, text: str) -> Verdict:
        """Judge an answer; a locked prediction and the same answer again keep their verdict."""
        if not self.is_new(text) and self.verdict is not None:
            return self.verdict
        verdict = self.question.judge(text)
        if verdict.kind != NOT_ATTEMPTED:
            self.given.append(text)
        self.tries += verdict.counts
        self.verdict = verdict
        return verdict

    def replay(self, entries: Iterable[Entry]) -> None:
        """Go again through the answers to this question that a record holds."""
        for entry in entries:
            self.hints = max(self.hints, min(entry.hints, len(self.question.hints)))
            self.seen |= entry.seen
            self.answer(entry.answer)

    def next_hint(self) -> str | None:
        """Open the next hint; None where there is no more."""
        if self.hints >= len(self.question.hints):
            return None
        self.hints += 1
        return self.question.hints[self.hints - 1]

    @property
    def open_hints(self) -> tuple[str, ...]:
        return self.question.hints[: self.hints]

    def open_solution(self) -> tuple[str, ...]:
        self.seen = True
        return self.question.solution
