"""Names of taps and chamfers: US and British words, letters of DIN 2197, and reading them."""

from __future__ import annotations

import re
from typing import Any

from tapkit import door, tables
from tapkit.geometry.fluteform import flute_forms, helix_of_hand
from tapkit.geometry.thread import Thread


def chamfer_name(threads: float) -> str:
    """US word for a chamfer length in threads; between two rows of the table the nearer one.

    >>> [chamfer_name(n) for n in (8, 4, 2.5, 1.5)]
    ['taper', 'plug', 'semi-bottoming', 'bottoming']
    """

    def away(row: dict[str, str]) -> float:
        low, high = tables.span(row["threads"])
        return max(low - threads, threads - high, 0.0)

    return min(tables.rows("chamfers"), key=away)["us"]


def chamfer_length(name: str) -> float:
    """Usual chamfer length in threads for a US word, the British "second", or a number as text.

    >>> chamfer_length("bottoming"), chamfer_length("3.5 threads")
    (1.5, 3.5)
    """
    word = door.plain(name).lower().replace(" ", "-")
    for row in tables.rows("chamfers"):
        if word == row["us"] or (word == "second" and row["british"] == "second"):
            return float(row["usual"])
    try:
        number, rest = door.read_number(name)
    except ValueError:
        rest = "?"
    if rest.lower() not in ("", "thread", "threads"):
        raise ValueError(
            f"{name!r} is not a chamfer; say taper, plug, semi-bottoming or bottoming, or a length in threads like 4"
        )
    return number


def din_form(threads: float, flute_form: str) -> str | None:
    """Letter of DIN 2197 for a chamfer length in threads on a flute form, or None where none fits.

    >>> din_form(4, "spiral-point"), din_form(2.5, "spiral-flute"), din_form(4, "spiral-flute")
    ('B', 'C', None)
    """
    for row in tables.rows("din2197"):
        low, high = tables.span(row["threads"])
        if flute_form in row["flute_forms"].split() and low <= threads <= high:
            return row["form"]
    return None


_FORM_WORDS = tuple((form.read_as, form.key) for form in flute_forms() if form.read_as)
_HELIX_WORDS = tuple(
    (rf"{before}flute[d]?", hand)
    for hand, before in (
        ("right", r"right[\s-]*hand[\s-]*(spiral[\s-]*)?"),
        ("left", r"left[\s-]*hand[\s-]*(spiral[\s-]*)?"),
        ("", r"spiral[\s-]*"),
    )
)
_CHAMFER_WORDS = (
    (r"semi[\s-]*bottoming", "semi-bottoming"),
    (r"bottoming", "bottoming"),
    (r"taper", "taper"),
    (r"plug", "plug"),
    (r"second", "plug"),
)


def read_tap_name(text: str) -> tuple[Thread | None, str, str | float]:
    """Thread (or None), flute form and chamfer from a tap's name; "form B" of DIN 2197 is read too.

    Where no flute form is named the flute is straight; where no chamfer is named it is a plug chamfer.
    Raises ValueError for words that name no part of a tap.
    """
    thread, form, chamfer = named_parts(text)
    return thread, form or "straight", chamfer or "plug"


def named_parts(text: str) -> tuple[Thread | None, str | None, str | float | None]:
    """Thread, flute form and chamfer as far as a tap's name says them, None for what it leaves out.

    Raises ValueError for words that name no part of a tap.

    >>> named_parts("spiral point"), named_parts("form A")
    ((None, 'spiral-point', None), (None, 'straight', 7.0))
    """
    if not isinstance(text, str) or len(text) > 200:
        raise ValueError("a tap is named by a short text like 'M10x1.5 spiral-point plug'")
    rest = " " + door.plain(text) + " "
    if re.search(r"\b(form(ing|ed)?[\s-]+tap|roll(ing)?[\s-]+tap)\b|\bforming\b", rest, re.IGNORECASE):
        raise ValueError(
            f"{text!r}: a forming tap cuts no chip and is outside this workbook; "
            "name a cutting tap like 'M10x1.5 spiral-point plug'"
        )
    letter, rest = _take_word(rest, [(r"(DIN[\s-]*2197[\s-]*)?form[\s-]+[A-F]", "form")])
    wanted, rest_form = _take_word(rest, _FORM_WORDS)
    helix, rest_form = _take_word(rest_form, _HELIX_WORDS) if not wanted else (None, rest_form)
    chamfer, rest_form = _take_word(rest_form, _CHAMFER_WORDS)
    form: str | None = wanted and wanted[1]
    length: str | float | None = chamfer and chamfer[1]
    if letter:
        row = next(r for r in tables.rows("din2197") if r["form"] == letter[0].strip()[-1].upper())
        form, length = form or row["implied_form"] or None, length or float(row["usual_threads"])
    rest_form = re.sub(r"(?i)\b(chamfer|taps?|hand)\b|,", " ", rest_form).strip(" -")
    thread = Thread.parse(rest_form) if rest_form else None
    if helix:
        form = helix_of_hand(helix[1] or None, thread.hand if thread else "right")
    return thread, form, length


def _take_word(text: str, words: Any) -> tuple[tuple[str, str] | None, str]:
    for pattern, meaning in words:
        found = re.search(rf"(?<![A-Za-z]){pattern}(?![A-Za-z])", text, re.IGNORECASE)
        if found:
            return (found[0], meaning), text[: found.start()] + " " + text[found.end() :]
    return None, text
