"""`tapkit handout`: a lesson on paper, offline, with all its pictures, its exercises and room to write; File › Export."""

import os
import re

import nbformat
import pytest
from realbrowser import find_chromium

from tapkit.cli import main
from tapkit.exercises.bank import exercise_named, exercises
from tapkit.launch import handout, settings

STEM = "04-drill-and-percent-of-thread"


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    out, before = tmp_path_factory.mktemp("handout"), os.environ.get("CHROMIUM")
    os.environ["CHROMIUM"] = find_chromium() or ""
    try:
        assert main(["handout", "4", "--out", str(out), "--paper", "letter"]) == 0
    finally:
        os.environ.pop("CHROMIUM") if before is None else os.environ.update(CHROMIUM=before)
    return out


def words(page):
    page = re.sub(r"(?is)<(style|iframe)\b.*?</\1>|srcdoc=\"[^\"]*\"", " ", page)
    return page, re.sub(r"<[^>]*>", " ", page)


@pytest.mark.parametrize("file", [f"{STEM}.html", f"{STEM}-slides.html"])
def test_a_page_needs_nothing_else(made, file):
    page, told = words((made / file).read_text(encoding="utf-8"))
    assert not re.search(r"(?i)<script|<link\b|\bsrc=[\"'](?!data:)|@import|url\((?![\"']?(data:|#))", page)
    assert "widget-view" not in page
    assert page.count("<img") >= 3
    assert not re.search(r"&lt;/?(div|p|b|span|img|style|figure)\b", page), "a tag stands as text"
    assert "Panel:" not in told


def test_every_exercise_is_there_with_room_to_write(made):
    page, told = words((made / f"{STEM}.html").read_text(encoding="utf-8"))
    for one in exercises(lesson=4):
        assert one.title in told
    assert page.count('class="tapkit-rule"') >= 4 * 5
    assert "more to choose from" not in told
    assert page.count("<details open") == page.count("<details")
    assert "size: letter" in (made / f"{STEM}.html").read_text(encoding="utf-8")


@pytest.mark.browser
def test_a_browser_prints_it_on_the_paper_asked_for(made):
    if not find_chromium():
        pytest.skip("no Chromium here")
    sizes = {
        f: re.search(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)", (made / f).read_bytes())
        for f in os.listdir(made)
        if f.endswith("pdf")
    }
    assert {f: tuple(round(float(n)) for n in found.groups()) for f, found in sizes.items()} == {
        f"{STEM}.pdf": (612, 792),
        f"{STEM}-slides.pdf": (960, 540),
    }


def test_without_a_browser_there_is_html_and_a_sentence(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(handout, "find_browser", lambda: None)
    monkeypatch.setattr(handout, "worked_through", lambda path: nbformat.read(path, as_version=4))
    assert main(["handout", "1", "--out", str(tmp_path / "new" / "folder")]) == 0
    assert "No PDF" in capsys.readouterr().out
    assert [p.suffix for p in (tmp_path / "new" / "folder").iterdir()] == [".html", ".html"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["99", "--out", "x"], "no workbook is called"),
        (["1"], "--out"),
        (["1", "--out", "x", "--paper", "A5"], "A4 and Letter"),
    ],
)
def test_refused_in_one_line(arguments, said, capsys, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    try:
        code = main(["handout", *arguments])
    except SystemExit as stopped:
        code = stopped.code
    told = capsys.readouterr().err
    assert (code, told.count("\n")) == (2, 1), told
    assert said in told


def test_a_folder_that_cannot_be_written(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(handout, "worked_through", lambda path: nbformat.read(path, as_version=4))
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert main(["handout", "1", "--out", str(tmp_path / "file")]) == 2
    assert "choose another --out" in capsys.readouterr().err


@pytest.mark.parametrize("sanitized", [True, False])
def test_the_servers_own_export_is_the_same_page(tmp_path, sanitized):
    """Its settings are those of the server; a widget's view, as a saved lesson has it, is left out with its state."""
    from nbconvert.exporters import get_exporter
    from traitlets.config import Config

    view = {handout.VIEW: {"model_id": "x"}, "text/plain": "Panel: load"}
    outputs = [
        nbformat.v4.new_output("display_data", view),
        nbformat.v4.new_output("display_data", {"text/html": "<p>The picture</p>"}),
    ]
    more = '<p class="x" data-exercises="chamfer-length no-such-one" data-seed="3">more to choose from</p>'
    listed = [nbformat.v4.new_output("display_data", {"text/html": more})]
    cells = [
        nbformat.v4.new_code_cell("panels.load()", outputs=outputs),
        nbformat.v4.new_code_cell("panels.exercises()", outputs=listed),
        nbformat.v4.new_markdown_cell("## A heading\n\n<script>alert(1)</script>"),
    ]
    book = nbformat.v4.new_notebook(cells=cells)
    book.metadata["widgets"] = {"application/vnd.jupyter.widget-state+json": {"state": {}, "version_major": 2}}
    config = Config(settings.server_config(tmp_path, tmp_path))
    exporter = get_exporter("html")(config=config)
    exporter.sanitize_html = sanitized  # the box in the dialog of File › Export, ticked as it comes
    page, _ = exporter.from_notebook_node(book)
    assert not re.search(r"&lt;/?(div|p|h2|b|span|img|style|figure)\b", page), "a tag stands as text"
    assert exercise_named("chamfer-length").title in page
    assert "more to choose from" not in page
    assert re.search("<h2[^>]*>A heading", page)
    assert ("alert(1)" in page) != sanitized
    assert "The picture" in page
    assert "panels.load" not in page
    assert "Panel: load" not in page
    assert not re.search(r"src=[\"']http", page)
