"""Other ways to make an internal thread: named, with what is known; not computed."""

from tapkit import tables
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Sentence, of_table


def other_ways(work: Workpiece) -> tuple[Sentence | str, ...]:
    """Each other way in a sentence or two; table `other_ways`. None that presses the thread where the metal crumbles,
    or is named as not for it.

    >>> [len(other_ways(Workpiece.parse(name))) for name in ("C45", "EN-GJL-250", "POM", "Ti-6Al-4V")]
    [2, 1, 1, 1]
    """
    flows = work.chips != "short"
    return tuple(
        of_table(row["told"])
        for row in tables.rows("other_ways")
        if (flows or row["chips"] != "none") and not {work.name, work.group} & set(row["not_for"].split("|"))
    )


def practice(work: Workpiece) -> tuple[Sentence | str, ...]:
    """What a shop minds in this metal; table `metal_practice`.

    >>> "dry" in practice(Workpiece.parse("grey iron"))[0], practice(Workpiece.parse("C45"))
    (True, ())
    """
    return tuple(of_table(row["told"]) for row in _practice(work))


def usual_fluid(work: Workpiece) -> str:
    """The cutting fluid that is usual in this metal; table `metal_practice`.

    >>> usual_fluid(Workpiece.parse("grey iron")), usual_fluid(Workpiece.parse("C45"))
    ('dry', 'oil')
    """
    return next((row["fluid"] for row in _practice(work) if row["fluid"]), "oil")


def _practice(work: Workpiece) -> list[dict[str, str]]:
    return [row for row in tables.rows("metal_practice") if row["metal"] in (work.name, work.group)]
