"""Options of a command that a class folder on this machine can answer by itself."""

import argparse
from pathlib import Path

from tapkit.classroom.folder import ClassFolder
from tapkit.exercises import ownfile
from tapkit.messages import _


def add_class(parser: argparse.ArgumentParser) -> None:
    """The option that stands for the others."""
    parser.add_argument(
        "--class", dest="folder", type=Path, help=str(_("class folder of a hub; it knows roster, seed and records"))
    )
    told = _("folder with questions.csv and parts.csv of your own (a class folder's are found by themselves)")
    parser.add_argument("--questions", type=Path, help=str(told))


def fill_in(arguments: argparse.Namespace, *needed: str) -> None:
    """Fill in what was not given from the class folder. Raises ValueError that names what is missing."""
    room = [ClassFolder(arguments.folder).room, arguments.folder] if arguments.folder else []
    own = getattr(arguments, "questions", None)
    ownfile.look_in(*([own] if own else []), *room)
    if arguments.folder is not None:
        for name, value in known(ClassFolder(arguments.folder)).items():
            if getattr(arguments, name, "") is None:
                setattr(arguments, name, value)
    missing = [f"--{name}" for name in needed if getattr(arguments, name) is None]
    if missing:
        raise ValueError(
            _("{missing} must be given, or --class with the class folder of a hub", missing=", ".join(missing))
        )


def known(folder: ClassFolder) -> dict[str, Path | str]:
    """What a class folder knows. Raises ValueError where it may not be read or is none."""
    try:
        seed = folder.seed
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise ValueError(
            _(
                "cannot read the key of the class in {folder} ({why}); give a hub's class folder, as an instructor",
                folder=folder.root,
                why=why,
            )
        ) from None
    return {
        "roster": folder.roster_file,
        "seed": seed,
        "records": folder.learners,
        "copies": folder.copies,
        "out": folder.marks,
    }
