"""The numbers of the trade: CSV files whose every row names its source.

`rows("workpieces")` gives the rows of `workpieces.csv` as plain dicts of text; a line that starts with a
hash and a space is a remark. Nothing else in tapkit holds a number of the trade.
"""

import csv
from functools import cache
from importlib import resources


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """The rows of a table, in file order.

    Raises ValueError for a table that is not there or a row without a source.

    >>> rows("chamfers")[0]["us"]
    'taper'
    """
    place = resources.files(__package__) / f"{name}.csv"
    if not place.is_file():
        raise ValueError(f"there is no table {name!r}; the tables are {', '.join(names())}")
    lines = [x for x in place.read_text(encoding="utf-8").splitlines() if x.strip() and not x.startswith("# ")]
    read = list(csv.DictReader(lines))
    for number, row in enumerate(read, start=1):
        if None in row:
            raise ValueError(
                f"table {name!r}, row {number} has more cells than columns; put a text with a comma in quotes"
            )
    found = tuple({k: (v or "").strip() for k, v in row.items()} for row in read)
    for number, row in enumerate(found, start=1):
        if not row.get("source"):
            raise ValueError(f"table {name!r}, row {number} has no source; every row needs one")
    return found


@cache
def row(table: str, **wanted: str) -> dict[str, str]:
    """The first row of a table with some words in some columns.

    Raises ValueError where there is none.

    >>> row("chamfers", us="plug")["british"]
    'second'
    """
    for found in rows(table):
        if all(found[column] == word for column, word in wanted.items()):
            return found
    raise ValueError(f"table {table!r} has no row with {' and '.join(f'{c} {w!r}' for c, w in wanted.items())}")


def names() -> list[str]:
    """The names of all tables."""
    return sorted(p.name[:-4] for p in resources.files(__package__).iterdir() if p.name.endswith(".csv"))


def span(text: str) -> tuple[float, float]:
    """The two ends of a range written "3-5", or one number twice.

    >>> span("3-5"), span("0.36")
    ((3.0, 5.0), (0.36, 0.36))
    """
    low, _, high = text.partition("-")
    return float(low), float(high or low)
