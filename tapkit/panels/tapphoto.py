"""The photograph panel: a picture of one's own tap, marks pulled over it, and the tap that was measured.

The picture stays in the page. What comes here are the places of the marks; back go the lines of the measured tap, to
lie over the picture.
"""

import io
from types import SimpleNamespace
from typing import Any, NamedTuple

import anywidget
import ipywidgets
import traitlets
from PIL import Image

from tapkit import drawer, setupline, tapphoto
from tapkit.drawing import style
from tapkit.drawing.photo import render
from tapkit.geometry.fluteform import FluteForm, form_of
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.messages import Sentence, _, said
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.markup import paragraph
from tapkit.panels.panel import Panel, PanelSpec, button, not_possible
from tapkit.panels.photoexample import EXAMPLE, SIDE, facing, photographed_example
from tapkit.panels.script import script
from tapkit.panels.setupbox import drawer_file, look_everywhere
from tapkit.panels.stage import REST_SECONDS
from tapkit.panels.state import Pick, TextEntry
from tapkit.panels.tablepanel import TablePanel
from tapkit.panels.tapphotowords import describe, details
from tapkit.parameters import job_from
from tapkit.tapphoto import Measured, PhotoScale

MAJOR, THREADS, OWN = "major", "threads", "own"


class Found(NamedTuple):
    """What the marks say: values of the side view and of the point as `Measured`, the tap, the job it would do,
    and what set the scale of the side view."""

    side: dict[str, Measured]
    point: dict[str, Measured]
    tap: Tap
    job: Operation
    scale: PhotoScale


# --- the page's side ------------------------------------------------------------------------------------

LINES = {
    "side": (
        ("scale", _("known length"), style.FLUTES[1], (2, 3)),
        ("crest", _("crests"), style.ACCENT, ()),
        ("chamfer", _("chamfer"), style.WARN, ()),
        ("face", _("cutting edge"), "#7b2d8e", (8, 4)),
        ("pitch", _("pitch"), style.INK, (9, 3, 2, 3)),
        ("point", _("end face"), "#0b5d5d", (5, 3)),
    ),
    "point": (
        ("rim", _("rim"), style.ACCENT, ()),
        ("end", _("edges on the end face"), style.INK, ()),
        ("hook", _("cutting face"), style.WARN, ()),
        ("core", _("bottom of a flute"), "#7b2d8e", ()),
    ),
}
"""Lines by view: name, words, colour, dashes."""

LOOSE = ("rim", "end")
"""Marks without a line from one to the other."""


def settles(form: FluteForm) -> dict[str, dict[str, str]]:
    """Lines by view that the page may settle on an edge of the picture, the outermost of the tap or any: where edges
    wind round the chamfer its marks stand on crests, and on a helical flute those of the crests too. Onto the point
    none: the steepest step beside a cutting face is not where it ends, and its hook came out up to 2° off."""
    outermost = () if form.is_helical else ("crest",) if form.sign else ("crest", "chamfer")
    return {"side": dict.fromkeys(outermost, "outermost") | {"point": "any"}, "point": {}}


WORDS = {
    "side": _("From the side"),
    "point": _("Onto the point"),
    "choose": _("Your picture:"),
    "over": _("drawing over it"),
    "help": _(
        "Drop a picture here, or choose one: it stays on your machine. Pull each mark to its place; the arrow keys "
        "move it by a pixel, with Shift by ten. Turn the tap so that a cutting edge is the chamfer's outline, and mark "
        "crests where they meet an edge (on a helical flute “crests” are the two furthest out). Where no height shows "
        "the diameter whole, threads are the known length."
    ),
    "settle": _("Settle on edges"),
    "settle_help": _(
        "Lays lines that follow an edge of the picture on it, to parts of a pixel; Enter on a mark does it to its line"
    ),
    "settled": _("On the edges of the picture: {lines}. Look whether it took the right ones.", lines="{lines}"),
    "unsettled": _("No edge was found beside these lines: pull them nearer."),
    "keys": _("arrow keys move this mark"),
    "no_picture": _("That is no picture this browser can show; take a JPEG or a PNG."),
}


