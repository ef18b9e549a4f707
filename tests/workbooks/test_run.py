"""Every workbook run on a kernel with its widgets: quick, without an error, and every question answered.

Each runs once here: as it is, then all its questions are left blank, answered wrong and answered right, through the
boxes and buttons the learner has. nbval runs them as they are: `pytest --nbval-lax workbooks`.
"""

import html
import json
import os
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient
from notebooks import BOOKS, LESSONS

from tapkit import tables

HERE = Path(__file__).parent
SECONDS = 20
"""What one workbook may take, counted as work of its kernel: waiting for others on a busy machine does not count."""
BEFORE = "import sys; sys.path.insert(0, {here!r}); import answering; answering.watch()"
AFTER = "import json; print(json.dumps(answering.answer_all()))"


def run(book, folder):
    """Outputs of all cells, and what `answer_all` returned."""
    notebook = nbformat.read(book, as_version=4)
    new = nbformat.v4.new_code_cell
    notebook.cells = [new(BEFORE.format(here=str(HERE))), *notebook.cells, new(AFTER)]
    client = NotebookClient(notebook, timeout=240, kernel_name="python3", resources={"metadata": {"path": str(folder)}})
    client.execute(env={**os.environ, "TAPKIT_FOLDER": str(folder), "TAPKIT_ROOM": ""})
    trouble, count, busy = json.loads(notebook.cells[-1].outputs[0].text)
    return notebook, trouble, count, busy


def outputs(notebook):
    return [o for c in notebook.cells[1:-1] if c.cell_type == "code" for o in c.outputs]


@pytest.mark.parametrize("book", BOOKS, ids=lambda b: b.stem)
def test_runs_quickly_and_every_question_takes_its_answers(book, tmp_path):
    notebook, trouble, count, busy = run(book, tmp_path)
    assert busy < SECONDS
    assert not [o for o in outputs(notebook) if o.output_type in ("error", "stream")]
    assert trouble == []
    assert count >= (7 if book in LESSONS else 0)
    shown = "".join(o.data.get("text/html", "") for o in outputs(notebook) if "data" in o)
    for row in tables.rows("cautions"):
        assert shown.count(html.escape(row["text"], quote=False)) <= 1, f"said twice: {row['text']}"
    if 'href="#take-care"' in shown:
        assert shown.count('id="take-care"') == 1
    for cell in notebook.cells[1:-1]:
        if cell.cell_type == "code" and cell.source.startswith("panels."):
            assert cell.outputs, cell.source
