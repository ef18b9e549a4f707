"""The tap in the round: drawn in the browser from the packed skin, turned without the kernel; the film of its cut."""

from typing import Any

import anywidget
import traitlets

from tapkit import units
from tapkit.drawing.film import film as film_of
from tapkit.drawing.packed import light, packed
from tapkit.geometry.tap import Tap
from tapkit.messages import Number, _, said
from tapkit.operation import Operation
from tapkit.panels.script import script
from tapkit.panels.stage import give_way

PARTS = ("round/scene.js", "round/film.js", "round/hand.js")
HOME = {"turn": 0.0, "tilt": 18.0, "zoom": 1.0}


def round_words(system: str = "metric") -> dict[str, str]:
    """What stands on the view and is read out. Braces are filled in by the browser."""
    texts = {
        "kind": _("tap to turn: arrow keys turn it, plus and minus come closer, n and p go from tooth to tooth"),
        "side": _("Side"),
        "point": _("Point"),
        "face": _("Cutting face"),
        "home": _("Home"),
        "cut": _("Cut open"),
        "cutAt": _("Where the tap is cut open"),
        "cutOff": _("{depth} from the axis", **_filled("depth")),
        "scale": _("Load on the teeth"),
        "film": _("Film of the cut"),
        "play": _("Play"),
        "stop": _("Stop"),
        "byTooth": _("One tooth on"),
        "byTurn": _("One turn on"),
        "depth": _("Depth of the point"),
        "none": _(
            "This browser cannot draw the tap in the round (WebGL 2 is missing or switched off); "
            "the still picture and its sentence say the same."
        ),
        "tooth": _("tooth {number} of {count} on the chamfer, flute {flute}", **_filled("number", "count", "flute")),
        "whole": _("tooth {number}, flute {flute}: the first behind the chamfer", **_filled("number", "flute")),
        "now": _("{depth} deep, {turns} turns: torque {low} to {high}", **_filled("depth", "turns", "low", "high")),
        "room": _("chips want {least} to {most} % of their room", **_filled("least", "most")),
        "roomOne": _("chips want {most} % of their room", **_filled("most")),
        "torque": _("torque to expect"),
        "chipRoom": _("room wanted; dashed: room there is"),
        "straightOn": _("straight on to the point"),
        "cuts": _("tooth that cuts"),
        "guides": _("tooth that only guides"),
        "edge": _("cutting edge"),
        "full": _(
            "{depth} deep, {turns} turns: the room for chips is full; from here they jam, and a tap can break at "
            "any torque",
            **_filled("depth", "turns"),
        ),
    }
    return {key: said(text, system) for key, text in texts.items()}


def _filled(*names: str) -> dict[str, str]:
    return {name: f"{{{name}}}" for name in names}


def shown_units(system: str = "metric") -> dict[str, dict[str, Any]]:
    """How the film prints lengths and torques: factor from tapkit's unit, unit, decimals and decimal mark."""
    decimals = {"length": 1 if system == "metric" else 3, "torque": 1 if system == "metric" else 0}
    mark = said(Number(0.5))[1]
    return {
        kind: dict(factor=units.convert(1.0, kind, system), unit=units.unit_label(kind, system), decimals=n, mark=mark)
        for kind, n in decimals.items()
    }


class TapInRound(anywidget.AnyWidget):
    """A tap to turn with mouse, touch or keys. `show` gives it a tap; `view` tells how it is held, `plays` that the
    film stands open and runs, `inset` that the view on to the point stands beside it with the key of its signs,
    `second` that it waits for a picture beside it to be painted, `wants_still` that the browser cannot draw it and
    shows the `still` picture."""

    _esm = script(*PARTS, "round/widget.js")

    vertices = traitlets.Bytes().tag(sync=True)
    about = traitlets.Dict().tag(sync=True)
    light = traitlets.Bytes().tag(sync=True)
    light_about = traitlets.Dict().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)
    teeth = traitlets.List().tag(sync=True)
    steps = traitlets.List().tag(sync=True)
    film = traitlets.Dict().tag(sync=True)
    levels = traitlets.Bytes().tag(sync=True)
    units = traitlets.Dict().tag(sync=True)
    name = traitlets.Unicode().tag(sync=True)
    view = traitlets.Dict(HOME).tag(sync=True)
    ratio = traitlets.Float(0.8).tag(sync=True)
    inset = traitlets.Bool(False).tag(sync=True)
    second = traitlets.Bool(False).tag(sync=True)
    plays = traitlets.Bool(False).tag(sync=True)
    wants_still = traitlets.Bool(False).tag(sync=True)
    still = traitlets.Bytes().tag(sync=True)

    def __init__(self, **more: Any) -> None:
        table, how = light()
        super().__init__(light=table, light_about=how, words=round_words(), units=shown_units(), **more)

    def show(self, tap: Tap, *, name: Any, system: str = "metric", **more: Any) -> None:
        """Another tap, with `more` as `round_told` takes it."""
        self.put(round_told(tap, system, **more), said(name, system))

    def put(self, found: dict[str, Any], name: str) -> None:
        """Show what `round_told` gives; what has not changed is not sent again."""
        with self.hold_sync():
            self.name = name
            if self.vertices == found["vertices"]:
                found = {key: value for key, value in found.items() if key not in ("vertices", "about")}
            for key, value in found.items():
                setattr(self, key, value)
        give_way()


def round_told(
    tap: Tap, system: str = "metric", job: Operation | None = None, asking: bool = False, **more: Any
) -> dict[str, Any]:
    """What `TapInRound` is told of a tap, with what else it is to know (`teeth`, `steps`, `view`), and the film of a
    job it does, or where it is `asking` the still scene that begins it."""
    made = packed(tap)
    film = {}
    if job is not None:
        found = film_of(job, asking)
        film = dict(levels=found.pop("levels"), film=found)
    known = dict(units=shown_units(system), words=round_words(system), about=made.about, vertices=made.vertices)
    return known | film | more
