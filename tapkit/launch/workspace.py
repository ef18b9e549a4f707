"""A learner's own copy of the workbooks.

The originals stay clean. What was handed out is remembered by its fingerprint, so that an update replaces
what a learner left untouched and never what a learner changed.
"""

import contextlib
import hashlib
import importlib.metadata
import json
import os
import re
import secrets
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any, NamedTuple

from tapkit.filelock import take_now
from tapkit.launch import seal
from tapkit.messages import LANGUAGE_VARIABLE, Sentence, _

FOLDER = "tapkit-workbooks"
"""Name of the folder in the learner's home."""

STATE = ".tapkit"
"""Hidden folder inside it: what was handed out, signatures, settings of JupyterLab."""

HANDED_OUT = "handed-out.json"
LOCK = "in-use"
ROOM = 8 * 1024 * 1024
"""Bytes that must be free for the work to begin: a lesson with its pictures, kept twice, and the answers."""


class Workspace(NamedTuple):
    """A folder ready to be worked in: `folder`, `workbooks` by name, and `notices`, sentences for the learner."""

    folder: Path
    workbooks: tuple[str, ...]
    notices: tuple[Sentence, ...]

    @property
    def state(self) -> Path:
        """The hidden folder."""
        return self.folder / STATE


# --- the originals ----------------------------------------------------------------------------------


def originals(language: str | None = None) -> dict[str, Path]:
    """The workbooks and what belongs to them, by name with forward slashes.

    They lie beside the package in a checkout, and among the installed data files otherwise; those of a language in a
    folder of its name. `language` None is that of the variable TAPKIT_LANGUAGE. Raises ValueError where there are none.
    """
    top = Path(__file__).resolve().parents[2]
    found = files_under(top / "workbooks") if (top / "pyproject.toml").exists() else _installed()
    found = in_language(found, os.environ.get(LANGUAGE_VARIABLE, "") if language is None else language)
    if not any(name.endswith(".ipynb") for name in found):
        raise ValueError(_("the workbooks are not among the installed files; install tapkit again with pip"))
    return dict(sorted(found.items()))


FOR_INSTRUCTORS = "class-book"
"""Workbooks whose names begin so are for instructors alone."""


def for_learners(given: dict[str, Path], chosen: str = "") -> dict[str, Path]:
    """The workbooks without the instructors', unless one of these was chosen by name."""
    return {n: p for n, p in given.items() if n == chosen or not n.rpartition("/")[2].startswith(FOR_INSTRUCTORS)}


def own_seed(folder: Path) -> int:
    """The seed of this folder's learner, drawn once, so that the first variants differ by learner."""
    kept = folder / STATE / "seed"
    with contextlib.suppress(OSError, ValueError):
        return int(kept.read_text(encoding="ascii")[:20])
    seed = secrets.randbelow(2**53)
    with contextlib.suppress(OSError):  # a full disk: the seed then is this run's
        _write(kept, str(seed).encode())
    return seed


def in_language(found: dict[str, Path], language: str) -> dict[str, Path]:
    """The files of one language: its own in place of the English ones; those of other languages are left out.

    >>> books = {"01.ipynb": Path("01.ipynb"), "de/01.ipynb": Path("de/01.ipynb"), "02.ipynb": Path("02.ipynb")}
    >>> [path.as_posix() for path in in_language(books, "de").values()]
    ['de/01.ipynb', '02.ipynb']
    """
    parted = {name: name.partition("/") for name in found}
    english = {name: found[name] for name, (first, _mark, _rest) in parted.items() if not _LANGUAGE.fullmatch(first)}
    own = {rest: found[name] for name, (first, _mark, rest) in parted.items() if language and first == language}
    return english | own


_LANGUAGE = re.compile(r"[a-z]{2,3}(_[A-Z]{2})?")


def files_under(folder: Path) -> dict[str, Path]:
    """The files in a folder and below it by name, but for hidden ones, in order."""
    found = (p for p in sorted(folder.rglob("*")) if p.is_file())
    inside = {p.relative_to(folder): p for p in found}
    return {n.as_posix(): p for n, p in inside.items() if not any(part[0] in "._" for part in n.parts)}


def _installed() -> dict[str, Path]:
    try:
        listed = importlib.metadata.files("tapkit") or []
    except importlib.metadata.PackageNotFoundError:
        return {}
    marked = re.compile(r".*share/tapkit/workbooks/(.+)$")
    pairs = ((marked.match(f.as_posix()), f) for f in listed)
    return {m[1]: Path(str(f.locate())).resolve() for m, f in pairs if m}


