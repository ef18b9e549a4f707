"""The ways of single chips: born on a chamfer tooth, along the computed direction, through the flute, and out.

A chip leaves its edge along `ChipFlow.vector`. Once it curls, what is left of its speed is the part along the edge,
−sin η e: toward the shank on a right-hand flute, ahead on a spiral point, next to nothing on a straight flute. It then
rides in the turning flute, falls freely where it has room (as much slowed as all else), or lies where it stopped.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np

from tapkit.drawing import motion_heap
from tapkit.drawing.motion_view import MotionView, kind_of
from tapkit.mechanics import chipflow

GRAVITY = 9806.65
"""Standard acceleration of free fall [mm/s2] (ISO 80000-3)."""
TURN = 2 * math.pi
BORN = math.radians(-8)
"""Angle φ of the cutting edge when a chip is started: it has just come round the right side."""
GROW, SLIDE = 0.2, 0.16
"""Turns in which a chip grows on its tooth, and then slips to the middle of its flute."""


class Poses(NamedTuple):
    """A chip at several moments, arrays of shape (moments,): place x, z [mm] in the part's frame, angle on the screen
    [deg], stretch along and across itself, and whether it is in sight."""

    x: np.ndarray
    z: np.ndarray
    angle: np.ndarray
    long: np.ndarray
    wide: np.ndarray
    seen: np.ndarray


@dataclass(frozen=True)
class Way:
    """The way of one chip: cut by `tooth`, on `flute`, from time `born` [s] on; `luck` in −1…1 sets apart chips that
    nothing else tells apart."""

    view: MotionView
    tooth: int
    flute: int
    radius: float
    height: float
    born: float
    luck: float

    @property
    def _tap(self):
        return self.view.tap

    @cached_property
    def speed(self) -> float:
        """Speed of the chip on the face [mm per turn]."""
        return kind_of(self.view.job).speed * math.pi * self.view.major

    @cached_property
    def drift(self) -> float:
        """How far the chip is moved along the tap in a turn once it curls [mm], positive toward the shank.

        Chips that nothing drives clearly wander a little, either way.
        """
        flow = self.view.job.chip_flow
        if flow.direction == chipflow.UNDECIDED:
            return kind_of(self.view.job).wander * self.luck * self.speed
        edge = chipflow.chamfer_edge(**self.view.job.edge_angles)
        return -math.sin(math.radians(flow.flow_angle)) * float(edge[2]) * self.speed

    @cached_property
    def middle(self) -> float:
        """Radius of the middle of a flute's room."""
        return (self._tap.core_diameter + self.view.job.hole.diameter) / 4

    @property
    def winding(self) -> float:
        """How far the flute turns for each mm along the tap [rad/mm], upward and counter-clockwise."""
        return self.view.solid.twist

    @cached_property
    def _own_angle(self) -> float:
        s = self.view.solid
        return self.view.start_angle - float(s.edge(self.flute - 1, s.outer, self.height))

    def edge_angle(self, time: Any) -> Any:
        """Angle φ of the tooth's edge at a time [rad]."""
        return self._own_angle - TURN * time / self.view.turn

    def flute_angle(self, time: Any, height: Any) -> Any:
        """Angle φ of the middle of the flute at a height from the point and a time [rad]."""
        return self.view.start_angle - self.view.solid.middle(self.flute - 1, height) - TURN * time / self.view.turn

    def ride_angle(self, time: Any) -> Any:
        """Angle φ of the flute's middle where the chip rides at a time, going on evenly before and after [rad]."""
        turns = (time - self.born) / self.view.turn
        return self.flute_angle(time, self.height + self.drift * (turns - GROW))

    def in_flute(self, time: np.ndarray) -> Poses:
        """The chip while it is on its tooth or in its flute."""
        turns = np.maximum((time - self.born) / self.view.turn, 0.0)
        grown, slid = np.minimum(turns / GROW, 1.0), _ease((turns - GROW) / SLIDE)
        z = self.height + self.drift * np.maximum(turns - GROW, 0.0)
        on_edge = self.edge_angle(time)
        phi = (1 - slid) * on_edge + slid * self.flute_angle(time, z)
        r = self.radius + slid * (self.middle - self.radius)
        on_face = self.view.on_screen(self.view.job.chip_flow.vector, on_edge)
        right, down = (1 - slid) * on_face + slid * self.channel(phi)
        return Poses(
            r * np.cos(phi),
            self.view.tip(time) + z,
            np.degrees(np.arctan2(down, right)),
            0.06 + 0.94 * grown,
            0.45 + 0.55 * grown,
            (np.sin(phi) < 0.06) & (time >= self.born),
        )

    def channel(self, phi: Any) -> np.ndarray:
        """Direction on the screen in which the flute carries the chip, (right, down)."""
        way = math.copysign(1.0, self.drift)
        right = -self.view.hand * self.winding * self.middle * np.sin(phi) * way
        return np.stack([right, np.full_like(right, -way)])

    # --- after the flute ----------------------------------------------------------------------------

    @cached_property
    def leaves(self) -> float:
        """Time at which the chip leaves its flute, above the part or below the point; infinite where it stays."""
        d, rise = self.view.major, self.drift - (self.view.pitch if self.drift > 0 else 0.0)
        if self.drift > 0:
            way = 0.1 * d - self.view.tip(self.born + GROW * self.view.turn) - self.height
        else:
            way = -0.02 * d - self.height
        if way * rise <= 0:
            return math.inf
        turns = max(GROW + way / rise, GROW + SLIDE)
        if self.drift > 0:  # let it come out where it is seen
            later = turns + np.arange(24) / 24
            seen = self.in_flute(self.born + later * self.view.turn).seen
            turns = float(later[np.argmax(seen)])
        return self.born + turns * self.view.turn

    @cached_property
    def _start(self) -> Poses:
        return Poses(*(v[0] for v in self.in_flute(np.array([self.leaves]))))

    def out(self, time: np.ndarray) -> Poses:
        """The chip after it has left its flute."""
        return self._thrown(time) if self.drift > 0 else self._falling(time)

    def _thrown(self, time: np.ndarray) -> Poses:
        """Out at the top: over the edge of the hole, and down on to the part."""
        start, d = self._start, self.view.major
        share = np.clip((time - self.leaves) / (0.35 * self.view.turn), 0.0, 1.0)
        side = 1.0 if start.x >= 0 else -1.0
        far = (0.62 + 0.15 * abs(self.luck)) if self.luck * side > 0 else (1.15 + 0.2 * abs(self.luck))
        x = start.x + (side * d * far - start.x) * share
        z = start.z + (0.05 * d * (1 + abs(self.luck)) - start.z) * share + 0.9 * d * share * (1 - share)
        lying = (0.0 if self.luck * self.view.hand > 0 else 180.0) + 14 * self.luck
        return self._posed(x, z, start.angle + share * _turn_to(start.angle, lying))

    def _falling(self, time: np.ndarray) -> Poses:
        """Ahead of the point: a free fall, slowed like the rest, into the open or on to the heap below."""
        start = self._start
        life = np.maximum(time - self.leaves, 0.0) / self.view.slowed
        fall = GRAVITY / 2 * life**2 + abs(self.drift) * self.view.rpm / 60 * life
        share = np.minimum(fall / self.view.major, 1.0)
        return self._posed(start.x * (1 - 0.3 * share), start.z - fall, start.angle + 25 * self.luck * share)

    def _posed(self, x: np.ndarray, z: np.ndarray, angle: np.ndarray) -> Poses:
        one = np.ones_like(x)
        return Poses(x, z, angle, self._start.long * one, self._start.wide * one, one > 0)

    @cached_property
    def ends(self) -> float:
        """Time at which the chip has gone out of the picture or into the heap, or the end of it."""
        if math.isinf(self.leaves) or self.drift > 0:
            return self.view.loop
        view, long = self.view, kind_of(self.view.job).length * self.view.major
        low = (
            -view.below - long if view.job.hole.is_through else motion_heap.level_below(view, self.leaves) + 0.8 * long
        )
        times = (
            self.leaves + np.arange(1 + int(max(view.loop - self.leaves, 0) / (0.02 * view.turn))) * 0.02 * view.turn
        )
        gone = self._falling(times).z <= low
        return min(float(times[np.argmax(gone)]), view.loop) if gone.any() else view.loop


