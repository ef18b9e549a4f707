"""Reading thread designations: ISO metric and unified, in the spellings people use."""

import re
from collections.abc import Iterable
from fractions import Fraction
from functools import cache, lru_cache

from tapkit import door, tables
from tapkit.door import quoted, refusal
from tapkit.geometry.thread import Thread
from tapkit.messages import Number, _, listed, of_table

_METRIC = re.compile(
    r"M\s*(?P<d>\d+(?:\.\d+)?)(?:(?:\s*[X*/-]\s*|\s+)(?:P\s*=?\s*)?(?P<p>\d*\.?\d+)(?:\s*MM\b)?)?"
    r"(?:[\s,-]+(?P<series>COARSE|FINE|SPECIAL))?(?:[\s,-]*(?P<tol>\d[GH](?:\d[GH])?X?|ISO\s?[123]))?$"
)
_UNIFIED = re.compile(
    r"(?P<hash>#\s*|NO\.?\s*|NR\.?\s*)?(?P<size>\d+\s+\d+/\d+|\d+-\d+/\d+|\d+/\d+|\d*\.\d+|\d+\.?)"
    r"\s*(?:\"|''|IN\.?|INCH)?(?:(?:\s*[-X]\s*|\s+)(?P<tpi>\d+(?:\.\d+|\s*1/2)?)\s*(?:TPI)?)?"
    r"(?:[\s,-]*(?P<series>U?N(?:C|F|EF|S)|8-?UN|UN))?"
    r"(?:[\s,-]*(?P<tol>[123]B))?$"
)
_LEFT = re.compile(r"[\s,-]*(?<![A-Z])(?:LH|L\.\s?H\.?|LEFT(?:[\s-]*HAND(?:ED)?)?|LINKS)(?![A-Z])")
_RIGHT = re.compile(r"[\s,-]*(?<![A-Z])(?:RH|R\.\s?H\.?|RIGHT(?:[\s-]*HAND(?:ED)?)?|RECHTS)(?![A-Z])")
_SAME = (
    (r"\b(LINKS|RECHTS|FEIN|REGEL)GEWINDE\b", r"\1"),
    (r"\b(?:FEIN|EXTRA FINE)\b", "FINE"),
    (r"\b(?:GROB|REGEL|STD|STANDARD|NORMAL)\b", "COARSE"),
    (r"^(?:(?:ISO|METRIC|METRISCH\w*|UNIFIED)\s+)+(?=\S)|\b(?:THREAD|GEWINDE|METRIC)\b|(?<=\d)\s*PITCH$", " "),
    (r"\bPITCH\b(?=\s*\d)", "P"),
    (r"(?<=[\d\"])\s*\bBY\b\s*(?=\d)", "X"),
    (r"\bCLASS\s*([123])B?\b", r"\1B"),
    (r"^((?:#|NO)?\s*[\d./ -]+\"?)\s+FINE$", r"\1 UNF"),
    (r"^((?:#|NO)?\s*[\d./ -]+\"?)\s+COARSE$", r"\1 UNC"),
    (r"^(M\s*[\d.]+)\s*MM$", r"\1"),
    (r"^MF\s*(?=\d)(.*)$", r"M\1 FINE"),
    (r"^(U?N(?:C|F|EF|S))\s*(#?\s*[\d./ -]+?\S*?)(\s+[123]B)?$", r"\2 \1\3"),
    (r"^(.*?\S)\s+(U?N(?:C|F|EF|S))\s+(\d+)\s*(?:TPI)?$", r"\1-\3 \2"),
    (r"(?<![\d.]),(?=\d)", "0."),
)
"""What people write, upper case, and what it means here."""
_CLASS = re.compile(r"\d[GH](?:\d[GH])?X?|[123][AB]X?|ISO\s*[123]")
_TAP_CLASS = {"ISO1": "4H", "ISO2": "6H", "ISO3": "6G"}
"""The class of the tapped hole that a class of metric taps is for; ISO 2857 [memory]."""
_PIPE = (("1/8", "27"), ("1/4", "18"), ("3/8", "18"), ("1/2", "14"), ("3/4", "14"), ("1", "11.5"))
"""Sizes and threads per inch of pipe threads that no unified thread has; ASME B1.20.1."""
_TAP_LIMIT = re.compile(r"G?H\d{1,2}|[DL]\d{1,2}")


