"""`tapkit handout LESSON`: a lesson as a page to hand out, offline, with its pictures and room to write; and as slides.

The same page is what JupyterLab's File › Export makes of a lesson (`OnPaper` is in the server's settings).
"""

import argparse
import asyncio
import contextlib
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import nbformat
from nbconvert.preprocessors import Preprocessor
from traitlets import Unicode

from tapkit.launch import settings, workspace
from tapkit.messages import LANGUAGE_VARIABLE, _, ngettext

VIEW = "application/vnd.jupyter.widget-view+json"
PAPERS = {"a4": ("A4", "A4"), "letter": ("Letter", "letter")}
"""Name by its small letters: as it is written, and as style sheets call it."""
WALL = "13.333in 7.5in"
"""A slide of 16 by 9."""
BROWSERS = (
    "chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge", "microsoft-edge",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
    r"C:\Program Files\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe",
)  # fmt: skip
"""Programs that print a page without showing it."""
LOOK = """
@page {size: SIZE; margin: MARGIN}
body.jp-Notebook {max-width: 62em; margin: 0 auto; padding: 0 1em}
@media print {
body.jp-Notebook {max-width: none; padding: 0; font-size: 11pt}
.jp-Cell {padding: 0; break-inside: auto}
.jp-OutputArea-child:not(:has(.tapkit-page)) {break-inside: auto} .tapkit-table :is(tr, p) {break-inside: avoid}
:is(caption, summary, .tk-text p:has(+ dl), .tk-words dt) {break-after: avoid} .tk-words > div {break-inside: avoid}
.tapkit-five-still td:empty {height: 11mm}
.jp-RenderedHTMLCommon {font-size: 11pt; line-height: 1.4}
.jp-OutputArea-output {padding: 0; overflow: visible}
.tapkit-table table, .tk-text table {font-size: 9pt; width: 100%; max-width: 100%}
.tapkit-table.tapkit-table {overflow: visible}
.tapkit-table table :is(caption, td, th) {white-space: normal; padding-right: 6px}
.tapkit-table table td.number {white-space: normal; padding-right: 16px}
.jp-MarkdownOutput, .jp-OutputArea-output {display: block}
figure, .tapkit-table {max-width: 100%} .jp-OutputArea-output figure {break-inside: auto}
figure > img {break-before: avoid; break-after: avoid} figcaption :is(p, li) {break-inside: avoid}
img {max-height: 100mm; object-fit: contain; object-position: left} .tk-text img {max-height: 125mm}
.tapkit-quiz img {max-height: 56mm; width: auto}
.tapkit-quiz p {margin: 1.2mm 0; line-height: 1.3} .tapkit-quiz .tapkit-rule {height: 8mm}
.tapkit-quiz:has(.tapkit-solution) {break-inside: auto; box-decoration-break: clone}
.tapkit-quiz p {break-inside: avoid}
}
"""
SLIDES = """
.jp-RenderedHTMLCommon, .tk-text, .tapkit-quiz, .tapkit-quiz p, figcaption p {font-size: 24px !important}
.tk-text *, .tapkit-quiz .tapkit-small {font-size: inherit}
.jp-RenderedHTMLCommon h1 {font-size: 60px; padding-top: .6em} .jp-RenderedHTMLCommon h2 {font-size: 40px}
body.jp-Notebook {max-width: 1200px; margin: 0 auto}
img {max-height: 400px !important; width: auto; max-width: 100%} .tapkit-quiz img {max-height: 260px !important}
.jp-CodeCell.celltag_slide img:not(.tapkit-quiz img) {max-height: 470px !important}
.jp-CodeCell.celltag_slide .tk-text img {max-height: 530px !important}
.jp-CodeCell.jp-Cell.jp-Notebook-cell figure:has(.tapkit-caution) > img {max-height: 330px !important}
.jp-CodeCell.jp-Cell.jp-Notebook-cell figure:has(ol) > img {max-height: 210px !important}
figure ol {margin: 0; columns: 2; gap: 30px} figure:has(ol) :is(p, li) {margin: 2px 0; font-size: 19px !important}
.tk-formula b {font-size: 26px !important}
.tapkit-quiz:has(> img) p {font-size: 20px !important; line-height: 1.2; margin-block: 1px !important}
.tapkit-quiz > img {max-height: 200px !important} .tk-text .tk-words {font-size: 20px !important}
.tk-text:has(.tk-words), .tk-words, .tk-words * {max-width: none !important} .tk-words > div {break-inside: avoid}
.tapkit-quiz p {line-height: 1.25; margin-block: 3px !important}
.tapkit-table :is(table, p, caption) {font-size: 19px !important} .tapkit-table {break-inside: avoid}
.tapkit-table td {padding-right: 16px !important}
.tapkit-rule, .tapkit-quiz p:has(.tapkit-blank) {display: none}
iframe {display: none} figure > img {display: block !important}
.jp-Cell {padding: 0 5px} .tapkit-quiz {break-inside: avoid}
@media screen {html {scroll-snap-type: y proximity} BEGINS {scroll-snap-align: start; padding-top: 30px;
  margin-top: 75vh} main > .jp-Cell:first-child {margin-top: 0 !important}}
@media print {.tapkit-quiz > img ~ .tapkit-solution {break-before: page}
  BEGINS {break-before: page} main > .jp-Cell:first-child {break-before: auto !important}}
""".replace("BEGINS", ":is(.jp-CodeCell.celltag_slide, .jp-MarkdownCell:has(.celltag_slide))")


