"""The chips panel: the film of the cut, the tap turning in its hole and where its chips go; or first the question, and
then the film.

The browser plays the film by itself; Play and Stop work with no kernel. While a control moves, the film stands at its
depth and shows the change; then it goes on.
"""

from __future__ import annotations

import html
from typing import Any

import ipywidgets

from tapkit.drawing import motion
from tapkit.drawing.motion_view import HEIGHT, WIDTH
from tapkit.drawing.toothcolours import load_on_teeth
from tapkit.messages import _, said
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.inround import TapInRound
from tapkit.panels.panel import Panel, PanelSpec
from tapkit.panels.prediction import Prediction
from tapkit.panels.stage import REST_SECONDS, give_back
from tapkit.parameters import job_from

STYLE = """<style>
.tapkit-motion, .tapkit-motion .widget-html-content {height: auto; margin: 0; overflow: visible; line-height: 0}
.tapkit-motion .widget-html-content > svg {width: 100%; height: auto}
</style>"""
HAND = {"turn": 0.0, "tilt": -16.0, "zoom": 1.0}


class FilmStage:
    """The film in a panel; what `Stage` is to a matplotlib figure. `widget` shows it, `pictures` counts; while it is
    `asking` it shows a picture with neither chips nor motion."""

    def __init__(self, asking: bool = False) -> None:
        self.question = ipywidgets.HTML()
        self.question.add_class("tapkit-motion")
        self.round = TapInRound(ratio=WIDTH / HEIGHT, view=HAND, plays=True)
        self.round.observe(lambda change: self._put_still(), "wants_still")
        self.widget = ipywidgets.Box([self.question if asking else self.round])
        self.pictures, self.asking = 0, asking
        self._job: Operation | None = None
        self._system, self._alt = "metric", ""

    def show(self, model: Operation, *, system: str = "metric", scale: float = 1.0, alt: str = "") -> None:
        """Show the job; `alt` says in words what there is to see."""
        self._job, self._system, self._alt = model, system, alt
        for shown in (self.question, self.round):
            shown.layout.width, shown.layout.max_width = f"{round(WIDTH * scale)}px", "100%"
        self._put()

    def sharpen(self) -> None:
        """The browser sharpens by itself."""

    def rest(self) -> float:
        """How long nothing must move before `sharpen` is called [s]."""
        return REST_SECONDS

    def tidy_soon(self) -> None:
        """Nothing is kept here; what others left is given back."""
        give_back()

    def reveal(self) -> None:
        """Show the film after a prediction."""
        self.asking = False
        self._put()
        self.widget.children = (self.round,)

    def _put(self) -> None:
        if self.asking:
            self.question.value = motion.question_svg(self._job, system=self._system)
        else:
            words = [{"number": t["number"], "words": t["words"]} for t in load_on_teeth(self._job, self._system)]
            self.round.show(self._job.tap, name=self._alt, system=self._system, job=self._job, teeth=words)
            self._put_still()
        self.pictures += 1

    def _put_still(self) -> None:
        if self.round.wants_still and self._job is not None:
            self.round.still = motion.chips_svg(self._job, system=self._system, moving=False).encode()


class ChipsPanel(Panel):
    """The chips panel; with `predict` it asks first, and shows film and controls when the prediction is locked."""

    def __init__(self, *, predict: bool = False, **start: Any) -> None:
        self.prediction = Prediction(self._reveal) if predict else None
        super().__init__(spec(), **start)

    def still(self) -> str:
        """The moving picture as HTML that needs nothing else; before a prediction, the picture that asks."""
        if self.model is None:
            return f'<p class="{self._mark}">{html.escape(self.problem or "")}</p>'
        if not self.stage.asking:
            return motion.saved_html(self.model, system=self.system, caption=self._caption(), mark=self._mark)
        uri, words = motion.data_uri(self.stage.question.value), html.escape(self._words_now())
        picture = f'<img src="{uri}" alt="{words}" style="display:block;width:100%;height:auto">'
        look = f'class="{self._mark}" style="margin:0;max-width:{WIDTH}px"'
        return f"<figure {look}>{picture}<figcaption>{self._caption()}</figcaption></figure>"

    # --- inside -----------------------------------------------------------------------------------

    def _make_stage(self) -> FilmStage:
        return FilmStage(asking=self.prediction is not None)

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

    def _reveal(self) -> None:
        """The prediction is locked: say how it compares, show the film, and give the controls free."""
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
    """The film of the cut, live; `start` sets controls by key, such as `form="spiral-flute"`.

    With `predict` the panel first asks where the chips will go and why; the film comes when the answer is locked.
    """
    return ChipsPanel(predict=predict, **start)