@cache
def _metric_table() -> dict[float, list[tuple[float, str]]]:
    table: dict[float, list[tuple[float, str]]] = {}
    for row in tables.rows("threads_metric"):
        table.setdefault(float(row["major_mm"]), []).append((float(row["pitch_mm"]), row["series"]))
    return table


@cache
def _unified_table() -> dict[tuple[float, float], tuple[str, str]]:
    return {
        (round(float(r["major_in"]), 4), float(r["threads_per_inch"])): (r["size"], r["series"])
        for r in tables.rows("threads_unified")
    }


@cache
def number_sizes() -> dict[int, float]:
    """Diameter in inch of each number size, #0 to #12 (ASME B1.1)."""
    return {int(r["size"][1:]): float(r["major_in"]) for r in tables.rows("threads_unified") if r["size"][0] == "#"}


def standard_threads(system: str = "metric") -> tuple[Thread, ...]:
    """Every thread in our tables of one system, in order of size.

    >>> standard_threads()[0].designation, len(standard_threads("unified")) > 60
    ('M1x0.25', True)
    """
    if system == "metric":
        names = [f"M{r['major_mm']}x{r['pitch_mm']}" for r in tables.rows("threads_metric")]
    else:
        names = [f"{r['size']}-{r['threads_per_inch']} {r['series']}" for r in tables.rows("threads_unified")]
    return tuple(sorted((read_thread(n) for n in names), key=lambda t: (t.major, -t.pitch)))


def refuse_other(text: str, meant: str = "") -> None:
    """ValueError where a text, or what it means, names a thread or a tap that tapkit does not draw: and why not."""
    tidy = door.plain(meant or text).upper()
    for row in tables.rows("threads_other"):
        if re.search(row["pattern"], tidy):
            told = _("{text} is not drawn here: {why}; write a cutting tap's thread like M10x1.5 or 1/4-20")
            raise refusal(told, text, why=of_table(row["why"]))


@lru_cache(maxsize=4096)
def read_thread(text: str) -> Thread:
    """A thread from its designation; see `Thread.parse`."""
    if not isinstance(text, str):
        raise ValueError(_("{text} is not a thread designation; write M10x1.5 or 1/4-20", text=quoted(text)))
    if len(text) > 60:
        raise ValueError(
            _("a text of {n} characters is not a thread designation; write M10x1.5 or 1/4-20", n=len(text))
        )
    tidy = re.sub(r"(?<=\d),(?=\d)", ".", door.plain(text)).upper()
    tidy = re.sub(r"[()]", " ", re.sub(r"\s*(×|\*)\s*", "X", tidy))
    if tidy.startswith("M"):  # M8½, which `plain` has parted with a space
        tidy = re.sub(r"(?<=(.)) +([1-7])/([2-8])(?!\d)", _decimal, tidy)
    for written, meant in _SAME:
        tidy = re.sub(r"\s+", " ", re.sub(written, meant, tidy.strip())).strip()
    tidy = tidy[1:-1] if tidy[:1] in ("'", '"') and tidy[-1:] == tidy[:1] else tidy
    rest, left = _LEFT.subn("", tidy, count=1)
    rest = rest if left else _RIGHT.sub("", rest, count=1)
    rest = (rest.lstrip(" -;,") if rest != tidy else rest).rstrip(" -;,.")
    hand = "left" if left else "right"
    _refuse_screw(text)
    if rest.startswith("M") and (found := _METRIC.match(rest)):
        return _metric(text, found, hand)
    if (found := _UNIFIED.match(rest)) and (found["tpi"] or found["series"]):
        return _unified(text, found, hand)
    refuse_other(text)
    refuse_class(text, rest)
    _ask_for_hyphen(text, rest)
    _ask_for_more(text, rest)
    for word in rest.split():
        refuse_limit(text, word)
    told = _("cannot read {text} as a thread; write metric like M10x1.5 or M8x1-LH, unified like 1/4-20 or #10-32 UNF")
    raise refusal(told, text)


