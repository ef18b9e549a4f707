"""Lesson 8, hands and eyes: unsafe acts, the order of a job, where to begin, what broke the tap."""

from dataclasses import replace
from functools import reduce
from itertools import combinations, product
from typing import NamedTuple

from tapkit import tables
from tapkit.exercises.bank.rows import every, first_to_last, has_one_order
from tapkit.exercises.exercise import Draft, Step, exercise
from tapkit.exercises.options import ChoiceAsked, Option, mixed, options
from tapkit.messages import Sentence, Span, _, of_table, speed
from tapkit.planning.diagnosis import Diagnosis, Finding, Seen, clue_values
from tapkit.planning.machine import Machine, machine_names
from tapkit.planning.press import PressPart, press_parts
from tapkit.planning.speed import TappingSpeed, tapping_speeds


def _acts() -> list[tuple[PressPart, dict[str, str], tuple[dict[str, str], ...]]]:
    rows = tables.rows("shop_acts")
    bad = [r for r in rows if r["safe"] == "no"]
    good = [r for r in rows if r["safe"] == "yes"]
    found = []
    for number, (one, turn) in enumerate(product(bad, range(3))):
        others = [r for r in mixed(good, f"acts/{number}") if r["topic"] != one["topic"]][:3]
        found.append((press_parts()[(7 * number + turn) % len(press_parts())], one, tuple(others)))
    return found


@exercise("unsafe-act", cases=_acts)
def unsafe_act(case: tuple[PressPart, dict[str, str], tuple[dict[str, str], ...]]) -> Draft:
    _part, bad, good = case

    def act(row: dict[str, str]) -> Sentence:
        return _("somebody {act}", act=of_table(row["act"]))

    choices = (
        Option(act(bad)),
        *(Option(act(r), f"safe-{r['topic']}", _("That is good work: {why}.", why=of_table(r["why"]))) for r in good),
    )
    not_this = _("That is true, but it is not what is wrong here.")
    reasons = (
        Option(of_table(bad["why"])),
        *(Option(of_table(r["why"]), f"reason-{r['topic']}", not_this) for r in good),
    )
    return Draft(
        ChoiceAsked(choices, reasons),
        (
            Step(_("Unsafe: {act}.")),
            Step(_("Why: {why}.")),
            Step(_("Follow the shop's rules, the machine's manual and the instructor; they come before any lesson.")),
        ),
        given={"act": act(bad), "why": of_table(bad["why"])},
    )


def _orders() -> list[tuple[Machine, tuple[dict[str, str], ...], PressPart]]:
    found = []
    for name in machine_names():
        rows = [r for r in tables.rows("shop_steps") if r["machine"] == name]
        for number, some in enumerate(combinations(rows, 5)):
            places = [int(r["place"]) for r in some]
            if places[0] <= 3 and number % 3 == 0 and has_one_order(some):
                found.append((Machine.parse(name), some, press_parts()[number % len(press_parts())]))
    return found


@exercise("order-at-the-machine", cases=_orders)
def order_at_the_machine(case: tuple[Machine, tuple[dict[str, str], ...], PressPart]) -> Draft:
    machine, rows, _part = case
    return Draft(
        first_to_last(rows),
        tuple(Step(_("{number}. {step}", number=i, step=of_table(r["step"]))) for i, r in enumerate(rows, start=1)),
        given={"machine": machine.printed},
    )


def _starts() -> list[tuple[PressPart, tuple[TappingSpeed, ...]]]:
    found = []
    for part in press_parts():
        speeds = tapping_speeds(part.workpiece, part.thread)
        if len(speeds) >= 2 and speeds[-1].high > 1.5 * speeds[0].high:
            found.append((part, speeds))
    return found


@exercise("where-to-begin", cases=_starts)
def where_to_begin(case: tuple[PressPart, tuple[TappingSpeed, ...]]) -> Draft:
    _part, speeds = case
    slow, fast = speeds[0], speeds[-1]
    least, most = speed(slow.low), speed(fast.high)
    choices = (
        Option(_("{speed}", speed=least)),
        Option(_("{speed}", speed=most), "fastest-in-the-book", _("That is an optimum of a test, not a start.")),
        Option(
            _("{speed}", speed=speed(slow.low / 20, digits=1)),
            "hardly-turning",
            _("So slow, the tap rubs and jerks more than it cuts."),
        ),
    )
    return Draft(
        ChoiceAsked(choices, options("", "where-to-begin reasons")),
        (
            Step(_("For learners: {slow}.")),
            Step(_("The fastest: {fast}.")),
            Step(_("Begin slow, in scrap, with the instructor's leave.")),
        ),
        given={
            "learners": Span(slow.low, slow.high, "speed"),
            "most": most,
            "slow": _named_speed(slow),
            "fast": _named_speed(fast),
        },
    )


class Broken(NamedTuple):
    """A job with what is seen, a cause that one clue rules out, and three that still fit."""

    part: PressPart
    diagnosis: Diagnosis
    out: Finding
    left: tuple[Finding, ...]


def broken(parts: tuple[PressPart, ...]) -> list[Broken]:
    """A broken tap in each part, with each set of clues."""
    found = []
    for number, (part, seen) in enumerate(product(parts, _SEEN)):
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
ABOUT = {
    "chips": _("chips: {seen}"),
    "thread": _("thread: {seen}"),
    "teeth": _("hit: {seen}"),
    "where": _("it happened {seen}"),
}


@exercise("what-can-be-ruled-out", cases=lambda: broken(press_parts()[every(9)]))
def what_can_be_ruled_out(case: Broken) -> Draft:
    printed = {c: dict(clue_values(c))[v] for c, v in case.diagnosis.seen.given.items()}
    seen = {c: replace(ABOUT[c], values=(("seen", text),)) if c in ABOUT else text for c, text in printed.items()}
    against = case.out.against[0][0]
    fits = _("Nothing that is seen speaks against this one.")
    choices = (Option(case.out.printed), *(Option(f.printed, "still-fits", fits) for f in case.left))
    agrees = _("That agrees with it, or says nothing.")
    return Draft(
        ChoiceAsked(choices, options(against, {c: (text, agrees) for c, text in seen.items()}, "clue")),
        (
            Step(_("{finding}", finding=case.out.in_words())),
            *(Step(_("{finding}", finding=f.in_words())) for f in case.left),
            Step(_("Where several causes fit, look further before you change anything.")),
        ),
        given={"seen": reduce(_and, seen.values())},
    )


def _and(before: Sentence, more: Sentence) -> Sentence:
    return _("{before}; {next}", before=before, next=more)


def _named_speed(one: TappingSpeed) -> Sentence:
    return _("{speed}; source: {source}", speed=Span(one.low, one.high, "speed"), source=of_table(one.source))
