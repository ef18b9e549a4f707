"""Lesson 8, hands and eyes: unsafe acts, the order of a job, where to begin, what broke the tap."""

from __future__ import annotations

from itertools import combinations, product
from typing import NamedTuple

from tapkit import tables
from tapkit.exercises.bank.rows import an, cap, g
from tapkit.exercises.choice import Choice, Option, Order, WrongOrder, mixed
from tapkit.exercises.exercise import Draft, Step, exercise
from tapkit.planning.diagnosis import Diagnosis, Finding, Seen, clue_values
from tapkit.planning.machine import Machine, machine_names
from tapkit.planning.press import PressPart, press_parts
from tapkit.planning.speed import TappingSpeed, tapping_speeds

Row = dict[str, str]


def _acts() -> list[tuple[PressPart, Row, tuple[Row, ...]]]:
    rows = tables.rows("shop_acts")
    bad = [r for r in rows if r["safe"] == "no"]
    good = [r for r in rows if r["safe"] == "yes"]
    found = []
    for number, (one, turn) in enumerate(product(bad, range(3))):
        others = [r for r in mixed(good, f"acts/{number}") if r["topic"] != one["topic"]][:3]
        found.append((press_parts()[(7 * number + turn) % len(press_parts())], one, tuple(others)))
    return found


@exercise(
    "unsafe-act",
    lesson=8,
    topic="safe work",
    level=1,
    kind="spot the plan that fails",
    title="One of them will get hurt",
    cases=_acts,
)
def unsafe_act(case: tuple[PressPart, Row, tuple[Row, ...]]) -> Draft:
    """One of them will get hurt."""
    part, bad, good = case
    options = (
        Option(f"somebody {bad['act']}"),
        *(Option(f"somebody {r['act']}", f"safe-{r['topic']}", f"That is good work: {r['why']}.") for r in good),
    )
    reasons = (
        Option(bad["why"]),
        *(Option(r["why"], f"reason-{r['topic']}", "That is true, but it is not what is wrong here.") for r in good),
    )
    return Draft(
        f"Four people tap the {part.name}. One of them must stop at once. Which one, and why?",
        Choice(options, reasons),
        ("Look for hands, hair, cloth and eyes near what turns.", "Ask of each: what happens if the tap breaks now?"),
        (
            Step(f"Unsafe: somebody {bad['act']}."),
            Step(f"Why: {bad['why']}."),
            Step("Follow the shop's rules, the machine's manual and the instructor; they come before any lesson."),
        ),
    )


def _orders() -> list[tuple[Machine, tuple[Row, ...], PressPart]]:
    found = []
    for name in machine_names():
        rows = [r for r in tables.rows("shop_steps") if r["machine"] == name]
        for number, some in enumerate(combinations(rows, 5)):
            places = [int(r["place"]) for r in some]
            if places[0] <= 2 and number % 5 == 0:
                found.append((Machine.parse(name), some, press_parts()[number % len(press_parts())]))
    return found


@exercise(
    "order-at-the-machine",
    lesson=8,
    topic="safe work",
    level=1,
    kind="put in order",
    title="First things first",
    cases=_orders,
)
def order_at_the_machine(case: tuple[Machine, tuple[Row, ...], PressPart]) -> Draft:
    """First things first."""
    machine, rows, part = case
    steps = tuple(r["step"] for r in rows)
    swapped = (*steps[:3], steps[4], steps[3])
    late = (*steps[1:], steps[0])
    order = Order(
        steps,
        "from the first to the last",
        (
            WrongOrder("first-step-last", late, "Your last step belongs at the very beginning."),
            WrongOrder("end-swapped", swapped, "The beginning is right. The last two are swapped."),
        ),
    )
    return Draft(
        f"You tap the {part.name}: {machine.printed}. Put these five steps in order, the first one first.",
        order,
        ("What protects you and holds the part comes first.", "What checks the result comes last."),
        tuple(Step(f"{number}. {s}") for number, s in enumerate(steps, start=1)),
    )


def _starts() -> list[tuple[PressPart, tuple[TappingSpeed, ...]]]:
    found = []
    for part in press_parts():
        speeds = tapping_speeds(part.workpiece, part.thread)
        if len(speeds) >= 2 and speeds[-1].high > 1.5 * speeds[0].high:
            found.append((part, speeds))
    return found


