"""The controls of a panel on the screen: one widget that draws a state, and hears what was moved, typed or picked.

The page holds no state of its own. Every move is sent with a count; the whole state comes back with the count it
answers, and the page takes an answer only if nothing was moved since. So both sides never part.
"""

from collections.abc import Sequence
from types import SimpleNamespace
from typing import Any

import anywidget
import traitlets

from tapkit import units
from tapkit.messages import _, said
from tapkit.panels.script import script
from tapkit.panels.state import Control, Pick, State, TextEntry, Tick, said_value, words
from tapkit.parameters import Parameter

Groups = Sequence[tuple[Any, Sequence[str], bool]]
"""Title, keys, and whether it is unfolded; a group without a title is never folded."""


class Controls(anywidget.AnyWidget):
    """Controls that show a `state`. `on_change` is called after every change, and the panel calls `tell` when it has
    drawn it. `next` is the state that one step more would make, where the last move was a step of a slider."""

    _esm = script("controls.js")
    spec = traitlets.List().tag(sync=True)
    shown = traitlets.Dict().tag(sync=True)

    def __init__(self, state: State, groups: Groups = (), **more: Any) -> None:
        self.state, self.next, self.on_change = state, None, lambda: None
        self._by_key = {c.key: c for c in state.controls}
        self._answers: list[Any] = ["", 0]
        self._told: dict[str, Any] = {}
        groups = groups or [("", list(self._by_key), True)]
        spec = [dict(title=said(t), open=o, controls=[self._spec(k) for k in keys]) for t, keys, o in groups]
        super().__init__(spec=spec, shown=self._shown(), **more)
        self.on_msg(lambda widget, content, buffers: self.hear(content))

    @property
    def values(self) -> SimpleNamespace:
        """All values in tapkit's units."""
        return self.state.values

    def set(self, **values: Any) -> None:
        """Choose some values; ValueError for what cannot be."""
        self.replace(self.state.with_(**values))

    def reset(self) -> None:
        self.replace(self.state.reset())

    def set_system(self, system: str) -> None:
        self.replace(self.state.in_system(system))

    def replace(self, state: State) -> None:
        self.state, self.next, self._told = state, None, {}
        self.on_change()

    def tell(self) -> None:
        """Send the whole state to the page."""
        self.shown = self._shown()

    def hear(self, content: dict[str, Any]) -> None:
        """Take a move from the page: a `key` with a `position`, a `text`, a `pick` or a `tick`; or say why not."""
        self._answers = content.get("from", ["", 0])
        key, told = content["key"], {}
        control, before = self._by_key[key], self.state
        try:
            value = self._heard_value(control, content)
            self.state = self.state.with_(**{key: value})
            self.next = self._one_more(key, before) if "position" in content else None
            if "text" in content and not isinstance(control, TextEntry):
                told = self._what_was_done(control, content["text"])
        except ValueError as error:
            self.state = before
            now = said_value(control, getattr(before.values, key))
            why = error.args[0] if len(error.args) == 1 else str(error)
            told = {key: _("{why}; it stays at {value}", why=why, value=now)}
            if said(why).endswith("?"):
                told = {key: _("{why} It stays at {value}.", why=why, value=now)}
        self._told = told
        self.on_change()

    # --- inside -----------------------------------------------------------------------------------

    def _heard_value(self, control: Control, content: dict[str, Any]) -> Any:
        if "position" in content:
            return self.state.at(control, int(content["position"]))  # type: ignore[arg-type]
        if "pick" in content:
            return control.pairs[int(content["pick"])][1]  # type: ignore[union-attr]
        if "tick" in content:
            return bool(content["tick"])
        text = str(content["text"])
        return text if isinstance(control, TextEntry) else control.read(text, self.state.system)  # type: ignore[union-attr]

    def _one_more(self, key: str, before: State) -> State | None:
        """The state one step further the same way, where a number was moved by one step; None at the end of its range
        too."""
        one = self._by_key[key]
        was, now = (state.position(one, getattr(state.values, key)) for state in (before, self.state))
        further = 2 * now - was
        if abs(now - was) != 1 or not 0 <= further <= self.state.scale(one).count:
            return None
        return self.state.with_(**{key: self.state.at(one, further)})

    def _what_was_done(self, control: Control, text: str) -> dict[str, Any]:
        """What was made of a text, where that is not plain to see."""
        now = self._item(control)["text"]
        if text.strip().casefold() == now.casefold():
            return {}
        value = said_value(control, getattr(self.values, control.key))
        return {control.key: _("{text} is read as {value}", text=text.strip(), value=value)}

    def _spec(self, key: str) -> dict[str, Any]:
        """What of a control never changes."""
        control = self._by_key[key]
        kinds: dict[type, str] = {Parameter: "number", Pick: "pick", Tick: "tick", TextEntry: "entry"}
        made = dict(key=key, kind=kinds[type(control)], label=said(words(control.label)))
        made["help"] = said(words(control.help))
        if isinstance(control, Pick):
            made["options"] = [said(text) for text, _value in control.pairs]
            made["typed"] = control.parse is not None
        if isinstance(control, TextEntry):
            made["hint"] = said(control.hint)
        return made

    def _shown(self) -> dict[str, Any]:
        """The whole state as the page shows it."""
        items = {c.key: self._item(c) for c in self.state.controls}
        for key, sentence in self._told.items():
            items[key]["said"] = said(sentence, self.state.system)
        return dict(answers=self._answers, items=items)

    def _item(self, control: Control) -> dict[str, Any]:
        value = getattr(self.values, control.key)
        if isinstance(control, Parameter):
            return self._number(control, value)
        if isinstance(control, Pick):
            place = next((i for i, (_text, known) in enumerate(control.pairs) if known == value), -1)
            return dict(pick=place, text=said(said_value(control, value)))
        return dict(tick=value) if isinstance(control, Tick) else dict(text=value)

    def _number(self, one: Parameter, value: float) -> dict[str, Any]:
        scale, shown = self.state.scale(one), self.state.in_shown_unit(one, value)
        usual = units.SHOWN[self.state.system][one.quantity][2] if one.quantity else 6
        text = f"{shown:.{max(usual, decimals(scale.step), 0 if scale.step >= 10 else 3)}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return dict(
            unit=one.unit_in(self.state.system) if one.quantity else said(words(one.unit)),
            one=said(AT_ONE.get(one.unit, "")),
            first=scale.first,
            count=scale.count,
            step=scale.step,
            position=self.state.position(one, value),
            decimals=decimals(scale.step),
            text=text if float(text) else "0",
        )


AT_ONE = {"threads": _("thread"), "turns": _("turn"), "pitches": _("pitch")}
"""Units of sliders that are words, said of 1."""


def decimals(step: float) -> int:
    """Decimals that show a step.

    >>> decimals(0.05), decimals(1.0), decimals(0.001)
    (2, 0, 3)
    """
    return len(f"{step:.6f}".rstrip("0").split(".")[1])
