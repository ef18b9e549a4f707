"""What a learner has locked, such as a prediction, kept beside the record: a kernel started anew finds it locked.

One JSON object by key, {"chips M10x1.5 …": {"way": "toward the shank", "reason": "lifted"}}. It holds no mark.
"""

import contextlib
import json
import os
from collections.abc import Mapping
from pathlib import Path

from tapkit.exercises.record import default_path
from tapkit.messages import Sentence, _

FILE = "my-predictions.json"
MOST = 1_000_000
"""Bytes read of it."""


def place() -> Path:
    """Where it lies: beside the learner's record."""
    return default_path().with_name(FILE)


def unlocked(key: str) -> dict[str, str]:
    """What was locked under a key; nothing where there is nothing, or it cannot be read."""
    found = _read().get(key)
    return {str(k): str(v) for k, v in found.items()} if isinstance(found, dict) else {}


def lock(key: str, values: Mapping[str, str]) -> Sentence | None:
    """Keep what is locked; the sentence for the learner where it cannot be written."""
    file = place()
    part = file.with_name(f"{file.name}.{os.getpid()}.part")
    try:
        part.write_text(json.dumps({**_read(), key: dict(values)}, indent=1), encoding="utf-8")
        os.replace(part, file)
    except OSError as error:
        with contextlib.suppress(OSError):
            part.unlink()
        why = (error.strerror or str(error)).lower()
        return _("It is locked here but not saved: {why}. After a new start it is asked again.", why=why)
    return None


def _read() -> dict[str, object]:
    with contextlib.suppress(OSError, ValueError, RecursionError), open(place(), "rb") as file:
        found = json.loads(file.read(MOST))
        return found if isinstance(found, dict) else {}
    return {}
