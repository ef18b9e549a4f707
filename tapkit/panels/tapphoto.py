"""The photograph panel: a picture of one's own tap, marks pulled over it, and the tap that was measured.

The picture stays in the page. What comes here are the places of the marks; back go the lines of the measured tap, to
lie over the picture.
"""

from __future__ import annotations

import io
import math
from base64 import b64encode
from functools import cache
from types import SimpleNamespace
from typing import Any, NamedTuple

import anywidget
import ipywidgets
import numpy as np
import traitlets
from PIL import Image

from tapkit import drawer, setupline, tapphoto
from tapkit.drawing import photo, style
from tapkit.drawing.raster import Camera
from tapkit.geometry.fluteform import form_of
from tapkit.geometry.solid import Solid, cartesian, solid
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.messages import Sentence, _, said
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.markup import paragraph
from tapkit.panels.panel import Panel, PanelSpec, button
from tapkit.panels.script import script
from tapkit.panels.setupbox import drawer_file, look_everywhere
from tapkit.panels.stage import REST_SECONDS
from tapkit.panels.state import Pick, TextEntry
from tapkit.panels.tablepanel import TablePanel
from tapkit.panels.tapphotowords import describe, details
from tapkit.parameters import job_from
from tapkit.tapphoto import Measured, Scale

EXAMPLE = "M16x2 spiral-point 4 threads, 4 flutes, hook 8°, point −12°, core 7.2 mm | through 14 mm x 24 mm | C45"
"""A tap invented for this panel."""
MOST_ASIDE = math.radians(60)
"""A crest further round from the middle says little of where its edge runs."""
SIDE, END = (560, 560), (520, 520)
MAJOR, THREADS, OWN = "major", "threads", "own"


class Found(NamedTuple):
    """What the marks say: values of the side view and of the point as `Measured`, the tap, the job it would do,
    and what set the scale of the side view."""

    side: dict[str, Measured]
    point: dict[str, Measured]
    tap: Tap
    job: Operation
    scale: Scale


# --- the example ----------------------------------------------------------------------------------------


class Example(NamedTuple):
    """The example's pictures as data addresses, their sizes, and where its marks stand, by view."""

    pictures: dict[str, str]
    sizes: dict[str, tuple[int, int]]
    marks: dict[str, dict[str, tuple[float, float]]]


@cache
def photographed_example() -> Example:
    """The example's tap, photographed by our own renderer, and the marks as they should stand."""
    tap = setupline.parse(EXAMPLE).tap
    side = facing(tap, SIDE)
    end = Camera(tap, 0.0, 90.0, *END)
    pictures = {name: _data_uri(_taken(camera)) for name, camera in (("side", side), ("point", end))}
    return Example(pictures, {"side": SIDE, "point": END}, {"side": side_marks(side), "point": point_marks(end)})


def facing(tap: Tap, size: tuple[int, int], zoom: float = 2.2) -> Camera:
    """A camera square to the axis that sees a cutting edge as the outline of the chamfer: one whose face is turned away
    from below on, another up to the chamfer's end."""
    away = solid(tap).twist > 0
    height = 0.0 if away else tap.chamfer_length
    start, one = (_angle_seen(Camera(tap, turn, 0.0, *size, zoom), 0, height) for turn in (0.0, 1.0))
    wanted = (-1 if away else 1) * (1 if tap.thread.hand == "right" else -1) * math.pi / 2
    turn = (wanted - start) / math.remainder(one - start, 2 * math.pi)
    return Camera(tap, turn % 360, 0.0, *size, zoom)


def _turn_of(turn: float) -> tuple[float, float]:
    return math.cos(turn), math.sin(turn)


