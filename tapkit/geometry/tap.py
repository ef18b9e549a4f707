"""Cutting taps: their geometry, their usual proportions, and their names."""

import math
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from tapkit import door, tables
from tapkit.geometry import section
from tapkit.geometry.fluteform import FluteForm, form_for, form_of
from tapkit.geometry.proportions import (
    POINT_ALLOWANCE,
    Metal,
    proportion,
    usual_axial_rake,
    usual_core,
    usual_flutes,
    usual_land,
    usual_radial_rake,
    whole_flutes,
)
from tapkit.geometry.tapname import chamfer_length, chamfer_name, din_form, read_tap_name
from tapkit.geometry.thread import Thread
from tapkit.messages import Number, Quantity, Sentence, _, angle, length, ngettext, of_table, threads_of

FLATTEST_FLUTE = 0.75
"""A flute may be flat or bulge a little, until its edges stand at this share of the core radius."""


@dataclass(frozen=True, kw_only=True)
class Tap:
    """A cutting tap, by what a grinder would set.

    Parameters
    ----------
    thread : Thread the tap cuts; its hand is the tap's hand of cutting.
    flute_form : one of `FLUTE_FORMS`.
    flutes : number of flutes Z, 1 to 8.
    chamfer_threads : chamfer length n in threads (pitches).
    point_diameter : small end of the chamfer d_p [mm].
    radial_rake : rake of the face seen on the end of the tap γ_p [deg].
    axial_rake : γ_f [deg]; positive lifts the chip to the shank (a right-hand flute helix on a right-hand
        tap), negative drives it ahead (spiral point, left-hand flute), zero on a straight flute. On a
        left-hand tap everything is mirrored and the signs keep this meaning.
    core_diameter : circle the flute bottoms touch [mm].
    land_width : chord across one land at the major diameter [mm].

    Raises ValueError, in one sentence that says what would work, for a tap that cannot be ground.
    """

    thread: Thread
    flute_form: str
    flutes: int
    chamfer_threads: float
    point_diameter: float
    radial_rake: float
    axial_rake: float
    core_diameter: float
    land_width: float

    def __post_init__(self) -> None:
        _check(self)

    @classmethod
    def make(
        cls,
        thread: Thread | str,
        flute_form: str = "straight",
        chamfer: str | float = "plug",
        *,
        metal: Metal | None = None,
        **given: Any,
    ) -> "Tap":
        """A tap of usual proportions; any field may be given instead (None means usual).

        `metal` is the Workpiece it is for, whose usual rakes it has then; `chamfer` is a name ("plug") or a length in
        threads. Defaults come from the tables `proportions`,
        `flute_counts`, `flute_forms` and `chamfers`.

        >>> tap = Tap.make("M10x1.5", "spiral-point", "plug")
        >>> tap.flutes, tap.chamfer_threads, tap.axial_rake, round(tap.chamfer_angle, 1)
        (3, 4.0, -12.0, 9.2)
        """
        thread = Thread.parse(thread) if isinstance(thread, str) else thread
        given = {k: v for k, v in given.items() if v is not None}
        threads = chamfer_length(chamfer) if isinstance(chamfer, str) else float(chamfer)
        flutes = whole_flutes(given.pop("flutes", usual_flutes(thread, flute_form)))
        values = dict(
            chamfer_threads=threads,
            point_diameter=thread.major - POINT_ALLOWANCE * thread.pitch,
            radial_rake=usual_radial_rake(metal),
            axial_rake=usual_axial_rake(flute_form, metal),
            core_diameter=usual_core(thread, flute_form, flutes),
            land_width=usual_land(thread, flutes),
        )
        return cls(thread=thread, flute_form=flute_form, flutes=flutes, **(values | given))

    @classmethod
    def parse(cls, text: str, **given: Any) -> "Tap":
        """A tap of usual proportions from its name: thread, flute form, chamfer.

        >>> Tap.parse("M10x1.5 spiral-flute bottoming").name
        'spiral-flute bottoming'
        >>> Tap.parse("1/4-20 form B").name
        'spiral-point plug'
        """
        named = read_tap_name(text)
        if named.thread is None:
            raise ValueError(
                _("{text} names no thread; write it like 'M10x1.5 spiral-point plug'", text=door.quoted(text))
            )
        said = {"chamfer": "plug" if named.chamfer is None else named.chamfer, "flutes": named.flutes}
        return cls.make(
            named.thread, named.form or "straight", **(said | {k: v for k, v in given.items() if v is not None})
        )

    def with_(self, **changes: Any) -> "Tap":
        """The same tap with some fields changed."""
        return replace(self, **changes)

    @property
    def form(self) -> FluteForm:
        return form_of(self.flute_form)

    @property
    def name(self) -> str:
        """Flute form and US chamfer word, "spiral-flute bottoming"."""
        return f"{self.form.name(self.thread.hand)} {self.chamfer_name}"

    @property
    def chamfer_name(self) -> str:
        """US word for this chamfer length (ASME B94.9)."""
        return chamfer_name(self.chamfer_threads)

    @property
    def british_name(self) -> str:
        """British workshop word for this chamfer; note that British "plug" is US "bottoming"."""
        return tables.row("chamfers", us=self.chamfer_name)["british"]

    @property
    def din_form(self) -> str | None:
        """Letter of DIN 2197 that fits both chamfer and flute form, or None."""
        return din_form(self.chamfer_threads, self.flute_form)

    @property
    def chamfer_length(self) -> float:
        """Axial length of the chamfer n P [mm]."""
        return self.chamfer_threads * self.thread.pitch

    @property
    def chamfer_angle(self) -> float:
        """Angle κ of the chamfer to the axis [deg]: tan κ = (D − d_p)/(2 n P)."""
        return math.degrees(math.atan2((self.thread.major - self.point_diameter) / 2, self.chamfer_length))

    @property
    def tooth_spacing(self) -> float:
        """Advance from one tooth to the next along the helix P/Z [mm]."""
        return self.thread.pitch / self.flutes

    def cautions(self) -> tuple[Sentence, ...]:
        """What is possible but unusual about this tap, each in one sentence."""
        return (*self.thread.cautions(), *_unusual(self))


