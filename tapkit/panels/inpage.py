"""What a panel does in the page itself: names for screen readers, keys and focus, a word on a dead kernel."""

from __future__ import annotations

import os

import anywidget
import traitlets

from tapkit.messages import _
from tapkit.panels.script import script


def _words() -> dict[str, str]:
    told = {
        "ended": _("The kernel behind the panels ended, so they no longer answer. Answers that were checked are kept."),
        "run": _("Choose Run, then Run All Cells."),
        "reload": _("Load the page again"),
        "close": _("Close"),
    }
    return {key: sentence.said() for key, sentence in told.items()}


class InPage(anywidget.AnyWidget):
    """Shows nothing; a child of every panel and question.

    `label` names a question for screen readers; when `turn` changes, its answer gets the focus. `is_live` where loading
    the page again brings everything back, as under `tapkit open`.
    """

    _esm = script("inpage.js")
    label = traitlets.Unicode("").tag(sync=True)
    turn = traitlets.Int(0).tag(sync=True)
    is_live = traitlets.Bool().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)

    @traitlets.default("is_live")
    def _default_is_live(self) -> bool:
        return "TAPKIT_FOLDER" in os.environ

    @traitlets.default("words")
    def _default_words(self) -> dict[str, str]:
        return _words()
