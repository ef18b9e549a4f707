"""The load panel: the end of the tap from the side with the load on each tooth, and beside it the tap in the round,
its teeth coloured by their load; pointing at a tooth lights its bar, choosing a bar lights the tooth."""

from typing import Any

import ipywidgets
from markupsafe import Markup
from matplotlib.figure import Figure

from tapkit.drawing.packed import packed
from tapkit.drawing.style import SCALES
from tapkit.drawing.tip import draw_tip, point_at_teeth
from tapkit.drawing.toothbars import describe_toothbars, draw_toothbars
from tapkit.drawing.toothcolours import load_on_teeth, steps_of_load
from tapkit.messages import _
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.card import round_page
from tapkit.panels.inround import TapInRound
from tapkit.panels.panel import Panel, PanelSpec
from tapkit.panels.roundstage import framed

SIZE, ROUND = (640, 500), (300, 400)
"""Sizes of the picture and of the view in the round [1/96 inch]."""


def draw(figure: Figure, job: Operation, system: str) -> tuple[Any, Any]:
    """Side view above, bars below."""
    above, below = figure.add_axes((0, 0.43, 1, 0.57)), figure.add_axes((0, 0, 1, 0.43))
    tip, bars = draw_tip(above, job.tap, job.hole, system=system), draw_toothbars(below, job, system=system)
    point_at_teeth(tip, job)
    return tip, bars


def update(artists: tuple[Any, Any], job: Operation) -> None:
    """Another job on the same picture."""
    tip, bars = artists
    draw_tip.update(tip, job.tap, job.hole)
    point_at_teeth(tip, job)
    draw_toothbars.update(bars, job)


def describe(job: Operation, system: str) -> str:
    """What the bars say."""
    return describe_toothbars(job, system=system)


def teeth_told(job: Operation, system: str) -> dict[str, Any]:
    """What the view in the round is told of the teeth."""
    return {"teeth": load_on_teeth(job, system), "steps": steps_of_load(job, system)}


class LoadPanel(Panel):
    """The load panel; `round` shows the tap."""

    def __init__(self, **start: Any) -> None:
        self.round = TapInRound(ratio=ROUND[0] / ROUND[1], view={"turn": 0.0, "tilt": 10.0, "zoom": 1.3}, second=True)
        super().__init__(spec(), **start)

    def _still_parts(self, picture: Markup, caption: Markup) -> tuple[Markup, ...]:
        """With the tap that turns under the picture, where scripts are trusted."""
        tap, shown = self.model.tap, self.stage.still()
        page = round_page(tap, tap.name, self.sentence, shown, self.system, **teeth_told(self.model, self.system))
        return picture, framed(self.sentence, ROUND, page), caption

    def _show_anew(self) -> None:
        """The picture and its words first, then the tap, which takes the page longer."""
        super()._show_anew()
        if self.model is None:  # what it was to begin with cannot be
            return
        name = _("{tap}, its teeth coloured by their load", tap=self.model.tap.name)
        self.round.show(self.model.tap, name=name, system=self.system, **teeth_told(self.model, self.system))
        self.round.layout.width = f"{round(ROUND[0] * SCALES[self.size])}px"

    def _prepare(self, model: Operation) -> None:
        super()._prepare(model)
        packed(model.tap)

    def _lay_out(self) -> ipywidgets.Widget:
        panel = super()._lay_out()
        view = panel.children[2]
        pair = ipywidgets.Box([self.round, *view.children[:1]]).add_class("tapkit-pair")
        view.children = (pair, *view.children[1:])
        return panel


def spec() -> PanelSpec:
    """The load panel as data."""
    return PanelSpec(
        title=_("The load on each tooth"),
        controls=(
            common.thread_pick(),
            common.work_pick(),
            *common.numbers("chamfer", "flutes", "hole", "axial_rake", "radial_rake"),
        ),
        main=("thread", "chamfer", "flutes", "hole"),
        drawing="load",
        draw=draw,
        update=update,
        describe=describe,
        cautions=lambda job: job.cautions,
        size=SIZE,
        teeth=True,
    )


def load(**start: Any) -> LoadPanel:
    """The load on each tooth, live; `start` sets controls by key, such as `chamfer=1.5`."""
    return LoadPanel(**start)