def side_marks(camera: Camera, turns: int = 5) -> dict[str, tuple[float, float]]:
    """Where the marks of the side view stand on what a camera `facing` the tap sees, about square to its axis. Where
    crests come to one outline alone the known length is that of the threads, else the diameter."""
    tap, s, seen = camera.tap, solid(camera.tap), 0.93 * camera.length
    up, right = np.array([0.0, 0.0, 1.0]), camera.rotation[0] * math.copysign(1.0, _angle_seen(camera, 0, 0.0))

    def beside(radius: float, z: float) -> np.ndarray:
        return radius * right + z * up

    front, (one, other) = _edge_marked(camera, seen)
    full = {side: _crests(s, side * right, seen, 0.995) for side in (1, -1)}
    best = 1 if not s.twist or len(full[1]) > len(full[-1]) else -1
    row = _crests(s, best * right, seen, 0.9)[-1 - turns :]
    pitch = [beside(best * s.outer, float(row[i])) for i in (0, -1)]
    line = [beside(best * s.outer, float(full[best][i])) for i in (0, -1)]
    both = [beside(side * s.outer, float(full[side][0])) for side in (1, -1) if len(full[side])]
    wide = len(both) > 1
    places = {
        "chamfer": [_on_edge(tap, 0, z) if tap.form.sign else beside(float(s.cone(z)), z) for z in _chamfer_marked(s)],
        "face": [_on_edge(tap, front, z) for z in (one, other)],
        "crest": both if wide and s.twist else line,
        "scale": both if wide else pitch,
        "pitch": pitch,
    }
    x, y = (
        s.outline(0.0, threaded=True, turn=float(s.middle(0, 0.0))) * (1, -1 if tap.thread.hand == "right" else 1)
    ).T
    ends = 0.95 * (x * right[0] + y * right[1])
    places["point"] = [beside(float(end), 0.0) for end in (ends.min(), ends.max())]
    return _projected(camera, {name: p for line, two in places.items() for name, p in zip(tapphoto.SIDE[line], two)})


def _crests(s: Solid, way: np.ndarray, seen: float, share: float) -> np.ndarray:
    """Where on one outline crests stand beyond the chamfer [mm from the point], the lowest first, that reach a share of
    the radius."""
    angle, pitch = math.atan2(way[1], way[0]) * (-1 if s.tap.thread.hand == "right" else 1), s.pitch
    ridge = float(s.ridge(angle))
    least, most = math.ceil((s.tap.chamfer_length - ridge) / pitch + 0.1), math.floor((seen - ridge) / pitch)
    crests = ridge + pitch * np.arange(least, most + 1)
    near = angle + np.radians([[-1.5], [0.0], [1.5]])
    return crests[s.radius(near, crests).max(axis=0) > share * s.outer]


def _on_edge(tap: Tap, flute: int, z: float) -> np.ndarray:
    """A place on the cutting edge of a flute, on chamfer or crests, in the tap's x, y, z [mm]."""
    s = solid(tap)
    r = min(s.outer, float(s.cone(z)))
    return cartesian(r, *_turn_of(float(s.edge(flute, r, z))), z, tap.thread.hand)


def _angle_seen(camera: Camera, flute: int, z: float) -> float:
    """How far to the right of the picture's middle, about the axis, the edge of a flute stands [rad]."""
    right, _up, near = camera.rotation @ _on_edge(camera.tap, flute, z)
    return math.atan2(right, near)


def _chamfer_marked(s: Solid) -> tuple[float, float]:
    """Middles of the lowest and the highest crest of the chamfer on the first edge, or the ends of the only one."""
    teeth = s.tooth(1 + s.flutes * np.arange(int(s.tap.chamfer_threads) + 2))[3]
    on = teeth[teeth < s.tap.chamfer_length]
    if len(on) > 1:
        return float(on[0]), float(on[-1])
    return 0.1 * s.tap.chamfer_length, 0.8 * s.tap.chamfer_length


def _edge_marked(camera: Camera, seen: float) -> tuple[int, tuple[float, float]]:
    """The flute whose cutting edge is marked on the front, and on which two crests, far apart: on a spiral point those
    of its slant."""
    tap, s = camera.tap, solid(camera.tap)

    def crests(flute: int) -> list[float]:
        teeth = s.tooth(1 + flute + s.flutes * np.arange(60))[3]
        low, high = (0.0, s.gash_end) if s.gash_end else (tap.chamfer_length, seen)
        on = teeth[(teeth > low) & (teeth < high)]
        return [float(z) for z in on if abs(_angle_seen(camera, flute, float(z))) < MOST_ASIDE]

    def good(flute: int) -> float:
        z = crests(flute)
        return -99.0 if len(z) < 2 else z[-1] - z[0] - abs(_angle_seen(camera, flute, (z[0] + z[-1]) / 2))

    best = max(range(tap.flutes), key=good)
    return best, (crests(best)[0], crests(best)[-1])


