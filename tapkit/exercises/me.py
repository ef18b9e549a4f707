"""Who works here, and with which class: asked for once at Start here, kept beside the workbooks.

On a hub the class says it (TAPKIT_LEARNER), and nothing is asked.
"""

import contextlib
import os
from pathlib import Path

MOST = 80
NAME, CLASS_FOLDER = "my-name.txt", "class-folder.txt"


def name() -> str:
    """The learner's name: that of the class, else the one kept; empty where nobody was asked yet."""
    return os.environ.get("TAPKIT_LEARNER", "")[:MOST] or _kept(NAME)[:MOST]


def is_given() -> bool:
    """Whether the class has set the name, so that it is not asked for."""
    return bool(os.environ.get("TAPKIT_LEARNER"))


def is_instructor() -> bool:
    """Whether the class book lies beside the workbooks, which learners do not get."""
    return not is_given() and (Path(os.environ.get("TAPKIT_FOLDER") or ".") / "class-book.ipynb").is_file()


def keep_name(text: str) -> str:
    """Keep a name for all answers from now on; the name as kept. OSError where it cannot be written."""
    return _keep(NAME, on_one_line(text)[:MOST])


def class_folder() -> Path | None:
    """The folder the class shares, where one was entered and is there."""
    text = _kept(CLASS_FOLDER)
    return Path(text) if text and Path(text).is_dir() else None


def keep_class_folder(place: Path) -> None:
    """Keep the folder the class shares. OSError where it cannot be written."""
    _keep(CLASS_FOLDER, str(place))


def on_one_line(text: str) -> str:
    """A text without line breaks and what cannot be printed."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def _place(file: str) -> Path:
    return Path(os.environ.get("TAPKIT_FOLDER") or ".") / ".tapkit" / file


def _kept(file: str) -> str:
    with contextlib.suppress(OSError, UnicodeDecodeError):
        return on_one_line(_place(file).read_text(encoding="utf-8")[:1000])
    return ""


def _keep(file: str, text: str) -> str:
    place = _place(file)
    place.parent.mkdir(parents=True, exist_ok=True)
    part = place.with_suffix(".part")
    part.write_text(text + "\n", encoding="utf-8")
    os.replace(part, place)
    return text
