"""Lesson 2, where the chips go: inclination of the edge, spiral points, helix, and what a steep chamfer does."""

import math
from collections.abc import Mapping
from itertools import combinations, product
from typing import NamedTuple

from tapkit.exercises.bank.rows import bare_number, metric, usual_hole
from tapkit.exercises.exercise import Draft, Sketch, Step, exercise, worked
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.options import ChoiceAsked, Option, OrderAsked, WrongOrder, options
from tapkit.geometry.fluteform import form_of
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.mechanics import rake
from tapkit.mechanics.chipflow import AHEAD, TO_SHANK, UNDECIDED, ChipFlow, chip_flow
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Sentence, _, angle, length, of_table
from tapkit.operation import Operation
from tapkit.planning.press import press_parts


def flow_of(tap: Tap) -> ChipFlow:
    """Chip flow on the chamfer edge of a tap."""
    return chip_flow(radial_rake=tap.radial_rake, axial_rake=tap.axial_rake, chamfer_angle=tap.chamfer_angle)


def _angles(tap: Tap) -> Sentence:
    return _(
        "radial rake {radial_rake}, axial rake {axial_rake}, chamfer angle {chamfer_angle}",
        radial_rake=angle(tap.radial_rake),
        axial_rake=angle(tap.axial_rake),
        chamfer_angle=angle(tap.chamfer_angle),
    )


def _steps(tap: Tap) -> tuple[Step, ...]:
    flow = flow_of(tap)
    says = (
        _("Inclination of the edge: {lean} (negative turns the chip to the shank)", lean=angle(flow.inclination)),
        _("Axial angle of the chip: {axial} (positive is toward the shank)", axial=angle(flow.axial_angle)),
        _(
            "Both must agree and the inclination must pass {band}: {direction}.",
            band=angle(flow.band),
            direction=of_table(flow.direction),
        ),
    )
    return tuple(map(Step, says))


WAYS = (TO_SHANK, AHEAD, UNDECIDED)


def _way_options(right: str, says: Mapping[str, Sentence]) -> tuple[Option, ...]:
    return tuple(
        Option(of_table(w)) if w == right else Option(of_table(w), f"says-{w.split()[0]}", says[w]) for w in WAYS
    )


def _predict_cases() -> list[Tap]:
    """Taps where nobody argues about the way of the chip."""
    kinds = [("straight", 0, 4), ("straight", 0, 2.5), ("spiral-point", -15, 4), ("spiral-point", -15, 5)]
    kinds += [("spiral-flute", 30, 2.5), ("spiral-flute", 40, 2.5), ("left-hand-flute", -15, 4)]
    taps = [Tap.make(t, form, n, axial_rake=float(axial)) for t, (form, axial, n) in product(metric(5, 16), kinds)]
    return [tap for tap in taps if flow_of(tap).direction == tap.form.chips]


def _job(tap: Tap) -> Operation:
    """A job to watch this tap in: long chips of steel, blind where the flutes lift them, else through."""
    size, hole = tap.thread.major, usual_hole(tap.thread)
    if tap.axial_rake > 0:
        hole_for = Hole(kind="blind", diameter=hole, depth=2 * size + tap.chamfer_length)
    else:
        hole_for = Hole(kind="through", diameter=hole, depth=1.5 * size)
    return Operation(tap=tap, hole=hole_for, workpiece=Workpiece.parse("C45"))


@exercise("predict-the-chip", cases=_predict_cases)
def predict_the_chip(tap: Tap) -> Draft:
    right = flow_of(tap).direction
    says = {
        TO_SHANK: _("Only a flute that leans with the thread lifts its chip."),
        AHEAD: _("Only a face turned against the thread drives its chip ahead."),
        UNDECIDED: _("This edge does lean. It sends its chip one way."),
    }
    return Draft(
        ChoiceAsked(_way_options(right, says), options(right, "predict-the-chip reasons", "reason"), keep_order=True),
        _steps(tap),
        Sketch("tip", tap, _("Side view of the tap: {angles}.")),
        Sketch("film", _job(tap), _("Film of the cut. The way of the chips: {right}.")),
        given=dict(angles=_angles(tap), right=of_table(right)),
    )


