"""Lesson 6, what breaks and what holds: order of strength, two sayings on the chamfer, setting a margin."""

from collections.abc import Mapping
from itertools import combinations, product
from typing import Any, NamedTuple

from tapkit.exercises.bank.rows import bare_number, metric
from tapkit.exercises.bank.strengths import through_job
from tapkit.exercises.blanks import Request, SettingAsked, Slider
from tapkit.exercises.exercise import Draft, Step, exercise
from tapkit.exercises.options import ChoiceAsked, Option, OrderAsked, WrongOrder, options
from tapkit.geometry.fluteform import form_for, form_of
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics.breakage import strength_range
from tapkit.mechanics.chipflow import AHEAD
from tapkit.messages import Number, Sentence, Span, _, length, of_table, torque
from tapkit.operation import Operation
from tapkit.planning.press import PressPart, press_parts


class Built(NamedTuple):
    """A tap by its outside diameter, flutes and core."""

    tap: Tap

    @property
    def breaks_at(self) -> tuple[float, float]:
        """Least and most torque at breakage over the assumed stresses [N·m]."""
        return strength_range(self.tap)

    @property
    def text(self) -> Sentence:
        """The tap in words."""
        return _(
            "{thread}, {flutes} flutes, core {core}",
            thread=self.tap.thread.designation,
            flutes=self.tap.flutes,
            core=length(self.tap.core_diameter),
        )


def _one_order(taps: tuple[Built, ...]) -> bool:
    """Whether the order is the same whatever the steel bears: both ends of the ranges agree."""
    low, high = (sorted(taps, key=lambda b: b.breaks_at[end]) for end in (0, 1))
    return low == high


def _built() -> list[tuple[Built, ...]]:
    shapes = ((0.42, 3), (0.52, 4), (0.38, 3), (0.45, 3)), ((0.40, 3), (0.38, 3), (0.52, 4), (0.40, 3))
    sets = product(list(combinations(metric(5, 16), 4)), shapes)
    taps = (tuple(Built(_with_core(t, z, share)) for t, (share, z) in zip(*one)) for one in sets)
    return [one for one in taps if _one_order(one)]


def _breaking(ends: tuple[float, float]) -> Span:
    return Span(*ends, "torque", digits=3)


def _with_core(thread: Thread, flutes: int, share: float) -> Tap:
    return Tap.make(thread, "straight", "plug", flutes=flutes, core_diameter=round(share * thread.major, 2))


@exercise("order-by-strength", cases=_built)
def order_by_strength(taps: tuple[Built, ...]) -> Draft:
    right = sorted(taps, key=lambda b: -b.breaks_at[0])
    by_flutes = sorted(taps, key=lambda b: (-b.tap.flutes, -b.tap.thread.major))
    by_core = sorted(taps, key=lambda b: -b.tap.core_diameter)
    flutes_says = _("You went by the number of flutes. Size counts far more, to the third power.")
    core_says = _("You went by the core alone. The lands carry too, most of all when few flutes leave them wide.")
    order = OrderAsked(
        tuple(b.text for b in right),
        _("from the strongest to the weakest"),
        (
            WrongOrder("flutes-for-strength", tuple(b.text for b in by_flutes), flutes_says),
            WrongOrder("core-alone", tuple(b.text for b in by_core), core_says),
        ),
        tuple(b.breaks_at[0] for b in right),
    )
    return Draft(
        order,
        (
            *(Step(_("{tap}: would break at {torque}", tap=b.text, torque=_breaking(b.breaks_at))) for b in right),
            Step(_("The ranges are those of the steel. All four are of one steel, so the order holds.")),
        ),
    )


LONG = 5.0
SHORT = 1.5


class Saying(NamedTuple):
    """A part thick enough for all chamfer teeth to cut at once [mm], tapped with two chamfers."""

    part: PressPart
    thick: float

    def job(self, threads: float) -> Operation:
        """The part tapped with a chamfer of so many threads."""
        return through_job(self.part, "straight", threads, self.thick)

    @property
    def ours(self) -> tuple[float, float]:
        """Torque of the tooth forces added up, long and short chamfer [N·m]."""
        return self.job(LONG).torque_curve.peak, self.job(SHORT).torque_curve.peak

    @property
    def published(self) -> tuple[float, float] | None:
        """Torque of the published formula, long and short chamfer [N·m]; None where there is none."""
        found = [self.job(n).expected_torque.published for n in (LONG, SHORT)]
        return None if None in found else (found[0].torque, found[1].torque)

    @property
    def given(self) -> dict[str, Any]:
        """Both pairs of numbers for a sentence."""
        names = "our_long", "our_short", "published_long", "published_short"
        values = (torque(t, digits=3) for t in (*self.ours, *self.published))
        source = of_table(self.job(LONG).expected_torque.published.source)
        return dict(zip(names, values)) | {"long": bare_number(LONG), "short": bare_number(SHORT), "source": source}

    @property
    def load(self) -> Number:
        """Force on the hardest tooth, short over long chamfer."""
        long, short = (self.job(n).tooth_loads.force.max() for n in (LONG, SHORT))
        return bare_number(short / long, 2)


def saying_cases() -> list[Saying]:
    """Parts of which our sum and the published formula do not say the same about a short chamfer."""
    every = (Saying(p, round(share * p.thread.major, 1)) for p, share in product(press_parts(), (1.5, 2.0, 2.5)))
    deep = (s for s in every if s.part.thread.major > 4.5 and s.thick > LONG * s.part.thread.pitch and s.published)
    return [s for s in deep if s.ours[1] < s.ours[0] and s.published[1] > s.published[0]]


