"""Chip room: what has been cut at each depth, how loose it lies, where it goes and what room there is.

The tooth k cuts the volume A_k · 2π r_k for each turn, so 2π r_c ΣA / P for each mm of thread (Pappus). Loose
chips fill R times that; R is the bulking ratio of the table `bulking`. A chip that leaves, leaves the
ledger; a chip that stays must lie in the flutes, or below the point of a blind hole.
"""

from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from tapkit import tables
from tapkit.geometry.hole import Hole
from tapkit.geometry.solid import flute_shape, solid
from tapkit.geometry.tap import Tap
from tapkit.mechanics import chipflow, chipreach, toothload, torque
from tapkit.mechanics.chipreach import BELOW, LEAVES, STAYS
from tapkit.mechanics.toothload import ToothSlices
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Sentence, Span, _, of_table

FORMS = ("fine", "broken", "tight curls", "loose curls")
USUAL_FORM = {"short": "fine", "medium": "broken", "long": "tight curls"}
STEPS = 60
CHUNK = 200
"""Jobs computed together, so that depths × teeth of all stay in memory."""


class Bulking(NamedTuple):
    """How loose one form of chip lies: loose volume over solid volume, from `low` to `high`; `ahead` the least where
    the tap drives it ahead of its point into a blind hole, and presses it together there."""

    form: str
    low: float
    high: float
    ahead: float
    printed: Sentence | str
    source: Sentence | str

    def going(self, fate: str) -> "Bulking":
        """The same where the chips go, by their fate."""
        return self._replace(low=self.ahead) if fate == BELOW else self


class ChipRoom(NamedTuple):
    """The ledger of chips; arrays of shape (depths,) against the depth of the point, volumes in mm3.

    `solid` metal cut so far; `loose_low`, `loose_high` the room its chips want; `room_flutes` room in the
    flutes inside the hole, out to the wall of the drilled hole; `room_below` room below the point of a blind hole
    (zero in a through hole); `fate` "leaves", "below the point" or "stays"; `goes` the same as a sentence;
    `packs_at` depth [mm] at which even the tightest chips fill the room, or None; `may_pack_at` the same for the
    loosest; `jams_at` depth [mm] from which chips jam, as the room is full and the hole is deeper than such flutes are
    known to cope with, or None: from there the torque has no upper end; `full_ratio` bulking ratio at which flutes
    that keep every chip are full; `bulking`; `cautions`.
    """

    depth: np.ndarray
    solid: np.ndarray
    loose_low: np.ndarray
    loose_high: np.ndarray
    room_flutes: np.ndarray
    room_below: np.ndarray
    fate: str
    goes: Sentence
    packs_at: float | None
    may_pack_at: float | None
    jams_at: float | None
    full_ratio: float
    bulking: Bulking
    cautions: tuple[Sentence, ...]

    @property
    def room(self) -> np.ndarray:
        """Room that counts for the chips' fate at each depth [mm3]; infinite where they leave."""
        return _room_that_counts(self.fate, self.room_flutes, self.room_below)


def bulking(workpiece: Workpiece, form: str | None = None) -> Bulking:
    """Bulking ratio of a workpiece's chips, of their usual form or of one of `FORMS`.

    Raises ValueError for a form the table does not have for this metal.

    >>> bulking(Workpiece.parse("grey iron")).low, bulking(Workpiece.parse("C45"), "broken").high
    (2.7, 9.0)
    """
    form = form or USUAL_FORM[workpiece.chips]
    if form not in FORMS:
        raise ValueError(
            _("{form} is not a form of chip; the forms are {known}", form=repr(form), known=", ".join(FORMS))
        )
    return _bulking(workpiece.group, form)


@lru_cache(maxsize=64)
def _bulking(group: str, form: str) -> Bulking:
    metal = "aluminium" if "aluminium" in group else group
    rows = [r for r in tables.rows("bulking") if r["form"] == form]
    own = [r for r in rows if r["group"] == metal]
    row = (own or [r for r in rows if r["group"] == "steel"] or rows)[0]
    ends = (float(row[end]) for end in ("low", "high", "ahead"))
    if own:
        return Bulking(form, *ends, of_table(row["printed"]), row["source"])
    printed = _("{form} of {metal}", form=of_table(form), metal=of_table(group))
    return Bulking(
        form,
        *ends,
        printed,
        _("{source} (carried on from {metal})", source=row["source"], metal=of_table(row["group"])),
    )


def volume_per_mm(slices: ToothSlices, pitch: Any) -> Any:
    """Solid metal cut for each mm of finished thread [mm3/mm], shape (…): Σ 2π r_k A_k / P (Pappus)."""
    return np.sum(2 * np.pi * slices.radius * slices.area, axis=-1) / pitch


