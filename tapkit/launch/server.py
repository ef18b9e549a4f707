"""JupyterLab as a process of ours: started, made live, shown in a browser, stopped whole."""

import asyncio
import contextlib
import logging
import os
import signal
import sys
import webbrowser
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

from tapkit.launch import settings
from tapkit.launch.workspace import Workspace
from tapkit.messages import Sentence, _

LOCAL = "127.0.0.1"
"""The address that is bound and printed. A name such as localhost may lead to another address, where another account of
the machine may listen and be given the token."""


def serve(workspace: Workspace, workbook: str, *, port: int, browser: bool) -> int:
    """Run JupyterLab on a workspace until it is stopped; the exit code is 0.

    Raises ValueError where it does not start or the workbook cannot be read.
    """
    for name, value in settings.environment(workspace.state).items():
        os.environ[name] = value
    settings.lay_out(workspace.state)
    with _signals_wait():
        app = _start_up(workspace, port)
        _stop_on_signals(app)
    app.io_loop.add_callback(_show, app, workbook, browser)
    with _errors_to(workspace.state / settings.LOG):
        app.start()
        app.io_loop.asyncio_loop.run_until_complete(_leave_nothing())
    if app.contents_manager.problem:
        raise ValueError(app.contents_manager.problem)
    return 0


@contextlib.contextmanager
def _errors_to(file: Path) -> Iterator[None]:
    """What kernels and libraries write to stderr goes into a file: a kernel that is told to end amid a message would
    else write its fault into the learner's terminal."""
    sys.stderr.flush()
    before = os.dup(2)
    try:
        with contextlib.suppress(OSError), open(file, "ab") as log:
            os.dup2(log.fileno(), 2)
        yield
    finally:
        os.dup2(before, 2)
        os.close(before)


STOPS = [getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK") if hasattr(signal, name)]
"""Ctrl-C, a polite kill, a closed terminal."""


@contextlib.contextmanager
def _signals_wait() -> Iterator[None]:
    """A stop that comes while the server sets up its own handling of signals waits for ours; none is lost."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, STOPS)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _start_up(workspace: Workspace, port: int) -> Any:
    from jupyterlab.labapp import LabApp
    from traitlets.config import Config

    config = Config(settings.server_config(workspace.folder, workspace.state, port=port))
    config.Application.log_level = "WARN"
    config.ServerApp.ip = LOCAL
    LabApp.load_other_extensions = False
    _log_to(workspace.state / settings.LOG)  # before, so that nothing writes to the terminal
    try:
        app = LabApp.initialize_server(argv=[], config=config)
    except SystemExit:
        said = workspace.state / settings.LOG
        raise ValueError(
            _("JupyterLab did not start; what it said is in {said}; another --port may help", said=said)
        ) from None
    _log_to(workspace.state / settings.LOG)
    return app


def _log_to(file: Path) -> None:
    """Let every logger write to a file instead of the learner's terminal."""
    log = logging.FileHandler(file, mode="w", encoding="utf-8", delay=True)
    log.setLevel("WARNING")
    log.setFormatter(logging.Formatter("%(asctime)s %(name)s %(levelname)s %(message)s"))
    logging.root.handlers = [log]
    for logger in list(logging.root.manager.loggerDict.values()):
        if isinstance(logger, logging.Logger) and logger.handlers:
            logger.handlers, logger.propagate = [log], False


def _stop_on_signals(app: Any) -> None:
    """Ctrl-C, a closed terminal or a polite kill end the server and its kernels, without asking."""

    def stop(number: int, frame: Any) -> None:
        app.io_loop.add_callback_from_signal(_stop, app)

    for number in STOPS:
        signal.signal(number, stop)
    if os.name == "nt":  # the loop there wakes too seldom to see a signal
        from tornado.ioloop import PeriodicCallback

        app.wake = PeriodicCallback(lambda: None, 300)
        app.io_loop.add_callback(app.wake.start)


async def _stop(app: Any) -> None:
    """Stop once: first let kernels that are just starting come up, as one cannot be told to end before."""
    if not app.contents_manager.closing:
        await app.contents_manager.close()
        app.stop()


async def _leave_nothing() -> None:
    """End every task that still waits, and with it the threads that work for it."""
    waiting = asyncio.all_tasks() - {asyncio.current_task()}
    for task in waiting:
        task.cancel()
    await asyncio.wait_for(asyncio.gather(*waiting, return_exceptions=True), timeout=5)


async def _show(app: Any, workbook: str, browser: bool) -> None:
    """Make the workbook live, then show it, or say where it is; where it cannot be read, end."""
    try:
        await app.contents_manager.get(workbook)
    except Exception as error:  # no page could show it, and none would know why
        why = getattr(error, "log_message", None) or str(error)
        app.contents_manager.problem = _("cannot open {workbook}: {why}", workbook=workbook, why=why)
        await _stop(app)
    if app.contents_manager.closing:
        return
    place = f"{app.base_url}doc/tree/{quote(workbook)}"
    address = f"http://{LOCAL}:{app.port}{place}"
    token = app.identity_provider.token
    if browser and _open(app, place):
        _say(_("The workbooks open in your browser at {address}", address=address))
        _say(_("To come back to them, open {file}", file=app.browser_open_file))
    else:
        _say(_("Open this address in a browser:\n\n    {address}?token={token}\n", address=address, token=token))
    _say(_("Ctrl-C here stops them."))
    await asyncio.sleep(2)
    app.contents_manager.keep_ready()


def _open(app: Any, place: str) -> bool:
    """Open the browser by a page of the learner's own, so that the token stands in no command line and no log.

    False where there is no browser, or none that could be seen.
    """
    try:
        webbrowser.get()
    except webbrowser.Error:
        return False
    if sys.platform.startswith("linux") and not any(map(os.environ.get, ("DISPLAY", "WAYLAND_DISPLAY", "BROWSER"))):
        return False
    page = Path(app.root_dir) / settings.PAGE
    page.unlink(missing_ok=True)
    page.touch(mode=0o600)
    app.browser_open_file, app.default_url = str(page), place
    app.write_browser_open_file()
    app.launch_browser()
    return True


def _say(text: Sentence) -> None:
    print(text, flush=True)
