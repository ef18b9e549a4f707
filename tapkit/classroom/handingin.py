"""A learner hands in: a copy of the record goes into the folder the class shares."""

from pathlib import Path

from tapkit.classroom.evidence import LARGEST
from tapkit.classroom.folder import read_untrusted, write_safely
from tapkit.classroom.roster import plain_id
from tapkit.messages import _

MOST = 50


def file_name(name: str) -> str:
    """The file a learner hands in."""
    return f"answers-{plain_id(name) or 'no-name'}.jsonl"


def hand_in(record: Path, name: str, folder: Path) -> Path:
    """Copy a record to the class folder; what others handed in stays as it is. Where it lies.

    Raises ValueError where there is nothing to hand in, OSError where the folder cannot be written.
    """
    data = record.read_bytes() if record.exists() else b""
    if not data:
        raise ValueError(_("there are no answers yet"))
    place = folder / "records" if (folder / "records").is_dir() else folder
    for number in range(1, MOST):
        target = place / (file_name(name) if number == 1 else file_name(name).replace(".jsonl", f" ({number}).jsonl"))
        if not target.exists() or data.startswith(read_untrusted(target, LARGEST)):
            write_safely(target, data)
            return target
    raise ValueError(_("there are {count} files under this name; tell your instructor", count=MOST))
