"""Lesson 5, planning the hole: depths from the face down, the drill's cone, the floor, turns."""

from __future__ import annotations

import math
from itertools import product
from typing import NamedTuple

from tapkit.exercises.bank.rows import g, metric, mm, usual_hole
from tapkit.exercises.blanks import Blank, Blanks
from tapkit.exercises.exercise import Draft, Mistake, Sketch, Step, exercise
from tapkit.exercises.number import Number, Slip
from tapkit.geometry.hole import Hole
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holeplan import HolePlan
from tapkit.planning.press import PressPart, press_parts


class Planned(NamedTuple):
    """A blind hole of the press with its plan."""

    part: PressPart
    plan: HolePlan

    @property
    def ask(self) -> DrawingAsk:
        """What is asked for."""
        return self.plan.ask

    @property
    def chamfer(self) -> str:
        """The chamfer in words."""
        return f"{g(self.plan.threads)} threads"


def _plans(lengths: tuple[float, ...] = (1.5, 2.5, 4.0)) -> list[Planned]:
    """Plans for the blind holes in metric parts, over chamfers and drill points."""
    found = []
    for part, threads, angle in product(press_parts("blind", "metric"), lengths, (118.0, 135.0)):
        ask = part.ask(drill_angle=angle)
        found.append(Planned(part, HolePlan(ask, threads)))
    return found


def _drawn(plan: HolePlan) -> Sketch:
    return Sketch("holeplan", plan, f"Section of the hole with every depth from the top face. {plan.in_words()}")


def _asked(case: Planned) -> str:
    return (
        f"The {case.part.name} wants {case.part.thread.designation} with {mm(case.part.depth)} of full thread in a "
        f"blind hole. The tap has a chamfer of {case.chamfer}. "
    )


@exercise(
    "drill-depth",
    lesson=5,
    topic="hole plans",
    level=1,
    kind="number",
    title="How deep to drill",
    cases=lambda: _plans(),
    mistakes=(
        Mistake(
            "forgot-chamfer",
            lambda c: c.plan.cylinder - c.plan.chamfer,
            "You left out the chamfer. Its threads are not full, so they come on top of the full ones.",
        ),
        Mistake(
            "forgot-clearance",
            lambda c: c.plan.tap_depth,
            "The point of the tap would touch the end of the hole. Leave the clearance.",
        ),
        Mistake(
            "added-cone",
            lambda c: c.plan.drill_point,
            "You went down to the drill's point. Asked is the depth at full diameter.",
        ),
    ),
)
def drill_depth(case: Planned) -> Draft:
    """How deep to drill."""
    plan, pitch = case.plan, case.part.thread.pitch
    depth = Number(plan.cylinder, "length", "depth")
    return Draft(
        f"{_asked(case)}One pitch, {mm(pitch)}, stays free ahead of the tap. "
        "How deep must the hole be at full diameter?",
        depth,
        (
            "From the face down: full thread, then the chamfer, then the clearance.",
            "The chamfer in mm is threads times pitch.",
        ),
        (
            Step(
                f"Chamfer: {g(plan.threads)} × {mm(pitch)} = {{}}",
                Number(plan.chamfer, "length", "diameter"),
            ),
            Step(f"Drill depth: {mm(case.part.depth)} + {mm(plan.chamfer)} + {mm(pitch)} = {{}}", depth),
        ),
        reveal=_drawn(plan),
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
    lesson=5,
    topic="hole plans",
    level=2,
    kind="number",
    title="The cone the drill leaves",
    cases=lambda: [Cone(usual_hole(t), a) for t, a in product(metric(4, 24), (118.0, 135.0, 90.0))],
    mistakes=(
        Mistake(
            "diameter-for-radius",
            lambda c: 2 * c.hole.cone_depth,
            "You took the whole diameter. From the axis to the wall it is half of it.",
        ),
        Mistake(
            "multiplied-tangent",
            lambda c: c.diameter / 2 * math.tan(math.radians(c.angle) / 2),
            "You multiplied by the tangent. A flatter point must leave a shallower cone: divide.",
        ),
    ),
)
def drill_cone(cone: Cone) -> Draft:
    """The cone the drill leaves."""
    depth = Number(cone.hole.cone_depth, "length", "depth")
    half = g(cone.angle / 2)
    return Draft(
        f"A drill of {mm(cone.diameter)} with a point of {g(cone.angle)}° leaves a cone at the end of a blind hole. "
        "How deep is the cone, from where the full diameter ends to the very point?",
        depth,
        (
            "Draw the triangle: half the diameter across, half the point angle at the tip.",
            "Depth = half the diameter / tangent of half the angle.",
        ),
        (
            Step(f"Half the diameter: {mm(cone.diameter)} / 2 = {{}}", Number(cone.diameter / 2, "length", "diameter")),
            Step(f"Cone: {mm(cone.diameter / 2)} / tan {half}° = {{}}", depth),
        ),
    )


