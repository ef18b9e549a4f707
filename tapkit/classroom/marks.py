"""`tapkit marks`: mark a class from its learners' records and the answers typed from paper."""

import argparse
import contextlib
import re
import shutil
import sys
import tempfile
from collections.abc import Iterable, Iterator
from datetime import datetime
from pathlib import Path

from tapkit.classroom.classargs import add_class, fill_in, set_asked_for, told_roster, writing
from tapkit.classroom.corrections import Correction, corrected
from tapkit.classroom.evidence import Book, gather, tell_overtime
from tapkit.classroom.folder import free_place, read_untrusted, write_safely
from tapkit.classroom.gradebook import (
    SEPARATORS,
    all_sets,
    answer_details,
    gradebook,
    marks_page,
    problem_list,
    set_points,
)
from tapkit.classroom.marking import COUNTED, How, Marks, mark
from tapkit.classroom.paperanswers import gather_typed
from tapkit.classroom.roster import MAX_BYTES
from tapkit.classroom.together import clear_left
from tapkit.messages import _, ngettext

TOLD = 20
"""Problems printed on the terminal; all stand in problems.csv."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Options of `tapkit marks`."""
    add = parser.add_argument
    first = _("a test of tests.csv; the first answer counts")
    add_class(parser, test=first, seed=_("class seed the questions were made with"))
    add("--records", type=Path, metavar="DIR", help=str(_("folder with the learners' records (and lists)")))
    add("--out", type=Path, metavar="DIR", help=str(_("folder to write the marks to")))
    add("--count", choices=COUNTED, default="best", help=str(_("which try of an exercise counts (default: best)")))
    add("--partial", action="store_true", help=str(_("right parts of an answer count: 2 of 3 blanks give 0.67")))
    worth = _("points of exercises, such as chamfer-length=3,inclination=2 (else 1)")
    add("--points", metavar="LIST", default="", help=str(worth))
    sign = _("sign between cells of the CSV files")
    add("--separator", choices=sorted(SEPARATORS), default="comma", help=str(sign))
    add(
        "--any-seed", action="store_true", help=str(_("count answers to any variant, for learners who practised alone"))
    )
    add(
        "--all-records",
        action="store_true",
        help=str(_("count every record that bears a learner's name, not one alone")),
    )
    add("--copies", type=Path, metavar="DIR", help=str(_("copies of the records kept by the hub, to compare with")))
    add("--title", default="Marks", help=str(_("title of the page")))


def run(arguments: argparse.Namespace) -> int:
    """Read everything, judge it, write gradebook, page and lists."""
    fill_in(arguments, "roster", "records", "seed", "out")
    test, exercises, units = set_asked_for(arguments)
    names = tuple(one.name for one in exercises)
    book = Book(told_roster(arguments.roster), arguments.seed, names, arguments.any_seed, test, units)
    worth, chosen = worth_of(arguments.points, set(names)), test.title if test else arguments.chosen
    how = How(arguments.count, arguments.partial, worth, arguments.separator, arguments.all_records)
    marks = marks_of(book, how, arguments.records, [arguments.records], arguments.copies)
    with writing(arguments.out):
        written = write_marks(marks, arguments.out, arguments.title, chosen, how.separator)
    for problem in marks.problems[:TOLD]:
        print(problem, file=sys.stderr)
    if len(marks.problems) > TOLD:
        print(_("… and {count} more in problems.csv", count=len(marks.problems) - TOLD), file=sys.stderr)
    print(ngettext("{count} answer judged", "{count} answers judged", marks.answers))
    print(ngettext("{count} line needs a look", "{count} lines need a look", len(marks.problems)))
    print(
        _(
            "Open {written} for the class, gradebook.csv beside it for the marks of this set, all-sets.csv for all",
            written=written,
        )
    )
    return 0


def marks_of(
    book: Book, how: How, records: Path, typed: Iterable[Path], copies: Path | None, known: Iterable[Correction] = ()
) -> Marks:
    """The marks of a folder of records and of the lists in folders of `typed` answers; nothing is written."""
    found = gather(records, book, copies=copies, every=how.every)
    for place in typed:
        gather_typed(place, book, found)
    tell_overtime(book, found)
    found.given = corrected(found.given, known)
    return mark(book, found, how)


def worth_of(text: str, names: set[str]) -> dict[str, float]:
    """Points by exercise from "chamfer-length=3, inclination=2". Raises ValueError that names what cannot be read.

    >>> worth_of("inclination=1.5", {"inclination"})
    {'inclination': 1.5}
    """
    found = {}
    for part in filter(None, (p.strip() for p in text.split(","))):
        name, _equals, number = (piece.strip() for piece in part.partition("="))
        if name not in names or not re.fullmatch(r"\d{1,3}(\.\d{1,2})?", number):
            raise ValueError(
                _(
                    "cannot read {part!r} in --points; write the name of an exercise of the set and its points, such "
                    "as {example}=2",
                    part=part[:40],
                    example=min(names),
                )
            )
        found[name] = float(number)
    return found


def write_marks(marks: Marks, out: Path, title: str, chosen: str, separator: str) -> Path:
    """Gradebooks, details, problems and page of a run in a folder of their own, all at once or not at all; the page."""
    out.mkdir(parents=True, exist_ok=True)
    clear_left(out, ".marks-")
    part = Path(tempfile.mkdtemp(dir=out, prefix=".marks-"))
    try:
        write_safely(part / "gradebook.csv", gradebook(marks, separator), mode=0o640)
        write_safely(part / "details.csv", answer_details(marks, separator), mode=0o640)
        write_safely(part / "problems.csv", problem_list(marks.problems, separator), mode=0o640)
        own = set_points(marks, " ".join(chosen.split()))
        write_safely(part / "set.csv", own, mode=0o640)
        write_safely(part / "all-sets.csv", all_sets(marks.roster, [*_earlier(out), own], separator), mode=0o640)
        write_safely(part / "marks.html", marks_page(marks, title=title), mode=0o640)
        part.chmod(0o750)
        return part.rename(free_place(out / f"marks-{datetime.now():%Y-%m-%d-%H%M%S}")) / "marks.html"
    except BaseException:
        shutil.rmtree(part, ignore_errors=True)
        raise


def _earlier(out: Path) -> Iterator[str]:
    """The points of all earlier runs, the oldest first."""
    for path in sorted(out.glob("marks-*/set.csv"), key=lambda p: (p.stat().st_mtime_ns, p)):
        with contextlib.suppress(OSError, ValueError):
            yield read_untrusted(path, MAX_BYTES).decode("utf-8")
