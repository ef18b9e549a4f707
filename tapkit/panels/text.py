"""Text from the tables, shown in a workbook: formulas, words, chamfer names, cautions, plates."""

from __future__ import annotations

import base64
from functools import cache
from html import escape
from pathlib import Path

from IPython.display import HTML, Image, display

from tapkit import tables

CSS = """<style>
.tk-text {font-size: 15px; line-height: 1.5; max-width: 62em; color: #1a1f24;}
.tk-text table {border-collapse: collapse; font-size: 15px;}
.tk-text th, .tk-text td {text-align: left !important; vertical-align: top;
  padding: .35em .8em; border-bottom: 1px solid #c9d0d6;}
.tk-formula {border-left: 4px solid #1f4e8c; padding: .4em 1em; margin: .6em 0;}
.tk-formula b {font-size: 19px; font-family: Georgia, "DejaVu Serif", serif; font-weight: 600;}
.tk-source {color: #4a545e; font-size: 13px;}
.tk-cautions {border: 2px solid #9a6700; border-radius: 4px; padding: .5em 1.1em; background: #fff8e6; color: #1a1f24;}
</style>"""


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
    row = _row("formulas", "name", name)
    symbols = f"<br><span class='tk-source'>{escape(row['symbols'])}</span>" if row["symbols"] else ""
    show_html(
        f"<div class='tk-formula'><b>{escape(row['printed'])}</b><br>{escape(row['words'])}{symbols}"
        f"<br><span class='tk-source'>Source: {escape(row['source'])}</span></div>"
    )


def _table(head: list[str], body: list[list[str]], caption: str) -> str:
    top = "".join(f"<th scope='col'>{h}</th>" for h in head)
    lines = "".join("<tr>" + "".join(f"<td>{c}</td>" for c in line) + "</tr>" for line in body)
    return f"<table aria-label='{escape(caption)}'><thead><tr>{top}</tr></thead><tbody>{lines}</tbody></table>"


def glossary() -> None:
    """Show every term of the table `glossary`; each row can be linked to by its term."""
    body = []
    for row in tables.rows("glossary"):
        anchor = row["term"].replace(" ", "-")
        term = f"<b id='{anchor}'>{escape(row['term'])}</b>"
        words = " · ".join(
            f"{who} {escape(row[key])}"
            for who, key in (("US", "us"), ("British", "british"), ("DIN", "din"))
            if row[key]
        )
        plate_link = f"<a href='../figures/{row['picture']}.png'>picture</a>" if row["picture"] else ""
        body.append(
            [term, escape(row["meaning"]), words, plate_link, f"<span class='tk-source'>{escape(row['source'])}</span>"]
        )
    show_html(_table(["Term", "Meaning", "Words", "Picture", "Source"], body, "glossary"))


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
    show_html(
        _table(["US word", "British word", "Length in threads", "Source"], named, "chamfer words")
        + "<br>"
        + _table(["DIN 2197 form", "Length in threads", "Angle", "Flutes", "Source"], forms, "DIN 2197 forms")
    )


def cautions() -> None:
    """Show the cautions for hands, eyes and machines."""
    lines = "".join(f"<li>{escape(r['text'])}</li>" for r in tables.rows("cautions"))
    show_html(f"<div class='tk-cautions' role='note' aria-label='cautions'><b>Take care</b><ul>{lines}</ul></div>")


def plate(name: str) -> None:
    """Show a plate of figures/, with its caption as the alt text."""
    from tapkit.drawing.plates import caption, figures_folder

    path = Path(figures_folder()) / f"{name}.png"
    if not path.is_file():
        raise ValueError(f"there is no plate {name!r} in figures/; 'tapkit figures' makes them")
    text = caption(name)
    display(Image(data=path.read_bytes(), width=900, alt=text))
    show_html(f"<p>{escape(text)}</p>")


def picture_tag(png: bytes, alt: str) -> str:
    """An <img> element that carries its picture with it."""
    return f"<img alt='{escape(alt)}' src='data:image/png;base64,{base64.b64encode(png).decode()}'>"
