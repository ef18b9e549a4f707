"""Who works here: asked for once, so that a record carries its learner's name; the folder the class shares, and files
an instructor gives where none is shared."""

import os
from pathlib import Path

import ipywidgets

from tapkit.classroom.given import take_given
from tapkit.exercises import me
from tapkit.messages import _, said
from tapkit.panels import quizlook
from tapkit.panels.classfolder import use_folder
from tapkit.panels.desk.drop import STYLE, DeskDrop
from tapkit.panels.markup import paragraph
from tapkit.panels.onscreen import cause, in_view, key_row
from tapkit.panels.panel import button, show_live

ALONE = _("You learn alone? Then leave this empty.")


class MyName:
    """A box for the name and one for the class folder; `take` for files of the instructor."""

    def __init__(self) -> None:
        self.name = ipywidgets.Text(value=me.name(), description=said(_("Your name")), continuous_update=False,
                                    placeholder=said(_("as on the class list")), disabled=me.is_given())  # fmt: skip
        place = me.class_folder()
        self.folder = ipywidgets.Text(
            value=str(place) if place else "", description=said(_("Class folder")), continuous_update=False,
            placeholder=said(_("only where your instructor gives you one")),
        )  # fmt: skip
        for box in (self.name, self.folder):
            box.style.description_width = "7em"
            box.layout.width = "min(34em, 100%)"
            box.observe(lambda _change: self.keep(), "value")
        self.folder.layout.display = "none" if me.is_given() else ""
        keep = button(_("Keep"), _("Keep the name for all answers from now on"), self.keep).add_class("tapkit-first")
        keep.layout.display = self.folder.layout.display
        drop = DeskDrop(_("Files your instructor gave you: drop them here"), _("(questions, parts, tests)"), self.take)
        self.given = ipywidgets.Accordion([drop], titles=[said(_("Files from your instructor"))])
        self.given.layout.display = self.folder.layout.display
        self.said = ipywidgets.HTML().add_class("tapkit-told")
        parts = (self.name, self.folder, key_row(keep), self.given, self.said)
        self.widget = in_view(*parts, style=quizlook.STYLE + STYLE, mark="tapkit-name-still", label=_("Your name"))
        self._tell()

    def keep(self) -> None:
        if me.is_given():
            return
        text = self.folder.value.strip().strip('"')
        place = Path(text).expanduser() if text else None
        try:
            me.keep_name(self.name.value)
            if place is not None and place.is_dir():
                me.keep_class_folder(place)
                use_folder(place)
        except OSError as error:
            self._say(_("Not kept: {why}.", why=cause(error)))
            return
        if place is not None and not place.is_dir():
            self._say(_("{folder} is not a folder that this machine reaches. Ask your instructor.", folder=text))
            return
        self._tell()

    def take(self, file: str, data: bytes, _is_last: bool = True) -> None:
        try:
            self._say(take_given(file, data, Path(os.environ.get("TAPKIT_FOLDER") or ".")))
        except (OSError, ValueError) as error:
            self._say(_("Not kept: {why}.", why=cause(error)))

    def _tell(self) -> None:
        name = me.name()
        if me.is_given():
            self._say(_("You are signed in as {name}.", name=name))
        elif name:
            self._say(_("Your answers carry the name {name}. Your instructor sees it, nobody else.", name=name))
        else:
            self._say(ALONE)

    def _say(self, sentence: object) -> None:
        self.said.value = paragraph(sentence)

    def _ipython_display_(self) -> None:
        show_live(self.widget, _("Your name"), paragraph(ALONE, look="tapkit-name-still"))


def my_name() -> MyName:
    """The box for one's name."""
    return MyName()
