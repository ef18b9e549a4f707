"""Running the cells of a notebook on a kernel that a server keeps: all that uses the inside of nbclient.

`pyproject.toml` bounds nbclient for this module's sake; with a new one, read it against `NotebookClient` first.
"""

from __future__ import annotations

import asyncio
import contextlib
import uuid
from functools import partial
from typing import Any

from nbclient import NotebookClient
from nbclient.exceptions import CellTimeoutError
from nbclient.output_widget import OutputWidget

CELL_SECONDS, OPENING_SECONDS = 30, 60
"""How long one cell, and all of a workbook, may take before the page is shown as it is."""


async def run_cells(notebook: Any, kernel: Any) -> None:
    """Run every code cell of a notebook on a running kernel and put the outputs in; errors are outputs too.

    Cells that take longer than there is patience for are interrupted, and what is there so far is kept.
    """
    runner = NotebookClient(notebook, km=kernel, timeout=CELL_SECONDS, allow_errors=True, interrupt_on_timeout=True)
    client, sender = await runner.async_start_new_kernel_client(), second_client(kernel)
    # Output widgets talk back while the reply is waited for; on the same socket, that can make it miss the reply.
    runner.widget_registry = {"@jupyter-widgets/output": {"OutputModel": partial(_output, sender)}}
    runner.reset_execution_trackers()
    try:
        await asyncio.wait_for(_one_by_one(runner), OPENING_SECONDS)
    except TimeoutError:
        await kernel.interrupt_kernel()
    finally:
        client.stop_channels()
        sender.stop_channels()


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
