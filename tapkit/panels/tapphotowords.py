"""What the marks on a photograph say, in words and in a table."""

from typing import Any

from tapkit.messages import Number, Sentence, _, angle, length, said
from tapkit.panels.markup import paragraph, table, tag
from tapkit.tapphoto import Measured


def describe(model: Any, system: str) -> Sentence:
    """The tap in a sentence, with its errors."""
    threads = model.side["chamfer_length"]
    pitch = model.tap.thread.pitch
    return _(
        "Measured: a chamfer of {threads} ± {off} threads at {slant}, an axial rake of {axial}, a hook of {hook}, a "
        "core of {core}, {flutes} flutes.",
        threads=Number(threads.value / pitch, decimals=2),
        off=Number(threads.error / pitch, decimals=2),
        slant=_within(model.side["chamfer_angle"], "angle"),
        axial=_within(model.side["axial_rake"], "angle"),
        hook=_within(model.point["radial_rake"], "angle"),
        core=_within(model.point["core"], "length"),
        flutes=model.tap.flutes,
    )


def _within(one: Measured, kind: str) -> Sentence:
    if kind == "angle":
        return _("{value} ± {off}", value=angle(one.value, decimals=1), off=angle(one.error, decimals=1))
    made = dict(decimals=2, inch_decimals=3)
    return _("{value} ± {off}", value=length(one.value, **made), off=length(one.error, **made))


ROWS = (
    ("side", "pitch", _("pitch"), "length"),
    ("side", "chamfer_length", _("chamfer length"), "length"),
    ("side", "chamfer_angle", _("chamfer angle"), "angle"),
    ("side", "axial_rake", _("axial rake"), "angle"),
    ("point", "radial_rake", _("radial rake (hook)"), "angle"),
    ("point", "core", _("core diameter"), "length"),
)


def details(model: Any, system: str) -> str:
    """Every value with its errors, and whether the pitch is that of the thread."""
    rows = []
    for view, key, label, kind in ROWS:
        one = getattr(model, view)[key]
        shown = dict(decimals=1) if kind == "angle" else dict(decimals=3, inch_decimals=4)
        make = angle if kind == "angle" else length
        rows.append((label, *(f"={said(make(value, **shown), system)}" for value in one)))
    heads = (_("Measured"), _("value"), _("a mark a pixel off"), _("a camera askew or near"))
    told = (paragraph(one, system) for one in (_pitch_fits(model), *_too_rough(model)))
    return tag("div", table(_("What the marks say"), heads, rows), *told, class_="tapkit-dense")


ROUGH = 3.0
"""An angle that is off by more degrees than this is not told by the picture."""


def _too_rough(model: Any) -> list[Sentence]:
    """Which angles the picture does not tell, in a sentence each."""
    return [
        _(
            "This picture does not tell the {angle}: it may be {off} off. Take it from nearer, so that the tap is "
            "larger in it, or measure that angle otherwise.",
            angle=label,
            off=angle(one.error, decimals=1),
        )
        for view, key, label, kind in ROWS
        if kind == "angle" and (one := getattr(model, view)[key]).error > ROUGH
    ]


def _pitch_fits(model: Any) -> Sentence:
    pitch, thread = model.side["pitch"], model.tap.thread
    off = abs(pitch.value - thread.pitch)
    told = dict(pitch=length(pitch.value, decimals=3, inch_decimals=4), thread=thread.designation)
    if off <= max(2 * pitch.error, 0.01 * thread.pitch):
        return _("A pitch of {pitch} is that of {thread}.", **told)
    return _("A pitch of {pitch} is not that of {thread}: look at the thread, the scale and the marks.", **told)
