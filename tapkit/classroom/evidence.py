"""What a class handed in: answers read from records and lists that anybody may have changed.

Nothing in a record is believed: whose it is follows from where it lies, which question it answers from the class
seed. What is damaged, edited, cut off, doubled, swapped or from another class is told by file and line; the rest
is handed on to be judged.
"""

import contextlib
import os
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from itertools import islice
from pathlib import Path
from typing import NamedTuple

from tapkit.classroom.folder import printable, read_untrusted
from tapkit.classroom.recordcopy import LARGEST, versions
from tapkit.classroom.roster import Roster, plain_id
from tapkit.classroom.seeds import class_code, learner_seed, question_seed, sheet_code
from tapkit.exercises import bank
from tapkit.exercises.classtest import ClassTest, too_long
from tapkit.exercises.record import BEGIN, TEST, Entry, parse_record, read_line
from tapkit.messages import Sentence, _, listed

DEEPEST = 5
"""Folders below the given one that are searched."""
MOST_FILES, MOST_BYTES = 100, 2 * LARGEST
"""Records of one learner that are read, and their bytes in all."""
MOST_SEEN = 20_000
"""Files looked at below one learner's folder, or beside all folders."""
MOST_TOLD = 200
"""Problems of one place that are told one by one."""
TURNS = 10_000
"""Later variants that a learner may have asked for."""


class Given(NamedTuple):
    """One answer to be judged: whose, to which question, as typed, where it stands, the code of its paper `sheet`."""

    learner: str
    exercise: str
    seed: int
    answer: str
    stage: str = "whole"
    question: str = ""
    time: str = ""
    hints: int = 0
    seen: bool = False
    file: str = ""
    line: int = 0
    sheet: str = ""
    means: str = ""
    """What it stands for, where an instructor corrected what could not be read."""


class Problem(NamedTuple):
    """Something about one line of one file, in a sentence."""

    file: str
    line: int
    learner: str
    text: Sentence | str

    def __str__(self) -> str:
        told = self.file if not self.line else _("{file}, line {line}", file=self.file, line=self.line)
        return str(_("{place}: {text}", place=told, text=self.text))


@dataclass(frozen=True)
class Book:
    """Who is in the class, and which seeds are whose. `exercises` are the names in the set, `test` the
    test it is, `units` those of the set."""

    roster: Roster
    seed: str
    exercises: tuple[str, ...]
    any_seed: bool = False
    test: ClassTest | None = None
    units: str = "metric"

    @property
    def turn(self) -> int:
        """How far behind each learner's first seed the questions of the set stand: those of a test do."""
        return self.test.turn if self.test else 0

    @cached_property
    def code(self) -> str:
        """The code that lines of this class carry."""
        return class_code(self.seed)

    @cached_property
    def _firsts(self) -> list[tuple[int, str]]:
        """The first seed of every learner, in order of the seeds."""
        return sorted((question_seed(learner_seed(self.seed, one.id)), one.id) for one in self.roster)

    def asked(self, learner: str, exercise: str) -> int:
        """The seed of the question of the set that a learner is asked."""
        first = question_seed(learner_seed(self.seed, learner), self.turn)
        return bank.exercise_named(exercise).seed_in(self.units, first) if self.units != "metric" else first

    def sheet(self, learner: str, exercises: Iterable[str]) -> str:
        """The code of a learner's sheet of these exercises."""
        return sheet_code(learner_seed(self.seed, learner) + self.turn, exercises, self.units)

    def holder(self, seed: int) -> str:
        """Whose question a seed is, or nobody's ("")."""
        place = bisect_right(self._firsts, (seed, "\uffff"))
        if not place or seed - self._firsts[place - 1][0] >= TURNS:
            return ""
        return self._firsts[place - 1][1]


@dataclass
class Evidence:
    """Answers to be judged, problems by line, and how many answers belong to other questions (practice)."""

    given: list[Given] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    elsewhere: int = 0
    lines: int = 0
    seen: dict[tuple[str, str], Sentence] = field(default_factory=dict)
    """Where each line stood first, by owner and sum: what others copied does not count against its owner."""
    told: Counter[str] = field(default_factory=Counter)
    begins: dict[str, list[str]] = field(default_factory=dict)
    """When each learner began the test, by the record."""
    own: dict[str, Path] = field(default_factory=dict)
    """The one record of each learner that counts, where there is one in its proper place."""

    def tell(self, problem: Problem) -> None:
        """Note a problem; where one place has very many, the rest are only counted."""
        place = problem.learner or problem.file.split("/")[0]
        self.told[place] += 1
        if self.told[place] <= MOST_TOLD:
            self.problems.append(problem)
        elif self.told[place] == MOST_TOLD + 1:
            self.problems.append(Problem(problem.file, 0, problem.learner, _("has many more lines like these")))


