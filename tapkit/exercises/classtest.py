"""A test on the screen: rows of tests.csv in the folder the class shares, or beside the workbooks.

    title;exercises;opens;closes;minutes;units
    Test 1;chamfer-length, own-how-long, 3;2027-03-02 09:15;2027-03-02 10:00;30;inch

Exercises are names, lessons, or "own"; times are those of the clock on the wall; minutes count from a learner's own
beginning, and may be left out, as units may. Each learner gets numbers that no lesson shows them; the first answer
counts, and hints are not offered. Answers stand in the record with the stage "test".
"""

import hashlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple

from tapkit import door, spreadsheet
from tapkit.exercises import bank, ownfile
from tapkit.exercises.exercise import Exercise, Question
from tapkit.exercises.ownvalues import InColumn
from tapkit.exercises.record import BEGIN, TEST, Entry, History
from tapkit.messages import Sentence, _
from tapkit.spreadsheet import Table

FILE = "tests.csv"
TEST_HEADS = ("title", "exercises", "opens", "closes", "minutes", "units")
GRACE = timedelta(seconds=60)
"""An answer on its way at the end still counts."""
MOST_ROWS, MOST_EXERCISES = 100, 60
_TIME = re.compile(r"(?:(\d{4})-(\d\d?)-(\d\d?)|(\d\d?)\.(\d\d?)\.(\d{4}))[ T]+(\d\d?)[:.](\d\d)(?::\d\d)?")


@dataclass(frozen=True)
class ClassTest:
    """A test: its `title`, the `names` of its exercises, when it `opens` and `closes` (local time), and how many
    `minutes` each learner has (0: until it closes); in "inch" `units` it asks of inch threads where it can."""

    title: str
    names: tuple[str, ...]
    opens: datetime
    closes: datetime
    minutes: float = 0.0
    units: str = "metric"

    @property
    def exercises(self) -> tuple[Exercise, ...]:
        """The exercises in their order. ValueError where one is gone."""
        return tuple(map(bank.exercise_named, self.names))

    @property
    def turn(self) -> int:
        """How far behind a learner's first question those of the test stand: far beyond practice, by the title."""
        digest = hashlib.sha256(" ".join(self.title.casefold().split()).encode()).digest()
        return 1000 + int.from_bytes(digest[:4], "big") % 8000

    def questions(self, seed: int) -> tuple[Question, ...]:
        return tuple(one.variant(self.asked(one, seed)).at_stage(TEST) for one in self.exercises)

    def asked(self, exercise: Exercise, seed: int) -> int:
        """The seed of what the learner of a seed is asked."""
        return exercise.seed_in(self.units, seed + self.turn)

    def begin_line(self, seed: int) -> Question:
        """What stands in a record where the learner of a seed begins: the first question, with a stage of its own."""
        return replace(self.questions(seed)[0], stage=BEGIN)

    def begins(self, history: History, seed: int) -> list[datetime]:
        """When the learner of a seed began, by the record, while the test was open."""
        mine = (local(e.time) for e in history.to(self.begin_line(seed)) if self.takes(e.time))
        return [moment for moment in mine if moment is not None]

    def given(self, history: History, seed: int) -> dict[str, Entry]:
        """The first answer that counts to each question, by exercise."""
        found: dict[str, Entry] = {}
        for question in self.questions(seed):
            for entry in history.to(question):
                if question.judge(entry.answer).counts:
                    found.setdefault(question.exercise.name, entry)
        return found

    def ends(self, begun: datetime) -> datetime:
        """When it is over for who began at a time."""
        return min(self.closes, begun + timedelta(minutes=self.minutes)) if self.minutes else self.closes

    def is_open(self, now: datetime) -> bool:
        """Whether it can be begun."""
        return self.opens <= now < self.closes

    def takes(self, time: str) -> bool:
        """Whether an answer of a time in a record (UTC) came while it was open."""
        moment = local(time)
        return moment is not None and self.opens - GRACE <= moment <= self.closes + GRACE

    def cells(self) -> dict[str, str]:
        """The test as a row of the file."""
        times = (f"{t:%Y-%m-%d %H:%M}" for t in (self.opens, self.closes))
        minutes = f"{self.minutes:g}" if self.minutes else ""
        own = "" if self.units == "metric" else self.units
        return dict(zip(TEST_HEADS, (self.title, ", ".join(self.names), *times, minutes, own)))


class Outcome(NamedTuple):
    """How a learner stands with a test: `given` of `count` questions are answered; `is_over` for this learner; `right`
    of them, None before it has closed for everybody."""

    test: ClassTest
    given: int
    count: int
    is_over: bool
    right: int | None


def outcomes(history: History, seed: int, now: datetime) -> tuple[Outcome, ...]:
    """How the learner of a seed stands, by a record, with each test that was begun, in the order of their times."""
    found = []
    for test in sorted(class_tests()[0].values(), key=lambda t: t.opens):
        begun, given, questions = test.begins(history, seed), test.given(history, seed), test.questions(seed)
        if begun or given:
            is_over = len(given) == len(questions) or now >= test.ends(min(begun, default=test.closes))
            right = sum(q.judge(given[q.exercise.name].answer).is_right for q in questions if q.exercise.name in given)
            found.append(Outcome(test, len(given), len(questions), is_over, right if now >= test.closes else None))
    return tuple(found)


