"""Lesson 5, holes that work and holes that do not: which chamfer fits, which plan fails, room for chips."""

from __future__ import annotations

import math
from itertools import product
from typing import NamedTuple

from tapkit.exercises.bank.rows import cap, g, mm
from tapkit.exercises.choice import Choice, Option, Order, WrongOrder, mixed
from tapkit.exercises.exercise import Draft, Mistake, Step, exercise
from tapkit.exercises.number import Number
from tapkit.geometry.tap import Tap
from tapkit.operation import Operation
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holefit import ChamferFit, chamfer_fits
from tapkit.planning.holeplan import HolePlan
from tapkit.planning.press import PressPart, press_parts


class Tight(NamedTuple):
    """A part whose floor decides how long the chamfer may be."""

    part: PressPart
    ask: DrawingAsk

    @property
    def fits(self) -> tuple[ChamferFit, ...]:
        """Every named chamfer with the room it has."""
        return chamfer_fits(self.ask)

    @property
    def longest(self) -> ChamferFit:
        """The longest chamfer that fits."""
        return max((f for f in self.fits if f.fits), key=lambda f: f.threads)


def _tight() -> list[Tight]:
    found = []
    for part, threads in product(press_parts("blind", "metric"), (1.5, 2.5, 4.0)):
        roomy = part.ask()
        for more in (0.1, 0.5):
            case = Tight(part, roomy.with_(thickness=round(HolePlan(roomy, threads).drill_point + 2.0 + more, 1)))
            if case.longest.threads == threads:
                found.append(case)
    return found


@exercise(
    "which-chamfer-fits",
    lesson=5,
    topic="hole plans",
    level=2,
    kind="choice with a reason",
    title="The longest chamfer that fits",
    cases=_tight,
)
def which_chamfer_fits(case: Tight) -> Draft:
    """The longest chamfer that fits."""
    part, ask, right = case.part, case.ask, case.longest
    options = tuple(
        Option(f"{f.name}, {g(f.threads)} threads")
        if f is right or f.name == right.name
        else Option(
            f"{f.name}, {g(f.threads)} threads",
            "too-long" if f.threads > right.threads else "shorter-than-needed",
            "Work out the drill's point for this chamfer: the floor would be too thin."
            if f.threads > right.threads
            else "It fits, but its few teeth bear more. A longer one fits too.",
        )
        for f in case.fits
    )
    reasons = (
        Option("it still leaves the floor, and more teeth share the work than on a shorter one"),
        Option("the shortest chamfer is always best in a blind hole", "always-shortest", "Short chamfers wear fast."),
        Option("the longest chamfer is always best", "always-longest", "Not if the drill then goes too deep."),
        Option("the chamfer does not change how deep to drill", "forgot-chamfer", "It does, by its whole length."),
    )
    return Draft(
        f"The {part.name} is {mm(ask.thickness)} thick. It wants {part.thread.designation}, {mm(part.depth)} of full "
        f"thread, and {mm(ask.floor)} of floor below the drill's point. The drill has {mm(ask.drill)} and a point of "
        f"{g(ask.drill_angle)}°; one pitch stays free ahead of the tap. Which is the longest chamfer that fits?",
        Choice(options, reasons),
        (
            "For each chamfer: full thread + chamfer + clearance + cone. What is left is the floor.",
            "Long chamfers spare the teeth. Take the longest that leaves the floor.",
        ),
        tuple(Step(f"{f.name}: floor {g(f.plan.floor_left, 3)} mm, asked {mm(ask.floor)}") for f in case.fits),
    )


class Four(NamedTuple):
    """Four plans of which one fails."""

    plans: tuple[tuple[PressPart, HolePlan], ...]

    @property
    def failing(self) -> tuple[PressPart, HolePlan]:
        """The one that does not fit."""
        return next(p for p in self.plans if not p[1].fits)


