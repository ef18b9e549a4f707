"""The ES modules of the page: an anywidget is one text, so what modules share is put before them."""

from pathlib import Path


def script(*parts: str) -> str:
    """Modules of this folder as one text, after `element.js`, which makes elements."""
    return "\n".join((Path(__file__).parent / part).read_text("utf-8") for part in ("element.js", *parts))
