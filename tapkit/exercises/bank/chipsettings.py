"""Lesson 2, setting a tap so that its chips go where they should, and where they end up."""

from collections.abc import Mapping
from itertools import product

from tapkit.exercises.bank.chipways import flow_of
from tapkit.exercises.bank.rows import bare_number
from tapkit.exercises.blanks import Request, SettingAsked, Slider
from tapkit.exercises.exercise import Draft, Sketch, Step, exercise
from tapkit.exercises.options import ChoiceAsked, options
from tapkit.geometry import proportions
from tapkit.geometry.fluteform import form_for
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.mechanics.chipflow import AHEAD, TO_SHANK
from tapkit.messages import Sentence, _, angle, of_table
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
        Slider("chamfer", _("Chamfer (threads)"), 1.0, 8.0, 0.5, chamfer),
        Slider("axial_rake", _("Axial rake (°)"), -15.0, 45.0, 1.0, axial),
        Slider("radial_rake", _("Radial rake (°)"), 0.0, 20.0, 1.0, radial),
    )


def _sends(direction: str, name: str, missed: Sentence) -> Request:
    return Request(
        _("By the model the chips go {direction}.", direction=of_table(direction)),
        lambda tap: flow_of(tap).direction == direction,
        name,
        missed,
    )


def _with_long_chips(kind: str) -> list[PressPart]:
    """Parts whose chips need a way out: short ones fall out of straight flutes."""
    return [p for p in press_parts(kind) if p.workpiece.chips.startswith("long")]


@exercise(
    "set-chips-ahead",
    cases=lambda: [
        (p, least)
        for p in _with_long_chips("through")
        for least in (proportions.rakes_of_group(p.workpiece.group)[0] + more for more in (0, 2))
        if p.thread.major >= 3.9
    ],
)
def set_chips_ahead(case) -> Draft:
    part, least = case
    setting = SettingAsked(
        _sliders(2.0, -5.0, 10.0),
        (
            _sends(AHEAD, "chips-not-ahead", _("The chips do not go ahead for certain.")),
            Request(
                _("The chamfer is at most 5.5 threads, as in DIN 2197 form B."),
                lambda tap: tap.chamfer_threads <= 5.5,
                "chamfer-too-long",
                _("This chamfer is longer than a spiral-point tap has."),
            ),
            Request(
                _("The radial rake is at least {least} for this metal.", least=angle(least)),
                lambda tap: tap.radial_rake >= least,
                "rake-too-small",
                _("The radial rake is too small."),
            ),
        ),
        lambda values: _tap_of(part.thread, values),
        {"chamfer": 5.0, "axial_rake": -15.0, "radial_rake": least},
        "tip",
        {"thread": part.thread.designation, "work": part.workpiece.name},
    )
    return Draft(
        setting,
        (
            Step(_("A long chamfer is flat, so the face can beat it: take the long end of form B.")),
            Step(_("Then turn the axial rake further below zero until the direction is decided.")),
            Step(_("This is the model's word. In the shop a trial hole shows where the chips go.")),
        ),
    )


@exercise("set-chips-up", cases=lambda: list(product(_with_long_chips("blind"), (1.5, 2.5))))
def set_chips_up(case) -> Draft:
    part, most = case
    setting = SettingAsked(
        _sliders(4.0, 0.0, 6.0),
        (
            _sends(TO_SHANK, "chips-not-up", _("The chips are not lifted for certain.")),
            Request(
                _(
                    "The chamfer is at most {most} threads, so that the thread reaches near the floor.",
                    most=bare_number(most),
                ),
                lambda tap: tap.chamfer_threads <= most,
                "chamfer-too-long",
                _("The chamfer is too long: the full thread would end too high."),
            ),
            Request(
                _("The axial rake is at most 35°, to keep the core strong."),
                lambda tap: tap.axial_rake <= 35,
                "helix-too-steep",
                _("The helix is steeper than asked."),
            ),
        ),
        lambda values: _tap_of(part.thread, values),
        {"chamfer": 1.5, "axial_rake": 30.0, "radial_rake": 10.0},
        "tip",
        {"thread": part.thread.designation, "work": part.workpiece.name},
    )
    return Draft(
        setting,
        (
            Step(_("Take the chamfer as short as the request says.")),
            Step(_("Then raise the axial rake until the direction is decided.")),
        ),
    )


def _fates() -> list[tuple[PressPart, Operation]]:
    taps = (("straight", 4.0, 0.0), ("spiral-point", 5.0, -15.0), ("spiral-flute", 2.5, 40.0))
    found = []
    for part, (form, threads, axial) in product(press_parts(), taps):
        if part.is_through and not axial:
            continue  # some chips fall out, some stay: nobody knows how many
        if part.workpiece.chips == "long" and part.thread.major >= 3.9:
            tap = Tap.make(part.thread, form, threads, metal=part.workpiece, axial_rake=axial)
            hole = part.bore
            if part.is_through:
                bored = Hole(kind="through", diameter=hole, depth=part.depth)
            else:
                bored = part.plan(threads).hole()
            found.append((part, Operation(tap=tap, hole=bored, workpiece=part.workpiece)))
    return found


@exercise("predict-where-chips-end", cases=_fates)
def predict_where_chips_end(case: tuple[PressPart, Operation]) -> Draft:
    part, job = case
    fate, flow = job.chip_room.fate, job.chip_flow
    way = of_table(flow.direction)
    return Draft(
        ChoiceAsked(
            options(fate, "predict-where-chips-end", "says"),
            options(flow.direction, "predict-where-chips-end reasons", "reason"),
            keep_order=True,
        ),
        (Step(_("The way of the chips: {way}.")), Step(_("The hole is {hole}: {goes}."))),
        None,
        Sketch("film", job, _("Film of the cut. The way of the chips: {way}.")),
        given={
            "hole": _("through") if part.is_through else _("blind"),
            "axial_rake": angle(job.tap.axial_rake),
            "way": way,
            "goes": job.chip_room.goes,
        },
    )
