"""Every workbook run on a kernel with its widgets: quick, without an error, and every question answered.

All run on one kernel here, which is started once (`test_modes` gives each its own): as it is, then all its questions
are left blank, answered wrong and answered right, through the boxes and buttons the learner has. nbval runs them as
they are: `pytest --nbval-lax workbooks`.
"""

import html
import json
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient
from notebooks import BOOKS, LESSONS

from tapkit import tables

HERE = Path(__file__).parent
SECONDS = 20
"""What one workbook may take, counted as work of its kernel: waiting for others on a busy machine does not count."""
BEFORE = """
import os, sys
sys.path[:0] = [] if {here!r} in sys.path else [{here!r}]
os.chdir({folder!r})
os.environ |= dict(TAPKIT_FOLDER={folder!r}, TAPKIT_ROOM="")
import answering
answering.watch()
"""
AFTER = "import json; print(json.dumps(answering.answer_all()))"


@pytest.fixture(scope="module")
def kernel():
    client = NotebookClient(nbformat.v4.new_notebook(), timeout=240, kernel_name="python3")
    with client.setup_kernel():
        yield client


def run(book, folder, kernel):
    """Outputs of all cells, and what `answer_all` returned."""
    notebook = nbformat.read(book, as_version=4)
    new = nbformat.v4.new_code_cell
    before = BEFORE.format(here=str(HERE), folder=str(folder))
    notebook.cells = [new(before), *notebook.cells, new(AFTER)]
    kernel.nb = notebook
    kernel.reset_execution_trackers()
    for place, cell in enumerate(notebook.cells):
        kernel.execute_cell(cell, place)
    trouble, count, busy = json.loads(notebook.cells[-1].outputs[0].text)
    return notebook, trouble, count, busy


def outputs(notebook):
    return [o for c in notebook.cells[1:-1] if c.cell_type == "code" for o in c.outputs]


@pytest.mark.parametrize("book", BOOKS, ids=lambda b: b.stem)
def test_runs_quickly_and_every_question_takes_its_answers(book, tmp_path, kernel):
    notebook, trouble, count, busy = run(book, tmp_path, kernel)
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