PROPER = ("{id}/records/answers-{id}.jsonl", "{id}/answers-{id}.jsonl", "answers-{id}.jsonl")
"""Where a learner's record lies: on a hub, in a folder for each learner, all in one folder."""


def gather(folder: Path, book: Book, copies: Path | None = None, *, every: bool = False) -> Evidence:
    """Everything below a folder that is a record (*.jsonl) of the class.

    Whose a record is is settled first: of a learner who has one in its proper place that one counts, and what else
    bears their name or their lines, wherever it came from, changes nothing. It is told; `every` counts it too (for
    learners who worked on two machines). With `copies` (see `recordcopy`) a record that was rewritten is told, and its
    older lines are read from the copy.

    Raises ValueError where the folder cannot be read.
    """
    if not folder.is_dir():
        raise ValueError(_("there is no folder {folder}; give the one that holds the learners' records", folder=folder))
    found = Evidence()
    proper = proper_records(folder, book)
    for id, path in proper.items():
        _gather_file(path, path.relative_to(folder).as_posix(), id, folder, book, copies, found)
    if not every:
        found.own = proper
    _gather_rest(folder, set(proper.values()), book, copies, found)
    return found


def proper_records(folder: Path, book: Book) -> dict[str, Path]:
    """The record of each learner who has one in a proper place; of several, that which is whole and their own, then
    that which most of the class has."""
    ids = [one.id for one in book.roster]
    places = {at: {id: folder / at.format(id=id) for id in ids} for at in PROPER}
    there = {at: {id: path for id, path in paths.items() if os.path.lexists(path)} for at, paths in places.items()}
    order = sorted(PROPER, key=lambda at: (-len(there[at]), PROPER.index(at)))
    found = {id: [there[at][id] for at in order if id in there[at]] for id in ids}
    return {id: _true_one(paths, folder, id, book) for id, paths in found.items() if paths}


def _true_one(paths: list[Path], folder: Path, id: str, book: Book) -> Path:
    """Of the files in a learner's proper places, the first that is whole and theirs, else the first."""
    if len(paths) > 1:
        for path in paths:
            with contextlib.suppress(OSError, ValueError):
                if is_whole(data := read_untrusted(path, LARGEST, beneath=folder), book.code) and _is_of(
                    data, id, book
                ):
                    return path
    return paths[0]


def _is_of(data: bytes, id: str, book: Book) -> bool:
    """Whether every line of a record that bears a name bears this learner's."""
    names = {entry.learner for entry in parse_record(data).entries if entry.learner}
    return all(plain_id(name) == id or _is_known_as(name, id, book) for name in names)


def is_whole(data: bytes, code: str) -> bool:
    """Whether a record is all of one piece: no line damaged, lost or moved, one name, no other class."""
    history = parse_record(data)
    names = {plain_id(entry.learner) for entry in history.entries if entry.learner}
    classes = {entry.klass for entry in history.entries} <= {"", code}
    return bool(history.entries) and not history.damaged and not history.breaks and len(names) < 2 and classes


def _gather_rest(folder: Path, done: set[Path], book: Book, copies: Path | None, found: Evidence) -> None:
    """Records in other places, within a budget for each learner."""
    read: Counter[str] = Counter()
    amount: Counter[str] = Counter()
    full: set[str] = set()
    for path in _files(folder, found):
        if path in done:
            continue
        name = path.relative_to(folder).as_posix()
        owner = learner_of(name, book.roster)
        whose = owner or name.split("/")[0]
        if owner in found.own:
            told = _("stands beside the record of {owner!r}, which alone counts; left out", owner=owner)
            found.tell(Problem(printable(name), 0, owner, told))
            continue
        read[whose] += 1
        if read[whose] <= MOST_FILES and amount[whose] <= MOST_BYTES:
            amount[whose] += _gather_file(path, name, owner, folder, book, copies, found)
        elif whose not in full:
            full.add(whose)
            found.tell(Problem(printable(name), 0, "", _("is one record too many; it and those after it are left out")))


