"""A question's keys, boxes and choices in the page. A key comes in one message with all that stands in the question, as
what is on its way is overtaken by a click: nothing is judged before it has arrived."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

import anywidget
import traitlets

from tapkit.panels.script import script

AnswerState = Mapping[str, Any]
"""What stands on the screen: `typed` texts by key, `chosen` places by key (−1 none), `number` of the question."""

_ESM = script("answerbox.js")


class _Heard(anywidget.AnyWidget):
    """What one answers in. `answers` names the last word from the page that was taken, so that a page in which
    something was done since lets an older state pass; `enter` is called when Enter is pressed."""

    _esm = _ESM
    kind = traitlets.Unicode().tag(sync=True)
    number = traitlets.Int(0).tag(sync=True)
    answers = traitlets.List(["", 0]).tag(sync=True)
    locked = traitlets.Bool(False).tag(sync=True)

    def __init__(self, enter: Callable[[], None], **shown: Any) -> None:
        super().__init__(**shown)
        self._enter = enter
        self.on_msg(lambda widget, content, buffers: self.hear(content))

    def hear(self, content: AnswerState) -> None:
        """Take what stands on the screen, and Enter where it was pressed."""
        with self.hold_sync():
            self.answers = list(content.get("from", self.answers))
            self.take(content)
        if content.get("press"):
            self._enter()

    def take(self, standing: AnswerState) -> None:
        raise NotImplementedError


class AnswerBoxes(_Heard):
    """Boxes for texts, by key."""

    boxes = traitlets.List().tag(sync=True)
    texts = traitlets.Dict().tag(sync=True)

    def __init__(self, labels: Mapping[str, str], enter: Callable[[], None], number: int) -> None:
        boxes = [dict(key=k, label=label) for k, label in labels.items()]
        super().__init__(enter, kind="boxes", boxes=boxes, texts=dict.fromkeys(labels, ""), number=number)

    def take(self, standing: AnswerState) -> None:
        if self.locked:
            return
        self.put(**{k: str(v) for k, v in standing.get("typed", {}).items() if k in self.texts})

    def put(self, **texts: str) -> None:
        self.texts = {**self.texts, **texts}


class OfferedChoice(NamedTuple):
    """One thing to choose: its `label`, the texts of the options, and what each stands for."""

    label: str
    options: Sequence[str]
    values: Sequence[Any]


class AnswerChoices(_Heard):
    """Choices by key, as round buttons or as lists that begin with the word `unchosen`; `locked` keeps them."""

    groups = traitlets.List().tag(sync=True)
    chosen = traitlets.Dict().tag(sync=True)

    def __init__(
        self, choices: Mapping[str, OfferedChoice], enter: Callable[[], None], number: int = 0, unchosen: str = ""
    ) -> None:
        self.choices = dict(choices)
        groups = [
            dict(key=k, label=c.label, options=list(c.options), unchosen=unchosen) for k, c in self.choices.items()
        ]
        super().__init__(enter, kind="choices", groups=groups, chosen=dict.fromkeys(choices, -1), number=number)

    def take(self, standing: AnswerState) -> None:
        if not self.locked:
            found = {k: v for k, v in standing.get("chosen", {}).items() if k in self.choices}
            good = {k: v for k, v in found.items() if type(v) is int and -1 <= v < len(self.choices[k].values)}
            self.chosen = {**self.chosen, **good}

    def value(self, key: str) -> Any:
        """What is chosen, None before."""
        place = self.chosen[key]
        return None if place < 0 else self.choices[key].values[place]

    def choose(self, key: str, value: Any) -> None:
        """Choose a value; None chooses nothing. ValueError for what is no option."""
        place = -1 if value is None else list(self.choices[key].values).index(value)
        self.chosen = {**self.chosen, key: place}


class AnswerKeys(anywidget.AnyWidget):
    """The keys of a question. `take` hears what stands on the screen before a key acts; a key pressed on a question
    that is no longer shown does nothing."""

    _esm = _ESM
    kind = traitlets.Unicode("keys").tag(sync=True)
    shown = traitlets.List().tag(sync=True)
    number = traitlets.Int(0).tag(sync=True)

    def __init__(self, take: Callable[[AnswerState], None]) -> None:
        super().__init__()
        self._take = take
        self._all: dict[str, AnswerKey] = {}
        self.on_msg(lambda widget, content, buffers: self.hear(content))

    def add(self, key: str, label: str, action: Callable[[], Any], look: str = "") -> "AnswerKey":
        self._all[key] = AnswerKey(self, label, action, look)
        self.tell()
        return self._all[key]

    def hear(self, content: AnswerState) -> None:
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


class AnswerKey(traitlets.HasTraits):
    """One key: its words, its looks (classes), whether it cannot be pressed, and what it does."""

    description = traitlets.Unicode()
    looks = traitlets.Set()
    disabled = traitlets.Bool()

    def __init__(self, keys: AnswerKeys, label: str, action: Callable[[], Any], look: str) -> None:
        super().__init__(description=label, looks={look} - {""})
        self._action = action
        self.observe(lambda change: keys.tell())

    def add_class(self, look: str) -> None:
        self.looks = self.looks | {look}

    def remove_class(self, look: str) -> None:
        self.looks = self.looks - {look}

    def click(self) -> None:
        if not self.disabled:
            self._action()
