"""Lesson 4, drill and percent of thread: both customs, the drill for a percent, and its limits."""

from itertools import product
from typing import NamedTuple

from tapkit.exercises.bank.rows import bare_number, metric, unified
from tapkit.exercises.exercise import Draft, Step, exercise, worked
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.options import ChoiceAsked, Option, known_options, options
from tapkit.geometry.drillsize import DrillSize, drill_set
from tapkit.geometry.thread import Thread
from tapkit.messages import Number, Sentence, _, length
from tapkit.planning.drill import DrillFit, nearest_drills
from tapkit.planning.press import PressPart, press_parts, whole_of


def _fits(percents: tuple[float, ...], threads: tuple[Thread, ...] | None = None) -> list[DrillFit]:
    """Drills of the usual sets near to some percents of each thread."""
    chosen = threads or (*metric(3, 20), *unified(0.19, 0.75))
    fits = [nearest_drills(t, p, count=1)[0] for t, p in product(chosen, percents)]
    return list({(f.thread, f.drill): f for f in fits}.values())


@exercise(
    "percent-of-a-hole",
    cases=lambda: _fits((65.0, 75.0, 82.0)),
    mistakes={
        "other-custom": lambda f: f.percent_iso,
        "pitch-for-two-heights": lambda f: 100 * (f.thread.major - f.drill.diameter) / f.thread.pitch,
        "one-side-only": lambda f: f.percent / 2,
    },
)
def percent_of_a_hole(fit: DrillFit) -> Draft:
    percent = NumberAsked(fit.percent, "percent", "percent")
    full = NumberAsked((fit.thread.major - fit.drill.diameter) / (fit.percent / 100), "length", "thickness")
    stands = NumberAsked(fit.thread.major - fit.drill.diameter, "length", "thickness")
    return Draft(
        percent,
        (
            worked(_("Full thread by custom"), full, "1.299 × {pitch}"),
            worked(_("Thread that stands"), stands, "{major} − {hole}"),
            worked(_("Percent of thread"), percent, "{stands} / {full} × 100"),
        ),
        given={"drill": _named(fit), "hole": length(fit.drill.diameter), "full": full, "stands": stands},
    )


def _named(fit: DrillFit) -> Sentence | str:
    if fit.drill.set.startswith("metric"):
        return fit.drill.name
    return _("{drill}, {diameter}", drill=fit.drill.name, diameter=length(fit.drill.diameter, inch_decimals=4))


class Wanted(NamedTuple):
    """A thread and the percent of it that is wanted (handbook custom)."""

    thread: Thread
    percent: float

    @property
    def hole(self) -> float:
        """The hole for it [mm]."""
        return self.thread.hole_for_percent(self.percent)


@exercise(
    "hole-for-a-percent",
    cases=lambda: [Wanted(t, p) for p, t in product((60.0, 65.0, 70.0, 80.0), (*metric(4, 24), *unified(0.25, 1.0)))],
    mistakes={
        "other-custom": lambda w: w.thread.hole_for_percent(w.percent, "iso"),
        "one-side-only": lambda w: (w.thread.major + w.hole) / 2,
        "pitch-for-two-heights": lambda w: w.thread.major - w.percent / 100 * w.thread.pitch,
    },
)
def hole_for_a_percent(wanted: Wanted) -> Draft:
    thread = wanted.thread
    hole = NumberAsked(wanted.hole, "length", "diameter")
    stands = NumberAsked(thread.major - wanted.hole, "length", "thickness")
    return Draft(
        hole,
        (
            worked(_("To leave standing"), stands, "{percent} / 100 × 1.299 × {pitch}"),
            worked(_("Hole"), hole, "{major} − {stands}"),
        ),
        given={"percent": bare_number(wanted.percent), "stands": stands},
    )