class Edge(NamedTuple):
    """Angles of a chamfer edge [deg]."""

    radial_rake: float
    axial_rake: float
    chamfer_angle: float


def _edges(axials: tuple[float, ...]) -> list[Edge]:
    return [Edge(*angles) for angles in product((5.0, 8.0, 10.0, 12.0, 15.0), axials, (5.0, 8.0, 15.0, 23.0))]


def _tan(angle: float) -> float:
    return math.tan(math.radians(angle))


def _atan(value: float) -> float:
    return math.degrees(math.atan(value))


def _sin_cos(edge: Edge) -> tuple[float, float]:
    return math.sin(math.radians(edge.chamfer_angle)), math.cos(math.radians(edge.chamfer_angle))


def _added(edge: Edge) -> float:
    sine, cosine = _sin_cos(edge)
    return _atan(_tan(edge.radial_rake) * sine + _tan(edge.axial_rake) * cosine)


def _swapped(edge: Edge) -> float:
    sine, cosine = _sin_cos(edge)
    return _atan(_tan(edge.radial_rake) * cosine - _tan(edge.axial_rake) * sine)


@exercise(
    "inclination",
    cases=lambda: _edges((-15.0, -12.0, -10.0, 15.0, 30.0, 40.0)),
    mistakes={"added-the-terms": _added, "sine-for-cosine": _swapped},
)
def inclination(edge: Edge) -> Draft:
    asked = NumberAsked(
        float(rake.inclination(**edge._asdict())),
        "angle",
        "angle",
        sign_says=_("The size is right. A lifting flute makes it negative."),
    )
    sine, cosine = _sin_cos(edge)
    radial = NumberAsked(_tan(edge.radial_rake) * sine, "number", "thickness")
    axial = NumberAsked(_tan(edge.axial_rake) * cosine, "number", "thickness")
    return Draft(
        asked,
        (
            worked(_("Radial term"), radial, "tan {radial_rake} × sin {chamfer_angle}"),
            worked(_("Axial term"), axial, "tan {axial_rake} × cos {chamfer_angle}"),
            worked(_("Inclination, from its tangent"), asked, "tan⁻¹({radial} − {axial})"),
        ),
        given={k: angle(v) for k, v in edge._asdict().items()} | {"radial": radial, "axial": axial},
    )


@exercise(
    "neutral-axial-rake",
    cases=lambda: _edges((0.0,)) + [Edge(gp, 0.0, k) for gp, k in product((18.0, 20.0), (10.0, 12.0, 18.0, 20.0))],
    mistakes={
        "cosine-for-tangent": lambda e: _atan(_tan(e.radial_rake) * math.cos(math.radians(e.chamfer_angle))),
        "divided-tangents": lambda e: _atan(_tan(e.radial_rake) / _tan(e.chamfer_angle)),
    },
)
def neutral_axial_rake(edge: Edge) -> Draft:
    value = float(rake.neutral_axial_rake(radial_rake=edge.radial_rake, chamfer_angle=edge.chamfer_angle))
    asked = NumberAsked(value, "angle", "angle")
    both = NumberAsked(_tan(edge.radial_rake) * _tan(edge.chamfer_angle), "number", "thickness")
    return Draft(
        asked,
        (
            worked(_("Product of the tangents"), both, "tan {radial_rake} × tan {chamfer_angle}"),
            worked(_("Axial rake, from its tangent"), asked, "tan⁻¹ {both}"),
        ),
        given={k: angle(v) for k, v in edge._asdict().items()} | {"both": both},
    )


def _steep_cases() -> list[tuple[Tap, Tap]]:
    pairs = []
    for thread, rake_, short in product(metric(5, 16), (-12.0, -10.0, -15.0), (1.5, 2.0)):
        long, steep = (Tap.make(thread, "spiral-point", n, axial_rake=rake_) for n in (5, short))
        if flow_of(long).direction == AHEAD and flow_of(steep).direction == UNDECIDED:
            pairs.append((long, steep))
    return pairs


