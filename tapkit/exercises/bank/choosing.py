"""Lesson 7, choosing a tap: the model judges four taps for a part, and says what goes wrong with each."""

from functools import lru_cache
from itertools import product
from typing import NamedTuple

from tapkit import tables
from tapkit.exercises.bank.rows import bare_number, between, every, metric
from tapkit.exercises.exercise import Draft, Step, exercise
from tapkit.exercises.naming import TapAsked
from tapkit.exercises.options import ChoiceAsked, Option, known_options, mixed, options
from tapkit.geometry.tap import Tap
from tapkit.messages import Sentence, _, length, of_table
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.judge import Judged
from tapkit.planning.machine import Machine
from tapkit.planning.press import PressPart, press_parts, whole_of

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
def judged_tap(part: PressPart, form: str, chamfer: str, machine: str = "rigid") -> Judged:
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
        (p, "drill press") for p in press_parts("through")[every(3)]
    ]:
        taps = [judged_tap(part, form, chamfer, machine) for form, chamfer in OFFERED]
        ranked = sorted(taps, key=lambda j: (not j.advised, j.score))
        if ranked[0].advised and (not ranked[1].advised or ranked[1].score > ranked[0].score + CLEAR):
            found.append(Offer(part, machine, tuple(ranked)))
    return found


def first_objection(one: Judged, best: Judged) -> Sentence:
    """The model's first objection to a tap, in a sentence."""
    if one.refusals:
        return _("Against it: {why}.", why=one.refusals[0].words)
    known = {p.name: p.points for p in best.points}
    worse = [p for p in one.points if p.points > known.get(p.name, 0.0) + 0.05]
    return _("Against it: {why}.", why=worse[0].words) if worse else _("Another one does better here.")


def where(part: PressPart, ask: DrawingAsk) -> Sentence:
    """The hole of a part in words."""
    deep = length(part.depth)
    if part.is_through:
        return _("a through hole, {depth} thick", depth=deep)
    thick = length(ask.thickness)
    return _("a blind hole, {depth} of full thread in a part {thickness} thick", depth=deep, thickness=thick)


@exercise("choose-the-tap", cases=_offers)
def choose_the_tap(offer: Offer) -> Draft:
    part, best = offer.part, offer.best
    choices = tuple(
        Option(j.tap.name) if j is best else Option(j.tap.name, f"chose-{_dashed(j)}", first_objection(j, best))
        for j in offer.ranked
    )
    nothing = _("The model has nothing against it.")
    return Draft(
        ChoiceAsked(choices, options(best.tap.form.chips, "choose-the-tap reasons", "reason")),
        tuple(
            Step(_("{tap}: {why}", tap=j.tap.name, why=nothing if j is best else first_objection(j, best)))
            for j in offer.ranked
        ),
        given={
            "chips": of_table(part.workpiece.chips),
            "where": where(part, best.job.asked),
            "machine": Machine.parse(offer.machine).printed,
        },
    )


def _dashed(one: Judged) -> str:
    return one.tap.name.replace(" ", "-")


def kind_of_failure(one: Judged) -> str:
    """Which kind of failure the model sees first, "nothing" where the tap will do."""
    if not one.refusals:
        return "nothing"
    kind = one.refusals[0].kind
    return "packs" if kind == "clearing" else kind


class PartAndTap(NamedTuple):
    """A part and a tap somebody wants to use for it."""

    part: PressPart
    tap: Judged


def is_plain(one: Judged, part: PressPart) -> bool:
    """Whether nobody would argue: in a thin plate straight flutes may get away with what the ledger forbids."""
    return not (part.is_through and part.depth < part.thread.major and kind_of_failure(one) == "packs")


def _wanted() -> list[PartAndTap]:
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
        one = judged_tap(part, form, chamfer)
        if len(one.refusals) < 2 and is_plain(one, part):
            found.setdefault((part.part, form, chamfer, kind_of_failure(one)), []).append(PartAndTap(part, one))
    return [case for many in found.values() for case in many[:3]]


