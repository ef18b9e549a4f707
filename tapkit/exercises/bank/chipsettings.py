"""Lesson 2, setting a tap so that its chips go where they should."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product

from tapkit.exercises.bank.chipways import flow_of
from tapkit.exercises.bank.rows import deg, g, parts
from tapkit.exercises.blanks import Request, Setting, Slider
from tapkit.exercises.exercise import Draft, Step, exercise
from tapkit.geometry.proportions import form_for
from tapkit.geometry.tap import Tap
from tapkit.mechanics.chipflow import AHEAD, TO_SHANK


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
    cases=lambda: [(p, least) for p, least in product(parts("through"), (8.0, 10.0)) if p.thread.major >= 3.9],
)
def set_chips_ahead(case) -> Draft:
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
    cases=lambda: [(p, most) for p, most in product(parts("blind"), (1.5, 2.5))],
)
def set_chips_up(case) -> Draft:
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


EXERCISES = (
    set_chips_ahead,
    set_chips_up,
)
