"""A learner's record: an append-only file of JSON lines in the learner's own folder.

One line for one answer:

    {"v":1,"n":3,"t":"2026-03-02T09:15:07Z","who":"ada","class":"","do":"chamfer-length","seed":7,"stage":"whole",
     "q":"5b1c2d3e","answer":"6 mm","hints":1,"seen":false,"after":"9f86d081","sum":"2c26b46b"}

v version · n number of the line, from 1 · t time, UTC · who from `me.name()`, class from TAPKIT_CLASS_NAME, empty
alone · do exercise · seed, stage: which question · q its digest, so that a question changed since is noticed · answer
as typed · hints seen before · seen: the worked solution had been opened · after: the sum of the line before · sum: the
first eight digits of the SHA-256 of the line without it.

No verdict is kept: it is computed again from answer and seed. Sums find damage and careless edits; they are no
proof against a learner who wants to cheat. An answer is acknowledged only once its line is on the disk.
"""

import contextlib
import errno
import hashlib
import json
import os
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple

from tapkit.exercises import me
from tapkit.exercises.exercise import Question
from tapkit.filelock import StillLocked, locked
from tapkit.messages import Sentence, _, listed, ngettext

VERSION = 1
MAX_LINE = 8000
MAX_BYTES = 64 * 1024 * 1024
BEGIN = "begin"
"""Stage of a line that is no answer: it says when a test was begun."""
TEST = "test"
"""Stage of an answer in a test of the class."""
KEPT = 1000
"""Characters kept of an answer; a longer one cannot be read anyway."""
TAIL = 4 * MAX_LINE


class Entry(NamedTuple):
    """One answer of the record; see the module for the fields."""

    number: int
    time: str
    learner: str
    klass: str
    exercise: str
    seed: int
    stage: str
    question: str
    answer: str
    hints: int
    seen: bool
    after: str
    sum: str


class Damage(NamedTuple):
    """A line that cannot be used: its place from 1, its text (shortened), and why, in words."""

    line: int
    text: str
    why: Sentence | str


@dataclass(frozen=True)
class History:
    """What a record holds: `entries` in order; `damaged` lines, kept aside; `breaks`, numbers of the entries
    that do not follow on from the one before (lines lost, edited or put elsewhere)."""

    entries: tuple[Entry, ...] = ()
    damaged: tuple[Damage, ...] = ()
    breaks: tuple[int, ...] = ()

    def to(self, question: Question) -> tuple[Entry, ...]:
        """The answers to a question, as long as it reads as it did."""
        key = (question.exercise.name, question.seed, question.stage)
        mine = [e for e in self.entries if (e.exercise, e.seed, e.stage) == key]
        return tuple(e for e in mine if e.question == question.digest)

    @property
    def note(self) -> Sentence | None:
        """One sentence for the learner on what is wrong with the record, None where nothing is."""
        if not self.damaged:
            return None
        lines = listed([d.line for d in self.damaged[:5]] + (["…"] if len(self.damaged) > 5 else []))
        return ngettext(
            "A line of your record cannot be read (line {lines}). It is kept aside; all other answers count.",
            "{count} lines of your record cannot be read (lines {lines}). They are kept aside; all other answers "
            "count.",
            len(self.damaged),
            lines=lines,
        )


class Saved(NamedTuple):
    """Whether an answer is on the disk, and a sentence for the learner where it is not."""

    saved: bool
    says: Sentence | str = ""

    @property
    def message(self) -> str:
        """The sentence in the language in use."""
        return str(self.says)


# --- lines ------------------------------------------------------------------------------------------------


_KEYS = {
    "n": int, "t": str, "who": str, "class": str, "do": str, "seed": int, "stage": str, "q": str, "answer": str,
    "hints": int, "seen": bool, "after": str, "sum": str,
}  # fmt: skip


def _sum(body: str) -> str:
    return hashlib.sha256(body.encode()).hexdigest()[:8]


def _line(values: dict[str, Any]) -> str:
    body = json.dumps(values, ensure_ascii=True, separators=(",", ":"))
    return f'{body[:-1]},"sum":"{_sum(body)}"}}'


def read_line(text: str) -> Entry:
    """An entry from its line. Raises ValueError that says in a few words what is wrong with it."""
    if len(text) > MAX_LINE:
        raise ValueError(_("too long"))
    found = re.fullmatch(r'(\{.*),"sum":"([0-9a-f]{8})"\}', text)
    if not found:
        raise ValueError(_("not a whole line of a record"))
    if _sum(found[1] + "}") != found[2]:
        raise ValueError(_("changed since it was written"))
    try:
        values = json.loads(text)
    except (ValueError, RecursionError):
        raise ValueError(_("not JSON")) from None
    version = values.get("v")
    if version != VERSION:
        raise ValueError(
            _("version {version}, and this program reads version {own}", version=str(version)[:10], own=VERSION)
        )
    for key, kind in _KEYS.items():
        if type(values.get(key)) is not kind:
            raise ValueError(_("no proper “{key}”", key=key))
    return Entry(*(values[k] for k in _KEYS))


def parse_record(data: bytes) -> History:
    """The history in the bytes of a record, whatever they are; pure, never raises for bad content."""
    if len(data) > MAX_BYTES:
        return History(
            damaged=(
                Damage(1, "", _("the record has {bytes} bytes, more than {most}", bytes=len(data), most=MAX_BYTES)),
            )
        )
    entries: list[Entry] = []
    damaged: list[Damage] = []
    for number, raw in enumerate(data.split(b"\n"), start=1):
        if not raw.strip():
            continue
        try:
            entries.append(read_line(raw.decode("utf-8").rstrip("\r")))
        except ValueError as error:
            why = "not text" if isinstance(error, UnicodeDecodeError) else str(error)
            damaged.append(Damage(number, raw[:80].decode("utf-8", "replace"), why))
    return History(tuple(entries), tuple(damaged), _breaks(entries))


