"""HTML pages from the templates in `tapkit/templates`: everything is escaped, sentences say themselves.

A page carries no script and asks nothing from elsewhere; its security policy says so to the browser.
"""

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from markupsafe import Markup

from tapkit import messages


def page(template: str, *, system: str = "metric", **values: Any) -> str:
    """The HTML of a template; sentences and quantities in it are said in the units of `system`."""
    return _environment().get_template(template).render(values, system=system)


@cache
def _environment() -> Environment:
    made = Environment(
        loader=PackageLoader("tapkit", "templates"),
        autoescape=True,
        auto_reload=False,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=_said,
    )
    made.globals |= {"_": messages._, "ngettext": messages.ngettext, "of_table": messages.of_table}
    made.globals |= {"listed": messages.listed, "language": messages.language_in_use}
    made.filters |= {"in_css": in_css, "paragraphs": _paragraphs, "upper_first": _upper_first}
    return made


@pass_context
def _said(context: Context, thing: Any) -> Any:
    """What stands in double braces: a text as it is, anything else said in the page's units."""
    return thing if isinstance(thing, str) else messages.said(thing, context["system"])


@pass_context
def _paragraphs(context: Context, thing: Any) -> list[str]:
    return [line for line in messages.said(thing, context["system"]).splitlines() if line.strip()]


@pass_context
def _upper_first(context: Context, thing: Any) -> str:
    text = messages.said(thing, context["system"])
    return text[:1].upper() + text[1:]


PAGE, PAGES = "\x01", "\x02"
"""Stand in a text for the number of the page and of all pages; see `in_css`."""


def in_css(text: Any) -> Markup:
    """A text as the value of CSS `content`, safe inside a style element.

    >>> print(in_css("a</b>, page " + PAGE))
    "a\\3c \\2f b\\3e , page " counter(page) ""
    """
    safe = "".join(c if c.isalnum() or c in " ·.,-" else f"\\{ord(c):x} " for c in messages.said(text))
    return Markup('"' + safe.replace("\\1 ", '" counter(page) "').replace("\\2 ", '" counter(pages) "') + '"')
