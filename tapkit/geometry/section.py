"""The section that torsion takes for a tap: arc flutes that touch the core circle, out to the edges of the lands.

It simplifies the true section of `tapkit.geometry.solid` in three ways, said here and nowhere else: both sides of a
flute are the arc of its back, where the true cutting face stands at its radial rake and a fillet takes more away; the
lands lie on the circle D, where thread and relief take more away; and a spiral point is not ground back. Every
torque at breakage rests on the true outline, `tapkit.mechanics.truetorsion`; these arcs, where they bear more, are the
high end of its range.
Over usual proportions from M3 and radial rakes of 0° to 15° the arcs' section has 0.96 to 1.19 times the area of the
true outline without its thread, and 0.97 to 1.9 times its torsion constant: the more rake and the fewer flutes, the
more (tests/drawing/test_one_tap.py).

Seen square to the axis. Angles are counted from the middle of flute 1, which lies on the x axis. A flute is hollow as a
rule; opened very wide (two flutes) it becomes flat and then bulges a little, and every formula here runs through that
change without a jump.
"""

import math
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from tapkit.messages import _, length

if TYPE_CHECKING:
    from tapkit.geometry.tap import Tap

THINNEST_NECK = 1 / 3
"""Between two flutes a land must keep this share of its width; chosen for this project: a limit, not a measured one."""


class Flute(NamedTuple):
    """One arc flute; lengths in mm, angles in radians. Fields are floats, or arrays of one shape.

    `half_angle` from the flute's middle to the edge of the land, at the centre of the tap; `curvature` of the
    arc [1/mm], positive for a hollow flute, zero for a flat one; `half_length` along the arc from its bottom
    to the edge; `core_radius`; `outer_radius`.
    """

    half_angle: Any
    curvature: Any
    half_length: Any
    core_radius: Any
    outer_radius: Any

    @property
    def radius(self) -> Any:
        """Radius of the arc [mm]; infinite for a flat flute, negative for a bulging one."""
        with np.errstate(divide="ignore"):
            return 1.0 / np.asarray(self.curvature, float)

    @property
    def centre(self) -> Any:
        """Distance of the arc's centre from the tap's axis [mm], along the middle of the flute."""
        return self.core_radius + self.radius

    def at(self, along: Any) -> tuple[Any, Any]:
        """Points x, y [mm] on the arc at a distance from its bottom along it [mm]."""
        turn = self.curvature * along
        x = self.core_radius + along * np.sinc(turn / 2 / np.pi) * np.sin(turn / 2)
        return x, along * np.sinc(turn / np.pi)


def flute_half_angle(diameter: Any, land: Any, flutes: Any) -> Any:
    """Half the angle a flute opens at the major diameter [rad]: π/Z − asin(land/D)."""
    return np.pi / np.asarray(flutes) - np.arcsin(np.minimum(np.asarray(land, float) / diameter, 1.0))


def curvature(core: Any, outer: Any, angle: Any) -> Any:
    """Curvature [1/mm] of the arc that touches the core circle square to the x axis at (a, 0) and passes through
    (R cos β, R sin β), from the radii a and R: 2 (R cos β − a)/L², L the chord between the two points."""
    rise = outer * np.cos(angle) - core
    return 2 * rise / (rise**2 + (outer * np.sin(angle)) ** 2)


def arc_angle(core: Any, k: Any, r: Any) -> Any:
    """Angle from the x axis [rad] at which that arc, of curvature k, crosses the circle of radius r."""
    return np.arccos(np.clip(core / r + k * (r**2 - core**2) / (2 * (1 + k * core) * r), -1, 1))


def arc_area(core: Any, k: Any, r: Any) -> Any:
    """Area between that arc, with its mirror image in the x axis, and the circle of radius r [mm2].

    Sector less triangle plus the segment of the arc; the arc meets the circle at the chord L² = (r² − a²)/(1 + a k)
    from its bottom.
    """
    chord = np.sqrt((r**2 - core**2) / (1 + core * k))
    turn = 2 * np.arcsin(np.clip(k * chord / 2, -1.0, 1.0))
    across = np.arccos(np.clip((core + k * chord**2 / 2) / r, -1.0, 1.0))
    small = np.abs(turn) < 1e-3
    t = np.where(small, 1.0, turn)
    lens = np.where(small, turn / 6 - turn**3 / 120, (t - np.sin(t)) / t**2)  # (t − sin t)/t²
    length = chord / np.sinc(turn / 2 / np.pi)
    return r**2 * across - core * r * np.sin(across) + lens * length**2