class OnPaper(Preprocessor):
    """Leaves of a notebook what stands without a kernel: no widgets, no plain words beside their pictures. `look` is a
    style sheet for the whole page."""

    look = Unicode(LOOK.replace("SIZE", "auto").replace("MARGIN", "14mm")).tag(config=True)

    def preprocess(self, notebook: Any, resources: Any) -> Any:
        notebook = nbformat.from_dict(notebook)
        notebook.metadata.pop("widgets", None)
        for cell in notebook.cells:
            if cell.cell_type == "code":
                cell.outputs = [o for o in cell.outputs if o.output_type != "stream" and VIEW not in o.get("data", {})]
                _print_exercises(cell)
        notebook.cells = [c for c in notebook.cells if c.cell_type != "code" or c.outputs]
        style = nbformat.v4.new_markdown_cell(f"<style>{self.look}</style>")
        notebook.cells.append(style)
        return notebook, resources


_MORE = re.compile(r'<p [^>]*data-exercises="([\w -]+)" data-seed="(\d{1,20})"')


def _print_exercises(cell: Any) -> None:
    """Put the exercises that a saved lesson only names where they are named; they stay named where that fails."""
    for output in cell.outputs:
        data = output.get("data", {})
        if found := _MORE.search("".join(data.get("text/html", ""))):
            code = "import sys; from tapkit.panels.quiz import printed; print(printed(sys.argv[2:], int(sys.argv[1])))"
            command = [sys.executable, "-c", code, found[2], *found[1].split()]
            env = os.environ | {"PYTHONSAFEPATH": "1", "PYTHONIOENCODING": "utf-8"}
            with contextlib.suppress(OSError, subprocess.SubprocessError):
                done = subprocess.run(command, capture_output=True, timeout=120, check=True, env=env, encoding="utf-8")
                data["text/html"] = done.stdout


def configure(parser: argparse.ArgumentParser) -> None:
    """Options of `tapkit handout`."""
    parser.add_argument("lesson", metavar="LESSON", help=str(_("the lesson, by number, name or part of its name")))
    parser.add_argument("--out", type=Path, required=True, help=str(_("folder the pages are written into")))
    parser.add_argument("--paper", type=_paper, default="A4", help=str(_("A4 or Letter (default: A4)")))
    units = _("units of the numbers (default: metric)")
    parser.add_argument("--units", choices=("metric", "inch"), default="metric", help=str(units))


def run(arguments: argparse.Namespace) -> int:
    """Write the lesson as HTML, and as PDF where a browser is found; the same as slides."""
    given = workspace.originals()
    name = workspace.wanted_workbook(tuple(n for n in given if n.endswith(".ipynb")), arguments.lesson)
    out, stem = arguments.out.expanduser(), Path(name).stem
    print(_("Working through {lesson} …", lesson=stem), flush=True)
    notebook = worked_through(given[name])
    paper = LOOK.replace("SIZE", PAPERS[arguments.paper.lower()][1]).replace("MARGIN", "14mm 16mm")
    wall = LOOK.replace("SIZE", WALL).replace("MARGIN", "10mm 14mm") + SLIDES
    pages = {
        f"{stem}.html": html_of(notebook, stem, paper).replace("<details", "<details open"),
        f"{stem}-slides.html": html_of(slides(notebook), stem, wall),
    }
    written = []
    try:
        out.mkdir(parents=True, exist_ok=True)
        for file, page in pages.items():
            (out / file).write_text(page, encoding="utf-8")
            written.append(file)
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise ValueError(_("cannot write into {out}: {why}; choose another --out", out=out, why=why)) from None
    browser = find_browser()
    written += [p.name for p in (pdf_of(browser, out / file) for file in pages) if p] if browser else []
    print(ngettext("{count} file in {out}:", "{count} files in {out}:", len(written), out=out), *written, sep="\n  ")
    if len(written) < 2 * len(pages):
        print(_("No PDF: print the pages from a browser, as Chromium, Chrome or Edge was not found or did not print."))
    return 0


