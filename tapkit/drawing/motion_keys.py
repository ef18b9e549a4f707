"""The ways of chips written as keyframes.

A chip that rides in a flute is three things in one another: its own place (mostly a straight line along the hole),
the turning of the flute (the same for all chips, each at its own moment), and its own turn and growth. Once it is out
of the flute it is a second element with a path of its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from tapkit.drawing.motion_chips import GROW, SLIDE, TURN, Poses, Way
from tapkit.drawing.motion_svg import SvgSheet, element, num
from tapkit.drawing.motion_view import MotionView

SAMPLES = 24
"""Moments of a chip worked out for each turn."""
RIDE_STEPS = 16
"""Moments of a flute's turn that are written down."""
TOLERANCE = 1.0
"""How far a chip may be off its true way between two written moments [px]."""
HIDDEN = "visibility:hidden"
BLINK = 2e-4
"""Share of the picture's time in which a chip appears or goes."""


@dataclass(frozen=True)
class Keys:
    """Writes ways into the sheet of one picture; `still` is the time of the still picture."""

    view: MotionView
    sheet: SvgSheet
    still: float
    _grown: dict[str, str] = field(default_factory=dict)
    _rides: dict[str, str] = field(default_factory=dict)

    def chip(self, way: Way, shape: str) -> str:
        """One chip from its birth to its end, as elements; nothing where it is out of sight in a still picture."""
        if not self.sheet.moving and way.born > self.still:
            return ""
        riding = self._riding(way, shape) if way.leaves > 0 else ""
        return riding + (self._free(way, shape) if way.leaves < self.view.loop else "")

    # --- in the flute ---------------------------------------------------------------------------------

    def _riding(self, way: Way, shape: str) -> str:
        begin, end = max(way.born, 0.0), min(way.leaves, self.view.loop)
        at, inside = np.array([self.still]), begin <= self.still <= end
        pose, ride = way.in_flute(at), self._ride(way, at)
        if not self.sheet.moving and not (inside and pose.seen[0]):
            return ""
        times = self._times(begin, end)
        own = self._own(times, self._beside(way, times), _place, np.array([1.0, 1.0]), begin, end)
        turned = _size((pose.angle[0] - ride[1][0], pose.long[0], pose.wide[0]))
        late = f";animation-delay:{num(way.born, 2)}s" if self.sheet.moving else ""
        use = element("use", href=shape, class_=self._growth(way), style=turned + late)
        return element(
            "g",
            element("g", use, class_=self._ride_class(way), style=self._ride_style(way, ride)),
            class_=f"chip {self._class}",
            style=f"{_place(self._beside(way, at)[0])};{_shown(inside)}{own}",
            data_tooth=way.tooth,
        )

    def _beside(self, way: Way, times: np.ndarray) -> np.ndarray:
        """Places of a riding chip [px], across from where its flute carries it, and down; shape (times, 2)."""
        pose = way.in_flute(times)
        across = self.view.scale * pose.x - self._ride(way, times)[0]
        return np.column_stack([self.view.hand * across, self.view.y(pose.z)])

    def _growth(self, way: Way) -> str:
        """Class of a chip's turn against its flute and its growth, counted from its birth: the same for all that go up,
        and for all that go down."""
        name = "bup" if way.drift > 0 else "bdown"
        if name in self._grown:
            return self._grown[name]
        times = way.born + np.linspace(0, (GROW + SLIDE) * self.view.turn, SAMPLES // 2)
        pose = way.in_flute(times)
        angles = np.degrees(np.unwrap(np.radians(pose.angle - self._ride(way, times)[1])))
        rows = np.column_stack([angles, pose.long, pose.wide])
        stops = [((times[i] - way.born) / self.view.loop, _size(rows[i])) for i in needed(rows * (0.3, 30.0, 15.0))]
        self._grown[name] = self.sheet.animate(name, "", [*stops, (1.0, _size(rows[-1]))], self.view.loop)
        return self._grown[name]

    @property
    def _class(self) -> str:
        """Class of what runs through its own keyframes once in the whole picture."""
        name = f"{self.sheet.tag}c"
        if self.sheet.moving:
            self.sheet.rule(f".{name}{{animation:{num(self.view.loop, 3)}s linear infinite}}")
        return name

    def _own(self, times, rows, write, weight, begin: float, end: float) -> str:
        """Keyframes of one chip's own, through the needed rows; it is in sight from `begin` to `end` only."""
        if not self.sheet.moving:
            return ""
        stops = [(times[i] / self.view.loop, write(rows[i])) for i in needed(rows * weight)]
        stops = in_sight(stops, begin / self.view.loop, end / self.view.loop)
        return f";animation-name:{self.sheet.keyframes(stops)}"

    def _times(self, begin: float, end: float) -> np.ndarray:
        return np.linspace(begin, end, max(int((end - begin) / self.view.turn * SAMPLES), 2) + 1)

    # --- the turning flute ----------------------------------------------------------------------------

    def _ride(self, way: Way, times: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Places across [px, right-hand] and angles on the screen [deg] that the turning flute gives a chip."""
        return self._carried(way, way.ride_angle(times))

    def _carried(self, way: Way, phi: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        right, down = way.channel(phi)
        return self.view.scale * way.middle * np.cos(phi), np.degrees(np.arctan2(down, right))

    def _ride_period(self, way: Way) -> float:
        """Time in which a riding chip comes round [s]: a little more than a turn where the flute winds."""
        return self.view.turn / (1 - way.drift * way.winding / TURN)

    def _ride_class(self, way: Way) -> str:
        """Class of the turning flute, one for chips that go up and one for those that go down."""
        name = "rup" if way.drift > 0 else "rdown"
        if name not in self._rides:
            phi = math.pi / 2 - TURN * np.linspace(0, 1, RIDE_STEPS + 1)
            x, angle = self._carried(way, phi)
            angle = np.degrees(np.unwrap(np.radians(angle)))
            looks = [f"{_turned(self.view.hand * x[i], angle[i])};opacity:{_front(p)}" for i, p in enumerate(phi)]
            stops = [(i / RIDE_STEPS, look) for i, look in enumerate(looks)]
            self._rides[name] = self.sheet.animate(name, "", stops, self._ride_period(way))
        return self._rides[name]

    def _ride_style(self, way: Way, now: tuple[np.ndarray, np.ndarray]) -> str:
        gone = (math.pi / 2 - way.ride_angle(0.0)) / TURN % 1
        still = f"{_turned(self.view.hand * now[0][0], now[1][0])};opacity:{_front(way.ride_angle(self.still))}"
        return f"{still};animation-delay:{num(-gone * self._ride_period(way), 2)}s" if self.sheet.moving else still

    # --- out of the flute -----------------------------------------------------------------------------

    def _free(self, way: Way, shape: str) -> str:
        begin, end = max(way.leaves, 0.0), min(way.ends, self.view.loop)
        inside = begin < self.still <= end
        if end <= begin or not (self.sheet.moving or inside):
            return ""
        times = self._times(begin, end)
        own = self._own(times, self._rows(way.out(times)), _loose, np.array([1.0, 1.0, 0.3]), begin, end)
        now = self._rows(way.out(np.array([min(max(self.still, begin), end)])))[0]
        return element("use", href=shape, class_=f"chip {self._class}", style=f"{_loose(now)};{_shown(inside)}{own}")

    def _rows(self, pose: Poses) -> np.ndarray:
        angles = np.degrees(np.unwrap(np.radians(pose.angle)))
        return np.column_stack([self.view.x(pose.x) - self.view.axis, self.view.y(pose.z), angles])


def _shown(inside: bool) -> str:
    return "visibility:visible" if inside else HIDDEN


def _front(phi: float) -> int:
    return int(math.sin(phi) < 0.05)


def _place(row) -> str:
    return f"transform:translate({num(row[0])}px,{num(row[1])}px)"


def _turned(x: float, angle: float) -> str:
    return f"transform:translate({num(x)}px)rotate({num(angle, 0)}deg)"


def _size(row) -> str:
    return f"transform:rotate({num(row[0], 0)}deg)scale({num(row[1], 2)},{num(row[2], 2)})"


def _loose(row) -> str:
    return f"transform:translate({num(row[0])}px,{num(row[1])}px)rotate({num(row[2], 0)}deg)"


def in_sight(stops: list[tuple[float, str]], begin: float, end: float) -> list[tuple[float, str]]:
    """The same keyframes, out of sight before `begin` and after `end`, shares of the whole time."""
    out = [
        (share, what + (";visibility:visible" if i in (0, len(stops) - 1) else ""))
        for i, (share, what) in enumerate(stops)
    ]
    if begin > 2 * BLINK:
        out = [(0.0, HIDDEN), (begin - BLINK, HIDDEN), *out]
    if end < 1 - 2 * BLINK:
        out += [(end + BLINK, HIDDEN), (1.0, HIDDEN)]
    return out


def needed(rows: np.ndarray) -> list[int]:
    """Indices of the rows from which straight lines make all others within `TOLERANCE`."""
    keep, todo = {0, len(rows) - 1}, [(0, len(rows) - 1)]
    while todo:
        a, b = todo.pop()
        if b - a < 2:
            continue
        share = (np.arange(a + 1, b) - a)[:, None] / (b - a)
        off = np.abs(rows[a + 1 : b] - (rows[a] + share * (rows[b] - rows[a]))).max(axis=1)
        worst = int(np.argmax(off))
        if off[worst] > TOLERANCE:
            middle = a + 1 + worst
            keep.add(middle)
            todo += [(a, middle), (middle, b)]
    return sorted(keep)