def _fours() -> list[Four]:
    good, bad = [], []
    for part, threads in product(press_parts("blind", "metric"), (1.5, 2.5, 4.0)):
        ask = part.ask()
        good.append((part, HolePlan(ask, threads)))
        for short in (1.0, 3.0):
            thin = ask.with_(thickness=round(HolePlan(ask, threads).drill_point + ask.floor - short, 1))
            bad.append((part, HolePlan(thin, threads)))
    sets = []
    for number, one in enumerate(bad):
        others = [p for p in mixed(good, f"plans/{number}") if p[0] is not one[0]][:3]
        sets.append(Four((one, *others)))
    return sets


@exercise(
    "plan-that-fails",
    lesson=5,
    topic="hole plans",
    level=3,
    kind="spot the plan that fails",
    title="One of these plans fails",
    cases=_fours,
)
def plan_that_fails(case: Four) -> Draft:
    """One of these plans fails."""

    def text(one: tuple[PressPart, HolePlan]) -> str:
        part, plan = one
        return (
            f"{part.name}: {mm(plan.ask.thickness)} thick, {part.thread.designation}, {mm(part.depth)} of full thread, "
            f"chamfer {g(plan.threads)} threads, drill {mm(plan.ask.drill)}"
        )

    bad = case.failing
    options = tuple(
        Option(text(p)) if p is bad else Option(text(p), "sound-plan", "This one fits. Work its drill point out.")
        for p in case.plans
    )
    breaks = bad[1].floor_left < 0
    reasons = (
        Option("the drill's point would come out at the far side")
        if breaks
        else Option("the drill's point would come out at the far side", "breaks-out", "It stays inside, just."),
        Option("the floor would be thinner than asked")
        if not breaks
        else Option("the floor would be thinner than asked", "thin-floor", "It is worse: there is no floor left."),
        Option("the tap cannot reach its depth", "cannot-reach", "It can: the hole is drilled for it."),
        Option("the drill is too large for the thread", "wrong-drill", "Each drill leaves about 75 % of thread."),
    )
    ask = bad[1].ask
    return Draft(
        f"Four blind holes for the press. Each needs {mm(ask.floor)} of floor below the drill's point; every drill has "
        f"a point of {g(ask.drill_angle)}°, and one pitch stays free ahead of the tap. One plan fails. Which, and why?",
        Choice(options, reasons),
        (
            "For each: full thread + chamfer + one pitch + cone. Compare with the thickness.",
            "The cone of such a drill is about 0.3 of its diameter.",
        ),
        tuple(Step(f"{cap(p[0].name)}: floor {g(p[1].floor_left, 3)} mm") for p in case.plans),
    )


def _floors() -> list[tuple[tuple[PressPart, HolePlan], ...]]:
    plans = []
    for part in press_parts("blind", "metric"):
        for threads, more in ((1.5, 0), (2.5, 2), (4.0, 5), (2.5, 8), (4.0, 12)):
            ask = part.ask()
            plans.append((part, HolePlan(ask.with_(thickness=ask.thickness + more), threads)))
    pile = [p for turn in range(5) for p in mixed(plans, f"floors/{turn}")]
    sets = (tuple(pile[i : i + 4]) for i in range(0, len(pile) - 3, 2))
    return [four for four in sets if len({p[0].name for p in four}) == 4]


@exercise(
    "order-by-floor",
    lesson=5,
    topic="hole plans",
    level=2,
    kind="put in order",
    title="From the thickest floor to the thinnest",
    cases=_floors,
)
def order_by_floor(plans: tuple[tuple[PressPart, HolePlan], ...]) -> Draft:
    """From the thickest floor to the thinnest."""

    def text(one: tuple[PressPart, HolePlan]) -> str:
        part, plan = one
        return f"{part.name}: {mm(plan.ask.thickness)} thick, drill {mm(plan.ask.drill)}, {mm(plan.cylinder)} deep"

    right = sorted(plans, key=lambda p: -p[1].floor_left)
    by_thickness = sorted(plans, key=lambda p: -p[1].ask.thickness)
    order = Order(
        tuple(map(text, right)),
        "from the thickest floor to the thinnest",
        (
            WrongOrder(
                "thickness-for-floor",
                tuple(map(text, by_thickness)),
                "You went by the parts' thickness. Take off the drill depth and the cone.",
            ),
        ),
        tuple(p[1].floor_left for p in right),
    )
    return Draft(
        "Four blind holes are drilled to these depths at full diameter, all with a point of 118°. Put them in order by "
        "the floor below the drill's point: the thickest first.",
        order,
        ("Floor = thickness − drill depth − cone.", "The cone of a 118° point is 0.3 of the drill's diameter."),
        tuple(Step(f"{cap(p[0].name)}: floor {g(p[1].floor_left, 3)} mm") for p in right),
    )


