"""A question's keys and boxes in the page. A key comes in one message with all that stands in the question, as a text
on its way is overtaken by a click: neither is judged before the other has arrived."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import anywidget
import traitlets

Standing = Mapping[str, Any]
"""What stands on the screen: `typed` texts by key, `chosen` place in each group of buttons (−1 none), `number`."""

_ESM = Path(__file__).with_name("answerbox.js")


class AnswerBoxes(anywidget.AnyWidget):
    """AnswerBoxes for texts, by key. `enter` is called when Enter is pressed in one of them."""

    _esm = _ESM
    kind = traitlets.Unicode("boxes").tag(sync=True)
    boxes = traitlets.List().tag(sync=True)
    texts = traitlets.Dict().tag(sync=True)
    number = traitlets.Int(0).tag(sync=True)

    def __init__(self, labels: Mapping[str, str], enter: Callable[[], None], number: int) -> None:
        boxes = [dict(key=k, label=label) for k, label in labels.items()]
        super().__init__(boxes=boxes, texts=dict.fromkeys(labels, ""), number=number)
        self._enter = enter
        self.on_msg(lambda widget, content, buffers: self.hear(content))

    def hear(self, content: Standing) -> None:
        """Take texts, and Enter where it was pressed."""
        self.take(content)
        if content.get("press"):
            self._enter()

    def take(self, standing: Standing) -> None:
        """Take what stands in the boxes."""
        typed = {k: str(v) for k, v in standing.get("typed", {}).items() if k in self.texts}
        self.texts = {**self.texts, **typed}


class AnswerKeys(anywidget.AnyWidget):
    """The keys of a question. `take` hears what stands on the screen before a key acts; a key pressed on a question
    that is no longer shown does nothing."""

    _esm = _ESM
    kind = traitlets.Unicode("keys").tag(sync=True)
    shown = traitlets.List().tag(sync=True)
    number = traitlets.Int(0).tag(sync=True)

    def __init__(self, take: Callable[[Standing], None]) -> None:
        super().__init__()
        self._take = take
        self._all: dict[str, AnswerKey] = {}
        self.on_msg(lambda widget, content, buffers: self.hear(content))

    def add(self, key: str, label: str, action: Callable[[], Any], look: str = "") -> AnswerKey:
        """One more key."""
        self._all[key] = AnswerKey(self, label, action, look)
        self.tell()
        return self._all[key]

    def hear(self, content: Standing) -> None:
        """A key was pressed."""
        key = self._all.get(content.get("press", ""))
        if key and content.get("number") == self.number:
            self._take(content)
            key.click()

    def tell(self) -> None:
        """Send the keys to the page."""
        self.shown = [
            dict(key=name, label=k.description, look=" ".join(sorted(k.looks)), disabled=k.disabled)
            for name, k in self._all.items()
        ]


class AnswerKey:
    """One key: its words, its looks (classes), and what it does."""

    def __init__(self, keys: AnswerKeys, label: str, action: Callable[[], Any], look: str) -> None:
        self._keys, self._label, self._action, self._disabled = keys, label, action, False
        self.looks = {look} - {""}

    @property
    def description(self) -> str:
        """What stands on it."""
        return self._label

    @description.setter
    def description(self, label: str) -> None:
        self._label = label
        self._keys.tell()

    @property
    def disabled(self) -> bool:
        """Whether it cannot be pressed."""
        return self._disabled

    @disabled.setter
    def disabled(self, disabled: bool) -> None:
        self._disabled = disabled
        self._keys.tell()

    def add_class(self, look: str) -> None:
        """Give it a look."""
        self.looks.add(look)
        self._keys.tell()

    def remove_class(self, look: str) -> None:
        """Take a look away."""
        self.looks.discard(look)
        self._keys.tell()

    def click(self) -> None:
        """Press it."""
        if not self._disabled:
            self._action()
