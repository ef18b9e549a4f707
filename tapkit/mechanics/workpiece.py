"""Workpieces: specific cutting force and the kind of chip."""

import re
from dataclasses import dataclass
from functools import lru_cache

from tapkit import door, tables
from tapkit.messages import Sentence, _, of_table


@dataclass(frozen=True, kw_only=True)
class Workpiece:
    """A metal to be tapped.

    Parameters: `name` and `printed` name; `group` for rakes and speeds; `kc11` specific cutting force of a
    chip 1 mm by 1 mm [N/mm2] and its exponent `mc`; `gamma0` rake of the cutting tests [deg]; `chips` "long",
    "medium" or "short"; `hardens` whether it work-hardens; `source` of the two constants.
    """

    name: str
    printed: str
    group: str
    kc11: float
    mc: float
    gamma0: float
    chips: str
    hardens: bool
    source: str

    @classmethod
    def parse(cls, text: str, source: str | None = None) -> "Workpiece":
        """A workpiece of the table by name, number or common word, from source "A", "B" or the first listed;
        "C45 source B" says both.

        >>> Workpiece.parse("1045").name, Workpiece.parse("C45", "B").kc11
        ('C45', 1659.0)
        """
        return read_workpiece(text, source)

    def cautions(self) -> tuple[Sentence, ...]:
        """What to know about the constants of this workpiece."""
        if "low" in self.source:
            return (
                _(
                    "the cutting force of {metal} is recalled, not opened, and uncertain: use it for comparison only",
                    metal=self.name,
                ),
            )
        return ()


def fold(text: str) -> str:
    """A name as it is compared: letters and digits alone, in lower case."""
    return "".join(c for c in door.plain(text).lower() if c.isalnum())


@lru_cache(maxsize=256)
def read_workpiece(text: str, source: str | None = None) -> Workpiece:
    """A workpiece of the table; see `Workpiece.parse`."""
    named = re.fullmatch(r"(.+?)[\s,]+source ([A-Z])", str(text)[:80].strip())
    if named and source is None:
        return read_workpiece(named[1], named[2])
    found = next((w for name in _spellings(str(text)[:80]) if (w := [w for w, keys in _table() if name in keys])), [])
    if source is not None:
        found = [w for w in found if w.source.startswith(f"{source}:")]
    if not found:
        known = dict(text=door.quoted(text), known=", ".join(workpiece_names()))
        near = next((r for name in _spellings(str(text)[:80]) if (r := _near().get(name))), None)
        if near is not None:
            raise ValueError(_not_here(known["text"], near))
        if source is None:
            raise ValueError(_("no workpiece {text} in the table; there are {known}", **known))
        raise ValueError(
            _("no workpiece {text} from source {source} in the table; there are {known}", source=source, **known)
        )
    return found[0]


FILLING = re.compile(
    r"aisi|sae|astm|uns|din|en|iso|bs|jis|w?\.?nr|no|type|grade|alloy|steel|stainless|ss|alumini?um|al|brass|copper|bronze|"
    r"iron|titanium|ti|edelstahl|stahl|messing|kupfer|alu|titan|rund|blech|platte|blank|werkstoff|inox|bar|plate|sheet|stock|round|bright|crs|hrs|hr|cr|cold|hot|rolled|annealed|t\d{1,4}"
)
"""Words that stand beside a metal's number and may be left out."""


def _spellings(text: str) -> tuple[str, ...]:
    """A name as written, then without the words that only stand beside it."""
    words = [w for w in re.split(r"[\s,;:()/]+", door.plain(text).lower()) if not FILLING.fullmatch(w.strip("."))]
    return tuple(dict.fromkeys(name for name in (fold(text), fold("".join(words))) if name))


@lru_cache(maxsize=1)
def _near() -> dict[str, dict[str, str]]:
    return {fold(name): row for row in tables.rows("metals_near") for name in row["names"].split("|")}


def _not_here(text: str, row: dict[str, str]) -> Sentence:
    """A metal that is known but not in the table: the nearest that is, and how it differs."""
    told = dict(text=text, near=row["near"], differs=of_table(row["differs"]))
    if row["near"]:
        return _(
            "{text} is not in the table; the nearest there is {near} ({text}: {differs}): take that, knowing it", **told
        )
    if row["differs"]:
        return _("{text} is not in the table: {differs}", **told)
    return _(
        "{text} is not in the table, and nothing there is near it; take a metal of the table to compare with", **told
    )


@lru_cache(maxsize=1)
def _table() -> tuple[tuple[Workpiece, frozenset[str]], ...]:
    out = []
    for row in tables.rows("workpieces"):
        kinds = row["chips"].split()
        piece = Workpiece(
            name=row["name"],
            printed=row["printed"],
            group=row["group"],
            kc11=float(row["kc11"]),
            mc=float(row["mc"]),
            gamma0=float(row["gamma0_deg"]),
            chips=kinds[0],
            hardens="work-hardening" in kinds,
            source=f"{row['kc_source']}: {row['source']}",
        )
        out.append((piece, frozenset(fold(n) for n in [row["name"], row["printed"], *row["other_names"].split("|")])))
    return tuple(out)


def workpiece_names() -> list[str]:
    """Names of all workpieces, in the table's order.

    >>> workpiece_names()[:3]
    ['S235JR', 'E295', 'C45']
    """
    return list(dict.fromkeys(w.name for w, _ in _table()))