def _decimal(fraction: re.Match[str]) -> str:
    """A vulgar fraction as decimals, behind the digits of its whole number or alone."""
    share = f"{int(fraction[2]) / int(fraction[3]):g}"
    return share[1:] if fraction[1].isdigit() else share


def _ask_for_hyphen(text: str, word: str) -> None:
    """ValueError where a number size stands with its threads as a fraction, "10/32"."""
    found = re.fullmatch(r"(\d+)/(\d+)", word)
    inch = number_sizes().get(int(found[1])) if found else None
    if found and (inch, float(found[2])) in _unified_table():
        meant = f"#{found[1]}-{found[2]}"
        raise ValueError(_("{text} is a fraction and no thread; did you mean {meant}?", text=quoted(text), meant=meant))


def _ask_for_more(text: str, word: str) -> None:
    """ValueError where a text is a size alone: an inch size without its threads, a diameter that may be metric."""
    if found := re.fullmatch(r"(\d+(?:\.\d+)?)\s*(?:MM)?(?:\s*X\s*(\d+(?:\.\d+)?)\s*(?:MM)?)?", word):
        pitches = [pitch for pitch, _s in _metric_table().get(float(found[1]), [])]
        if pitches and (not found[2] or float(found[2]) in pitches):
            meant = f"M{found[1]}" + (f"x{found[2]}" if found[2] else "")
            raise ValueError(_("{text} is a size and no thread; did you mean {meant}?", text=quoted(text), meant=meant))
    if found := _UNIFIED.match(word):
        inch = round(_unified_size(text, found, 0), 4)
        here = [f"{size}-{t:g}" for (d, t), (size, _s) in _unified_table().items() if d == inch]
        if here:
            names = listed(here, "or")
            raise ValueError(_("{text} gives no threads per inch; write {names}", text=quoted(text), names=names))


def _refuse_screw(text: str) -> None:
    """ValueError where a class of screws is asked for: 6g and 6h, small, or 2A. All small, "m10 6h", it is a hole's."""
    found = re.search(r"(?<![\w.])\d[efgh](?:\d[gh])?\s*$", text) if text != text.lower() else None
    found = found or re.search(r"(?<![\w.])[123]A\b", text.upper())
    if found and re.search(r"\d.*\d[efghA]", text, re.I):
        told = _("{text}: {tolerance} is a class of screws; a tapped hole has 6H, or 2B in inch")
        raise refusal(told, text, tolerance=found[0].strip())


def refuse_class(text: str, word: str) -> None:
    """ValueError where a text is a class of tolerance, or a limit of taps, and no thread."""
    word = word.strip().upper()
    if _CLASS.fullmatch(word):
        told = _(
            "{text} names a class of tolerance and no thread; write the thread before it, like M10x1.5 6H or 1/4-20 "
            "2B, the classes whose limits tapkit has here"
        )
        raise refusal(told, text)


def refuse_limit(text: str, word: str) -> None:
    """ValueError where a word is a limit of ground taps."""
    if _TAP_LIMIT.fullmatch(word.upper()):
        told = _(
            "{text}: {limit} says how far a ground tap's pitch diameter lies over the basic one (ASME B94.9), and "
            "tapkit draws taps at the basic size; leave it out here; for the gauges, 'class H3' stands behind a comma "
            "of the set-up"
        )
        raise refusal(told, text, limit=word.upper())


# --- metric -------------------------------------------------------------------------------------------


