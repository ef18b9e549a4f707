"""`tapkit open`: the workbooks in JupyterLab, the first one live."""

import argparse
import os
from pathlib import Path

from tapkit.launch import workspace
from tapkit.messages import _


def configure(parser: argparse.ArgumentParser) -> None:
    """Options of `tapkit open`."""
    parser.add_argument(
        "--folder",
        type=Path,
        help=str(
            _("folder for your own copy of the workbooks (default: {folder} in your home)", folder=workspace.FOLDER)
        ),
    )
    parser.add_argument(
        "--workbook", metavar="NAME", help=str(_("the workbook to open, by name, part of a name, or number"))
    )
    book = _("bring the class book too, which is for instructors, and open it first")
    parser.add_argument("--instructor", action="store_true", help=str(book))
    parser.add_argument("--no-browser", action="store_true", help=str(_("open no browser, print the address")))
    parser.add_argument("--port", type=_port, default=8888, help=str(_("port to try first (default: 8888)")))


def run(arguments: argparse.Namespace) -> int:
    """Open the workbooks; ends when the server is stopped."""
    everything = workspace.originals()
    wanted = arguments.workbook or (workspace.FOR_INSTRUCTORS if arguments.instructor else None)
    chosen = workspace.wanted_workbook(tuple(n for n in everything if n.endswith(".ipynb")), wanted)
    given = everything if arguments.instructor else workspace.for_learners(everything, chosen)
    folder, lock, notice = workspace.free_folder(arguments.folder)
    with lock:
        workspace.check_room(folder)
        ready = workspace.prepare(folder, given)
        os.environ.setdefault("TAPKIT_SEED", str(workspace.own_seed(folder)))
        for sentence in (notice, *ready.notices):
            if sentence:
                print(sentence, flush=True)
        print(_("Starting JupyterLab on your workbooks in {folder} …", folder=folder), flush=True)
        try:
            from tapkit.launch import server

            return server.serve(ready, chosen, port=arguments.port, browser=not arguments.no_browser)
        except KeyboardInterrupt:
            print(_("Stopped before the workbooks were open."), flush=True)
            return 0


def _port(text: str) -> int:
    if not text.isdigit() or not 1024 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(_("port {text} is not a number from 1024 to 65535", text=text))
    return int(text)
