"""A panel: controls, one picture, one sentence. It connects them and computes nothing.

A panel is data: a `PanelSpec` with its controls, `model_from(values)`, `draw`, `update` and `describe`. An input that
cannot be (ValueError) is said in a sentence under the last good picture.

In a notebook the panel shows twice: live, and as a still picture with its sentence that hides itself while the live one
is there, so that a saved, printed or exported notebook keeps both.
"""

import contextlib
import logging
import uuid
from base64 import b64encode
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any, NamedTuple

import ipywidgets
from IPython.display import HTML, display
from markupsafe import Markup

from tapkit import setupline
from tapkit.drawing.style import SCALES
from tapkit.exercises import ownfile
from tapkit.messages import Sentence, _, said, text
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.controls import Controls
from tapkit.panels.inpage import InPage
from tapkit.panels.look import STYLE
from tapkit.panels.markup import NOT_LOADED, joined, paragraph, tag
from tapkit.panels.pointing import Pointing
from tapkit.panels.setupbox import SetUpBox, control_values, describe_left_out
from tapkit.panels.stage import Latest, Stage
from tapkit.panels.state import Control, Pick, State
from tapkit.panels.terms import marked
from tapkit.parameters import job_from

VIEW = "application/vnd.jupyter.widget-view+json"


def no_cautions(model: Any) -> Sequence[Any]:
    """For models that have none."""
    return ()


def set_up_of(model: Any, values: SimpleNamespace) -> Operation | None:
    """The job a model is, or has; else that of the values, None where no thread is among them or they make no job."""
    for one in (model, getattr(model, "job", None)):
        if isinstance(one, Operation):
            return one
    try:
        return job_from(vars(values)) if hasattr(values, "thread") else None
    except ValueError:  # what a panel shows may be possible where cutting it is not
        return None


@dataclass(frozen=True, kw_only=True)
class PanelSpec:
    """What makes a panel.

    `title`; `controls`, of which those with the keys `main` stand open and the others under "more" (all stand open
    where it is empty), and those with the keys `hidden` are moved otherwise; `model_from(values) → model`, the job
    where it is not given, values by control key in tapkit's units, ValueError with one sentence for what cannot be;
    `draw(figure, model, system) → artists` and `update(artists, model)`, or both as `**views(...)`;
    `describe(model, system)` → one or two sentences, also the alt text; `cautions(model)` → sentences; `size` of
    the picture in CSS pixels at laptop size; `teeth` whether one can point at teeth in the picture; `units` whether
    there is an inch switch; `set_up(model, values)` → the job whose set-up line stands under the panel, or None;
    `drawing` the name of the drawing that a question made of it carries (`exercises.ownlook`).
    """

    title: Any
    controls: Sequence[Control]
    main: Sequence[str] = ()
    hidden: Sequence[str] = ()
    model_from: Callable[[SimpleNamespace], Any] = lambda values: job_from(vars(values))
    draw: Callable[[Any, Any, str], Any]
    update: Callable[[Any, Any], None]
    describe: Callable[[Any, str], Any]
    cautions: Callable[[Any], Sequence[Any]] = no_cautions
    size: tuple[int, int] = (860, 480)
    units: bool = True
    by_system: bool = False
    teeth: bool = False
    set_up: Callable[[Any, SimpleNamespace], Operation | None] = set_up_of
    drawing: str = "hole"


class Ahead(NamedTuple):
    """What was made before it was asked for: the model of `values` in a `system`, and its sentence."""

    values: SimpleNamespace
    system: str
    model: Any
    sentence: str


