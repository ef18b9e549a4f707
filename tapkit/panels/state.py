"""The state of a panel: one frozen value. A move gives another state; ranges and usual values follow from it alone.

A state holds what was chosen. Everything else has its usual value, which follows what it rests on: with another thread
the hole, the core and all else that was chosen for the old one are usual again, in whatever order things are set.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from types import SimpleNamespace
from typing import Any, NamedTuple

from tapkit import door, units
from tapkit.messages import Sentence, _, of_table, said
from tapkit.parameters import Basis, Parameter


@dataclass(frozen=True, kw_only=True)
class Pick:
    """A list to pick from: `options` are texts, or pairs of text and value; `start` a value; `parse(text)` reads what
    is typed and not in the list, ValueError where it cannot."""

    key: str
    label: Any
    options: Sequence[Any]
    start: Any
    help: Any = ""
    parse: Callable[[str], Any] | None = None

    @cached_property
    def pairs(self) -> tuple[tuple[Any, Any], ...]:
        """Text and value of each option."""
        return tuple(o if isinstance(o, tuple) else (o, o) for o in self.options)

    def read(self, text: str, system: str = "metric") -> Any:
        """The value of what is typed: an option's text, or what `parse` makes of it."""
        for shown, value in self.pairs:
            if said(shown, system).casefold() == text.strip().casefold():
                return value
        if self.parse is None:
            raise ValueError(_("{text} is not in the list", text=door.quoted(text)))
        return self.parse(text)

    def checked(self, value: Any) -> Any:
        """The value where it can be picked; else ValueError."""
        if any(value == known for _text, known in self.pairs):
            return value
        if self.parse is not None and isinstance(value, str):
            return self.parse(value)
        raise ValueError(_("{label} has no {value}", label=words(self.label), value=door.quoted(value)))


@dataclass(frozen=True, kw_only=True)
class Tick:
    """A box to tick."""

    key: str
    label: Any
    start: bool = False
    help: Any = ""


@dataclass(frozen=True, kw_only=True)
class TextEntry:
    """A line of text to fill in. `hint` stands in it while it is empty."""

    key: str
    label: Any
    start: str = ""
    hint: str = ""
    help: Any = ""


Control = Parameter | Pick | Tick | TextEntry


class Scale(NamedTuple):
    """A slider in the unit shown: `first` and `count` of steps, the `step` itself."""

    first: int
    count: int
    step: float

    def at(self, position: int) -> float:
        """The number at a position, 0 to `count`."""
        return round((self.first + min(max(position, 0), self.count)) * self.step, 9)


