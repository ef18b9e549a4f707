"""An exercise is frozen data and a pure judge: rows of real numbers, a question made of each, known mistakes.

exercise("chamfer-length").variant(7)   the question of seed 7, on paper and on the screen
.judge("6 mm")                          its verdict
"""

import hashlib
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from string import Formatter
from types import MappingProxyType
from typing import Any, NamedTuple

from tapkit import tables
from tapkit.exercises.aboutcase import about, job_of, system_of
from tapkit.exercises.arithmetic import Formula
from tapkit.exercises.blanks import Blank, BlanksAsked, SettingAsked
from tapkit.exercises.naming import TapAsked, WordAsked
from tapkit.exercises.number import NumberAsked, Slip, holds
from tapkit.exercises.options import ChoiceAsked, OrderAsked, mixed
from tapkit.exercises.verdict import Verdict
from tapkit.messages import Sentence, _, english, listed, said
from tapkit.operation import Operation

Ask = NumberAsked | ChoiceAsked | OrderAsked | TapAsked | WordAsked | BlanksAsked | SettingAsked
"""What is asked: each says `how` to answer, the `right_text` as one types it, and judges a text; some have `lines` that
stand under the question, `right_words`, known `mistakes`, and whether these can be told apart (`is_apart`)."""

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
FINAL = 9
"""The number of the final test among the lessons."""
STAGES = ("worked", "faded-1", "faded-2", "whole", "test")

MOST = 40
"""Rows used of a longer table, evenly spread."""


class Mistake(NamedTuple):
    """A known mistake: its `name`, the `wrong` formula of the case (in tapkit's own unit), and what it `says`.

    A variant that cannot tell it from the right answer or another mistake is not used; where the mistake is `likely`
    only, the variant is used without it.
    """

    name: str
    wrong: Callable[[Any], float]
    says: Sentence
    likely: bool = False

    def slip(self, case: Any, given: Mapping[str, Any]) -> Slip:
        """The mistake with a variant's numbers."""
        return Slip(self.name, float(self.wrong(case)), bound(self.says, given))


class Step(NamedTuple):
    """One step of a worked solution: a sentence; or what it finds, the `number`, and the `formula` in printed signs
    with the things `given` to it. A number found in a step before may be given to a later one."""

    says: Sentence
    number: NumberAsked | None = None
    formula: str = ""
    given: Mapping[str, Any] = MappingProxyType({})
    asked: bool = True

    def resolved(self, found: dict[int, NumberAsked], given: Mapping[str, Any], system: str) -> "Step":
        """The step with what is given put in, its own number printed as a calculator gives it."""
        says = bound(self.says, given)
        if self.number is None:
            return self._replace(says=says)
        given = {k: found.get(id(v), v) for k, v in given.items() if f"{{{k}}}" in self.formula}
        number = replace(found.get(id(self.number), self.number), system=system)
        if self.formula:
            number = replace(number, printed=Formula(self.formula, given).value(system))
        found[id(self.number)] = number
        return self._replace(says=says, number=number, given=given)

    @property
    def line(self) -> Sentence:
        """The step in words, with its numbers."""
        if self.number is None:
            return self.says
        if not self.formula:
            return _("{finding}: {result}", finding=self.says, result=self.number)
        return _(
            "{finding}: {formula} = {result}",
            finding=self.says,
            formula=Formula(self.formula, self.given),
            result=self.number,
        )


def worked(finds: Sentence, number: NumberAsked, formula: str = "", asked: bool = True) -> Step:
    """A step that computes something: what it finds, the number, and the formula in printed signs with the names of
    what is given; left blank at a faded stage where `asked`."""
    return Step(finds, number, formula, asked=asked)


def bound(thing: Any, given: Mapping[str, Any]) -> Any:
    """A sentence whose names are bound to what is given. Raises KeyError where a name is not given."""
    if not isinstance(thing, Sentence):
        return thing
    names = {name for text in (thing.message, thing.plural or "") for _t, name, *_f in Formatter().parse(text) if name}
    return replace(thing, values=(*thing.values, *((n, given[n]) for n in sorted(names - dict(thing.values).keys()))))


