"""Lesson 1, names: the tap in the drawing, US and British words, letters of DIN 2197."""

from itertools import product

from tapkit import tables
from tapkit.exercises.bank.rows import between, metric
from tapkit.exercises.exercise import Draft, Sketch, Step, exercise, worked
from tapkit.exercises.naming import TapAsked
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.options import ChoiceAsked, Option
from tapkit.geometry.fluteform import flute_forms, lettered
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.messages import Sentence, _, angle, length, listed, of_table
from tapkit.planning.press import whole_of


def _drawn_taps() -> list[Tap]:
    return [Tap.make(t, f.key, chamfer) for t, f in product(metric(6, 16), flute_forms()) for chamfer in f.chamfers]


@exercise("name-the-drawn-tap", cases=_drawn_taps)
def name_the_drawn_tap(tap: Tap) -> Draft:
    shape = _(tap.form.shape, angle=angle(abs(tap.axial_rake)))
    threads = NumberAsked(tap.chamfer_threads, "threads", "count")
    return Draft(
        TapAsked(tap),
        (
            Step(_("Flutes: {shape}")),
            worked(_("Chamfer"), threads, "{long} / {pitch}", asked=False),
            Step(_("The US word for {threads} threads is {chamfer}.")),
        ),
        Sketch(
            "tip", tap, _("Side view of a tap of {major}, pitch {pitch}. {shape} The cone at the point is {long} long.")
        ),
        given={"shape": shape, "long": length(tap.chamfer_length), "chamfer": tap.chamfer_name},
    )


def _word_cases() -> list[tuple[dict[str, str], bool, Thread]]:
    return list(product(tables.rows("chamfers"), (True, False), metric(5, 12)))


@exercise("chamfer-words", cases=_word_cases)
def chamfer_words(case: tuple[dict[str, str], bool, Thread]) -> Draft:
    row, from_us, _thread = case
    known, asked = ("us", "british") if from_us else ("british", "us")
    shops = {"us": _("US"), "british": _("British workshop")}
    others = [r for r in tables.rows("chamfers") if r is not row]
    same = _("The same word stands for different chamfers in the two languages. Go by the threads.")
    means = _("both mean a chamfer of {threads} threads", threads=between(row["threads"]))
    choices = [
        Option(r[asked], "same-word", same)
        if r[asked] == row[known]
        else Option(
            r[asked],
            "wrong-chamfer-word",
            _("That word means a chamfer of {threads} threads.", threads=between(r["threads"])),
        )
        for r in others
    ]
    look = _("Look the length of this chamfer up in the table of names.")
    reasons = [Option(_(means.message, threads=between(r["threads"])), "wrong-chamfer-length", look) for r in others]
    return Draft(
        ChoiceAsked((Option(row[asked]), *choices), (Option(means), *reasons)),
        (
            Step(_("{shop} “{word}”: a chamfer of {threads} threads.")),
            Step(_("{other} word for that length: “{right}”.")),
        ),
        given=dict(
            shop=shops[known],
            other=shops[asked],
            word=row[known],
            right=row[asked],
            threads=between(row["threads"]),
            whole=whole_of(_("the old press")),
        ),
    )


def _din_cases() -> list[Tap]:
    pairs = [("straight", 7), ("spiral-point", 4), ("straight", 2.5), ("spiral-flute", 2.5), ("left-hand-flute", 4)]
    pairs += [("straight", 4), ("spiral-flute", 1.75), ("straight", 1.75), ("spiral-flute", 1.25)]
    return [Tap.make(t, form, n) for t, (form, n) in product(metric(5, 12), pairs)]


@exercise("din-letter", cases=_din_cases)
def din_letter(tap: Tap) -> Draft:
    right = tap.din_form
    rows = {r["form"]: r for r in tables.rows("din2197")}

    def says(form: str) -> Sentence:
        flutes = listed((one.name(tap.thread.hand) for one in lettered(form)), "or")
        return _(
            "form {form} is {threads} threads, {flutes}",
            form=form,
            threads=between(rows[form]["threads"]),
            flutes=flutes,
        )

    near = [f for f in rows if f != right and f in tap.form.letters]
    others = (near + [f for f in rows if f != right and f not in near])[:3]
    wrong = [
        Option(_("form {form}", form=f), "wrong-din-letter", _("Look again: {says}.", says=says(f))) for f in others
    ]
    reasons = [Option(says(f), "wrong-din-reason", _("That is another letter's length and flutes.")) for f in others]
    return Draft(
        ChoiceAsked((Option(_("form {form}", form=right)), *wrong), (Option(says(right)), *reasons)),
        (Step(_("The chamfer of {threads} threads with {flutes}: {says}.")),),
        given=dict(flutes=of_table(tap.form.flutes), says=says(right), whole=whole_of(_("the press"))),
    )