def _breaks(entries: Iterable[Entry]) -> tuple[int, ...]:
    found, number, last = [], 0, ""
    for entry in entries:
        if entry.number != number + 1 or entry.after != last:
            found.append(entry.number)
        number, last = entry.number, entry.sum
    return tuple(found)


# --- the file ---------------------------------------------------------------------------------------------


def default_path() -> Path:
    """The learner's record: in the folder TAPKIT_RECORDS, else in the folder the workbooks lie in."""
    folder = Path(os.environ.get("TAPKIT_RECORDS") or ".")
    name = re.sub(r"[^\w.-]", "_", me.name() if me.is_given() else "")
    return folder / (f"answers-{name}.jsonl" if name else "my-answers.jsonl")


def read_record(path: Path) -> History:
    """The history in a file; an empty one where there is none. Raises OSError where it cannot be read."""
    try:
        with open(path, "rb") as file:
            return parse_record(file.read(MAX_BYTES + 1))
    except FileNotFoundError:
        return History()


class Record:
    """The record of one learner. What cannot be written waits here and is tried again with the next answer."""

    def __init__(self, path: Path | None = None, *, timeout: float = 5.0) -> None:
        self.path = default_path() if path is None else Path(path)
        self.timeout = timeout
        self.waiting: list[dict[str, Any]] = []

    def add(self, question: Question, answer: str, *, hints: int = 0, seen: bool = False) -> Saved:
        """Write one answer. It is acknowledged (`saved`) only once it is on the disk."""
        self.waiting.append(
            {
                "t": datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
                "who": me.name(),
                "class": os.environ.get("TAPKIT_CLASS_NAME", "")[:80],
                "do": question.exercise.name,
                "seed": question.seed,
                "stage": question.stage,
                "q": question.digest,
                "answer": str(answer)[:KEPT],
                "hints": int(hints),
                "seen": bool(seen),
            }
        )
        return self.flush()

    def flush(self) -> Saved:
        """Try to write everything that waits."""
        while self.waiting:
            try:
                _append(self.path, self.waiting[0], self.timeout)
            except (OSError, StillLocked) as error:
                return Saved(False, _in_words(error, len(self.waiting)))
            self.waiting.pop(0)
        return Saved(True)

    def history(self) -> History:
        """Everything answered so far: what is on the disk, and what waits to be written."""
        try:
            found = read_record(self.path)
        except OSError as error:
            found = History(damaged=(Damage(0, "", error.strerror or _("cannot be read")),))
        unsaved = tuple(
            Entry(len(found.entries) + i, *(v for v in values.values()), "", "")
            for i, values in enumerate(self.waiting, start=1)
        )
        return History(found.entries + unsaved, found.damaged, found.breaks)


def _append(path: Path, values: dict[str, Any], timeout: float) -> None:
    """Add one line under the lock, in one write, and bring it to the disk; all of it or nothing."""
    new = not path.exists()
    if new:
        path.parent.mkdir(parents=True, exist_ok=True)
    flags = os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0)
    handle = os.open(path, flags, 0o666)
    try:
        with locked(handle, timeout):
            size = os.lseek(handle, 0, os.SEEK_END)
            number, last, torn = _tail(handle, size)
            line = _line({"v": VERSION, "n": number + 1, **values, "after": last})
            _write(handle, ("\n" if torn else "") + line + "\n", size)
    finally:
        os.close(handle)
    if new:
        _sync_folder(path.parent)


def _write(handle: int, text: str, size: int) -> None:
    data = text.encode("ascii")
    try:
        if os.write(handle, data) != len(data):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        os.fsync(handle)
    except OSError:
        with contextlib.suppress(OSError):
            os.ftruncate(handle, size)
        raise


def _tail(handle: int, size: int) -> tuple[int, str, bool]:
    """Number and sum of the last good line, and whether the file ends in a torn one."""
    for reach in (TAIL, size):
        start = max(size - reach, 0)
        os.lseek(handle, start, os.SEEK_SET)
        data = b""
        while len(data) < size - start and (more := os.read(handle, size - start - len(data))):
            data += more
        for raw in reversed(data.split(b"\n")):
            with contextlib.suppress(ValueError):
                entry = read_line(raw.decode("ascii").rstrip("\r"))
                return entry.number, entry.sum, not data.endswith(b"\n")
        if start == 0:
            return 0, "", bool(data) and not data.endswith(b"\n")
    return 0, "", False


def _sync_folder(folder: Path) -> None:
    """Bring a new file's name to the disk, where folders can be synced."""
    if os.name != "posix":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _in_words(error: OSError, waiting: int) -> Sentence:
    """Why an answer is not on the disk, for the learner."""
    code = error.errno
    why: Sentence | str
    if isinstance(error, StillLocked):
        why = _("another window is writing to your record")
    elif code in (errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC), errno.EFBIG):
        why = _("the disk is full")
    elif code in (errno.EACCES, errno.EPERM, errno.EROFS):
        why = _("this folder cannot be written to")
    elif code == errno.ENOENT:
        why = _("the folder of your record is not there")
    else:
        why = (error.strerror or "").lower() or _("the file cannot be written")
    return ngettext(
        "Your answer was judged but not saved: {why}. Go on; it is tried again with the next answer.",
        "{count} answers are not saved yet: {why}. Go on; it is tried again with the next answer.",
        waiting,
        why=why,
    )