class Below(NamedTuple):
    """A spiral point in a blind hole, and what its chips ask of the room below."""

    part: PressPart
    job: Operation

    @property
    def across(self) -> float:
        """Cross-section of the hole [mm2]."""
        return math.pi * self.job.hole.diameter**2 / 4

    @property
    def solid(self) -> float:
        """Metal cut [mm3]."""
        return float(self.job.chip_room.solid[-1])

    @property
    def loose(self) -> float:
        """Loose chips at their tightest [mm3]."""
        return float(self.job.chip_room.loose_low[-1])

    @property
    def room(self) -> float:
        """Depth to keep free below the point so that they just fit, the drill's cone counted [mm]."""
        return self.loose / self.across - self.job.hole.cone_depth / 3


def _spiral_points() -> list[Below]:
    found = []
    for part, threads in product(press_parts("blind", "metric"), (3.5, 4.0, 5.0)):
        plan = part.plan(threads)
        tap = Tap.make(part.thread, "spiral-point", threads, axial_rake=-15.0)
        found.append(Below(part, Operation(tap=tap, hole=plan.hole(), workpiece=part.workpiece)))
    return found


@exercise(
    "room-below-the-point",
    lesson=5,
    topic="hole plans",
    level=3,
    kind="number",
    title="Room for a spiral point's chips",
    cases=_spiral_points,
    mistakes=(
        Mistake(
            "solid-for-loose",
            lambda c: c.solid / c.across - c.job.hole.cone_depth / 3,
            "You took solid metal. Chips lie loose and need many times the room.",
        ),
        Mistake(
            "forgot-cone",
            lambda c: c.loose / c.across,
            "You left out the drill's cone. It holds chips too, a third of its depth counts.",
        ),
    ),
)
def room_below_the_point(case: Below) -> Draft:
    """Room for a spiral point's chips."""
    job, ledger = case.job, case.job.chip_room
    room = Number(case.room, "length", "depth")
    ratio = ledger.bulking.low
    return Draft(
        f"Someone taps the blind {case.part.name} with a spiral point. By the end {g(case.solid, 4)} mm³ of metal are "
        f"cut, and all chips lie below the point. They are {ledger.bulking.printed} and fill at least {g(ratio)} times "
        "the room of solid metal. "
        f"The hole has {mm(job.hole.diameter)}; its cone is {g(job.hole.cone_depth, 4)} mm deep and holds as much as a "
        "third of that depth at full diameter. How much must stay free below the tap's point, at full diameter?",
        room,
        (
            "Loose volume = solid volume × ratio.",
            "Divide by the hole's cross-section, then take off a third of the cone.",
        ),
        (
            Step(f"Loose chips: {g(case.solid, 4)} mm³ × {g(ratio)} = {{}}", Number(case.loose, "volume", "area")),
            Step(
                f"Cross-section: π / 4 × ({mm(job.hole.diameter)})² = {{}}",
                Number(case.across, "area", "area"),
            ),
            Step(f"Room below the point: loose / cross-section − {g(job.hole.cone_depth, 4)} mm / 3 = {{}}", room),
        ),
    )


EXERCISES = (which_chamfer_fits, plan_that_fails, order_by_floor, room_below_the_point)
