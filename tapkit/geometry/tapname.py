"""Names of taps and chamfers: US and British words, letters of DIN 2197, and reading them."""

import re
from typing import TYPE_CHECKING, Any, NamedTuple

from tapkit import door, tables
from tapkit.door import quoted, refusal
from tapkit.geometry.designation import refuse_other
from tapkit.geometry.fluteform import flute_forms, form_of, helix_of_hand
from tapkit.geometry.tapwords import counted, in_our_words, refuse_unread
from tapkit.geometry.thread import Thread
from tapkit.messages import Sentence, _, of_table

if TYPE_CHECKING:
    from tapkit.geometry.tap import Tap


def chamfer_name(threads: float) -> str:
    """US word for a chamfer length in threads; between two rows of the table the nearer one.

    >>> [chamfer_name(n) for n in (8, 4, 2.5, 1.5)]
    ['taper', 'plug', 'semi-bottoming', 'bottoming']
    """

    def away(row: dict[str, str]) -> float:
        low, high = tables.span(row["threads"])
        return max(low - threads, threads - high, 0.0)

    return min(tables.rows("chamfers"), key=away)["us"]


def in_words(tap: "Tap") -> Sentence:
    """A tap's flute form and chamfer in the trade's words, "spiral-point plug", in the language in use."""
    form, chamfer = of_table(form_of(tap.flute_form).name(tap.thread.hand)), of_table(tap.chamfer_name)
    return _("{form} {chamfer}", form=form, chamfer=chamfer)


def chamfer_length(name: str) -> float:
    """Usual chamfer length in threads for a US word, the British "second", a letter of DIN 2197 or a number as text.

    >>> chamfer_length("bottoming"), chamfer_length("3.5 threads"), chamfer_length("form C")
    (1.5, 3.5, 2.5)
    """
    word = door.plain(name).lower()
    for pattern, us in _CHAMFER_WORDS:
        if re.fullmatch(rf"{pattern}([\s-]+(chamfer|tap))?", word):
            return float(tables.row("chamfers", us=us)["usual"])
    if letter := re.fullmatch(r"(?:din[\s-]*2197[\s-]*)?(?:form[\s-]+)?([a-f])", word):
        return float(tables.row("din2197", form=letter[1].upper())["usual_threads"])
    try:
        number, rest = door.read_number(name)
    except ValueError:
        rest = "?"
    if rest.lower() not in ("", "thread", "threads", "thd", "thds", "pitch", "pitches"):
        told = _(
            "{text} is not a chamfer; say taper, plug, semi-bottoming or bottoming, second, form A to F, or a length "
            "in threads like 4"
        )
        raise refusal(told, name)
    return number


def din_form(threads: float, flute_form: str) -> str | None:
    """Letter of DIN 2197 for a chamfer length in threads on a flute form, or None where none fits.

    >>> din_form(4, "spiral-point"), din_form(2.5, "spiral-flute"), din_form(4, "spiral-flute")
    ('B', 'C', None)
    """
    for row in tables.rows("din2197"):
        low, high = tables.span(row["threads"])
        if row["form"] in form_of(flute_form).letters and low <= threads <= high:
            return row["form"]
    return None


_FORM_WORDS = tuple(
    (form.read_as, form.key) for form in sorted(flute_forms(), key=lambda form: form.path != "point") if form.read_as
)
"""A spiral point first: its flutes are straight, and "straight" may stand beside it."""
_HELIX_WORDS = tuple(
    (rf"{before}flute[d]?", hand)
    for hand, before in (
        ("right", r"right[\s-]*hand[\s-]*((spiral|helical)[\s-]*)?"),
        ("left", r"left[\s-]*hand[\s-]*((spiral|helical)[\s-]*)?"),
        ("", r"(spiral|helical|helix)[\s-]*"),
    )
)
_CHAMFER_WORDS = (
    (r"semi[\s-]*bottom(ing)?", "semi-bottoming"),
    (r"bottom(ing)?", "bottoming"),
    (r"taper", "taper"),
    (r"(plug|second|intermediate)", "plug"),
)


class TapName(NamedTuple):
    """What a tap's name says: `thread`, `form` of the flutes, `chamfer` (a US word or a length in threads) and
    the number of `flutes`; None for what it leaves out."""

    thread: Thread | None
    form: str | None
    chamfer: str | float | None
    flutes: float | None = None