# --- what cannot be ground, and what is unusual -----------------------------------------------------


GRINDABLE = (
    ("chamfer_threads", 0.1, 20,
     _("a chamfer of {value} threads cannot be ground; {low} to {high} works, and 4 threads make a plug chamfer")),
    ("radial_rake", -15, 35,
     _("a radial rake of {value} cannot be ground; {low} to {high} works, and 8° to 12° is usual in steel")),
    ("axial_rake", -60, 60,
     _("an axial rake of {value} cannot be ground; {low} to {high} works, and 40° is usual on a spiral flute")),
)  # fmt: skip
"""What a field must lie within."""


def _check(tap: Tap) -> None:
    d, p = tap.thread.major, tap.thread.pitch
    form = form_of(tap.flute_form)
    proportion(tap.flutes)
    for name, low, high, sentence in GRINDABLE:
        value, show = getattr(tap, name), Number if name == "chamfer_threads" else partial(angle, digits=3)
        if not (math.isfinite(value) and low <= value <= high):
            raise ValueError(sentence.of(value=show(value), low=show(low), high=show(high)))
    if not (math.isfinite(tap.point_diameter) and 0.2 * d <= tap.point_diameter < d):
        raise ValueError(
            _(
                "a point diameter of {point} makes no chamfer on a {major} tap; it must be at least {least} and less "
                "than {major}; {usual} is usual",
                point=_mm(tap.point_diameter),
                major=_mm(d),
                least=length(0.2 * d, digits=3),
                usual=length(d - POINT_ALLOWANCE * p, digits=3),
            )
        )
    if not form.admits(tap.axial_rake):
        hand, other = tap.thread.hand, form_of(form_for(tap.axial_rake))
        raise ValueError(
            _(
                "an axial rake of {rake} does not go with a {form} tap: it makes a {other} tap; for {form} use {usual}",
                rake=angle(tap.axial_rake, digits=3),
                form=of_table(form.name(hand)),
                other=of_table(other.name(hand)),
                usual=angle(form.axial_rake),
            )
        )
    thickest = min(0.85 * d, tap.thread.minor_diameter - 0.02 * d)
    if not (math.isfinite(tap.core_diameter) and 0.15 * d <= tap.core_diameter <= thickest):
        raise ValueError(
            _(
                "a core of {core} cannot be ground in a {major} tap; {low} to {high} works, {usual} is usual",
                core=_mm(tap.core_diameter),
                major=_mm(d),
                low=length(0.15 * d, digits=3),
                high=length(thickest, digits=3),
                usual=length(usual_core(tap.thread, tap.flute_form, tap.flutes), digits=3),
            )
        )
    _check_land(tap)