def wanted_workbook(workbooks: tuple[str, ...], wanted: str | None) -> str:
    """The workbook that is meant: the first, or the only one whose name holds the given words or number.

    >>> wanted_workbook(("03-the-load.ipynb", "04-chips.ipynb"), "load")
    '03-the-load.ipynb'
    """
    if wanted is None:
        return next((w for w in workbooks if not w.lower().startswith(("readme", "index"))), workbooks[0])
    key = wanted.lower().removesuffix(".ipynb").replace(" ", "-")
    exact = [w for w in workbooks if Path(w).stem.lower() == key]
    number = [w for w in workbooks if key.isdigit() and w.split("-")[0].lstrip("0") == key.lstrip("0")]
    found = exact or number[:1] or [w for w in workbooks if key in w.lower()]
    if len(found) == 1:
        return found[0]
    names = ", ".join(Path(w).stem for w in found or workbooks)
    if found:
        raise ValueError(_("{wanted!r} fits more than one workbook: {names}", wanted=wanted, names=names))
    raise ValueError(_("no workbook is called {wanted!r}; there are {names}", wanted=wanted, names=names))


# --- the learner's copy -----------------------------------------------------------------------------


def fingerprint(data: bytes, name: str) -> str:
    """What a file says, as a hash; of a notebook only the text of its cells, as running it changes the rest."""
    cells = _cells(data) if name.endswith(".ipynb") else None
    return hashlib.sha256(data if cells is None else json.dumps(cells, sort_keys=True).encode()).hexdigest()


def _cells(data: bytes) -> list[Any] | None:
    """What the cells of a notebook say; None where the file is none, as one that was cut off."""
    with contextlib.suppress(ValueError, KeyError, TypeError, AttributeError):
        cells = json.loads(data)["cells"]
        return [[c["cell_type"], "".join(c["source"]), c.get("attachments", {})] for c in cells]
    return None


def check_room(folder: Path) -> None:
    """ValueError where a lesson with its pictures could not be kept in a folder."""
    trial = folder / STATE / "room.part"
    try:
        trial.write_bytes(bytes(ROOM))
    except OSError as error:
        raise ValueError(_why(folder, error)) from None
    finally:
        with contextlib.suppress(OSError):
            trial.unlink(missing_ok=True)


def prepare(folder: Path, given: dict[str, Path] | None = None) -> Workspace:
    """Bring the folder up to date with the originals, leaving what the learner changed.

    Raises ValueError where the folder cannot be used.
    """
    given = originals() if given is None else given
    folder = folder.expanduser().resolve()
    if any(folder == path.parent for path in given.values()):
        raise ValueError(_("{folder} holds the originals, which stay clean; choose another --folder", folder=folder))
    try:
        (folder / STATE).mkdir(parents=True, exist_ok=True)
        handed, notices = _read_record(folder), []
        for name, path in given.items():
            notices += _hand_out(folder, name, path.read_bytes(), handed)
        _write(folder / STATE / HANDED_OUT, json.dumps(handed, indent=1, sort_keys=True).encode())
    except OSError as error:
        raise ValueError(_why(folder, error)) from None
    books = tuple(n for n in given if n.endswith(".ipynb"))
    return Workspace(folder, books, tuple(notices))


def _hand_out(folder: Path, name: str, data: bytes, handed: dict[str, str]) -> list[Sentence]:
    """Give one original; the record of what was handed out is brought up to date."""
    print_new, target, place, told = fingerprint(data, name), folder / name, name, None
    if target.exists():
        own = target.read_bytes()
        print_own = fingerprint(own, name)
        if name.endswith(".ipynb") and _cells(own) is None:
            told = _(
                "{name} could not be read, so it is given anew; what was there is {beside}.",
                name=name,
                beside=_keep_changed(folder, name, print_new, {}),
            )
        elif print_own == print_new or handed.get(name) == print_new:
            handed[name] = print_new
            if (closed := seal.sealed(own, name, data)) != own:
                _write(target, closed)
            return []
        elif handed.get(name) == print_own:
            told = _("{name} is new in this version; yours was untouched and has been replaced.", name=name)
        else:
            place = _place_beside(folder, name, handed)
            told = _(
                "{name} is new in this version, and you have changed yours: yours stays, the new one is {beside}.",
                name=name,
                beside=place,
            )
    _write(folder / place, seal.sealed(data, name))
    handed[name] = handed[place] = print_new
    return [told] if told else []