def read_tap_name(text: str) -> TapName:
    """What a tap's name says, "form B" of DIN 2197 and words of German workshops (table `tap_words`) too.

    Raises ValueError for words that name no part of a tap.

    >>> read_tap_name("M10 spiral-point, 3 flutes, 4 threads")[1:]
    ('spiral-point', 4.0, 3.0)
    """
    if not isinstance(text, str) or len(text) > 200:
        raise ValueError(_("a tap is named by a short text like 'M10x1.5 spiral-point plug'"))
    refuse_other(text)
    letter, rest = _take_word(f" {in_our_words(text)} ", [(r"(DIN[\s-]*2197[\s-]*)?form[\s-]+[A-F]", "form")])
    flutes, threads, rest = counted(rest)
    wanted, rest = _take_word(rest, _FORM_WORDS)
    if wanted and form_of(wanted[1]).is_ground_back:
        rest = _take_word(rest, _FORM_WORDS)[1]
    helix, rest = _take_word(rest, _HELIX_WORDS) if not wanted else (None, rest)
    chamfer, rest = _take_word(rest, _CHAMFER_WORDS)
    if chamfer and (other := _take_word(rest, _CHAMFER_WORDS)[0]):
        told = dict(text=quoted(text), one=quoted(chamfer[0]), other=quoted(other[0]))
        raise ValueError(_("{text} names two chamfers, {one} and {other}; write the one the tap has", **told))
    form: str | None = wanted and wanted[1]
    length: str | float | None = chamfer[1] if chamfer and threads is None else threads
    if letter:
        row = tables.row("din2197", form=letter[0].strip()[-1].upper())
        form = _of_form(form, row["implied_form"])
        length = float(row["usual_threads"]) if length is None else length
    rest = " ".join(_FILLING.sub(" ", rest).split()).strip("" if door.plain(text).startswith("-") else " -")
    _ask_which_spiral(text, rest)
    thread = _thread(text, rest) if rest else None
    if helix:
        form = helix_of_hand(helix[1] or None, thread.hand if thread else "right")
    return TapName(thread, form, length, flutes)


def _of_form(named: str | None, implied: str) -> str | None:
    """The flute form where DIN's letter implies one: form B is a straight flute with a spiral point."""
    if not named or (implied and form_of(implied).is_ground_back and not form_of(named).is_helical):
        return implied or named
    return named


def _ask_which_spiral(text: str, rest: str) -> None:
    if re.search(r"\b(spiral|helical)\b", rest, re.IGNORECASE):
        told = _(
            "{text}: a spiral point drives the chips ahead, a spiral flute lifts them out; say which, 'spiral-point' "
            "or 'spiral-flute'"
        )
        raise refusal(told, text)


def _thread(text: str, rest: str) -> Thread:
    """The thread of what is left of a tap's name; ValueError that names the words nothing here means."""
    try:
        return Thread.parse(rest)
    except ValueError:
        refuse_unread(text, rest, _is_thread)
        raise


def _is_thread(text: str) -> bool:
    try:
        return bool(Thread.parse(text))
    except ValueError:
        return False


def named_parts(text: str) -> tuple[Thread | None, str | None, str | float | None]:
    """Thread, flute form and chamfer as far as a tap's name says them, None for what it leaves out.

    Raises ValueError for words that name no part of a tap.

    >>> named_parts("spiral point"), named_parts("form A")
    ((None, 'spiral-point', None), (None, 'straight', 7.0))
    """
    return read_tap_name(text)[:3]


_FILLING = re.compile(
    r"\b(chamfer|anschnitt|taps?|machine|cutting)\b|(?<!left[\s-])(?<!right[\s-])\bhand\b|(?<!\d),|,(?!\d)",
    re.IGNORECASE,
)


def _take_word(text: str, words: Any) -> tuple[tuple[str, str] | None, str]:
    for pattern, meaning in words:
        found = re.search(rf"(?<![A-Za-z])(?:{pattern})(?![A-Za-z])", text, re.IGNORECASE)
        if found:
            return (found[0], meaning), text[: found.start()] + " " + text[found.end() :]
    return None, text
