"""Reading what people type as an answer. Text is matched, never evaluated, and never in more than linear time.

    8.5 · 8,5 · 8.5 mm · .335 in · 1/4 in · 1 1/2" · 6 3/4 threads · 1.2e3 · −12° · M8x1.25 · spiral point · B, A, C

Whatever cannot be read raises `ReadingError` with one sentence that says what was read and what would be right.
"""

import re
import unicodedata
from functools import cache
from typing import NamedTuple

from tapkit import door, tables, units
from tapkit.geometry import tapname
from tapkit.geometry.thread import Thread
from tapkit.messages import _, listed, ngettext

MAX_ANSWER = 300
"""An answer is a few words; a longer text is refused unread."""

_INVISIBLE = dict.fromkeys([0x200B, 0x200C, 0x200D, 0x2060, 0xFEFF, 0xAD, 0x61C, 0x200E, 0x200F])
_INVISIBLE |= dict.fromkeys([*range(0x202A, 0x202F), *range(0x2066, 0x206A)])
_SPACES = str.maketrans({"\t": " ", "\r": "\n", "\x0b": " ", "\x0c": " ", "\u2028": "\n", "\u2029": "\n", "٫": "."})


EXAMPLES = "98765.4", "98765,4", "98765 3/4"
"""How a number may be typed; no exercise has this answer."""


class ReadingError(ValueError):
    """An answer that cannot be read; its message is a sentence for the learner."""


class Reading(NamedTuple):
    """A number as typed: its `value`, its `kind` and `factor` into the kind's first unit (both None where no
    unit was written), the `unit` as written, and `also`, the value when a lone comma or point with three
    digits behind it parts thousands ("1,200")."""

    value: float
    kind: str | None
    factor: float | None
    unit: str
    also: float | None = None


def typed_shown(text: object) -> str:
    """A short, harmless copy of what was typed, for messages.

    >>> typed_shown("8.5\\x00 mm"), len(typed_shown("9" * 1000))
    ('“8.5? mm”', 42)
    """
    shown = str(text)[:41]
    shown = "".join(c if c.isprintable() else "?" for c in shown)
    return f"“{shown if len(shown) <= 40 else shown[:39] + '…'}”"


def tidy(text: object) -> str:
    """The answer without invisible marks and outer space; line ends are kept, other white space is a space.

    Raises ReadingError for anything that is no text, too long, or holds control characters.
    """
    if not isinstance(text, str):
        raise ReadingError(_("Cannot read this answer: it is not a text."))
    if len(text) > MAX_ANSWER:
        raise ReadingError(_("Cannot read an answer of {length} characters: write a short one.", length=len(text)))
    text = text.replace("\r\n", "\n").translate(_INVISIBLE).translate(_SPACES)
    if any(unicodedata.category(c) in ("Cc", "Cs", "Co") and c != "\n" for c in text):
        raise ReadingError(
            _("Cannot read {typed}: it holds characters that cannot be seen; type it again.", typed=typed_shown(text))
        )
    return text.strip()


def is_empty(text: object) -> bool:
    """Whether nothing was typed."""
    return text is None or (
        isinstance(text, str) and len(text) <= MAX_ANSWER and not text.translate(_INVISIBLE).strip()
    )


# --- numbers ----------------------------------------------------------------------------------------

_ABOUT = re.compile(r"(?:about|approximately|approx\.?|roughly|circa|ca\.?)\s+", re.IGNORECASE)
_WORDED = re.compile(r"(?:tooth|flute|number|no\.?|nr\.?)\s*(?=[\d#])", re.IGNORECASE)
_NAMED = re.compile(r"[^\W\d][\w ]{0,14}=")
_GROUPS = re.compile(r"([+-]?\d{1,3}(?:[ '’]\d{3})+)(?![\d/]|\s*/)")
_COMMAS = re.compile(r"([+-]?\d{1,3}(?:,\d{3})+\.\d+|[+-]?\d{1,3}(?:,\d{3}){2,})(?!\d)")
_POINTS = re.compile(r"([+-]?\d{1,3}(?:\.\d{3})+,\d+|[+-]?\d{1,3}(?:\.\d{3}){2,})(?!\d)")
_LONE = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}(?!\d)")
_MINUTES = re.compile(r"""([+-]?)\s?(\d{1,3})\s?°\s?(\d{1,2})\s?'(?:\s?(\d{1,2})\s?(?:"|''))?$""")


