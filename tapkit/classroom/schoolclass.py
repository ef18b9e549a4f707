"""A class with its instructor: who is in it, how it works, and where its things lie.

    key/class.json   how the class works        key/roster.csv   who is in it
    key/seed.txt     the class seed             key/sheets/SET/  sheets, key and typed answers of a set
    learners/        records that came in       marks/           every marking, and what was corrected

On a hub the folders are those of `ClassFolder`, and records are where learners write them. Without one, the folder
lies with the instructor alone; what learners reach is a `shared` folder beside it, if there is any.
"""

import contextlib
import json
import os
import secrets
import shutil
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from tapkit.classroom.folder import ClassFolder, write_safely
from tapkit.classroom.gradebook import csv_text
from tapkit.classroom.roster import MAX_NAME, Learner, Roster, plain_id
from tapkit.codes import LETTERS
from tapkit.messages import Sentence, _

KINDS: dict[str, Sentence] = {
    "paper": _("on paper"),
    "single": _("on single machines; learners bring a file with their answers"),
    "shared": _("in a shared folder that all machines reach"),
    "hub": _("on a hub"),
}
"""How a class works, by name."""
SETTINGS = "class.json"


@dataclass(frozen=True)
class SchoolClass:
    """One class. `paper` is the size it prints on, `aliases` ids by other names of learners; `units`, "metric" or
    "inch", are those of its sheets, tests, polls and panels."""

    folder: ClassFolder
    name: str
    kind: str
    paper: str = "A4"
    shared: str = ""
    aliases: Mapping[str, str] = field(default_factory=dict)
    units: str = "metric"

    @property
    def roster(self) -> Roster:
        """Who is in the class now. ValueError where the list cannot be read."""
        return replace(self.folder.roster, aliases=self.aliases)

    @property
    def seed(self) -> str:
        return self.folder.seed

    @property
    def records(self) -> Path:
        """The folder with the learners' records."""
        return self.folder.learners

    @property
    def copies(self) -> Path | None:
        """The hub's own copies of the records."""
        return self.folder.copies if self.folder.copies.is_dir() else None

    @property
    def any_seed(self) -> bool:
        """Whether learners drew their questions' seeds themselves."""
        return self.kind != "hub"

    @property
    def keeps_modes(self) -> int:
        """Mode of files in key/ and marks/: on a hub other instructors read them too."""
        return 0o660 if self.kind == "hub" else 0o600


def new_seed() -> str:
    """A class seed, 64 bits, short enough to copy by hand: "HKRTB-CDFGH-JKLMN"."""
    return "-".join("".join(secrets.choice(LETTERS) for _ in range(5)) for _ in range(3))


def make_class(
    place: Path,
    name: str,
    kind: str,
    roster: Roster,
    *,
    paper: str = "A4",
    shared: Path | None = None,
    units: str = "metric",
) -> SchoolClass:
    """A new class in a folder of its own in `place`, whole or not at all.

    Raises ValueError where the name or the shared folder cannot be used.
    """
    stem = plain_id(name)
    if not stem:
        raise ValueError(_("the class needs a name with letters or digits, such as T1 2027"))
    if not len(roster):
        raise ValueError(_("there is nobody in the list yet; paste the names of your learners first"))
    target = place / stem
    if os.path.lexists(target):
        raise ValueError(_("there is a class of the name {name} already; choose another name", name=name))
    if kind == "shared":
        _check_shared(shared)
    place.mkdir(parents=True, exist_ok=True)
    part = Path(tempfile.mkdtemp(dir=place, prefix=".new-"))
    try:
        made = SchoolClass(
            ClassFolder(part), " ".join(name.split())[:MAX_NAME], kind, paper, str(shared or ""), units=units
        )
        for inner in (made.folder.key, made.folder.marks, made.records):
            inner.mkdir(mode=0o700)
        write_safely(made.folder.seed_file, new_seed() + "\n", mode=0o600)
        keep_class(made, roster)
        os.rename(part, target)
    except BaseException:
        shutil.rmtree(part, ignore_errors=True)
        raise
    made = replace(made, folder=ClassFolder(target))
    if kind == "shared" and shared is not None:
        for inner in ("room", "records"):
            (shared / inner).mkdir(exist_ok=True)
    return made


def _check_shared(shared: Path | None) -> None:
    if shared is None or not shared.is_dir():
        raise ValueError(
            _("{folder} is not a folder; enter one that all machines reach, such as Z:\\class", folder=shared or "''")
        )
    try:
        with tempfile.TemporaryFile(dir=shared):
            pass
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise ValueError(_("cannot write in {folder}: {why}", folder=shared, why=why)) from None


