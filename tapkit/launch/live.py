"""Workbooks that are live when their page appears.

The server runs a workbook's cells on a kernel of its own before it hands the notebook to the browser, and
signs the result, so that the page finds its sliders and pictures in a running kernel.
"""

import asyncio
import contextlib
import re
from typing import Any

from jupyter_server.services.contents.largefilemanager import AsyncLargeFileManager
from traitlets import Unicode

from tapkit.launch.nbclientinternals import CELL_SECONDS, patience, run_cells
from tapkit.launch.settings import KERNEL_IMPORTS
from tapkit.messages import Sentence

KERNEL = {"name": "python3", "display_name": "Python 3 (ipykernel)", "language": "python"}

CLOSING_SECONDS = 5
"""How long the end waits for a kernel that is just starting."""

USES_TAPKIT = re.compile(r"^\s*(from|import)\s+tapkit\b", re.MULTILINE)


class LiveContents(AsyncLargeFileManager):
    """Notebooks on disk; one that uses tapkit is run before it is first handed out."""

    kernel_imports = Unicode(KERNEL_IMPORTS, config=True, help="What a kernel kept ready has loaded.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._locks: dict[str, asyncio.Lock] = {}
        self._ran: dict[str, Any] = {}
        self._spare: asyncio.Task[str] | None = None
        self.closing = False
        self.problem: Sentence | None = None

    async def get(self, path: str, content: bool = True, type: str | None = None, *args: Any, **kwargs: Any) -> Any:
        """A file or folder; a workbook is made live first."""
        if content and path.endswith(".ipynb") and type in (None, "notebook") and not self.closing:
            try:
                await self.make_live(path)
            except Exception as error:
                is_full = isinstance(error.__cause__, OSError)
                self.log.warning("could not run %s before opening it: %s", path, error, exc_info=not is_full)
        return await super().get(path, content, type, *args, **kwargs)

    async def make_live(self, path: str) -> None:
        """Run the workbook's cells on its kernel, once for each life of that kernel."""
        path = path.strip("/")
        async with self._locks.setdefault(path, asyncio.Lock()):
            if not await self.file_exists(path):
                return
            notebook = (await super().get(path, True, "notebook"))["content"]
            has_outputs = any(c.get("outputs") for c in notebook.cells)
            if has_outputs and await self._is_live(path):  # none where the lesson was given anew
                return
            if not any(c.cell_type == "code" and USES_TAPKIT.search(c.source) for c in notebook.cells):
                return
            kernel = await self._kernel_for(path)
            are_all_run = await run_cells(notebook, kernel)
            await self._store(notebook, path)
            self._ran[path] = life_of(kernel) if are_all_run else None

    def keep_ready(self) -> None:
        """Start a kernel for the next workbook that is opened."""
        if self._spare is None and not self.closing:
            self._spare = asyncio.ensure_future(self._warm_kernel())

    async def close(self) -> None:
        """Start nothing more, and wait a little for what is starting."""
        self.closing = True
        starting = [lock.acquire() for lock in self._locks.values()] + ([self._spare] if self._spare else [])
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(asyncio.gather(*starting, return_exceptions=True), CLOSING_SECONDS)

    async def _is_live(self, path: str) -> bool:
        with contextlib.suppress(Exception):  # there is no session, or its kernel has gone
            return life_of(await self._kernel_of(path)) == self._ran.get(path)
        return False

    async def _kernel_of(self, path: str) -> Any:
        model = await self.parent.session_manager.get_session(path=path)
        return self.parent.kernel_manager.get_kernel(model["kernel"]["id"])

    async def _kernel_for(self, path: str) -> Any:
        """The kernel of the workbook's session, a new session where there is none."""
        sessions = self.parent.session_manager
        if not await sessions.session_exists(path):
            ready = await self._take_ready()
            await sessions.create_session(path, path.rsplit("/", 1)[-1], "notebook", "python3", kernel_id=ready)
        return await self._kernel_of(path)

    async def _take_ready(self) -> str | None:
        task, self._spare = self._spare, None
        if task is None:
            return None
        try:
            ready = await task
        except Exception:
            self.log.warning("the kernel kept ready did not start", exc_info=True)
            return None
        asyncio.get_running_loop().call_later(3, self.keep_ready)
        return ready if ready in self.parent.kernel_manager else None

    async def _warm_kernel(self) -> str:
        kernels = self.parent.kernel_manager
        ready = await kernels.start_kernel(kernel_name="python3", path="")
        client = kernels.get_kernel(ready).client()
        client.start_channels()
        try:
            await client.wait_for_ready(timeout=CELL_SECONDS * patience())
            await client.execute_interactive(
                self.kernel_imports, silent=True, store_history=False, timeout=CELL_SECONDS * patience()
            )
        finally:
            client.stop_channels()
        return ready

    async def _store(self, notebook: Any, path: str) -> None:
        """Write the outputs into the learner's copy, signed, so that its views are trusted.

        A notebook that names no kernel gets this one's name, else the page would ask which to use.
        """
        notebook.metadata.setdefault("kernelspec", KERNEL)
        self.notary.mark_cells(notebook, True)
        await self.save({"type": "notebook", "format": "json", "content": notebook}, path)


def life_of(kernel: Any) -> Any:
    """What changes when a kernel is started again."""
    return getattr(kernel.provisioner, "pid", None) or id(kernel.provisioner)