class Sketch(NamedTuple):
    """A drawing asked for by name with the model it shows, and the words that stand for it, free of the answer; `mask`
    hides in its texts what is asked, and `system` are the units it is drawn in."""

    name: str
    model: Any
    alt: Sentence | str
    mask: Callable[[str], str] | None = None
    system: str = "metric"


class Draft(NamedTuple):
    """What an exercise asks and says about one case. Its sentences and formulas name what is `given`, or follows from
    the case (`aboutcase.about`), in the units of a `system`, those of the case's thread where None. `reveal` is shown
    once a prediction is locked, else with the worked solution, and so is the `job`. The `text` and the `hints` are
    those of the table `exercise_words`, where it has some."""

    ask: Ask
    steps: tuple[Step, ...]
    sketch: Sketch | None = None
    reveal: Sketch | None = None
    text: Sentence = Sentence("")
    hints: tuple[Sentence, ...] = ()
    given: Mapping[str, Any] = MappingProxyType({})
    system: str | None = None
    job: Operation | None = None

    def resolved(self, ask: Ask) -> "Draft":
        """The draft of what is asked with every name bound and every step computed."""
        found = {} if ask is self.ask else {id(self.ask): ask}
        steps = tuple(s.resolved(found, self.given, self.system) for s in self.steps)
        if isinstance(ask, BlanksAsked):
            ask = replace(ask, parts=tuple(p._replace(number=found.get(id(p.number), p.number)) for p in ask.parts))
        sketches = (s and s._replace(alt=bound(s.alt, self.given)) for s in (self.sketch, self.reveal))
        hints = tuple(bound(h, self.given) for h in self.hints)
        text = bound(self.text, self.given)
        return Draft(found.get(id(self.ask), ask), steps, *sketches, text, hints, system=self.system)


@dataclass(frozen=True)
class Question:
    """One variant of an exercise: text, what is asked, hints, worked solution, drawing.

    `index` is the place of its case in the exercise's list, `seed` the number it was asked for by, `stage` one
    of `STAGES`. It speaks the language in use, and the units of its own job.
    """

    exercise: "Exercise"
    draft: Draft
    index: int = -1
    seed: int = -1
    stage: str = "whole"

    @property
    def ask(self) -> Ask:
        """What is asked."""
        return self.draft.ask

    @property
    def steps(self) -> tuple[Step, ...]:
        return self.draft.steps

    def say(self, thing: Any) -> str:
        """Anything of the question in the units of its job."""
        return said(thing, self.draft.system)

    @property
    def text(self) -> str:
        """The question; at a faded stage with the steps that are shown."""
        return "\n".join([self.say(self.draft.text), *(f"→ {self.say(s.line)}" for s in self._shown)])

    @property
    def hints(self) -> tuple[str, ...]:
        return tuple(map(self.say, self.draft.hints))

    @property
    def sketch(self) -> Sketch | None:
        """The drawing beside the question."""
        return self._said(self.draft.sketch)

    @property
    def reveal(self) -> Sketch | None:
        """The drawing shown afterwards."""
        return self._said(self.draft.reveal)

    def _said(self, sketch: Sketch | None) -> Sketch | None:
        if sketch is None:
            return None
        alt = self.say(sketch.alt)
        return sketch._replace(alt=sketch.mask(alt) if sketch.mask else alt, system=self.draft.system)

    def judge(self, text: object) -> Verdict:
        """The verdict on an answer as typed. Pure: the same text gets the same verdict for ever."""
        return self.ask.judge(text).in_system(self.draft.system)

    @property
    def lines(self) -> tuple[str, ...]:
        """What stands under the question: options, items or blanks."""
        return tuple(map(self.say, getattr(self.ask, "lines", ())))

    @property
    def how(self) -> str:
        return self.say(self.ask.how)

    @property
    def right_text(self) -> str:
        """The right answer as one types it: for the key and the tests, never for the learner's screen."""
        return self.ask.right_text

    @property
    def right_words(self) -> str:
        """The right answer in words, for the worked solution and the key."""
        return self.say(getattr(self.ask, "right_words", self.ask.right_text))

    @property
    def solution(self) -> tuple[str, ...]:
        """The worked solution, line by line; the last line is the answer."""
        solved = getattr(self.ask, "solved", None) or self.right_words
        return (*(self.say(s.line) for s in self.steps), self.say(_("Answer: {answer}", answer=solved)))

    @property
    def digest(self) -> str:
        """Eight hexadecimal digits that change when the question does, the same in every language."""
        with english():
            words = "\n".join([self.exercise.name, self.stage, self.text, *self.lines])
        return hashlib.sha256(words.encode()).hexdigest()[:8]

    @property
    def _blanks(self) -> tuple[Step, ...]:
        return tuple(s for s in self.steps if s.number is not None and s.asked)

    @property
    def fades(self) -> int:
        """How many of the solution's steps can be left blank."""
        return len(self._blanks)

    def at_stage(self, stage: str) -> "Question":
        """The same question as a worked example, with its last one or two steps blank, whole, or as part of a test."""
        if stage not in STAGES:
            raise ValueError(
                _("there is no stage {stage}; the stages are {stages}", stage=stage, stages=listed(STAGES))
            )
        if stage == "test":
            return replace(self, stage=stage)
        blanks = _BLANKS.get(stage)
        if blanks is None or self.fades < blanks:
            return self
        numbered = self._blanks[-blanks:] if blanks else ()
        asks = BlanksAsked(tuple(Blank(f"step-{i}", s.says, s.number) for i, s in enumerate(numbered, start=1)))
        return replace(self, draft=self.draft._replace(ask=asks if numbered else self.ask), stage=stage)

    @property
    def _shown(self) -> tuple[Step, ...]:
        if self.stage not in _BLANKS:
            return ()
        blanks = _BLANKS[self.stage]
        return self.steps[: self.steps.index(self._blanks[-blanks])] if blanks else self.steps

    @property
    def gives_away(self) -> bool:
        """Whether the text or a hint holds the answer."""
        words = "\n".join([self.text, *self.hints])
        if isinstance(self.ask, NumberAsked):
            return holds(words, self.ask)
        if isinstance(self.ask, BlanksAsked):
            return any(holds(words, p.number) for p in self.ask.parts)
        if isinstance(self.ask, WordAsked):
            return any(re.search(rf"(?<![\w/.]){re.escape(s)}(?![\w/.])", words) for s in self.ask.spellings)
        if isinstance(self.ask, TapAsked):
            words += self.sketch.alt if self.sketch else ""
            return str(self.ask.tap.name) in words or str(self.ask.tap.chamfer_name) in words
        return False