def keep_class(made: SchoolClass, roster: Roster | None = None) -> None:
    """Write the settings of a class, and its roster where one is given."""
    told = {"name": made.name, "kind": made.kind, "paper": made.paper, "shared": made.shared, "units": made.units}
    text = json.dumps(told | {"aliases": dict(made.aliases)}, indent=1, ensure_ascii=False)
    write_safely(made.folder.key / SETTINGS, text + "\n", mode=made.keeps_modes)
    if roster is not None:
        write_safely(made.folder.roster_file, roster_text(roster), mode=made.keeps_modes)


def roster_text(roster: Roster) -> str:
    """A roster as a CSV file."""
    return csv_text([["id", "name", "group"], *([one.id, one.name, one.group] for one in roster)])


def open_class(folder: Path) -> SchoolClass:
    """The class in a folder. Raises ValueError where there is none; OSError where it cannot be read."""
    place = ClassFolder(folder)
    if not place.seed_file.is_file():
        raise ValueError(_("{folder} is not the folder of a class", folder=folder))
    told: dict[str, object] = {}
    with contextlib.suppress(FileNotFoundError, ValueError):
        found = json.loads((place.key / SETTINGS).read_text(encoding="utf-8"))
        told = found if isinstance(found, dict) else {}
    aliases = told.get("aliases")
    aliases = {str(k): str(v) for k, v in aliases.items()} if isinstance(aliases, dict) else {}
    is_hub = (folder / "hub").is_dir() or "kind" not in told
    kind = "hub" if is_hub else str(told["kind"])
    paper = "Letter" if told.get("paper") == "Letter" else "A4"
    units, name = "inch" if told.get("units") == "inch" else "metric", str(told.get("name") or folder.name)
    return SchoolClass(place, name, kind, paper, str(told.get("shared") or ""), aliases, units)


def classes_in(place: Path) -> list[SchoolClass]:
    """All classes in a folder, by name."""
    found = []
    for folder in sorted(place.iterdir()) if place.is_dir() else ():
        with contextlib.suppress(ValueError, OSError):
            found.append(open_class(folder))
    return found


def note_use(made: SchoolClass) -> None:
    """Note that this class is the one worked with now."""
    with contextlib.suppress(OSError):
        os.utime(made.folder.key / SETTINGS)


def last_used(place: Path) -> SchoolClass | None:
    """Of the classes in a folder the one worked with last; None where there is none."""

    def used(one: SchoolClass) -> int:
        with contextlib.suppress(OSError):
            return (one.folder.key / SETTINGS).stat().st_mtime_ns
        return 0

    return max(classes_in(place), key=used, default=None)


# --- learners who come, change their name, leave -----------------------------------------------------------


def added(roster: Roster, name: str, group: str = "") -> tuple[Roster, Learner]:
    """The roster with one more learner. ValueError where the name cannot be used or is there already."""
    name = " ".join(name.split())[:MAX_NAME]
    id = plain_id(name)
    if not id:
        raise ValueError(_("cannot make a sign-in name from {name!r}; write it in letters a-z too", name=name))
    learner = Learner(id, name, group)
    return with_one_more(roster, learner), learner


def with_one_more(roster: Roster, learner: Learner) -> Roster:
    """The roster with a learner. ValueError where the id is somebody's."""
    if roster.find(learner.id):
        told = _(
            "{name} is in the class already; if these are two people, add a second name or a number", name=learner.name
        )
        raise ValueError(told)
    return replace(roster, learners=(*roster.learners, learner))


def renamed(made: SchoolClass, id: str, name: str) -> tuple[SchoolClass, Roster]:
    """The class and roster with another name for a learner, who keeps id, numbers and marks; records under the old
    name stay theirs."""
    name = " ".join(name.split())[:MAX_NAME]
    if not plain_id(name):
        raise ValueError(_("write the new name first"))
    roster = made.roster
    learner = roster.one(id)
    learners = tuple(one._replace(name=name) if one is learner else one for one in roster)
    aliases = {**made.aliases, plain_id(learner.name): learner.id}
    return replace(made, aliases=aliases), replace(roster, learners=learners, aliases=aliases)


def without(roster: Roster, id: str) -> Roster:
    """The roster without a learner; the last one stays."""
    left = tuple(one for one in roster if one.id != id)
    if not left:
        raise ValueError(_("this is the last learner; erase the class instead"))
    return replace(roster, learners=left)
