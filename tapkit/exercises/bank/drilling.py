"""Lesson 4, drill and percent of thread: both customs, the drill for a percent, and its limits."""

from __future__ import annotations

from itertools import product
from typing import NamedTuple

from tapkit.exercises.bank.rows import g, inch, metric, mm, unified
from tapkit.exercises.choice import Choice, Option
from tapkit.exercises.exercise import Draft, Mistake, Step, exercise
from tapkit.exercises.number import Number
from tapkit.geometry.drillsize import DrillSize, drill_set
from tapkit.geometry.thread import Thread
from tapkit.planning.drill import DrillFit, nearest_drills
from tapkit.planning.press import press_parts


def _fits(percents: tuple[float, ...], threads: tuple[Thread, ...] | None = None) -> list[DrillFit]:
    """Drills of the usual sets near to some percents of each thread."""
    chosen = threads or (*metric(3, 20), *unified(0.19, 0.75))
    fits = [nearest_drills(t, p, count=1)[0] for t, p in product(chosen, percents)]
    return list({(f.thread, f.drill): f for f in fits}.values())


def _size(fit: DrillFit) -> str:
    return mm(fit.drill.diameter) if fit.thread.system == "metric" else f"{fit.drill.diameter / 25.4:.4f} in"


def _major(thread: Thread) -> str:
    return mm(thread.major) if thread.system == "metric" else inch(thread.major)


def _pitch(thread: Thread) -> str:
    return mm(thread.pitch) if thread.system == "metric" else f"{1 / thread.threads_per_inch:.5f} in"


@exercise(
    "percent-of-a-hole",
    lesson=4,
    topic="drills and percent",
    level=1,
    kind="number",
    title="Percent of thread of a hole",
    cases=lambda: _fits((65.0, 75.0, 82.0)),
    mistakes=(
        Mistake(
            "other-custom",
            lambda f: f.percent_iso,
            "That is against the basic height of ISO 68-1. Asked is the handbook custom, with 1.299 pitches.",
        ),
        Mistake(
            "pitch-for-two-heights",
            lambda f: 100 * (f.thread.major - f.drill.diameter) / f.thread.pitch,
            "You divided by the pitch alone. A full thread by handbook custom takes 1.299 pitches off the diameter.",
        ),
        Mistake(
            "one-side-only",
            lambda f: f.percent / 2,
            "You halved the difference of the diameters. The 1.299 pitches already count both sides.",
        ),
    ),
)
def percent_of_a_hole(fit: DrillFit) -> Draft:
    """Percent of thread of a hole."""
    percent = Number(fit.percent, "percent", "percent")
    depth = (fit.thread.major - fit.drill.diameter) / (fit.percent / 100)
    system = fit.thread.system
    return Draft(
        f"{fit.thread.designation} is tapped in a hole drilled with {_named(fit)}. "
        "What percent of thread is that by handbook custom?",
        percent,
        (
            "Take the hole from the major diameter: that is how much thread stands on both sides.",
            "A full thread by handbook custom is 1.299 pitches on the diameter.",
        ),
        (
            Step(
                f"Full thread by custom: 1.299 × {_pitch(fit.thread)} = {{}}",
                Number(depth, "length", "thickness", "metric" if system == "metric" else "inch"),
            ),
            Step(
                f"Thread that stands: {_major(fit.thread)} − {_size(fit)} = {{}}",
                Number(
                    fit.thread.major - fit.drill.diameter,
                    "length",
                    "thickness",
                    "metric" if system == "metric" else "inch",
                ),
            ),
            Step("Percent of thread: what stands / full thread × 100 = {}", percent),
        ),
    )


