"""The tap in the round: drawn in the browser from the packed skin, turned without the kernel."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import anywidget
import traitlets

from tapkit.drawing.packed import light, packed
from tapkit.geometry.tap import Tap
from tapkit.messages import _, said

HOME = {"turn": 0.0, "tilt": 18.0, "zoom": 1.0}


def words(name: Any, system: str = "metric") -> dict[str, str]:
    """What stands on the view and is read out; `name` says what it shows."""
    texts = {
        "name": name,
        "kind": _("tap to turn: arrow keys turn it, plus and minus come closer, n and p go from tooth to tooth"),
        "side": _("Side"),
        "point": _("Point"),
        "face": _("Cutting face"),
        "home": _("Home"),
        "cut": _("Cut open"),
        "cutAt": _("Where the tap is cut open"),
        "scale": _("Load on the teeth"),
        "none": _(
            "This browser cannot draw the tap in the round (WebGL 2 is missing or switched off); "
            "the still picture and its sentence say the same."
        ),
    }
    return {key: said(text, system) for key, text in texts.items()} | {
        "tooth": said(_("tooth {number}", number="{number}"))
    }


class TapInRound(anywidget.AnyWidget):
    """A tap to turn with mouse, touch or keys. `show` gives it another tap; `view` tells how it is held, `pointed` the
    tooth pointed at (0 for none)."""

    _esm = Path(__file__).with_suffix(".js")

    vertices = traitlets.Bytes().tag(sync=True)
    about = traitlets.Dict().tag(sync=True)
    light = traitlets.Bytes().tag(sync=True)
    light_about = traitlets.Dict().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)
    teeth = traitlets.List().tag(sync=True)
    steps = traitlets.List().tag(sync=True)
    view = traitlets.Dict(HOME).tag(sync=True)
    ratio = traitlets.Float(0.8).tag(sync=True)
    pointed = traitlets.Int(0).tag(sync=True)

    def __init__(self, tap: Tap, name: Any = "", **more: Any) -> None:
        table, how = light()
        super().__init__(light=table, light_about=how, words=words(name or tap.name), **more)
        self.show(tap)

    def show(self, tap: Tap, name: Any = None, system: str = "metric", **told: Any) -> None:
        """Another tap, with what is told of its teeth (`teeth`, `steps`)."""
        made = packed(tap)
        with self.hold_sync():
            if name is not None:
                self.words = words(name, system)
            for key, value in told.items():
                setattr(self, key, value)
            self.about = made.about
            self.vertices = made.vertices
