"""A panel: controls, one picture, one sentence. It connects them and computes nothing.

A panel is data: a `PanelSpec` with its controls, `model_from(values)`, `draw`, `update` and `describe`. An input that
cannot be (ValueError) is said in a sentence under the last good picture.

In a notebook the panel shows twice: live, and as a still picture with its sentence that hides itself while the live one
is there, so that a saved, printed or exported notebook keeps both.
"""

from __future__ import annotations

import html
import logging
import uuid
from base64 import b64encode
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import ipywidgets
from IPython.display import HTML, display

from tapkit import units
from tapkit.drawing.style import SCALES
from tapkit.messages import said
from tapkit.panels.controls import Control, Controls
from tapkit.panels.inpage import InPage
from tapkit.panels.look import STYLE
from tapkit.panels.stage import Latest, Stage

VIEW = "application/vnd.jupyter.widget-view+json"


def no_cautions(model: Any) -> Sequence[str]:
    """For models that have none."""
    return ()


@dataclass(frozen=True, kw_only=True)
class PanelSpec:
    """What makes a panel.

    `title`; `controls`; `model_from(values) → model`, values by control key in tapkit's units, ValueError with one
    sentence for what cannot be; `draw(figure, model, system) → artists`; `update(artists, model)`;
    `describe(model, system) → text` of one or two sentences, also the alt text; `cautions(model)` → sentences;
    `size` of the picture in CSS pixels at laptop size; `units` whether there is an inch switch.
    """

    title: str
    controls: Sequence[Control]
    model_from: Callable[[SimpleNamespace], Any]
    draw: Callable[[Any, Any, str], Any]
    update: Callable[[Any, Any], None]
    describe: Callable[[Any, str], str]
    cautions: Callable[[Any], Sequence[str]] = no_cautions
    size: tuple[int, int] = (860, 480)
    units: bool = True


class Panel:
    """A panel on the screen. `values` and `model` are what it shows, `problem` the sentence where it cannot."""

    def __init__(self, spec: PanelSpec, **start: Any) -> None:
        self.spec, self.system, self.size = spec, "metric", "laptop"
        self.stage = self._make_stage()
        self.model: Any = None
        self.problem: str | None = None
        self.sentence = ""
        self._shown: Any = None
        self._listeners: list[Callable[[Panel], None]] = []
        self._latest = Latest(self._show, self.stage.sharpen, self.stage.rest)
        self._mark = f"tapkit-{uuid.uuid4().hex[:12]}"
        self._words = ipywidgets.HTML(layout=ipywidgets.Layout(width="100%"))
        self._words.add_class("tapkit-sentence")
        self.controls = Controls(spec.controls)
        if start:
            self.controls.set(**start)
        self.widget = self._lay_out()
        self._show()
        self.controls.on_change = self._latest.ask

    @property
    def values(self) -> SimpleNamespace:
        """The values of the controls in tapkit's units."""
        return self.controls.values

    def set(self, **values: Any) -> Panel:
        """Set controls and draw at once."""
        self.controls.set(**values)
        self._latest.do()
        return self

    def reset(self) -> Panel:
        """Everything back to where it began."""
        self.controls.reset()
        self._latest.do()
        return self

    def set_system(self, system: str) -> None:
        """Show "metric" or "inch" units."""
        self.system = system
        self.controls.set_system(system)

    def set_size(self, size: str) -> None:
        """Size for a "laptop" or a "projector"."""
        self.size = size
        (self.widget.add_class if size == "projector" else self.widget.remove_class)("tapkit-projector")
        self._latest.ask()

    def listen(self, listener: Callable[[Panel], None]) -> None:
        """Call the listener with this panel after every new picture or problem."""
        self._listeners.append(listener)

    def still(self) -> str:
        """Picture and sentence as HTML that needs nothing else; hidden where the live panel is shown."""
        data = b64encode(self.stage.still()).decode()
        size = f'width="{self.spec.size[0]}" style="max-width:100%;height:auto"'
        picture = f'<img src="data:image/png;base64,{data}" alt="{html.escape(self.sentence)}" {size}>'
        words = f"<figcaption>{self._caption()}</figcaption>"
        return f'<figure class="{self._mark}" style="margin:0">{picture}{words}</figure>'

    def _ipython_display_(self) -> None:
        view = {"version_major": 2, "version_minor": 0, "model_id": self.widget.model_id}
        display({VIEW: view, "text/plain": f"Panel: {self.spec.title}"}, raw=True)
        display(HTML(self.still()))
        self.stage.tidy_soon()

    # --- inside -----------------------------------------------------------------------------------

    def _make_stage(self) -> Any:
        """What shows the picture; a panel whose picture is not matplotlib's makes its own."""
        return Stage(self.spec.draw, self.spec.update, size=self.spec.size)

    def _show(self) -> None:
        """Model, picture, sentence; or the sentence that says why not. Nothing where nothing has changed."""
        asked = (vars(self.values), self.system, self.size)
        if asked == self._shown:
            return
        self._shown = asked
        try:
            model = self.spec.model_from(self.values)
            sentence = said(self.spec.describe(model, self.system), self.system)
            self.stage.show(model, system=self.system, scale=SCALES[self.size], alt=sentence)
        except ValueError as error:
            self.problem = said(error, self.system)
        except Exception as error:
            logging.getLogger("tapkit").exception("a panel failed")
            self.problem = f"this panel cannot show that ({type(error).__name__}: {error}); press Reset to go on"
        else:
            self.model, self.sentence, self.problem = model, sentence, None
        self._tell()

    def _tell(self) -> None:
        picture = self.stage.widget
        if self.problem is None:
            picture.remove_class("tapkit-old")
            self._words.value = self._caption()
        else:
            picture.add_class("tapkit-old")
            said = f'<p class="tapkit-problem"><b>Not possible:</b> {html.escape(self.problem)}.</p>'
            self._words.value = said + "<p>The picture is the last one that was possible.</p>"
        for listener in self._listeners:
            listener(self)

    def _caption(self) -> str:
        cautions = () if self.model is None else self.spec.cautions(self.model)
        told = (html.escape(units.in_system(caution, self.system)) for caution in cautions)
        marked = (f'<p class="tapkit-caution"><b>Caution:</b> {caution}.</p>' for caution in told)
        return f"<p>{html.escape(self.sentence)}</p>{''.join(marked)}"

    def _lay_out(self) -> ipywidgets.Widget:
        style = ipywidgets.HTML(f"<style>{STYLE} .{self._mark} {{display: none}}</style>")
        style.layout.display = "none"
        left = ipywidgets.VBox([*self.controls.widgets, self._switches()])
        left.add_class("tapkit-controls")
        right = ipywidgets.VBox([self.stage.widget, self._words])
        right.add_class("tapkit-view")
        panel = ipywidgets.Box([style, left, right, InPage()])
        panel.add_class("tapkit-panel")
        return panel

    def _switches(self) -> ipywidgets.Widget:
        reset = ipywidgets.Button(description="Reset", tooltip="Everything back to where it began")
        reset.on_click(lambda _: self.controls.reset())
        big = ipywidgets.ToggleButton(description="Projector size", tooltip="Larger picture and text")
        big.observe(lambda change: self.set_size("projector" if change["new"] else "laptop"), "value")
        switches = [reset, big]
        if self.spec.units:
            inch = ipywidgets.ToggleButton(description="Inch", tooltip="Show inch units instead of metric ones")
            inch.observe(lambda change: self.set_system("inch" if change["new"] else "metric"), "value")
            switches.insert(1, inch)
        row = ipywidgets.Box(switches)
        row.add_class("tapkit-switches")
        return row
