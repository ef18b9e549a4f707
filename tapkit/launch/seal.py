"""The course's cells closed against a stray key: neither edited nor deleted in the page; a learner's own stay open."""

import json
from typing import Any

CLOSED = {"editable": False, "deletable": False}
"""What Jupyter's notebook format calls it, in the metadata of a cell."""


def sealed(data: bytes, name: str, course: bytes | None = None) -> bytes:
    """A notebook with its cells closed, all or those that stand in `course`; anything else as it is.

    >>> cell = {"cell_type": "markdown", "metadata": {}, "source": "Read this."}
    >>> json.loads(sealed(json.dumps({"cells": [cell]}).encode(), "01.ipynb"))["cells"][0]["metadata"]
    {'editable': False, 'deletable': False}
    """
    if not name.endswith(".ipynb"):
        return data
    try:
        notebook, given = json.loads(data), None if course is None else _said(json.loads(course))
        cells = [c for c in notebook["cells"] if given is None or _one(c) in given]
        open_cells = [c for c in cells if not CLOSED.items() <= c["metadata"].items()]
    except (ValueError, KeyError, TypeError, AttributeError):
        return data
    for cell in open_cells:
        cell["metadata"].update(CLOSED)
    return (json.dumps(notebook, indent=1, ensure_ascii=False) + "\n").encode() if open_cells else data


def _said(notebook: Any) -> set[tuple[str, str]]:
    return {_one(cell) for cell in notebook["cells"]}


def _one(cell: Any) -> tuple[str, str]:
    return cell["cell_type"], "".join(cell["source"])
