"""Text from the tables, shown in a workbook: formulas, words, chamfer names, cautions, plates."""

from __future__ import annotations

import base64
from functools import cache
from html import escape
from pathlib import Path
from typing import Any

from IPython.display import HTML, display

from tapkit import tables
from tapkit.messages import _, said

CSS = """<style>
.tk-text {font-size: 15px; line-height: 1.5; max-width: 62em; color: #1a1f24;}
.tk-text figure {margin: .4em 0 1em;}
.tk-text img {max-width: 100%; height: auto;}
.tk-text h5 {font-size: 15px; margin: 0; scroll-margin-top: 4em;}
.tk-text h5:target {outline: 3px solid #1f4e8c; outline-offset: 4px;}
.tk-text table {border-collapse: collapse; font-size: 15px;}
.tk-text th, .tk-text td {text-align: left !important; vertical-align: top;
  padding: .35em .8em; border-bottom: 1px solid #c9d0d6;}
.tk-formula {border-left: 4px solid #1f4e8c; padding: .4em 1em; margin: .6em 0;}
.tk-formula b {font-size: 19px; font-family: Georgia, "DejaVu Serif", serif; font-weight: 600;}
.tk-text summary {cursor: pointer; color: #1f4e8c; font-weight: 600; padding: .3em 0;}
.tk-source {color: #4a545e; font-size: 13px;}
.tk-cautions {border: 2px solid #9a6700; border-radius: 4px; padding: .5em 1.1em; background: #fff8e6; color: #1a1f24;}
body.jp-Notebook .jp-CodeCell .jp-Cell-inputWrapper, body.jp-Notebook :is(.jp-OutputPrompt, .jp-InputPrompt)
  {display: none;}
@media print {
.jp-CodeCell .jp-Cell-inputWrapper, .jp-OutputPrompt {display: none !important;}
body.jp-Notebook :is(main, .jp-Cell, .jp-Cell-inputWrapper, .jp-InputArea, .jp-OutputArea-child) {display: block;}
.jp-RenderedMarkdown :is(h1, h2, h3), .jp-MarkdownCell:has(:is(h2, h3):last-child) {break-after: avoid;}
.tk-text :is(figure, tr), .tk-cautions, .tk-formula, .jp-OutputArea-output figure {break-inside: avoid;}
.jp-OutputArea-output figure.tapkit-bench-still {break-inside: auto;}}
</style>"""
"""Exported or printed, a workbook shows no code."""


def show_html(body: str) -> None:
    """Display HTML in tapkit's plain style."""
    display(HTML(f'{CSS}<div class="tk-text">{body}</div>'))


@cache
def _row(table: str, key: str, value: str) -> dict[str, str]:
    for row in tables.rows(table):
        if row[key] == value:
            return row
    raise ValueError(
        f"the table {table!r} has no {key} {value!r}; it has {', '.join(r[key] for r in tables.rows(table))}"
    )


def formula(name: str) -> None:
    """Show one formula in symbols and words, with its source."""
    show_html(_formula_html(name))


def formulas(*names: str) -> None:
    """Show several formulas in a fold, for those who want them."""
    show_html(_folded(said(_("The formulas, for those who want them")), "".join(_formula_html(name) for name in names)))


def _folded(title: str, body: str) -> str:
    """HTML that opens on a click."""
    return f"<details><summary>{escape(title)}</summary>{body}</details>"


def _formula_html(name: str) -> str:
    row = _row("formulas", "name", name)
    symbols = f"<br><span class='tk-source'>{escape(row['symbols'])}</span>" if row["symbols"] else ""
    return (
        f"<div class='tk-formula'><b>{escape(row['printed'])}</b><br>{escape(row['words'])}{symbols}"
        f"<br><span class='tk-source'>Source: {escape(row['source'])}</span></div>"
    )


