"""The tip panel: a shaded tap to turn, tilt and regrind."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from matplotlib.figure import Figure

from tapkit.drawing.tapview import SIZE, TapView, TapViewArtists, describe_tapview, draw_tapview, update_tapview
from tapkit.geometry.fluteform import flute_forms, form_of
from tapkit.geometry.proportions import usual_core, usual_flutes
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.panels import common
from tapkit.panels.controls import Pick, Slider, Tick
from tapkit.panels.panel import Panel, PanelSpec

FORM_WORDS = tuple((form.printed.replace("-", " "), form.key) for form in flute_forms())


def _thread(v: SimpleNamespace) -> Thread:
    return Thread.parse(v.thread)


def controls() -> tuple[Any, ...]:
    """Controls: the tap, then how it is held."""
    return (
        common.thread_pick(),
        Pick(key="form", label="Flute form", options=FORM_WORDS, start="spiral-point"),
        common.chamfer_slider(),
        Slider(
            key="flutes", label="Flutes", start=lambda v: usual_flutes(_thread(v), v.form), low=2, high=6, step=1,
            whole=True, follows=("thread", "form"),
        ),
        Slider(
            key="axial_rake", label="Axial rake", kind="angle", start=lambda v: form_of(v.form).axial_rake,
            low=lambda v: form_of(v.form).axial_rakes[0], high=lambda v: form_of(v.form).axial_rakes[1],
            step=1, follows=("form",),
        ),
        common.radial_rake_slider(),
        Slider(
            key="core", label="Core diameter", kind="length",
            start=lambda v: usual_core(_thread(v), v.form, v.flutes), low=lambda v: 0.25 * _thread(v).major,
            high=lambda v: 0.7 * _thread(v).major, step=0.05, follows=("thread", "form", "flutes"),
        ),
        Tick(key="left", label="Left-hand thread"),
        Slider(key="turn", label="Turn", kind="angle", start=0, low=-180, high=180, step=2),
        Slider(key="tilt", label="Tilt toward the point", kind="angle", start=18, low=-60, high=90, step=1),
        Slider(key="zoom", label="Closer", unit="times", start=1.0, low=1.0, high=4.0, step=0.1),
    )  # fmt: skip


def model_from(v: SimpleNamespace) -> TapView:
    """The tap and the view the controls stand for."""
    tap = Tap.make(
        f"{v.thread}-LH" if v.left else v.thread,
        v.form,
        v.chamfer,
        flutes=v.flutes,
        axial_rake=v.axial_rake,
        radial_rake=v.radial_rake,
        core_diameter=v.core,
    )
    return TapView(tap, v.turn, v.tilt, v.zoom)


def draw(figure: Figure, view: TapView, system: str) -> TapViewArtists:
    """Both views and the key."""
    return draw_tapview(figure, view, system=system)


def describe(view: TapView, system: str) -> str:
    """The tap by its names, and what its tip tells."""
    return describe_tapview(view)


def spec() -> PanelSpec:
    """The tip panel as data."""
    return PanelSpec(
        title="The tip of a tap",
        controls=controls(),
        model_from=model_from,
        draw=draw,
        update=update_tapview,
        describe=describe,
        cautions=lambda view: view.tap.cautions(),
        size=SIZE,
    )


def tip(**start: Any) -> Panel:
    """A shaded tap, live; `start` sets controls by key, such as `form="spiral-flute", chamfer=1.5, tilt=60`."""
    panel = Panel(spec(), **start)
    panel.listen(_put_away)
    _put_away(panel)
    return panel


def _put_away(panel: Panel) -> None:
    """A straight flute has no axial rake to set."""
    layout = panel.controls.views["axial_rake"].widget.layout
    shown = None if form_of(panel.values.form).sign else "none"
    if layout.display != shown:
        layout.display = shown