_BLANKS = {"worked": 0, "faded-1": 1, "faded-2": 2}


@dataclass(frozen=True)
class Exercise:
    """A named exercise of the bank.

    `lesson` 0 to 9, `topic` of `TOPICS`, `level` 1 easy to 3 hard, `kind`, `named` a few words;
    `why` the right answer is right, in a sentence that holds for every variant; `core` where it belongs to its lesson,
    else it is more practice; `formulas` of the table that its answer needs;
    `cases` gives the rows of real numbers, `make` the question of one row, `mistakes` are the known ones where a single
    number is asked. A row whose mistakes lie too near the right answer or each other, or whose text holds the answer,
    is not used.
    """

    name: str
    lesson: int
    topic: str
    level: int
    kind: str
    named: Sentence
    why: Sentence
    cases: Callable[[], Sequence[Any]]
    make: Callable[[Any], Draft]
    mistakes: tuple[Mistake, ...] = ()
    core: bool = False
    formulas: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        """A few words, in the language in use."""
        return str(self.named)

    @cached_property
    def questions(self) -> tuple[Question, ...]:
        """Every usable variant, in the order of the rows."""
        with english():
            made = (self._question(case) for case in evenly_spread(self.cases(), 4 * MOST))
            usable = [q for q in made if getattr(q.ask, "is_apart", True) and not q.gives_away]
            chosen = evenly_spread(_unlike(usable), MOST)
        return tuple(self._placed(q, i) for i, q in enumerate(chosen))

    def __len__(self) -> int:
        return len(self.questions)

    def __hash__(self) -> int:
        return hash(self.name)

    def variant(self, seed: int) -> Question:
        """The question of a seed; the same seed gives the same question, neighbouring seeds different ones."""
        index = self._sequence[int(seed) % len(self.questions)]
        return replace(self.questions[index], seed=int(seed))

    def seed_in(self, units: str, seed: int) -> int:
        """The seed from this one on whose question speaks the `units` of a class: in "inch" the first of an inch
        thread, this one itself where there is none and in "metric", which asks of all threads."""
        if units != "inch":
            return seed
        return next((s for s in range(seed, seed + len(self)) if self.variant(s).draft.system == units), seed)

    @cached_property
    def _sequence(self) -> tuple[int, ...]:
        return mixed(range(len(self.questions)), self.name)

    def judge(self, text: object, *, seed: int, stage: str = "whole") -> Verdict:
        """The verdict on an answer to the question of a seed."""
        return self.variant(seed).at_stage(stage).judge(text)

    def _question(self, case: Any) -> Question:
        draft = self.make(case)
        draft = draft._replace(given=about(case) | draft.given, system=draft.system or system_of(case))
        ask = draft.ask
        if isinstance(ask, NumberAsked):
            ask = self._with_mistakes(replace(ask, system=draft.system), case, draft.given)
        return Question(self, draft.resolved(ask)._replace(job=job_of(case, draft.sketch, draft.reveal)))

    def _with_mistakes(self, ask: NumberAsked, case: Any, given: Mapping[str, Any]) -> NumberAsked:
        known = replace(ask, mistakes=tuple(m.slip(case, given) for m in self.mistakes if not m.likely))
        for one in (m.slip(case, given) for m in self.mistakes if m.likely):
            more = replace(known, mistakes=(*known.mistakes, one))
            known = more if more.is_apart else known
        return known

    def _placed(self, question: Question, index: int) -> Question:
        ask = question.ask
        if isinstance(ask, ChoiceAsked | OrderAsked):
            ask = ask.shuffled(f"{self.name}/{index}")
        return replace(question, draft=question.draft._replace(ask=ask), index=index)


