"""The chips panel: the tap turning in its hole and where its chips go; or first the question, and then the motion.

While a control moves, the still picture follows it; at rest the picture moves, in the browser alone. The Pause button
works in the browser too, with no kernel.
"""

from __future__ import annotations

import asyncio
import html
from typing import Any

import ipywidgets

from tapkit.drawing import motion
from tapkit.drawing.motion_view import HEIGHT, WIDTH
from tapkit.messages import _, said
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.panel import Panel, PanelSpec, switch
from tapkit.panels.prediction import Prediction
from tapkit.panels.stage import REST_SECONDS, give_back
from tapkit.parameters import job_from

"""Range of the axial rake offered for each flute form [deg]; a straight flute has none but 0, and says so."""
STYLE = """<style>
.tapkit-motion, .tapkit-motion .widget-html-content {height: auto; margin: 0; overflow: visible; line-height: 0}
.tapkit-motion .widget-html-content > svg {width: 100%; height: auto}
.tapkit-chips .tapkit-view {flex: 1 1 700px}
.tapkit-panel:has(.tapkit-pause.mod-active) .tapkit-motion svg * {animation-play-state: paused !important}
</style>"""


class MotionStage:
    """The moving picture in a panel; what `Stage` is to a matplotlib figure. `widget` shows it, `pictures` counts;
    while it is `asking` it shows neither chips nor motion."""

    def __init__(self, asking: bool = False) -> None:
        self.widget = ipywidgets.HTML()
        self.widget.add_class("tapkit-motion")
        self.pictures, self.asking, self.is_moving = 0, asking, False
        self._job: Operation | None = None
        self._system = "metric"

    def show(self, model: Operation, *, system: str = "metric", scale: float = 1.0, alt: str = "") -> None:
        """Show the job: in motion at first, later the still picture, until `sharpen` is called at rest.

        `alt` is not needed: the picture holds its own description.
        """
        first, self._job, self._system = self._job is None, model, system
        self.widget.layout.width, self.widget.layout.max_width = f"{round(WIDTH * scale)}px", "100%"
        self._put(moving=first or not _has_loop())

    def sharpen(self) -> None:
        """Set the picture going."""
        if self._job is not None and not self.is_moving:
            self._put(moving=True)

    def rest(self) -> float:
        """How long nothing must move before the motion begins [s]."""
        return REST_SECONDS

    def tidy_soon(self) -> None:
        """Nothing is kept here; what others left is given back."""
        give_back()

    def reveal(self) -> None:
        """Show the chips after a prediction."""
        self.asking = False
        self._put(moving=True)

    def _put(self, moving: bool) -> None:
        self.is_moving = moving
        if self.asking:
            svg = motion.question_svg(self._job, system=self._system)
        else:
            svg = motion.chips_svg(self._job, system=self._system, moving=moving)
        self.pictures += 1
        self.widget.value = svg


def _has_loop() -> bool:
    try:
        asyncio.get_running_loop()
    except RuntimeError:
        return False
    return True


class ChipsPanel(Panel):
    """The chips panel; with `predict` it asks first, and shows motion and controls when the prediction is locked."""

    def __init__(self, *, predict: bool = False, **start: Any) -> None:
        self.prediction = Prediction(self._reveal) if predict else None
        super().__init__(spec(), **start)

    def still(self) -> str:
        """The moving picture as HTML that needs nothing else; before a prediction, the picture that asks."""
        if self.model is None:
            return f'<p class="{self._mark}">{html.escape(self.problem or "")}</p>'
        if not self.stage.asking:
            return motion.saved_html(self.model, system=self.system, caption=self._caption(), mark=self._mark)
        uri, words = motion.data_uri(self.stage.widget.value), html.escape(self._words_now())
        picture = f'<img src="{uri}" alt="{words}" style="display:block;width:100%;height:auto">'
        look = f'class="{self._mark}" style="margin:0;max-width:{WIDTH}px"'
        return f"<figure {look}>{picture}<figcaption>{self._caption()}</figcaption></figure>"

    # --- inside -----------------------------------------------------------------------------------

    def _make_stage(self) -> MotionStage:
        return MotionStage(asking=self.prediction is not None)

    def _words_now(self) -> str:
        return said(motion.describe_question(self.model), self.system) if self.stage.asking else self.sentence

    def _caption(self) -> str:
        return f"<p>{html.escape(self._words_now())}</p>" if self.stage.asking and self.model else super()._caption()

    def _lay_out(self) -> ipywidgets.Widget:
        panel = super()._lay_out()
        panel.add_class("tapkit-chips")
        look, self._left, right, *rest = panel.children
        look.value += STYLE
        if self.prediction:
            self._asked = ipywidgets.VBox([self.prediction.widget])
            self._asked.add_class("tapkit-controls")
            panel.children = (look, self._asked, right, *rest)
        return panel

    def _switches(self) -> ipywidgets.Widget:
        row = super()._switches()
        pause = switch(_("Pause"), _("Stop the motion, or let it go on"), lambda on: None)
        pause.add_class("tapkit-pause")
        row.children = (pause, *row.children)
        return row

    def _reveal(self) -> None:
        """The prediction is locked: say how it compares, show the motion, and give the controls free."""
        self.prediction.tell(self.model.chip_flow)
        self.stage.reveal()
        self._tell()
        self._asked.children = (self.prediction.widget, *self._left.children)


def spec() -> PanelSpec:
    """The chips panel as data; its picture is not matplotlib's."""
    return PanelSpec(
        title=_("Where the chips go"),
        controls=(
            common.thread_pick(),
            common.form_pick(),
            *common.numbers("chamfer", "axial_rake"),
            common.kind_pick(),
            common.work_pick(),
            *common.numbers("depth", "radial_rake", "speed"),
        ),
        main=("form", "chamfer", "kind", "work"),
        model_from=lambda v: job_from(vars(v)),
        draw=lambda *_: None,
        update=lambda *_: None,
        describe=lambda job, system: motion.describe_motion(job),
        cautions=lambda job: job.cautions,
        size=(WIDTH, HEIGHT),
    )


def chips(*, predict: bool = False, **start: Any) -> ChipsPanel:
    """Chips in motion, live; `start` sets controls by key, such as `form="spiral-flute"`.

    With `predict` the panel first asks where the chips will go and why; the motion comes when the answer is locked.
    """
    return ChipsPanel(predict=predict, **start)
