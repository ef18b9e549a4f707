"""The stage: one figure that stays, shown as a picture that follows the sliders.

`draw` is called once, `update` changes its artists. What does not move is kept as a background; artists marked
"animated" are drawn on it anew (blitting), and the result goes as a PNG into an Image widget. Nothing here belongs
to pyplot. Moves that were overtaken by a later one are dropped; the last one is always drawn.
"""

import asyncio
import contextlib
import ctypes
import io
import itertools
import struct
import sys
import threading
import time
import zlib
from collections.abc import Callable
from typing import Any

import ipywidgets
import numpy as np
import traitlets
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from tapkit.drawing.matplotlibinternals import forget_renderers
from tapkit.drawing.pen import Pen

DPI = 96
"""Dots in an inch at laptop size, as browsers count them: a point on the sheet is a point on the screen."""

SHARP = 2
"""At rest a picture is drawn this much finer, for screens and paper with more dots."""

AHEAD_SECONDS = 0.06
"""How long nothing moves before the picture of the next step is made ahead; longer than a held key pauses."""
REST_SECONDS, REST_SHARE = 0.5, 4.0
"""How long nothing moves before the fine picture is made; at least this many times as long as making it took. So where
many share few cores, the fine pictures wait and the moves are answered."""

PNG_HEAD = b"\x89PNG\r\n\x1a\n"


class Picture(ipywidgets.Image):
    """An image whose tooltip names it; the browser's side asks every widget with a tooltip for a description."""

    description = traitlets.Unicode("").tag(sync=True)
    spots = traitlets.List().tag(sync=True)
    """Where teeth lie in it: number, words, and corners x, y from the upper left as shares of the picture."""