def without_open(history: History, seed: int, now: datetime) -> History:
    """The history without answers of tests that have not closed yet: nothing is told of them before."""
    closed = {q.seed for one in class_tests()[0].values() if now >= one.closes for q in one.questions(seed)}
    return replace(history, entries=tuple(e for e in history.entries if e.stage != TEST or e.seed in closed))


def local(time: str) -> datetime | None:
    """A time of a record (UTC) on the clock on the wall; None where it is none."""
    try:
        moment = datetime.strptime(time, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC)
    except ValueError:
        return None
    return moment.astimezone().replace(tzinfo=None)


def too_long(test: ClassTest, times: Iterable[str]) -> bool:
    """Whether answers at these times lie further apart than a learner's minutes."""
    moments = sorted(filter(None, map(local, times)))
    if not test.minutes or len(moments) < 2:
        return False
    return moments[-1] - moments[0] > timedelta(minutes=test.minutes) + GRACE


# --- the file -----------------------------------------------------------------------------------------


def read_test(cells: Mapping[str, str]) -> ClassTest:
    """The test of a row. Raises ValueError that names the column."""
    row = {head.strip().lower(): cell.strip() for head, cell in cells.items()}
    title = row.get("title", "")[:80]
    if not title:
        raise InColumn("title", _("it is empty; a few words, such as 'Test 1'"))
    names = _names(row.get("exercises", ""))
    opens, closes = (_time(column, row.get(column, "")) for column in ("opens", "closes"))
    if closes <= opens:
        raise InColumn("closes", _("it closes before it opens"))
    units = row.get("units", "").lower() or "metric"
    if units not in ("metric", "inch"):
        raise InColumn("units", _("{text} is neither metric nor inch", text=door.quoted(row["units"])))
    return ClassTest(title, names, opens, closes, _minutes(row.get("minutes", "")), units)


def _names(text: str) -> tuple[str, ...]:
    found: dict[str, None] = {}
    for part in filter(None, (p.strip() for p in re.split(r"[,;\n]", text))):
        try:
            if part.isdigit() and len(part) < 3:
                some = [one.name for one in bank.exercises(lesson=int(part))]
            elif part.lower() == "own":
                some = list(bank.own_found().exercises)
            else:
                some = [bank.exercise_named(part).name]
        except ValueError as error:
            raise InColumn("exercises", error) from None
        if not some:
            raise InColumn("exercises", _("{part} has no exercises", part=door.quoted(part)))
        found |= dict.fromkeys(some)
    if not 1 <= len(found) <= MOST_EXERCISES:
        raise InColumn("exercises", _("name 1 to {most} exercises, like 'chamfer-length, 3'", most=MOST_EXERCISES))
    return tuple(found)


def _time(column: str, text: str) -> datetime:
    found = _TIME.fullmatch(text)
    try:
        if found:
            year, month, day, day2, month2, year2, hour, minute = found.groups()
            return datetime(*map(int, (year or year2, month or month2, day or day2, hour, minute)))
    except ValueError:
        pass
    raise InColumn(column, _("{text} is no day and time; write it like 2027-03-02 09:15", text=door.quoted(text)))


def _minutes(text: str) -> float:
    if not text:
        return 0.0
    found = re.fullmatch(r"(\d{1,3}(?:[.,]\d+)?)(?:\s*min(?:utes)?)?", text)
    if not found or not float(found[1].replace(",", ".")):
        raise InColumn("minutes", _("{text} is no number of minutes; write it like 30", text=door.quoted(text)))
    return float(found[1].replace(",", "."))


def class_tests() -> tuple[dict[str, ClassTest], tuple[Sentence, ...]]:
    """All tests by title, and a sentence for each row that cannot be used."""
    found: dict[str, ClassTest] = {}
    problems: list[Sentence] = []
    for folder in ownfile.own_folders():
        if not (folder / FILE).is_file() or (folder / FILE).stat().st_size > ownfile.LARGEST:
            continue
        table = spreadsheet.read_sheet(spreadsheet.bytes_of(folder / FILE))
        for line, row in list(zip(table.lines, table.rows))[:MOST_ROWS]:
            try:
                one = read_test(dict(zip(table.heads, row)))
                found.setdefault(one.title, one)
            except ValueError as error:
                problems.append(_("{file}, line {line}, {error}", file=FILE, line=line, error=error.args[0]))
    return found, tuple(problems)


def find_class_test(title: str) -> ClassTest:
    """The test of a title; ValueError with those there are."""
    found, problems = class_tests()
    for one in found.values():
        if " ".join(one.title.casefold().split()) == " ".join(title.casefold().split()):
            return one
    known = ", ".join(found) or "–"
    told = problems[0] if problems else ""
    raise ValueError(_("there is no test {title}; there are: {known}. {told}", title=title, known=known, told=told))


def add_test(test: ClassTest, folder: Path) -> Path:
    """Write a test into the file of a folder, in place of the one of its title; the file.

    Raises ValueError in one sentence where it cannot be written.
    """

    def changed(before: Table) -> Table:
        heads = before.heads
        if test.units != "metric" and "units" not in map(str.lower, map(str.strip, heads)):
            before = before._replace(rows=tuple((*row, "") for row in before.rows))
            heads = (*heads, "units")
        at = heads.index("title") if "title" in heads else 0
        kept = tuple(row for row in before.rows if row[at].strip() != test.title)
        cells = test.cells()
        row = tuple(cells.get(head.strip().lower(), "") for head in heads)
        return before._replace(heads=heads, rows=(*kept, row))

    spreadsheet.rewrite(folder / FILE, changed, TEST_HEADS)
    return folder / FILE
