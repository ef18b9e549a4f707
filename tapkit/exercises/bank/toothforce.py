"""Lesson 3, force on a tooth, and sharing the load out."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product
from typing import NamedTuple

from tapkit.exercises.bank.rows import g, mm
from tapkit.exercises.bank.toothload import job_for
from tapkit.exercises.blanks import Request, Setting, Slider
from tapkit.exercises.exercise import Draft, Mistake, Step, exercise
from tapkit.exercises.number import Number
from tapkit.mechanics import force
from tapkit.mechanics.workpiece import Workpiece, workpiece_names
from tapkit.operation import Operation
from tapkit.planning.press import press_parts


@exercise(
    "bottoming-against-plug",
    lesson=3,
    topic="tooth load",
    level=1,
    kind="number",
    title="A short chamfer, tooth for tooth",
    cases=lambda: [(p, s, l) for p, s, l in product(press_parts(), (1.5, 2.0), (4.0, 5.0)) if p.thread.major >= 4.9],
    mistakes=(
        Mistake("upside-down", lambda c: 1 / _force_ratio(c), "The other way round: a short chamfer has fewer teeth."),
        Mistake("no-difference", lambda c: 1.0, "The groove is the same, but fewer teeth share it."),
        Mistake(
            "chamfer-ratio",
            lambda c: c[2] / c[1],
            "You divided the chamfer lengths. Thicker chips cut easier for their size, so the force grows by less.",
        ),
    ),
)
def bottoming_against_plug(case) -> Draft:
    """A short chamfer, tooth for tooth."""
    part, short, long = case
    ratio = Number(_force_ratio(case), "times", "ratio")
    strong, weak = (float(job_for(part, n).tooth_loads.force.max()) for n in (short, long))
    return Draft(
        f"The {part.name}, {part.thread.designation}. With a chamfer of {g(long)} threads the most loaded tooth bears "
        f"{g(weak, 3)} N. With a chamfer of {g(short)} threads it bears {g(strong, 3)} N. "
        "How many times as much is that?",
        ratio,
        ("Divide the force with the short chamfer by the force with the long one.",),
        (Step(f"Ratio: {g(strong, 3)} N / {g(weak, 3)} N = {{}}", ratio),),
    )


def _force_ratio(case) -> float:
    part, short, long = case
    return float(job_for(part, short).tooth_loads.force.max() / job_for(part, long).tooth_loads.force.max())


class Cut(NamedTuple):
    """One chip: width and thickness [mm] in a workpiece."""

    work: Workpiece
    width: float
    thickness: float

    def force(self, exponent: float | None = None) -> float:
        """Cutting force by Kienzle [N]."""
        mc = self.work.mc if exponent is None else exponent
        return float(force.cutting_force(width=self.width, thickness=self.thickness, kc11=self.work.kc11, mc=mc))


@exercise(
    "force-on-a-tooth",
    lesson=3,
    topic="tooth load",
    level=3,
    kind="number",
    title="Force on one tooth",
    cases=lambda: [
        Cut(Workpiece.parse(w), b, h) for w, b, h in product(workpiece_names(), (0.6, 1.0), (0.04, 0.06, 0.1))
    ],
    mistakes=(
        Mistake(
            "forgot-exponent",
            lambda c: c.force(0.0),
            "You took the constant for a chip 1 mm thick. A thin chip asks more for its size: use the exponent.",
        ),
        Mistake(
            "exponent-not-taken-from-one",
            lambda c: c.work.kc11 * c.width * c.thickness**c.work.mc,
            "The exponent of the thickness is 1 − m, not m.",
        ),
        Mistake(
            "forgot-width",
            lambda c: c.force() / c.width if c.width != 1 else 2 * c.force(),
            lambda c: "You left out the width." if c.width != 1 else "One tooth, one edge: do not double it.",
        ),
    ),
)
def force_on_a_tooth(cut: Cut) -> Draft:
    """Force on one tooth."""
    newton = Number(cut.force(), "force", "force")
    exponent = 1 - cut.work.mc
    return Draft(
        f"A tooth cuts {cut.work.printed}: chip {mm(cut.width)} wide and {mm(cut.thickness)} thick. The constants are "
        f"{g(cut.work.kc11)} N/mm² and m = {g(cut.work.mc)}. What is the cutting force, with no other factor?",
        newton,
        ("Kienzle: force = constant × width × thickness to the power (1 − m).", "Work out the power first."),
        (
            Step(f"Exponent: 1 − {g(cut.work.mc)} = {{}}", Number(exponent, "number", "ratio")),
            Step(
                f"Power of the thickness: {g(cut.thickness)} to the power {g(exponent)} = {{}}",
                Number(cut.thickness**exponent, "number", "thickness"),
            ),
            Step(f"Force: {g(cut.work.kc11)} × {g(cut.width)} × {g(cut.thickness**exponent)} = {{}}", newton),
        ),
    )


def _set_up(part, values: Mapping[str, float]) -> Operation:
    return job_for(part, values["chamfer"], int(values["flutes"]))


@exercise(
    "set-the-load",
    lesson=3,
    topic="tooth load",
    level=3,
    kind="set the sliders",
    title="Spare every tooth, rub with none",
    cases=lambda: [
        (p, round(1.08 * float(job_for(p, 4.0, z).tooth_loads.area.max()), 4), z)
        for p, z in product(press_parts(), (2, 3, 4))
        if p.thread.major >= 5.9
    ],
)
def set_the_load(case) -> Draft:
    """Spare every tooth, rub with none."""
    part, most, flutes = case
    setting = Setting(
        (
            Slider("chamfer", "Chamfer (threads)", 1.0, 9.0, 0.5, 1.5),
            Slider("flutes", "Flutes", 2.0, 6.0, 1.0, 2.0),
        ),
        (
            Request(
                f"No tooth takes more than {g(most, 3)} mm².",
                lambda job: float(job.tooth_loads.area.max()) <= most,
                "tooth-overloaded",
                "One tooth still takes too much.",
            ),
            Request(
                f"The tap has {flutes} flutes at most.",
                lambda job: job.tap.flutes <= flutes,
                "too-many-flutes",
                "The tap has more flutes than asked.",
            ),
            Request(
                "The chamfer is at most 5 threads.",
                lambda job: job.tap.chamfer_threads <= 5,
                "chamfer-too-long",
                "The chamfer is longer than asked.",
            ),
        ),
        lambda values: _set_up(part, values),
        {"chamfer": 4.0, "flutes": float(flutes)},
        "toothbars",
        {
            "thread": part.thread.designation,
            "work": part.workpiece.name,
            "hole": part.bore,
            "axial_rake": 0.0,
            "radial_rake": 10.0,
        },
    )
    return Draft(
        f"The {part.name}, {part.thread.designation} in {part.metal}, keeps chipping taps. Spread the load.",
        setting,
        ("More teeth on the chamfer: each takes a smaller slice.", "Teeth come from threads and from flutes."),
        (
            Step(f"Take the {flutes} flutes that are allowed."),
            Step("Then lengthen the chamfer, half a thread at a time, until the highest bar is low enough."),
        ),
    )


EXERCISES = (
    bottoming_against_plug,
    force_on_a_tooth,
    set_the_load,
)
