"""Several files of a folder changed together: all of them or none, whatever ends the program in between."""

import contextlib
import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from tapkit.classroom.folder import put_in_place

NEW, READY = ".new-", ".ready-"
"""How folders begin that are being filled, and that are whole and on their way into place."""
LEFT = 3600.0
"""Seconds after which a folder that was being filled belongs to a program that ended."""


@contextlib.contextmanager
def together(root: Path) -> Iterator[Path]:
    """A folder to write files into; at the end all of them take their places below `root`, or, after any error, none.

    Once the folder has its second name everything is decided: where the program ends after that, `roll_forward` does
    the rest. Raises OSError where they cannot be written; nothing is changed then.
    """
    root.mkdir(parents=True, exist_ok=True)
    roll_forward(root)
    stage = Path(tempfile.mkdtemp(dir=root, prefix=NEW))
    try:
        yield stage
        os.rename(stage, root / stage.name.replace(NEW, READY))
    except BaseException:
        shutil.rmtree(stage, ignore_errors=True)
        with contextlib.suppress(OSError):
            root.rmdir()  # made for these files alone
        raise
    roll_forward(root)


def roll_forward(root: Path) -> None:
    """Finish what was decided and not done, and clear away what was never decided."""
    for ready in sorted(root.glob(f"{READY}*")):
        for path in sorted(ready.rglob("*")):
            place = root / path.relative_to(ready)
            if path.is_dir():
                place.mkdir(exist_ok=True)
                place.chmod(path.stat().st_mode & 0o7777)
            else:
                put_in_place(str(path), place)
        shutil.rmtree(ready)
    clear_left(root, NEW)


def clear_left(root: Path, begins: str) -> None:
    """Clear away folders that were being filled by programs that ended."""
    for left in root.glob(f"{begins}*"):
        with contextlib.suppress(OSError):
            if time.time() - left.stat().st_mtime > LEFT:
                shutil.rmtree(left)