class Stage:
    """One picture for one drawing.

    Parameters: `draw(figure, model, system) → artists` makes its axes on an empty figure, once, and again when the
    system of units changes; `update(artists, model)` changes them; `size` of the picture in CSS pixels at laptop size.
    `widget` is the picture, `pictures` counts those made.
    """

    def __init__(
        self,
        draw: Callable[[Figure, Any, str], Any],
        update: Callable[[Any, Any], None],
        *,
        size: tuple[int, int] = (860, 480),
    ) -> None:
        self._draw, self._update, self.size = draw, update, size
        self.figure = Figure(figsize=(size[0] / DPI, size[1] / DPI), dpi=DPI)
        self.canvas = FigureCanvasAgg(self.figure)
        self.widget = Picture(format="png", layout=ipywidgets.Layout(max_width="100%", height="auto"))
        self.widget.add_class("tapkit-picture")
        self.artists: Any = None
        self.pictures = 0
        self._system, self._scale, self._alt = "", 0.0, ""
        self._model: Any = None
        self._figured: Any = None
        self._ahead: tuple[Any, bytes, list[list[Any]]] | None = None
        self._before: list[tuple[Pen, dict[str, Any]]] = []
        self._ground: Any = None
        self._renderer: Any = None
        self._overlap = False
        self._fine_seconds = 0.0
        self._tidying: asyncio.TimerHandle | None = None

    def show(self, model: Any, *, system: str = "metric", scale: float = 1.0, alt: str = "") -> None:
        """Draw the model now; `alt` says in words what the picture shows. ValueError leaves the last picture."""
        self._set_scale(scale)
        if system != self._system:
            self._ahead, self._before = None, []
            self.figure.clear()
            self.artists, self._system = self._draw(self.figure, model, system), system
            self._figured, self._overlap = model, _meet(self.figure)
        if self._ahead is None or self._ahead[0] is not model:
            self.prepare(model, system)
        _of, picture, spots = self._ahead
        self._model, self._ahead, self._before = model, None, []
        self._put(picture, alt, spots)

    def prepare(self, model: Any, system: str) -> None:
        """Make the picture of a model that may be shown next in the same `system`, while nobody waits for it."""
        self._ahead = None
        self._figure(model)
        self._ahead = model, png(self._compose()), spots_of(self.artists, self.figure)

    def _figure(self, model: Any) -> None:
        """Have the figure show a model; scales that charts keep are those of what was shown, not of what was made
        ahead."""
        if model is self._figured:
            return
        for pen, memory in self._before:
            pen.memory = dict(memory)
        self._before = [(pen, dict(pen.memory)) for pen in pens(self.artists)]
        self._figured = None
        self._update(self.artists, model)
        self._figured = model

    def tidy_soon(self) -> None:
        """Tidy when nothing has moved for a moment, and what was shown has been sent."""
        if self._tidying:
            self._tidying.cancel()
        with contextlib.suppress(RuntimeError):  # no loop
            self._tidying = asyncio.get_running_loop().call_later(REST_SECONDS, give_back)

    def sharpen(self) -> None:
        """Put the same picture again, finer."""
        if self.artists is None:
            return
        start = time.monotonic()
        self._put(self.still(), self._alt, self.widget.spots)
        self._fine_seconds = time.monotonic() - start
        self.tidy_soon()

    def rest(self) -> float:
        """How long nothing must move before the fine picture is made [s]."""
        return max(REST_SECONDS, REST_SHARE * self._fine_seconds)

    def still(self) -> bytes:
        """The present picture as a fine PNG."""
        self._figure(self._model)
        file, dpi = io.BytesIO(), self.figure.dpi * SHARP
        self.figure.savefig(file, dpi=dpi, format="rgba")
        self._renderer = None
        self.canvas.get_renderer()  # a small one again, in place of the large one that drew this
        forget_renderers(self.figure)
        width, height = (int(side * dpi) for side in self.figure.get_size_inches())
        return png(np.frombuffer(file.getbuffer(), np.uint8).reshape(height, width, 4))

    def _set_scale(self, scale: float) -> None:
        if scale != self._scale:
            self._scale, self._ahead = scale, None
            self.figure.set_dpi(DPI * scale)
            self.widget.width, self.widget.height = (str(round(s * scale)) for s in self.size)

    def _compose(self) -> np.ndarray:
        """Background and moving artists as pixels, shape (height, width, 4); axes where nothing moved stay."""
        if self.figure.stale or self._ground is None:
            self.canvas.draw()
            self._ground, self._renderer = np.array(self.canvas.buffer_rgba()), None
        renderer = self.canvas.get_renderer()
        whole, self._renderer = renderer is not self._renderer, renderer
        pixels = np.asarray(self.canvas.buffer_rgba())
        if whole:
            pixels[...] = self._ground
        for axes in self.figure.axes:
            moving = [a for a in axes.get_children() if a.get_animated()]
            if whole or self._overlap or any(a.stale for a in moving):
                self._draw_anew(axes, moving, pixels, whole)
        return pixels

    def _draw_anew(self, axes: Axes, moving: list[Artist], pixels: np.ndarray, cleared: bool) -> None:
        if not cleared:
            place = _place(axes, len(pixels))
            pixels[place] = self._ground[place]
        for artist in sorted(moving, key=lambda a: a.get_zorder()):
            if artist.get_visible():
                artist.draw(self._renderer)
            artist.stale = False

    def _put(self, picture: bytes, alt: str, spots: list[list[Any]]) -> None:
        self._alt = alt
        self.pictures += 1
        with self.widget.hold_sync():
            self.widget.value = picture
            self.widget.tooltip = alt
            self.widget.spots = spots
        give_way()


def pens(artists: Any) -> list[Pen]:
    """The pens among the artists."""
    if isinstance(artists, tuple | list):
        return [pen for one in artists for pen in pens(one)]
    return [artists] if isinstance(artists, Pen) else []


def spots_of(artists: Any, figure: Figure) -> list[list[Any]]:
    """What the pens among the artists have told of teeth, as `Picture.spots` has it."""
    found = []
    for pen in pens(artists):
        # not get_position(), which would have all drawn anew
        box = pen.ax.bbox.transformed(figure.transFigure.inverted())
        size, low = np.array([pen.width, pen.height]), np.array([box.x0, box.y0])
        for number, words, points in pen.memory.get("spots", ()):
            place = low + np.asarray(points) / size * (box.width, box.height)
            found.append([number, pen.say(words), np.round(np.abs([0, 1] - place), 4).ravel().tolist()])
    return found


def give_way() -> None:
    """Let the thread that sends have its turn, so that a picture is on its way before words and tables are made."""
    time.sleep(0.0003)