@exercise(
    "where-to-begin",
    lesson=8,
    topic="cycle",
    level=1,
    kind="choice with a reason",
    title="Which speed to begin with",
    cases=_starts,
)
def where_to_begin(case: tuple[PressPart, tuple[TappingSpeed, ...]]) -> Draft:
    """Which speed to begin with."""
    part, speeds = case
    slow, fast = speeds[0], speeds[-1]
    options = (
        Option(f"{g(slow.low)} m/min"),
        Option(f"{g(fast.high)} m/min", "fastest-in-the-book", "That is an optimum of a test, not a start."),
        Option(f"{g(slow.low / 20)} m/min", "hardly-turning", "So slow, the tap rubs and jerks more than it cuts."),
    )
    reasons = (
        Option("a slow start leaves time to stop, and the book's speed is an optimum of tests"),
        Option("the tap lasts longest at the fastest speed", "reason-longest", "The faster, the hotter its edges."),
        Option("speed makes no difference to a tap", "reason-none", "Heat and time to stop both depend on it."),
    )
    return Draft(
        f"You tap the {part.name}, {part.thread.designation} in {part.metal}, for the first time. A table names "
        f"{g(slow.low)} to {g(slow.high)} m/min for learners and up to {g(fast.high)} m/min as the best that was "
        "measured. Where do you begin?",
        Choice(options, reasons),
        ("Ask what the faster figure was measured for.", "Nothing is lost by a slow first hole."),
        (
            Step(f"For learners: {slow.in_words()}."),
            Step(f"The fastest: {fast.in_words()}."),
            Step("Begin slow, in scrap, with the instructor's leave."),
        ),
    )


class Broken(NamedTuple):
    """A job with what is seen, a cause that one clue rules out, and three that still fit."""

    part: PressPart
    diagnosis: Diagnosis
    out: Finding
    left: tuple[Finding, ...]


def _broken() -> list[Broken]:
    found = []
    for number, (part, seen) in enumerate(product(press_parts()[::9], _SEEN)):
        diagnosis = Diagnosis(part.operation(), Seen(**seen))
        out = mixed([f for f in diagnosis.findings if len(f.against) == 1], f"broken/{number}")
        left = mixed(diagnosis.fitting, f"left/{number}")
        if out and len(left) >= 3:
            found.append(Broken(part, diagnosis, out[0], left[:3]))
    return found


_SEEN = (
    {"broke": "chipped", "teeth": "one flute", "sound": "click"},
    {"broke": "chipped", "teeth": "first teeth", "chips": "clear"},
    {"broke": "snapped", "where": "way in", "sound": "groan"},
    {"broke": "snapped", "chips": "below", "sound": "groan"},
    {"broke": "worn", "teeth": "all alike", "sound": "squeal"},
    {"broke": "worn", "chips": "dust", "sound": "squeal"},
    {"broke": "thread", "thread": "oversize", "chips": "clear"},
    {"broke": "thread", "thread": "rough", "sound": "groan"},
)
"""Sets of clues that a shop would report."""
_ABOUT = {"chips": "chips: ", "thread": "thread: ", "teeth": "hit: ", "where": "it happened "}


@exercise(
    "what-can-be-ruled-out",
    lesson=8,
    topic="faults",
    level=3,
    kind="find the fault",
    title="What cannot have broken the tap",
    cases=_broken,
)
def what_can_be_ruled_out(case: Broken) -> Draft:
    """What cannot have broken the tap."""
    printed = {c: dict(clue_values(c))[v] for c, v in case.diagnosis.seen.given.items()}
    seen = {c: f"{_ABOUT.get(c, '')}{text}" for c, text in printed.items()}
    against = next(seen[c] for c, text in printed.items() if text == case.out.against[0])
    options = (
        Option(case.out.printed),
        *(Option(f.printed, "still-fits", "Nothing that is seen speaks against this one.") for f in case.left),
    )
    reasons = tuple(
        Option(text) if text == against else Option(text, f"clue-{clue}", "That agrees with it, or says nothing.")
        for clue, text in seen.items()
    )
    tap = case.diagnosis.job.tap
    return Draft(
        f"{cap(an(tap.name))} tap, {case.part.thread.designation}, fails in the {case.part.name}. This is seen: "
        f"{'; '.join(seen.values())}. Several causes fit. Which one of these can be ruled out, and by what?",
        Choice(options, reasons),
        ("Hold each cause against every single thing that is seen.", "One thing that speaks against it is enough."),
        (
            Step(case.out.in_words()),
            *(Step(f.in_words()) for f in case.left),
            Step("Where several causes fit, look further before you change anything."),
        ),
    )


EXERCISES = (unsafe_act, order_at_the_machine, where_to_begin, what_can_be_ruled_out)