def worked_through(path: Path) -> Any:
    """A workbook with the outputs of its cells, run in a folder of its own, its exercises whole for paper."""
    from jupyter_client.manager import AsyncKernelManager

    from tapkit.launch.nbclientinternals import run_cells

    notebook = nbformat.read(path, as_version=4)

    async def work(folder: str) -> None:
        own = {"TAPKIT_RECORDS": folder, "TAPKIT_PRINTED": "1", "PYTHONSAFEPATH": "1", "IPYTHONDIR": folder}
        own |= {"TAPKIT_SEED": os.environ.get("TAPKIT_SEED", "0")}
        env = {k: v for k, v in os.environ.items() if k not in ("TAPKIT_FOLDER", "TAPKIT_ROOM")} | own
        os.environ.setdefault("JUPYTER_PREFER_ENV_PATH", "1")  # a kernel of this very Python
        kernel = AsyncKernelManager()
        kernel.transport_encryption = settings.encryption()
        await kernel.start_kernel(env=env, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        try:
            await run_cells(notebook, kernel)
        finally:
            await kernel.shutdown_kernel(now=True)

    with tempfile.TemporaryDirectory() as folder:
        asyncio.run(work(folder))
    for cell in notebook.cells:
        for output in cell.get("outputs", ()):
            if output.output_type == "error":
                raise ValueError(_("a cell of {lesson} failed: {why}", lesson=path.stem, why=output.evalue))
    return notebook


def html_of(notebook: Any, title: str, look: str) -> str:
    """A notebook as a page that needs nothing else."""
    from nbconvert import HTMLExporter
    from traitlets.config import Config

    exporter = HTMLExporter(config=Config({"HTMLExporter": settings.PAPER, "OnPaper": {"look": look}}))
    page, _resources = exporter.from_notebook_node(notebook, {"metadata": {"name": title}})
    language = os.environ.get(LANGUAGE_VARIABLE, "en") or "en"
    return re.sub(r"<html[^>]*>", f'<html lang="{language.replace("_", "-")}">', _without_script(page), count=1)


def slides(notebook: Any) -> Any:
    """The same for the wall: a slide begins at every heading, and where the one before is full; what is written on or
    folded away is left out."""
    found, room, alone = [], 0.0, False
    for cell in _pieces(notebook):
        heading = cell.cell_type == "markdown" and cell.source.lstrip().startswith("#")
        needs = _share(cell)
        if heading or (needs > room and not alone):  # no heading stands alone on a slide
            cell.metadata["tags"] = [*cell.metadata.get("tags", ()), "slide"]
            room = 1.0
        alone = len(cell.source.strip().splitlines()) == 1 if heading else alone and needs < 0.1
        room -= needs
        found.append(cell)
    made = nbformat.from_dict(notebook)
    made.cells = found
    return made


def _pieces(notebook: Any) -> Iterator[Any]:
    """The cells, those of words parted at their headings."""
    for cell in nbformat.from_dict(notebook).cells:
        if cell.cell_type != "markdown":
            if not any(mark in _shown(cell) for mark in ("<details", "tapkit-notes-still")):
                yield cell
            continue
        for part in re.split(r"(?m)^(?=#{1,3} )", cell.source):
            if part.strip():
                yield nbformat.v4.new_markdown_cell(part)


def _shown(cell: Any) -> str:
    return "".join(str(o.get("data", {}).get("text/html", "")) for o in cell.get("outputs", ()))


def _share(cell: Any) -> float:
    """About which part of a slide a cell fills."""
    if cell.cell_type == "markdown":
        return 0.12 + len(cell.source) / 1100
    shown = re.sub(r"(?s)<style.*?</style>|<iframe.*?</iframe>", "", _shown(cell))
    lines = len(re.findall(r"<(?:p|li|tr|br)\b", shown)) + len(re.sub("<[^>]*>", "", shown)) / 300
    lines += 1.6 * shown.count("tk-formula")
    return 0.08 + 0.05 * lines + 0.55 * bool(re.search("<img|<svg", shown))


def find_browser() -> str | None:
    """A browser that prints: that of the variable CHROMIUM, else the first that is installed."""
    named = os.environ.get("CHROMIUM")
    return named or next(filter(None, map(shutil.which, BROWSERS)), None)


def pdf_of(browser: str, page: Path) -> Path | None:
    """A page printed by a browser; None where it did not."""
    target = page.with_suffix(".pdf")
    with tempfile.TemporaryDirectory() as profile:
        command = [browser, "--headless", "--disable-gpu", f"--user-data-dir={profile}", "--no-first-run"]
        command += ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
        command += ["--no-pdf-header-footer", f"--print-to-pdf={target.resolve()}", page.resolve().as_uri()]
        target.unlink(missing_ok=True)
        try:
            subprocess.run(command, capture_output=True, timeout=180, check=True)
        except (OSError, subprocess.SubprocessError):
            return None
    return target if target.is_file() else None


def _without_script(page: str) -> str:
    """The page without the exporter's own scripts; those within frames are text here and stay."""
    return re.sub(r"(?is)<script\b.*?</script>\s*", "", page)


def _paper(text: str) -> str:
    if text.lower() not in PAPERS:
        raise argparse.ArgumentTypeError(_("paper {text} is not known; there are A4 and Letter", text=text))
    return PAPERS[text.lower()][0]
