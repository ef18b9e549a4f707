"""One line of the table of agreement, and its verdict in words."""

import math
import re
from typing import Any, NamedTuple

from tapkit import tables
from tapkit.agreement.torquefigures import Count, Range

GROUPS = {
    "geometry": "Geometry (exact)",
    "standards": "Standards and handbook tables",
    "libraries": "Reference libraries",
    "mechanics": "Mechanics, published",
    "published torque": "Published torque, each against our range",
    "measured": "Measured torque, against our range",
}
"""Short name and heading of each group, in the order shown."""

MUST_AGREE = ("geometry", "standards", "libraries")
"""Groups in which a value that differs is a fault; elsewhere it is told."""

KINDS = {
    "": "",
    "construction": "holds by construction",
    "restated": "restated: our own table has this source",
}
"""What a row is worth: independent of us, true because we are built so, or our own source again."""

SIGNS = {"agrees": "✓", "near": "≈", "unknown": "?", "differs": "✗"}
"""Sign of each grade of verdict, from best to worst; the words say the same."""


NOT_COMPUTED = "not computed"


class Row(NamedTuple):
    """One value from outside beside ours: group, figure and case in words; `says` as printed; `ours` a number or
    words or a range; unit; `ratio` of ours to theirs or None; `grade`; `verdict` in words; `kind` one of `KINDS`;
    `assumed`; `source`."""

    group: str
    figure: str
    case: str
    says: str
    ours: float | str | Range | Count
    unit: str
    ratio: float | None
    grade: str
    verdict: str
    kind: str
    assumed: str
    source: str

    @property
    def ours_shown(self) -> str:
        """Our value with the digits of theirs, and two more where they print few."""
        if isinstance(self.ours, str):
            return self.ours
        if isinstance(self.ours, Count):
            return f"{self.ours.inside} of {self.ours.cases}"
        if isinstance(self.ours, Range):
            return f"{self.ours.low:.2g}–{self.ours.high:.2g}"
        places = max((len(m) for m in re.findall(r"\d\.(\d+)", self.says)), default=0)
        if places == 0 or self.grade != "agrees":
            places = max(places, 2 - math.floor(math.log10(abs(self.ours) or 1.0)) if abs(self.ours) < 100 else 1)
        return f"{self.ours:.{places}f}".replace("-", "−")


def all_rows(*, live: bool = True, group: str | None = None) -> list[Row]:
    """The whole table, group by group; `live` runs the reference libraries that are installed."""
    wanted = [group] if group else list(GROUPS)
    found = [_published(r) for r in tables.rows("published") if r["group"] in wanted]
    if "libraries" in wanted:
        from tapkit.agreement.library import references

        found += [_library(r) for r in references(live)]
    return sorted(found, key=lambda r: list(GROUPS).index(r.group))


def worst(rows: list[Row]) -> str:
    """The worst grade among rows."""
    grades = list(SIGNS)
    return max((r.grade for r in rows), key=grades.index, default="agrees")


def _published(row: dict[str, str]) -> Row:
    from tapkit.agreement.figures import FIGURES

    ours = FIGURES[row["figure"]](row["case"])
    if ours == NOT_COMPUTED:
        grade, verdict, ratio = "unknown", f"not computed: {row['assumed']}", None
    elif isinstance(ours, str):
        grade, verdict, ratio = *judge_words(row["says"], ours), None
    elif isinstance(ours, Count):
        grade, verdict, ratio = *judge_count(ours), None
    elif isinstance(ours, Range):
        judge = judge_covers if row["judge"] == "covers" else judge_span
        grade, verdict, ratio = *judge(row["says"], ours), None
    else:
        ratio = _ratio(row["says"], ours)
        grade, verdict = JUDGES[row["judge"]](row["says"], ours, float(row["within"] or 0), row["assumed"])
    return Row(
        row["group"], row["figure"], row["case"], row["says"], ours, row["unit"], ratio, grade, verdict, row["kind"],
        row["assumed"], row["source"],
    )  # fmt: skip


def _library(ref: Any) -> Row:
    shown = f"{ref.says:.6g}"
    grade, verdict = judge_close(shown, ref.ours, ref.within, "")
    ratio = ref.ours / ref.says
    return Row(
        "libraries", ref.figure, ref.case, shown, ref.ours, ref.unit, ratio, grade, verdict, ref.kind, "", ref.source,
    )  # fmt: skip


def _ends(says: str) -> tuple[float, float]:
    """The two ends of a printed range, or one number twice; words behind a number are left out."""
    found = [float(n) for n in re.findall(r"(?<![\d.])-?\d+(?:\.\d+)?(?![\d.])|\d+(?:\.\d+)?", says)]
    if len(found) == 2:
        return abs(found[0]), abs(found[1])
    return found[0], found[0]


