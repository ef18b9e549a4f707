"""Reading the workbooks for the tests: their cells, prose, sentences and links."""

import re
from pathlib import Path

import nbformat

from tapkit.exercises.lessons import lesson, taught

FOLDER = Path(__file__).parents[2] / "workbooks"
BOOKS = sorted(FOLDER.glob("*.ipynb"))
LESSONS = [FOLDER / lesson(number).workbook for number in taught()]


def cells(book, kind):
    return [c for c in nbformat.read(book, as_version=4).cells if c.cell_type == kind]


def prose(book):
    """The markdown of a workbook as one text."""
    return "\n\n".join(c.source for c in cells(book, "markdown"))


def plain(text):
    """Markdown without code, links' targets, tables' rules and marks of emphasis."""
    text = re.sub(r"`[^`]*`", " ", text)
    text = re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", text)
    return re.sub(r"[*_#|>]+|\|?-{3,}\|?", " ", text)


def sentences(text):
    """The sentences of running text; headings, lists and table rows count as their own."""
    out = []
    for block in re.split(r"\n\s*\n", text):
        lines = block.split("\n")
        if any(line.lstrip().startswith(("|", "#")) for line in lines):
            continue
        joined = re.sub(r"\n(?=\s*(?:\d+\.|-)\s)", "\n\n", block)
        for part in joined.split("\n\n"):
            words = plain(re.sub(r"^\s*(\d+\.|-)\s+", "", part.replace("\n", " ")))
            out += [s.strip() for s in re.split(r"(?<=[.!?:])\s+(?=[A-Z\"“*])", words) if s.strip()]
    return out


def links(book):
    """Targets of all links and pictures in the markdown."""
    return re.findall(r"\]\(([^)\s]+)\)", prose(book))