@dataclass(frozen=True)
class State:
    """What was `chosen` of the `controls`, by key, in tapkit's units; where it began; the `system` of units shown; the
    keys of controls that were `added`, which no slider shows, until the state is reset."""

    controls: tuple[Control, ...]
    chosen: Mapping[str, Any] = field(default_factory=dict)
    start: Mapping[str, Any] = field(default_factory=dict)
    system: str = "metric"
    added: frozenset[str] = frozenset()

    @classmethod
    def begin(cls, controls: Sequence[Control], **start: Any) -> "State":
        """The state a panel begins with, and returns to."""
        state = cls(tuple(controls)).with_(**start)
        return replace(state, start=state.chosen)

    def with_(self, **values: Any) -> "State":
        """The state with some values chosen; what rests on those that change is usual again unless it is given too.

        Raises ValueError, in one sentence, for a control there is not and a value that cannot be.
        """
        for key in values:
            if key not in self._by_key:
                known = ", ".join(self._by_key)
                raise ValueError(_("there is no control {key}; there are {known}", key=door.quoted(key), known=known))
        new = {key: _checked(self._by_key[key], value) for key, value in values.items()}
        now = vars(self.values)
        loose = self._resting_on({k for k, v in new.items() if v != now[k]})
        kept = {k: v for k, v in self.chosen.items() if k not in loose}
        state = replace(self, chosen=kept | new)
        for key in new:
            state._check_range(key)
        return state

    def reset(self) -> "State":
        return replace(self._without_added(), chosen=self.start)

    def whole(self, values: Mapping[str, Any], more: Sequence[Control] = ()) -> "State":
        """Another whole state: `values` where there is a control of that key, `more` controls for those that have none;
        what says nothing of the job, such as a view, stays. ValueError as in `with_`."""
        own = self._without_added()
        found = replace(own, controls=(*own.controls, *more), added=frozenset(c.key for c in more))
        return found.with_(**{key: value for key, value in values.items() if key in found._by_key})

    def _without_added(self) -> "State":
        own = tuple(c for c in self.controls if c.key not in self.added)
        chosen = {key: value for key, value in self.chosen.items() if key not in self.added}
        return replace(self, controls=own, chosen=chosen, added=frozenset())

    def like(self, other: "State") -> "State":
        """What another state of the same controls has chosen."""
        return replace(self, controls=other.controls, chosen=other.chosen, added=other.added)

    def in_system(self, system: str) -> "State":
        return replace(self, system=system)

    @cached_property
    def values(self) -> SimpleNamespace:
        """All values by key, in tapkit's units."""
        found = {c.key: self.chosen.get(c.key, c.start) for c in self.controls if not isinstance(c, Parameter)}
        numbers = [c for c in self.controls if isinstance(c, Parameter)]
        for one in sorted(numbers, key=lambda c: ("axial_rake", "flutes").index(c.key) if c.key in FIRST else 2):
            if one.key in self.chosen:
                found[one.key] = self.chosen[one.key]
            else:
                found[one.key] = one.usual(Basis.of(found))
        return SimpleNamespace(**{c.key: found[c.key] for c in self.controls})

    @cached_property
    def basis(self) -> Basis:
        """What ranges and usual values rest on."""
        return Basis.of(vars(self.values))

    def scale(self, one: Parameter) -> Scale:
        """The slider of a number."""
        low, high = (self.in_shown_unit(one, end) for end in one.range(self.basis))
        step = one.inch_step if self._is_converted(one) else one.step
        first = math.ceil(low / step - 1e-6)
        return Scale(first, max(math.floor(high / step + 1e-6) - first, 0), step)

    def at(self, one: Parameter, position: int) -> float:
        """The value at a position of its slider, in tapkit's unit."""
        shown = self.scale(one).at(position)
        if one.is_whole:
            return round(shown)
        return shown / units.convert(1.0, one.quantity, self.system) if self._is_converted(one) else shown

    def position(self, one: Parameter, value: float) -> int:
        """The position of its slider that is nearest to a value."""
        scale = self.scale(one)
        return min(max(round(self.in_shown_unit(one, value) / scale.step) - scale.first, 0), scale.count)

    def in_shown_unit(self, one: Parameter, value: float) -> float:
        """A value as a number in the unit shown."""
        return units.convert(value, one.quantity, self.system) if self._is_converted(one) else value

    # --- inside -----------------------------------------------------------------------------------

    @cached_property
    def _by_key(self) -> dict[str, Control]:
        return {c.key: c for c in self.controls}

    def _is_converted(self, one: Parameter) -> bool:
        return self.system != "metric" and one.quantity not in (None, "angle", "rotation", "time")

    def _resting_on(self, changed: set[str]) -> set[str]:
        """Keys of all that rests on what has changed, through others too."""
        found: set[str] = set()
        while True:
            more = {c.key for c in self.controls if (found | changed).intersection(getattr(c, "rests_on", ()))}
            if more <= found:
                return found
            found |= more

    def _check_range(self, key: str) -> None:
        one, value = self._by_key[key], getattr(self.values, key)
        if not isinstance(one, Parameter):
            return
        low, high = one.range(self.basis)
        if not low - 1e-6 * one.step <= value <= high + 1e-6 * one.step:
            told = dict(value=one.shown(value), low=one.shown(low), high=one.shown(high))
            raise ValueError(_("{label}: {value} is outside {low} to {high}", label=words(one.label), **told))


def words(text: Any) -> Any:
    """A label of a table, or one that is a sentence already, to be said."""
    return of_table(text) if isinstance(text, str) else text


FIRST = ("axial_rake", "flutes")
"""Numbers that usual values of others rest on, in the order in which they are found."""


def _checked(control: Control, value: Any) -> Any:
    """A value a control can have; ValueError else."""
    if isinstance(control, Pick):
        return control.checked(value)
    if isinstance(control, Parameter):
        number = float(value)
        if not math.isfinite(number):
            raise ValueError(_("{label} is no number", label=words(control.label)))
        return round(number) if control.is_whole else number
    return type(control.start)(value)


def said_value(control: Control, value: Any) -> Sentence | Any:
    """A value of a control, to be said."""
    if isinstance(control, Parameter):
        return control.shown(value)
    if isinstance(control, Pick):
        return next((text for text, known in control.pairs if known == value), value)
    return value