Formulas = Mapping[str, Callable[[Any], float]]


def exercise(
    name: str, *, cases: Callable[[], Sequence[Any]], mistakes: Formulas = MappingProxyType({}),
    likely: Formulas = MappingProxyType({}),
) -> Callable[[Callable[[Any], Draft]], Exercise]:  # fmt: skip
    """Make the exercise of a row of the table `exercises` from the function that drafts one case, and from the wrong
    formulas of known mistakes, by name; what it says stands in the table `exercise_words`. See `Exercise`, `Mistake`.
    """
    row = {r["name"]: r for r in tables.rows("exercises")}[name]
    words = _words().get(name, {})
    known = [Mistake(k, f, *words[k], which is likely) for which in (mistakes, likely) for k, f in which.items()]

    def made(make: Callable[[Any], Draft]) -> Exercise:
        return Exercise(
            name=name,
            lesson=int(row["lesson"]),
            topic=row["topic"],
            level=int(row["level"]),
            kind=row["kind"],
            named=Sentence(row["title"]),
            why=Sentence(row["why"]),
            core=row["core"] == "yes",
            formulas=tuple(row["formulas"].split()),
            cases=cases,
            make=lambda case: _worded(make(case), words),
            mistakes=tuple(known),
        )

    return made


def _worded(draft: Draft, words: Mapping[str, list[Sentence]]) -> Draft:
    [text], hints = words.get("text", [draft.text]), words.get("hint", draft.hints)
    return draft._replace(text=text, hints=tuple(hints))


@cache
def _words() -> dict[str, dict[str, list[Sentence]]]:
    """What the exercises say, by name and part: "text", "hint", or the name of a known mistake."""
    found: dict[str, dict[str, list[Sentence]]] = {}
    for row in tables.rows("exercise_words"):
        if row["part"] in ("text", "hint", "mistake"):
            said_of = found.setdefault(row["exercise"], {})
            said_of.setdefault(row["name"] or row["part"], []).append(Sentence(row["words"]))
    return found


def evenly_spread(rows: Sequence[Any], most: int) -> list[Any]:
    """At most so many of the rows, evenly spread from first to last.

    >>> evenly_spread("abcdefghi", 3), evenly_spread("ab", 3)
    (['a', 'e', 'i'], ['a', 'b'])
    """
    rows = list(rows)
    if len(rows) <= most:
        return rows
    return [rows[round(i * (len(rows) - 1) / (most - 1))] for i in range(most)]


def _unlike(questions: Sequence[Question]) -> list[Question]:
    """The questions without those that ask the same in the same words."""
    return list({(q.text, *sorted(q.lines), q.sketch and q.sketch.alt): q for q in questions}.values())
