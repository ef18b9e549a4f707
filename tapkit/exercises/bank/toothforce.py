"""Lesson 3, force on a tooth, and sharing the load out."""

from collections.abc import Mapping
from itertools import product
from typing import NamedTuple

from tapkit.exercises.bank.rows import bare_number, metals
from tapkit.exercises.bank.toothshares import area, job_for
from tapkit.exercises.blanks import Request, SettingAsked, Slider
from tapkit.exercises.exercise import Draft, Step, exercise, worked
from tapkit.exercises.number import NumberAsked
from tapkit.mechanics.force import cutting_force
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import _, force, length, stress
from tapkit.operation import Operation
from tapkit.planning.press import press_parts


@exercise(
    "bottoming-against-plug",
    cases=lambda: [(p, s, l) for p, s, l in product(press_parts(), (1.5, 2.0), (4.0, 5.0)) if p.thread.major >= 4.9],
    mistakes={
        "upside-down": lambda c: 1 / _force_ratio(c),
        "no-difference": lambda c: 1.0,
        "chamfer-ratio": lambda c: c[2] / c[1],
    },
)
def bottoming_against_plug(case) -> Draft:
    part, short, long = case
    ratio = NumberAsked(_force_ratio(case), "times", "ratio")
    strong, weak = (float(job_for(part, n).tooth_loads.force.max()) for n in (short, long))
    return Draft(
        ratio,
        (worked(_("Ratio"), ratio, "{strong} / {weak}"),),
        given={
            "long": bare_number(long),
            "short": bare_number(short),
            "strong": force(strong, digits=4),
            "weak": force(weak, digits=4),
        },
    )


def _force_ratio(case) -> float:
    part, short, long = case
    return float(job_for(part, short).tooth_loads.force.max() / job_for(part, long).tooth_loads.force.max())


class ToothCut(NamedTuple):
    """One chip: width and thickness [mm] in a workpiece."""

    work: Workpiece
    width: float
    thickness: float

    def force(self, exponent: float | None = None) -> float:
        """Cutting force by Kienzle [N]."""
        mc = self.work.mc if exponent is None else exponent
        return float(cutting_force(width=self.width, thickness=self.thickness, kc11=self.work.kc11, mc=mc))


@exercise(
    "force-on-a-tooth",
    cases=lambda: [ToothCut(Workpiece.parse(w), b, h) for w, b, h in product(metals(), (0.6, 1.0), (0.04, 0.06, 0.1))],
    mistakes={
        "forgot-exponent": lambda c: c.force(0.0),
        "exponent-not-taken-from-one": lambda c: c.work.kc11 * c.width * c.thickness**c.work.mc,
        "forgot-width": lambda c: c.force() / c.width if c.width != 1 else 2 * c.force(),
    },
)
def force_on_a_tooth(cut: ToothCut) -> Draft:
    newton = NumberAsked(cut.force(), "force", "force")
    exponent = NumberAsked(1 - cut.work.mc, "number", "ratio")
    power = NumberAsked(cut.thickness ** (1 - cut.work.mc), "number", "thickness")
    return Draft(
        newton,
        (
            worked(_("Exponent"), exponent, "1 − {m}"),
            worked(_("Power of the thickness"), power, "{h}^{exponent}"),
            worked(_("Force"), newton, "{k} × {b} × {power}"),
        ),
        given=dict(
            forgotten=_("You left out the width.") if cut.width != 1 else _("One tooth, one edge: do not double it."),
            width=length(cut.width),
            thick=length(cut.thickness),
            kc=stress(cut.work.kc11),
            m=bare_number(cut.work.mc),
            k=bare_number(cut.work.kc11),
            b=bare_number(cut.width),
            h=bare_number(cut.thickness),
            exponent=exponent,
            power=power,
        ),
    )


def _set_up(part, values: Mapping[str, float]) -> Operation:
    return job_for(part, values["chamfer"], int(values["flutes"]))


@exercise(
    "set-the-load",
    cases=lambda: [
        (p, round(1.08 * float(job_for(p, 4.0, z).tooth_loads.area.max()), 4), z)
        for p, z in product(press_parts(), (2, 3, 4))
        if p.thread.major >= 5.9
    ],
)
def set_the_load(case) -> Draft:
    part, most, flutes = case
    setting = SettingAsked(
        (
            Slider("chamfer", _("Chamfer (threads)"), 1.0, 9.0, 0.5, 1.5),
            Slider("flutes", _("Flutes"), 2.0, 6.0, 1.0, 2.0),
        ),
        (
            Request(
                _("No tooth takes more than {most}.", most=area(most, 3)),
                lambda job: float(job.tooth_loads.area.max()) <= most,
                "tooth-overloaded",
                _("One tooth still takes too much."),
            ),
            Request(
                _("The tap has {flutes} flutes at most.", flutes=flutes),
                lambda job: job.tap.flutes <= flutes,
                "too-many-flutes",
                _("The tap has more flutes than asked."),
            ),
            Request(
                _("The chamfer is at most 5 threads."),
                lambda job: job.tap.chamfer_threads <= 5,
                "chamfer-too-long",
                _("The chamfer is longer than asked."),
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
        setting,
        (
            Step(_("Take the {flutes} flutes that are allowed.")),
            Step(_("Then lengthen the chamfer, half a thread at a time, until the highest bar is low enough.")),
        ),
        given={"flutes": flutes},
    )
