"""The command line. Each command lives in a module of its own, loaded only when it is asked for."""

import argparse
import importlib
import re
import sys

import tapkit
from tapkit.door import quoted
from tapkit.messages import _, said

COMMANDS = {
    "open": ("tapkit.launch.command", _("open the workbooks in JupyterLab, the first one live")),
    "report": ("tapkit.report", _("loads, torque, chip flow and strength of one tapping job")),
    "card": ("tapkit.panels.card", _("one page for a phone, offline: the tap in the round, its film, its numbers")),
    "handout": ("tapkit.launch.handout", _("a lesson on paper and as slides: HTML, and PDF where a browser is found")),
    "figures": ("tapkit.drawing.plates", _("make the plates in figures/ again")),
    "sheets": ("tapkit.classroom.sheets", _("paper exercise sheets for a class, with a key")),
    "marks": ("tapkit.classroom.marks", _("mark a class from its learners' records")),
    "hub": ("tapkit.classroom.hub", _("run a class on JupyterHub")),
    "agreement": ("tapkit.agreement", _("published values against ours, in a table")),
}
"""Name: (module with `configure(parser)` and `run(arguments) -> exit code`, one line of help)."""


class Parser(argparse.ArgumentParser):
    """An argument parser whose errors are one line on stderr, exit code 2."""

    def error(self, message: str) -> None:  # type: ignore[override]
        told = _("{program}: {message}; '{program} --help' shows what it knows", program=self.prog, message=message)
        self.exit(2, f"{told}\n")


def build_parser(chosen: str | None = None) -> Parser:
    """The whole parser, with the options of the chosen command filled in."""
    parser = Parser(prog="tapkit", description=str(_("A bench and workbook on the geometry of cutting taps.")))
    parser.add_argument("--version", action="version", version=f"tapkit {tapkit.__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", parser_class=Parser)
    for name, (module, sentence) in COMMANDS.items():
        line = str(sentence)
        one = commands.add_parser(name, help=line, description=line[0].upper() + line[1:] + ".")
        if name == chosen:
            importlib.import_module(module).configure(one)
    return parser


def main(arguments: list[str] | None = None) -> int:
    """Run `tapkit` with the given arguments; the exit code is 0, 2 for input that cannot be used, 130 after Ctrl-C."""
    try:
        return _run(sys.argv[1:] if arguments is None else list(arguments))
    except KeyboardInterrupt:
        print(_("Stopped."), file=sys.stderr)
        return 130


def _run(given: list[str]) -> int:
    chosen = next((a for a in given if not a.startswith("-")), None)
    parser = build_parser(chosen if chosen in COMMANDS else None)
    if empty := next((a for a in given if a.endswith("=--")), None):
        parser.error(str(_("{option} says nothing; write a value behind the sign", option=empty)))
    args, unknown = parser.parse_known_args(
        [f" {a}" if re.match(r"-\.?\d", a) else a for a in given]
    )  # "-12°" is no option
    if unknown:
        parser.prog = f"tapkit {args.command}" if args.command else "tapkit"
        parser.error(str(_("it does not know {words}", words=quoted(" ".join(unknown)))))
    if args.command is None:
        parser.print_help()
        return 0
    try:
        return importlib.import_module(COMMANDS[args.command][0]).run(args)
    except ValueError as error:
        told = said(error, getattr(args, "units", "metric"))
        print(_("tapkit {command}: {error}", command=args.command, error=told), file=sys.stderr)
        return 2
    except BrokenPipeError:
        return 0
