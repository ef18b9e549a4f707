"""Lesson 5, planning the hole: depths from the face down, the drill's cone, the floor, turns."""

import math
from dataclasses import replace
from itertools import product
from typing import NamedTuple

from tapkit.exercises.bank.rows import metric, usual_hole
from tapkit.exercises.blanks import Blank, BlanksAsked
from tapkit.exercises.exercise import Draft, Sketch, exercise, worked
from tapkit.exercises.number import NumberAsked, Slip
from tapkit.geometry.hole import Hole
from tapkit.messages import Sentence, _, angle, length
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holeplan import HolePlan
from tapkit.planning.press import PressPart, press_parts


class PlannedPart(NamedTuple):
    """A blind hole of the press with its plan."""

    part: PressPart
    plan: HolePlan

    @property
    def ask(self) -> DrawingAsk:
        """What is asked for."""
        return self.plan.ask


def _plans(lengths: tuple[float, ...] = (1.5, 2.5, 4.0)) -> list[PlannedPart]:
    """Plans for the blind holes in metric parts, over chamfers and drill points."""
    found = []
    for part, threads, degrees in product(press_parts("blind", "metric"), lengths, (118.0, 135.0)):
        ask = part.ask(drill_angle=degrees)
        found.append(PlannedPart(part, HolePlan(ask, threads)))
    return found


def _drawn(plan: HolePlan) -> Sketch:
    words = _("Section of the hole with every depth from the top face. {plan}", plan=plan.in_words())
    return Sketch("holeplan", plan, words)


@exercise(
    "drill-depth",
    cases=lambda: _plans(),
    mistakes={
        "forgot-chamfer": lambda c: c.plan.cylinder - c.plan.chamfer,
        "forgot-clearance": lambda c: c.plan.tap_depth,
        "added-cone": lambda c: c.plan.drill_point,
    },
    likely={"threads-for-mm": lambda c: c.part.depth + c.plan.threads + c.part.thread.pitch},
)
def drill_depth(case: PlannedPart) -> Draft:
    plan = case.plan
    depth = NumberAsked(plan.cylinder, "length", "depth")
    chamfer = NumberAsked(plan.chamfer, "length", "diameter")
    return Draft(
        depth,
        (
            worked(_("Chamfer"), chamfer, "{threads} × {pitch}"),
            worked(_("Drill depth"), depth, "{depth} + {chamfer} + {pitch}"),
        ),
        reveal=_drawn(plan),
        given={"chamfer": chamfer},
    )


class Cone(NamedTuple):
    """A drill and its point angle [mm, deg]."""

    diameter: float
    angle: float

    @property
    def hole(self) -> Hole:
        """A blind hole of this drill."""
        return Hole(kind="blind", diameter=self.diameter, depth=5 * self.diameter, drill_angle=self.angle)


@exercise(
    "drill-cone",
    cases=lambda: [Cone(usual_hole(t), a) for t, a in product(metric(4, 24), (118.0, 135.0, 90.0))],
    mistakes={
        "diameter-for-radius": lambda c: 2 * c.hole.cone_depth,
        "multiplied-tangent": lambda c: c.diameter / 2 * math.tan(math.radians(c.angle) / 2),
    },
)
def drill_cone(cone: Cone) -> Draft:
    depth = NumberAsked(cone.hole.cone_depth, "length", "depth")
    radius = NumberAsked(cone.diameter / 2, "length", "diameter")
    return Draft(
        depth,
        (worked(_("Half the diameter"), radius, "{diameter} / 2"), worked(_("Cone"), depth, "{radius} / tan {half}")),
        given=dict(diameter=length(cone.diameter), point=angle(cone.angle), half=angle(cone.angle / 2), radius=radius),
    )