def _table(head: list[str], body: list[list[str]], caption: str) -> str:
    top = "".join(f"<th scope='col'>{h}</th>" for h in head)
    lines = "".join("<tr>" + "".join(f"<td>{c}</td>" for c in line) + "</tr>" for line in body)
    return f"<table aria-label='{escape(caption)}'><thead><tr>{top}</tr></thead><tbody>{lines}</tbody></table>"


def glossary() -> None:
    """Show every term of the table `glossary`; each row is a heading that can be linked to by its term.

    The pictures stand below the table, each once, so that their links work wherever the workbook lies.
    """
    rows = tables.rows("glossary")
    body = [_term(row) for row in rows]
    names = dict.fromkeys(row["picture"] for row in rows if row["picture"])
    pictures = "".join(
        f"<h5 id='picture-{n}'>{escape(str(_plates().find(n).title))}</h5>{plate_html(n)}" for n in names
    )
    show_html(_table(["Term", "Meaning", "Words", "Picture", "Source"], body, "glossary") + pictures)


def _term(row: dict[str, str]) -> list[str]:
    """One row of the glossary as cells."""
    shops = (("US", "us"), ("British", "british"), ("DIN", "din"))
    words = "<br>".join(f"{who}: {escape(row[key])}" for who, key in shops if row[key])
    anchor = row["term"].replace(" ", "-")
    link = f"<a href='#picture-{row['picture']}' aria-label='picture of {escape(row['term'])}'>picture</a>"
    return [
        f"<h5 id='{anchor}' data-jupyter-id='{anchor}'>{escape(row['term'])}</h5>",  # where JupyterLab looks for it
        escape(row["meaning"]),
        words,
        link if row["picture"] else "",
        f"<span class='tk-source'>{escape(row['source'])}</span>",
    ]


def chamfer_words() -> None:
    """Show the chamfer words: US, British, and the letters of DIN 2197, side by side."""
    named = [
        [f"<b>{r['us']}</b>", r["british"], r["threads"].replace("-", " to "), r["source"]]
        for r in tables.rows("chamfers")
    ]
    forms = [
        [
            f"<b>{r['form']}</b>",
            r["threads"].replace("-", " to "),
            (r["angle_deg"] + "°") if r["angle_deg"] else "steeper",
            ", ".join(r["flute_forms"].split()),
            r["source"],
        ]
        for r in tables.rows("din2197")
    ]
    letters = _table(["DIN 2197 form", "Length in threads", "Angle", "Flutes", "Source"], forms, "DIN 2197 forms")
    show_html(
        _table(["US word", "British word", "Length in threads", "Source"], named, "chamfer words")
        + _folded(said(_("The letters of DIN 2197")), letters)
    )


def cautions() -> None:
    """Show the cautions for hands, eyes and machines."""
    lines = "".join(f"<li>{escape(r['text'])}</li>" for r in tables.rows("cautions"))
    show_html(f"<div class='tk-cautions' role='note' aria-label='cautions'><b>Take care</b><ul>{lines}</ul></div>")


def plate(name: str) -> None:
    """Show a plate of figures/, with its caption under it and as its alt text."""
    show_html(plate_html(name))


def plate_html(name: str) -> str:
    """A plate of figures/ and its caption as HTML that needs nothing else."""
    text = _plates().caption(name)
    path = Path(_plates().figures_folder()) / f"{name}.png"
    if not path.is_file():
        raise ValueError(f"the picture of plate {name!r} is not in {path.parent.name}/; 'tapkit figures' makes it")
    return f"<figure>{picture_tag(path.read_bytes(), text)}<figcaption>{escape(text)}</figcaption></figure>"


def _plates() -> Any:
    """The module that knows the plates, loaded when it is needed."""
    from tapkit.drawing import plates

    return plates


def picture_tag(png: bytes, alt: str) -> str:
    """An <img> element that carries its picture with it."""
    data = base64.b64encode(png).decode()
    return (
        f"<img width='900' style='max-width:100%;height:auto' alt='{escape(alt)}' src='data:image/png;base64,{data}'>"
    )
