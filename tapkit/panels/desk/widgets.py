"""How the desk looks, and the small parts its steps are made of."""

import logging
from collections.abc import Callable, Iterable, Sequence
from typing import Any

import ipywidgets
from markupsafe import Markup, escape

from tapkit.drawing import style
from tapkit.messages import Sentence, _, said
from tapkit.panels import markup, quizlook
from tapkit.panels.desk import drop
from tapkit.panels.desk.files import DeskFiles
from tapkit.panels.markup import joined, paragraph, tag
from tapkit.panels.onscreen import cause, key_row
from tapkit.panels.panel import is_told

STYLE = f"""{quizlook.STYLE}{drop.STYLE}
.tapkit-desk {{max-width: 70em; overflow: visible}}
:is(.jp-OutputArea-output, .jp-OutputArea-child, .jp-Cell-outputArea, .jp-Cell-outputWrapper):has(.tapkit-desk)
  {{overflow: visible; min-width: 0}}
.tapkit-desk :is(.tapkit-told, .tapkit-comes, input, select, button) {{scroll-margin-top: 60px}}
.tapkit-desk .jupyter-widgets {{max-width: 100%}}
.tapkit-desk .widget-label {{width: 11em; flex: none; font-size: inherit; color: inherit; height: auto;
  white-space: normal; text-align: left}}
.tapkit-desk :is(.widget-text, .widget-dropdown, .widget-textarea) {{width: min(46em, 100%); height: auto;
  margin: 3px 0; align-items: center}}
.tapkit-desk :is(input[type=text], select, textarea) {{font-size: 15px; color: inherit; height: 2.1em;
  border: 1px solid {style.SOFT_INK}; border-radius: 3px; background-color: {style.PAPER}}}
.tapkit-desk .widget-textarea textarea {{height: 9em; font-family: inherit}}
.tapkit-desk .widget-checkbox {{width: auto; margin: 3px 0}}
.tapkit-desk .widget-checkbox .widget-label-basic {{font-size: inherit; color: inherit; gap: 6px}}
.tapkit-desk .widget-checkbox .widget-label {{display: none}}
.tapkit-desk .tapkit-steps {{display: flex; flex-wrap: wrap; gap: 4px; border-bottom: 2px solid {style.ACCENT};
  padding: 4px 0 0; margin: 0 0 10px; position: sticky; top: 0; z-index: 4; background: {style.PAPER}}}
.tapkit-desk .tapkit-steps button {{border-radius: 4px 4px 0 0; border-bottom: 0; margin: 0}}
.tapkit-desk .tapkit-steps button.tapkit-here {{background: {style.ACCENT}; color: {style.PAPER}}}
.tapkit-desk table {{border-collapse: collapse; margin: 4px 0 8px}}
.tapkit-desk :is(th, td) {{text-align: left; padding: 2px 12px 2px 0; border-bottom: 1px solid {style.FAINT};
  vertical-align: top}}
.tapkit-desk h4 {{margin: 12px 0 4px; font-size: 16px}}
.tapkit-desk .tapkit-from-paper {{align-items: stretch}}
.tapkit-desk .tapkit-from-paper > .widget-hbox {{display: flex; flex-wrap: wrap; align-items: center; gap: 0 12px;
  justify-content: flex-start}}
.tapkit-desk .tapkit-from-paper > .widget-hbox > .widget-text {{flex: 0 1 34em; width: 34em}}
.tapkit-desk .tapkit-from-paper > .widget-hbox > .widget-html {{flex: 1 1 12em; width: auto; margin: 0}}
.tapkit-desk .tapkit-from-paper .widget-label {{width: 17em}}
.tapkit-desk .tapkit-note {{border-left: 4px solid {style.WARN}; padding-left: 10px}}
.tapkit-desk .tapkit-scroll {{overflow-x: auto; max-height: 24em; overflow-y: auto}}
.tapkit-files {{display: flex; flex-wrap: wrap; gap: 8px; padding: 4px 0}}
.tapkit-pick details {{border-bottom: 1px solid {style.FAINT}; padding: 4px 0}}
.tapkit-pick summary {{cursor: pointer; font-weight: 600; padding: 4px 0}}
.tapkit-pick .tapkit-cards {{display: grid; grid-template-columns: repeat(auto-fill, minmax(190px, 1fr)); gap: 10px;
  padding: 8px 0}}
.tapkit-pick label {{display: grid; grid-template-columns: auto 1fr; gap: 2px 8px; border: 1px solid {style.FAINT};
  border-radius: 4px; padding: 8px; cursor: pointer; align-content: start}}
.tapkit-pick label:has(input:checked) {{outline: 2px solid {style.ACCENT}}}
.tapkit-pick label img {{grid-column: 1 / -1; grid-row: 1; height: 96px; width: 100%; object-fit: contain; margin: 0}}
.tapkit-pick label input {{grid-column: 1; margin: 3px 0 0}}
.tapkit-pick label span {{grid-column: 2; color: {style.SOFT_INK}; font-size: 13px}}
"""


