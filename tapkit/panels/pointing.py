"""Pointing at teeth in a drawn picture: linked in the browser with every other view of the page that shows them."""

from pathlib import Path
from typing import Any

import anywidget
import traitlets

from tapkit.messages import _, said


class Pointing(anywidget.AnyWidget):
    """Lies over a `Picture` and lights the teeth of its `spots`; stands in the same panel."""

    _esm = Path(__file__).with_suffix(".js")
    picture = traitlets.Unicode().tag(sync=True)
    words = traitlets.Unicode().tag(sync=True)

    def __init__(self, picture: Any) -> None:
        words = said(_("the teeth in this picture: arrow keys go from tooth to tooth"))
        super().__init__(picture=f"IPY_MODEL_{picture.model_id}", words=words)
