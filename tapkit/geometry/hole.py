"""Drilled holes, through and blind. Every depth is measured from the top face of the part."""

import math
import re
from dataclasses import dataclass, replace
from typing import Any

from tapkit import door, units
from tapkit.door import quoted
from tapkit.geometry.drillsize import is_inch_name, read_drill, size_alone
from tapkit.messages import BySystem, Span, _, angle, length

LEAST = 0.01
"""Least diameter and depth of a hole [mm]; less is a slip of the pen."""


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
            raise ValueError(_("a hole is 'through' or 'blind', not {kind}", kind=quoted(self.kind)))
        for value, sentence in ((self.diameter, WIDTH), (self.depth, DEPTH)):
            if not (math.isfinite(value) and LEAST <= value <= 1000):
                span = Span(LEAST, 1000.0, "length")
                raise ValueError(sentence.of(value=length(value), range=span, example=EXAMPLE))
        if not 60 <= self.drill_angle <= 180:
            raise ValueError(
                _("a drill point of {angle} is outside 60° to 180°; 118° is usual", angle=angle(self.drill_angle))
            )
        if self.clearance is not None and not 0 <= self.clearance < self.depth:
            raise ValueError(
                _(
                    "a clearance of {clearance} does not fit a hole {depth} deep; one pitch of the thread is usual",
                    clearance=length(self.clearance),
                    depth=length(self.depth),
                )
            )

    @classmethod
    def parse(cls, text: str, system: str = "metric") -> "Hole":
        """A hole from "through D x T" (T the part's thickness) or "blind D x L" (L the cylinder's depth).

        Bare lengths are in the unit of `system`; a unit written once at the end counts for both. D may name a drill:
        #7, F, 27/64. Where one of the two is in another system than a bare other, the text is asked about.

        >>> Hole.parse("through 8.5 x 15"), Hole.parse("blind #7 x 0.75 in").diameter
        (Hole(kind='through', diameter=8.5, depth=15.0, drill_angle=118.0, clearance=None), 5.1054)
        """
        return read_hole(text, system)

    def with_(self, **changes: Any) -> "Hole":
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

    def worked_depth(self, pitch: float) -> float:
        """How deep a tap works [mm]: the part's thickness, or as far as its point goes in a blind hole."""
        return self.depth if self.is_through else self.tap_depth(pitch)

    def full_thread(self, pitch: float, chamfer: float) -> float:
        """How deep a full thread reaches at most behind a chamfer of a length [mm]; below 0 where the chamfer never
        gets in whole. All through a through hole."""
        return self.depth if self.is_through else self.tap_depth(pitch) - chamfer

    def __str__(self) -> str:
        return f"{self.kind} {self.diameter:g} mm x {self.depth:g} mm"


WIDTH = _("a hole's diameter of {value} is outside {range}; try {example}")
DEPTH = _("a hole's depth of {value} is outside {range}; try {example}")
_KIND = re.compile(
    r"\b(?:(?P<through>(?:through|thru)(?:\s+all)?|durch(?:gehend|gang(?:s(?:loch|bohrung))?)?)"
    r"|blind|(?:sack|grund)loch(?:bohrung)?)\b(?:[\s-]*hole\b)?(?:\s+of\b)?",
    re.I,
)
_HOLE = re.compile(  # letter X has an x of its own
    r"(?P<across>.+?)\s*(?:[x*;↧]|\bby\b|\b(?:deep|tief)\b(?=\s*[\d.])|,(?=\s)|(?<=mm|in)\s(?=\s*[\d.,]+\s*(?:mm|in)\b)|\s(?=[\d.,]+\s*(?:mm|in|\")?\s*(?:deep|tief)\b))(?!\s*(?:[x*;,]|by\b))\s*(?P<deep>.+?)"
    r"(?:\s+(?:deep|thick|tief|dick))?\s*$",
    re.I | re.S,
)
EXAMPLE = BySystem("'through 8.5 mm x 15 mm'", "'through .201 in x .5 in'")
HINT = _("write {through} or {blind}", through=EXAMPLE, blind=BySystem("'blind 8.5 mm x 25 mm'", "'blind #7 x .75 in'"))


BOTH = (("length", "mm"), ("length", "inch"))
"""Units that may be written once for both lengths."""


def read_hole(text: str, system: str = "metric") -> Hole:
    """A hole from its text; see `Hole.parse`."""
    if not isinstance(text, str) or len(text) > 200:
        raise ValueError(_("a hole is given by a short text; {hint}", hint=HINT))
    tidy = door.plain(text)
    kinds = list(_KIND.finditer(tidy))
    if not kinds and (re.match(r"[\s#øØ⌀.]*\d", text) or _HOLE.match(tidy)):
        raise ValueError(
            _("{text} does not say whether the hole is through or blind; {hint}", text=quoted(text), hint=HINT)
        )
    found = _HOLE.match(_without_kind(tidy, kinds[0])) if len(kinds) == 1 else None
    if not found and len(kinds) == 1 and re.search(r"\d|\b[a-z]\b", _without_kind(tidy, kinds[0]), re.I):
        told = dict(text=quoted(text), hint=HINT)
        raise ValueError(
            _("{text} does not give two lengths, the diameter and the depth, with an x between; {hint}", **told)
        )
    if not found:
        raise ValueError(_("cannot read {text} as a hole; {hint}", text=quoted(text), hint=HINT))
    try:
        diameter, depth = _across_and_deep(found["across"].strip(), found["deep"], system)
        return Hole(kind="through" if kinds[0]["through"] else "blind", diameter=diameter, depth=depth)
    except ValueError as error:
        raise ValueError(_("cannot read {text} as a hole: {error}", text=quoted(text), error=error.args[0])) from None


def _without_kind(text: str, kind: re.Match[str]) -> str:
    """The sizes of a hole: what stands around its kind, which parts them where it stands between: "#7 thru 1/2"."""
    before, after = text[: kind.start()].strip(" :,"), text[kind.end() :].strip(" :,")
    is_parted = re.match(r"[x*;]|by\b", after, re.I) or re.search(r"(?<!^)(?<!letter )[x*;]$", before, re.I)
    middle = "" if is_parted else " x "
    return before + middle + after if before and after else before + after


def _across_and_deep(across: str, deep: str, system: str) -> tuple[float, float]:
    """Diameter and depth [mm]; ValueError where the unit of a bare number would have to be guessed."""
    own = units.unit_label("length", system)
    if is_inch_name(across):
        read_drill(across)
    written = door.read_number(deep)[1]
    if written:
        depth = door.length(deep)
        if re.fullmatch(r"[øØ⌀\s]*[\d.,]+", across) and door.kind_of_unit(written) not in BOTH:
            raise ValueError(_("the diameter {across} bears no unit; write '{across} mm'", across=across))
        return read_drill(across, bare=written), depth
    spoken = _system_of(across)
    if door.is_bare_fraction(deep) and (spoken == "inch" or (spoken is None and system == "inch")):
        return read_drill(across, bare="in"), door.read(deep, "length", bare="in")
    if spoken not in (None, system):
        raise ValueError(
            _("the depth {deep} bears no unit: is it in inches or in mm? Write '{deep} in' or '{deep} mm'", deep=deep)
        )
    return read_drill(across, bare=own), door.length(deep, system)


def _system_of(across: str) -> str | None:
    """The system a diameter is written in, None for a bare number."""
    if is_inch_name(across):
        return "inch"
    found = door.kind_of_unit(door.read_number(size_alone(across))[1])
    return None if found is None else "inch" if found[1] in ("inch", "thou") else "metric"