def _named(fit: DrillFit) -> str:
    if fit.drill.set.startswith("metric"):
        return fit.drill.name
    return f"{fit.drill.name}, {fit.drill.diameter / 25.4:.4f} in"


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
    lesson=4,
    topic="drills and percent",
    level=2,
    kind="number",
    title="Hole for a percent of thread",
    cases=lambda: [Wanted(t, p) for p, t in product((60.0, 65.0, 70.0, 80.0), (*metric(4, 24), *unified(0.25, 1.0)))],
    mistakes=(
        Mistake(
            "other-custom",
            lambda w: w.thread.hole_for_percent(w.percent, "iso"),
            "You used the basic height of ISO 68-1, 1.0825 pitches. The handbook custom has 1.299.",
        ),
        Mistake(
            "one-side-only",
            lambda w: (w.thread.major + w.hole) / 2,
            "You took the thread off on one side only.",
        ),
        Mistake(
            "pitch-for-two-heights",
            lambda w: w.thread.major - w.percent / 100 * w.thread.pitch,
            "You took a percent of the pitch. A full thread by custom is 1.299 pitches on the diameter.",
        ),
    ),
)
def hole_for_a_percent(wanted: Wanted) -> Draft:
    """Hole for a percent of thread."""
    thread, percent = wanted.thread, wanted.percent
    system = "metric" if thread.system == "metric" else "inch"
    hole = Number(wanted.hole, "length", "diameter", system)
    return Draft(
        f"For {thread.designation} you want {g(percent)} % of thread by handbook custom. How large must the hole be?",
        hole,
        (
            "A full thread by handbook custom takes 1.299 pitches off the diameter.",
            "Take the wanted percent of that off the major diameter.",
        ),
        (
            Step(
                f"To leave standing: {g(percent / 100)} × 1.299 × {_pitch(thread)} = {{}}",
                Number(thread.major - wanted.hole, "length", "thickness", system),
            ),
            Step(f"Hole: {_major(thread)} less that = {{}}", hole),
        ),
    )


@exercise(
    "quick-rule",
    lesson=4,
    topic="drills and percent",
    level=1,
    kind="number",
    title="The quick rule for the drill",
    cases=lambda: [*press_parts(system="metric"), *metric(3, 30), *metric(8, 30, "fine")],
    mistakes=(
        Mistake(
            "one-side-only",
            lambda c: _thread(c).major - _thread(c).pitch / 2,
            "You took off half a pitch. The quick rule takes the whole pitch off the diameter.",
        ),
        Mistake(
            "two-pitches",
            lambda c: _thread(c).major - 2 * _thread(c).pitch,
            "You took the pitch off twice. The rule is meant for the diameter, once.",
        ),
    ),
)
def quick_rule(case) -> Draft:
    """The quick rule for the drill."""
    thread = _thread(case)
    drill = Number(thread.major - thread.pitch, "length", "drill")
    where = f"The {case.name}" if hasattr(case, "press") else "A spare part of the press"
    return Draft(
        f"{where} needs {thread.designation}. No table is at hand. What drill does the quick rule give?",
        drill,
        ("The quick rule: diameter minus pitch.",),
        (
            Step(f"Drill: {mm(thread.major)} − {mm(thread.pitch)} = {{}}", drill),
            Step(
                f"That is {thread.percent(thread.major - thread.pitch):.0f} % by handbook custom and "
                f"{thread.percent(thread.major - thread.pitch, 'iso'):.0f} % of the ISO height."
            ),
        ),
    )


def _thread(case) -> Thread:
    return getattr(case, "thread", case)


def _pair_cases() -> list[DrillFit]:
    return _fits((68.0, 75.0, 80.0), (*metric(4, 20), *unified(0.25, 0.625)))


