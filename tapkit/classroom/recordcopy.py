"""Append-only copies of the records, kept by the hub where no learner can reach them.

A record's own sums find damage and careless edits. Somebody who rewrites the whole file with care is found by
the copy: it holds what was written when it was written. Run by the hub under an instructor's account, as
`python -m tapkit.classroom.recordcopy LEARNERS COPIES`.
"""

import os
import sys
import time
from collections.abc import Callable
from pathlib import Path

from tapkit.classroom.folder import read_untrusted
from tapkit.classroom.roster import ID
from tapkit.messages import Sentence, _

EVERY = 10.0
"""Seconds between two looks."""
LARGEST = 8 * 2**20
"""Bytes of one learner's record that are read."""
LATER_MOST = 50
"""Versions kept of a record that keeps being rewritten."""


def copy_records(learners: Path, copies: Path, tell: Callable[[Sentence], None] = lambda told: None) -> int:
    """One look at all records: copies grow by what is new; the number of copies that changed.

    A record that no longer begins with its copy starts a new version of it: kai.jsonl, kai.2.jsonl and so on. What
    cannot be copied is told and passed over; the others are copied in the same look.
    """
    copies.mkdir(parents=True, exist_ok=True)
    changed = 0
    for id in sorted(name for name in os.listdir(learners) if ID.fullmatch(name)):
        try:
            changed += _keep(id, learners, copies)
        except FileNotFoundError:  # no record yet
            continue
        except (OSError, ValueError) as error:
            why = error.strerror if isinstance(error, OSError) else error
            tell(_("the record of {id} was not copied ({why}); the others were", id=id, why=why))
    return changed


def versions(id: str, copies: Path) -> list[Path]:
    """The versions of a learner's copy that are there, in order."""
    named = [copies / f"{id}.jsonl", *(copies / f"{id}.{n}.jsonl" for n in range(2, LATER_MOST + 1))]
    return [path for path in named if path.exists()]


def _keep(id: str, learners: Path, copies: Path) -> bool:
    now = read_untrusted(learners / id / "records" / f"answers-{id}.jsonl", LARGEST, beneath=learners)
    now = now[: now.rfind(b"\n") + 1]
    have = versions(id, copies)
    target = have[-1] if have else copies / f"{id}.jsonl"
    kept = target.read_bytes() if have else b""
    if now == kept:
        return False
    if not now.startswith(kept):
        if len(have) >= LATER_MOST:
            raise ValueError(_("it was rewritten {count} times", count=LATER_MOST))
        target, kept = copies / f"{id}.{len(have) + 1}.jsonl", b""
    with open(target, "ab") as file:
        file.write(now[len(kept) :])
    return True


def main(learners: str, copies: str) -> None:
    """Look for ever; each trouble is told once."""
    told: set[str] = set()

    def tell(sentence: object) -> None:
        if str(sentence) not in told:
            told.add(str(sentence))
            print(sentence, file=sys.stderr, flush=True)

    while True:
        try:
            copy_records(Path(learners), Path(copies), tell)
        except OSError as error:
            tell(_("the records could not be copied: {error}", error=error))
        time.sleep(EVERY)


if __name__ == "__main__":
    main(*sys.argv[1:3])
