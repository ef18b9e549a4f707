"""The set-up card panel: a planned hole, a tap and a cycle, and one page to print and have signed."""

import re
from datetime import datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import ipywidgets

from tapkit.drawing.holeplanview import draw_holeplan
from tapkit.drawing.setupcard import setup_card_page as card_page
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import _, said
from tapkit.panels import common
from tapkit.panels.cycle import LEVEL_HELP, LEVELS
from tapkit.panels.holeplanning import ask_from
from tapkit.panels.holeplanning import controls as hole_controls
from tapkit.panels.markup import bold, paragraph, points, table, tag
from tapkit.panels.panel import PanelSpec
from tapkit.panels.state import Pick, TextEntry
from tapkit.panels.tablepanel import TablePanel
from tapkit.panels.views import View, views
from tapkit.parameters import tap_from
from tapkit.planning.candidate import Job
from tapkit.planning.machine import Machine
from tapkit.planning.setup import SetUp

FOLDER = "saved-set-up-cards"
BEST = "best"


def model_from(v: SimpleNamespace) -> SetUp:
    """The set-up the controls stand for."""
    ask, _ = ask_from(v)
    job = Job(asked=ask, work=Workpiece.parse(v.work), machine=Machine.parse(v.machine), quantity=int(v.quantity))
    tap = None if v.form == BEST else tap_from({"chamfer": v.name} | vars(v), job.work)
    return SetUp.make(job, tap, v.level)


def details(model: SetUp, system: str) -> str:
    """The lines and checks of the card."""
    parts = (
        (_("Drill"), model.hole_lines()),
        (_("Tap and set"), model.tap_lines(system)),
        (_("Expect"), model.expect_lines()),
    )
    lines = [("" if i else name, x.what, x.value, x.why) for name, group in parts for i, x in enumerate(group)]
    card = table(_("The card"), ("", _("set"), _("to"), ""), lines, system=system)
    return card + bold(_("Check before you run")) + points(model.checks(system), system)


def controls() -> tuple[Any, ...]:
    """The controls of the hole plan, then tap, speed, quantity and part."""
    hole = tuple(c for c in hole_controls() if c.key != "chamfer")
    return (
        *hole,
        common.form_pick(BEST, (_("the model's choice"), BEST), label=_("Tap")),
        common.chamfer_pick("name"),
        Pick(key="level", label=_("Speed for"), options=LEVELS, start="learner", help=LEVEL_HELP),
        common.quantity_pick(1),
        TextEntry(key="part", label=_("Part"), hint=_("name of the part")),
    )


def spec() -> PanelSpec:
    """The set-up card panel as data."""
    return PanelSpec(
        title=_("The set-up card"),
        controls=controls(),
        main=("thread", "work", "full", "thickness", "machine"),
        model_from=model_from,
        set_up=lambda model, v: model.judged.operation,
        **views(View(draw_holeplan, (0.08, 0, 0.84, 1), lambda model: (model.plan,))),
        describe=lambda model, system: _("Take a {tap}. {plan}", tap=model.judged.name, plan=model.plan.in_words()),
        cautions=lambda model: model.cautions(),
        size=(760, 460),
    )


class CardPanel(TablePanel):
    """The panel with a button that saves the card as a page to print."""

    def save(self, folder: str | Path = FOLDER) -> Path:
        """Write the card beside the workbook. ValueError without a set-up, OSError where the folder is closed."""
        self._latest.do()
        if self.model is None or self.problem:
            raise ValueError(_("there is no card to save until the set-up is possible"))
        place = Path(folder)
        place.mkdir(parents=True, exist_ok=True)
        words = re.sub(r"[^A-Za-z0-9]+", "-", f"{self.model.job.thread.designation} {self.values.part}").strip("-")
        path = place / f"set-up-card-{words}-{datetime.now():%Y%m%d-%H%M%S}.html"
        path.write_text(card_page(self.model, system=self.system, part=self.values.part), encoding="utf-8")
        return path

    def _switches(self) -> ipywidgets.Widget:
        row = super()._switches()
        words = dict(description=said(_("Save the card")), tooltip=said(_("Write a page to print, A4 or Letter")))
        button = ipywidgets.Button(**words)
        self._saved = ipywidgets.HTML()
        button.on_click(lambda _button: self._save_and_tell())
        row.children = (*row.children, button, self._saved)
        return row

    def _tell(self) -> None:
        super()._tell()
        if self.problem is None and "<a" not in self._saved.value:
            self._saved.value = ""  # why it was not saved is past

    def _save_and_tell(self) -> None:
        try:
            path = self.save()
        except (ValueError, OSError) as error:
            told = said(_("Not saved: {why}", why=said(error, self.system)))
            self._saved.value = paragraph(told)
            return
        link = tag("a", path.as_posix(), href=path.as_posix(), target="_blank")
        self._saved.value = tag("p", _("Saved; open it and print:"), " ", link)


def setup_card(**start: Any) -> CardPanel:
    """A set-up card, live; `start` sets controls by key, such as `thread="M6x1", machine="hand"`."""
    return CardPanel(spec(), details, **start)