@exercise(
    "two-percents",
    lesson=4,
    topic="drills and percent",
    level=1,
    kind="choice with a reason",
    title="Two percents for one hole",
    cases=_pair_cases,
)
def two_percents(fit: DrillFit) -> Draft:
    """Two percents for one hole."""
    custom, iso = f"{fit.percent:.0f} %", f"{fit.percent_iso:.0f} %"
    options = (
        Option("both are right"),
        Option(f"only {custom} is right", "only-custom", "The other figure is right against its own full height."),
        Option(f"only {iso} is right", "only-iso", "The other figure is right against its own full height."),
        Option("both are wrong", "neither", "Work out both: one with 1.299 pitches, one with 1.0825."),
    )
    reasons = (
        Option("each compares the same thread with another full height"),
        Option("one of them belongs to the screw", "reason-screw", "Both speak of the tapped hole."),
        Option("one of them counts one side only", "reason-one-side", "Both count the whole diameter."),
        Option("a worn drill makes the difference", "reason-worn", "The hole is the same in both."),
    )
    return Draft(
        f"Two apprentices drill {_named(fit)} for {fit.thread.designation}. One says: “That is {custom} of thread.” "
        f"The other says: “No, {iso}.” Who is right?",
        Choice(options, reasons),
        ("Ask: percent of what?", "There are two customs for a full thread: 1.299 and 1.0825 pitches."),
        (
            Step(f"Against 1.299 pitches (handbook custom): {custom}."),
            Step(f"Against 1.0825 pitches (basic height of ISO 68-1): {iso}."),
            Step("The hole is one and the same. Say always which percent you mean."),
        ),
    )


def _limit_cases() -> list[DrillFit]:
    found = []
    for thread in (*metric(4, 16), *unified(0.25, 0.5)):
        sizes = drill_set("metric") if thread.system == "metric" else (*drill_set("fraction"), *drill_set("letter"))
        near = [DrillFit(thread, d) for d in sizes if 50 <= thread.percent(d.diameter) <= 99]
        for which in ("under", "within", "over"):
            found += [f for f in near if f.own_limits == which and abs(f.over_limit) > 0.02 * (which != "within")][:2]
    return found


@exercise(
    "within-the-limits",
    lesson=4,
    topic="drills and percent",
    level=2,
    kind="choice with a reason",
    title="Is this drill within the limits",
    cases=_limit_cases,
)
def within_the_limits(fit: DrillFit) -> Draft:
    """Is this drill within the limits."""
    limits = fit.thread.limits
    says = {
        "within": ("yes, it is within the limits", "the hole lies between the two minor diameters"),
        "under": ("no, the hole comes out too small", "the hole is smaller than the least minor diameter"),
        "over": ("no, the hole comes out too large", "the hole is larger than the largest minor diameter"),
    }
    right = fit.own_limits
    options = tuple(Option(t) if k == right else Option(t, f"says-{k}", _limit_hint(k)) for k, (t, _) in says.items())
    reasons = tuple(
        Option(r) if k == right else Option(r, f"reason-{k}", "Compare the drill with both limits again.")
        for k, (_, r) in says.items()
    )
    low, high = (
        (f"{mm(limits.minor_min)}", f"{mm(limits.minor_max)}")
        if fit.thread.system == "metric"
        else (inch(limits.minor_min), inch(limits.minor_max))
    )
    return Draft(
        f"The drawing asks for {fit.thread.designation}, class {fit.thread.tolerance}: minor diameter {low} to {high}. "
        f"In the drawer lies a drill {_named(fit)}. Say it drills its own size. May you use it?",
        Choice(options, reasons),
        ("The minor diameter of the thread is the hole that the drill leaves.", "Compare it with both limits."),
        (Step(f"Drill {_named(fit)} against {low} to {high}: {right}."),),
    )


def _limit_hint(said: str) -> str:
    return {
        "within": "Compare again: one of the two limits is passed.",
        "under": "Is the drill really smaller than the lower limit?",
        "over": "Is the drill really larger than the upper limit?",
    }[said]


def neighbours(shelf: tuple[DrillSize, ...], drill: DrillSize) -> tuple[DrillSize, DrillSize]:
    """The next smaller and the next larger drill of a shelf."""
    sizes = sorted({d.diameter: d for d in shelf}.values(), key=lambda d: d.diameter)
    place = next(i for i, d in enumerate(sizes) if abs(d.diameter - drill.diameter) < 1e-6)
    return sizes[max(place - 1, 0)], sizes[min(place + 1, len(sizes) - 1)]


EXERCISES = (
    percent_of_a_hole,
    hole_for_a_percent,
    quick_rule,
    two_percents,
    within_the_limits,
)
