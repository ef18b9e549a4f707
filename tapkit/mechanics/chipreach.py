"""How deep flutes cope with their chips: where they jam, how far a helix lifts them, how far a tap reaches.

The ledger of `chiproom` takes the worst case for flutes that keep their chips. Shops run them all the same: to some
depth (table `chip_reach`) that costs torque, which `expected` has in it; beyond it the chips jam.
"""

import numpy as np

from tapkit import tables
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.messages import Number, Sentence, Span, _, angle, rough_depth

LEAVES, BELOW, STAYS = "leaves", "below the point", "stays"


def copes_to(tap: Tap, hole: Hole) -> float:
    """Depth [mm] to which a flute form copes with its chips by itself; table `chip_reach`.

    >>> copes_to(Tap.make("M10"), Hole.parse("through 8.5 x 15"))
    20.0
    """
    for row in tables.rows("chip_reach"):
        asked = row["kind"] in ("", hole.kind) and row["flute_form"] in ("", tap.flute_form)
        if asked and _within(tap.axial_rake, row["helix_deg"]):
            return float(row["depth_d"]) * tap.thread.major
    raise KeyError(tap.flute_form)


def _within(value: float, text: str) -> bool:
    low, high = (float(v) for v in text.split("|"))
    return low <= value < high or value == low == high


def jams_at(tap: Tap, hole: Hole, fate: str, packs_at: float | None, deepest: float) -> float | None:
    """Depth of the point [mm] from which chips jam, or None.

    Below the point of a blind hole: as soon as the room there is full. In flutes that keep their chips: once these are
    full and deeper than such flutes cope with; in a through hole the point passes the bottom and no more is cut there.
    """
    if packs_at is None or fate == LEAVES:
        return None
    if fate == BELOW:
        return packs_at
    at = max(packs_at, copes_to(tap, hole))
    end = min(deepest, hole.depth) if hole.is_through else deepest
    return at if at < end - 1e-9 else None


def of_flutes(
    tap: Tap, hole: Hole, packs_at: float | None, jams: float | None, lies: Span, holds: float
) -> list[Sentence]:
    """Flutes that keep their chips: what it costs, and when to clear them."""
    if packs_at is None:
        return []
    values = dict(lies=Number(lies.low, 2), more=Number(lies.high, 2), holds=Number(holds, 2))
    if jams is None:
        return [
            _(
                "these flutes keep part of their chips, which lie {lies} to {more} times as loose as solid metal where "
                "these flutes hold {holds} times: that costs torque, and the expected range has it in it; by hand turn "
                "back often, by machine clear the tap before the next hole",
                **values,
            )
        ]
    return [
        _(
            "chips jam from {jams} deep: by then they have filled the flutes, which keep them (they lie {lies} to "
            "{more} times as loose as solid metal, these flutes hold {holds} times): take the tap out and clear it "
            "before, or take a tap that moves its chips",
            jams=rough_depth(jams), **values,
        )
    ]  # fmt: skip


def of_room_below(packs_at: float | None, lies: Span) -> list[Sentence]:
    """A blind hole whose floor fills with chips."""
    if packs_at is None:
        return []
    return [
        _(
            "the space below the point is full of chips with the point {depth} deep (they lie {lies} to {more} "
            "times as "
            "loose as solid metal), and from there they jam: drill deeper, tap less deep, or take a tap that "
            "lifts its chips",
            depth=rough_depth(packs_at), lies=Number(lies.low, 2), more=Number(lies.high, 2),
        )
    ]  # fmt: skip


def of_reach(tap: Tap, hole: Hole, fate: str) -> list[Sentence]:
    """A helix that must lift its chips too far, and a tap that is too short for its hole."""
    deep = hole.worked_depth(tap.thread.pitch)
    out, least = [], copes_to(tap, hole)
    if fate == LEAVES and tap.form.lifts and deep > least:
        out.append(
            _(
                "a helix of {helix} lifts chips over about {times} diameters, {least} here (common practice, no "
                "source), and the tap works {deep} deep here: take the tap out and clear it on the way",
                helix=angle(tap.axial_rake), times=Number(least / tap.thread.major),
                least=rough_depth(least), deep=rough_depth(deep),
            )
        )  # fmt: skip
    reach = tap_reach(tap.thread.major)
    if reach is not None and deep > reach:
        out.append(
            _(
                "a usual tap of this size goes {reach} deep before its shank meets the hole (ISO 529 [memory]), "
                "and {deep} "
                "is asked: chips find no way out past it; take one with a long reach",
                reach=rough_depth(reach), deep=rough_depth(deep),
            )
        )  # fmt: skip
    return out


def tap_reach(major: float) -> float | None:
    """How deep a usual tap goes whose shank is wider than its hole [mm]; None for larger taps, whose shank passes.

    >>> tap_reach(6.0), tap_reach(12.0)
    (30.0, None)
    """
    at, reach = ([float(r[k]) for r in tables.rows("tap_reach")] for k in ("major_mm", "reach_mm"))
    return None if major > at[-1] else float(np.interp(major, at, reach))
