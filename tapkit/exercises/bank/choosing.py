"""Lesson 7, choosing a tap: the model judges four taps for a part, and says what goes wrong with each."""

from __future__ import annotations

from functools import lru_cache
from itertools import product
from typing import NamedTuple

from tapkit.exercises.bank.rows import an, cap, g, metric, size
from tapkit.exercises.choice import Choice, Option, mixed
from tapkit.exercises.exercise import Draft, Step, exercise
from tapkit.exercises.naming import TapAsked
from tapkit.geometry.tap import Tap
from tapkit.mechanics.chipflow import AHEAD, TO_SHANK, UNDECIDED
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.judge import Judged
from tapkit.planning.machine import Machine
from tapkit.planning.press import PressPart, press_parts

OFFERED = (
    ("straight", "plug"),
    ("straight", "semi-bottoming"),
    ("spiral-point", "plug"),
    ("spiral-flute", "semi-bottoming"),
    ("spiral-flute", "plug"),
)
"""Taps in the crib: flutes and chamfer."""
CLEAR = 0.2
"""The best must lead by so many points of the model."""


@lru_cache(maxsize=2048)
def judged(part: PressPart, form: str, chamfer: str, machine: str = "rigid") -> Judged:
    """One tap of the crib judged for a part."""
    return Judged(part.job(machine), part.tap(form, chamfer))


class Offer(NamedTuple):
    """A part, a machine, and the taps of the crib judged for it, the best first."""

    part: PressPart
    machine: str
    ranked: tuple[Judged, ...]

    @property
    def best(self) -> Judged:
        """The tap to take."""
        return self.ranked[0]


def _offers() -> list[Offer]:
    found = []
    for part, machine in [(p, "rigid") for p in press_parts()] + [
        (p, "drill press") for p in press_parts("through")[::3]
    ]:
        taps = [judged(part, form, chamfer, machine) for form, chamfer in OFFERED]
        ranked = sorted(taps, key=lambda j: (not j.advised, j.score))
        if ranked[0].advised and (not ranked[1].advised or ranked[1].score > ranked[0].score + CLEAR):
            found.append(Offer(part, machine, tuple(ranked)))
    return found


def why_not(one: Judged, best: Judged) -> str:
    """The model's first objection to a tap, in a sentence."""
    if one.refusals:
        return cap(one.refusals[0]) + "."
    known = {p.name: p.points for p in best.points}
    worse = [p for p in one.points if p.points > known.get(p.name, 0.0) + 0.05]
    return (cap(worse[0].words) + ".") if worse else "Another one does better here."


REASONS = {
    UNDECIDED: "its short chips need no help, and straight flutes are the simplest",
    AHEAD: "it drives the chips ahead, where they can fall out",
    TO_SHANK: "it lifts the chips out, where nothing else would move them",
    "price": "it is the cheapest to buy",
}


def where(part: PressPart, ask: DrawingAsk) -> str:
    """The hole of a part in words."""
    if part.is_through:
        return f"a through hole, {size(part.depth, part)} thick"
    return f"a blind hole, {size(part.depth, part)} of full thread in a part {size(ask.thickness, part)} thick"


@exercise(
    "choose-the-tap",
    lesson=7,
    topic="choice",
    level=2,
    kind="choice with a reason",
    title="A tap for a part of the press",
    cases=_offers,
)
def choose_the_tap(offer: Offer) -> Draft:
    """A tap for a part of the press."""
    part, best = offer.part, offer.best
    options = tuple(
        Option(j.tap.name) if j is best else Option(j.tap.name, f"chose-{_dashed(j)}", why_not(j, best))
        for j in offer.ranked
    )
    way = best.tap.form.chips
    reasons = tuple(
        Option(text) if key == way else Option(text, f"reason-{key.replace(' ', '-')}", _reason_hint(key))
        for key, text in REASONS.items()
    )
    ask = best.job.asked
    return Draft(
        f"The {part.name} is {part.metal} ({part.workpiece.chips} chips). It needs {part.thread.designation} in "
        f"{where(part, ask)}. It is tapped on this machine: {Machine.parse(offer.machine).printed}. "
        "Which tap of the crib do you take?",
        Choice(options, reasons),
        (
            "First ask where the chips can go, and whether they need to be sent there.",
            "Then take the longest chamfer that still reaches the depth.",
        ),
        tuple(
            Step(f"{cap(j.tap.name)}: {'the model has nothing against it' if j is best else why_not(j, best)}")
            for j in offer.ranked
        ),
    )


