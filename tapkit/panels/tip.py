"""The tip panel: a shaded tap to turn, tilt and regrind."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from matplotlib.figure import Figure

from tapkit.drawing.tapview import SIZE, TapView, TapViewArtists, describe_tapview, draw_tapview, update_tapview
from tapkit.messages import _
from tapkit.panels import common
from tapkit.panels.panel import Panel, PanelSpec
from tapkit.panels.state import Tick
from tapkit.parameters import tap_from


def controls() -> tuple[Any, ...]:
    """Controls: the tap, then how it is held."""
    return (
        common.thread_pick(),
        common.form_pick(),
        *common.numbers("chamfer", "axial_rake", "flutes", "radial_rake", "core"),
        Tick(key="left", label=_("Left-hand thread")),
        *common.numbers("turn", "lean", "zoom"),
    )


def model_from(v: SimpleNamespace) -> TapView:
    """The tap and the view the controls stand for."""
    left = v.left and not v.thread.endswith("-LH")
    tap = tap_from(vars(v) | ({"thread": f"{v.thread}-LH"} if left else {}))
    return TapView(tap, v.turn, v.lean, v.zoom)


def draw(figure: Figure, view: TapView, system: str) -> TapViewArtists:
    """Both views and the key."""
    return draw_tapview(figure, view, system=system)


def describe(view: TapView, system: str) -> str:
    """The tap by its names, and what its tip tells."""
    return describe_tapview(view)


def spec() -> PanelSpec:
    """The tip panel as data."""
    return PanelSpec(
        title=_("The tip of a tap"),
        controls=controls(),
        main=("thread", "form", "chamfer", "axial_rake", "turn", "lean"),
        model_from=model_from,
        draw=draw,
        update=update_tapview,
        describe=describe,
        cautions=lambda view: view.tap.cautions(),
        size=SIZE,
    )


def tip(**start: Any) -> Panel:
    """A shaded tap, live; `start` sets controls by key, such as `form="spiral-flute", chamfer=1.5, lean=60`."""
    return Panel(spec(), **start)