def give_back() -> None:
    """Return the memory a large picture needed for a moment to the system; on Linux, where the C library would keep it
    in every learner's kernel."""
    if sys.platform == "linux":
        with contextlib.suppress(AttributeError, OSError):  # only glibc has it
            ctypes.CDLL(None).malloc_trim(0)


def _place(axes: Axes, height: int) -> tuple[slice, slice]:
    """Rows and columns of the pixels of an axes in a picture of a height; none of its neighbours'."""
    left, low, right, high = (round(v) for v in axes.bbox.extents)
    return slice(height - high, height - low), slice(left, right)


def _meet(figure: Figure) -> bool:
    """Whether any two axes of a figure share pixels."""
    places = [_place(axes, 0) for axes in figure.axes]
    return any(
        all(a.start < b.stop and b.start < a.stop for a, b in zip(one, other))
        for one, other in itertools.combinations(places, 2)
    )


def png(rgba: np.ndarray) -> bytes:
    """Pixels of shape (height, width, 4), opaque, as a PNG with the fastest compression.

    >>> png(np.zeros((2, 3, 4), np.uint8))[:8]
    b'\\x89PNG\\r\\n\\x1a\\n'
    """
    height, width = rgba.shape[:2]
    rows = np.empty((height, 1 + 3 * width), np.uint8)
    rows[:, 0] = 0  # no filter: for flat colours it is both fastest and smallest
    for channel in range(3):  # six times as fast as all three at once
        rows[:, 1 + channel :: 3] = rgba[..., channel]
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = ((b"IHDR", head), (b"IDAT", zlib.compress(rows, 1)), (b"IEND", b""))
    return PNG_HEAD + b"".join(_chunk(name, data) for name, data in parts)


def _chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(data, zlib.crc32(name)))


ONE_AT_A_TIME = threading.RLock()
"""Only one thread draws. A page's messages may come in a thread beside the one that runs the cells ("subshells"), each
with an event loop of its own; the same figure must not be drawn by both."""


class Latest:
    """Does one thing soon, however often it was asked: asks that come before it is done count as one.

    `action` is done once the event loop has no further message at hand, `at_rest` when nothing was asked for `rest()`
    seconds, and `ahead`, what may be asked next, after a moment. Without an event loop (a plain script) the action is
    done at once, and there is no rest. Actions of all threads are done one at a time.
    """

    TURNS = 4
    """Turns of the event loop in which no ask came: then none is waiting."""
    PATIENCE = 0.04
    """But never later than this [s]."""

    def __init__(
        self,
        action: Callable[[], None],
        at_rest: Callable[[], None] | None = None,
        rest: Callable[[], float] = lambda: REST_SECONDS,
        ahead: Callable[[], None] | None = None,
    ) -> None:
        self._action, self._at_rest, self._rest, self._ahead = action, at_rest, rest, ahead
        self._asked = self._done = 0
        self._waiting = False
        self._timers: list[asyncio.TimerHandle] = []

    def ask(self) -> None:
        """Have the action done."""
        self._asked += 1
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self.do()
            return
        if not self._waiting:
            self._waiting = True
            loop.call_soon(self._turn, loop, loop.time() + self.PATIENCE, self._asked, self.TURNS)

    def do(self) -> None:
        """Do the action now, if it is still to be done."""
        with ONE_AT_A_TIME:
            if self._done != self._asked:
                self._done = self._asked
                self._action()
                self._wait_for_rest()

    def _turn(self, loop: asyncio.AbstractEventLoop, latest: float, seen: int, turns: int) -> None:
        if turns == 0 or loop.time() > latest:
            self._waiting = False
            self.do()
        elif seen != self._asked:
            loop.call_soon(self._turn, loop, latest, self._asked, self.TURNS)
        else:
            loop.call_soon(self._turn, loop, latest, seen, turns - 1)

    def _wait_for_rest(self) -> None:
        for timer in self._timers:
            timer.cancel()
        self._timers = []
        with contextlib.suppress(RuntimeError):  # no loop, no rest
            loop = asyncio.get_running_loop()
            for seconds, what in ((AHEAD_SECONDS, self._ahead), (self._rest(), self._at_rest)):
                if what:
                    self._timers.append(loop.call_later(seconds, self._if_still, what))

    def _if_still(self, what: Callable[[], None]) -> None:
        with ONE_AT_A_TIME:
            if self._done == self._asked:
                what()
