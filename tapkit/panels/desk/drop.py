"""A place to drop files on."""

from collections.abc import Callable
from typing import Any

import anywidget
import traitlets

from tapkit.drawing import style
from tapkit.messages import said
from tapkit.panels.script import script

STYLE = f"""
.tapkit-drop {{border: 2px dashed {style.SOFT_INK}; border-radius: 6px; padding: 14px; margin: 6px 0; max-width: 46em}}
.tapkit-drop.over {{border-color: {style.ACCENT}; background: {style.FAINT}}}
.tapkit-drop label {{display: block; cursor: pointer}}
.tapkit-drop input {{display: block; margin-top: 8px; font: inherit}}
"""


class DeskDrop(anywidget.AnyWidget):
    """Calls `taken(name, data, is_last)` for each file; a file larger than the page sends comes without its bytes."""

    _esm = script("desk/drop.js")
    words = traitlets.Dict().tag(sync=True)
    many = traitlets.Bool(True).tag(sync=True)

    def __init__(self, drop: Any, how: Any, taken: Callable[[str, bytes, bool], None], *, many: bool = True) -> None:
        super().__init__(words={"drop": said(drop), "how": said(how)}, many=many)
        self._taken = taken
        self.on_msg(lambda _widget, content, buffers: self.hear(content, buffers))

    def hear(self, content: dict[str, Any], buffers: list[Any]) -> None:
        """Take one file."""
        if "file" in content:
            data = bytes(buffers[0]) if buffers else b""
            self._taken(str(content["file"])[:200], data, bool(content.get("last", True)))
