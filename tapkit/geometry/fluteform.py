"""How a flute runs, and all that follows from it: one frozen record for each row of the table `flute_forms`."""

from dataclasses import dataclass
from functools import cache

from tapkit import tables
from tapkit.messages import _


@dataclass(frozen=True, kw_only=True)
class FluteForm:
    """A flute form, by what others ask of it; the chamfer may be ground on any.

    Parameters
    ----------
    key : its name in code and tables.
    path : "straight", "point" (straight, the faces ground back at the point) or "helix".
    sign : of the axial rake: 1 lifts the chip toward the shank, −1 drives it ahead, 0 neither.
    printed, printed_left : how it is named with a right-hand and with a left-hand thread.
    axial_rake : the usual one [deg]; `axial_rakes`, the least and the most worth trying [deg].
    core_share : where the core lies in its usual range, 0 thin to 1 thick.
    counts : column of the table `flute_counts`.
    chips : who carries them where: "ahead of the point", "toward the shank", "undecided".
    chamfers : US words of the chamfers that may be asked of it, the usual one first; `letters` of DIN 2197 for it.
    dearer : steps of grinding over the plainest.
    read_as : regular expression for its name; "" on a helix, which is read by its hand.
    shape, flutes, doubt : how it looks, as a sentence (with {angle}) and as a phrase, and what is said where its chips
        are not sure to go as they should.
    """

    key: str
    path: str
    sign: int
    printed: str
    printed_left: str
    axial_rake: float
    axial_rakes: tuple[float, float]
    core_share: float
    counts: str
    chips: str
    chamfers: tuple[str, ...]
    letters: tuple[str, ...]
    dearer: float
    read_as: str
    shape: str
    flutes: str
    doubt: str

    @property
    def is_helical(self) -> bool:
        """Whether the whole flute winds about the tap."""
        return self.path == "helix"

    @property
    def is_ground_back(self) -> bool:
        """Whether only the faces at the point stand at the axial rake."""
        return self.path == "point"

    @property
    def lifts(self) -> bool:
        """Whether the whole flute is there to lift the chips toward the shank."""
        return self.is_helical and self.sign > 0

    @property
    def usual_chamfer(self) -> str:
        """US word of the chamfer usually ground on it."""
        return self.chamfers[0]

    def name(self, hand: str = "right") -> str:
        """How it is named with a thread of this hand.

        >>> form_of("left-hand-flute").name("left")
        'right-hand-flute'
        """
        return self.printed_left if hand == "left" else self.printed

    def admits(self, axial_rake: float) -> bool:
        """Whether an axial rake [deg] belongs to this form: its sign is the form's, or it is 0 where a helix or a
        grind at the point has been ground away."""
        return axial_rake * self.sign >= 0 and (self.sign != 0 or axial_rake == 0)


@cache
def _table() -> dict[str, FluteForm]:
    return {row["form"]: _from_row(row) for row in tables.rows("flute_forms")}


def _from_row(row: dict[str, str]) -> FluteForm:
    words = ("path", "printed", "printed_left", "counts", "chips", "read_as", "shape", "flutes", "doubt")
    return FluteForm(
        key=row["form"],
        sign=int(row["sign"]),
        axial_rake=float(row["axial_rake_deg"]),
        axial_rakes=(float(row["least_deg"]), float(row["most_deg"])),
        core_share=float(row["core_share"]),
        chamfers=tuple(row["chamfers"].split()),
        letters=tuple(row["letters"].split()),
        dearer=float(row["dearer"]),
        **{word: row[word] for word in words},
    )


FLUTE_FORMS = tuple(_table())
"""Keys of the flute forms, in the order of the workbooks."""


def form_of(key: str) -> FluteForm:
    """The flute form of a key; ValueError with the forms there are."""
    try:
        return _table()[key]
    except KeyError:
        raise ValueError(
            _("{key} is not a flute form; the forms are {forms}", key=repr(key), forms=", ".join(FLUTE_FORMS))
        ) from None


def flute_forms() -> tuple[FluteForm, ...]:
    """All flute forms, in the order of the workbooks."""
    return tuple(_table().values())


def lettered(letter: str) -> tuple[FluteForm, ...]:
    """The flute forms that a letter of DIN 2197 may have."""
    return tuple(form for form in flute_forms() if letter in form.letters)


def form_for(axial_rake: float, now: str | None = None) -> str:
    """Key of the flute form an axial rake belongs to: the one it has `now` where that can have it, else the first.

    >>> form_for(0), form_for(30), form_for(-12), form_for(-12, "left-hand-flute")
    ('straight', 'spiral-flute', 'spiral-point', 'left-hand-flute')
    """
    sign = (axial_rake > 0) - (axial_rake < 0)
    fitting = [form.key for form in flute_forms() if form.sign == sign]
    return now if now in fitting else fitting[0]


def helix_of_hand(flutes: str | None, thread: str) -> str:
    """Key of the helical form whose flutes have one hand on a thread of another (None: as the thread).

    >>> helix_of_hand("left", "right"), helix_of_hand("left", "left")
    ('left-hand-flute', 'spiral-flute')
    """
    sign = 1 if flutes in (None, thread) else -1
    return next(form.key for form in flute_forms() if form.is_helical and form.sign == sign)