def _metric(text: str, found: re.Match[str], hand: str) -> Thread:
    major = float(found["d"])
    listed_here = _metric_table().get(major, [])
    pitch = float(found["p"]) if found["p"] else _pitch_of_series(text, major, found["series"])
    series = next((s for p, s in listed_here if p == pitch), "special")
    if found["p"] and found["series"] in ("COARSE", "FINE") and found["series"].lower() != series:
        told = _("{text}: ISO 261 has no M{major}x{pitch} among its {series} pitches; those of M{major} are {pitches}")
        pitches = _numbers(p for p, _s in listed_here) if listed_here else _("not listed")
        said = dict(series=_SERIES[found["series"].lower()], pitches=pitches)
        raise refusal(told, text, major=_number(major), pitch=_number(pitch), **said)
    name = f"M{major:g}x{pitch:g}"
    if pitch > 0.4 * major and {pitch / 10, pitch / 100} & {p for p, _s in listed_here}:  # a point is missing
        raise _did_you_mean(text, major, pitch, is_coarse=True)
    is_odd = pitch not in _metric_pitches() and found["series"] != "SPECIAL"
    if is_odd and 0.05 <= pitch <= 8:
        raise _did_you_mean(text, major, pitch)
    tolerance = _TAP_CLASS.get((found["tol"] or "6H").replace(" ", ""), found["tol"] or "6H")
    if tolerance != "6H":
        told = _("{text} asks for class {tolerance}; tapkit has the limits of 6H only, so write {name}")
        raise refusal(told, text, tolerance=tolerance, name=name)
    name += " special" if pitch not in _metric_pitches() else ""
    return Thread(name + ("-LH" if hand == "left" else ""), major, pitch, "metric", series, tolerance, hand)


@cache
def _metric_pitches() -> tuple[float, ...]:
    """Every pitch that ISO 261 uses with any diameter, and 8 mm, the largest."""
    return (*sorted({p for many in _metric_table().values() for p, _s in many}), 8.0)


_SERIES = {"coarse": _("coarse"), "fine": _("fine")}


def _number(value: float) -> Number:
    return Number(value, digits=6)


def _numbers(values: Iterable[float]) -> object:
    return listed(map(_number, values), "or")


def _did_you_mean(text: str, major: float, pitch: float, is_coarse: bool = False) -> ValueError:
    pitches = [p for p, _s in _metric_table().get(major, [])] or [p for p in _metric_pitches() if p <= 0.3 * major]
    near = min(pitches or _metric_pitches(), key=lambda p: abs(p - pitch))
    told = _(
        "{text}: no metric thread has a pitch of {pitch} mm; did you mean {near}? For a special tap write "
        "'M{major}x{pitch} special'"
    )
    if is_coarse:
        told = _("{text}: {pitch} mm is too coarse a pitch for M{major}; did you mean M{major}x{near}?")
    return refusal(told, text, pitch=_number(pitch), near=_number(near), major=_number(major))


def _pitch_of_series(text: str, major: float, series: str | None) -> float:
    """The pitch of a designation that gives none: the coarse one, or the only fine one where "fine" is said."""
    here = _metric_table().get(major, [])
    wanted = "fine" if series == "FINE" else "coarse"
    pitches = [p for p, s in here if s == wanted]
    if len(pitches) == 1:
        return pitches[0]
    if pitches:
        told = _("{text}: M{major} has several fine pitches, {pitches}; write the one you mean, like M{major}x{pitch}")
        raise refusal(told, text, major=_number(major), pitches=_numbers(pitches), pitch=_number(pitches[0]))
    if major < min(_metric_table()):
        raise ValueError(_("{text} is no size: metric threads begin at M1; write one like M10x1.5", text=quoted(text)))
    told = _(
        "{text} gives no pitch and ISO 261 has no {series} pitch for M{major}; write the pitch, like M{major}x{pitch}"
    )
    raise refusal(told, text, series=_SERIES[wanted], major=_number(major), pitch=_number(_near_pitch(major)))


def _near_pitch(major: float) -> float:
    nearest = min(_metric_table(), key=lambda d: abs(d - major))
    return max(p for p, _ in _metric_table()[nearest])


# --- unified ------------------------------------------------------------------------------------------


def _unified(text: str, found: re.Match[str], hand: str) -> Thread:
    if not found["tpi"]:
        _ask_for_hyphen(text, found["size"])
    if not found["series"] and (found["size"], found["tpi"]) in _PIPE:
        refuse_other(text, "1/8 NPT")
    tpi = float(found["tpi"].replace(" ", "").replace("1/2", ".5")) if found["tpi"] else _usual_tpi(text, found)
    if not 3 <= tpi <= 100:
        _ask_for_more(text, found[0])
        told = _("{text} asks for {tpi} threads per inch, and 3 to 100 are possible; try 1/4-20")
        raise refusal(told, text, tpi=_number(tpi))
    inch = _unified_size(text, found, tpi)
    size, series = _unified_table().get((round(inch, 4), tpi), (_size_name(inch), "special"))
    asked = _series_asked(found)
    _check_series(text, asked, series, inch, tpi, size)
    tolerance, plain = found["tol"] or "2B", f"{size}-{tpi:g}"
    if tolerance != "2B":
        told = _("{text} asks for class {tolerance}; tapkit has the limits of 2B only, so write {name}")
        raise refusal(told, text, tolerance=tolerance, name=plain)
    shown = "UNS" if series == "special" else series
    name = f"{size}-{tpi:g} {shown}" + ("-LH" if hand == "left" else "")
    return Thread(name, 25.4 * inch, 25.4 / tpi, "unified", series, tolerance, hand)