@exercise("what-will-go-wrong", cases=_wanted)
def what_will_go_wrong(case: PartAndTap) -> Draft:
    part, one = case.part, case.tap
    right = kind_of_failure(one)
    why = {
        "packs": (
            _("nothing carries the chips off, and they lie far looser than solid metal"),
            _("Do its chips really stay?"),
        ),
        "reach": (
            _(
                "a chamfer of {threads} threads needs more depth than there is",
                threads=bare_number(one.tap.chamfer_threads),
            ),
            _("Work out how deep it must go."),
        ),
        "breaks": (_("the core is too thin for this metal"), _("Look at torque and core again.")),
        "nothing": (_("its chips get away and it reaches its depth"), _("Check chips and depth again.")),
    }
    says = (
        _("The model says: {why}.", why=one.refusals[0].words)
        if one.refusals
        else _("The model has nothing against it.")
    )
    return Draft(
        ChoiceAsked(options(right, "what-will-go-wrong", "says"), options(right, why, "reason"), keep_order=True),
        (Step(_("Its chips: {goes}.")), Step(says)),
        given={
            "chips": of_table(part.workpiece.chips),
            "where": where(part, one.job.asked),
            "goes": one.operation.chip_room.goes,
        },
    )


class ToolList(NamedTuple):
    """Four pairs of part and tap, the first of which fails."""

    pairs: tuple[PartAndTap, ...]


def _lists() -> list[ToolList]:
    every = [
        PartAndTap(p, judged_tap(p, form, chamfer))
        for p, (form, chamfer) in product(press_parts(system="metric"), OFFERED)
    ]
    good = [w for w in every if w.tap.advised and w.tap.score < 3]
    bad = [w for w in every if len(w.tap.refusals) == 1 and is_plain(w.tap, w.part)]
    lists = []
    for place, one in enumerate(bad):
        others = {}
        for w in mixed(good, f"lists/{place}"):
            if w.part.part != one.part.part:
                others.setdefault(w.part.part, w)
        lists.append(ToolList((one, *list(others.values())[:3])))
    return lists


@exercise("list-that-fails", cases=_lists)
def list_that_fails(case: ToolList) -> Draft:
    def text(one: PartAndTap) -> Sentence:
        part = one.part
        return _(
            "{part}, {group}, {where}: {thread} {tap}",
            part=part.name,
            group=of_table(part.workpiece.group),
            where=where(part, one.tap.job.asked),
            thread=part.thread.designation,
            tap=one.tap.tap.name,
        )

    def step(one: PartAndTap) -> Step:
        if not one.tap.refusals:
            return Step(_("{part}: works.", part=one.part.name))
        return Step(_("{part}: {why}.", part=one.part.name, why=one.tap.refusals[0].words))

    bad = case.pairs[0]
    sound = _("That one works. Follow its chips and its depth.")
    choices = tuple(Option(text(w)) if w is bad else Option(text(w), "sound-line", sound) for w in case.pairs)
    not_this = _("That is not what fails in this line.")
    why = {
        kind: (says, not_this)
        for kind, (says, _hint) in known_options("what-will-go-wrong").items()
        if kind != "nothing"
    }
    return Draft(
        ChoiceAsked(choices, options(kind_of_failure(bad.tap), why, "says")),
        tuple(map(step, case.pairs)),
        given=dict(whole=whole_of(_("the press"))),
    )


def _listed() -> list[Tap]:
    pairs = [("straight", 7), ("spiral-point", 4), ("straight", 2.5), ("spiral-flute", 2.5), ("left-hand-flute", 4)]
    pairs += [("straight", 4), ("spiral-flute", 1.75), ("straight", 1.75)]
    return [Tap.make(t, form, n) for t, (form, n) in product(metric(4, 12), pairs)]


@exercise("name-from-the-list", cases=_listed)
def name_from_the_list(tap: Tap) -> Draft:
    row = tables.row("din2197", form=tap.din_form)
    return Draft(
        TapAsked(tap, with_thread=True),
        (
            Step(_("Form {form}: a chamfer of {threads} threads.")),
            Step(_("Flutes: {flutes}.")),
            Step(_("Ask for: {thread} {tap}.")),
        ),
        given=dict(form=tap.din_form, flutes=of_table(tap.form.flutes), threads=between(row["threads"])),
    )