def ways(view: MotionView, most: int = 60) -> list[Way]:
    """Chips to show, in order of their birth: of the teeth in the metal, at most `most`, spread evenly."""
    found = list(_births(view))
    if len(found) > most:
        found = [found[int(i)] for i in np.linspace(0, len(found) - 1, most)]
    return [w for w in found if w.ends > 0.02 * view.loop]


def _births(view: MotionView) -> Iterator[Way]:
    """Each time a flute comes round, a few of its teeth that are in the metal, not the same ones each time."""
    each, luck, teeth = kind_of(view.job).each_pass, np.random.default_rng(7), _cutting(view)
    for n in range(-4, view.turns + 1):
        for flute in range(1, view.tap.flutes + 1):
            coming = [replace(way, born=way.born + n * view.turn) for way in teeth if way.flute == flute]
            ready = [way for way in coming if way.born < view.loop and _in_metal(way)]
            for i in range(min(each, len(ready))):
                way = ready[(2 * n + 3 * flute + i * max(len(ready) // each, 1)) % len(ready)]
                yield replace(way, luck=round(float(luck.uniform(-1, 1)), 3))


def _cutting(view: MotionView) -> list[Way]:
    """A chip of each tooth that cuts, started when the tooth first comes round the right side."""
    s, out = view.job.slices, []
    for k in np.flatnonzero(s.area > 0):
        way = Way(view, int(s.number[k]), int(s.flute[k]), float(s.radius[k]), float(s.position[k]), 0.0, 0.0)
        out.append(replace(way, born=(way.edge_angle(0.0) - BORN) / TURN % 1 * view.turn))
    return out


def in_metal(view: MotionView, time: float) -> list[Way]:
    """A chip of each tooth that is in the part at a time, started then."""
    return [way for way in (replace(way, born=time) for way in _cutting(view)) if _in_metal(way)]


def _in_metal(way: Way) -> bool:
    """Whether the middle of the tooth is in the part when the chip is started."""
    deep = way.view.depth_at(way.born) - way.height
    return deep > 0 and not (way.view.job.hole.is_through and deep > way.view.job.hole.depth)


def _ease(share: np.ndarray) -> np.ndarray:
    s = np.clip(share, 0.0, 1.0)
    return s * s * (3 - 2 * s)


def _turn_to(now: float, then: float) -> float:
    """Shortest turn from one angle to another [deg]."""
    return (then - now + 180) % 360 - 180
