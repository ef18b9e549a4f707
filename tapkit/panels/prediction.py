"""Predict first, then see: where the chips will go and why, locked before anything moves."""

from __future__ import annotations

import html
from collections.abc import Callable

import ipywidgets

from tapkit.drawing import style
from tapkit.mechanics.chipflow import AHEAD, TO_SHANK, UNDECIDED, ChipFlow

WAYS = {TO_SHANK: "Toward the shank", AHEAD: "Ahead of the point", UNDECIDED: "No clear way"}
"""What one can predict."""
REASONS = {
    "lifted": "The face leans with the helix, and the edge's inclination lifts the curl",
    "driven": "The face is turned back, and the edge's inclination drives the curl before the tap",
    "neutral": "The edge has almost no inclination, so small things decide",
    "steep": "The chamfer is too steep for the turn of the face",
    "weight": "Chips fall by their own weight",
}
"""Why one can say so."""
LOOK = f"""
.tapkit-predict {{border: 2px solid {style.ACCENT}; border-radius: 6px; padding: 8px 12px; overflow: visible}}
.tapkit-predict .widget-radio, .tapkit-predict .widget-radio-box {{height: auto; width: 100%; overflow: visible}}
.tapkit-predict .widget-radio-box label {{height: auto; white-space: normal; font-size: 15px; line-height: 1.3;
  padding: 3px 0; margin: 0; width: 100%; display: flex; flex-direction: row-reverse; justify-content: flex-end;
  align-items: flex-start; gap: 7px}}
.tapkit-predict .widget-radio-box input {{float: none; flex: none; margin: 0}}
.tapkit-predict .widget-html, .tapkit-predict .widget-html-content {{height: auto; line-height: 1.35; font-size: 15px}}
.tapkit-predict button {{width: auto; height: auto; padding: 7px 12px; font-size: 15px; line-height: 1.1}}
"""


def right_reason(flow: ChipFlow) -> str:
    """Which of `REASONS` holds for a chip flow.

    >>> from tapkit.mechanics.chipflow import chip_flow
    >>> right_reason(chip_flow(radial_rake=10, axial_rake=-12, chamfer_angle=20))
    'steep'
    """
    if flow.direction == UNDECIDED:
        return "neutral" if abs(flow.inclination) < flow.band else "steep"
    return "lifted" if flow.direction == TO_SHANK else "driven"


class Prediction:
    """Two questions and a button that locks the answers; `on_lock` is called once. `way` and `reason` are the answers
    picked, None before."""

    def __init__(self, on_lock: Callable[[], None] = lambda: None) -> None:
        self.on_lock, self.is_locked = on_lock, False
        self._way = _radio([(words, way) for way, words in WAYS.items()], "Where will the chips go?")
        self._reason = _radio([(words, key) for key, words in REASONS.items()], "Why?")
        self._lock = ipywidgets.Button(description="Lock my prediction", tooltip="Lock my prediction", disabled=True)
        self._verdict = ipywidgets.HTML()
        for radio in (self._way, self._reason):
            radio.observe(lambda _: self._picked(), "value")
        self._lock.on_click(lambda _: self.lock())
        titles = [ipywidgets.HTML(f"<b>{words}</b>") for words in ("1. Where will the chips go?", "2. Why?")]
        parts = (titles[0], self._way, titles[1], self._reason, self._lock, self._verdict)
        self.widget = ipywidgets.VBox([ipywidgets.HTML(f"<style>{LOOK}</style>"), *parts])
        self.widget.add_class("tapkit-predict")

    @property
    def way(self) -> str | None:
        """The way predicted, as in `chipflow`."""
        return self._way.value

    @property
    def reason(self) -> str | None:
        """The reason given, a key of `REASONS`."""
        return self._reason.value

    def pick(self, way: str, reason: str) -> Prediction:
        """Answer both questions."""
        self._way.value, self._reason.value = way, reason
        return self

    def lock(self) -> None:
        """Keep the answers as they are; nothing where one is missing or all is locked already."""
        if self.is_locked or self.way is None or self.reason is None:
            return
        self.is_locked = True
        for widget in (self._way, self._reason, self._lock):
            widget.disabled = True
        self.on_lock()

    def tell(self, flow: ChipFlow) -> None:
        """Say under the answers how they compare with a chip flow."""
        self._verdict.value = verdict(self.way, self.reason, flow)

    def _picked(self) -> None:
        self._lock.disabled = self.is_locked or self.way is None or self.reason is None


def verdict(way: str | None, reason: str | None, flow: ChipFlow) -> str:
    """How a prediction compares with the computed way, as HTML."""
    good, right = way == flow.direction, right_reason(flow)
    colour = style.GOOD if good else style.WARN
    first = "As you said" if good else f"You said: {WAYS[way].lower()}. The model says"
    out = f'<p style="margin:6px 0;color:{colour}"><b>{first}: {html.escape(WAYS[flow.direction].lower())}.</b></p>'
    if reason == right:
        return f"{out}<p>Your reason is right.</p>"
    return f"{out}<p>The reason: {html.escape(REASONS[right][0].lower() + REASONS[right][1:])}.</p>"


def _radio(options: list[tuple[str, str]], name: str) -> ipywidgets.RadioButtons:
    radio = ipywidgets.RadioButtons(options=options, value=None, layout=ipywidgets.Layout(width="100%"))
    radio.tooltip = name
    return radio
