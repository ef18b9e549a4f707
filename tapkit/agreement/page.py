"""The table of agreement as one page of HTML that needs nothing else."""

from typing import NamedTuple

from tapkit.agreement.agreementtext import grades_summary, printed_with_unit, ratio_shown, shown, told
from tapkit.agreement.row import GROUPS, SIGNS, Row
from tapkit.pages import page


class Group(NamedTuple):
    """The rows of one group, and the sources they name, each once."""

    name: str
    heading: str
    rows: list[Row]
    sources: list[str]


def as_page(rows: list[Row]) -> str:
    """The whole page."""
    return page(
        "agreement.html",
        groups=[_group(name, rows) for name in GROUPS if any(r.group == name for r in rows)],
        summary=grades_summary(rows),
        signs=SIGNS,
        told=told,
        shown=shown,
        with_unit=printed_with_unit,
        ratio_shown=ratio_shown,
    )


def _group(name: str, rows: list[Row]) -> Group:
    own = [row for row in rows if row.group == name]
    return Group(name, GROUPS[name], own, list(dict.fromkeys(told(row) for row in own)))