class Told:
    """A place for one sentence: what was done, or why not."""

    def __init__(self) -> None:
        self.widget = ipywidgets.HTML().add_class("tapkit-told")

    def say(self, *sentences: Any) -> None:
        self.widget.value = "".join(paragraph(one) for one in sentences if one)

    def warn(self, *sentences: Any) -> None:
        """Say these as something to see to."""
        self.widget.value = "".join(paragraph(one, look="tapkit-note") for one in sentences if one)

    def trouble(self, error: Exception) -> None:
        """Say why something was not done."""
        self.warn(error_words(error))

    def tried(self, action: Callable[[], Any], *, slow: bool = False) -> Callable[[], Any]:
        """The action, with its errors said here; of a `slow` one that it is being done, until something is said."""

        def guarded(*_more: Any) -> Any:
            try:
                if slow:
                    self.say(_("One moment: this is being done."))
                return action()
            except Exception as error:
                if not isinstance(error, OSError) and not is_told(error):
                    logging.getLogger("tapkit").exception("the desk")
                return self.trouble(error)

        return guarded


class DeskStep:
    """A step of the desk. Its `parts` are made once; `told` says what was done, or why not, `files` are its buttons for
    files; `refresh` brings it up to date."""

    title: Sentence

    def __init__(self, desk: Any) -> None:
        self.desk, self.told = desk, Told()
        self.files = DeskFiles(self.told.trouble)
        self.widget = ipywidgets.VBox(self.parts())

    def parts(self) -> list[Any]:
        raise NotImplementedError

    def key(self, text: Any, action: Callable[[], Any], *, slow: bool = False, first: bool = False) -> ipywidgets.Box:
        """A button alone in its row; errors of its action are said here."""
        return key_row(key(text, self.told.tried(action, slow=slow), first=first))


def error_words(error: Exception) -> Any:
    """An error as a sentence for the instructor."""
    if isinstance(error, OSError):
        return _("Not done: {why}. Nothing was changed; mend it and press again.", why=cause(error))
    return said(error) if isinstance(error, ValueError) else _("Not done, by a fault of tapkit: {why}", why=str(error))


def key(text: Any, action: Callable[[], Any], *, first: bool = False) -> ipywidgets.Button:
    """A button."""
    made = ipywidgets.Button(description=said(text), tooltip=said(text))
    made.on_click(lambda _button: action())
    if first:
        made.add_class("tapkit-first")
    return made


def entry(text: Any, hint: Any = "", value: str = "") -> ipywidgets.Text:
    """A line to write in."""
    return ipywidgets.Text(value=value, description=said(text), placeholder=said(hint), continuous_update=False)


def dropdown(text: Any, options: Sequence[tuple[Any, Any]] = ()) -> ipywidgets.Dropdown:
    """A list to choose one of."""
    return ipywidgets.Dropdown(options=[(said(a), b) for a, b in options], description=said(text))


def offer(box: ipywidgets.Dropdown, options: Sequence[tuple[str, Any]], *, last: bool = False) -> None:
    """Give a list new options; what was chosen stays chosen, else the first is. With `last` a new one is chosen, and
    else the last."""
    chosen, before, values = box.value, [value for _words, value in box.options], [value for _words, value in options]
    box.options = options
    new = [value for value in values if value not in before] if last else []
    box.value = (new or [chosen if chosen in values else values[-1 if last else 0]])[-1] if values else None


def tick(text: Any, value: bool = False) -> ipywidgets.Checkbox:
    """A box to tick."""
    return ipywidgets.Checkbox(value=value, description=said(text), indent=False)


def paragraphs(*sentences: Any) -> ipywidgets.HTML:
    """Sentences, each a paragraph."""
    return ipywidgets.HTML(joined(paragraph(one) for one in sentences))


def heading(text: Any) -> ipywidgets.HTML:
    """A small heading."""
    return ipywidgets.HTML(tag("h4", text))


def sliding_table(heads: Sequence[Any], rows: Iterable[Sequence[Any]]) -> Markup:
    """A table that slides where it is too wide."""
    return tag(
        "div", markup.table(None, heads, ([escape(said(one)) for one in row] for row in rows)), class_="tapkit-scroll"
    )
