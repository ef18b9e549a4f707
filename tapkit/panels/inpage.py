"""What a panel does in the page itself: names for screen readers, keys, focus, words on a dead kernel or a cut line."""

import os
from typing import Any

import anywidget
import traitlets

from tapkit.messages import _
from tapkit.panels.once import hear_once
from tapkit.panels.script import script


def _words() -> dict[str, str]:
    told = {
        "ended": _("The kernel behind the panels ended, so they no longer answer. Answers that were checked are kept."),
        "cut": _("The network is cut. Keep this page open: nothing is lost, and all goes on when the network is back."),
        "gone": _(
            "tapkit does not answer. Answers that were checked are kept. If its window was closed, start it again."
        ),
        "stopped": _("Your server is not running. Answers that were checked are kept."),
        "start": _("Start it"),
        "missing": _("A part of this page did not come. Answers that were checked are kept."),
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

    _esm = script("line.js", "inpage.js")
    label = traitlets.Unicode("").tag(sync=True)
    turn = traitlets.Int(0).tag(sync=True)
    is_live = traitlets.Bool().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)

    def __init__(self, **shown: Any) -> None:
        hear_once()
        super().__init__(**shown)

    @traitlets.default("is_live")
    def _default_is_live(self) -> bool:
        return "TAPKIT_FOLDER" in os.environ

    @traitlets.default("words")
    def _default_words(self) -> dict[str, str]:
        return _words()
