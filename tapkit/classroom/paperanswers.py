"""Answers from paper that the instructor typed into the list `tapkit sheets` made."""

from pathlib import Path

from tapkit.classroom.evidence import MOST_FILES, Book, Evidence, Given, Problem
from tapkit.classroom.folder import printable, read_untrusted
from tapkit.classroom.roster import MAX_BYTES, Learner, numbered_rows, plain_id
from tapkit.messages import Sentence, _, said
from tapkit.spreadsheet import decode


def gather_typed(folder: Path, book: Book, found: Evidence) -> None:
    """Add the answers of every list (*.csv) in a folder whose columns name exercises of the set."""
    for path in sorted(folder.glob("*.csv"))[:MOST_FILES]:
        name = printable(path.name)
        try:
            text, _ = decode(read_untrusted(path, MAX_BYTES))
            rows = list(numbered_rows(text, name))
        except (ValueError, OSError) as error:
            found.tell(Problem(name, 0, "", said(error)))
            continue
        _read(rows, name, book, found)


def _read(rows: list[tuple[int, list[str]]], file: str, book: Book, found: Evidence) -> None:
    heads = [h.strip() for h in rows[0][1]] if rows else []
    columns = {name: at for at, name in enumerate(heads) if name in book.exercises}
    if "id" not in heads or not columns:
        found.tell(Problem(file, 1, "", _("has no columns id and names of exercises of this set; not read")))
        return
    code_at = heads.index("sheet") if "sheet" in heads else None
    for line, cells in rows[1:]:
        row = dict(enumerate(cells))
        learner = book.roster.find(row.get(heads.index("id"), ""))
        if learner is None:
            if any(cells):
                who = row.get(heads.index("id"), "")[:40]
                found.tell(Problem(file, line, "", _("{who!r} is not on the roster; left out", who=who)))
            continue
        told = _check_code(row.get(code_at, ""), learner, heads[code_at + 1 :], book) if code_at is not None else ""
        if told:
            found.tell(Problem(file, line, learner.id, told))
        sheet = row.get(code_at, "") or book.sheet(learner.id, columns if code_at is None else heads[code_at + 1 :])
        for name, at in columns.items():
            if row.get(at, "").strip():
                found.lines += 1
                seed = book.asked(learner.id, name)
                found.given.append(Given(learner.id, name, seed, row[at], file=file, line=line, sheet=sheet))


def _check_code(code: str, learner: Learner, names: list[str], book: Book) -> Sentence | str:
    """A sentence where the code typed from the sheet is another learner's, or of another seed or set."""
    wanted = {one.id: book.sheet(one.id, names) for one in book.roster}
    if not code or plain_id(code) == plain_id(wanted[learner.id]):
        return ""
    holder = next((id for id, one in wanted.items() if plain_id(one) == plain_id(code)), None)
    if holder:
        told = _("the sheet code {code!r} is that of {holder!r}", code=code[:20], holder=holder)
    else:
        told = _("the sheet code {code!r} is of another set or seed", code=code[:20])
    return _("{told}, not of {learner!r}; marked all the same, look at the paper", told=told, learner=learner.id)