def point_marks(camera: Camera) -> dict[str, tuple[float, float]]:
    """Where the marks of the view of the point stand on what a camera straight on to it sees."""
    tap, s = camera.tap, solid(camera.tap)
    whole, tip = max(tap.chamfer_length, s.gash_end), tap.point_diameter / 2
    inner = max(s.flute.face_end, 0.6 * s.outer)

    def at(radius: float, turn: Any, z: float = 0.0) -> np.ndarray:
        return cartesian(radius, *_turn_of(float(turn)), z, tap.thread.hand)

    lands = [-((i * tap.flutes) // 3) for i in range(3)]
    rim = {f"rim_{i + 1}": at(s.outer, s.land(f, 0.3 + 0.1 * i, whole)[0], whole) for i, f in enumerate(lands)}
    end = at(tip, s.edge(0, tip, 0.0))
    more = {
        "end": end,
        "next": at(tip, s.edge(1, tip, 0.0)),
        "edge": end if s.twist else at(s.outer, s.edge(0, s.outer, whole), whole),
        "inner": at(inner, s.edge(0, inner, s.gash_end), s.gash_end),
        "core": at(s.core, s.middle(1, 0.0) + (s.flute.bottom_start + s.flute.bottom_end) / 2),
    }
    return _projected(camera, rim | more)


def _projected(camera: Camera, places: dict[str, Any]) -> dict[str, tuple[float, float]]:
    x, y, _near = camera.project(np.array([np.broadcast_to(p, 3) for p in places.values()], float).T)
    return {name: (round(float(a), 2), round(float(b), 2)) for name, a, b in zip(places, x, y)}


def _taken(camera: Camera) -> np.ndarray:
    how = dict(turn=camera.turn, tilt=camera.tilt, width=camera.width, height=camera.height, zoom=camera.zoom)
    return photo.render(camera.tap, **how)


def _data_uri(pixels: np.ndarray) -> str:
    out = io.BytesIO()
    Image.fromarray(pixels).convert("RGB").save(out, "JPEG", quality=85)
    return "data:image/jpeg;base64," + b64encode(out.getvalue()).decode()


# --- the page's side ------------------------------------------------------------------------------------

LINES = {
    "side": (
        ("scale", _("known length"), style.FLUTES[1], (2, 3)),
        ("crest", _("crests"), style.ACCENT, ()),
        ("chamfer", _("chamfer"), style.WARN, ()),
        ("face", _("cutting edge"), "#7b2d8e", (8, 4)),
        ("pitch", _("pitch"), style.INK, (9, 3, 2, 3)),
        ("point", _("end face"), style.FLUTES[1], ()),
    ),
    "point": (
        ("rim", _("rim"), style.ACCENT, ()),
        ("end", _("edges on the end face"), style.INK, ()),
        ("hook", _("cutting face"), style.WARN, ()),
        ("core", _("bottom of a flute"), "#7b2d8e", ()),
    ),
}
"""Lines by view: name, words, colour, dashes."""

LOOSE = ("rim", "end")
"""Marks without a line from one to the other."""

WORDS = {
    "side": _("From the side"),
    "point": _("Onto the point"),
    "choose": _("Your picture:"),
    "over": _("drawing over it"),
    "help": _(
        "Drop a picture on this one, or choose it: it stays on your machine. Pull each mark to its place; the arrow "
        "keys move it by a pixel, with Shift by ten. Turn the tap so that a cutting edge is the chamfer's outline. "
        "Mark crests where they meet a cutting edge: two on the chamfer, two on the front (on a spiral point those of "
        "its slant); on a helical flute the crests furthest out. Where no height shows the diameter whole, the known "
        "length is as many threads as are marked."
    ),
    "keys": _("arrow keys move this mark"),
    "no_picture": _("That is no picture this browser can show; take a JPEG or a PNG."),
}


class PhotoMarks(anywidget.AnyWidget):
    """The picture with its marks in the page; `fresh` counts how often the example was put back."""

    _esm = script("tapphoto.js")
    pictures = traitlets.Dict().tag(sync=True)
    sizes = traitlets.Dict().tag(sync=True)
    marks = traitlets.Dict().tag(sync=True)
    over = traitlets.Dict().tag(sync=True)
    lines = traitlets.Dict().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)
    fresh = traitlets.Int(0).tag(sync=True)


class PhotoStage:
    """What `Stage` is to a matplotlib figure: shows the measured tap over the picture."""

    def __init__(self) -> None:
        found, keys = photographed_example(), {"side": tapphoto.SIDE, "point": tapphoto.POINT}
        spec = {
            view: [
                dict(label=said(text), keys=keys[view][name], colour=colour, dash=dash, loose=name in LOOSE)
                for name, text, colour, dash in lines
            ]
            for view, lines in LINES.items()
        }
        self.widget = PhotoMarks(
            pictures=found.pictures,
            sizes=found.sizes,
            marks=found.marks,
            over={"side": [], "point": []},
            lines=spec,
            words={key: sentence.said() for key, sentence in WORDS.items()},
        )
        self.pictures = 0

    def show(self, model: Found, *, system: str = "metric", scale: float = 1.0, alt: str = "") -> None:
        """Lay the measured tap over the picture."""
        marks, left = self.widget.marks, model.tap.thread.hand == "left"
        seen = {view: tapphoto.mirrored(group) if left else group for view, group in marks.items()}
        over = {
            "side": tapphoto.side_over(seen["side"], model.tap, model.scale),
            "point": tapphoto.point_over(seen["point"], model.tap, model.point["scale"].value),
        }
        sign = -1 if left else 1
        self.widget.over = {view: [[(sign * x, y) for x, y in line] for line in lines] for view, lines in over.items()}
        self.widget.layout.width, self.widget.layout.max_width = f"{round(500 * scale)}px", "100%"
        self.pictures += 1

    def start_again(self) -> None:
        """The example with its marks."""
        self.widget.marks = photographed_example().marks
        self.widget.fresh += 1

    def sharpen(self) -> None:
        """The browser sharpens by itself."""

    def rest(self) -> float:
        """How long nothing must move before `sharpen` is called [s]."""
        return REST_SECONDS

    def tidy_soon(self) -> None:
        """Nothing is kept here."""

    def still(self) -> bytes:
        """The example's side view, for paper."""
        out = io.BytesIO()
        camera = facing(setupline.parse(EXAMPLE).tap, SIDE)
        Image.fromarray(_taken(camera)).convert("RGB").save(out, "PNG")
        return out.getvalue()


# --- the panel ------------------------------------------------------------------------------------------


class PhotoPanel(TablePanel):
    """The photograph panel; its marks live in the page's widget."""

    def __init__(self, **start: Any) -> None:
        super().__init__(spec(self), details, **start)
        self.stage.widget.observe(lambda change: self._moved(), "marks")

    def reset(self) -> Panel:
        """The example, its marks and all settings as they were."""
        self.stage.start_again()
        return super().reset()

    def found(self, v: SimpleNamespace) -> Found:
        """What the marks say with the values of the controls."""
        marks, thread = self.stage.widget.marks, Thread.parse(v.thread)
        known = {MAJOR: thread.major, THREADS: v.turns * thread.pitch}.get(v.known, v.span)
        off = dict(pixel=v.pixel, tilt=v.lens)
        if thread.hand == "left":
            marks = {view: tapphoto.mirrored(group) for view, group in marks.items()}
        scale = Scale(known, v.turns, v.known == MAJOR)
        side, point = tapphoto.tap_with_errors(marks, scale, major=thread.major, form=form_of(v.form), **off)
        plain = ({key: one.value for key, one in group.items()} for group in (side, point))
        tap = tapphoto.tap_of(thread, v.form, *plain)
        bore = {"hole": max(thread.major - thread.pitch, tap.point_diameter + 0.05), "depth": 1.5 * thread.major}
        return Found(side, point, tap, job_from(values_of_tap(tap) | bore), scale)

    def put_in_drawer(self) -> Sentence:
        """Put the measured tap into the drawer under the name in the box; ValueError in a sentence where it cannot."""
        name = self.values.name.strip()
        if not name:
            raise ValueError(_("the tap has no name yet; write one into the box, such as A7"))
        if self.model is None or self.problem:
            raise ValueError(_("there is no tap to put away until the marks make one"))
        values = values_of_tap(self.model.tap)
        columns = {"chamfer": "chamfer", "flutes": "flutes", "radial_rake": "radial rake", "axial_rake": "axial rake"}
        cells = {head: f"{values[key]:g}" for key, head in columns.items()}
        cells |= {key.replace("_", " "): f"{values[key]:g} mm" for key in ("core", "point_diameter")}
        own = dict(name=name, thread=self.model.tap.thread.designation, form=self.model.tap.flute_form)
        drawer.put(drawer_file(), own | cells | {"condition": said(_("measured from a photograph"))})
        look_everywhere()
        return _("{name} lies in my drawer, {file}.", name=name, file=str(drawer_file()))

    def _make_stage(self) -> Any:
        return PhotoStage()

    def _moved(self) -> None:
        self._shown = None
        self._latest.ask()

    def _lay_out(self) -> ipywidgets.Widget:
        """The table beside the picture, so that all is on one screen."""
        panel = super()._lay_out()
        beside = ipywidgets.Box([self.stage.widget, self.table]).add_class("tapkit-beside")
        view = panel.children[2]
        view.children = (beside, *view.children[1:])
        panel.children = panel.children[:-1]
        return panel

    def _switches(self) -> ipywidgets.Widget:
        row = super()._switches()
        self._put = ipywidgets.HTML()
        put = button(_("Put it in my drawer"), _("So that every panel offers it"), self._put_and_tell)
        row.children = (*row.children, put, self._put)
        row.children[0].on_click(lambda _button: self.stage.start_again())
        return row

    def _put_and_tell(self) -> None:
        try:
            told = self.put_in_drawer()
        except ValueError as error:
            told = _("Not put away: {why}.", why=error.args[0])
        self._put.value = paragraph(told, self.system)


def values_of_tap(tap: Tap) -> dict[str, Any]:
    """A tap by the keys of the table `parameters`."""
    keys = ("flutes", "radial_rake", "axial_rake", "core", "point_diameter")
    found = {key: getattr(tap, {"core": "core_diameter"}.get(key, key)) for key in keys}
    return found | {"thread": tap.thread.designation, "form": tap.flute_form, "chamfer": tap.chamfer_threads}


def spec(panel: PhotoPanel) -> PanelSpec:
    """The photograph panel as data."""
    threads, own = _("as many threads as are marked"), _("a length of my own")
    known = ((_("the major diameter"), MAJOR), (threads, THREADS), (own, OWN))
    return PanelSpec(
        title=_("A tap measured from a photograph"),
        controls=(
            common.thread_pick("M16x2"),
            common.form_pick("spiral-point"),
            TextEntry(key="name", label=_("Name in my drawer"), hint=_("such as A7")),
            Pick(
                key="known",
                label=_("The known length is"),
                options=known,
                start=MAJOR,
                help=_("the length that sets the scale of the picture: one you know or have measured"),
            ),
            *common.numbers("span", "turns", "pixel", "lens"),
        ),
        main=("thread", "form", "name"),
        model_from=panel.found,
        draw=lambda *_: None,
        update=lambda *_: None,
        describe=describe,
        cautions=lambda model: model.tap.cautions(),
        size=SIDE,
    )


def measure_tap(**start: Any) -> PhotoPanel:
    """Measure a tap from a photograph, live; `start` sets controls by key, such as `thread="M8"`."""
    return PhotoPanel(**start)
