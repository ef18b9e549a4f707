"""Text from the tables, shown in a workbook: formulas, words, chamfer names, cautions, plates."""

from __future__ import annotations

import base64
from functools import cache
from html import escape
from pathlib import Path
from typing import Any

from IPython.display import HTML, display

from tapkit import tables
from tapkit.messages import _, of_table, said
from tapkit.panels.look import DARK

CSS = (
    f"<style>{DARK}"
    + """
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
)
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


def _told(words: str) -> str:
    """Words of a table, in the language in use, as HTML."""
    return escape(said(of_table(words)))


def _folded(title: str, body: str) -> str:
    """HTML that opens on a click."""
    return f"<details><summary>{escape(title)}</summary>{body}</details>"


def _formula_html(name: str) -> str:
    row = _row("formulas", "name", name)
    symbols = f"<br><span class='tk-source'>{_told(row['symbols'])}</span>" if row["symbols"] else ""
    source = escape(said(_("Source: {source}", source=row["source"])))
    return (
        f"<div class='tk-formula'><b>{_told(row['printed'])}</b><br>{_told(row['words'])}{symbols}"
        f"<br><span class='tk-source'>{source}</span></div>"
    )


def _table(head: list[Any], body: list[list[str]], caption: Any) -> str:
    top = "".join(f"<th scope='col'>{escape(said(h))}</th>" for h in head)
    lines = "".join("<tr>" + "".join(f"<td>{c}</td>" for c in line) + "</tr>" for line in body)
    return f"<table aria-label='{escape(said(caption))}'><thead><tr>{top}</tr></thead><tbody>{lines}</tbody></table>"


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
    head = [_("Term"), _("Meaning"), _("Words"), _("Picture"), _("Source")]
    show_html(_table(head, body, _("Glossary")) + pictures)


def _term(row: dict[str, str]) -> list[str]:
    """One row of the glossary as cells."""
    shops = (
        _("US: {words}", words=of_table(row["us"])) if row["us"] else "",
        _("British: {words}", words=of_table(row["british"])) if row["british"] else "",
        _("DIN: {words}", words=row["din"]) if row["din"] else "",
    )
    words = "<br>".join(escape(said(one)) for one in shops if one)
    anchor = row["term"].replace(" ", "-")
    term = of_table(row["term"])
    label = escape(said(_("picture of {term}", term=term)))
    link = f"<a href='#picture-{row['picture']}' aria-label='{label}'>{escape(said(_('picture')))}</a>"
    return [
        f"<h5 id='{anchor}' data-jupyter-id='{anchor}'>{escape(said(term))}</h5>",  # where JupyterLab looks for it
        _told(row["meaning"]),
        words,
        link if row["picture"] else "",
        f"<span class='tk-source'>{escape(row['source'])}</span>",
    ]


def _span(text: str) -> str:
    """A range of a table, "2-3.5", in words."""
    low, dash, high = text.partition("-")
    return escape(said(_("{low} to {high}", low=low, high=high))) if dash else escape(text)


def chamfer_words() -> None:
    """Show the chamfer words: US, British, and the letters of DIN 2197, side by side."""
    named = [
        [f"<b>{_told(r['us'])}</b>", _told(r["british"]), _span(r["threads"]), escape(r["source"])]
        for r in tables.rows("chamfers")
    ]
    forms = [
        [
            f"<b>{r['form']}</b>",
            _span(r["threads"]),
            (r["angle_deg"] + "°") if r["angle_deg"] else escape(said(_("steeper"))),
            ", ".join(r["flute_forms"].split()),
            r["source"],
        ]
        for r in tables.rows("din2197")
    ]
    lengths, source = _("Length in threads"), _("Source")
    head = [_("DIN 2197 form"), lengths, _("Angle"), _("Flutes"), source]
    letters = _table(head, forms, _("Forms of DIN 2197"))
    show_html(
        _table([_("US word"), _("British word"), lengths, source], named, _("Words for the chamfer"))
        + _folded(said(_("The letters of DIN 2197")), letters)
    )


def cautions() -> None:
    """Show the cautions for hands, eyes and machines."""
    lines = "".join(f"<li>{_told(r['text'])}</li>" for r in tables.rows("cautions"))
    head, label = escape(said(_("Take care"))), escape(said(_("Cautions")))
    show_html(
        f"<div class='tk-cautions' id='take-care' role='note' aria-label='{label}'><b>{head}</b><ul>{lines}</ul></div>"
    )


def sources() -> None:
    """Show how many rows of the tables are from memory, and in which tables they stand."""
    found = {name: tables.rows(name) for name in tables.names()}
    recalled = {name: sum("[memory]" in row["source"] for row in rows) for name, rows in found.items()}
    told = _(
        "{all} rows of tables stand behind this course, and each names its source. {memory} of them are marked "
        "[memory]: they were written from memory and have not been compared with a printed source yet. Check such a "
        "number before you rely on it.",
        all=sum(map(len, found.values())),
        memory=sum(recalled.values()),
    )
    lines = [[escape(name.replace("_", " ")), str(n), str(len(found[name]))] for name, n in recalled.items() if n]
    head = [said(_("Table")), said(_("Rows from memory")), said(_("Rows in all"))]
    title = said(_("The tables with rows from memory"))
    show_html(f"<p>{escape(said(told))}</p>{_folded(title, _table(head, lines, title))}")


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
