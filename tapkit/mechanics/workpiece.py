"""Workpieces: specific cutting force and the kind of chip."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from tapkit import door, tables
from tapkit.messages import Sentence, _


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
    def parse(cls, text: str, source: str | None = None) -> Workpiece:
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
    wanted = fold(str(text)[:80])
    found = [w for w, keys in _table() if wanted in keys]
    if source is not None:
        found = [w for w in found if w.source.startswith(f"{source}:")]
    if not found:
        known = dict(text=door.quoted(text), known=", ".join(workpiece_names()))
        if source is None:
            raise ValueError(_("no workpiece {text} in the table; there are {known}", **known))
        raise ValueError(
            _("no workpiece {text} from source {source} in the table; there are {known}", source=source, **known)
        )
    return found[0]


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
