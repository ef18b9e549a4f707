"""Operation: a tap, a hole, a workpiece and a speed; it asks the mechanics and keeps nothing of its own."""

from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import Any, NamedTuple

import numpy as np

from tapkit.geometry import section as shape
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.mechanics import (
    breakage,
    caution,
    chipflow,
    chiproom,
    clutch,
    colwell,
    crooked,
    duty,
    expected,
    feed,
    force,
    gauges,
    goingback,
    hand,
    rake,
    sideforce,
    toothload,
    torque,
    torsion,
    truetorsion,
)
from tapkit.mechanics.assumptions import assumption, check_limits
from tapkit.mechanics.toothload import SOUND, Faults, ToothSlices
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Number, Sentence, _, length, listed, ngettext, rough_depth, turns_of


@lru_cache(maxsize=64)
def _slices(tap: Tap, diameter: float, faults: Faults) -> ToothSlices:
    """What each tooth takes: of the hole, the diameter alone counts, so that a change of depth asks nothing anew."""
    found = toothload.tooth_slices(tap, Hole(kind="through", diameter=diameter, depth=diameter), faults)
    for column in found:
        column.flags.writeable = False
    return found


MOST_FEED_ERROR = 10.0
"""Percent off the lead beyond which nothing is a thread any more."""


def _jam_words(at: float | None) -> Sentence:
    if at is None:
        return _("chips jam nowhere")
    return _("chips jam from {depth} deep", depth=rough_depth(at))


def _assumed(name: str) -> Any:
    return field(default_factory=lambda: assumption(name).value)


class ToothLoads(NamedTuple):
    """Load on each tooth, arrays of shape (teeth,) from the point on; fields as in `ToothSlices`, with
    `force` [N] and `rubbing` (bool)."""

    number: np.ndarray
    flute: np.ndarray
    position: np.ndarray
    area: np.ndarray
    width: np.ndarray
    thickness: np.ndarray
    radius: np.ndarray
    force: np.ndarray
    rubbing: np.ndarray
    lost: np.ndarray