class PhotoMarks(anywidget.AnyWidget):
    """The picture with its marks in the page; `fresh` counts how often the example was put back, `since` how often it
    had been when the marks were moved: what was on its way when it was put back does not count."""

    _esm = script("edgefit.js", "tapphoto.js")
    pictures = traitlets.Dict().tag(sync=True)
    sizes = traitlets.Dict().tag(sync=True)
    marks = traitlets.Dict().tag(sync=True)
    over = traitlets.Dict().tag(sync=True)
    lines = traitlets.Dict().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)
    settles = traitlets.Dict().tag(sync=True)
    fresh = traitlets.Int(0).tag(sync=True)
    since = traitlets.Int(0).tag(sync=True)


class PhotoStage:
    """What `Stage` is to a matplotlib figure: shows the measured tap over the picture."""

    def __init__(self) -> None:
        found, keys = photographed_example(), {"side": tapphoto.SIDE, "point": tapphoto.POINT}
        spec = {
            view: [
                dict(name=name, label=said(text), keys=keys[view][name], colour=colour, dash=dash, loose=name in LOOSE)
                for name, text, colour, dash in lines
            ]
            for view, lines in LINES.items()
        }
        self.widget = PhotoMarks(
            pictures=found.pictures,
            sizes=found.sizes,
            marks=found.marks,
            over={"side": [], "point": []},
            lines=spec,
            words={key: sentence.said() for key, sentence in WORDS.items()},
        )
        self.pictures = 0

    def prepare(self, model: Found, system: str) -> None:
        """Laying it over takes no time."""

    def show(self, model: Found, *, system: str = "metric", scale: float = 1.0, alt: str = "") -> None:
        """Lay the measured tap over the picture."""
        marks, left = self.widget.marks, model.tap.thread.hand == "left"
        seen = {view: tapphoto.mirrored(group) if left else group for view, group in marks.items()}
        over = {
            "side": tapphoto.side_over(seen["side"], model.tap, model.scale),
            "point": tapphoto.point_over(seen["point"], model.tap, model.point["scale"].value),
        }
        sign = -1 if left else 1
        self.widget.settles = settles(model.tap.form)
        self.widget.over = {view: [[(sign * x, y) for x, y in line] for line in lines] for view, lines in over.items()}
        self.widget.layout.width, self.widget.layout.max_width = f"{round(500 * scale)}px", "100%"
        self.pictures += 1

    def start_again(self) -> None:
        """The example with its marks."""
        self.widget.fresh += 1
        self.widget.since = self.widget.fresh
        self.widget.marks = photographed_example().marks

    def sharpen(self) -> None:
        """The browser sharpens by itself."""

    def rest(self) -> float:
        """How long nothing must move before `sharpen` is called [s]."""
        return REST_SECONDS

    def tidy_soon(self) -> None:
        """Nothing is kept here."""

    def still(self) -> bytes:
        """The example's side view, for paper."""
        out = io.BytesIO()
        camera = facing(setupline.parse(EXAMPLE).tap, SIDE)
        Image.fromarray(render(camera)).convert("RGB").save(out, "PNG")
        return out.getvalue()


# --- the panel ------------------------------------------------------------------------------------------


