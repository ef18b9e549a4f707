"""A lesson's notes box, kept as a text in the learner's folder, and the button that gives the lesson anew.

    panels.notes(3)

The page sends the whole text as it changes; it is acknowledged only once it is on the disk, and what is not yet there
outlives the page in the browser.
"""

import os
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from tapkit.exercises.lessons import taught
from tapkit.messages import Sentence, _, listed, said
from tapkit.panels.markup import BREAK, bold, tag
from tapkit.panels.onscreen import cause
from tapkit.panels.panel import show_live
from tapkit.panels.script import script

FOLDER = "my-notes"
MOST = 200_000
"""Characters of one lesson's notes."""


def _words(number: int) -> dict[str, str]:
    told = {
        "title": _("Your notes on lesson {number}", number=number),
        "how": _("Write here what you want to keep. It is saved as you write."),
        "saving": _("Not saved yet …"),
        "lost": _("Not saved: the kernel behind this page does not answer. Copy your words before you load it again."),
        "anew": _("Give me this lesson anew"),
        "sure": _("The lesson comes back as it was handed out. Your answers and notes stay."),
        "yes": _("Yes, anew"),
        "no": _("Leave it"),
    }
    return {key: sentence.said() for key, sentence in told.items()}


class Notes(anywidget.AnyWidget):
    """The notes of one lesson. `text` is what stands on the disk."""

    _esm = script("notes.js")
    text = traitlets.Unicode("").tag(sync=True)
    words = traitlets.Dict().tag(sync=True)
    has_anew = traitlets.Bool().tag(sync=True)
    told = traitlets.List().tag(sync=True)

    def __init__(self, number: int, folder: Path | None = None) -> None:
        self.number = number
        self.place = (folder or Path(os.environ.get("TAPKIT_FOLDER") or ".")) / FOLDER / f"lesson-{number}.txt"
        text, why = self._read()
        super().__init__(
            text=text, words=_words(number), has_anew="TAPKIT_FOLDER" in os.environ, told=[0, said(why), False]
        )
        self.on_msg(lambda widget, content, buffers: self.hear(content))

    def hear(self, content: dict[str, Any]) -> None:
        """Keep a text the page sends, or give the lesson anew."""
        if "text" in content:
            kept, words = self._keep(str(content["text"])[:MOST])
            self.told = [content.get("count", 0), said(words), kept]
        elif content.get("anew"):
            self.send(self._anew())

    def still(self) -> str:
        """The notes as HTML, for a printed or exported lesson; room to write where there are none."""
        lines = tag("p", self.text or BREAK * 8)
        return tag("div", bold(self.words["title"]), lines, class_="tapkit-notes-still")

    def _read(self) -> tuple[str, Sentence | str]:
        try:
            return self.place.read_text(encoding="utf-8"), ""
        except FileNotFoundError:
            return "", ""
        except (OSError, UnicodeDecodeError):
            return "", _(
                "{file} cannot be read; what you write now is kept only if it can be replaced.", file=self.place
            )

    def _keep(self, text: str) -> tuple[bool, Sentence]:
        part = self.place.with_name(self.place.name + ".part")
        try:
            self.place.parent.mkdir(parents=True, exist_ok=True)
            self._set_aside()
            part.write_text(text, encoding="utf-8")
            os.replace(part, self.place)
        except OSError as error:
            why = cause(error)
            told = _("Not saved: {why}. Your words are only on this page; copy them before you close it.", why=why)
            return False, told
        self.text = text
        return True, _("Saved in {file}", file=f"{FOLDER}/{self.place.name}")

    def _set_aside(self) -> None:
        """What another window wrote meanwhile is kept beside."""
        there, _why = self._read()
        if there and there != self.text:
            self.place.with_name(f"lesson-{self.number}-other-window.txt").write_text(there, encoding="utf-8")

    def _anew(self) -> dict[str, Any]:
        from tapkit.launch import workspace

        try:
            return {"anew": True, "said": said(workspace.anew(Path(os.environ["TAPKIT_FOLDER"]), self.number))}
        except (ValueError, OSError) as error:
            return {"anew": False, "said": said(error) if isinstance(error, ValueError) else str(error)}

    def _ipython_display_(self) -> None:
        show_live(self, self.words["title"], self.still())


def notes(lesson: int) -> Notes:
    """The learner's notes on a lesson."""
    if lesson not in taught():
        known = listed([str(number) for number in taught()])
        raise ValueError(_("there is no lesson {lesson}; there are lessons {known}", lesson=lesson, known=known))
    return Notes(lesson)
