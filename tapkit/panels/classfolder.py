"""Where no class folder is set: a sentence, and a box to enter the folder, instead of an error."""

from collections.abc import Callable
from pathlib import Path
from typing import Any
from weakref import WeakSet

import ipywidgets

from tapkit.messages import _, said
from tapkit.panels.markup import bold, paragraph, tag
from tapkit.panels.onscreen import OnScreen, in_view, key_row

ALONE = _("If you learn alone, you need nothing here: go on.")
WHY = _(
    "Questions to the room travel through a folder that every place in the class can reach, and none is set here. In a "
    "class run by tapkit hub it is set for you."
)
HOW = _("Enter the folder, for instance a shared drive of the class, and press Enter.")


_ASKING: "WeakSet[AskFolder]" = WeakSet()


def use_folder(place: Path) -> None:
    """Give a folder that was entered elsewhere on the page to all that ask for one."""
    for one in list(_ASKING):
        one.box.value = str(place)


class AskFolder(OnScreen):
    """Asks for the class folder, then shows what `made(folder)` gives in its own place. `inner` is that, or None."""

    name, mark = _("A question to the room"), "tapkit-ask-still"

    def __init__(self, made: Callable[[Path], Any], style: str) -> None:
        self._made = made
        self.inner: Any = None
        self.box = ipywidgets.Text(description=said(_("Class folder")), continuous_update=False)
        self.box.style.description_width = "initial"
        self.box.layout.width = "min(34em, 100%)"
        self.button = ipywidgets.Button(description=said(_("Use this folder"))).add_class("tapkit-first")
        self.button.on_click(lambda _: self.use())
        self.box.observe(lambda change: self.use() if change["new"].strip() else None, "value")
        self.said = ipywidgets.HTML().add_class("tapkit-told")
        told = ipywidgets.HTML(bold(ALONE) + paragraph(WHY) + paragraph(HOW))
        self.widget = in_view(told, self.box, key_row(self.button), self.said, style=style, mark=self.mark)
        _ASKING.add(self)

    def use(self) -> None:
        """Take the folder in the box, or say why it cannot be used."""
        if self.inner is not None:
            return
        text = self.box.value.strip().strip('"')
        place = Path(text).expanduser()
        if not text or not place.is_dir():
            what = _("{place} is not a folder.", place=text) if text else _("No folder is entered.")
            self.said.value = tag("p", tag("b", what), " ", _("Enter a folder that is there, such as Z:\\class."))
            return
        try:
            self.inner = self._made(place)
        except (OSError, ValueError) as error:
            self.said.value = bold(_("This folder cannot be used: {why}.", why=said(error)))
            return
        self.widget.children = (self.widget.children[0], self.inner.widget)
        self.inner.start()

    def still(self) -> str:
        return tag("div", bold(ALONE), paragraph(WHY), class_=self.mark)