def anew(folder: Path, wanted: int | str, given: dict[str, Path] | None = None) -> Sentence:
    """Give a workbook as it was handed out; one the learner changed is kept beside. Says what was done.

    Raises ValueError where there is no such workbook or the folder cannot be written.
    """
    given = _given_here() if given is None else given
    name = wanted_workbook(tuple(n for n in given if n.endswith(".ipynb")), str(wanted))
    data, target, handed = given[name].read_bytes(), folder / name, _read_record(folder)
    try:
        beside = _keep_changed(folder, name, fingerprint(data, name), handed)
        _write(target, seal.sealed(data, name))
        handed[name] = fingerprint(data, name)
        _write(folder / STATE / HANDED_OUT, json.dumps(handed, indent=1, sort_keys=True).encode())
    except OSError as error:
        raise ValueError(_why(folder, error)) from None
    if beside:
        return _("{name} is as it was handed out; the one you had changed is {beside}.", name=name, beside=beside)
    return _("{name} is as it was handed out.", name=name)


def _given_here() -> dict[str, Path]:
    """The originals of the class where there is one."""
    of_class = os.environ.get("TAPKIT_ORIGINALS")
    return files_under(Path(of_class)) if of_class else originals()


def _keep_changed(folder: Path, name: str, print_new: str, handed: dict[str, str]) -> str:
    """Where the learner's changed workbook is kept; empty where there is none, or nothing was changed."""
    with contextlib.suppress(FileNotFoundError):
        own = (folder / name).read_bytes()
        if fingerprint(own, name) not in (print_new, handed.get(name)):
            beside = _place_beside(folder, name, {}, "before")
            _write(folder / beside, own)
            return beside
    return ""


def _place_beside(folder: Path, name: str, handed: dict[str, str], word: str = "new") -> str:
    stem, suffix = os.path.splitext(name)
    for count in range(1, 1000):
        beside = f"{stem}-{word}{'' if count == 1 else f'-{count}'}{suffix}"
        place = folder / beside
        if not place.exists() or fingerprint(place.read_bytes(), beside) == handed.get(beside):
            return beside
    raise ValueError(
        _("{folder} already holds a thousand versions of {name}; move some away", folder=folder, name=name)
    )


def _read_record(folder: Path) -> dict[str, str]:
    with contextlib.suppress(OSError, ValueError):
        record = json.loads((folder / STATE / HANDED_OUT).read_text(encoding="utf-8"))
        if isinstance(record, dict):
            return {str(k): str(v) for k, v in record.items()}
    return {}


def _write(path: Path, data: bytes) -> None:
    """Write a file whole or not at all."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(path.name + ".part")
    part.write_bytes(data)
    os.replace(part, path)


def _why(folder: Path, error: OSError) -> Sentence:
    why = (error.strerror or str(error)).lower()
    return _("cannot work in {folder}: {why}; choose another place with --folder", folder=folder, why=why)


# --- one learner, one folder ------------------------------------------------------------------------


def free_folder(folder: Path | None) -> tuple[Path, IO[bytes], Sentence | None]:
    """A folder nobody has open, kept by a lock until this process ends, and a sentence where it is another one.

    The folder asked for, or its name with -2, -3 and so on.
    """
    wanted = (folder or Path.home() / FOLDER).expanduser().resolve()
    for candidate in _numbered(wanted):
        try:
            _make_private(candidate)
            _make_private(candidate / STATE)
            lock = open(candidate / STATE / LOCK, "a+b", opener=_private)  # noqa: SIM115 - held until the process ends
        except OSError as error:
            raise ValueError(_why(candidate, error)) from None
        if take_now(lock.fileno()):
            if candidate == wanted:
                return candidate, lock, None
            told = _("{wanted} is open already, so this one works in {other}.", wanted=wanted, other=candidate)
            return candidate, lock, told
        lock.close()
    raise ValueError(
        _("{wanted} and its neighbours are all open already; choose another place with --folder", wanted=wanted)
    )


def _make_private(folder: Path) -> None:
    """Make a folder that its owner alone can enter, whatever the umask: what lies in it is out of others' reach.

    Raises ValueError where it belongs to another account, which could read and lock what is put there.
    """
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if os.name == "nt":
        return
    if folder.stat().st_uid != os.geteuid():
        raise ValueError(_("{folder} belongs to another account; choose another place with --folder", folder=folder))
    with contextlib.suppress(PermissionError):  # a file system without rights
        folder.chmod(0o700)


def _private(path: str, flags: int) -> int:
    return os.open(path, flags | getattr(os, "O_NOFOLLOW", 0), 0o600)


def _numbered(folder: Path) -> Iterator[Path]:
    yield folder
    for count in range(2, 100):
        yield folder.with_name(f"{folder.name}-{count}")