def _ratio(says: str, ours: float) -> float | None:
    low, high = _ends(says)
    middle = math.sqrt(low * high) if low > 0 else (low + high) / 2
    return ours / middle if middle else None


def judge_digits(says: str, ours: float, within: float, assumed: str) -> tuple[str, str]:
    """Agreement to every digit printed: half a unit of the last one.

    >>> judge_digits("9.206", 9.2061, 0, ""), judge_digits("9.206", 9.207, 0, "")[0]
    (('agrees', 'agrees to every printed digit'), 'near')
    """
    value = float(says)
    places = len(says.partition(".")[2])
    if abs(ours - value) <= 0.5 * 10**-places * (1 + 1e-9):
        return "agrees", "agrees to every printed digit"
    if abs(ours - value) <= 1.5 * 10**-places:
        return "near", "one unit of the last printed digit apart"
    return "differs", f"differs by {abs(ours / value - 1):.2%}"


def judge_close(says: str, ours: float, within: float, assumed: str) -> tuple[str, str]:
    """Agreement within so many percent."""
    value = float(says)
    apart = abs(ours / value - 1) * 100
    shown = f"{apart:.0f} %" if apart >= 10 else f"{apart:.2g} %"
    if apart < 5e-4:
        return "agrees", "agrees to every digit shown"
    if apart <= within * (1 + 1e-9):
        return ("agrees" if within <= 1 else "near"), f"agrees within {shown}"
    return "differs", f"{shown} apart, more than the {within:g} % allowed"


def judge_range(says: str, ours: float, within: float, assumed: str) -> tuple[str, str]:
    """Inside a printed range."""
    low, high = _ends(says)
    if low <= ours <= high:
        return "agrees", "inside the printed range"
    end, word = (low, "below") if ours < low else (high, "above")
    apart = abs(ours / end - 1)
    return ("near" if apart < 0.05 else "differs"), f"{apart:.0%} {word} the printed range"


def judge_least(says: str, ours: float, within: float, assumed: str) -> tuple[str, str]:
    """At least the printed number."""
    return ("agrees", "the same way") if ours >= _ends(says)[0] else ("differs", "the other way")


def judge_most(says: str, ours: float, within: float, assumed: str) -> tuple[str, str]:
    """At most the printed number."""
    return ("agrees", "the same way") if ours <= _ends(says)[0] else ("differs", "the other way")


def judge_covers(says: str, ours: Range) -> tuple[str, str]:
    """A measured torque against our range, both told as a share of the sum of our tooth forces."""
    low, high = _ends(says)
    of = ours.of or 1.0
    told = (
        f"measured is {_times(low / of, high / of)} times the sum of our tooth forces, our range covers "
        f"{_times(ours.low / of, ours.high / of)}"
    )
    if ours.low <= low and high <= ours.high:
        return "agrees", f"inside our range: {told}"
    if low <= ours.high and high >= ours.low:
        return "near", f"partly inside our range: {told}"
    return "differs", f"outside our range: {told}"


def judge_span(says: str, ours: Range) -> tuple[str, str]:
    """A span of ratios against a least value."""
    least = _ends(says)[0]
    told = f"from {ours.low:.2g} to {ours.high:.2g}"
    if ours.low >= least:
        return "agrees", f"the same way, {told}"
    return ("near", f"not always, {told}") if ours.high >= least else ("differs", f"the other way, {told}")


def judge_count(ours: Count) -> tuple[str, str]:
    """How many published values lie inside our ranges."""
    told = (
        f"published is {_times(ours.low, ours.high)} times the sum of our tooth forces, our ranges cover "
        f"{_times(ours.least, ours.most)}"
    )
    if ours.inside == ours.cases:
        return "agrees", f"all inside our ranges: {told}"
    return "differs", f"{ours.cases - ours.inside} outside our ranges: {told}"


def _times(low: float, high: float) -> str:
    ends = [f"{v:.2g}" for v in (low, high)]
    return ends[0] if ends[0] == ends[1] else " to ".join(ends)


def judge_unknown(says: str, ours: float, within: float, assumed: str) -> tuple[str, str]:
    """A question nobody has settled: where the two sides stand is told."""
    if re.search("or less|or more", says):
        side = judge_most if "less" in says else judge_least
        same = side(says, ours, within, assumed)[0] == "agrees"
        return "unknown", f"{'the same way' if same else 'the other way'}: {assumed}"
    value = _ends(says)[0]
    place = "close together" if abs(ours - value) <= (0.25 * value or 5.0) else "far apart"
    return "unknown", f"{place}: {assumed}"


def judge_words(says: str, ours: str) -> tuple[str, str]:
    """The same word, or another one, which is a contradiction."""
    return ("agrees", "the same") if ours == says else ("differs", "not the same")


JUDGES = {
    "digits": judge_digits,
    "close": judge_close,
    "range": judge_range,
    "least": judge_least,
    "most": judge_most,
    "unknown": judge_unknown,
}
