"""JupyterLab as a process of ours: started, made live, shown in a browser, stopped whole."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
import webbrowser
from typing import Any
from urllib.parse import quote

from tapkit.launch import settings
from tapkit.launch.workspace import Workspace

LOCAL = "localhost"


def serve(workspace: Workspace, workbook: str, *, port: int, browser: bool) -> int:
    """Run JupyterLab on a workspace until it is stopped; the exit code is 0."""
    for name, value in settings.environment(workspace.state).items():
        os.environ[name] = value
    settings.lay_out(workspace.state)
    app = _start_up(workspace, port)
    _stop_on_signals(app)
    app.io_loop.add_callback(_show, app, workbook, browser)
    app.start()
    return 0


def _start_up(workspace: Workspace, port: int) -> Any:
    from jupyterlab.labapp import LabApp
    from traitlets.config import Config

    config = Config(settings.server_config(workspace.folder, workspace.state, port=port))
    config.Application.log_level = "ERROR"
    LabApp.load_other_extensions = False
    return LabApp.initialize_server(argv=[], config=config)


def _stop_on_signals(app: Any) -> None:
    """Ctrl-C, a closed terminal or a polite kill end the server and its kernels, without asking."""

    def stop(number: int, frame: Any) -> None:
        app.stop(from_signal=True)

    for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), stop)
    if os.name == "nt":  # the loop there wakes too seldom to see a signal
        from tornado.ioloop import PeriodicCallback

        app.wake = PeriodicCallback(lambda: None, 300)
        app.io_loop.add_callback(app.wake.start)


async def _show(app: Any, workbook: str, browser: bool) -> None:
    """Make the workbook live, then show it, or say where it is."""
    await app.contents_manager.get(workbook)
    place = f"{app.base_url}doc/tree/{quote(workbook)}"
    address = f"http://{LOCAL}:{app.port}{place}"
    token = app.identity_provider.token
    if browser and _open(app, place):
        _say(f"The workbooks are open in your browser at {address}")
    else:
        _say(f"Open this address in a browser:\n\n    {address}?token={token}\n")
    _say("Ctrl-C here stops them.")
    await asyncio.sleep(2)
    app.contents_manager.keep_ready()


def _open(app: Any, place: str) -> bool:
    """Open the browser by a local file, so that the token stands in no command line; False where there is none."""
    try:
        webbrowser.get()
    except webbrowser.Error:
        return False
    if sys.platform.startswith("linux") and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        return False
    app.default_url = place
    app.write_browser_open_file()
    app.launch_browser()
    return True


def _say(text: str) -> None:
    print(text, flush=True)