@exercise(
    "quick-rule",
    cases=lambda: [*press_parts(system="metric"), *metric(3, 30), *metric(8, 30, "fine")],
    mistakes={
        "one-side-only": lambda c: _thread(c).major - _thread(c).pitch / 2,
        "two-pitches": lambda c: _thread(c).major - 2 * _thread(c).pitch,
    },
)
def quick_rule(case) -> Draft:
    thread = _thread(case)
    drill = NumberAsked(thread.major - thread.pitch, "length", "drill")
    custom = thread.percent(thread.major - thread.pitch)
    iso = thread.percent(thread.major - thread.pitch, "iso")
    is_part = isinstance(case, PressPart)
    return Draft(
        drill,
        (
            worked(_("Drill"), drill, "{major} − {pitch}"),
            Step(_("That is {custom} % by handbook custom and {iso} % of the ISO height.")),
        ),
        text=_("The {part} needs {thread}. No table is at hand. What drill does the quick rule give?", part=case.name)
        if is_part
        else _("A spare part of {whole} needs {thread}. No table is at hand. What drill does the quick rule give?"),
        given={"custom": Number(custom, decimals=0), "iso": Number(iso, decimals=0), "whole": whole_of(_("the press"))},
    )


def _thread(case) -> Thread:
    return getattr(case, "thread", case)


def _pair_cases() -> list[DrillFit]:
    return _fits((68.0, 75.0, 80.0), (*metric(4, 20), *unified(0.25, 0.625)))


@exercise("two-percents", cases=_pair_cases)
def two_percents(fit: DrillFit) -> Draft:
    custom, iso = Number(fit.percent, decimals=0), Number(fit.percent_iso, decimals=0)
    other = _("The other figure is right against its own full height.")
    choices = (
        Option(_("both are right")),
        Option(_("only {percent} % is right", percent=custom), "only-custom", other),
        Option(_("only {percent} % is right", percent=iso), "only-iso", other),
        Option(_("both are wrong"), "neither", _("Work out both: one with 1.299 pitches, one with 1.0825.")),
    )
    return Draft(
        ChoiceAsked(choices, options("", "two-percents reasons")),
        (
            Step(_("Against 1.299 pitches (handbook custom): {custom} %.")),
            Step(_("Against 1.0825 pitches (basic height of ISO 68-1): {iso} %.")),
            Step(_("The hole is one and the same. Say always which percent you mean.")),
        ),
        given=dict(drill=_named(fit), custom=custom, iso=iso),
    )


def _limit_cases() -> list[DrillFit]:
    found = []
    for thread in (*metric(4, 16), *unified(0.25, 0.5)):
        sizes = drill_set("metric") if thread.system == "metric" else (*drill_set("fraction"), *drill_set("letter"))
        near = [DrillFit(thread, d) for d in sizes if 50 <= thread.percent(d.diameter) <= 99]
        for which in ("under", "within", "over"):
            found += [f for f in near if f.own_limits == which and abs(f.over_limit) > 0.02 * (which != "within")][:2]
    return found


_AGAIN = _("Compare the drill with both limits again.")


@exercise("within-the-limits", cases=_limit_cases)
def within_the_limits(fit: DrillFit) -> Draft:
    limits = fit.thread.limits
    return Draft(
        ChoiceAsked(
            options(fit.own_limits, "within-the-limits", "says"),
            options(fit.own_limits, "within-the-limits reasons", "reason"),
        ),
        (Step(_("Drill {drill} against {low} to {high}: {verdict}.")),),
        given=dict(
            tolerance=fit.thread.tolerance,
            low=length(limits.minor_min),
            high=length(limits.minor_max),
            drill=_named(fit),
            verdict=known_options("within-the-limits reasons")[fit.own_limits][0],
        ),
    )


def neighbours(shelf: tuple[DrillSize, ...], drill: DrillSize) -> tuple[DrillSize, DrillSize]:
    """The next smaller and the next larger drill of a shelf."""
    sizes = sorted({d.diameter: d for d in shelf}.values(), key=lambda d: d.diameter)
    place = next(i for i, d in enumerate(sizes) if abs(d.diameter - drill.diameter) < 1e-6)
    return sizes[max(place - 1, 0)], sizes[min(place + 1, len(sizes) - 1)]