def _dashed(one: Judged) -> str:
    return one.tap.name.replace(" ", "-")


def _reason_hint(key: str) -> str:
    return {
        UNDECIDED: "Are the chips of this metal short?",
        AHEAD: "Is this hole open below?",
        TO_SHANK: "Do the chips have to come back out at the top here?",
        "price": "A broken tap in a finished part costs more than any tap.",
    }[key]


KINDS_OF_FAILURE = {
    "packs": ("its chips pack and jam it", ("nothing moves its chips", "its chips")),
    "reach": ("its chamfer is too long for the depth", ("it does not reach", "it comes out")),
    "breaks": ("once worn, it needs more torque than it bears", ("once worn",)),
}


def kind_of_failure(one: Judged) -> str | None:
    """Which kind of failure the model sees first, None where the tap will do."""
    if not one.refusals:
        return None
    first = one.refusals[0]
    return next(k for k, (_, starts) in KINDS_OF_FAILURE.items() if first.startswith(starts))


class Wanted(NamedTuple):
    """A part and a tap somebody wants to use for it."""

    part: PressPart
    tap: Judged


def is_plain(one: Judged, part: PressPart) -> bool:
    """Whether nobody would argue: in a thin plate straight flutes may get away with what the ledger forbids."""
    return not (part.is_through and part.depth < part.thread.major and kind_of_failure(one) == "packs")


def _wanted() -> list[Wanted]:
    tried = (
        ("straight", "taper"),
        ("straight", "plug"),
        ("spiral-point", "plug"),
        ("spiral-flute", "taper"),
        ("spiral-flute", "semi-bottoming"),
        ("straight", "bottoming"),
    )
    found = {}
    for part, (form, chamfer) in product(press_parts(), tried):
        one = judged(part, form, chamfer)
        if len(one.refusals) < 2 and is_plain(one, part):
            found.setdefault((part.part, form, chamfer, kind_of_failure(one)), []).append(Wanted(part, one))
    return [case for many in found.values() for case in many[:3]]


@exercise(
    "what-will-go-wrong",
    lesson=7,
    topic="choice",
    level=2,
    kind="choice with a reason",
    title="You asked for this tap",
    cases=_wanted,
)
def what_will_go_wrong(case: Wanted) -> Draft:
    """You asked for this tap."""
    part, one = case.part, case.tap
    right = kind_of_failure(one)
    hints = {
        "packs": "Follow the chips: do they find a way out, or room enough?",
        "reach": "Add up full thread, chamfer, clearance and cone. Does it fit?",
        "breaks": "Compare the torque it needs with what it bears.",
    }
    options = tuple(
        Option(text) if k == right else Option(text, f"says-{k}", hints[k]) for k, (text, _) in KINDS_OF_FAILURE.items()
    )
    nothing = "nothing: it will do"
    options += (Option(nothing) if right is None else Option(nothing, "says-nothing", "Something does. Look again."),)
    reasons = _failure_reasons(case, right)
    ledger = one.operation.chip_room
    return Draft(
        f"Somebody brings {an(one.tap.name)} tap for the {part.name}: {part.metal} ({part.workpiece.chips} chips), "
        f"{part.thread.designation}, {where(part, one.job.asked)}, rigid tapping. What will go wrong?",
        Choice(options, reasons, keep_order=True),
        ("Where do its chips go, and how loose do they lie?", "How deep must its point go, and is there room for it?"),
        (
            Step(f"Its chips: {ledger.goes}."),
            Step(cap(one.refusals[0]) + "." if one.refusals else "The model has nothing against it."),
        ),
    )


