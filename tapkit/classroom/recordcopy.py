"""Append-only copies of the records, kept by the hub where no learner can reach them.

A record's own sums find damage and careless edits. Somebody who rewrites the whole file with care is found by
the copy: it holds what was written when it was written. Run by the hub under an instructor's account, as
`python -m tapkit.classroom.recordcopy LEARNERS COPIES`.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterable
from pathlib import Path

from tapkit.classroom.folder import read_untrusted
from tapkit.classroom.roster import ID
from tapkit.messages import _

EVERY = 10.0
"""Seconds between two looks."""
LARGEST = 8 * 2**20
LATER_MOST = 50
"""Versions kept of a record that keeps being rewritten."""


def look(learners: Path, copies: Path) -> int:
    """One look at all records: copies grow by what is new; the number of copies that changed.

    A record that no longer begins with its copy starts a new version of it: kai.jsonl, kai.2.jsonl and so on.
    """
    copies.mkdir(parents=True, exist_ok=True)
    return sum(_keep(id, path, copies) for id, path in records(learners))


def records(learners: Path) -> Iterable[tuple[str, Path]]:
    """The record of every learner who has one."""
    for folder in sorted(learners.iterdir()):
        path = folder / "records" / f"answers-{folder.name}.jsonl"
        if ID.fullmatch(folder.name) and path.exists():
            yield folder.name, path


def versions(id: str, copies: Path) -> list[Path]:
    """The versions of a learner's copy that are there, in order."""
    named = [copies / f"{id}.jsonl", *(copies / f"{id}.{n}.jsonl" for n in range(2, LATER_MOST + 1))]
    return [path for path in named if path.exists()]


def _keep(id: str, path: Path, copies: Path) -> bool:
    try:
        now = read_untrusted(path, LARGEST)
    except (ValueError, OSError):
        return False
    now = now[: now.rfind(b"\n") + 1]
    have = versions(id, copies)
    target = have[-1] if have else copies / f"{id}.jsonl"
    kept = target.read_bytes() if have else b""
    if now == kept:
        return False
    if not now.startswith(kept):
        if len(have) >= LATER_MOST:
            return False
        target, kept = copies / f"{id}.{len(have) + 1}.jsonl", b""
    with open(target, "ab") as file:
        file.write(now[len(kept) :])
    return True


def main(learners: str, copies: str) -> None:
    """Look for ever; an error of one look is told and the next is tried."""
    while True:
        try:
            look(Path(learners), Path(copies))
        except OSError as error:
            print(_("the records could not be copied: {error}", error=error), file=sys.stderr, flush=True)
        time.sleep(EVERY)


if __name__ == "__main__":
    main(*sys.argv[1:3])
