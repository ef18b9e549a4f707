"""HTML of the panels: every text in it is said in the reader's language and escaped, as in whole pages.

What is markup already (`markupsafe.Markup`, as all of these give) goes in as it is.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from markupsafe import Markup, escape

from tapkit.messages import said


def tag(name: str, *inside: Any, system: str = "metric", **attributes: Any) -> Markup:
    """An element; `class_` is its class, an attribute of "" or None is left out.

    >>> print(tag("p", "a < b", tag("b", 5), class_="told", title=""))
    <p class="told">a &lt; b<b>5</b></p>
    """
    given = ((key.rstrip("_").replace("_", "-"), value) for key, value in attributes.items() if value not in ("", None))
    look = "".join(f' {key}="{escape(said(value, system))}"' for key, value in given)
    end = "" if name in ("img", "br") else f"</{name}>"
    return Markup(f"<{name}{look}>{''.join(_text(thing, system) for thing in inside)}{end}")


def _text(thing: Any, system: str) -> str:
    return thing if isinstance(thing, Markup) else escape(said(thing, system))


NOT_LOADED = tag(
    "style",
    Markup(
        ".jp-OutputArea-child:not(:has(> .jp-OutputArea-output > *))"
        ":has(+ .jp-OutputArea-child [class^=tapkit-]) {display: none}"
    ),
)
"""Hides what JupyterLab writes where a widget has no kernel, above what a saved notebook keeps of it."""
BREAK = tag("br")
"""The end of a line."""


def joined(parts: Iterable[str]) -> Markup:
    """Pieces of markup, one after the other."""
    return Markup("").join(parts)


def paragraph(sentence: Any, system: str = "metric", look: str = "") -> Markup:
    """A sentence as a paragraph."""
    return tag("p", sentence, system=system, class_=look)


def bold(sentence: Any) -> Markup:
    """A sentence that nobody should miss, as a paragraph."""
    return tag("p", tag("b", sentence))


def points(told: Iterable[Any], system: str = "metric", *, name: str = "ul", **look: Any) -> Markup:
    """Sentences as a list, "ul" or "ol"."""
    return tag(name, *(tag("li", one, system=system) for one in told), **look)


def folded(title: Any, *body: Any) -> Markup:
    """What opens on a click."""
    return tag("details", tag("summary", title), *body)


def table(
    caption: Any,
    head: Sequence[Any],
    rows: Iterable[Sequence[Any]],
    marks: Sequence[str] = (),
    system: str = "metric",
    label: Any = "",
) -> Markup:
    """A table; a cell whose text begins with "=" is a number and set to the right. `marks` are classes, "" for none, of
    the first rows; `label` names a table that has no caption."""
    top = tag("tr", *(tag("th", one, scope="col") for one in head))
    body = [
        tag("tr", *(_cell(one, system) for one in row), class_=marks[i] if i < len(marks) else "")
        for i, row in enumerate(rows)
    ]
    title = () if caption is None else (tag("caption", caption, system=system),)
    return tag("table", *title, tag("thead", top), tag("tbody", *body), aria_label=label)


def _cell(thing: Any, system: str) -> Markup:
    text = said(thing, system)
    if text.startswith("=") and not isinstance(thing, Markup):
        return tag("td", text[1:], class_="number")
    return tag("td", thing, system=system)