def _failure_reasons(case: Wanted, right: str | None) -> tuple[Option, ...]:
    threads = g(case.tap.tap.chamfer_threads)
    texts = {
        "packs": "nothing carries the chips off, and they lie far looser than solid metal",
        "reach": f"a chamfer of {threads} threads needs more depth than there is",
        "breaks": "the core is too thin for this metal",
        None: "its chips get away and it reaches its depth",
    }
    hints = {
        "packs": "Do its chips really stay?",
        "reach": "Work out how deep it must go.",
        "breaks": "Look at torque and core again.",
        None: "Check chips and depth again.",
    }
    return tuple(
        Option(text) if key == right else Option(text, f"reason-{key or 'fine'}", hints[key])
        for key, text in texts.items()
    )


class List(NamedTuple):
    """Four pairs of part and tap, the first of which fails."""

    pairs: tuple[Wanted, ...]


def _lists() -> list[List]:
    every = [Wanted(p, judged(p, form, chamfer)) for p, (form, chamfer) in product(press_parts(), OFFERED)]
    good = [w for w in every if w.tap.advised and w.tap.score < 3]
    bad = [w for w in every if len(w.tap.refusals) == 1 and is_plain(w.tap, w.part)]
    lists = []
    for number, one in enumerate(bad):
        others = {}
        for w in mixed(good, f"lists/{number}"):
            if w.part.part != one.part.part:
                others.setdefault(w.part.part, w)
        lists.append(List((one, *list(others.values())[:3])))
    return lists


@exercise(
    "list-that-fails",
    lesson=7,
    topic="choice",
    level=3,
    kind="spot the plan that fails",
    title="One line of the tool list fails",
    cases=_lists,
)
def list_that_fails(case: List) -> Draft:
    """One line of the tool list fails."""

    def text(one: Wanted) -> str:
        part = one.part
        return (
            f"{part.name}, {part.workpiece.group}, {where(part, one.tap.job.asked)}: "
            f"{part.thread.designation} {one.tap.tap.name}"
        )

    bad = case.pairs[0]
    right = kind_of_failure(bad.tap)
    options = tuple(
        Option(text(w))
        if w is bad
        else Option(text(w), "sound-line", "That one works. Follow its chips and its depth.")
        for w in case.pairs
    )
    reasons = tuple(
        Option(said) if key == right else Option(said, f"says-{key}", "That is not what fails in this line.")
        for key, (said, _) in KINDS_OF_FAILURE.items()
    )
    return Draft(
        "The tool list for the press has four lines, all for rigid tapping. One of them will fail. Which, and why?",
        Choice(options, reasons),
        ("Go through the lines: where do the chips go?", "Then the depths: does the chamfer leave room?"),
        tuple(
            Step(f"{cap(w.part.name)}: {cap(w.tap.refusals[0]) if w.tap.refusals else 'works'}.") for w in case.pairs
        ),
    )


def _listed() -> list[Tap]:
    pairs = [("straight", 7), ("spiral-point", 4), ("straight", 2.5), ("spiral-flute", 2.5), ("left-hand-flute", 4)]
    pairs += [("straight", 4), ("spiral-flute", 1.75), ("straight", 1.75)]
    return [Tap.make(t, form, n) for t, (form, n) in product(metric(4, 12), pairs)]


@exercise(
    "name-from-the-list",
    lesson=7,
    topic="names",
    level=2,
    kind="name the tap",
    title="From the tool list to the crib",
    cases=_listed,
)
def name_from_the_list(tap: Tap) -> Draft:
    """From the tool list to the crib."""
    flutes = tap.form.flutes
    length = "".join(r["threads"].replace("-", " to ") for r in _din_rows() if r["form"] == tap.din_form)
    return Draft(
        f"The tool list from the office says: {tap.thread.designation}, DIN 2197 form {tap.din_form}, {flutes}. "
        "The crib has US labels. What do you ask for? Give thread, flutes and chamfer.",
        TapAsked(tap, with_thread=True),
        (
            "The letter stands for a length of chamfer.",
            "Take the US word for that length, and the word for the flutes.",
        ),
        (
            Step(f"Form {tap.din_form}: a chamfer of {length} threads."),
            Step(f"Flutes: {flutes}."),
            Step(f"Ask for: {tap.thread.designation} {tap.name}."),
        ),
    )


def _din_rows():
    from tapkit import tables

    return tables.rows("din2197")


EXERCISES = (choose_the_tap, what_will_go_wrong, list_that_fails, name_from_the_list)