class PhotoPanel(TablePanel):
    """The photograph panel; its marks live in the page's widget."""

    def __init__(self, **start: Any) -> None:
        super().__init__(spec(self), details, **start)
        self.stage.widget.observe(lambda change: self._moved(), "marks")

    def reset(self) -> Panel:
        """The example, its marks and all settings as they were."""
        self.stage.start_again()
        return super().reset()

    def found(self, v: SimpleNamespace) -> Found:
        """What the marks say with the values of the controls."""
        marks, thread = self.stage.widget.marks, Thread.parse(v.thread)
        known = {MAJOR: thread.major, THREADS: v.turns * thread.pitch}.get(v.known, v.span)
        off = dict(pixel=v.pixel, tilt=v.lens)
        if thread.hand == "left":
            marks = {view: tapphoto.mirrored(group) for view, group in marks.items()}
        scale = PhotoScale(known, v.turns, v.known == MAJOR)
        side, point = tapphoto.tap_with_errors(marks, scale, major=thread.major, form=form_of(v.form), **off)
        plain = ({key: one.value for key, one in group.items()} for group in (side, point))
        tap = tapphoto.tap_of(thread, v.form, *plain)
        bore = {"hole": max(thread.major - thread.pitch, tap.point_diameter + 0.05), "depth": 1.5 * thread.major}
        return Found(side, point, tap, job_from(values_of_tap(tap) | bore), scale)

    def put_in_drawer(self) -> Sentence:
        """Put the measured tap into the drawer under the name in the box; ValueError in a sentence where it cannot."""
        name = self.values.name.strip()
        if not name:
            raise ValueError(_("the tap has no name yet; write one into the box, such as A7"))
        if self.model is None or self.problem:
            raise ValueError(_("there is no tap to put away until the marks make one"))
        values = values_of_tap(self.model.tap)
        columns = {"chamfer": "chamfer", "flutes": "flutes", "radial_rake": "radial rake", "axial_rake": "axial rake"}
        cells = {head: f"{values[key]:g}" for key, head in columns.items()}
        cells |= {key.replace("_", " "): f"{values[key]:g} mm" for key in ("core", "point_diameter")}
        own = dict(name=name, thread=self.model.tap.thread.designation, form=self.model.tap.flute_form)
        drawer.put(drawer_file(), own | cells | {"condition": said(_("measured from a photograph"))})
        look_everywhere()
        return _("{name} lies in my drawer, {file}.", name=name, file=str(drawer_file()))

    def _make_stage(self) -> Any:
        return PhotoStage()

    def _tell_problem(self, picture: Any) -> None:
        """The photograph stays as it is, without the tap of the last marks that made one."""
        picture.over = {"side": [], "point": []}
        self.words.value = not_possible(self.problem, self.system)

    def _moved(self) -> None:
        if self.stage.widget.since != self.stage.widget.fresh:
            return self.stage.start_again()
        self._shown = None
        self._latest.ask()

    def _lay_out(self) -> ipywidgets.Widget:
        """The table beside the picture, so that all is on one screen."""
        panel = super()._lay_out()
        beside = ipywidgets.Box([self.stage.widget, self.table]).add_class("tapkit-beside")
        view = panel.children[2]
        view.children = (beside, *view.children[1:])
        panel.children = panel.children[:-1]
        return panel

    def _switches(self) -> ipywidgets.Widget:
        row = super()._switches()
        self._put = ipywidgets.HTML()
        put = button(_("Put it in my drawer"), _("So that every panel offers it"), self._put_and_tell)
        row.children = (*row.children, put, self._put)
        row.children[0].on_click(lambda _button: self.stage.start_again())
        return row

    def _put_and_tell(self) -> None:
        try:
            told = self.put_in_drawer()
        except ValueError as error:
            told = _("Not put away: {why}.", why=error.args[0])
        self._put.value = paragraph(told, self.system)


def values_of_tap(tap: Tap) -> dict[str, Any]:
    """A tap by the keys of the table `parameters`."""
    keys = ("flutes", "radial_rake", "axial_rake", "core", "point_diameter")
    found = {key: getattr(tap, {"core": "core_diameter"}.get(key, key)) for key in keys}
    return found | {"thread": tap.thread.designation, "form": tap.flute_form, "chamfer": tap.chamfer_threads}


def spec(panel: PhotoPanel) -> PanelSpec:
    """The photograph panel as data."""
    threads, own = _("as many threads as are marked"), _("a length of my own")
    known = ((_("the major diameter"), MAJOR), (threads, THREADS), (own, OWN))
    return PanelSpec(
        title=_("A tap measured from a photograph"),
        controls=(
            common.thread_pick("M16x2"),
            common.form_pick("spiral-point"),
            TextEntry(key="name", label=_("Name in my drawer"), hint=_("such as A7")),
            Pick(
                key="known",
                label=_("The known length is"),
                options=known,
                start=MAJOR,
                help=_("the length that sets the scale of the picture: one you know or have measured"),
            ),
            *common.numbers("span", "turns", "pixel", "lens"),
        ),
        main=("thread", "form", "name"),
        model_from=panel.found,
        draw=lambda *_: None,
        update=lambda *_: None,
        describe=describe,
        cautions=lambda model: model.tap.cautions(),
        size=SIDE,
    )


def measure_tap(**start: Any) -> PhotoPanel:
    """Measure a tap from a photograph, live; `start` sets controls by key, such as `thread="M8"`."""
    return PhotoPanel(**start)
