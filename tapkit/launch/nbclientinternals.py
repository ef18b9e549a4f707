"""Running the cells of a notebook on a kernel that a server keeps: all that uses the inside of nbclient.

`pyproject.toml` bounds nbclient for this module's sake; with a new one, read it against `NotebookClient` first.
"""

import asyncio
import contextlib
import os
import uuid
from functools import partial
from typing import Any

from nbclient import NotebookClient
from nbclient.exceptions import CellTimeoutError
from nbclient.output_widget import OutputWidget

CELL_SECONDS, OPENING_SECONDS = 30, 60
"""How long one cell may take, and all cells of a workbook before the page is shown as it is, on a machine at rest; a
busy one has as much more time as it has other work (`patience`)."""
MOST_PATIENT = 5.0


def patience() -> float:
    """How many times longer things take than on a machine at rest: by the processes that wait for each core, 1 to 5."""
    try:
        waiting = os.getloadavg()[0] / (os.cpu_count() or 1)
    except (AttributeError, OSError):  # Windows has none
        return 1.0
    return min(max(waiting, 1.0), MOST_PATIENT)


async def run_cells(notebook: Any, kernel: Any) -> bool:
    """Run every code cell of a notebook on a running kernel and put the outputs in; errors are outputs too. Whether
    all were run: where there was no time for the rest, they wait for the next opening.

    Cells that take longer than there is patience for are interrupted, and what is there so far is kept.
    """
    more = patience()
    runner = NotebookClient(
        notebook, km=kernel, timeout=round(CELL_SECONDS * more), allow_errors=True, interrupt_on_timeout=True
    )
    client, sender = await runner.async_start_new_kernel_client(), second_client(kernel)
    # Output widgets talk back while the reply is waited for; on the same socket, that can make it miss the reply.
    runner.widget_registry = {"@jupyter-widgets/output": {"OutputModel": partial(_output, sender)}}
    runner.reset_execution_trackers()
    try:
        await asyncio.wait_for(_one_by_one(runner), OPENING_SECONDS * more)
    except TimeoutError:
        await kernel.interrupt_kernel()
        return False
    finally:
        client.stop_channels()
        sender.stop_channels()
    return True


def second_client(kernel: Any) -> Any:
    """One more client that only sends, under a name of its own, as replies go by the name."""
    session = kernel.session.clone()
    session.session = uuid.uuid4().hex
    client = kernel.client(session=session)
    client.start_channels(shell=True, iopub=False, stdin=False, hb=False, control=False)
    return client


def _output(sender: Any, comm_id: str, state: dict[str, Any], client: Any, runner: Any) -> OutputWidget:
    return OutputWidget(comm_id, state, sender, runner)


async def _one_by_one(runner: NotebookClient) -> None:
    for index, cell in enumerate(runner.nb.cells):
        if cell.cell_type == "code" and cell.source.strip():
            with contextlib.suppress(CellTimeoutError):
                await runner.async_execute_cell(cell, index)
