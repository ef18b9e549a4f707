"""One line of the table of agreement, and its verdict in words."""

from __future__ import annotations

import math
import re
from typing import Any, NamedTuple

from tapkit import tables

GROUPS = {
    "geometry": "Geometry (exact)",
    "standards": "Standards and handbook tables",
    "libraries": "Reference libraries",
    "mechanics": "Mechanics, published",
    "measured": "Measured torque (order of magnitude)",
}
"""Short name and heading of each group, in the order shown."""

SIGNS = {"agrees": "✓", "near": "≈", "unknown": "?", "differs": "✗"}
"""Sign of each grade of verdict, from best to worst; the words say the same."""


class Row(NamedTuple):
    """One value from outside beside ours: group, figure and case in words; `says` as printed; `ours` a number or
    words; unit; `ratio` of ours to theirs or None; `grade`; `verdict` in words; `assumed`; `source`."""

    group: str
    figure: str
    case: str
    says: str
    ours: float | str
    unit: str
    ratio: float | None
    grade: str
    verdict: str
    assumed: str
    source: str

    @property
    def ours_shown(self) -> str:
        """Our value with the digits of theirs, and two more where they print few."""
        if isinstance(self.ours, str):
            return self.ours
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
    if isinstance(ours, str):
        grade, verdict, ratio = *judge_words(row["says"], ours, row["assumed"]), None
    else:
        ratio = _ratio(row["says"], ours)
        grade, verdict = JUDGES[row["judge"]](row["says"], ours, float(row["within"] or 0), row["assumed"])
    return Row(
        row["group"], row["figure"], row["case"], row["says"], ours, row["unit"], ratio, grade, verdict, row["assumed"],
        row["source"],
    )  # fmt: skip


def _library(ref: Any) -> Row:
    shown = f"{ref.says:.6g}"
    grade, verdict = judge_close(shown, ref.ours, ref.within, "")
    ratio = ref.ours / ref.says
    return Row(
        "libraries", ref.figure, ref.case, shown, ref.ours, ref.unit, ratio, grade, verdict, "", ref.source,
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


def judge_order(says: str, ours: float, within: float, assumed: str) -> tuple[str, str]:
    """A measured value: the ratio is told, and no more is claimed than the order of magnitude."""
    low, high = _ends(says)
    if low < high and low <= ours <= high:
        return "near", "inside the measured span; the ratio is told, no more is claimed"
    times = [f"{v / ours:.2g}" for v in ((low, high) if low < high else (low,))]
    if 1 / 3 <= (low * high) ** 0.5 / ours <= 3:
        return "near", f"same order of magnitude: measured is {' to '.join(times)} times ours"
    return "differs", f"another order of magnitude: measured is {' to '.join(times)} times ours"


def judge_unknown(says: str, ours: float, within: float, assumed: str) -> tuple[str, str]:
    """A question nobody has settled: where the two sides stand is told."""
    if re.search("or less|or more", says):
        side = judge_most if "less" in says else judge_least
        same = side(says, ours, within, assumed)[0] == "agrees"
        return "unknown", f"{'the same way' if same else 'the other way'}: {assumed}"
    value = _ends(says)[0]
    place = "close together" if abs(ours - value) <= (0.25 * value or 5.0) else "far apart"
    return "unknown", f"{place}: {assumed}"


def judge_words(says: str, ours: str, assumed: str) -> tuple[str, str]:
    """The same word, or not."""
    if ours == says:
        return "agrees", "the same"
    return "unknown", f"not the same: {assumed}" if assumed else "not the same"


JUDGES = {
    "digits": judge_digits,
    "close": judge_close,
    "range": judge_range,
    "least": judge_least,
    "most": judge_most,
    "order": judge_order,
    "unknown": judge_unknown,
}