def _gather_file(
    path: Path, name: str, owner: str, folder: Path, book: Book, copies: Path | None, found: Evidence
) -> int:
    """One record into the evidence; its bytes."""
    shown = printable(name)
    try:
        data = read_untrusted(path, LARGEST, beneath=folder)
        kept = _copy_of(owner, copies)
    except (ValueError, OSError) as error:
        told = error.args[0] if isinstance(error, ValueError) else _("cannot be read ({why})", why=error.strerror)
        found.tell(Problem(shown, 0, owner, told))
        return 0
    if data.startswith(kept):
        _read(data, shown, owner, book, found)
    else:
        _read_rewritten(data, kept, shown, owner, book, found)
    return len(data)


def _copy_of(owner: str, copies: Path | None) -> bytes:
    """What the hub first saw of a learner's record, where it kept a copy."""
    have = versions(owner, copies) if owner and copies is not None else []
    return read_untrusted(have[0], LARGEST) if have else b""


def _read_rewritten(data: bytes, kept: bytes, file: str, owner: str, book: Book, found: Evidence) -> None:
    """A record that does not hold what its copy does: the copy counts, and of the record what came later."""
    copied = kept.split(b"\n")
    now = data.split(b"\n")
    at = next((n for n, (a, b) in enumerate(zip(now, copied), start=1) if a != b), len(now))
    told = _("from here on the record was changed or cut after it was written; the copy kept by the hub counts instead")
    found.tell(Problem(file, at, owner, told))
    _read(kept, f"copy of {file}", owner, book, found)
    written = max((entry.number for raw in copied if (entry := _entry(raw, False)[0])), default=0)
    for line, raw in enumerate(now, start=1):
        entry = _entry(raw, False)[0]
        if raw in copied or entry is None:
            continue
        if entry.number <= written and entry.stage != BEGIN:
            found.tell(Problem(file, line, owner, _("was put in place of a line written before; left out")))
        else:
            found.lines += 1
            _sort(entry, file, line, owner, book, found)


def _files(folder: Path, found: Evidence) -> Iterator[Path]:
    """Records below a folder, each learner's proper one first; links to folders are not followed."""
    names = sorted(os.listdir(folder))
    flat = [name for name in names if name.endswith(".jsonl")]
    if len(flat) > MOST_SEEN:
        found.tell(Problem("", 0, "", _("there are more than {count} records; the rest are left out", count=MOST_SEEN)))
    yield from (folder / name for name in flat[:MOST_SEEN])
    for name in names:
        if (folder / name).is_dir() and not (folder / name).is_symlink():
            own = list(islice(_below(folder / name), MOST_SEEN))
            yield from sorted(own, key=lambda path, name=name: (path.name != f"answers-{name}.jsonl", path.as_posix()))


def _below(folder: Path) -> Iterator[Path]:
    top, looked = len(folder.parts), 0
    for inner, folders, files in os.walk(folder, followlinks=False):
        looked += len(files) + 1
        if len(Path(inner).parts) - top >= DEEPEST - 1 or looked > MOST_SEEN:
            folders.clear()
        folders.sort()
        yield from (Path(inner) / name for name in sorted(files) if name.endswith(".jsonl"))


def learner_of(name: str, roster: Roster) -> str:
    """Whose record lies at this place: the first folder named like a learner, else the file's name; "" for nobody's.

    >>> from tapkit.classroom.roster import Learner
    >>> class_ = Roster((Learner("kai", "Kai"), Learner("lea", "Lea")))
    >>> names = ("kai/records/a.jsonl", "answers-lea.jsonl", "answers-lea (2).jsonl", "x.jsonl")
    >>> [learner_of(name, class_) for name in names]
    ['kai', 'lea', 'lea', '']
    """
    *folders, file = name.split("/")
    stem = file.removesuffix(".jsonl").split(" (")[0]
    for part in (*folders, stem.removeprefix("answers-"), stem):
        found = roster.find(part)
        if found:
            return found.id
    return ""


