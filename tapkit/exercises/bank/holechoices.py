"""Lesson 5, holes that work and holes that do not: which chamfer fits, which plan fails, room for chips."""

import math
from itertools import product
from typing import NamedTuple

from tapkit.exercises.bank.rows import bare_number
from tapkit.exercises.exercise import Draft, Step, exercise, worked
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.options import ChoiceAsked, Option, OrderAsked, WrongOrder, mixed, options
from tapkit.geometry.tap import Tap
from tapkit.messages import Quantity, Sentence, _, angle, length
from tapkit.operation import Operation
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holefit import ChamferFit, chamfer_fits
from tapkit.planning.holeplan import HolePlan
from tapkit.planning.press import PressPart, press_parts, whole_of


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


@exercise("which-chamfer-fits", cases=_tight)
def which_chamfer_fits(case: Tight) -> Draft:
    ask, right = case.ask, case.longest

    def option(fit: ChamferFit) -> Option:
        text = _("{chamfer}, {threads} threads", chamfer=fit.name, threads=bare_number(fit.threads))
        if fit.name == right.name:
            return Option(text)
        if fit.threads > right.threads:
            return Option(
                text, "too-long", _("Work out the drill's point for this chamfer: the floor would be too thin.")
            )
        return Option(text, "shorter-than-needed", _("It fits, but its few teeth bear more. A longer one fits too."))

    return Draft(
        ChoiceAsked(tuple(map(option, case.fits)), options("", "which-chamfer-fits reasons")),
        tuple(
            Step(
                _(
                    "{chamfer}: floor {left}, asked {floor}",
                    chamfer=f.name,
                    left=length(f.plan.floor_left, decimals=2, inch_decimals=3),
                    floor=length(ask.floor),
                )
            )
            for f in case.fits
        ),
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
    for place, one in enumerate(bad):
        others = {id(p[0]): p for p in mixed(good, f"plans/{place}") if p[0] is not one[0]}
        sets.append(Four((one, *list(others.values())[:3])))
    return sets


@exercise("plan-that-fails", cases=_fours)
def plan_that_fails(case: Four) -> Draft:
    def text(one: tuple[PressPart, HolePlan]) -> Sentence:
        part, plan = one
        return _(
            "{part}: {thickness} thick, {thread}, {depth} of full thread, chamfer {threads} threads, drill {drill}",
            part=part.name,
            thickness=length(plan.ask.thickness),
            thread=part.thread.designation,
            depth=length(part.depth),
            threads=bare_number(plan.threads),
            drill=length(plan.ask.drill),
        )

    bad = case.failing
    sound = _("This one fits. Work its drill point out.")
    choices = tuple(Option(text(p)) if p is bad else Option(text(p), "sound-plan", sound) for p in case.plans)
    ask = bad[1].ask
    return Draft(
        ChoiceAsked(choices, options("out" if bad[1].floor_left < 0 else "thin", "plan-that-fails reasons", "says")),
        tuple(map(_floor, case.plans)),
        given=dict(floor=length(ask.floor), point=angle(ask.drill_angle), whole=whole_of(_("the press"))),
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


@exercise("order-by-floor", cases=_floors)
def order_by_floor(plans: tuple[tuple[PressPart, HolePlan], ...]) -> Draft:
    def text(one: tuple[PressPart, HolePlan]) -> Sentence:
        part, plan = one
        return _(
            "{part}: {thickness} thick, drill {drill}, {cylinder} deep",
            part=part.name,
            thickness=length(plan.ask.thickness),
            drill=length(plan.ask.drill),
            cylinder=length(plan.cylinder),
        )

    right = sorted(plans, key=lambda p: -p[1].floor_left)
    by_thickness = sorted(plans, key=lambda p: -p[1].ask.thickness)
    thickness_says = _("You went by the parts' thickness. Take off the drill depth and the cone.")
    order = OrderAsked(
        tuple(map(text, right)),
        _("from the thickest floor to the thinnest"),
        (WrongOrder("thickness-for-floor", tuple(map(text, by_thickness)), thickness_says),),
        tuple(p[1].floor_left for p in right),
    )
    return Draft(order, tuple(map(_floor, right)))


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
        tap = Tap.make(part.thread, "spiral-point", threads, metal=part.workpiece, axial_rake=-15.0)
        found.append(Below(part, Operation(tap=tap, hole=plan.hole(), workpiece=part.workpiece)))
    return found


@exercise(
    "room-below-the-point",
    cases=_spiral_points,
    mistakes={
        "solid-for-loose": lambda c: c.solid / c.across - c.job.hole.cone_depth / 3,
        "forgot-cone": lambda c: c.loose / c.across,
    },
)
def room_below_the_point(case: Below) -> Draft:
    job, ledger = case.job, case.job.chip_room
    room = NumberAsked(case.room, "length", "depth")
    loose = NumberAsked(case.loose, "volume", "area")
    across = NumberAsked(case.across, "area", "area")
    return Draft(
        room,
        (
            worked(_("Loose chips"), loose, "{solid} × {ratio}"),
            worked(_("Cross-section"), across, "π / 4 × ({hole})²"),
            worked(_("Room below the point"), room, "{loose} / {across} − {cone} / 3"),
        ),
        given={
            "solid": Quantity(case.solid, "volume", digits=4),
            "chips": ledger.bulking.printed,
            "ratio": bare_number(ledger.bulking.low),
            "cone": length(job.hole.cone_depth),
            "loose": loose,
            "across": across,
        },
    )


def _floor(one: tuple[PressPart, HolePlan]) -> Step:
    return Step(
        _("Floor in the {part}: {left}", part=one[0].name, left=length(one[1].floor_left, decimals=2, inch_decimals=3))
    )