@exercise("taper-or-bottoming", cases=saying_cases)
def taper_or_bottoming(case: Saying) -> Draft:
    return Draft(
        ChoiceAsked(options("", "taper-or-bottoming"), options("", "taper-or-bottoming reasons")),
        (
            Step(_("Force on the hardest tooth, short over long chamfer: {load} times. On that both agree.")),
            Step(_("Torque of the whole tap: our sum says less, the published formula more. That is open.")),
            Step(_("Measure both taps new, in the same hole, metal and oil, several holes each.")),
            Step(_("The published formula: {source}.")),
        ),
        given=case.given | {"thick": length(case.thick), "load": case.load},
    )


def _set_up(part: PressPart, values: Mapping[str, float]) -> Operation:
    form, chosen = form_for(values["axial_rake"]), dict(metal=part.workpiece, axial_rake=values["axial_rake"])
    tap = Tap.make(part.thread, form, values["chamfer"], **chosen)
    hole = Hole(kind="through", diameter=values["hole"], depth=part.depth)
    return Operation(tap=tap, hole=hole, workpiece=part.workpiece)


def _margins() -> list[tuple[PressPart, float, float]]:
    found = []
    for part, percent in product(press_parts("through", "metric"), (65.0, 70.0)):
        if part.thread.major >= 4.9:
            hole = round(part.thread.hole_for_percent(percent) / 0.05) * 0.05
            best = _set_up(part, {"chamfer": 4.0, "axial_rake": -12.0, "hole": hole}).expected_torque.peak[1]
            found.append((part, percent - 3, round(1.05 * best, 2)))
    return found


@exercise("set-the-torque", cases=_margins)
def set_the_torque(case: tuple[PressPart, float, float]) -> Draft:
    part, least, most = case
    thread, step = part.thread, 0.05
    low = round((thread.major - 1.3 * thread.pitch) / step) * step
    high = round((thread.major - 0.6 * thread.pitch) / step) * step
    hole = round(thread.hole_for_percent(least + 3) / step) * step
    setting = SettingAsked(
        (
            Slider("chamfer", _("Chamfer (threads)"), 1.0, 9.0, 0.5, 9.0),
            Slider("axial_rake", _("Axial rake (°)"), -15.0, 40.0, 1.0, 0.0),
            Slider("hole", _("Hole (mm)"), round(low, 2), round(high, 2), step, round(low + 2 * step, 2)),
        ),
        (
            Request(
                _("The range of the torque to expect ends at {most} or below.", most=torque(most, digits=3)),
                lambda job: job.expected_torque.peak[1] <= most,
                "torque-too-high",
                _("The tap still needs too much torque."),
            ),
            Request(
                _("At least {least} % of thread by handbook custom.", least=bare_number(least)),
                lambda job: job.tap.thread.percent(job.hole.diameter) >= least,
                "thread-too-shallow",
                _("The thread has become too shallow."),
            ),
            Request(
                _("By the model the chips go {direction}.", direction=of_table(AHEAD)),
                lambda job: job.chip_flow.direction == AHEAD,
                "chips-not-ahead",
                _("The chips do not go ahead for certain."),
            ),
        ),
        lambda values: _set_up(part, values),
        {"chamfer": 4.0, "axial_rake": -12.0, "hole": round(hole, 2)},
        "torquechart",
        {"thread": thread.designation, "work": part.workpiece.name},
    )
    return Draft(
        setting,
        (
            Step(_("Open the hole as far as the percent of thread allows.")),
            Step(_("Take a chamfer of plug length and turn the face to a spiral point.")),
        ),
    )


def _two_taps() -> list[tuple[PressPart, tuple[str, str]]]:
    found = []
    for part, pair in product(press_parts(), (("spiral-point", "spiral-flute"), ("straight", "spiral-flute"))):
        strong, weak = (through_job(part, f, form_of(f).usual_chamfer) for f in pair)
        thinner = weak.tap.core_diameter < 0.99 * strong.tap.core_diameter
        ends = zip(weak.breakage.torque_range, strong.breakage.torque_range)
        if thinner and all(w < 0.97 * s for w, s in ends):
            found.append((part, pair))
    return found


@exercise("which-breaks-first", cases=_two_taps)
def which_breaks_first(case: tuple[PressPart, tuple[str, str]]) -> Draft:
    part, (strong, weak) = case
    jobs = {f: through_job(part, f, form_of(f).usual_chamfer) for f in (strong, weak)}
    names = {
        f: _("the {tap} tap, core {core}", tap=j.tap.name, core=length(j.tap.core_diameter)) for f, j in jobs.items()
    }
    differ = _("Their cores differ, so they do not bear the same.")
    choices = (
        Option(names[weak]),
        Option(names[strong], "stronger-one", _("It has the thicker core, and so it bears more.")),
        Option(_("both at the same torque"), "no-difference", differ),
    )
    return Draft(
        ChoiceAsked(choices, options("", "which-breaks-first reasons")),
        (
            *(
                Step(_("{tap}: would break at {torque}", tap=names[f], torque=_breaking(j.breakage.torque_range)))
                for f, j in jobs.items()
            ),
            Step(_("The ranges are those of the steel. Both are of one steel, so the order holds.")),
        ),
    )