@exercise("steep-chamfer", cases=_steep_cases)
def steep_chamfer(pair: tuple[Tap, Tap]) -> Draft:
    _long, steep = pair
    job = _job(steep)
    return Draft(
        ChoiceAsked(options("", "steep-chamfer"), options("", "steep-chamfer reasons")),
        (
            *_steps(steep),
            Step(_("By the other rule (Colwell) the axial angle is {colwell}.")),
            Step(_("So it stays open. A trial hole in scrap of the same metal shows it.")),
        ),
        given=dict(
            threads=bare_number(steep.chamfer_threads),
            angles=_angles(steep),
            lean=angle(job.chip_flow.inclination),
            stabler=angle(job.chip_flow.axial_angle),
            colwell=angle(job.chip_flow_colwell.axial_angle),
        ),
    )


def _hole_cases() -> list:
    return [p for p in press_parts() if p.workpiece.chips == "long" and p.depth >= p.thread.major]


@exercise("flutes-for-the-hole", cases=_hole_cases)
def flutes_for_the_hole(part) -> Draft:
    forms = {form.key: form for form in map(form_of, ("spiral-point", "spiral-flute", "straight"))}
    wanted = AHEAD if part.is_through else TO_SHANK
    flows = {key: flow_of(part.tap(key, form.usual_chamfer)).direction for key, form in forms.items()}
    says = {
        AHEAD: _("It drives long chips ahead. In this hole they have no way out there."),
        TO_SHANK: _("It lifts the chips, but here they could leave below, and its core is weaker."),
        UNDECIDED: _("With straight flutes the way of a long chip is undecided: it fills the flutes."),
    }
    choices = tuple(
        Option(_("a {form} tap", form=form.printed))
        if flows[key] == wanted
        else Option(_("a {form} tap", form=form.printed), f"chose-{key}", says[form.chips])
        for key, form in forms.items()
    )
    out, back = _("the chips can leave at the far side"), _("the chips can only come back out at the top")
    right, other = (out, back) if part.is_through else (back, out)
    reasons = (
        Option(right),
        Option(other, "wrong-way-out", _("Look at the hole again: where is it open?")),
        Option(_("the metal is soft enough for any tap"), "reason-soft", _("Long chips need a way out in any metal.")),
    )
    deep = length(part.depth)
    through, blind = _("through a part {depth} thick", depth=deep), _("blind, {depth} of full thread", depth=deep)
    return Draft(
        ChoiceAsked(choices, reasons),
        (
            Step(_("Way out: {right}.")),
            *(
                Step(_("Chips of a {form} tap: {way}.", form=forms[key].printed, way=of_table(way)))
                for key, way in flows.items()
            ),
        ),
        given={"hole": through if part.is_through else blind, "right": right},
    )


def _order_cases() -> list[tuple[Edge, ...]]:
    edges = [Edge(10.0, float(a), float(k)) for a in (-15, -8, 0, 8, 15, 25, 40) for k in (5, 8, 15, 23)]
    sets = [c for c in combinations(edges, 4) if len({e.axial_rake for e in c}) == 4]
    return [c for c in sets if len({e.chamfer_angle for e in c}) == 4][::9]


@exercise("order-by-lift", cases=_order_cases)
def order_by_lift(edges: tuple[Edge, ...]) -> Draft:
    def text(edge: Edge) -> Sentence:
        axial, chamfer = angle(edge.axial_rake), angle(edge.chamfer_angle)
        return _("axial rake {axial_rake}, chamfer angle {chamfer_angle}", axial_rake=axial, chamfer_angle=chamfer)

    def lean(edge: Edge) -> float:
        return float(rake.inclination(**edge._asdict()))

    right = sorted(edges, key=lean)
    by_chamfer = sorted(edges, key=lambda e: (-e.chamfer_angle, lean(e)))
    chamfer_says = _("You went by the chamfer. The axial rake leans the edge far more.")
    order = OrderAsked(
        tuple(map(text, right)),
        _("from the most negative inclination to the most positive"),
        (WrongOrder("chamfer-for-rake", tuple(map(text, by_chamfer)), chamfer_says),),
        tuple(100 + lean(e) for e in right),
    )
    return Draft(
        order,
        tuple(Step(_("{edge}: inclination {lean}", edge=text(e), lean=angle(lean(e)))) for e in right),
        given=dict(radial_rake=angle(edges[0].radial_rake)),
    )
