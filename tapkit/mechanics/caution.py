"""Cautions: what a user should be told about a job, each in one sentence. Every view shows them."""

from __future__ import annotations

import numpy as np

from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.mechanics import chipflow
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.toothload import Faults
from tapkit.messages import Number, Sentence, _, length


def of_hole(tap: Tap, hole: Hole) -> list[Sentence | str]:
    """A hole outside the limits of its thread, or too shallow for the chamfer."""
    found: list[Sentence | str] = []
    thread, d_h = tap.thread, hole.diameter
    limits = thread.limits
    if d_h < limits.minor_min - 1e-9:
        found.append(
            _(
                "the hole of {hole} is under the smallest minor diameter of {tolerance}, {limit}: torque rises steeply "
                "and the thread may be refused",
                hole=length(d_h, digits=4),
                tolerance=thread.tolerance,
                limit=length(limits.minor_min, digits=4),
            )
        )
    if d_h > limits.minor_max + 1e-9:
        found.append(
            _(
                "the hole of {hole} is over the largest minor diameter of {tolerance}, {limit}: the thread is shallow "
                "({percent} %), and a thread outside its class is scrap",
                hole=length(d_h, digits=4),
                tolerance=thread.tolerance,
                limit=length(limits.minor_max, digits=4),
                percent=Number(thread.percent(d_h), decimals=0),
            )
        )
    if not hole.is_through and hole.tap_depth(thread.pitch) <= tap.chamfer_length:
        found.append("the hole is so shallow that the chamfer never gets in: no full thread is cut")
    return found


def of_chips(tap: Tap, flow: chipflow.ChipFlow) -> list[str]:
    """A spiral point that does not drive its chips ahead."""
    if not tap.form.is_ground_back or flow.direction != chipflow.UNDECIDED:
        return []
    return [
        "this spiral point does not send its chips ahead for certain: the chamfer is too steep for it "
        f"(inclination {flow.inclination:+.1f}°, axial angle {flow.axial_angle:+.1f}°)"
    ]


def of_rubbing(area: np.ndarray, rubbing: np.ndarray, limit: float, hardens: bool) -> list[str]:
    """Teeth that rub more than they cut; the last tooth, which only trims, does so on any tap."""
    rubs = rubbing & (area > 0)
    if rubs[:-1].sum() <= 1:
        return []
    worse = "; this metal hardens where it is rubbed" if hardens else ""
    return [
        f"{int(rubs.sum())} of {int((area > 0).sum())} teeth take chips under {limit:g} mm: they rub more than "
        f"they cut{worse}"
    ]


def of_faults(faults: Faults) -> list[str]:
    """Teeth that are missing."""
    if not faults.missing_teeth:
        return []
    lost = ", ".join(str(n) for n in sorted(faults.missing_teeth))
    word, verb = ("tooth", "is") if len(faults.missing_teeth) == 1 else ("teeth", "are")
    return [f"{word} {lost} {verb} missing: the next tooth that reaches there takes its load"]


def of_thickness(thickness: np.ndarray, force: np.ndarray) -> list[str]:
    """Chips outside the thickness for which cutting forces were measured, judged by the tooth with most force."""
    if not force.any():
        return []
    h, tests = float(thickness[int(np.argmax(force))]), assumption("measured_thickness")
    if tests.low <= h <= tests.high:
        return []
    side = "thinner" if h < tests.low else "thicker"
    return [
        f"chips of {h:.3f} mm are {side} than the {tests.low:g} to {tests.high:g} mm for which cutting forces were "
        "measured: the forces are carried on, less certain"
    ]


def of_friction(major: float) -> list[str]:
    """Small taps, whose torque is friction more than cutting."""
    limit, factor = assumption("friction_leads_below"), assumption("friction_factor")
    if major >= limit.value:
        return []
    return [
        f"below about M{limit.value:g} friction leads: the real torque may be {factor.high:g} times this cutting "
        "torque and more"
    ]
