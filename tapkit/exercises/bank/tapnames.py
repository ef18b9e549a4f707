"""Lesson 1, names: the tap in the drawing, US and British words, letters of DIN 2197."""

from __future__ import annotations

from itertools import product

from tapkit import tables
from tapkit.exercises.bank.rows import an, g, metric, mm
from tapkit.exercises.choice import Choice, Option
from tapkit.exercises.exercise import Draft, Sketch, Step, exercise
from tapkit.exercises.naming import TapAsked
from tapkit.geometry.fluteform import flute_forms, form_of
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.messages import _, angle, listed


def _drawn_taps() -> list[Tap]:
    return [Tap.make(t, f.key, chamfer) for t, f in product(metric(6, 16), flute_forms()) for chamfer in f.chamfers]


@exercise(
    "name-the-drawn-tap",
    lesson=1,
    topic="names",
    level=2,
    kind="name the tap",
    title="Name the tap in the drawing",
    cases=_drawn_taps,
)
def name_the_drawn_tap(tap: Tap) -> Draft:
    """Name the tap in the drawing."""
    flutes = str(_(tap.form.shape, angle=angle(abs(tap.axial_rake))))
    asked = TapAsked(tap)
    alt = f"Side view of a tap of {mm(tap.thread.major)}, pitch {mm(tap.thread.pitch)}. {flutes} "
    alt += f"The cone at the point is {mm(tap.chamfer_length)} long."
    return Draft(
        "This tap lies loose in the drawer. Name it in US words: the kind of flutes, then the chamfer.",
        asked,
        (
            "First the flutes: straight or winding? If straight, look at the faces near the point.",
            "Then count the threads on the cone: its length divided by the pitch.",
        ),
        (
            Step(f"Flutes: {flutes}"),
            Step(f"Chamfer: {mm(tap.chamfer_length)} / {mm(tap.thread.pitch)} = {g(tap.chamfer_threads)} threads"),
            Step(f"The US word for {g(tap.chamfer_threads)} threads is {tap.chamfer_name}."),
        ),
        Sketch("tip", tap, alt),
    )


def _word_cases() -> list[tuple[dict[str, str], bool, Thread]]:
    return list(product(tables.rows("chamfers"), (True, False), metric(5, 12)))


@exercise(
    "chamfer-words",
    lesson=1,
    topic="names",
    level=1,
    kind="choice with a reason",
    title="US and British chamfer words",
    cases=_word_cases,
)
def chamfer_words(case: tuple[dict[str, str], bool, Thread]) -> Draft:
    """US and British chamfer words."""
    row, from_us, thread = case
    known, asked = ("us", "british") if from_us else ("british", "us")
    shops = {"us": "US", "british": "British workshop"}
    options = tuple(
        Option(r[asked])
        if r is row
        else Option(
            r[asked],
            "same-word" if r[asked] == row[known] else "wrong-chamfer-word",
            "The same word stands for different chamfers in the two languages. Go by the threads."
            if r[asked] == row[known]
            else f"That word means a chamfer of {r['threads'].replace('-', ' to ')} threads.",
        )
        for r in tables.rows("chamfers")
    )
    reasons = tuple(
        Option(f"both mean a chamfer of {r['threads'].replace('-', ' to ')} threads")
        if r is row
        else Option(
            f"both mean a chamfer of {r['threads'].replace('-', ' to ')} threads",
            "wrong-chamfer-length",
            "Look the length of this chamfer up in the table of names.",
        )
        for r in tables.rows("chamfers")
    )
    choice = Choice(options, reasons)
    return Draft(
        f"A box of {thread.designation} taps came with the old press. One is marked with the {shops[known]} word "
        f"“{row[known]}”. What is the {shops[asked]} word for it?",
        choice,
        (
            "In both languages the word says how long the chamfer is.",
            "Take care with “plug”: it is the middle one in a US set and the shortest in a British set.",
        ),
        (
            Step(f"{shops[known]} “{row[known]}”: a chamfer of {row['threads'].replace('-', ' to ')} threads."),
            Step(f"{shops[asked]} word for that length: “{row[asked]}”."),
        ),
    )


def _din_cases() -> list[Tap]:
    pairs = [("straight", 7), ("spiral-point", 4), ("straight", 2.5), ("spiral-flute", 2.5), ("left-hand-flute", 4)]
    pairs += [("straight", 4), ("spiral-flute", 1.75), ("straight", 1.75), ("spiral-flute", 1.25)]
    return [Tap.make(t, form, n) for t, (form, n) in product(metric(5, 12), pairs)]


@exercise(
    "din-letter",
    lesson=1,
    topic="names",
    level=2,
    kind="choice with a reason",
    title="Letter of DIN 2197",
    cases=_din_cases,
)
def din_letter(tap: Tap) -> Draft:
    """Letter of DIN 2197."""
    right = tap.din_form
    rows = {r["form"]: r for r in tables.rows("din2197")}

    def says(form: str) -> str:
        flutes = listed((form_of(key).name(tap.thread.hand) for key in rows[form]["flute_forms"].split()), "or")
        return f"form {form} is {rows[form]['threads'].replace('-', ' to ')} threads, {flutes}"

    near = [f for f in rows if f != right and tap.flute_form in rows[f]["flute_forms"].split()]
    others = (near + [f for f in rows if f != right and f not in near])[:3]
    options = [Option(f"form {f}", "wrong-din-letter", f"Look again: {says(f)}.") for f in others]
    reasons = [Option(says(f), "wrong-din-reason", "That is another letter's length and flutes.") for f in others]
    length = "chamfer of " + g(tap.chamfer_threads) + " threads"
    return Draft(
        f"A drawing of the press asks for {an(tap.thread.designation)} tap by its letter of DIN 2197. "
        f"The tap in your hand has a {length} and {tap.form.flutes}. Which letter is it?",
        Choice((Option(f"form {right}"), *options), (Option(says(right)), *reasons)),
        ("A letter stands for a length of chamfer together with a kind of flute.", "Go by the length first."),
        (Step(f"The {length} with {tap.form.flutes}: {says(right)}."),),
    )


EXERCISES = (
    name_the_drawn_tap,
    chamfer_words,
    din_letter,
)