def full_ratio(room_per_mm: Any, volume: Any) -> Any:
    """Bulking ratio at which flutes that keep every chip are full: room over solid metal, each for one mm."""
    return np.divide(room_per_mm, volume, out=np.full(np.shape(volume), np.inf), where=np.asarray(volume) > 0)[()]


def solid_cut(depth: np.ndarray, slices: ToothSlices, hole: Any, pitch: Any) -> np.ndarray:
    """Metal cut until the point has reached each depth [mm3], (…, depths); exact if all slices' ends are among them."""
    each = 2 * np.pi * slices.radius * slices.area / pitch
    rate = (torque.share_in_metal(depth, slices, hole) @ each[..., None])[..., 0]
    steps = np.diff(depth) * (rate[..., 1:] + rate[..., :-1]) / 2
    return np.concatenate([np.zeros_like(depth[..., :1]), np.cumsum(steps, axis=-1)], axis=-1)


@lru_cache(maxsize=1024)
def flute_room_per_mm(tap: Tap, hole_diameter: float) -> float:
    """Room in all flutes per mm of length, out to the wall of the drilled hole [mm2].

    The ring between the hole and the major diameter is left out: there chips would jam in the thread.
    """
    return tap.flutes * float(solid(tap).flute.area(hole_diameter / 2))


def flute_room(jobs: Any) -> np.ndarray:
    """The same for many: `jobs` with columns (jobs,) named as in `KeptChips`."""
    measures = dict(diameter=jobs.major, core=jobs.core, land=jobs.land, flutes=jobs.flutes)
    shape = flute_shape(**measures, radial_rake=jobs.radial_rake, pitch=jobs.pitch)
    return jobs.flutes * shape.area(jobs.bore / 2)


def room_below(depth: np.ndarray, hole: Any) -> np.ndarray:
    """Room between the tap's point and the floor of a blind hole, the drill's cone included [mm3], (…, depths)."""
    free = np.maximum(hole.depth - depth, 0.0) + hole.cone_depth / 3
    return np.where(hole.is_through, 0.0, np.pi * hole.diameter**2 / 4 * free)


def chip_room(
    *,
    tap: Tap,
    hole: Hole,
    workpiece: Workpiece,
    slices: ToothSlices,
    direction: str,
    form: str | None = None,
    every: float | None = None,
) -> ChipRoom:
    """The ledger of one job; `direction` of the chips as in `chipflow`, `form` of the chips None for usual.

    What is not known is how much of the chips straight flutes pass on: the ledger takes the worst case, that
    they keep all of them, and says so. `every` so many mm of depth the tap is taken out and cleared: the ledger then
    holds what was cut since.
    """
    pitch, loose = tap.thread.pitch, bulking(workpiece, form)
    depth = _depths(slices, hole, pitch, every)
    solid = solid_cut(depth, slices, hole, pitch)
    if every:
        last = np.maximum(np.floor((depth + 1e-12) / every) * every, depth[0])
        solid = solid - np.interp(last, depth, solid)
    fate, goes = fate_of(direction, hole, loose)
    loose = loose.going(fate)
    in_hole = np.clip(depth, 0.0, hole.depth)
    flutes = flute_room_per_mm(tap, hole.diameter) * in_hole
    below = room_below(depth, hole)
    room = _room_that_counts(fate, flutes, below)
    packs = [_first_full(depth, ratio * solid, room) for ratio in (loose.low, loose.high)]
    full_at = packs[0]
    if every and fate == STAYS:  # chips that were cleared are gone: what counts is where it is full beyond that depth
        deep = depth >= chipreach.copes_to(tap, hole)
        full_at = _first_full(depth[deep], loose.low * solid[deep], room[deep]) if deep.any() else None
    jams = chipreach.jams_at(tap, hole, fate, full_at, float(depth[-1]))
    full = float(full_ratio(flute_room_per_mm(tap, hole.diameter), volume_per_mm(slices, pitch)))
    return ChipRoom(
        depth,
        solid,
        loose.low * solid,
        loose.high * solid,
        flutes,
        below,
        fate,
        goes,
        *packs,
        jams,
        full,
        loose,
        _cautions(tap, hole, fate, (packs[0], jams), loose, full),
    )


def _depths(slices: ToothSlices, hole: Hole, pitch: float, every: float | None = None) -> np.ndarray:
    events = torque.events(slices, hole, pitch)
    steps = np.linspace(events.min(), events.max(), STEPS)
    pecks = np.arange(1, events.max() / every) * every if every else np.zeros(0)
    nodes = [events, steps, np.clip([hole.depth], events.min(), events.max()), pecks, pecks - 1e-9]
    return np.unique(np.concatenate(nodes))


