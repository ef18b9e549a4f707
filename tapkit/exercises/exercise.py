"""An exercise is frozen data and a pure judge: rows of real numbers, a question made of each, known mistakes.

exercise("chamfer-length").variant(7)   the question of seed 7, on paper and on the screen
.judge("6 mm")                          its verdict
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, NamedTuple

from tapkit.exercises.blanks import Blank, Blanks, Setting
from tapkit.exercises.choice import Choice, Order, mixed
from tapkit.exercises.naming import TapAsked, Word
from tapkit.exercises.number import Number, Slip
from tapkit.exercises.verdict import Verdict

Ask = Number | Choice | Order | TapAsked | Word | Blanks | Setting

KINDS = (
    "number",
    "choice with a reason",
    "put in order",
    "name the tap",
    "set the sliders",
    "predict",
    "find the fault",
    "fill the plan",
    "spot the plan that fails",
)
TOPICS = (
    "reading a tap",
    "names",
    "chip direction",
    "tooth load",
    "faults",
    "drills and percent",
    "hole plans",
    "torque and strength",
    "choice",
    "cycle",
    "safe work",
)
STAGES = ("worked", "faded-1", "faded-2", "whole")

MOST = 40
"""Rows used of a longer table, evenly spread."""


class Mistake(NamedTuple):
    """A known mistake: its `name`, the `wrong` formula of the case (in tapkit's own unit), and what it `says`."""

    name: str
    wrong: Callable[[Any], float]
    says: str | Callable[[Any], str]

    def slip(self, case: Any) -> Slip:
        """The mistake with a variant's numbers."""
        return Slip(self.name, float(self.wrong(case)), self.says if isinstance(self.says, str) else self.says(case))


class Step(NamedTuple):
    """One step of a worked solution: what it `says`, "Label: formula = {}", and the `number` in the braces."""

    says: str
    number: Number | None = None

    @property
    def label(self) -> str:
        """What the step finds, without how."""
        return self.says.split(":")[0].split("{}")[0].strip(" =")

    @property
    def text(self) -> str:
        """The step with its number."""
        return self.says if self.number is None else self.says.replace("{}", self.number.text())


class Sketch(NamedTuple):
    """A drawing asked for by name with the model it shows, and the words that stand for it, free of the answer."""

    name: str
    model: Any
    alt: str


class Draft(NamedTuple):
    """What an exercise says about one case. `reveal` is shown once a prediction is locked, else with the worked
    solution."""

    text: str
    ask: Ask
    hints: tuple[str, ...]
    steps: tuple[Step, ...]
    sketch: Sketch | None = None
    reveal: Sketch | None = None


@dataclass(frozen=True)
class Question:
    """One variant of an exercise: text, what is asked, hints, worked solution, drawing.

    `index` is the place of its case in the exercise's list, `seed` the number it was asked for by, `stage` one
    of `STAGES`.
    """

    exercise: Exercise
    index: int
    seed: int
    text: str
    ask: Ask
    hints: tuple[str, ...]
    steps: tuple[Step, ...]
    sketch: Sketch | None = None
    reveal: Sketch | None = None
    stage: str = "whole"

    def judge(self, text: object) -> Verdict:
        """The verdict on an answer as typed. Pure: the same text gets the same verdict for ever."""
        return self.ask.judge(text)

    @property
    def lines(self) -> tuple[str, ...]:
        """What stands under the question: options, items or blanks."""
        return getattr(self.ask, "lines", ())

    @property
    def how(self) -> str:
        """How to answer."""
        return self.ask.how

    @property
    def right_text(self) -> str:
        """The right answer as one types it: for the key and the tests, never for the learner's screen."""
        return self.ask.right_text

    @property
    def right_words(self) -> str:
        """The right answer in words, for the worked solution and the key."""
        return getattr(self.ask, "right_words", self.ask.right_text)

    @property
    def solution(self) -> tuple[str, ...]:
        """The worked solution, line by line; the last line is the answer."""
        return (*(s.text for s in self.steps), f"Answer: {self.right_words}")

    @property
    def digest(self) -> str:
        """Eight hexadecimal digits that change when the question does."""
        said = "\n".join([self.exercise.name, self.stage, self.text, *self.lines])
        return hashlib.sha256(said.encode()).hexdigest()[:8]

    @property
    def fades(self) -> int:
        """How many of the solution's steps can be left blank."""
        return sum(s.number is not None for s in self.steps)

    def at_stage(self, stage: str) -> Question:
        """The same question as a worked example, with its last one or two steps blank, or whole."""
        if stage not in STAGES:
            raise ValueError(f"there is no stage {stage!r}; the stages are {', '.join(STAGES)}")
        blanks = {"worked": 0, "faded-1": 1, "faded-2": 2}.get(stage)
        if blanks is None or (blanks and self.fades < blanks):
            return self
        shown = self._steps_before(blanks)
        text = "\n".join([self.text, *(f"→ {s.text}" for s in shown)])
        return replace(self, text=text, ask=self._blanked(blanks), stage=stage)

    def _steps_before(self, blanks: int) -> tuple[Step, ...]:
        if not blanks:
            return self.steps
        numbered = [i for i, s in enumerate(self.steps) if s.number is not None]
        return self.steps[: numbered[-blanks]]

    def _blanked(self, blanks: int) -> Ask:
        numbered = [s for s in self.steps if s.number is not None][-blanks:] if blanks else []
        if not numbered:
            return self.ask
        return Blanks(tuple(Blank(f"step-{i}", s.label, s.number) for i, s in enumerate(numbered, start=1)))

    @property
    def gives_away(self) -> bool:
        """Whether the text or a hint holds the answer."""
        said = "\n".join([self.text, *self.hints])
        if isinstance(self.ask, Number):
            return _holds(said, self.ask)
        if isinstance(self.ask, Blanks):
            return any(_holds(said, p.number) for p in self.ask.parts)
        if isinstance(self.ask, Word):
            return any(re.search(rf"(?<![\w/.]){re.escape(s)}(?![\w/.])", said) for s in self.ask.spellings)
        if isinstance(self.ask, TapAsked):
            said += self.sketch.alt if self.sketch else ""
            return self.ask.tap.name in said or self.ask.tap.chamfer_name in said
        return False


def _holds(said: str, number: Number) -> bool:
    """Whether a number within the tolerance stands in a text."""
    found = re.findall(r"(?<![\w.,/])[−-]?\d+(?:\.\d+)?(?![\w/]|\.\d)", said.replace("−", "-"))
    band = min(number.band(number.right), 0.02 * abs(number.right) + 1e-12)
    return any(abs(abs(float(n)) - abs(number.right)) <= band for n in found)


@dataclass(frozen=True)
class Exercise:
    """A named exercise of the bank.

    `lesson` 1 to 8, `topic` of `TOPICS`, `level` 1 easy to 3 hard, `kind` of `KINDS`, `title` a few words;
    `cases` gives the rows of real numbers, `draft` makes the question of one row, `mistakes` are the known
    ones where a single number is asked. A row whose mistakes lie too near the right answer or each other, or
    whose text holds the answer, is not used.
    """

    name: str
    lesson: int
    topic: str
    level: int
    kind: str
    title: str
    cases: Callable[[], Sequence[Any]]
    draft: Callable[[Any], Draft]
    mistakes: tuple[Mistake, ...] = ()

    @cached_property
    def questions(self) -> tuple[Question, ...]:
        """Every usable variant, in the order of the rows."""
        made = (self._question(case) for case in spread(self.cases(), 4 * MOST))
        usable = [q for q in made if getattr(q.ask, "is_apart", True) and not q.gives_away]
        return tuple(
            replace(q, index=i, ask=self._shuffled(q.ask, i)) for i, q in enumerate(spread(_unlike(usable), MOST))
        )

    def __len__(self) -> int:
        return len(self.questions)

    def __hash__(self) -> int:
        return hash(self.name)

    def variant(self, seed: int) -> Question:
        """The question of a seed; the same seed gives the same question, neighbouring seeds different ones."""
        index = self._sequence[int(seed) % len(self.questions)]
        return replace(self.questions[index], seed=int(seed))

    @cached_property
    def _sequence(self) -> tuple[int, ...]:
        return mixed(range(len(self.questions)), self.name)

    def judge(self, text: object, *, seed: int, stage: str = "whole") -> Verdict:
        """The verdict on an answer to the question of a seed."""
        return self.variant(seed).at_stage(stage).judge(text)

    def _question(self, case: Any) -> Question:
        draft = self.draft(case)
        ask = draft.ask
        if isinstance(ask, Number) and self.mistakes:
            ask = replace(ask, mistakes=tuple(m.slip(case) for m in self.mistakes))
        steps = tuple(s._replace(number=ask) if s.number is draft.ask else s for s in draft.steps)
        return Question(self, -1, -1, draft.text, ask, draft.hints, steps, draft.sketch, draft.reveal)

    def _shuffled(self, ask: Ask, index: int) -> Ask:
        return ask.shuffled(f"{self.name}/{index}") if isinstance(ask, Choice | Order) else ask


def exercise(name: str, **data: Any) -> Callable[[Callable[[Any], Draft]], Exercise]:
    """Make an exercise of the function that drafts one case; see `Exercise` for the data."""

    def made(draft: Callable[[Any], Draft]) -> Exercise:
        return Exercise(name=name, draft=draft, **data)

    return made


def spread(rows: Sequence[Any], most: int) -> list[Any]:
    """At most so many of the rows, evenly spread from first to last.

    >>> spread("abcdefghi", 3), spread("ab", 3)
    (['a', 'e', 'i'], ['a', 'b'])
    """
    rows = list(rows)
    if len(rows) <= most:
        return rows
    return [rows[round(i * (len(rows) - 1) / (most - 1))] for i in range(most)]


def _unlike(questions: Sequence[Question]) -> list[Question]:
    """The questions without those that ask the same in the same words."""
    return list({(q.text, sorted(q.lines).__str__(), q.sketch and q.sketch.alt): q for q in questions}.values())
