"""Controls as data: what a panel lets one change, with its range, start and unit.

Values are floats in tapkit's units (mm, degrees), whatever the units shown. A limit or a start may be a function of
the values set so far, for a hole whose range follows the thread.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import ipywidgets

from tapkit import units

Number = float | Callable[[SimpleNamespace], float]
Choice = Any


@dataclass(frozen=True, kw_only=True)
class Slider:
    """A slider: `key` in the values, `label`, `start`, `low`, `high`, `step`; `kind` of quantity ("length", "angle")
    or None with the `unit` to print; `follows` the keys whose change sets range and value anew; `inch_step` where
    inches are shown. `whole` for counts."""

    key: str
    label: str
    start: Number
    low: Number
    high: Number
    step: float
    kind: str | None = None
    unit: str = ""
    follows: tuple[str, ...] = ()
    inch_step: float = 0.001
    whole: bool = False


@dataclass(frozen=True, kw_only=True)
class Pick:
    """A list to pick from: `options` are texts, or pairs of text and value; `start` a value."""

    key: str
    label: str
    options: Sequence[Any]
    start: Any


@dataclass(frozen=True, kw_only=True)
class Tick:
    """A box to tick."""

    key: str
    label: str
    start: bool = False


@dataclass(frozen=True, kw_only=True)
class Entry:
    """A line of text to fill in; taken on Enter or when it is left. `hint` stands in it while it is empty."""

    key: str
    label: str
    start: str = ""
    hint: str = ""


Control = Slider | Pick | Tick | Entry


class SliderPlace(ipywidgets.Box):
    """A place on the screen that holds a slider, and a new one for a new range.

    Given a new range, a slider in the browser first holds its old value to it and sends that back, and the two sides
    part. What an old slider still has to say is heard by nobody.
    """

    def __init__(self) -> None:
        super().__init__(layout=ipywidgets.Layout(width="100%", overflow="visible"))

    def put(self, slider: ipywidgets.Widget) -> None:
        """Show this slider instead of the one before."""
        before, self.children = self.children, (slider,)
        for old in before:
            old.unobserve_all()
            old.close()

    @property
    def slider(self) -> Any:
        """The slider now shown."""
        return self.children[0]

    value = property(lambda self: self.slider.value, lambda self, value: setattr(self.slider, "value", value))
    min, max, step, description = (
        property(lambda self, name=name: getattr(self.slider, name)) for name in ("min", "max", "step", "description")
    )


class SliderView:
    """A slider on the screen; shows inches where asked, gives tapkit's units."""

    def __init__(self, spec: Slider, values: SimpleNamespace) -> None:
        self.spec, self.system = spec, "metric"
        self.widget, self._heard, self._shape = SliderPlace(), lambda: None, None
        self.low = self.high = self._exact = self._exact_shown = 0.0
        self.adapt(values)

    def listen(self, heard: Callable[[], None]) -> None:
        """Call `heard` whenever the slider is moved."""
        self._heard = heard

    def adapt(self, values: SimpleNamespace) -> None:
        """Take range and start anew from the other values."""
        spec = self.spec
        self.low, self.high = (self._tidy(_number(n, values)) for n in (spec.low, spec.high))
        self._fill(_number(spec.start, values))

    @property
    def value(self) -> float:
        """The value in tapkit's unit; it is on a step of the scale, or exactly what it was set to."""
        shown = self.widget.value
        if abs(shown - self._exact_shown) < 1e-6 * self._step:
            return self._exact
        step = self._step
        if self.spec.whole:
            return int(shown)
        shown = self.widget.min + round((shown - self.widget.min) / step) * step
        return self._from_shown(round(shown, 9))

    @value.setter
    def value(self, value: float) -> None:
        self._keep(value)
        self.widget.value = self._exact_shown

    def _keep(self, value: float) -> None:
        value = min(max(value, self.low), self.high)
        self._exact, self._exact_shown = int(value) if self.spec.whole else value, self._shown(value)

    def set_system(self, system: str) -> None:
        """Show metric or inch units, the value kept."""
        value, self.system = self.value, system
        self._fill(value)

    @property
    def _step(self) -> float:
        return self.spec.inch_step if self._in_inches else self.spec.step

    @property
    def _in_inches(self) -> bool:
        return self.system == "inch" and self.spec.kind not in (None, "angle")

    def _tidy(self, limit: float) -> float:
        """A limit on a whole step."""
        return round(round(limit / self.spec.step) * self.spec.step, 9)

    def _shown(self, value: float) -> float:
        if self.spec.whole:
            return round(value)
        value = round(units.convert(value, self.spec.kind, self.system), 9) if self.spec.kind else value
        return round(value / self._step) * self._step if self._in_inches else value

    def _from_shown(self, shown: float) -> float:
        return shown / units.convert(1.0, self.spec.kind, self.system) if self._in_inches else shown

    def _fill(self, value: float) -> None:
        """Show a value in the present range and unit, on a new slider where they are new."""
        self._keep(value)
        low, high = (self._shown(v) for v in (self.low, self.high))
        if self._shape == (low, high, self._step):
            self.widget.value = self._exact_shown
            return
        self._shape = (low, high, self._step)
        self.widget.put(self._slider(low, high))
        self.widget.slider.observe(lambda change: self._heard(), "value")

    def _slider(self, low: float, high: float) -> ipywidgets.Widget:
        spec = self.spec
        unit = units.unit_label(spec.kind, self.system) if spec.kind else spec.unit
        kind = ipywidgets.IntSlider if spec.whole else ipywidgets.FloatSlider
        look = {} if spec.whole else {"readout_format": f".{_decimals(self._step)}f"}
        slider = kind(
            value=self._exact_shown,
            min=low,
            max=high,
            step=1 if spec.whole else self._step,
            description=f"{spec.label}, {unit}" if unit else spec.label,
            layout=ipywidgets.Layout(width="100%"),
            **look,
        )
        slider.add_class("tapkit-slider")
        return slider


