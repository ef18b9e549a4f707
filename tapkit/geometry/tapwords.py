"""What a workshop says of a tap beyond its flute form and chamfer: words of the trade, "3 flutes", "4 threads"."""

import difflib
import re
from functools import cache

from tapkit import door, tables
from tapkit.door import quoted, refusal
from tapkit.geometry.fluteform import FLUTE_FORMS
from tapkit.messages import _, of_table, threads_of

_COUNTS = ("one", "two", "three", "four", "five", "six")
_ALSO = {"ein": 1, "zwei": 2, "drei": 3, "vier": 4, "fünf": 5, "sechs": 6} | dict(zip(_COUNTS, range(1, 7)))
_FLUTES = re.compile(
    rf"(?<![\w.,/-])(\d+(?:[.,]\d+)?|{'|'.join(_ALSO)})[\s-]*(?:flute[ds]?|fl\.?|nuten?|nutig(?:e[nr]?)?)(?![\w])", re.I
)
_LONG = r"(\d+(?:[.,]\d+)?(?:\s\d/\d)?)"
_TURNS = r"[\s-]*(?:threads?|thds?|g(?:ä|ae)nge?|gang|gg\.?)(?!\w)"
_THREADS = re.compile(
    rf"(?<![\w.,/-]){_LONG}{_TURNS}(?:[\s-]+(?:chamfer|anschnitt))?|"
    rf"(?<!\w)(?:chamfer|anschnitt)\s+(?:of\s+|von\s+)?{_LONG}(?:{_TURNS}|(?![\w.,/-]))",
    re.I,
)

_TWO = re.compile(rf"(?<![\w.,/-]){_LONG}\s*(?:-|to|bis|or|oder)\s*{_LONG}{_TURNS}", re.I)


@cache
def _words() -> tuple[tuple[re.Pattern[str], str, str], ...]:
    return tuple(
        (re.compile(rf"(?<![\w-])(?:{row['pattern']})(?![\w-])", re.I), row["means"], row["why"])
        for row in tables.rows("tap_words")
    )


def in_our_words(text: str) -> str:
    """A tap's name with the workshop's words in those that are read here.

    Raises ValueError for words of taps that are not drawn, with the reason.

    >>> in_our_words("M10 Schälanschnitt HSSE").split()
    ['M10', 'spiral-point']
    """
    read = re.sub(r"^,(?=\d)", "0.", door.plain(text))
    for pattern, means, why in _words():
        found = pattern.search(read)
        if found and why:
            raise ValueError(_("{word} in {text}: {why}", word=quoted(found[0]), text=quoted(text), why=of_table(why)))
        read = pattern.sub(f" {means} ", read)
    return read


def counted(text: str) -> tuple[float | None, float | None, str]:
    """Flutes and chamfer threads as far as a tap's name counts them, and what is left of it.

    >>> counted("M10 spiral-point, 3 flutes")[0], counted("M10 3 1/2 threads")[1:]
    (3.0, (3.5, 'M10  '))
    """
    flutes = threads = None
    if found := _TWO.search(text):
        ends = [door.read_number(end)[0] for end in found.groups()]
        told = dict(words=quoted(found[0].strip()), middle=threads_of(sum(ends) / 2))
        raise ValueError(_("{words} are two numbers; write the chamfer this tap has, like {middle}", **told))
    if found := _FLUTES.search(text):
        flutes = _ALSO.get(found[1].lower()) or door.read_number(found[1])[0]
        text = f"{text[: found.start()]} {text[found.end() :]}"
    if found := _THREADS.search(text):
        threads = door.read_number(found[1] or found[2])[0]
        text = f"{text[: found.start()]} {text[found.end() :]}"
    return flutes, threads, text


_KNOWN = (
    *(*FLUTE_FORMS, "straight flute", "spiral point", "spiral flute", "left-hand flute"),
    *("gun", "taper", "plug", "bottoming", "semi-bottoming", "flutes", "threads"),
)
_WORD = re.compile(r"[^\W\d_][^\W\d_]+[.,-]?")
_OF_A_THREAD = re.compile(r"u?n(?:c|f|ef|s|j\w?)?|tpi|in|mm|iso|lh|rh|coarse|fine|special", re.I)


def refuse_unread(text: str, rest: str, reads: object) -> None:
    """ValueError where a part of `rest` is a thread that `reads(part)` accepts, and words stand beside it that nothing
    here means."""
    words = rest.split()
    for k in range(len(words) - 1, 0, -1):
        for thread, others in ((words[:k], words[k:]), (words[-k:], words[:-k])):
            unread = [w for w in others if _WORD.fullmatch(w) and not _OF_A_THREAD.fullmatch(w.strip(".,-"))]
            if unread and reads(" ".join(thread)):
                near = difflib.get_close_matches(said := " ".join(unread).lower(), _KNOWN, 1, 0.75)
                if near and near[0] != said:
                    told = dict(words=quoted(" ".join(others)), text=quoted(text), near=quoted(near[0]))
                    raise ValueError(_("cannot read {words} in {text}; did you mean {near}?", **told))
                told = _(
                    "cannot read {words} in {text}; beside the thread a tap's name says the flute form ({forms}), the "
                    "chamfer (taper, plug, bottoming, form B, 4 threads) and 3 flutes"
                )
                raise refusal(told, text, forms=", ".join(FLUTE_FORMS), words=quoted(" ".join(others)))