def _read(data: bytes, file: str, owner: str, book: Book, found: Evidence) -> None:
    """The lines of one record into the evidence."""
    number, last = 0, ""
    lines = data.split(b"\n")
    for at, raw in enumerate(lines, start=1):
        if not raw.strip():
            continue
        found.lines += 1
        entry, trouble = _entry(raw, at == len(lines))
        if entry is None:
            found.tell(Problem(file, at, owner, trouble))
            continue
        key = (owner or entry.learner, entry.sum)
        if key in found.seen:
            twice = _("the same line stands already at {place}; counted once", place=found.seen[key])
            found.tell(Problem(file, at, owner, twice))
            continue
        found.seen[key] = _("{file}, line {line}", file=file, line=at)
        if entry.number != number + 1 or entry.after != last:
            broken = _("does not follow on from the line before: lines were lost, moved or edited here; still marked")
            found.tell(Problem(file, at, owner, broken))
        number, last = entry.number, entry.sum
        _sort(entry, file, at, owner, book, found)


def _entry(raw: bytes, is_last: bool) -> tuple[Entry | None, Sentence | str]:
    try:
        return read_line(raw.decode("utf-8").rstrip("\r")), ""
    except UnicodeDecodeError:
        return None, _("is not text; left out")
    except ValueError as error:
        if is_last and not raw.rstrip().endswith(b"}"):
            return None, _("is cut off in the middle; left out")
        return None, _("is {error}; left out", error=error)


def _sort(entry: Entry, file: str, at: int, owner: str, book: Book, found: Evidence) -> None:
    """One whole line: to be judged, or set aside with the reason."""
    learner = owner or (one.id if (one := book.roster.find(entry.learner)) else "")
    trouble = _whose(entry, learner, owner, book)
    if not trouble and not owner and learner in found.own:
        trouble = _("stands outside the record of {learner!r}, which alone counts; left out", learner=learner)
    if trouble:
        found.tell(Problem(file, at, learner, trouble))
        return
    if entry.stage == BEGIN:
        if book.test and entry.exercise == book.test.names[0] and book.test.takes(entry.time):
            found.begins.setdefault(learner, []).append(entry.time)
        return
    if entry.exercise not in book.exercises or _is_elsewhere(entry, learner, book):
        found.elsewhere += 1
        return
    if book.test and not book.test.takes(entry.time):
        late = _("came at {time} (UTC), while the test was not open; left out", time=entry.time)
        found.tell(Problem(file, at, learner, late))
        return
    found.given.append(
        Given(learner, entry.exercise, entry.seed, entry.answer, entry.stage, entry.question, entry.time,
              entry.hints, entry.seen, file, at)
    )  # fmt: skip


def _whose(entry: Entry, learner: str, owner: str, book: Book) -> Sentence | str:
    """Why a line cannot be this learner's, or nothing."""
    if not learner:
        return _("belongs to {other!r}, who is not on the roster; left out", other=entry.learner[:40])
    if entry.klass and entry.klass != book.code:
        return _("comes from another class; left out")
    if entry.learner and not (plain_id(entry.learner) == learner or _is_known_as(entry.learner, learner, book)):
        return _(
            "was written by {other!r} and lies in the place of {learner!r}; left out",
            other=entry.learner[:40],
            learner=learner,
        )
    holder = book.holder(entry.seed)
    if holder and holder != learner and not book.any_seed:
        return _("answers a question of {holder!r}, not of {learner!r}; left out", holder=holder, learner=learner)
    return ""


def tell_overtime(book: Book, found: Evidence) -> None:
    """Tell who began a test twice, and whose answers came after its minutes; they count, the instructor decides."""
    if book.test is None:
        return
    for one in book.roster:
        begins = found.begins.get(one.id, [])
        times = [*begins, *(given.time for given in found.given if given.learner == one.id and given.time)]
        if len(begins) > 1:
            twice = _("began the test {count} times, at {times} (UTC)", count=len(begins), times=listed(sorted(begins)))
            found.tell(Problem("", 0, one.id, twice))
        if too_long(book.test, times):
            told = _(
                "took more than the {minutes} minutes of the test from begin to last answer; all are counted",
                minutes=f"{book.test.minutes:g}",
            )
            found.tell(Problem("", 0, one.id, told))


def _is_known_as(name: str, learner: str, book: Book) -> bool:
    known = book.roster.find(name)
    return known is not None and known.id == learner


def _is_elsewhere(entry: Entry, learner: str, book: Book) -> bool:
    if entry.stage != (TEST if book.test else "whole"):
        return True
    if book.any_seed:
        return False
    return entry.seed != book.asked(learner, entry.exercise) if book.test else book.holder(entry.seed) != learner
