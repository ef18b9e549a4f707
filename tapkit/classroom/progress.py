"""A progress bar on a terminal; silent where nobody watches."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterable, Iterator
from typing import IO, TypeVar

T = TypeVar("T")
WIDTH = 30


def watched(things: Iterable[T], total: int, what: str, stream: IO[str] | None = None) -> Iterator[T]:
    """The things one by one, with a bar on the stream (stderr) that grows, at most ten times a second."""
    stream = sys.stderr if stream is None else stream
    shown = stream.isatty()
    last = 0.0
    for done, thing in enumerate(things):
        if shown and (now := time.monotonic()) - last > 0.1:
            _draw(stream, done, total, what)
            last = now
        yield thing
    if shown:
        _draw(stream, total, total, what)
        stream.write("\n")


def _draw(stream: IO[str], done: int, total: int, what: str) -> None:
    full = WIDTH * done // max(total, 1)
    stream.write(f"\r{'█' * full}{'·' * (WIDTH - full)} {done} of {total} {what}")
    stream.flush()
