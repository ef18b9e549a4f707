"""Other ways to make an internal thread: named, with what is known; not computed."""

from __future__ import annotations

from tapkit import tables
from tapkit.messages import Sentence, of_table


def other_ways() -> tuple[Sentence | str, ...]:
    """Each other way in a sentence or two; table `other_ways`.

    >>> "2 to 3 times the torque" in other_ways()[0]
    True
    """
    return tuple(of_table(row["told"]) for row in tables.rows("other_ways"))
