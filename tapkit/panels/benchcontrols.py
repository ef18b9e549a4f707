"""Everything one set-up of the bench lets one change, and the job it stands for."""

from __future__ import annotations

from collections.abc import Sequence
from types import SimpleNamespace
from typing import Any

from tapkit.geometry.fluteform import flute_forms, form_of
from tapkit.geometry.hole import Hole
from tapkit.geometry.proportions import (
    POINT_ALLOWANCE,
    usual_core,
    usual_flutes,
    usual_land,
)
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.toothload import Faults
from tapkit.mechanics.workpiece import Workpiece
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.controls import Control, Pick, Slider

FORM_WORDS = tuple((form.printed.replace("-", " "), form.key) for form in flute_forms())
OTHER = {"form": "spiral-flute", "chamfer": 1.5}
"""What set-up B begins with, unlike A."""

GROUPS = (
    ("Tap", ("thread", "form", "chamfer", "flutes", "axial_rake", "radial_rake", "core", "land", "point")),
    ("Hole and metal", ("kind", "hole", "depth", "work")),
    ("Faults", ("first_tooth", "runout", "missing", "regrind", "tilt")),
    ("Assumptions", ("wear_factor", "friction_factor", "tool_factor", "shear_at_breakage")),
)
"""Titles of the groups and their controls by key."""


def _thread(v: SimpleNamespace) -> Thread:
    return Thread.parse(v.thread)


def _length(key: str, label: str, start: Any, low: float, high: float, follows: tuple[str, ...]) -> Slider:
    """A length whose range is a share of the major diameter."""
    return Slider(
        key=key,
        label=label,
        kind="length",
        start=start,
        low=lambda v: low * _thread(v).major,
        high=lambda v: high * _thread(v).major,
        step=0.05,
        follows=follows,
    )


def _assumed(name: str, label: str, step: float, unit: str = "") -> Slider:
    """An assumption over the range of its table row."""
    row = assumption(name)
    return Slider(key=name, label=label, unit=unit, start=row.value, low=row.low, high=row.high, step=step)


def controls() -> Sequence[Control]:
    """The controls of one set-up, in the order in which later ones follow earlier ones."""
    return (
        common.thread_pick(),
        Pick(key="form", label="Flute form", options=FORM_WORDS, start="spiral-point"),
        common.chamfer_slider(),
        Slider(
            key="flutes", label="Flutes", start=lambda v: usual_flutes(_thread(v), v.form), low=2, high=6, step=1,
            whole=True, follows=("thread", "form"),
        ),
        Slider(
            key="axial_rake", label="Axial rake", kind="angle", start=lambda v: form_of(v.form).axial_rake, low=-45,
            high=45, step=1, follows=("form",),
        ),
        common.radial_rake_slider(),
        _length("core", "Core diameter", lambda v: usual_core(_thread(v), v.form, v.flutes), 0.2, 0.75,
                ("thread", "form", "flutes")),
        _length("land", "Width of a land", lambda v: usual_land(_thread(v), v.flutes), 0.08, 0.6, ("thread", "flutes")),
        _length("point", "Point diameter", lambda v: _thread(v).major - POINT_ALLOWANCE * _thread(v).pitch, 0.6, 0.98,
                ("thread",)),
        Pick(key="kind", label="Hole", options=("through", "blind"), start="through"),
        common.hole_slider(),
        Slider(
            key="depth", label="Part thickness, or drilled depth", kind="length",
            start=lambda v: round(1.5 * _thread(v).major), low=1, high=lambda v: round(5 * _thread(v).major), step=0.5,
            follows=("thread",),
        ),
        common.work_pick(),
        Slider(key="first_tooth", label="First tooth at, of P/Z", start=1.0, low=0.05, high=1.0, step=0.05),
        Slider(key="runout", label="Runout", kind="length", start=0.0, low=0.0, high=0.2, step=0.005),
        Slider(key="missing", label="Missing tooth (0: none)", start=0, low=0, high=30, step=1, whole=True),
        Slider(key="regrind", label="Chamfer lost in a regrind", unit="threads", start=0, low=0, high=5, step=0.25),
        Slider(key="tilt", label="Tilt", kind="angle", start=0.0, low=0.0, high=2.0, step=0.05),
        _assumed("wear_factor", "Wear factor", 0.05),
        _assumed("friction_factor", "Friction factor (1: cutting only)", 0.05),
        _assumed("tool_factor", "Tool factor", 0.05),
        _assumed("shear_at_breakage", "Shear stress at breakage, assumed", 50, "N/mm²"),
    )  # fmt: skip


def tap_from(v: SimpleNamespace) -> Tap:
    """The tap the controls stand for."""
    return Tap.make(
        v.thread,
        v.form,
        v.chamfer,
        flutes=v.flutes,
        axial_rake=v.axial_rake,
        radial_rake=v.radial_rake,
        core_diameter=v.core,
        land_width=v.land,
        point_diameter=v.point,
    )


def job_from(v: SimpleNamespace) -> Operation:
    """The job the controls stand for; ValueError with one sentence for what cannot be."""
    faults = Faults(
        first_tooth=v.first_tooth,
        runout=v.runout,
        missing_teeth=frozenset({v.missing} if v.missing else ()),
        regrind_shorter=v.regrind,
    )
    return Operation(
        tap=tap_from(v),
        hole=Hole(kind=v.kind, diameter=v.hole, depth=v.depth),
        workpiece=Workpiece.parse(v.work),
        faults=faults,
        wear_factor=v.wear_factor,
        friction_factor=v.friction_factor,
        tool_factor=v.tool_factor,
        shear_at_breakage=v.shear_at_breakage,
    )
