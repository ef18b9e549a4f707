"""What the moving picture shows: how large, how far along the hole, and how slowed.

The picture shows the last turns of the cut in the frame of the part. z counts in mm from the top face, positive
toward the shank; x in mm from the axis, to the right. A right-hand tap seen from the front turns from right to left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np

from tapkit import tables
from tapkit.geometry.solid import Solid, solid
from tapkit.geometry.tap import Tap
from tapkit.mechanics import toothload, torque
from tapkit.operation import Operation

WIDTH, HEIGHT = 860, 600
FRAME = (10, 10, 530, 580)
"""The main picture: left, top, width, height [px]."""


def setting(name: str) -> float:
    """A choice of this drawing, from the table `motion`."""
    return next(float(r["value"]) for r in tables.rows("motion") if r["name"] == name)


class MotionKind(NamedTuple):
    """How chips of one kind are drawn, a row of the table `motion_chips`."""

    name: str
    speed: float
    length: float
    width: float
    each_pass: int
    wander: float
    where: str
    leave: str


def kind_of(job: Operation) -> MotionKind:
    """Kind of the chips of a job's workpiece."""
    row = next(r for r in tables.rows("motion_chips") if r["kind"] == job.workpiece.chips)
    numbers = (float(row[k]) for k in ("speed", "length", "width"))
    return MotionKind(row["kind"], *numbers, int(row["each_pass"]), float(row["wander"]), row["where"], row["leave"])