def flute(*, diameter: Any, core: Any, land: Any, flutes: Any) -> Flute:
    """The arc flute of a section, from D, core diameter, chord of a land [mm] and number of flutes.

    Half angle β = π/Z − asin(land/D). Arrays broadcast. Derived for this project.
    """
    R, a = np.asarray(diameter, float) / 2, np.asarray(core, float) / 2
    beta = flute_half_angle(2 * R, land, flutes)
    rise = R * np.cos(beta) - a
    chord = np.hypot(rise, R * np.sin(beta))
    half = np.arcsin(rise / chord)  # half the angle the arc turns through
    return Flute(beta, curvature(a, R, beta), chord / np.sinc(half / np.pi), a, R)


def neck(*, diameter: Any, core: Any, land: Any, flutes: Any) -> Any:
    """Least thickness of a land between two flutes [mm]; zero or less where the flutes cut it through.

    >>> round(float(neck(diameter=10, core=3.5, land=3, flutes=3)), 3)
    1.98
    """
    arc = flute(diameter=diameter, core=core, land=land, flutes=flutes)
    share = np.pi / np.asarray(flutes)
    flat = np.abs(arc.curvature) < 1e-12
    k = np.where(flat, 1.0, arc.curvature)
    between = 2 * ((arc.core_radius + 1 / k) * np.sin(share) - 1 / k)
    on_arc = (k > 0) & ~flat & (np.pi / 2 - share >= 0) & (np.pi / 2 - share <= k * arc.half_length)
    return np.where(on_arc, np.minimum(between, land), land)


@lru_cache(maxsize=1024)
def check_neck(*, diameter: float, core: float, land: float, flutes: int) -> None:
    """Refuse flutes so deep and round that they meet under the lands."""
    if float(neck(diameter=diameter, core=core, land=land, flutes=flutes)) < THINNEST_NECK * min(land, core):
        raise ValueError(
            _(
                "{flutes} flutes with a core of {core} and lands {land} wide nearly meet under the lands of a {major} "
                "tap; a thicker core or narrower lands works",
                flutes=flutes,
                core=length(core, digits=3),
                land=length(land, digits=3),
                major=length(diameter, digits=4),
            )
        )


def measures(tap: "Tap") -> dict[str, Any]:
    """The four numbers that make a tap's section: `diameter`, `core`, `land` [mm], `flutes`."""
    return dict(diameter=tap.thread.major, core=tap.core_diameter, land=tap.land_width, flutes=tap.flutes)


def outline(
    *, diameter: float, core: float, land: float, flutes: int, flute_points: int = 33, land_points: int = 13
) -> np.ndarray:
    """Closed outline of the section, shape (flutes · (flute_points + land_points) + 1, 2) [mm], counter-clockwise.

    It starts at the lower edge of flute 1 (whose middle lies on the x axis). Each land adds its
    `land_points` inner points between the edges, on the circle D.

    Raises ValueError where the flutes cut a land through.
    """
    check_neck(diameter=diameter, core=core, land=land, flutes=flutes)
    arc = flute(diameter=diameter, core=core, land=land, flutes=flutes)
    x, y = arc.at(np.linspace(-1, 1, flute_points) * arc.half_length)
    across = np.linspace(arc.half_angle, 2 * math.pi / flutes - arc.half_angle, land_points + 2)[1:-1]
    one = np.concatenate([x + 1j * y, arc.outer_radius * np.exp(1j * across)])
    turns = np.exp(2j * np.pi * np.arange(flutes) / flutes)
    whole = (turns[:, None] * one[None, :]).ravel()
    whole = np.append(whole, whole[0])
    return np.column_stack([whole.real, whole.imag])


def tap_outline(tap: "Tap", flute_points: int = 33, land_points: int = 13) -> np.ndarray:
    """Outline of a tap's section; see `outline`."""
    return outline(**measures(tap), flute_points=flute_points, land_points=land_points)
