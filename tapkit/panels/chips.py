"""The chips panel: the film of the cut, the tap turning in its hole and where its chips go; or first the question, and
then the film.

The browser plays the film by itself; Play and Stop work with no kernel. While a control moves, the film stands at its
depth and shows the change; then it goes on.
"""

from dataclasses import replace
from typing import Any

import ipywidgets
from markupsafe import Markup
from matplotlib.figure import Figure

from tapkit.drawing import filmwords
from tapkit.drawing.chipway import SIZE, draw_chipway, update_chipway
from tapkit.drawing.toothcolours import said_teeth
from tapkit.messages import _
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.panel import PanelSpec
from tapkit.panels.prediction import Prediction, on_paper
from tapkit.panels.roundstage import RoundPanel, RoundStage, film_told
from tapkit.setupline import line


def draw(figure: Figure, job: Operation, system: str, asking: bool = False) -> Any:
    """The still of the cut, for paper."""
    return draw_chipway(figure.add_axes((0, 0, 1, 1)), job, system=system, asking=asking)


class ChipsPanel(RoundPanel):
    """The chips panel; with `predict` it asks first, and shows film and controls when the prediction is locked."""

    def __init__(self, *, predict: bool = False, **start: Any) -> None:
        self.prediction = Prediction(self._reveal) if predict else None
        own = replace(spec(), draw=self._draw, describe=self._describe, cautions=self._cautions)
        super().__init__(own, self._shown_now, **start)
        if self.prediction and self.model:
            self.prediction.take_up(f"chips {line(self.model)}")

    @property
    def asking(self) -> bool:
        """Whether a prediction is still to be made: nothing that tells is shown or sent."""
        return self.prediction is not None and not self.prediction.is_locked

    def _still_caption(self) -> Markup:
        """Before the prediction with its questions."""
        return self._caption() + (on_paper() if self.asking else "")

    # --- inside -----------------------------------------------------------------------------------

    def _shown_now(self, job: Operation, system: str) -> dict[str, Any]:
        words = [] if self.asking else said_teeth(job, system)
        return film_told(job) | {"teeth": words, "asking": self.asking}

    def _draw(self, figure: Figure, job: Operation, system: str) -> Any:
        return draw(figure, job, system, self.asking)

    def _describe(self, job: Operation, system: str) -> Any:
        return filmwords.question(job) if self.asking else filmwords.describe_film(job)

    def _cautions(self, job: Operation) -> Any:
        return () if self.asking else job.cautions

    def _make_stage(self) -> RoundStage:
        return RoundStage(self._told, self.spec.draw, self.spec.size, plays=True)

    def _lay_out(self) -> ipywidgets.Widget:
        panel = super()._lay_out()
        panel.add_class("tapkit-chips")
        look, self._left, right, *rest = panel.children
        if self.prediction:
            self._asked = ipywidgets.VBox([self.prediction.widget]).add_class("tapkit-controls")
            panel.children = (look, self._asked, right, *rest)
        return panel

    def _reveal(self) -> None:
        """The prediction is locked: say how it compares, show the film, and give the controls free."""
        self.prediction.tell(self.model.chip_flow)
        self._show_anew()
        self._asked.children = (self.prediction.widget, *self._left.children)


def spec() -> PanelSpec:
    """The chips panel as data."""
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
        drawing="chips",
        draw=draw,
        update=update_chipway,
        describe=lambda job, system: filmwords.describe_film(job),
        cautions=lambda job: job.cautions,
        size=SIZE,
    )


def chips(*, predict: bool = False, **start: Any) -> ChipsPanel:
    """The film of the cut, live; `start` sets controls by key, such as `form="spiral-flute"`.

    With `predict` the panel first asks where the chips will go and why; the film comes when the answer is locked.
    """
    return ChipsPanel(predict=predict, **start)