class Panel:
    """A panel on the screen. `values` and `model` are what it shows, `problem` the sentence where it cannot."""

    def __init__(self, spec: PanelSpec, **start: Any) -> None:
        self.spec, self.system, self.size = spec, ownfile.units() if spec.units else "metric", "laptop"
        self.stage = self._make_stage()
        self.model: Any = None
        self.problem: str | None = None
        self.sentence = ""
        self._shown: Any = None
        self._drawn: tuple[SimpleNamespace, str, str] | None = None
        self._ahead: Ahead | None = None
        self._latest = Latest(self._show, self.stage.sharpen, self.stage.rest, self.look_ahead)
        self._mark = f"tapkit-{uuid.uuid4().hex[:12]}"
        self.words = ipywidgets.HTML(layout=ipywidgets.Layout(width="100%")).add_class("tapkit-sentence")
        self.set_up = SetUpBox(self._take)
        self.controls = Controls(State.begin(spec.controls, **start).in_system(self.system), self._groups())
        self.widget = self._lay_out()
        self._show()
        if not self.set_up.line:  # a tap alone is no job, so there is no line to copy or to paste
            self.set_up.layout.display = "none"
        self.controls.on_change = self._latest.ask

    @property
    def values(self) -> SimpleNamespace:
        """The values of the controls in tapkit's units."""
        return self.controls.values

    def set(self, **values: Any) -> "Panel":
        """Set controls and draw at once."""
        self.controls.set(**values)
        self._latest.do()
        return self

    def reset(self) -> "Panel":
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

    def take(self, line: str) -> "Panel":
        """Show another whole set-up, given as one line; ValueError where it cannot be, and nothing is changed."""
        self._take(setupline.parse(line, self.system), frozenset(setupline.values(line, self.system)))
        return self

    def look_ahead(self) -> None:
        """After a step of a slider: have the picture of one step more ready. What cannot be is told when asked for."""
        following = self.controls.next
        if following is None or self.problem is not None:
            return
        with contextlib.suppress(Exception):
            model = self._model(following.values)
            self._prepare(model)
            self._ahead = Ahead(following.values, self.system, model, self._sentence_of(model))

    def still(self) -> str:
        """Picture and sentence as HTML that needs nothing else; hidden where the live panel is shown."""
        data = b64encode(self.stage.still()).decode()
        look = dict(width=self.spec.size[0], style="max-width:100%;height:auto")
        picture = tag("img", src=f"data:image/png;base64,{data}", alt=self.sentence, **look)
        parts = self._still_parts(picture, tag("figcaption", self._caption()))
        return tag("figure", *parts, class_=self._mark, style="margin:0")

    def _still_parts(self, picture: Markup, caption: Markup) -> tuple[Markup, ...]:
        return picture, caption

    def _ipython_display_(self) -> None:
        show_live(self.widget, f"Panel: {self.spec.title}", self.still())
        self.stage.tidy_soon()

    # --- inside -----------------------------------------------------------------------------------

    def _make_stage(self) -> Any:
        """What shows the picture; a panel whose picture is not matplotlib's makes its own."""
        return Stage(self.spec.draw, self.spec.update, size=self.spec.size)

    def _show(self) -> None:
        """Model, picture, sentence; or the sentence that says why not. Nothing where nothing has changed."""
        asked = (vars(self.values), self.system, self.size)
        if asked != self._shown:
            self._shown = asked
            self._show_anew()
        self.controls.tell()

    def _show_anew(self) -> None:
        try:
            self._show_model(self._model(self.values), self.values)
        except Exception as error:
            self.problem = why_not(error, self.system)
            if not is_told(error):
                self._shown = None  # a fault of ours: the next move tries again
            elif self._drawn and self._drawn[1:] != (self.system, self.size):
                self._show_again(self._drawn[0])
        else:
            self.problem = None
        self._ahead = None
        self._tell()

    def _show_again(self, values: SimpleNamespace) -> None:
        """Show the last model, made of these values, as units and size are now."""
        model = self.model
        if self.spec.by_system:
            with contextlib.suppress(ValueError):  # possible in the other system only
                model = self._model(values)
        self._show_model(model, values)

    def _prepare(self, model: Any) -> None:
        """Have ready what takes time of a model that may be shown next."""
        self.stage.prepare(model, self.system)

    def _sentence_of(self, model: Any) -> str:
        if self._ahead and self._ahead.model is model:
            return self._ahead.sentence
        return said(self.spec.describe(model, self.system), self.system)

    def _model(self, values: SimpleNamespace) -> Any:
        if self._ahead and self._ahead.values == values and self._ahead.system == self.system:
            return self._ahead.model
        return self.spec.model_from(values, *((self.system,) if self.spec.by_system else ()))

    def _show_model(self, model: Any, values: SimpleNamespace) -> None:
        sentence = self._sentence_of(model)
        self.stage.show(model, system=self.system, scale=SCALES[self.size], alt=sentence)
        self.model, self.sentence, self._drawn = model, sentence, (values, self.system, self.size)

    def _take(self, job: Operation, keys: frozenset[str]) -> Sentence | None:
        """Show a job; a sentence where something of it has no place here."""
        before = self.controls.state
        values = control_values(job)
        if any(isinstance(c, Pick) and c.key == "chamfer" for c in before.controls):
            values["chamfer"] = job.tap.chamfer_name
        self.controls.replace(before.whole(values, common.more_controls(keys, before)))
        self._latest.do()
        if self.problem is not None:
            problem = self.problem
            self.controls.replace(before)
            self._latest.do()
            raise ValueError(_("{problem}; it stays as it was", problem=problem))
        return describe_left_out(job, self.spec.set_up(self.model, self.values), self.system)

    def _tell(self) -> None:
        picture = self.stage.widget
        if self.problem is None:
            picture.remove_class("tapkit-old")
            self.words.value = self._caption()
        else:
            self._tell_problem(picture)
        if self._drawn:
            self.set_up.show(self.spec.set_up(self.model, self._drawn[0]), self.system)

    def _tell_problem(self, picture: ipywidgets.Widget) -> None:
        picture.add_class("tapkit-old")
        last = _("The picture is the last one that was possible.")
        self.words.value = not_possible(self.problem, self.system, last)

    def _caption(self) -> Markup:
        cautions = () if self.model is None else self.spec.cautions(self.model)
        told = (_("Caution: {caution}.", caution=in_units(caution, self.system)) for caution in cautions)
        listed = (paragraph(caution, self.system, "tapkit-caution") for caution in told)
        return joined([paragraph(marked(self.sentence)), *listed])

    def _lay_out(self) -> ipywidgets.Widget:
        style = hidden_style(STYLE, self._mark)
        left = ipywidgets.VBox([self.controls, self._switches()]).add_class("tapkit-controls")
        pointing = [Pointing(self.stage.widget)] if self.spec.teeth else []
        right = ipywidgets.VBox([self.stage.widget, self.words, self.set_up, *pointing]).add_class("tapkit-view")
        return ipywidgets.Box([style, left, right, InPage()]).add_class("tapkit-panel")

    def _switches(self) -> ipywidgets.Widget:
        switches = [button(_("Reset"), _("Everything back to where it began"), self.controls.reset)]
        if self.spec.units:
            switches.append(inch_switch(self.set_system, self.system))
        return switch_row([*switches, size_switch(self.set_size), *self._maker()])

    def _maker(self) -> list[ipywidgets.Widget]:
        """The key that makes a question of what is shown, for instructors."""
        from tapkit.panels.questionmaker import make_button, put_form

        def set_up() -> tuple[Operation | None, str]:
            return (None if self.model is None else self.spec.set_up(self.model, self.values)), self.system

        return make_button(set_up, lambda form: put_form(self.widget, form, 1), self.spec.drawing)

    def _groups(self) -> Sequence[tuple[Any, Sequence[str], bool]]:
        """The main controls, then the rest, folded."""
        shown = [c.key for c in self.spec.controls if c.key not in self.spec.hidden]
        main = self.spec.main or shown
        rest = [key for key in shown if key not in main]
        return [("", main, True), *([(_("More"), rest, False)] if rest else [])]