@dataclass(frozen=True, kw_only=True)
class Operation:
    """One tapping job, and every assumption it rests on.

    Parameters: `tap`, `hole`, `workpiece`; `speed` [m/min] or None where it is not set; `faults` of the tap; factors
    `tool_factor`, `rake_percent_per_degree`, `wear_factor`; `rubbing_thickness` [mm]; `undecided_band` [deg];
    `shear_at_breakage` [N/mm2]; `chip_friction` on the face; `fluid` one of `expected.fluids()`; `tilt` of a crooked
    start [deg] and the `holder`, one of `feed.holders()`; `feed_error` by which the feed is off the lead [%];
    `tap_class` of the pitch diameter ("2", "H3"); `chip_form` one of `chiproom.FORMS`, `wrench_length` [mm], None for
    the usual ones; `spindle_torque` of the spindle at this speed [N·m]; depth of a `peck` after which the tap is taken
    out and cleared [mm], `back_turns` after which it is turned back, None where that is not done. Defaults come
    from the table `assumptions`.

    >>> job = Operation.parse("M10x1.5 spiral-point plug", "through 8.5 mm x 15 mm", "C45")
    >>> round(job.torque_curve.peak, 1), job.chip_flow.direction
    (7.9, 'ahead of the point')
    """

    tap: Tap
    hole: Hole
    workpiece: Workpiece
    speed: float | None = None
    faults: Faults = SOUND
    tool_factor: float = _assumed("tool_factor")
    rake_percent_per_degree: float = _assumed("rake_percent_per_degree")
    wear_factor: float = _assumed("wear_factor")
    rubbing_thickness: float = _assumed("rubbing_thickness")
    undecided_band: float = _assumed("undecided_band")
    shear_at_breakage: float = _assumed("shear_at_breakage")
    chip_friction: float = _assumed("chip_friction")
    fluid: str = "oil"
    tilt: float = 0.0
    holder: str = "rigid"
    feed_error: float = 0.0
    tap_class: str = ""
    chip_form: str | None = None
    spindle_torque: float | None = None
    peck: float | None = None
    back_turns: float | None = None
    wrench_length: float | None = None

    def __post_init__(self) -> None:
        toothload.check_fit(self.tap, self.hole)
        toothload.reground(self.tap, self.faults)
        object.__setattr__(self, "fluid", expected.fluid(self.fluid).name)
        if self.faults.missing_teeth:
            toothload.check_teeth(self.tap, self.faults)
        crooked.check_tilt(self.tilt)
        check_limits(self)
        object.__setattr__(self, "holder", feed.holder(self.holder).name)
        if self.tap_class:
            gauges.tap_class(self.tap.thread, self.tap_class)
        if not -MOST_FEED_ERROR <= self.feed_error <= MOST_FEED_ERROR:
            raise ValueError(
                _(
                    "a feed {error} % off the lead is outside −{most} % to {most} %; 1 % is already much",
                    error=Number(self.feed_error),
                    most=Number(MOST_FEED_ERROR),
                )
            )
        if not self.hole.is_through and self.hole.tap_depth(self.tap.thread.pitch) <= 0:
            raise ValueError(
                _(
                    "a clearance of {clearance} leaves no depth to tap in a hole drilled {depth} deep; one pitch "
                    "of the thread is usual",
                    clearance=length(self.hole.clearance or 0.0),
                    depth=length(self.hole.depth),
                )
            )

    @classmethod
    def parse(cls, tap: str | Tap, hole: str | Hole, work: str | Workpiece = "C45", **more: Any) -> "Operation":
        """An operation from the texts a person writes; a tap that is only named has the usual rakes for the metal."""
        work = Workpiece.parse(work) if isinstance(work, str) else work
        tap = Tap.parse(tap, metal=work) if isinstance(tap, str) else tap
        hole = Hole.parse(hole) if isinstance(hole, str) else hole
        return cls(tap=tap, hole=hole, workpiece=work, **more)

    def with_(self, **changes: Any) -> "Operation":
        """The same job with some fields changed."""
        return replace(self, **changes)

    @cached_property
    def edge_angles(self) -> dict[str, float]:
        """Radial rake, axial rake and chamfer angle of the tap as it cuts (after a regrind) [deg]."""
        tap = toothload.reground(self.tap, self.faults)
        return dict(radial_rake=tap.radial_rake, axial_rake=tap.axial_rake, chamfer_angle=tap.chamfer_angle)

    @cached_property
    def slices(self) -> ToothSlices:
        """What each tooth takes."""
        return _slices(self.tap, self.hole.diameter, self.faults)

    @property
    def edge_factor(self) -> float:
        """K_tool · K_wear: what the edge's own state makes of the force."""
        return self.tool_factor * self.wear_factor

    @cached_property
    def force_factor(self) -> float:
        """K_rake · K_tool · K_wear."""
        k_rake = force.rake_factor(
            normal_rake=rake.normal_rake(**self.edge_angles),
            test_rake=self.workpiece.gamma0,
            percent_per_degree=self.rake_percent_per_degree,
        )
        return float(k_rake) * self.edge_factor

    @cached_property
    def tooth_loads(self) -> ToothLoads:
        """Load on each tooth, cutting only."""
        s = self.slices
        pull = force.cutting_force(
            width=s.width,
            thickness=s.thickness,
            kc11=self.workpiece.kc11,
            mc=self.workpiece.mc,
            factor=self.force_factor,
        )
        return ToothLoads(
            s.number,
            s.flute,
            s.position,
            s.area,
            s.width,
            s.thickness,
            s.radius,
            pull,
            force.rubs(s.thickness, self.rubbing_thickness),
            s.lost,
        )

    @cached_property
    def torque_curve(self) -> torque.TorqueCurve:
        """Torque of the tooth forces along the depth."""
        return torque.torque_curve(self.slices, self.tooth_loads.force, self.hole, self.tap.thread.pitch)

    @cached_property
    def expected_torque(self) -> expected.ExpectedTorque:
        """Torque to expect along the depth, a range of three shares: cut, crowding chips, friction of the flanks."""
        return expected.expected_torque(
            tap=toothload.reground(self.tap, self.faults),
            hole=self.hole,
            workpiece=self.workpiece,
            slices=self.slices,
            force=self.tooth_loads.force,
            curve=self.torque_curve,
            room=self.chip_room,
            fluid_name=self.fluid,
            wear=self.wear_factor,
        )

    @cached_property
    def chip_flow(self) -> chipflow.ChipFlow:
        """Direction of the chip by Stabler's rule."""
        return chipflow.chip_flow(**self.edge_angles, band=self.undecided_band)

    @property
    def form_of_chips(self) -> str | None:
        """Form of the chips that is given, broken where the tap is turned back, None for the usual one."""
        return self.chip_form or ("broken" if self.back_turns and self.workpiece.chips != "short" else None)

    @property
    def clearing(self) -> Sentence | None:
        """What turning back and taking out do to the chips, None where neither is done."""
        if not (self.peck or self.back_turns):
            return None
        plain, now = self.with_(peck=None, back_turns=None).chip_room, self.chip_room
        how = []
        if self.back_turns:
            how.append(_("turned back every {turns}, so that chips break", turns=turns_of(self.back_turns)))
        if self.peck:
            how.append(_("taken out and cleared every {peck}", peck=rough_depth(self.peck)))
        if plain.jams_at is None and now.jams_at is None:
            return _("{how}: chips jam nowhere, with it or without", how=listed(how, "and"))
        told = dict(how=listed(how, "and"), before=_jam_words(plain.jams_at), after=_jam_words(now.jams_at))
        return _("{how}: without it {before}, with it {after}", **told)

    @cached_property
    def chip_room(self) -> chiproom.ChipRoom:
        """The ledger of chips along the depth."""
        return chiproom.chip_room(
            tap=self.tap,
            hole=self.hole,
            workpiece=self.workpiece,
            slices=self.slices,
            direction=self.chip_flow.direction,
            form=self.form_of_chips,
            every=self.peck,
        )

    @cached_property
    def section(self) -> torsion.Section:
        return torsion.torsion(**shape.measures(self.tap))

    @cached_property
    def breakage(self) -> breakage.Breakage:
        """Torque at breakage and the margin along the depth, fresh and worn."""
        return breakage.breakage(
            section=self.section,
            true=truetorsion.true_torsion(self.tap),
            curve=self.torque_curve,
            expected=self.expected_torque,
            shear_at_breakage=self.shear_at_breakage,
            bending=self.bending_stress,
            wear_factor=self.wear_factor,
        )

    @property
    def going_back(self) -> goingback.GoingBack:
        """Torque to turn the tap back along the depth, and what that does to the chips."""
        return self.expected_torque.back

    @property
    def tapped_depth(self) -> float:
        """How deep the tap works [mm]: the part's thickness, or as far as the point goes in a blind hole."""
        return self.hole.worked_depth(self.tap.thread.pitch)

    def feed_off(self, at: float = 0.0) -> feed.FeedOff:
        """What the error of the feed does to tap and thread, at a place below the mouth [mm]."""
        thread = self.tap.thread
        return feed.feed_off(
            feed=thread.lead * (1 + self.feed_error / 100),
            pitch=thread.pitch,
            depth=self.tapped_depth,
            thread_length=expected.thread_length(thread.major),
            held=feed.holder(self.holder),
            at=at,
        )

    @cached_property
    def gauges(self) -> gauges.Gauges:
        """What GO and NO-GO will say of the tapped hole."""
        thread = self.tap.thread
        inside = self.feed_off(gauges.no_go_depth(thread))
        parts = gauges.growths(
            thread=thread,
            runout=self.faults.runout,
            tilt=self.tilt,
            chamfer=self.tap.chamfer_length,
            feed=(self.feed_off().growth, inside.growth),
        )
        found = gauges.gauges(thread=thread, tap=gauges.tap_class(thread, self.tap_class), parts=parts)
        if caution.has_no_full_thread(self.tap, self.hole):
            return found._replace(sentence=_("nothing to gauge: no full thread is cut"))
        return found

    @cached_property
    def bending_stress(self) -> float:
        """Bending stress at the neck after a crooked start [N/mm2]."""
        return crooked.bending_stress(self.tap, self.tilt, self.holder)

    @cached_property
    def crooked(self) -> crooked.Crooked:
        """One turn of a tap that was started askew: what each tooth takes at least and at most, and the side force."""
        return crooked.one_turn(
            tap=self.tap,
            hole=self.hole,
            faults=self.faults,
            tilt=self.tilt,
            holder=self.holder,
            ratios=self._force_ratios,
            kc11=self.workpiece.kc11,
            mc=self.workpiece.mc,
            factor=self.force_factor,
        )

    @property
    def _force_ratios(self) -> np.ndarray:
        rakes = dict(radial_rake=self.edge_angles["radial_rake"], axial_rake=self.edge_angles["axial_rake"])
        return sideforce.force_ratios(self.chip_friction, self.chip_flow.vector, **rakes)

    @cached_property
    def chip_flow_colwell(self) -> chipflow.ChipFlow:
        """Direction of the chip by Colwell's chord over the engaged edges."""
        chords = colwell.chord_angles(toothload.engaged_ends(self.tap, self.hole, self.faults))
        mean = colwell.mean_chord_angle(chords, self.slices.area, self.edge_angles["chamfer_angle"])
        return colwell.colwell_chip_flow(chord_angle=mean, band=self.undecided_band, **self.edge_angles)

    @cached_property
    def side_forces(self) -> sideforce.SideForces:
        """Sum of the flutes' side forces, all chamfer teeth in the metal."""
        return sideforce.side_forces(self.tooth_loads.force, self.slices.flute, self.tap.flutes, self._force_ratios)

    @property
    def axial_force(self) -> float:
        """Axial force from the chamfer [N], all its teeth in the metal; positive toward the shank."""
        return float(self._force_ratios[2] * self.tooth_loads.force.sum())

    @cached_property
    def tooth_duty(self) -> duty.ToothDuty:
        """Force × path of each tooth in one hole."""
        pull, pitch = self.tooth_loads.force, self.tap.thread.pitch
        return duty.tooth_duty(slices=self.slices, pull=pull, hole=self.hole, pitch=pitch)

    @cached_property
    def duty(self) -> duty.Duty:
        """Duty against a sound straight-flute plug tap of usual proportions in the same hole."""
        usual = Tap.make(self.tap.thread, "straight", "plug", metal=self.workpiece)
        tap = usual.with_(point_diameter=min(usual.point_diameter, self.hole.diameter))
        return self.duty_against(self.with_(tap=tap, faults=SOUND))

    def duty_against(self, reference: "Operation") -> "duty.Duty":
        """Duty against another job, which names itself."""
        tap = reference.tap
        named = dict(thread=tap.thread.designation, tap=tap.name)
        name = ngettext("{thread} {tap}, {count} flute", "{thread} {tap}, {count} flutes", tap.flutes, **named)
        return duty.compare(self.tooth_duty, reference.tooth_duty, name)

    @cached_property
    def hand(self) -> hand.Hand:
        """The same job by hand, with a tap wrench."""
        return hand.by_hand(
            tap=self.tap,
            torque=self.expected_torque.peak,
            breaking=self.breakage.torque_range,
            wrench=self.wrench_length,
        )

    @property
    def clutch(self) -> clutch.Clutch:
        """Torque for the clutch of a tapping holder."""
        return clutch.clutch(self.expected_torque, self.breakage, self.spindle_torque)

    @property
    def groove_area(self) -> float:
        """Area of the thread groove above the hole [mm2]."""
        return toothload.groove_area(self.tap.thread, self.hole.diameter)

    @property
    def cautions(self) -> tuple[Sentence, ...]:
        """Everything a user should be told about this job, each in one sentence."""
        loads = self.tooth_loads
        return (
            *self.tap.cautions(),
            *self.workpiece.cautions(),
            *caution.of_hole(self.tap, self.hole),
            *(caution.of_hand(self.hand) if self.holder == "hand" else []),
            *caution.of_chips(self.tap, self.chip_flow),
            *self.chip_room.cautions,
            *caution.of_faults(self.faults),
            *caution.of_rubbing(loads.area, loads.rubbing, self.rubbing_thickness, self.workpiece.hardens),
            *caution.of_thickness(loads.thickness, loads.force),
            *caution.of_friction(self.tap.thread.major),
            *([self.crooked.sentence] if self.tilt else []),
            *([self.feed_off().sentence] if self.feed_error else []),
            *([self.gauges.sentence] if self.gauges.no_go != gauges.OUT or self.gauges.go != gauges.IN else []),
            *self.breakage.cautions,
        )
