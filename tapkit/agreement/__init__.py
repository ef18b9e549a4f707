"""`tapkit agreement`: every value from outside against ours, on the terminal or as a page."""

import argparse
from pathlib import Path

from tapkit import door
from tapkit.messages import _


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the options of `tapkit agreement`."""
    from tapkit.agreement.row import GROUPS

    parser.add_argument("--html", metavar="FILE", help=str(_("write the table as a page instead")))
    parser.add_argument("--group", choices=list(GROUPS), help=str(_("one group of values only")))
    parser.add_argument(
        "--stored",
        action="store_true",
        help=str(_("take reference libraries' values from our table, do not run the libraries")),
    )


def run(args: argparse.Namespace) -> int:
    """Print the table or write the page; exit code 0, or 1 where geometry, a standard or a library differs."""
    from tapkit.agreement import agreementtext
    from tapkit.agreement.row import MUST_AGREE, all_rows, worst

    rows = all_rows(live=not args.stored, group=args.group)
    if args.html:
        place = Path(args.html)
        try:
            place.write_text(agreementtext.as_page(rows), encoding="utf-8")
        except OSError as error:
            told = dict(file=door.quoted(args.html), why=error.strerror)
            raise ValueError(_("cannot write {file}: {why}; name a file in a folder that exists", **told)) from None
        print(f"{agreementtext.grades_summary(rows)}\nwritten to {place}")
    else:
        print(agreementtext.agreement_text(rows))
    return 1 if worst([r for r in rows if r.group in MUST_AGREE]) == "differs" else 0
