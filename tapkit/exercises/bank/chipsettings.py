"""Lesson 2, setting a tap so that its chips go where they should, and where they end up."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product

from tapkit.exercises.bank.chipways import flow_of
from tapkit.exercises.bank.rows import deg, g
from tapkit.exercises.blanks import Request, Setting, Slider
from tapkit.exercises.choice import Choice, Option
from tapkit.exercises.exercise import Draft, Sketch, Step, exercise
from tapkit.geometry.fluteform import form_for
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.mechanics.chipflow import AHEAD, TO_SHANK, UNDECIDED
from tapkit.mechanics.chiproom import BELOW, LEAVES, STAYS
from tapkit.operation import Operation
from tapkit.planning.press import PressPart, press_parts


def _tap_of(thread, values: Mapping[str, float]) -> Tap:
    return Tap.make(
        thread,
        form_for(values["axial_rake"]),
        values["chamfer"],
        axial_rake=values["axial_rake"],
        radial_rake=values["radial_rake"],
    )


def _sliders(chamfer: float, axial: float, radial: float) -> tuple[Slider, ...]:
    return (
        Slider("chamfer", "Chamfer (threads)", 1.0, 8.0, 0.5, chamfer),
        Slider("axial_rake", "Axial rake (°)", -15.0, 45.0, 1.0, axial),
        Slider("radial_rake", "Radial rake (°)", 0.0, 20.0, 1.0, radial),
    )


def _sends(direction: str, name: str, missed: str) -> Request:
    return Request(f"The chips go {direction}.", lambda tap: flow_of(tap).direction == direction, name, missed)


@exercise(
    "set-chips-ahead",
    lesson=2,
    topic="chip direction",
    level=2,
    kind="set the sliders",
    title="Drive the chips ahead",
    cases=lambda: [(p, least) for p, least in product(press_parts("through"), (8.0, 10.0)) if p.thread.major >= 3.9],
)
def set_chips_ahead(case) -> Draft:
    """Drive the chips ahead."""
    part, least = case
    setting = Setting(
        _sliders(2.0, -5.0, 10.0),
        (
            _sends(AHEAD, "chips-not-ahead", "The chips do not go ahead for certain."),
            Request(
                "The chamfer is at most 5.5 threads, as in DIN 2197 form B.",
                lambda tap: tap.chamfer_threads <= 5.5,
                "chamfer-too-long",
                "This chamfer is longer than a spiral-point tap has.",
            ),
            Request(
                f"The radial rake is at least {deg(least)} for this metal.",
                lambda tap: tap.radial_rake >= least,
                "rake-too-small",
                "The radial rake is too small.",
            ),
        ),
        lambda values: _tap_of(part.thread, values),
        {"chamfer": 5.0, "axial_rake": -15.0, "radial_rake": least},
        "tip",
        {"thread": part.thread.designation, "work": part.workpiece.name},
    )
    return Draft(
        f"The {part.name} is a through hole, {part.thread.designation}. Its chips shall fall out below. "
        "Set the tap so that it drives them ahead.",
        setting,
        ("Turn the face against the thread: a negative axial rake.", "If the chamfer is steep, no spiral point helps."),
        (
            Step("A long chamfer is flat, so the face can beat it: take the long end of form B."),
            Step("Then turn the axial rake further below zero until the direction is decided."),
        ),
    )


@exercise(
    "set-chips-up",
    lesson=2,
    topic="chip direction",
    level=2,
    kind="set the sliders",
    title="Lift the chips out",
    cases=lambda: [(p, most) for p, most in product(press_parts("blind"), (1.5, 2.5))],
)
def set_chips_up(case) -> Draft:
    """Lift the chips out."""
    part, most = case
    setting = Setting(
        _sliders(4.0, 0.0, 6.0),
        (
            _sends(TO_SHANK, "chips-not-up", "The chips are not lifted for certain."),
            Request(
                f"The chamfer is at most {g(most)} threads, so that the thread reaches near the floor.",
                lambda tap: tap.chamfer_threads <= most,
                "chamfer-too-long",
                "The chamfer is too long: the full thread would end too high.",
            ),
            Request(
                "The axial rake is at most 35°, to keep the core strong.",
                lambda tap: tap.axial_rake <= 35,
                "helix-too-steep",
                "The helix is steeper than asked.",
            ),
        ),
        lambda values: _tap_of(part.thread, values),
        {"chamfer": 1.5, "axial_rake": 30.0, "radial_rake": 10.0},
        "tip",
        {"thread": part.thread.designation, "work": part.workpiece.name},
    )
    return Draft(
        f"The {part.name} has a blind hole, {part.thread.designation}, in {part.metal}. "
        "Set the tap so that it lifts its chips out.",
        setting,
        ("A flute that leans with the thread lifts: a positive axial rake.", "Shorten the chamfer as far as asked."),
        (
            Step("Take the chamfer as short as the request says."),
            Step("Then raise the axial rake until the direction is decided."),
        ),
    )


FATES = {
    LEAVES: ("they leave the hole", "Follow the direction: is the hole open there?"),
    BELOW: ("they collect below the point", "Are they driven ahead, and is there a floor?"),
    STAYS: ("they stay in the flutes", "Something does move them on. Look at the axial rake."),
}


def _fates() -> list[tuple[PressPart, Operation]]:
    taps = (("straight", 4.0, 0.0), ("spiral-point", 5.0, -15.0), ("spiral-flute", 2.5, 40.0))
    found = []
    for part, (form, threads, axial) in product(press_parts(), taps):
        if part.workpiece.chips == "long" and part.thread.major >= 3.9:
            tap = Tap.make(part.thread, form, threads, axial_rake=axial)
            hole = part.bore
            if part.is_through:
                bored = Hole(kind="through", diameter=hole, depth=part.depth)
            else:
                bored = part.plan(threads).hole()
            found.append((part, Operation(tap=tap, hole=bored, workpiece=part.workpiece)))
    return found


@exercise(
    "predict-where-chips-end",
    lesson=2,
    topic="chip direction",
    level=2,
    kind="predict",
    title="Where do the chips end up?",
    cases=_fates,
)
def predict_where_chips_end(case: tuple[PressPart, Operation]) -> Draft:
    """Where do the chips end up?"""
    part, job = case
    fate, flow = job.chip_room.fate, job.chip_flow
    options = tuple(
        Option(text) if key == fate else Option(text, f"says-{key.replace(' ', '-')}", hint)
        for key, (text, hint) in FATES.items()
    )
    ways = {
        AHEAD: ("they are driven ahead of the point", "Is this face turned against the thread?"),
        TO_SHANK: ("they are lifted toward the shank", "Do these flutes lean with the thread?"),
        UNDECIDED: ("nothing sends them either way", "Look at the axial rake: it does send them."),
    }
    reasons = tuple(
        Option(text) if key == flow.direction else Option(text, f"reason-{key.split()[0]}", hint)
        for key, (text, hint) in ways.items()
    )
    tap = job.tap
    hole = "through" if part.is_through else "blind"
    return Draft(
        f"The {part.name} has a {hole} hole, {part.thread.designation}, in {part.metal}. You take a tap with axial "
        f"rake {deg(tap.axial_rake)} and {g(tap.chamfer_threads)} threads of chamfer. Before you see it: where do the "
        "chips end up?",
        Choice(options, reasons, keep_order=True),
        ("First: which way does the edge send them?", "Then: is the hole open there?"),
        (
            Step(f"The chips go {flow.direction}."),
            Step(f"The hole is {hole}: {job.chip_room.goes}."),
        ),
        None,
        Sketch("motion", job, f"Moving picture: the chips go {flow.direction}."),
    )


EXERCISES = (set_chips_ahead, set_chips_up, predict_where_chips_end)
