"""What stands on the screen and is no panel: its parts one below another, and what a saved notebook keeps of it."""

from collections.abc import Sequence
from typing import Any

import ipywidgets

from tapkit.messages import said
from tapkit.panels.inpage import InPage
from tapkit.panels.markup import paragraph
from tapkit.panels.panel import hidden_style, show_live


class OnScreen:
    """Shows its `widget`, and `name` where there is only text; a saved notebook keeps the sentence `kept`, if there is
    one, in a paragraph of the class `mark`, which the widget hides."""

    name: Any
    kept: Any = ""
    mark = ""
    widget: ipywidgets.Widget

    def still(self) -> str:
        """What a saved notebook keeps, as HTML."""
        return paragraph(self.kept, look=self.mark) if self.kept else ""

    def _ipython_display_(self) -> None:
        show_live(self.widget, self.name, self.still())


def in_view(
    *parts: ipywidgets.Widget, style: str = "", mark: str = "", label: Any = "", looks: Sequence[str] = ("tapkit-quiz",)
) -> ipywidgets.VBox:
    """The parts one below another, of the classes `looks`, with the style they need; what is shown without them (the
    class `mark`) is hidden beside them. `label` names them for screen readers."""
    made = ipywidgets.VBox([hidden_style(style, mark), *parts, InPage(label=said(label))])
    for look in looks:
        made.add_class(look)
    return made


def key_row(*buttons: ipywidgets.Widget) -> ipywidgets.Box:
    """Buttons side by side."""
    return ipywidgets.Box(buttons).add_class("tapkit-keys")


def put_class(widget: ipywidgets.DOMWidget, look: str, is_on: bool) -> None:
    """Give a widget a class, or take it away."""
    (widget.add_class if is_on else widget.remove_class)(look)


def set_visible(widget: ipywidgets.DOMWidget, is_shown: bool) -> None:
    """Show a part, or take it out of sight."""
    put_class(widget, "tapkit-gone", not is_shown)


def cause(error: Exception) -> Any:
    """Why something could not be done, to stand within a sentence."""
    return (error.strerror or str(error)).lower() if isinstance(error, OSError) else said(error)
