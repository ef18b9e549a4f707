"""Lesson 6, what breaks and what holds: order of strength, two sayings on the chamfer, setting a margin."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations, product
from typing import NamedTuple

from tapkit.exercises.bank.rows import cap, g, metric, mm
from tapkit.exercises.bank.strength import through_job
from tapkit.exercises.blanks import Request, Setting, Slider
from tapkit.exercises.choice import Choice, Option, Order, WrongOrder
from tapkit.exercises.exercise import Draft, Sketch, Step, exercise
from tapkit.geometry.fluteform import form_for, form_of
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics import torsion
from tapkit.mechanics.assumptions import assumption
from tapkit.operation import Operation
from tapkit.planning.press import PressPart, press_parts


class Built(NamedTuple):
    """A tap by its outside diameter, flutes and core."""

    tap: Tap

    @property
    def breaks_at(self) -> float:
        """Torque at breakage at the assumed stress [N·m]."""
        tap = self.tap
        section = torsion.torsion(
            diameter=tap.thread.major, core=tap.core_diameter, land=tap.land_width, flutes=tap.flutes
        )
        return float(torsion.torque_at_breakage(section, assumption("shear_at_breakage").value))

    @property
    def text(self) -> str:
        """The tap in words."""
        return f"{self.tap.thread.designation}, {self.tap.flutes} flutes, core {mm(self.tap.core_diameter, 2)}"


def _built() -> list[tuple[Built, ...]]:
    shapes = ((0.5, 4), (0.36, 2), (0.45, 3), (0.40, 3)), ((0.52, 4), (0.48, 4), (0.38, 3), (0.36, 2))
    sets = product(list(combinations(metric(5, 16), 4))[::2], shapes)
    return [tuple(Built(_with_core(t, z, share)) for t, (share, z) in zip(*one)) for one in sets]


def _with_core(thread: Thread, flutes: int, share: float) -> Tap:
    return Tap.make(thread, "straight", "plug", flutes=flutes, core_diameter=round(share * thread.major, 2))


@exercise(
    "order-by-strength",
    lesson=6,
    topic="torque and strength",
    level=2,
    kind="put in order",
    title="Which tap bears most",
    cases=_built,
)
def order_by_strength(taps: tuple[Built, ...]) -> Draft:
    """Which tap bears most."""
    right = sorted(taps, key=lambda b: -b.breaks_at)
    by_flutes = sorted(taps, key=lambda b: (-b.tap.flutes, -b.tap.thread.major))
    by_core = sorted(taps, key=lambda b: -b.tap.core_diameter)
    order = Order(
        tuple(b.text for b in right),
        "from the strongest to the weakest",
        (
            WrongOrder(
                "flutes-for-strength",
                tuple(b.text for b in by_flutes),
                "You went by the number of flutes. Size counts far more, to the third power.",
            ),
            WrongOrder(
                "core-alone",
                tuple(b.text for b in by_core),
                "You went by the core alone. The lands carry too, most of all when few flutes leave them wide.",
            ),
        ),
        tuple(b.breaks_at for b in right),
    )
    return Draft(
        "Four taps of one steel. Put them in order by the torque they bear before they break: the strongest first.",
        order,
        (
            "Strength in torsion goes with the third power of the size.",
            "Core and lands carry together. Few flutes leave wide lands.",
        ),
        tuple(Step(f"{b.text}: would break at {g(b.breaks_at, 3)} N·m") for b in right),
    )


class Saying(NamedTuple):
    """A part of some thickness [mm], and the peak torque of a long and a short chamfer in it."""

    part: PressPart
    thick: float

    def peak(self, threads: float) -> float:
        """Peak torque with a chamfer of so many threads [N·m]."""
        return through_job(self.part, "straight", threads, self.thick).torque_curve.peak

    @property
    def ratio(self) -> float:
        """Peak torque of the long chamfer over that of the short one."""
        return self.peak(8.0) / self.peak(1.5)


def _sayings() -> list[Saying]:
    found = []
    for part, share in product(press_parts(system="metric"), (0.3, 1.5, 2.0)):
        case = Saying(part, round(share * part.thread.major, 1))
        if part.thread.major >= 5.9 and part.workpiece.mc > 0.12 and abs(case.ratio - 1) > 0.12:
            found.append(case)
    return found


@exercise(
    "taper-or-bottoming",
    lesson=6,
    topic="torque and strength",
    level=3,
    kind="choice with a reason",
    title="Which chamfer needs less torque",
    cases=_sayings,
)
def taper_or_bottoming(case: Saying) -> Draft:
    """Which chamfer needs less torque."""
    long_less = case.ratio < 1
    thin = "only a few teeth of the long chamfer are in so thin a part at once"
    thick = "with all chamfer teeth in, thin chips cost more force for their size"
    options = (
        _right_if(long_less, "the taper tap, 8 threads", "chose-long", "Here the whole long chamfer is in at once."),
        _right_if(not long_less, "the bottoming tap, 1.5 threads", "chose-short", "Here the long chamfer never is in."),
        Option("both the same", "no-difference", "The groove is the same, but not how many teeth are in it at once."),
    )
    reasons = (
        _right_if(long_less, thin, "reason-thin", "Compare the part's thickness with the chamfer's length."),
        _right_if(not long_less, thick, "reason-thick", "Compare the part's thickness with the chamfer's length."),
        Option("its teeth are smaller", "reason-teeth", "All taps of a size have teeth of one size."),
    )
    pitch = case.part.thread.pitch
    return Draft(
        f"A trial piece of {case.part.metal} is {mm(case.thick)} thick, drilled for {case.part.thread.designation}. "
        "A taper tap (8 threads) and a bottoming tap (1.5 threads) go through it. Which needs the lower peak torque?",
        Choice(options, reasons),
        (
            f"The taper tap's chamfer is {mm(8 * pitch)} long. How much of it can be in the part at once?",
            "Two sayings meet here. Each is true for its own thickness.",
        ),
        (
            Step(f"Taper: chamfer {mm(8 * pitch)}, peak torque {g(case.peak(8.0), 3)} N·m."),
            Step(f"Bottoming: chamfer {mm(1.5 * pitch)}, peak torque {g(case.peak(1.5), 3)} N·m."),
            Step(f"The part is {mm(case.thick)} thick: {thin if long_less else thick}."),
        ),
        Sketch(
            "torquechart",
            through_job(case.part, "straight", 1.5, case.thick),
            f"Torque along the depth of the bottoming tap; it peaks at {g(case.peak(1.5), 3)} N·m.",
        ),
    )


def _right_if(right: bool, text: str, name: str, message: str) -> Option:
    return Option(text) if right else Option(text, name, message)


def _set_up(part: PressPart, values: Mapping[str, float]) -> Operation:
    tap = Tap.make(part.thread, form_for(values["axial_rake"]), values["chamfer"], axial_rake=values["axial_rake"])
    hole = Hole(kind="through", diameter=values["hole"], depth=part.thread.major)
    return Operation(tap=tap, hole=hole, workpiece=part.workpiece)


def _margins() -> list[tuple[PressPart, float, float]]:
    found = []
    for part, percent in product(press_parts(), (65.0, 70.0)):
        if part.thread.major >= 4.9:
            hole = round(part.thread.hole_for_percent(percent) / 0.05) * 0.05
            best = _set_up(part, {"chamfer": 4.0, "axial_rake": -12.0, "hole": hole}).torque_curve.peak
            found.append((part, percent - 3, round(1.05 * best, 2)))
    return found


@exercise(
    "set-the-torque",
    lesson=6,
    topic="torque and strength",
    level=3,
    kind="set the sliders",
    title="Bring the torque down",
    cases=_margins,
)
def set_the_torque(case: tuple[PressPart, float, float]) -> Draft:
    """Bring the torque down."""
    part, least, most = case
    thread, step = part.thread, 0.05
    low = round((thread.major - 1.3 * thread.pitch) / step) * step
    high = round((thread.major - 0.6 * thread.pitch) / step) * step
    hole = round(thread.hole_for_percent(least + 3) / step) * step
    setting = Setting(
        (
            Slider("chamfer", "Chamfer (threads)", 1.0, 9.0, 0.5, 9.0),
            Slider("axial_rake", "Axial rake (°)", -15.0, 40.0, 1.0, 0.0),
            Slider("hole", "Hole (mm)", round(low, 2), round(high, 2), step, round(low + 2 * step, 2)),
        ),
        (
            Request(
                f"Peak torque is {g(most, 3)} N·m at most.",
                lambda job: job.torque_curve.peak <= most,
                "torque-too-high",
                "The tap still needs too much torque.",
            ),
            Request(
                f"At least {g(least)} % of thread by handbook custom.",
                lambda job: job.tap.thread.percent(job.hole.diameter) >= least,
                "thread-too-shallow",
                "The thread has become too shallow.",
            ),
            Request(
                "The chips go ahead of the point.",
                lambda job: job.chip_flow.direction == "ahead of the point",
                "chips-not-ahead",
                "The chips do not go ahead for certain.",
            ),
        ),
        lambda values: _set_up(part, values),
        {"chamfer": 4.0, "axial_rake": -12.0, "hole": round(hole, 2)},
        "torquechart",
        {"thread": thread.designation, "work": part.workpiece.name},
    )
    return Draft(
        f"Taps break in the {part.name}, {thread.designation} through {part.metal}, {mm(thread.major)} thick. "
        "Bring the torque down without spoiling the thread.",
        setting,
        ("Less metal to cut, less torque: the hole.", "A very long chamfer makes many thin chips, which cost torque."),
        (
            Step("Open the hole as far as the percent of thread allows."),
            Step("Shorten the chamfer to plug length and turn the face to a spiral point."),
        ),
    )


def _two_taps() -> list[tuple[PressPart, tuple[str, str]]]:
    found = []
    for part, pair in product(press_parts(), (("spiral-point", "spiral-flute"), ("straight", "spiral-flute"))):
        strong, weak = (through_job(part, f, form_of(f).usual_chamfer) for f in pair)
        thinner = weak.tap.core_diameter < 0.99 * strong.tap.core_diameter
        if thinner and weak.breakage.torque < 0.97 * strong.breakage.torque:
            found.append((part, pair))
    return found


@exercise(
    "which-breaks-first",
    lesson=6,
    topic="torque and strength",
    level=1,
    kind="choice with a reason",
    title="Which of two taps breaks first",
    cases=_two_taps,
)
def which_breaks_first(case: tuple[PressPart, tuple[str, str]]) -> Draft:
    """Which of two taps breaks first."""
    part, (strong, weak) = case
    jobs = {f: through_job(part, f, form_of(f).usual_chamfer) for f in (strong, weak)}
    names = {f: f"the {j.tap.name} tap, core {mm(j.tap.core_diameter, 2)}" for f, j in jobs.items()}
    options = (
        Option(names[weak]),
        Option(names[strong], "stronger-one", "It has the thicker core, and so it bears more."),
        Option("both at the same torque", "no-difference", "Their cores differ, so they do not bear the same."),
    )
    reasons = (
        Option("its deeper flutes leave a thinner core"),
        Option("its flutes are longer", "reason-length", "Length of the flutes does not change the stress."),
        Option("it turns faster", "reason-speed", "Both turn at the same speed here."),
        Option("its thread is deeper", "reason-thread", "Both cut the same thread."),
    )
    return Draft(
        f"Two {part.thread.designation} taps of one steel for the {part.name}. By mistake both meet a hole that is "
        "far too small, and jam. Which breaks at the lower torque?",
        Choice(options, reasons),
        ("Jammed, only strength counts.", "The core is what is left between the flutes."),
        tuple(Step(f"{cap(names[f])}: would break at {g(j.breakage.torque, 3)} N·m") for f, j in jobs.items()),
    )


EXERCISES = (order_by_strength, taper_or_bottoming, set_the_torque, which_breaks_first)
