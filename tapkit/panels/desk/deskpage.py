"""What the desk does in the page itself: keys, and what is said comes into sight."""

from pathlib import Path

import anywidget
import traitlets


class DeskPage(anywidget.AnyWidget):
    """Shows nothing; when `turn` changes, the first answer to type gets the focus."""

    _esm = Path(__file__).with_suffix(".js")
    turn = traitlets.Int(0).tag(sync=True)