@exercise(
    "floor-left",
    lesson=5,
    topic="hole plans",
    level=2,
    kind="number",
    title="The floor that is left",
    cases=lambda: _plans(),
    mistakes=(
        Mistake(
            "forgot-cone",
            lambda c: c.ask.thickness - c.plan.cylinder,
            "You stopped where the full diameter ends. The drill's cone goes deeper.",
        ),
        Mistake(
            "tap-for-drill",
            lambda c: c.ask.thickness - c.plan.tap_depth,
            "You measured from the tap's point. The drill goes deeper than the tap.",
        ),
    ),
)
def floor_left(case: Planned) -> Draft:
    """The floor that is left."""
    plan, ask = case.plan, case.ask
    floor = Number(plan.floor_left, "length", "depth")
    return Draft(
        f"The {case.part.name} is {mm(ask.thickness)} thick. You drill {mm(ask.drill)} to {mm(plan.cylinder)} at full "
        f"diameter, point angle {g(ask.drill_angle)}°, for {case.part.thread.designation}. "
        "How thick is the floor below the drill's point?",
        floor,
        ("First find how deep the drill's cone is.", "Take full diameter depth and cone off the thickness."),
        (
            Step(
                f"Cone: {mm(ask.drill)} / 2 / tan {g(ask.drill_angle / 2)}° = {{}}",
                Number(ask.cone_depth, "length", "diameter"),
            ),
            Step(f"Drill point: {mm(plan.cylinder)} + cone = {{}}", Number(plan.drill_point, "length", "depth")),
            Step(f"Floor: {mm(ask.thickness)} − {mm(plan.drill_point, 2)} = {{}}", floor),
        ),
        reveal=_drawn(plan),
    )


@exercise(
    "full-thread-in-a-hole",
    lesson=5,
    topic="hole plans",
    level=2,
    kind="number",
    title="Full thread in a drilled hole",
    cases=lambda: _plans(),
    mistakes=(
        Mistake(
            "forgot-chamfer",
            lambda c: c.plan.tap_depth,
            "You left out the chamfer: its threads are there, but they are not full.",
        ),
        Mistake(
            "forgot-clearance",
            lambda c: c.plan.cylinder - c.plan.chamfer,
            "You let the tap go down to the very end. Keep the clearance.",
        ),
        Mistake(
            "added-chamfer",
            lambda c: c.plan.tap_depth + c.plan.chamfer,
            "You added the chamfer. It takes depth away from the full thread.",
        ),
    ),
)
def full_thread_in_a_hole(case: Planned) -> Draft:
    """Full thread in a drilled hole."""
    plan, pitch = case.plan, case.part.thread.pitch
    full = Number(plan.full_thread_end, "length", "depth")
    return Draft(
        f"A hole in the {case.part.name} is {mm(plan.cylinder)} deep at full diameter. You cut "
        f"{case.part.thread.designation} with a chamfer of {case.chamfer} and keep one pitch free ahead of the tap. "
        "How deep does the full thread reach?",
        full,
        ("From the end of the hole up: clearance, chamfer, then full thread.",),
        (
            Step(
                f"Tap's point: {mm(plan.cylinder)} − {mm(pitch)} = {{}}",
                Number(plan.tap_depth, "length", "depth"),
            ),
            Step(f"Full thread: {mm(plan.tap_depth)} − {g(plan.threads)} × {mm(pitch)} = {{}}", full),
        ),
        reveal=_drawn(plan),
    )


