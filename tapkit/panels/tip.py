"""The tip panel: a tap in the round, to turn by hand and to regrind."""

from types import SimpleNamespace
from typing import Any

from matplotlib.figure import Figure

from tapkit.drawing.shaded import TapView, describe_shaded
from tapkit.drawing.tapview import SIZE, TapViewArtists, draw_tapview, update_tapview
from tapkit.messages import _
from tapkit.panels import common
from tapkit.panels.panel import PanelSpec
from tapkit.panels.roundstage import RoundPanel
from tapkit.panels.state import Tick
from tapkit.parameters import tap_from


def controls() -> tuple[Any, ...]:
    """Controls: the tap, then how it is held."""
    return (
        common.thread_pick(),
        common.form_pick(),
        *common.numbers("chamfer", "axial_rake", "flutes", "radial_rake", "core"),
        common.work_pick(),
        Tick(key="left", label=_("Left-hand thread")),
        *common.numbers("turn", "lean", "zoom"),
    )


def model_from(v: SimpleNamespace) -> TapView:
    """The tap and the view the controls stand for."""
    left = v.left and not v.thread.endswith("-LH")
    tap = tap_from(vars(v) | ({"thread": f"{v.thread}-LH"} if left else {}))
    return TapView(tap, v.turn, v.lean, v.zoom)


def held(view: TapView, system: str) -> dict[str, Any]:
    """What the view in the round is told."""
    hand = {"turn": view.turn, "tilt": view.tilt, "zoom": view.zoom}
    return {"tap": view.tap, "title": view.tap.name, "view": hand}


def draw(figure: Figure, view: TapView, system: str) -> TapViewArtists:
    """Both views and the key, for paper."""
    return draw_tapview(figure, view, system=system)


def describe(view: TapView, system: str) -> str:
    """The tap by its names, and what its tip tells."""
    return describe_shaded(view)


def spec() -> PanelSpec:
    """The tip panel as data."""
    return PanelSpec(
        title=_("The tip of a tap"),
        controls=controls(),
        main=("thread", "form", "chamfer", "axial_rake"),
        hidden=("turn", "lean", "zoom"),
        model_from=model_from,
        drawing="tip",
        draw=draw,
        update=update_tapview,
        describe=describe,
        cautions=lambda view: view.tap.cautions(),
        size=SIZE,
    )


class TipPanel(RoundPanel):
    """The tip panel; how the hand holds the tap is in its state."""

    def __init__(self, **start: Any) -> None:
        super().__init__(spec(), held, **start)
        self.stage.widget.inset = True
        self.stage.widget.observe(lambda change: self._held(change["new"]), "view")

    def _held(self, view: dict[str, float]) -> None:
        now = {"turn": view["turn"], "lean": view["tilt"], "zoom": view["zoom"]}
        if any(getattr(self.values, key) != value for key, value in now.items()):
            self.controls.set(**now)


def tip(**start: Any) -> TipPanel:
    """A tap to turn, live; `start` sets controls by key, such as `form="spiral-flute", chamfer=1.5`, and how it is
    held: `turn` and `tilt` [deg], `zoom`."""
    return TipPanel(**{"lean" if key == "tilt" else key: value for key, value in start.items()})