@dataclass(frozen=True)
class MotionView:
    """Scale and place of everything, from one job; lengths mm, places px.

    Parameters: `job`; `seconds` one turn takes on the screen, or None for the usual slowing.
    """

    job: Operation
    seconds: float | None = None

    @cached_property
    def tap(self) -> Tap:
        """The tap as it cuts, after a regrind if there was one."""
        return toothload.reground(self.job.tap, self.job.faults)

    @cached_property
    def solid(self) -> Solid:
        """Its shape."""
        return solid(self.tap, self.job.faults.first_tooth)

    # --- time ---------------------------------------------------------------------------------------

    @property
    def speed(self) -> float:
        """Cutting speed shown [m/min]; a job without one is shown at the drawing's own."""
        return self.job.speed or setting("speed_if_none")

    @property
    def rpm(self) -> float:
        """Turns per minute: 1000 v_c / (π D)."""
        return 1000 * self.speed / (math.pi * self.tap.thread.major)

    @cached_property
    def slowed(self) -> float:
        """How many times slower than life. It hangs on the tap's size alone, so twice the speed looks twice as fast."""
        if self.seconds:
            return self.seconds * self.rpm / 60
        usual = 60 * math.pi * self.tap.thread.major / (1000 * setting("speed_if_none"))
        wanted = setting("turn_seconds") / usual
        return min((m * 10.0**e for e in range(-1, 5) for m in (1, 2, 4)), key=lambda n: abs(math.log(n / wanted)))

    @cached_property
    def turn(self) -> float:
        """Seconds one turn takes on the screen."""
        return 60 / self.rpm * self.slowed

    @cached_property
    def turns(self) -> int:
        """Whole turns shown before the picture begins again."""
        return int(np.clip((self.last + self.pitch / 2) // self.pitch, 2, setting("turns")))

    @property
    def loop(self) -> float:
        """Seconds until the picture begins again."""
        return self.turns * self.turn

    # --- the hole, as deep as it is drawn -----------------------------------------------------------

    @property
    def pitch(self) -> float:
        """Pitch of the thread."""
        return self.tap.thread.pitch

    @property
    def major(self) -> float:
        """Major diameter."""
        return self.tap.thread.major

    @cached_property
    def last(self) -> float:
        """Depth of the point when the picture ends, below the top face; soon after the chips have filled all room."""
        hole, tap = self.job.hole, self.tap
        deepest = torque.deepest_point(self.job.slices, hole, self.pitch)
        last = (
            min(deepest, hole.depth + setting("through_chamfer") * tap.chamfer_length) if hole.is_through else deepest
        )
        return min(last, self.full + setting("after_full") * self.pitch)

    @property
    def full(self) -> float:
        """Depth at which the chips have filled all room they have, or infinity."""
        packs = self.job.chip_room.packs_at
        return math.inf if packs is None else packs

    @cached_property
    def _left_out(self) -> tuple[float, float]:
        """Length left out of a deep part, in whole pitches so that threads still meet, and how much of it is above the
        point: all, where the point is far enough below the top face; none, where it is far enough above the floor."""
        over = max(self.job.hole.depth - setting("deepest") * self.major, 0.0)
        length, clear = math.ceil(over / self.pitch - 1e-9) * self.pitch, setting("break_clear") * self.major
        if self.first >= length + clear:
            return length, length
        return (length, 0.0) if self.last <= self.job.hole.depth - length - clear else (0.0, 0.0)

    @property
    def hidden(self) -> float:
        """Length left out of a deep part between two break lines."""
        return self._left_out[0]

    @property
    def passed(self) -> float:
        """Length left out above the point."""
        return self._left_out[1]

    @property
    def depth(self) -> float:
        """Depth of the hole as drawn."""
        return self.job.hole.depth - self.hidden

    @property
    def first(self) -> float:
        """Depth of the point when the picture starts."""
        return self.last - self.turns * self.pitch

    def tip(self, time: float) -> float:
        """Height z of the point as drawn at a time [s]; negative in the hole."""
        return self.passed - self.depth_at(time)

    def depth_at(self, time: float) -> float:
        """True depth of the point at a time."""
        return self.first + time / self.turn * self.pitch

    def angle(self, flute: int, time: float) -> float:
        """Angle φ of a flute's edge at the untwisted end at a time [rad]; 0 at the right, −π/2 toward the viewer."""
        return 2 * math.pi * ((flute - 1) / self.tap.flutes - time / self.turn) + self.start_angle

    @property
    def start_angle(self) -> float:
        """Angle of flute 1 when the picture starts [rad], well to the front; the part's grooves follow from it."""
        return math.radians(-30)

    # --- places on the screen -----------------------------------------------------------------------

    @cached_property
    def above(self) -> float:
        """Height shown above the top face."""
        return setting("above") * self.major

    @cached_property
    def below(self) -> float:
        """Lowest place shown, below the top face."""
        hole = self.job.hole
        if hole.is_through:
            return max(self.depth, self.last - self.passed) + setting("fall") * self.major
        return self.depth + hole.cone_depth + setting("floor") * self.major

    @cached_property
    def scale(self) -> float:
        """Pixels in a mm."""
        return min(setting("tap_width") / self.major, FRAME[3] / (self.above + self.below))

    @property
    def hand(self) -> int:
        """+1 for a right-hand tap, −1 for its mirror image."""
        return -1 if self.tap.thread.hand == "left" else 1

    @property
    def axis(self) -> float:
        """Place of the axis across the picture [px]."""
        return FRAME[0] + FRAME[2] / 2

    @property
    def face(self) -> float:
        """Place of the top face [px]; a short job stands in the middle."""
        spare = FRAME[3] - self.scale * (self.above + self.below)
        return FRAME[1] + self.scale * self.above + spare / 2

    def x(self, mm: np.ndarray | float) -> np.ndarray:
        """Place across the picture [px]."""
        return self.axis + self.hand * self.scale * np.asarray(mm, float)

    def y(self, z: np.ndarray | float) -> np.ndarray:
        """Place down the picture [px]."""
        return self.face - self.scale * np.asarray(z, float)

    def points(self, x: np.ndarray, z: np.ndarray) -> np.ndarray:
        """Places on the screen, shape (n, 2)."""
        x, z = np.broadcast_arrays(self.x(x), self.y(z))
        return np.column_stack([x.ravel(), z.ravel()])

    def on_screen(self, vector: tuple[float, float, float], angle: Any) -> np.ndarray:
        """A vector (radial, cutting, axial) at angle φ [rad] as a step on the screen, (right, down).

        Seen from the front, straight: x = c_r cos φ + c_v sin φ, y = −c_z; mirrored for a left-hand tap.
        """
        radial, cutting, axial = vector
        right = self.hand * (radial * np.cos(angle) + cutting * np.sin(angle))
        return np.stack([right, np.full_like(right, -axial)])