class PickView:
    """A list on the screen."""

    def __init__(self, spec: Pick, values: SimpleNamespace) -> None:
        self.spec = spec
        self.widget = ipywidgets.Dropdown(
            options=list(spec.options),
            value=spec.start,
            description=spec.label,
            layout=ipywidgets.Layout(width="100%"),
        )

    def listen(self, heard: Callable[[], None]) -> None:
        """Call `heard` whenever the value changes."""
        self.widget.observe(lambda change: heard(), "value")

    @property
    def value(self) -> Any:
        """The value picked."""
        return self.widget.value

    @value.setter
    def value(self, value: Any) -> None:
        self.widget.value = value

    def adapt(self, values: SimpleNamespace) -> None:
        """Back to the start."""
        self.widget.value = self.spec.start

    def set_system(self, system: str) -> None:
        """Nothing to convert."""


class TickView(PickView):
    """A box to tick on the screen."""

    def __init__(self, spec: Tick, values: SimpleNamespace) -> None:
        self.spec = spec  # type: ignore[assignment]
        self.widget = ipywidgets.Checkbox(value=spec.start, description=spec.label, indent=False)


class EntryView(PickView):
    """A line of text on the screen."""

    def __init__(self, spec: Entry, values: SimpleNamespace) -> None:
        self.spec = spec  # type: ignore[assignment]
        self.widget = ipywidgets.Text(
            value=spec.start,
            description=spec.label,
            placeholder=spec.hint,
            continuous_update=False,
            layout=ipywidgets.Layout(width="100%"),
        )


VIEWS: dict[type, Callable[[Any, SimpleNamespace], Any]] = {
    Slider: SliderView,
    Pick: PickView,
    Tick: TickView,
    Entry: EntryView,
}


@dataclass
class Controls:
    """The controls of one panel on the screen. `on_change` is called after every change with nothing."""

    specs: Sequence[Control]
    on_change: Callable[[], None] = lambda: None
    views: dict[str, Any] = field(default_factory=dict)
    _quiet: bool = False

    def __post_init__(self) -> None:
        values = SimpleNamespace()
        for spec in self.specs:
            view = VIEWS[type(spec)](spec, values)
            self.views[spec.key] = view
            setattr(values, spec.key, view.value)
            view.listen(lambda key=spec.key: self._changed(key))

    @property
    def values(self) -> SimpleNamespace:
        """All values in tapkit's units."""
        return SimpleNamespace(**{key: view.value for key, view in self.views.items()})

    @property
    def widgets(self) -> list[ipywidgets.Widget]:
        """The widgets in order."""
        return [view.widget for view in self.views.values()]

    def set(self, **values: Any) -> None:
        """Set some values; the rest stay, but for what follows them."""
        unknown = values.keys() - self.views.keys()
        if unknown:
            raise ValueError(f"there is no control {sorted(unknown)[0]!r}; there are {', '.join(self.views)}")
        with _Quiet(self):
            for key, view in self.views.items():
                if key in values:
                    view.value = values[key]
                    self._adapt_followers(key, keep=values.keys())
        self.on_change()

    def reset(self) -> None:
        """Everything back to where it began."""
        with _Quiet(self):
            for view in self.views.values():
                view.adapt(self.values)
        self.on_change()

    def set_system(self, system: str) -> None:
        """Show metric or inch units."""
        with _Quiet(self):
            for view in self.views.values():
                view.set_system(system)
        self.on_change()

    def _changed(self, key: str) -> None:
        if self._quiet:
            return
        with _Quiet(self):
            self._adapt_followers(key)
        self.on_change()

    def _adapt_followers(self, key: str, keep: Any = ()) -> None:
        for spec in self.specs:
            if key in getattr(spec, "follows", ()) and spec.key not in keep:
                self.views[spec.key].adapt(self.values)


class _Quiet:
    """Changes made inside are told once, at the end, by who made them."""

    def __init__(self, controls: Controls) -> None:
        self.controls = controls

    def __enter__(self) -> None:
        self.before, self.controls._quiet = self.controls._quiet, True

    def __exit__(self, *error: Any) -> None:
        self.controls._quiet = self.before


def _number(number: Number, values: SimpleNamespace) -> float:
    return float(number(values) if callable(number) else number)


def _decimals(step: float) -> int:
    """Decimals that show a step.

    >>> _decimals(0.05), _decimals(1.0), _decimals(0.001)
    (2, 0, 3)
    """
    text = f"{step:.6f}".rstrip("0")
    return len(text.split(".")[1])