def _series_asked(found: re.Match[str]) -> str:
    """The series as written; NC, NF and NEF of older drawings are UNC, UNF and UNEF now."""
    asked = (found["series"] or "").replace("8UN", "8-UN")
    return "U" + asked if asked.startswith("N") else asked


def _usual_tpi(text: str, found: re.Match[str]) -> float:
    """Threads per inch of a size and a series, where a designation gives no more."""
    inch, asked = round(_unified_size(text, found, 0.0), 4), _series_asked(found)
    counts = [t for (d, t), (_size, series) in _unified_table().items() if d == inch and series == asked]
    if counts:
        return counts[0]
    raise ValueError(_("{text} gives no threads per inch; write them, like 1/4-20 UNC", text=quoted(text)))


def _check_series(text: str, asked: str, series: str, inch: float, tpi: float, size: str) -> None:
    plain = f"{size}-{tpi:g}"
    here = [(t, s) for (d, t), (_size, s) in _unified_table().items() if d == round(inch, 4)]
    if asked not in ("", "UN", "UNS") and asked != series:
        right = [t for t, s in here if s == asked]
        hint = f"{size}-{right[0]:g} {asked}" if right else f"{size}-{tpi:g} UNS"
        told = _("{text}: {name} is not {series} in ASME B1.1; did you mean {hint}?")
        raise refusal(told, text, name=plain, series=asked, hint=hint)
    counts = {t for _d, t in _unified_table()}
    if asked != "UNS" and tpi not in counts:
        near = min([t for t, _s in here] or counts, key=lambda t: abs(t - tpi))
        meant = f"{size}-{near:g}"
        told = _(
            "{text}: no series of ASME B1.1 has {tpi} threads per inch; did you mean {near}? For a special tap write "
            "'{size}-{tpi} UNS'"
        )
        raise refusal(told, text, tpi=_number(tpi), near=meant, size=size)


def _unified_size(text: str, found: re.Match[str], tpi: float) -> float:
    """Major diameter in inch; a bare whole number is an inch size where listed, else a number size."""
    size = found["size"].rstrip(".")
    if "/" in size:
        whole, _sign, part = size.replace("-", " ").rpartition(" ")
        num, den = part.split("/")
        if int(den) == 0 or int(num) == 0:
            raise ValueError(_("{text} has a fraction that is no size; write 1/4-20", text=quoted(text)))
        return float(Fraction(int(whole or 0)) + Fraction(int(num), int(den)))
    if "." in size:
        return float(size)
    number = int(size)
    is_number = number in number_sizes()
    if found["hash"] and not is_number:
        told = _("{text}: there is no number size #{number}; the sizes are {sizes}")
        raise refusal(told, text, number=number, sizes=listed([f"#{n}" for n in sorted(number_sizes())]))
    listed_inch = (round(float(number), 4), tpi) in _unified_table()
    listed_number = is_number and (number_sizes()[number], tpi) in _unified_table()
    if found["hash"] or (is_number and not listed_inch and (listed_number or number > 4 or number == 0)):
        return number_sizes()[number]
    return float(number)


def _size_name(inch: float) -> str:
    for number, diameter in number_sizes().items():
        if abs(diameter - inch) < 5e-5:
            return f"#{number}"
    near = Fraction(inch).limit_denominator(64)
    if abs(float(near) - inch) > 1e-9:
        return f"{inch:.4g}"
    whole, rest = divmod(near, 1)
    return f"{whole} {rest}".strip() if whole and rest else str(whole or rest)