def _mm(value: float) -> Quantity:
    return length(value, digits=4)


def _check_land(tap: Tap) -> None:
    d, ratio = tap.thread.major, tap.core_diameter / tap.thread.major
    widest = d * math.sin(min(0.92 * math.pi / tap.flutes, math.pi / 2))
    deepest = math.acos(FLATTEST_FLUTE * ratio)  # a flute opened wider would bulge out over the core circle
    closest = max(math.pi / tap.flutes - deepest, 0.0) if tap.flutes > 1 else 0.0
    narrowest = d * max(math.sin(closest), 0.04)
    if not (math.isfinite(tap.land_width) and narrowest <= tap.land_width <= widest):
        raise ValueError(
            ngettext(
                "lands {land} wide do not go with {count} flute and a core of {core} on a {major} tap; "
                "{low} to {high} works",
                "lands {land} wide do not go with {count} flutes and a core of {core} on a {major} tap; "
                "{low} to {high} works",
                tap.flutes,
                land=_mm(tap.land_width),
                core=_mm(tap.core_diameter),
                major=_mm(d),
                low=length(narrowest, digits=3),
                high=length(widest, digits=3),
            )
        )
    section.check_neck(**section.measures(tap))


def _unusual(tap: Tap) -> list[Sentence]:
    found, d, threads = [], tap.thread.major, Number(tap.chamfer_threads)
    if not 1 <= tap.chamfer_threads <= 10:
        found.append(_("a chamfer of {threads} threads is outside the named lengths of 1 to 10", threads=threads))
    low, high = tables.span(proportion(tap.flutes)["core_ratio"])
    ratio = tap.core_diameter / d
    if not low * 0.85 <= ratio <= high * 1.25:
        found.append(
            ngettext(
                "a core of {ratio} D is unusual with {count} flute ({low} to {high} D is usual)",
                "a core of {ratio} D is unusual with {count} flutes ({low} to {high} D is usual)",
                tap.flutes,
                ratio=Number(ratio, decimals=2),
                low=Number(low),
                high=Number(high),
            )
        )
    low, high = tables.span(proportion(tap.flutes)["land_ratio"])
    if not 0.8 * low <= tap.land_width / d <= 1.2 * high:
        found.append(
            ngettext(
                "lands of {ratio} D are unusual with {count} flute ({low} to {high} D is usual)",
                "lands of {ratio} D are unusual with {count} flutes ({low} to {high} D is usual)",
                tap.flutes,
                ratio=Number(tap.land_width / d, decimals=2),
                low=Number(low),
                high=Number(high),
            )
        )
    if tap.form.is_ground_back and tap.din_form is None:
        found.append(
            _(
                "a spiral point with a chamfer of {threads} is unusual: DIN 2197 pairs it with 3.5 to 5.5 "
                "threads only (form B)",
                threads=threads_of(tap.chamfer_threads),
            )
        )
    if abs(tap.axial_rake) > max(map(abs, tap.form.axial_rakes)):
        rake = angle(tap.axial_rake, digits=3)
        found.append(_("an axial rake of {rake} is steeper than taps are usually ground", rake=rake))
    if not 0 <= tap.radial_rake <= 20:
        rake = angle(tap.radial_rake, digits=3)
        found.append(_("a radial rake of {rake} is outside the usual 0° to 20°", rake=rake))
    return found
