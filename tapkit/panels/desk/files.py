"""Buttons that print, show or save a file; the kernel hands it over when it is wanted."""

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, NamedTuple

import anywidget
import traitlets

from tapkit.messages import said
from tapkit.panels.script import script

TYPES = {".html": "text/html;charset=utf-8", ".csv": "text/csv;charset=utf-8", ".zip": "application/zip"}


class DeskFile(NamedTuple):
    """A file on a button: what stands there, what it does ("print", "look", "save"), the file's name, and `content()`
    that makes its bytes."""

    label: Any
    act: str
    name: str
    content: Callable[[], bytes]
    about: Any = ""
    first: bool = False


def of_path(label: Any, act: str, path: Path, about: Any = "", first: bool = False, name: str = "") -> DeskFile:
    """A file that lies on the disk."""
    return DeskFile(label, act, name or path.name, path.read_bytes, about, first)


class DeskFiles(anywidget.AnyWidget):
    """A row of such buttons. `trouble(error)` is called where a file cannot be read."""

    _esm = script("desk/files.js")
    items = traitlets.List().tag(sync=True)

    def __init__(self, trouble: Callable[[Exception], None]) -> None:
        super().__init__()
        self._files: list[DeskFile] = []
        self._trouble = trouble
        self.on_msg(lambda _widget, content, _buffers: self.give(content))

    def show(self, files: Iterable[DeskFile]) -> None:
        """Show these buttons and no others."""
        self._files = list(files)
        self.items = [
            {"key": key, "label": said(f.label), "about": said(f.about), "act": f.act, "first": f.first}
            for key, f in enumerate(self._files)
        ]

    def give(self, content: dict[str, Any]) -> None:
        """Hand a file over."""
        key = content.get("want")
        if not isinstance(key, int) or not 0 <= key < len(self._files):
            return
        file = self._files[key]
        try:
            data = file.content()
        except (OSError, ValueError) as error:
            self._trouble(error)
            return
        kind = TYPES.get(Path(file.name).suffix, "application/octet-stream")
        self.send({"have": True, "act": file.act, "name": file.name, "type": kind, "key": key}, buffers=[data])