def fate_of(direction: str, hole: Hole, loose: Bulking) -> tuple[str, Sentence]:
    """Whether chips leave, lie below the point, or stay; and where they go, in words."""
    if direction == chipflow.TO_SHANK:
        return LEAVES, _("up the flutes and out at the top")
    if direction == chipflow.AHEAD:
        if hole.is_through:
            return LEAVES, _("ahead of the point and out at the bottom")
        return BELOW, _("ahead of the point, into the space below it")
    if hole.is_through and loose.form == "fine":
        return LEAVES, _("out of both ends of the flutes, as crumbs")
    if hole.is_through:
        return STAYS, _("either way; at worst they stay in the flutes")
    return STAYS, _("either way; at worst they stay in the flutes and below the point")


def _room_that_counts(fate: str, flutes: np.ndarray, below: np.ndarray) -> np.ndarray:
    if fate == LEAVES:
        return np.full_like(flutes, np.inf)
    return below if fate == BELOW else flutes + below


def first_full(depth: np.ndarray, over: np.ndarray) -> np.ndarray:
    """Depth at which what chips want `over` their room first rises above 0, straight in between; arrays
    (jobs, depths) to (jobs,), nan where it never does."""
    row, i = np.arange(len(depth)), np.argmax(over > 0, axis=1)
    before = np.maximum(i - 1, 0)
    with np.errstate(invalid="ignore"):
        gone = over[row, before] - over[row, i]
        share = np.divide(over[row, before], gone, out=np.ones(len(row)), where=gone != 0)
    at = depth[row, before] + (depth[row, i] - depth[row, before]) * share
    return np.where((over > 0).any(axis=1), np.where(i == 0, depth[:, 0], at), np.nan)


def _first_full(depth: np.ndarray, wanted: np.ndarray, room: np.ndarray) -> float | None:
    over = wanted - room
    return float(first_full(depth[None], over[None])[0]) if (over > 0).any() else None


def _cautions(
    tap: Tap, hole: Hole, fate: str, full: tuple[float | None, float | None], loose: Bulking, holds: float
) -> tuple[Sentence, ...]:
    packs_at, jams = full
    lies = Span(loose.low, loose.high, "length")
    told = (
        []
        if fate == LEAVES
        else chipreach.of_room_below(packs_at, lies)
        if fate == BELOW
        else (chipreach.of_flutes(tap, hole, packs_at, jams, lies, holds))
    )
    return (*told, *chipreach.of_reach(tap, hole, fate))


# --- many at once -------------------------------------------------------------------------------------


class KeptChips(NamedTuple):
    """Jobs whose chips do not leave: columns (jobs,). Sizes of tap and hole as in `toothload.cutters`, `depth` as in
    `sweep.Jobs` (the `cylinder` of a blind hole beside it) and `cone` below it [mm]; `fate` as in `ChipRoom`;
    `loose` the least bulking ratio."""

    major: Any
    pitch: Any
    flutes: Any
    chamfer_threads: Any
    point_diameter: Any
    radial_rake: Any
    core: Any
    land: Any
    bore: Any
    depth: Any
    cylinder: Any
    cone: Any
    through: Any
    loose: Any
    fate: Any
    faults: Any


def packs_at(jobs: KeptChips) -> tuple[np.ndarray, np.ndarray]:
    """Depth [mm] at which even the tightest chips fill the room, nan where they never do, and the depth at which the
    cut ends; arrays (jobs,)."""
    order = np.argsort(np.asarray(jobs.chamfer_threads) * jobs.flutes)  # jobs of like many teeth together
    packs, ends = np.empty(len(order)), np.empty(len(order))
    for start in range(0, len(order), CHUNK):
        some = order[start : start + CHUNK]
        columns = ([c[i] for i in some] if isinstance(c, list) else c[some] for c in jobs)
        packs[some], ends[some] = _packs_at(KeptChips(*columns))
    return packs, ends


def _packs_at(jobs: KeptChips) -> tuple[np.ndarray, np.ndarray]:
    found = toothload.slices(toothload.cutters(jobs))
    names = ("through", "cylinder", "depth", "bore", "cone", "pitch", "loose")
    through, *sizes, pitch, loose = (np.asarray(getattr(jobs, name), float)[:, None] for name in names)
    holes = torque.Holes(through > 0, *sizes)
    events = torque.events(found, holes, pitch)
    least, most = events.min(axis=1, keepdims=True), events.max(axis=1, keepdims=True)
    steps = least + (most - least) * np.linspace(0, 1, STEPS)
    depth = np.sort(np.concatenate([events, steps, np.clip(holes.depth, least, most)], axis=1), axis=1)
    wanted = loose * solid_cut(depth, found, holes, pitch)
    in_flutes = np.array([fate != BELOW for fate in jobs.fate]) * flute_room(jobs)
    room = room_below(depth, holes) + in_flutes[:, None] * np.clip(depth, 0.0, holes.depth)
    return first_full(depth, wanted - room), depth[:, -1]