def read_measurement(text: object, kind: str | None = None) -> Reading:
    """A number with or without a unit. Where a unit's spelling stands for several kinds, `kind` is tried first.

    >>> read_measurement("8,5 mm").value, read_measurement("1,200 rpm").also
    (8.5, 1200.0)
    >>> read_measurement("6 3/4 threads", "threads").kind
    'threads'
    """
    shown = tidy(text)
    plain = " ".join(door.plain(shown).split())
    plain = _without(_WORDED, _without(_NAMED, _without(_ABOUT, plain))).lstrip("=≈~≃øØ⌀∅# ")
    if not plain:
        raise ReadingError(
            _(
                "Cannot read {typed}: there is no number in it; write one like {example}.",
                typed=typed_shown(shown),
                example=listed(EXAMPLES, "or"),
            )
        )
    found = _MINUTES.match(plain)
    if found:
        sign, degrees, minutes, seconds = found.groups()
        value = int(degrees) + int(minutes) / 60 + int(seconds or 0) / 3600
        return Reading(-value if sign == "-" else value, "angle", 1.0, "°")
    lone = _LONE.match(plain)
    plain = _ungrouped(plain)
    try:
        value, word = door.read_number(plain)
    except ValueError:
        raise ReadingError(
            _(
                "Cannot read {typed} as a number; write it like {example}.",
                typed=typed_shown(shown),
                example=listed(EXAMPLES, "or"),
            )
        ) from None
    if not abs(value) < 1e15:
        raise ReadingError(
            _("Cannot read {typed}: that number is too large to be an answer.", typed=typed_shown(shown))
        )
    also = 1000 * value if lone and "/" not in plain else None
    return Reading(value, *_unit(word, kind, shown), also)


def _without(start: re.Pattern[str], text: str) -> str:
    found = start.match(text)
    return text[found.end() :].lstrip() if found else text


def _ungrouped(text: str) -> str:
    """Marks between thousands taken out where they can be nothing else."""
    for pattern, marks in ((_GROUPS, " '’"), (_COMMAS, ","), (_POINTS, ".")):
        found = pattern.match(text)
        if found:
            number = found[1].translate(dict.fromkeys(map(ord, marks)))
            return number + text[found.end() :]
    return text


def _unit(word: str, kind: str | None, shown: str) -> tuple[str | None, float | None, str]:
    """Kind, factor and spelling of the unit written behind a number."""
    if not word:
        return None, None, ""
    for attempt in (word, word.rstrip(".,;!"), word.split(" ")[0].rstrip(".,;!")):
        if attempt != word and any(c.isdigit() for c in word[len(attempt) :]):
            break
        for known in unit_kinds(attempt):
            if kind is None or known == kind:
                return known, unit_factor(attempt, known), attempt
    for attempt in (word, word.rstrip(".,;!"), word.split(" ")[0].rstrip(".,;!")):
        kinds = unit_kinds(attempt)
        if kinds and not any(c.isdigit() for c in word[len(attempt) :]):
            return kinds[0], None, attempt
    raise ReadingError(
        _(
            "Cannot read {word} in {typed} as a unit; write one number, worked out, and its unit.",
            word=typed_shown(word),
            typed=typed_shown(shown),
        )
    )


@cache
def _own_spellings() -> dict[str, dict[str, float]]:
    found: dict[str, dict[str, float]] = {}
    for row in tables.rows("answer_units"):
        for word in row["spellings"].split("|"):
            found.setdefault(word, {})[row["kind"]] = float(row["factor"])
    return found


def unit_kinds(word: str) -> tuple[str, ...]:
    """Every kind of quantity a unit's spelling may stand for.

    >>> unit_kinds("mm"), unit_kinds("Threads"), unit_kinds("bananas")
    (('length', 'feed per turn'), ('threads',), ())
    """
    key = " ".join(door.plain(word).lower().split())
    common = door.kind_of_unit(key)
    return (*((common[0],) if common else ()), *_own_spellings().get(key, {}))


def unit_factor(word: str, kind: str) -> float:
    """How many of the kind's first unit one of this unit is."""
    key = " ".join(door.plain(word).lower().split())
    own = _own_spellings().get(key, {})
    if kind in own:
        return own[kind]
    common = door.kind_of_unit(key)
    if common is None or common[0] != kind:
        raise ReadingError(_("{word} is not a unit of {kind}.", word=typed_shown(word), kind=kind))
    return units.factor(common[1], units.UNIT[kind])


# --- names and lists --------------------------------------------------------------------------------


class NamedTap(NamedTuple):
    """A tap as named: `thread`, `form` of the flutes and `chamfer` (a US word or a length in threads), None
    for what was left out; `letter` of DIN 2197 where one was written."""

    thread: Thread | None
    form: str | None
    chamfer: str | float | None
    letter: str | None


_LETTER = re.compile(r"\bform[\s-]+([A-F])\b", re.IGNORECASE)