@exercise(
    "turns-to-depth",
    lesson=5,
    topic="hole plans",
    level=1,
    kind="number",
    title="How many turns",
    cases=lambda: _plans(),
    mistakes=(
        Mistake(
            "times-pitch",
            lambda c: c.plan.tap_depth * c.part.thread.pitch,
            "You multiplied. One turn takes the tap one pitch deeper: divide.",
        ),
        Mistake(
            "forgot-chamfer",
            lambda c: c.part.depth / c.part.thread.pitch,
            "You counted the full thread only. The chamfer has to go in as well.",
        ),
    ),
)
def turns_to_depth(case: Planned) -> Draft:
    """How many turns."""
    plan, pitch = case.plan, case.part.thread.pitch
    turns = Number(plan.turns, "turns", "turns")
    return Draft(
        f"{_asked(case)}How many turns does the tap make from the moment its point reaches the face?",
        turns,
        ("The tap's point must go down to full thread plus chamfer.", "In one turn it moves one pitch."),
        (
            Step(
                f"Tap's point: {mm(case.part.depth)} + {g(plan.threads)} × {mm(pitch)} = {{}}",
                Number(plan.tap_depth, "length", "diameter"),
            ),
            Step(f"Turns: {mm(plan.tap_depth)} / {mm(pitch)} = {{}}", turns),
        ),
    )


@exercise(
    "fill-the-hole-plan",
    lesson=5,
    topic="hole plans",
    level=3,
    kind="fill the plan",
    title="A whole hole plan",
    cases=lambda: _plans(),
)
def fill_the_hole_plan(case: Planned) -> Draft:
    """A whole hole plan."""
    plan, ask, pitch = case.plan, case.ask, case.part.thread.pitch

    def depth(value: float, *mistakes: Slip) -> Number:
        return Number(value, "length", "depth", mistakes=mistakes)

    point = depth(plan.tap_depth, Slip("forgot-chamfer", case.part.depth, "the chamfer goes in as well."))
    cylinder = depth(
        plan.cylinder,
        Slip("forgot-clearance", plan.tap_depth, "keep one pitch free ahead of the tap."),
    )
    drill = depth(plan.drill_point, Slip("forgot-cone", plan.cylinder, "the drill's cone goes deeper."))
    floor = depth(
        plan.floor_left, Slip("forgot-cone", ask.thickness - plan.cylinder, "measure from the drill's point.")
    )
    blanks = Blanks(
        (
            Blank("point", "Tap's point", point),
            Blank("cylinder", "Drill depth at full diameter", cylinder),
            Blank("drill", "Drill's point", drill),
            Blank("floor", "Floor left", floor),
        )
    )
    return Draft(
        f"{_asked(case)}The part is {mm(ask.thickness)} thick. You drill {mm(ask.drill)} with a point of "
        f"{g(ask.drill_angle)}° and keep one pitch, {mm(pitch)}, free ahead of the tap. All depths are from the top "
        "face.",
        blanks,
        (
            "Tap's point: full thread plus chamfer. Then the clearance gives the drill depth.",
            "The drill's cone comes on top. What remains of the thickness is the floor.",
        ),
        (
            Step(f"Tap's point: {mm(case.part.depth)} + {g(plan.threads)} × {mm(pitch)} = {{}}", point),
            Step(f"Drill depth at full diameter: tap's point + {mm(pitch)} = {{}}", cylinder),
            Step(f"Drill's point: drill depth + {mm(ask.drill)} / 2 / tan {g(ask.drill_angle / 2)}° = {{}}", drill),
            Step(f"Floor left: {mm(ask.thickness)} − drill's point = {{}}", floor),
        ),
        reveal=_drawn(plan),
    )


EXERCISES = (drill_depth, drill_cone, floor_left, full_thread_in_a_hole, turns_to_depth, fill_the_hole_plan)