@exercise(
    "floor-left",
    cases=lambda: _plans(),
    mistakes={
        "forgot-cone": lambda c: c.ask.thickness - c.plan.cylinder,
        "tap-for-drill": lambda c: c.ask.thickness - c.plan.tap_depth,
    },
)
def floor_left(case: PlannedPart) -> Draft:
    plan, ask = case.plan, case.ask
    floor = NumberAsked(plan.floor_left, "length", "depth")
    cone = NumberAsked(ask.cone_depth, "length", "diameter")
    deepest = NumberAsked(plan.drill_point, "length", "depth")
    return Draft(
        floor,
        (
            worked(_("Cone"), cone, "{drill} / 2 / tan {half}"),
            worked(_("Drill point"), deepest, "{cylinder} + {cone}"),
            worked(_("Floor"), floor, "{thickness} − {deepest}"),
        ),
        reveal=_drawn(plan),
        given={"cone": cone, "deepest": deepest},
    )


@exercise(
    "full-thread-in-a-hole",
    cases=lambda: _plans(),
    mistakes={
        "forgot-chamfer": lambda c: c.plan.tap_depth,
        "forgot-clearance": lambda c: c.plan.cylinder - c.plan.chamfer,
        "added-chamfer": lambda c: c.plan.tap_depth + c.plan.chamfer,
    },
)
def full_thread_in_a_hole(case: PlannedPart) -> Draft:
    plan = case.plan
    full = NumberAsked(plan.full_thread_end, "length", "depth")
    tip = NumberAsked(plan.tap_depth, "length", "depth")
    return Draft(
        full,
        (
            worked(_("Tap's point"), tip, "{cylinder} − {pitch}"),
            worked(_("Full thread"), full, "{tip} − {threads} × {pitch}"),
        ),
        reveal=_drawn(plan),
        given={"tip": tip},
    )


@exercise(
    "turns-to-depth",
    cases=lambda: _plans(),
    mistakes={
        "times-pitch": lambda c: c.plan.tap_depth * c.part.thread.pitch,
        "forgot-chamfer": lambda c: c.part.depth / c.part.thread.pitch,
    },
)
def turns_to_depth(case: PlannedPart) -> Draft:
    plan = case.plan
    turns = NumberAsked(plan.turns, "turns", "turns")
    tip = NumberAsked(plan.tap_depth, "length", "diameter")
    return Draft(
        turns,
        (
            worked(_("Tap's point"), tip, "{depth} + {threads} × {pitch}"),
            worked(_("To that depth"), turns, "{tip} / {pitch}"),
        ),
        given={"tip": tip},
    )


@exercise("fill-the-hole-plan", cases=lambda: _plans())
def fill_the_hole_plan(case: PlannedPart) -> Draft:
    plan, ask, part = case.plan, case.ask, case.part

    def depth(value: float, name: str, wrong: float, says: Sentence, *more: Slip) -> NumberAsked:
        return NumberAsked(value, "length", "depth", mistakes=(Slip(name, wrong, says), *more))

    chamfer_too = _("The chamfer goes in as well.")
    tip = depth(plan.tap_depth, "forgot-chamfer", part.depth, chamfer_too)
    mixed = Slip("threads-for-mm", part.depth + plan.threads, _("You added threads to mm. Multiply them by the pitch."))
    with_mixed = replace(tip, mistakes=(*tip.mistakes, mixed))
    tip = with_mixed if with_mixed.is_apart else tip
    cylinder = depth(plan.cylinder, "forgot-clearance", plan.tap_depth, _("Keep one pitch free ahead of the tap."))
    deepest = depth(plan.drill_point, "forgot-cone", plan.cylinder, _("The drill's cone goes deeper."))
    floor = depth(plan.floor_left, "forgot-cone", ask.thickness - plan.cylinder, _("Measure from the drill's point."))
    labels = _("Tap's point"), _("Drill depth at full diameter"), _("Drill's point"), _("Floor left")
    numbers = tip, cylinder, deepest, floor
    formulas = (
        "{depth} + {threads} × {pitch}",
        "{tip} + {pitch}",
        "{full} + {drill} / 2 / tan {half}",
        "{thickness} − {deepest}",
    )
    return Draft(
        BlanksAsked(tuple(map(Blank, ("point", "cylinder", "drill", "floor"), labels, numbers))),
        tuple(map(worked, labels, numbers, formulas)),
        reveal=_drawn(plan),
        given={"tip": tip, "full": cylinder, "deepest": deepest},
    )