# --- parts of panels ------------------------------------------------------------------------------------


def hidden_style(css: str, still: str = "") -> ipywidgets.HTML:
    """Styles that come with a widget; they hide what a saved notebook shows in its place, of the class `still`."""
    rule = f" .{still} {{display: none}}" if still else ""
    return ipywidgets.HTML(f"<style>{css}{rule}</style>", layout={"display": "none"})


def show_live(widget: ipywidgets.Widget, name: Any, still: str = "") -> None:
    """Display a widget, `name` where there is only text, and `still`, the HTML a saved notebook keeps."""
    view = {"version_major": 2, "version_minor": 0, "model_id": widget.model_id}
    display({VIEW: view, "text/plain": said(name)}, raw=True)
    if still:
        display(HTML(NOT_LOADED + Markup(still)))


def is_told(error: Exception) -> bool:
    """Whether an error is a sentence about what was put in; any other is a fault of ours."""
    return isinstance(error, ValueError) and bool(error.args) and isinstance(error.args[0], Sentence)


def why_not(error: Exception, system: str) -> str:
    """Why something cannot be shown; a fault of ours goes into the log too."""
    if is_told(error):
        return said(error, system)
    logging.getLogger("tapkit").error("a panel failed", exc_info=error)
    name, why = type(error).__name__, str(error)
    return said(_("this panel cannot show that ({name}: {why}); press Reset to go on", name=name, why=why), system)


def not_possible(problem: Any, system: str = "metric", *more: Sentence) -> str:
    """Why something cannot be, and what else is to be said of it, as an HTML paragraph."""
    return paragraph(text(_("Not possible: {problem}.", problem=problem), *more), system, "tapkit-problem")


def hide(widget: ipywidgets.Widget, is_past: bool) -> None:
    """Numbers of what was possible last are not seen, while their place is kept."""
    (widget.add_class if is_past else widget.remove_class)("tapkit-past")


def in_units(sentence: Any, system: str) -> str:
    """A sentence said in a system of units."""
    return said(sentence, system)


def button(text: Any, tooltip: Any, action: Callable[[], Any]) -> ipywidgets.Button:
    """A button that does something."""
    made = ipywidgets.Button(description=said(text), tooltip=said(tooltip), layout={"width": "auto"})
    made.on_click(lambda _button: action())
    return made


def switch(text: Any, tooltip: Any, action: Callable[[bool], Any], is_on: bool = False) -> ipywidgets.ToggleButton:
    """A button that stays pressed."""
    made = ipywidgets.ToggleButton(value=is_on, description=said(text), tooltip=said(tooltip))
    made.observe(lambda change: action(change["new"]), "value")
    return made


def inch_switch(set_system: Callable[[str], Any], system: str = "metric") -> ipywidgets.ToggleButton:
    """The switch to inch units, as it stands in a `system`."""
    tooltip = _("Show inch units instead of metric ones")
    return switch(_("Inch"), tooltip, lambda on: set_system("inch" if on else "metric"), system == "inch")


def size_switch(set_size: Callable[[str], Any]) -> ipywidgets.ToggleButton:
    """The switch to projector size."""
    tooltip = _("Larger picture and text")
    return switch(_("Projector size"), tooltip, lambda on: set_size("projector" if on else "laptop"))


def switch_row(widgets: Sequence[ipywidgets.Widget]) -> ipywidgets.Widget:
    """Buttons in a row."""
    return ipywidgets.Box(tuple(widgets)).add_class("tapkit-switches")
