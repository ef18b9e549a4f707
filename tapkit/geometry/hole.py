"""Drilled holes, through and blind. Every depth is measured from the top face of the part."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from typing import Any

from tapkit import door
from tapkit.geometry.drillsize import read_drill


@dataclass(frozen=True, kw_only=True)
class Hole:
    """A hole ready for tapping.

    Parameters: `kind` "through" or "blind"; `diameter` D_h [mm]; `depth` [mm], the part's thickness of a
    through hole or the cylindrical drilled depth of a blind one; `drill_angle` of the drill's point [deg]
    (180 for a flat bottom); `clearance` kept between the tap's point and the end of the cylinder of a blind
    hole [mm], None for one pitch of the thread.

    Raises ValueError for a hole that cannot be.

    >>> Hole.parse("blind 8.5 mm x 25 mm").cone_depth.__round__(2)
    2.55
    """

    kind: str
    diameter: float
    depth: float
    drill_angle: float = 118.0
    clearance: float | None = None

    def __post_init__(self) -> None:
        if self.kind not in ("through", "blind"):
            raise ValueError(f"a hole is 'through' or 'blind', not {self.kind!r}")
        for what, value in (("diameter", self.diameter), ("depth", self.depth)):
            if not (math.isfinite(value) and 0 < value <= 1000):
                raise ValueError(
                    f"a hole's {what} of {value:g} mm is outside 0 to 1000 mm; try 'through 8.5 mm x 15 mm'"
                )
        if not 60 <= self.drill_angle <= 180:
            raise ValueError(f"a drill point of {self.drill_angle:g}° is outside 60° to 180°; 118° is usual")
        if self.clearance is not None and not 0 <= self.clearance < self.depth:
            raise ValueError(
                f"a clearance of {self.clearance:g} mm does not fit a hole {self.depth:g} mm deep; "
                "one pitch of the thread is usual"
            )

    @classmethod
    def parse(cls, text: str) -> Hole:
        """A hole from "through D x T" (T the part's thickness) or "blind D x L" (L the cylinder's depth).

        A bare length is in mm; a unit written once at the end counts for both. D may name a drill: #7, F, 27/64.

        >>> Hole.parse("through 8.5 x 15"), Hole.parse("blind #7 x 0.75 in").diameter
        (Hole(kind='through', diameter=8.5, depth=15.0, drill_angle=118.0, clearance=None), 5.1054)
        """
        return read_hole(text)

    def with_(self, **changes: Any) -> Hole:
        """The same hole with some fields changed."""
        return replace(self, **changes)

    @property
    def is_through(self) -> bool:
        """Whether the hole goes through the part."""
        return self.kind == "through"

    @property
    def cone_depth(self) -> float:
        """Depth of the cone the drill leaves below a blind hole's cylinder [mm]: D_h/2 / tan(angle/2)."""
        if self.is_through:
            return 0.0
        return self.diameter / 2 / math.tan(math.radians(self.drill_angle) / 2)

    def tap_depth(self, pitch: float) -> float:
        """How deep the tap's point may go in a blind hole [mm]: cylinder less clearance."""
        return self.depth - (min(pitch, self.depth / 2) if self.clearance is None else self.clearance)

    def __str__(self) -> str:
        return f"{self.kind} {self.diameter:g} mm x {self.depth:g} mm"


_HOLE = re.compile(r"\s*(through|blind)\b[\s:,]*(.+?)\s*[x×*]\s*(.+?)\s*$", re.IGNORECASE | re.DOTALL)
HINT = "write 'through 8.5 mm x 15 mm' or 'blind 8.5 mm x 25 mm'"


def read_hole(text: str) -> Hole:
    """A hole from its text; see `Hole.parse`."""
    if not isinstance(text, str) or len(text) > 200:
        raise ValueError(f"a hole is given by a short text; {HINT}")
    found = _HOLE.match(door.plain(text))
    if not found:
        raise ValueError(f"cannot read {text!r} as a hole; {HINT}")
    kind, across, deep = found.groups()
    try:
        depth, unit = door.length(deep), door.read_number(deep)[1] or None
        return Hole(kind=kind.lower(), diameter=read_drill(across, bare=unit), depth=depth)
    except ValueError as error:
        raise ValueError(f"cannot read {text!r} as a hole: {error}; {HINT}") from None
