"""A learner's file as a page, made by a process without rights: it reads its input, writes its output, and can open,
start, write and reach nothing.

Run by `work.py`. What cannot be shown as text or as a PNG or JPEG picture is left out; nothing in the page can act.
"""

import base64
import contextlib
import ctypes
import json
import sys
from typing import Any, NamedTuple

from tapkit.classroom.seccomp import only_compute
from tapkit.messages import Sentence, _
from tapkit.pages import page

LARGEST = 10 * 2**20
"""Bytes of one file that are shown at most."""
MEMORY, SECONDS = 1 << 30, 20
NO_WAY = 77
MOST = 2000
"""Cells and outputs shown at most."""
PICTURES = {"image/png": b"\x89PNG\r\n\x1a\n", "image/jpeg": b"\xff\xd8\xff"}
DUMPABLE = 4
"""prctl(2)"""


class Part(NamedTuple):
    """One part of a work: its kind ("prose", "code", "output", "picture"); its text, or its picture as data address."""

    kind: str
    text: str


def shown_parts(data: bytes, name: str) -> tuple[list[Part], Sentence | str]:
    """What a file shows, and a sentence where something is left out."""
    text = data.decode("utf-8", "replace")
    if not name.endswith(".ipynb"):
        return [Part("output", text)], ""
    try:
        cells = json.loads(text)["cells"]
        found = [part for cell in cells for part in _cell(cell)]
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError):
        return [Part("output", text)], _("This is no whole notebook; it is shown as it stands.")
    if len(found) > MOST:
        return found[:MOST], _("Only the first {count} parts are shown.", count=MOST)
    return found, ""


def _cell(cell: dict[str, Any]) -> list[Part]:
    kind = "code" if cell.get("cell_type") == "code" else "prose"
    return [Part(kind, _text(cell.get("source"))), *(p for o in cell.get("outputs", ()) for p in _output(o))]


def _output(output: dict[str, Any]) -> list[Part]:
    data = output.get("data", {})
    pictures = [Part("picture", address) for kind in PICTURES if (address := _picture(kind, data.get(kind)))]
    said = output.get("text", data.get("text/plain", output.get("evalue", "")))
    return pictures or [Part("output", _text(said))]


def _text(value: Any) -> str:
    return "".join(map(str, value)) if isinstance(value, list) else str(value or "")


def _picture(kind: str, value: Any) -> str:
    """A data address, made again from the bytes; "" for what is no such picture."""
    with contextlib.suppress(ValueError):
        data = base64.b64decode(_text(value).replace("\n", ""), validate=True)
        if data.startswith(PICTURES[kind]):
            return f"data:{kind};base64,{base64.b64encode(data).decode()}"
    return ""


def rendered(data: bytes, name: str, owner: str) -> bytes:
    """The page of one file."""
    found, told = shown_parts(data, name)
    return page("work.html", parts=found, told=told, name=name, owner=owner).encode("utf-8", "replace")


def give_up_rights() -> None:
    """For good: no file, socket or process can be opened, reached or started, and nothing written but to what is open.

    Raises OSError where the machine does not give that.
    """
    import resource

    ctypes.CDLL(None).prctl(DUMPABLE, 0, 0, 0, 0)
    limits: dict[str, int] = {"DATA": MEMORY, "CPU": SECONDS, "FSIZE": 0, "NPROC": 0, "CORE": 0, "NOFILE": 0}
    for which, most in limits.items():
        limit = getattr(resource, f"RLIMIT_{which}")
        now = resource.getrlimit(limit)[1]
        most = most if now == resource.RLIM_INFINITY else min(most, now)
        resource.setrlimit(limit, (most, most))
    only_compute()


def main(name: str, owner: str) -> None:
    """From standard input to standard output; leaves with `NO_WAY` where the rights could not be given up."""
    rendered(b"{}", "x.ipynb", "")  # loads all there is to load
    try:
        give_up_rights()
    except OSError:
        sys.exit(NO_WAY)
    sys.stdout.buffer.write(rendered(sys.stdin.buffer.read(LARGEST), name, owner))
