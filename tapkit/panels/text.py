"""Text from the tables, shown in a workbook: formulas, words, chamfer names, cautions, plates."""

import base64
from functools import cache
from typing import Any

from IPython.display import HTML, display
from markupsafe import Markup

from tapkit import tables
from tapkit.geometry.fluteform import lettered
from tapkit.messages import _, of_table, said
from tapkit.panels.look import DARK
from tapkit.panels.markup import BREAK, folded, joined, paragraph, points, table, tag

CSS = tag(
    "style",
    Markup(
        DARK
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
"""
    ),
)
"""Exported or printed, a workbook shows no code."""


def show_html(body: str) -> None:
    """Display HTML in tapkit's plain style."""
    display(HTML(CSS + tag("div", Markup(body), class_="tk-text")))


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
    show_html(folded(_("The formulas, for those who want them"), *map(_formula_html, names)))


def _source(words: Any) -> Markup:
    return tag("span", words, class_="tk-source")


def _formula_html(name: str) -> Markup:
    row = _row("formulas", "name", name)
    symbols = (BREAK, _source(of_table(row["symbols"]))) if row["symbols"] else ()
    source = _source(_("Source: {source}", source=row["source"]))
    printed = tag("b", of_table(row["printed"]))
    return tag("div", printed, BREAK, of_table(row["words"]), *symbols, BREAK, source, class_="tk-formula")


def glossary() -> None:
    """Show every term of the table `glossary`; each row is a heading that can be linked to by its term.

    The pictures stand below the table, each once, so that their links work wherever the workbook lies.
    """
    from tapkit.drawing.plates import plate_named

    rows = tables.rows("glossary")
    body = [_term(row) for row in rows]
    names = dict.fromkeys(row["picture"] for row in rows if row["picture"])
    pictures = joined(tag("h5", plate_named(n).title, id=f"picture-{n}") + plate_html(n) for n in names)
    head = [_("Term"), _("Meaning"), _("Words"), _("Picture"), _("Source")]
    show_html(table(None, head, body, label=_("Glossary")) + pictures)


def _term(row: dict[str, str]) -> list[Any]:
    """One row of the glossary as cells."""
    shops = (
        _("US: {words}", words=of_table(row["us"])) if row["us"] else "",
        _("British: {words}", words=of_table(row["british"])) if row["british"] else "",
        _("DIN: {words}", words=row["din"]) if row["din"] else "",
    )
    words = BREAK.join(said(one) for one in shops if one)
    anchor = row["term"].replace(" ", "-")
    term = of_table(row["term"])
    link = tag("a", _("picture"), href=f"#picture-{row['picture']}", aria_label=_("picture of {term}", term=term))
    return [
        tag("h5", term, id=anchor, data_jupyter_id=anchor),  # where JupyterLab looks for it
        of_table(row["meaning"]),
        words,
        link if row["picture"] else "",
        _source(row["source"]),
    ]


def _span(text: str) -> Any:
    """A range of a table, "2-3.5", in words."""
    low, dash, high = text.partition("-")
    return _("{low} to {high}", low=low, high=high) if dash else text


def chamfer_words() -> None:
    """Show the chamfer words: US, British, and the letters of DIN 2197, side by side."""
    named = [
        [tag("b", of_table(r["us"])), of_table(r["british"]), _span(r["threads"]), r["source"]]
        for r in tables.rows("chamfers")
    ]
    forms = [
        [
            tag("b", r["form"]),
            _span(r["threads"]),
            (r["angle_deg"] + "°") if r["angle_deg"] else _("steeper"),
            ", ".join(form.key for form in lettered(r["form"])),
            r["source"],
        ]
        for r in tables.rows("din2197")
    ]
    lengths, source = _("Length in threads"), _("Source")
    head = [_("DIN 2197 form"), lengths, _("Angle"), _("Flutes"), source]
    letters = table(None, head, forms, label=_("Forms of DIN 2197"))
    show_html(
        table(None, [_("US word"), _("British word"), lengths, source], named, label=_("Words for the chamfer"))
        + folded(_("The letters of DIN 2197"), letters)
    )


def cautions() -> None:
    """Show the cautions for hands, eyes and machines."""
    lines = points(of_table(r["text"]) for r in tables.rows("cautions"))
    look = dict(class_="tk-cautions", id="take-care", role="note", aria_label=_("Cautions"))
    show_html(tag("div", tag("b", _("Take care")), lines, **look))


OWN_WORDS = "this project's own"
"""The source of rows that are words of the course, such as its questions, and no numbers of the trade."""


def sources() -> None:
    """Show how many rows of the tables are from memory, and in which tables they stand; words of our own aside."""
    found = {name: [r for r in tables.rows(name) if r["source"] != OWN_WORDS] for name in tables.names()}
    recalled = {name: sum("[memory]" in row["source"] for row in rows) for name, rows in found.items()}
    told = _(
        "{all} rows of tables stand behind this course, and each names its source. {memory} of them are marked "
        "[memory]: they were written from memory and have not been compared with a printed source yet. Check such a "
        "number before you rely on it.",
        all=sum(map(len, found.values())),
        memory=sum(recalled.values()),
    )
    lines = [[name.replace("_", " "), n, len(found[name])] for name, n in recalled.items() if n]
    head = [_("Table"), _("Rows from memory"), _("Rows in all")]
    title = _("The tables with rows from memory")
    show_html(paragraph(told) + folded(title, table(None, head, lines, label=title)))


def plate(name: str) -> None:
    """Show a plate of figures/, with its caption under it and as its alt text."""
    show_html(plate_html(name))


def plate_html(name: str) -> str:
    """A plate of figures/ and its caption as HTML that needs nothing else."""
    from tapkit.drawing.plates import plate_named, plate_png

    text = str(plate_named(name).caption)
    try:
        return tag("figure", picture_tag(plate_png(name), text), tag("figcaption", text))
    except OSError:
        raise ValueError(f"the picture of plate {name!r} is not in figures/; 'tapkit figures' makes it") from None


def picture_tag(png: bytes, alt: str) -> str:
    """An <img> element that carries its picture with it."""
    data = base64.b64encode(png).decode()
    look = dict(width=900, style="max-width:100%;height:auto")
    return tag("img", **look, alt=alt, src=f"data:image/png;base64,{data}")
