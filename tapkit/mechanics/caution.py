"""Cautions: what a user should be told about a job, each in one sentence. Every view shows them."""

import numpy as np

from tapkit import tables
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.mechanics import chipflow
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.hand import Hand
from tapkit.mechanics.toothload import Faults
from tapkit.messages import BySystem, Number, Sentence, Span, _, angle, length, listed, ngettext


def has_no_full_thread(tap: Tap, hole: Hole) -> bool:
    """Whether a blind hole is so shallow that the chamfer never gets in whole."""
    return hole.full_thread(tap.thread.pitch, tap.chamfer_length) <= 0


def of_hole(tap: Tap, hole: Hole) -> list[Sentence]:
    """A hole outside the limits of its thread, or too shallow for the chamfer."""
    found, thread, limits = [], tap.thread, tap.thread.limits
    named = dict(hole=length(hole.diameter, digits=4), tolerance=thread.tolerance)
    if hole.diameter < limits.minor_min - 1e-9:
        found.append(
            _(
                "the hole of {hole} is under the smallest minor diameter of {tolerance}, {limit}: torque rises steeply "
                "and the thread may be refused",
                limit=length(limits.minor_min, digits=4),
                **named,
            )
        )
    if hole.diameter > limits.minor_max + 1e-9:
        found.append(
            _(
                "the hole of {hole} is over the largest minor diameter of {tolerance}, {limit}: the thread is shallow "
                "({percent} %), and a thread outside its class is scrap",
                limit=length(limits.minor_max, digits=4),
                percent=Number(thread.percent(hole.diameter), decimals=0),
                **named,
            )
        )
    if has_no_full_thread(tap, hole):
        found.append(_("the hole is so shallow that the chamfer never gets in: no full thread is cut"))
    return found


def of_hand(hand: Hand) -> list[Sentence]:
    """A tap held by hand that asks more than two hands give."""
    if not hand.is_too_much:
        return []
    return [
        _(
            "too large a tap for two hands: a {wrench} wrench asks {span} of each; take a set of hand taps that share "
            "the cut, or a machine",
            wrench=length(hand.wrench, decimals=0, inch_decimals=1),
            span=Span(*hand.force_range, "force", digits=2),
        )
    ]


def of_chips(tap: Tap, flow: chipflow.ChipFlow) -> list[Sentence]:
    """A spiral point that does not drive its chips ahead."""
    if not tap.form.is_ground_back or flow.direction != chipflow.UNDECIDED:
        return []
    return [
        _(
            "this spiral point does not send its chips ahead for certain: the chamfer is too steep for it "
            "(inclination {inclination}, axial angle {axial})",
            inclination=angle(flow.inclination),
            axial=angle(flow.axial_angle),
        )
    ]


def of_rubbing(area: np.ndarray, rubbing: np.ndarray, limit: float, hardens: bool) -> list[Sentence]:
    """Teeth that rub more than they cut; the last tooth, which only trims, does so on any tap."""
    rubs = rubbing & (area > 0)
    if rubs[:-1].sum() <= 1:
        return []
    found = dict(rubbing=int(rubs.sum()), cutting=int((area > 0).sum()), limit=length(limit))
    if hardens:
        return [
            _(
                "{rubbing} of {cutting} teeth take chips under {limit}: they rub more than they cut; this metal "
                "hardens where "
                "it is rubbed",
                **found,
            )
        ]
    return [_("{rubbing} of {cutting} teeth take chips under {limit}: they rub more than they cut", **found)]


def of_faults(faults: Faults) -> list[Sentence]:
    """Teeth that are missing."""
    if not faults.missing_teeth:
        return []
    return [
        ngettext(
            "tooth {lost} is missing: the next tooth that reaches there takes its load",
            "teeth {lost} are missing: the next tooth that reaches there takes their load",
            len(faults.missing_teeth),
            lost=listed(sorted(faults.missing_teeth)),
        )
    ]


def of_thickness(thickness: np.ndarray, force: np.ndarray) -> list[Sentence]:
    """Chips outside the thickness for which cutting forces were measured, judged by the tooth with most force."""
    if not force.any():
        return []
    h, tests = float(thickness[int(np.argmax(force))]), assumption("measured_thickness")
    if tests.low <= h <= tests.high:
        return []
    found = dict(chip=length(h), span=Span(tests.low, tests.high, "length"))
    if h < tests.low:
        return [
            _(
                "chips of {chip} are thinner than the {span} for which cutting forces were measured: the forces "
                "are carried "
                "on, less certain",
                **found,
            )
        ]
    return [
        _(
            "chips of {chip} are thicker than the {span} for which cutting forces were measured: the forces are "
            "carried "
            "on, less certain",
            **found,
        )
    ]


def of_friction(major: float) -> list[Sentence]:
    """Small taps, whose torque is friction more than cutting."""
    if major >= assumption("friction_leads_below").value:
        return []
    return [
        _("below about {size} friction leads, and the torque to expect is known less well", size=friction_leads_below())
    ]


def friction_leads_below() -> BySystem:
    """The size below which friction leads the torque, by the name a reader in either system knows.

    >>> friction_leads_below().said("metric"), friction_leads_below().said("inch")
    ('M5', '#10')
    """
    limit = assumption("friction_leads_below").value
    named = min(tables.rows("threads_unified"), key=lambda row: abs(25.4 * float(row["major_in"]) - limit))
    return BySystem(f"M{limit:g}", named["size"])
