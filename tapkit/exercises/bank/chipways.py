"""Lesson 2, where the chips go: inclination of the edge, spiral points, helix, and what a steep chamfer does."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import combinations, product
from typing import NamedTuple

from tapkit.exercises.bank.rows import an, cap, deg, g, metric, mm, usual_hole
from tapkit.exercises.choice import Choice, Option, Order, WrongOrder
from tapkit.exercises.exercise import Draft, Mistake, Sketch, Step, exercise
from tapkit.exercises.number import Number
from tapkit.geometry.fluteform import form_of
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.mechanics import rake
from tapkit.mechanics.chipflow import AHEAD, TO_SHANK, UNDECIDED, ChipFlow, chip_flow
from tapkit.mechanics.workpiece import Workpiece
from tapkit.operation import Operation
from tapkit.planning.press import press_parts


def flow_of(tap: Tap) -> ChipFlow:
    """Chip flow on the chamfer edge of a tap."""
    return chip_flow(radial_rake=tap.radial_rake, axial_rake=tap.axial_rake, chamfer_angle=tap.chamfer_angle)


def _angles(tap: Tap) -> str:
    return (
        f"radial rake {deg(tap.radial_rake)}, axial rake {deg(tap.axial_rake)}, "
        f"chamfer angle {deg(round(tap.chamfer_angle, 1))}"
    )


def _steps(tap: Tap) -> tuple[Step, ...]:
    flow = flow_of(tap)
    return (
        Step(f"Inclination of the edge: {g(flow.inclination, 3)}° (negative turns the chip to the shank)"),
        Step(f"Axial angle of the chip: {g(flow.axial_angle, 3)}° (positive is toward the shank)"),
        Step(f"Both must agree and the inclination must pass {g(flow.band)}°: {flow.direction}."),
    )


WAYS = (TO_SHANK, AHEAD, UNDECIDED)


def _way_options(right: str, messages: Mapping[str, str]) -> tuple[Option, ...]:
    return tuple(
        Option(w) if w == right else Option(w, f"says-{w.split()[0]}", messages.get(w, "Look at the angles again."))
        for w in WAYS
    )


def _way_reasons(tap: Tap, right: str) -> tuple[Option, ...]:
    flow = flow_of(tap)
    texts = {
        "helix": "the flute leans with the thread and lifts the chip",
        "driven": "the face is turned so that it pushes the chip before the tap",
        "neutral": "the edge has almost no inclination, so small things decide",
        "steep": "the chamfer is too steep for so small a turn of the face",
    }
    known = {TO_SHANK: "helix", AHEAD: "driven", UNDECIDED: "steep" if flow.inclination >= flow.band else "neutral"}
    lessons = {
        "helix": "Does this flute lean with the thread?",
        "driven": "Is this face turned to push, and enough for its chamfer?",
        "neutral": "Work out the inclination before you say that.",
        "steep": "Compare the turn of the face with the chamfer's angle.",
    }
    return tuple(
        Option(text) if key == known[right] else Option(text, f"reason-{key}", lessons[key])
        for key, text in texts.items()
    )


def _predict_cases() -> list[Tap]:
    taps = []
    for thread in metric(5, 16):
        for form, axial, threads in (
            ("straight", 0, 4),
            ("straight", 0, 1.5),
            ("spiral-point", -12, 4),
            ("spiral-point", -15, 5),
            ("spiral-flute", 15, 2.5),
            ("spiral-flute", 40, 2.5),
            ("left-hand-flute", -15, 4),
        ):
            taps.append(Tap.make(thread, form, threads, axial_rake=float(axial)))
    return taps


def _job(tap: Tap) -> Operation:
    """A job to watch this tap in: long chips of steel, blind where the flutes lift them, else through."""
    size, hole = tap.thread.major, usual_hole(tap.thread)
    if tap.axial_rake > 0:
        hole_for = Hole(kind="blind", diameter=hole, depth=2 * size + tap.chamfer_length)
    else:
        hole_for = Hole(kind="through", diameter=hole, depth=1.5 * size)
    return Operation(tap=tap, hole=hole_for, workpiece=Workpiece.parse("C45"))


@exercise(
    "predict-the-chip",
    lesson=2,
    topic="chip direction",
    level=1,
    kind="predict",
    title="Which way does the chip go?",
    cases=_predict_cases,
)
def predict_the_chip(tap: Tap) -> Draft:
    """Which way does the chip go?"""
    right = flow_of(tap).direction
    messages = {
        TO_SHANK: "Only a flute that leans with the thread lifts its chip.",
        AHEAD: "Only a face turned against the thread drives its chip ahead.",
        UNDECIDED: "This edge does lean. It sends its chip one way.",
    }
    return Draft(
        f"{cap(an(tap.thread.designation))} {tap.flutes}-flute tap: {_angles(tap)}. "
        "Before you see it move: where do its chips go?",
        Choice(_way_options(right, messages), _way_reasons(tap, right), keep_order=True),
        (
            "Look at the axial rake first. Positive lifts, negative drives ahead, zero decides nothing.",
            "A negative axial rake must clearly beat the chamfer's angle.",
        ),
        _steps(tap),
        Sketch("tip", tap, f"Side view of the tap: {_angles(tap)}."),
        Sketch("motion", _job(tap), f"Moving picture: the chips go {right}."),
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
    lesson=2,
    topic="chip direction",
    level=3,
    kind="number",
    title="Inclination of the chamfer edge",
    cases=lambda: _edges((-15.0, -12.0, -10.0, 15.0, 30.0, 40.0)),
    mistakes=(
        Mistake(
            "added-the-terms",
            _added,
            "You added the two terms. The axial rake is taken off: a lifting flute makes the inclination negative.",
        ),
        Mistake(
            "sine-for-cosine",
            _swapped,
            "Sine and cosine are swapped. On a long chamfer the axial rake counts nearly whole.",
        ),
    ),
)
def inclination(edge: Edge) -> Draft:
    """Inclination of the chamfer edge."""
    value = float(rake.inclination(**edge._asdict()))
    sine, cosine = _sin_cos(edge)
    asked = Number(value, "angle", "angle", sign_says="The size is right. A lifting flute makes it negative.")
    first, second = _tan(edge.radial_rake) * sine, _tan(edge.axial_rake) * cosine
    return Draft(
        f"A chamfer edge has radial rake {deg(edge.radial_rake)}, axial rake {deg(edge.axial_rake)} and chamfer angle "
        f"{deg(edge.chamfer_angle)}. What is its inclination?",
        asked,
        (
            "tan λ = tan γp · sin κ − tan γf · cos κ, with radial rake γp, axial rake γf and chamfer angle κ.",
            "Work out the two terms, subtract, then turn the tangent back into an angle.",
        ),
        (
            Step("Radial term: tan γp · sin κ = {}", Number(first, "number", "thickness")),
            Step("Axial term: tan γf · cos κ = {}", Number(second, "number", "thickness")),
            Step(f"Inclination: the angle whose tangent is {g(first, 3)} − ({g(second, 3)}) = {{}}", asked),
        ),
    )


@exercise(
    "neutral-axial-rake",
    lesson=2,
    topic="chip direction",
    level=3,
    kind="number",
    title="The axial rake that decides nothing",
    cases=lambda: _edges((0.0,)) + [Edge(gp, 0.0, k) for gp, k in product((18.0, 20.0), (10.0, 12.0, 18.0, 20.0))],
    mistakes=(
        Mistake(
            "cosine-for-tangent",
            lambda e: _atan(_tan(e.radial_rake) * math.cos(math.radians(e.chamfer_angle))),
            "Both terms of the inclination must be equal: divide sine by cosine, which is the tangent.",
        ),
        Mistake(
            "divided-tangents",
            lambda e: _atan(_tan(e.radial_rake) / _tan(e.chamfer_angle)),
            "You divided the tangents. A long, flat chamfer needs the smaller axial rake: multiply.",
        ),
    ),
)
def neutral_axial_rake(edge: Edge) -> Draft:
    """The axial rake that decides nothing."""
    value = float(rake.neutral_axial_rake(radial_rake=edge.radial_rake, chamfer_angle=edge.chamfer_angle))
    asked = Number(value, "angle", "angle")
    product_of = _tan(edge.radial_rake) * _tan(edge.chamfer_angle)
    return Draft(
        f"A tap has radial rake {deg(edge.radial_rake)} and chamfer angle {deg(edge.chamfer_angle)}. At one axial rake "
        "the edge has no inclination at all. Which one?",
        asked,
        (
            "No inclination means that the two terms of its formula are equal.",
            "Then tan γf = tan γp · tan κ.",
        ),
        (
            Step("Product of the tangents: tan γp · tan κ = {}", Number(product_of, "number", "thickness")),
            Step("Axial rake: the angle with that tangent = {}", asked),
        ),
    )


def _steep_cases() -> list[tuple[Tap, Tap]]:
    pairs = []
    for thread, axial, short in product(metric(5, 16), (-12.0, -10.0, -15.0), (1.5, 2.0)):
        long = Tap.make(thread, "spiral-point", 5, axial_rake=axial)
        steep = Tap.make(thread, "spiral-point", short, axial_rake=axial)
        if flow_of(long).direction == AHEAD and flow_of(steep).direction == UNDECIDED:
            pairs.append((long, steep))
    return pairs


@exercise(
    "steep-chamfer",
    lesson=2,
    topic="chip direction",
    level=2,
    kind="choice with a reason",
    title="A spiral point ground short",
    cases=_steep_cases,
)
def steep_chamfer(pair: tuple[Tap, Tap]) -> Draft:
    """A spiral point ground short."""
    long, steep = pair
    right = flow_of(steep).direction
    messages = {
        AHEAD: "The long chamfer did that. Work out the chip's axial angle with the steep one.",
        TO_SHANK: "The face still leans the other way. Nothing lifts the chip for certain.",
    }
    reasons = (
        Option("the steep chamfer lifts about as much as the face pushes"),
        Option("a short chamfer makes shorter chips", "reason-length", "Length of the chip has no part in its way."),
        Option(
            "the spiral point has been ground away",
            "reason-ground-away",
            "The axial rake was kept. Only the chamfer changed.",
        ),
        Option("fewer teeth cut at once", "reason-teeth", "How many teeth cut does not turn the chip. The angles do."),
    )
    return Draft(
        f"An {long.thread.designation} spiral-point tap drives its chips ahead: {_angles(long)}. Someone regrinds its "
        f"chamfer to {g(steep.chamfer_threads)} threads so that it reaches deeper: {_angles(steep)}. "
        "Where do the chips go now?",
        Choice(_way_options(right, messages), reasons, keep_order=True),
        (
            "The inclination alone does not decide. Look also at the axial angle of the chip.",
            "The axial angle is about the chamfer's angle minus the inclination. It must be below zero to drive ahead.",
        ),
        _steps(steep),
    )


def _hole_cases() -> list:
    return [p for p in press_parts() if p.workpiece.chips == "long" and p.depth >= p.thread.major]


@exercise(
    "flutes-for-the-hole",
    lesson=2,
    topic="chip direction",
    level=1,
    kind="choice with a reason",
    title="Flutes for a hole",
    cases=_hole_cases,
)
def flutes_for_the_hole(part) -> Draft:
    """Flutes for a hole."""
    forms = {form.key: form for form in map(form_of, ("spiral-point", "spiral-flute", "straight"))}
    wanted = AHEAD if part.is_through else TO_SHANK
    flows = {key: flow_of(Tap.make(part.thread, key, form.usual_chamfer)).direction for key, form in forms.items()}
    said = {
        AHEAD: "It drives long chips ahead. In this hole they have no way out there.",
        TO_SHANK: "It lifts the chips, but here they could leave below, and its core is weaker.",
        UNDECIDED: "With straight flutes the way of a long chip is undecided: it fills the flutes.",
    }
    options = tuple(
        Option(f"a {form.printed} tap")
        if flows[key] == wanted
        else Option(f"a {form.printed} tap", f"chose-{key}", said[form.chips])
        for key, form in forms.items()
    )
    out, back = "the chips can leave at the far side", "the chips can only come back out at the top"
    right, other = (out, back) if part.is_through else (back, out)
    reasons = (
        Option(right),
        Option(other, "wrong-way-out", "Look at the hole again: where is it open?"),
        Option("the metal is soft enough for any tap", "reason-soft", "Long chips need a way out in any metal."),
    )
    hole = f"through a part {mm(part.depth)} thick" if part.is_through else f"blind, {mm(part.depth)} of full thread"
    return Draft(
        f"The {part.name} is {part.metal}, which makes long chips. It needs {part.thread.designation}, {hole}. "
        "Which tap do you try first?",
        Choice(options, reasons),
        ("Ask where a chip can leave this hole.", "Then take the flutes that send it there."),
        (
            Step(f"Way out: {right}."),
            *(Step(f"A {forms[key].printed} tap sends its chips: {way}.") for key, way in flows.items()),
        ),
    )


def _order_cases() -> list[tuple[Edge, ...]]:
    edges = [Edge(10.0, float(a), float(k)) for a in (-15, -8, 0, 8, 15, 25, 40) for k in (5, 8, 15, 23)]
    sets = [c for c in combinations(edges, 4) if len({e.axial_rake for e in c}) == 4]
    return [c for c in sets if len({e.chamfer_angle for e in c}) == 4][::9]


@exercise(
    "order-by-lift",
    lesson=2,
    topic="chip direction",
    level=2,
    kind="put in order",
    title="Which edge lifts most",
    cases=_order_cases,
)
def order_by_lift(edges: tuple[Edge, ...]) -> Draft:
    """Which edge lifts most."""

    def text(edge: Edge) -> str:
        return f"axial rake {deg(edge.axial_rake)}, chamfer angle {deg(edge.chamfer_angle)}"

    def lean(edge: Edge) -> float:
        return float(rake.inclination(**edge._asdict()))

    right = sorted(edges, key=lean)
    by_chamfer = sorted(edges, key=lambda e: (-e.chamfer_angle, lean(e)))
    order = Order(
        tuple(map(text, right)),
        "from the one that lifts its chip most to the one that drives it ahead most",
        (
            WrongOrder(
                "chamfer-for-rake",
                tuple(map(text, by_chamfer)),
                "You went by the chamfer. The axial rake turns the chip far more.",
            ),
        ),
        tuple(100 + lean(e) for e in right),
    )
    return Draft(
        f"Four edges, all with radial rake {deg(edges[0].radial_rake)}. Put them in order by where they send the chip: "
        "the one that lifts it most toward the shank first.",
        order,
        ("The inclination decides: negative lifts, positive drives ahead.", "It is almost minus the axial rake."),
        tuple(Step(f"{cap(text(e))}: inclination {g(lean(e), 3)}°") for e in right),
    )


EXERCISES = (
    predict_the_chip,
    inclination,
    neutral_axial_rake,
    steep_chamfer,
    flutes_for_the_hole,
    order_by_lift,
)
