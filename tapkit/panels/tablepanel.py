"""A panel with a table under its picture, and the cautions that go with everything near a machine."""

from collections.abc import Callable
from typing import Any

import ipywidgets
from markupsafe import Markup

from tapkit.drawing import style
from tapkit.messages import _
from tapkit.panels.markup import tag
from tapkit.panels.panel import Panel, PanelSpec, hide

LOOK = tag(
    "style",
    Markup(f"""
.tapkit-table {{width: 100%; font-size: 14px; line-height: 1.4; color: {style.INK}}}
.tapkit-table table {{border-collapse: collapse; margin: 4px 0 10px; table-layout: auto !important}}
@media print {{.tapkit-table details::details-content {{content-visibility: visible; block-size: auto}}}}
.tapkit-table caption {{text-align: left; font-weight: 600; padding: 4px 0 2px; white-space: nowrap}}
.tapkit-table th, .tapkit-table td {{text-align: left !important; vertical-align: top; padding: 2px 12px 2px 0;
  border-bottom: 1px solid {style.FAINT}}}
.tapkit-table td.number {{text-align: right !important; font-variant-numeric: tabular-nums; white-space: nowrap}}
.tapkit-table tr.good td:first-child {{border-left: 5px solid {style.GOOD}; padding-left: 6px}}
.tapkit-table tr.bad td:first-child {{border-left: 5px solid {style.WARN}; padding-left: 6px}}
.tapkit-table tr.perhaps td:first-child {{border-left: 5px dashed {style.FLUTES[1]}; padding-left: 6px}}
.tapkit-table .care {{color: {style.SOFT_INK}; font-size: 13px; max-width: 70em; margin: 2px 0}}
.tapkit-table .care a {{color: inherit; text-decoration: underline}}
.tapkit-table caption:empty {{display: none}}
.tapkit-table .tapkit-dense {{font-size: 13px; line-height: 1.3}}
@media (min-width: 1000px) {{.tapkit-ways td:not(:nth-child(5)) {{white-space: nowrap}}}}
.tapkit-table .tapkit-dense :is(table, p) {{margin: 0 0 4px}}
.tapkit-table .tapkit-dense summary {{cursor: pointer; font-weight: 600}}
.tapkit-table .tapkit-dense ul {{margin: 2px 0; padding-left: 1.4em}}
@media (max-width: 900px) {{.tapkit-table :is(th, td:not(.number)) {{padding-right: 6px}}
.tapkit-table caption {{white-space: normal}} .tapkit-table {{overflow-x: auto}}}}
"""),
)


class TablePanel(Panel):
    """A panel whose `table(model, system) → HTML` stands under the picture, live and in the still."""

    def __init__(self, spec: PanelSpec, table: Callable[[Any, str], str], **start: Any) -> None:
        self._make = table
        self.table = ipywidgets.HTML(layout=ipywidgets.Layout(width="100%")).add_class("tapkit-under")
        super().__init__(spec, **start)

    def _still_parts(self, picture: Markup, caption: Markup) -> tuple[Markup, ...]:
        return picture, caption, Markup(self.table.value)

    def _tell(self) -> None:
        hide(self.table, bool(self.problem))
        if self.model is not None:
            made = Markup(self._make(self.model, self.system))
            self.table.value = LOOK + tag("div", made, care(), class_="tapkit-table")
        super()._tell()

    def _lay_out(self) -> ipywidgets.Widget:
        panel = super()._lay_out()
        panel.children = (*panel.children, self.table)
        return panel


def care() -> str:
    """Where the cautions stand: once in a workbook, shown by `panels.cautions()`."""
    told = _("Before you stand at a machine, read the cautions of this workbook.")
    return tag("p", tag("a", told, href="#take-care"), class_="care")