def read_tap(text: object) -> NamedTap:
    """A tap's name in any case, with or without hyphens.

    >>> read_tap("Spiral Point, PLUG").form, read_tap("m8 × 1,25 form C").chamfer
    ('spiral-point', 2.5)
    """
    shown = tidy(text)
    words = " ".join(re.sub(r"(?<=\d),(?=\d)", ".", door.plain(shown)).replace(";", " ").split())
    letter = _LETTER.search(words)
    try:
        return NamedTap(*tapname.named_parts(words), letter[1].upper() if letter else None)
    except ValueError:
        raise ReadingError(
            _(
                "Cannot read {typed} as a tap; name the flutes and the chamfer, like “M30x3.5 left-hand-flute "
                "bottoming”.",
                typed=typed_shown(shown),
            )
        ) from None


def read_letters(text: object, letters: str) -> tuple[str, ...]:
    """A list of letters in order: "B, A, C", "b > a > c", "bac".

    Raises ReadingError unless each of `letters` stands there exactly once.

    >>> read_letters("c; A → b", "ABC")
    ('C', 'A', 'B')
    """
    shown = tidy(text)
    found = [w for w in re.split(r"[^\w]+|\bthen\b|\band\b", shown, flags=re.IGNORECASE) if w]
    if len(found) == 1 and len(letters) > 1:
        found = list(found[0])
    found = [w.upper() for w in found]
    want = _("Write each of {letters} once, with commas between.", letters=listed(letters))
    shown_as = typed_shown(shown)
    strange = [w for w in found if len(w) != 1 or w not in letters]
    if strange:
        raise ReadingError(
            _("Cannot read {part} in {typed}. {want}", part=typed_shown(strange[0]), typed=shown_as, want=want)
        )
    twice = [w for w in found if found.count(w) > 1]
    if twice:
        raise ReadingError(_("{letter} stands twice in {typed}. {want}", letter=twice[0], typed=shown_as, want=want))
    missing = [w for w in letters if w not in found]
    if missing:
        says = ngettext(
            "{letters} is missing in {typed}. {want}",
            "{letters} are missing in {typed}. {want}",
            len(missing),
            letters=listed(missing),
            typed=shown_as,
            want=want,
        )
        raise ReadingError(says)
    return tuple(found)


_PICK = re.compile(r"[\[(]?([A-Za-z])[\])]?\s*(?:[.,;:/+&-]|because|and|with|reason|\s)*\s*[\[(]?([1-9])?[\])]?\.?$")


def read_pick(text: object, options: tuple[str, ...], reasons: tuple[str, ...]) -> tuple[int, int | None]:
    """Numbers of the option and the reason picked: "B", "b2", "B because 2", or the option's own words.

    >>> read_pick("(b) 2", ("more", "less"), ("thicker", "thinner"))
    (1, 1)
    >>> read_pick("Less", ("more", "less"), ())
    (1, None)
    """
    shown = tidy(text)
    words = _fold(shown)
    for number, option in enumerate(options):
        if words == _fold(option):
            return number, None
    found = _PICK.match(" ".join(shown.split()))
    last = chr(ord("A") + len(options) - 1)
    want = _("Write a letter from A to {last}.", last=last)
    if reasons:
        want = _("Write a letter from A to {last} and a number from 1 to {count}.", last=last, count=len(reasons))
    if not found or found[1].upper() > last:
        raise ReadingError(_("Cannot read {typed}. {want}", typed=typed_shown(shown), want=want))
    reason = int(found[2]) - 1 if found[2] else None
    if reason is not None and reason >= max(len(reasons), 1):
        raise ReadingError(_("Cannot read {typed}. {want}", typed=typed_shown(shown), want=want))
    return ord(found[1].upper()) - ord("A"), reason if reasons else None


def _fold(text: str) -> str:
    return " ".join(re.findall(r"\w+", text.casefold()))


def read_fields(text: object, keys: tuple[str, ...]) -> tuple[str, ...]:
    """The texts of several blanks, in order of `keys`: "32; 26.5; 3", "32, 26.5, 3" or "drill = 32; point = 26.5".

    A comma with a space behind it parts blanks where there are as many texts as blanks. A blank left out is
    an empty text. Raises ReadingError where there are more texts than blanks.

    >>> read_fields("b = 2 mm; a = 1", ("a", "b", "c"))
    ('1', '2 mm', '')
    """
    shown = tidy(text)
    parts = [p.strip() for p in re.split(r"[;\n]", shown)]
    at_commas = [p.strip() for p in re.split(r",\s+", shown)]
    if len(parts) == 1 and len(keys) > 1 and len(at_commas) == len(keys):
        parts = at_commas
    found, loose = dict.fromkeys(keys, ""), []
    for part in parts:
        name, equals, value = part.partition("=")
        if equals and name.strip() in found:
            found[name.strip()] = value.strip()
        else:
            loose.append(part)
    free = [k for k in keys if not found[k]]
    if len(loose) > len(free) and any(loose[len(free) :]):
        raise ReadingError(
            _(
                "Cannot read {typed}: there are {count} blanks; part them with semicolons.",
                typed=typed_shown(shown),
                count=len(keys),
            )
        )
    return tuple((found | dict(zip(free, loose)))[k] for k in keys)
