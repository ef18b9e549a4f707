"""The drawer panel: one's own taps or the shop's, rows that cannot be read, and a tap to put in or take out."""

import datetime
from functools import partial
from typing import Any

import ipywidgets
from markupsafe import Markup

from tapkit import drawer, setupline
from tapkit.exercises import ownfile
from tapkit.geometry.tapname import in_words
from tapkit.messages import Sentence, _, angle, length, listed, said, threads_of
from tapkit.operation import Operation
from tapkit.panels.inpage import InPage
from tapkit.panels.look import STYLE
from tapkit.panels.markup import bold, paragraph, points, table, tag
from tapkit.panels.onscreen import OnScreen
from tapkit.panels.panel import button, hidden_style, inch_switch, switch_row
from tapkit.panels.setupbox import SetUpBox, class_drawer, drawer_file, look_everywhere, use_drawer, with_own_tap
from tapkit.panels.tablepanel import LOOK

LENGTHS = {"core": length(4.6, digits=4), "land": length(2.5, digits=4)}
"""Headings of lengths, and an example of each."""
FIELDS = (
    ("name", _("Name"), "A7", "A7"),
    ("thread", _("Thread"), "M10x1.5", "M10x1.5"),
    ("form", _("Flute form"), "", "spiral-point"),
    ("flutes", _("Flutes"), "3", "3"),
    ("chamfer", _("Chamfer, threads"), "4", "4"),
    ("radial rake", _("Radial rake"), "10°", "12°"),
    ("axial rake", _("Axial rake"), "-12°", ""),
    ("core", _("Core"), str(LENGTHS["core"]), str(LENGTHS["core"])),
    ("land", _("Land"), str(LENGTHS["land"]), ""),
    ("class", _("Class"), "2", "2"),
    ("coating", _("Coating"), "", "TiN"),
    ("condition", _("Condition"), "", "sharp"),
    ("regrinds", _("Regrinds"), "2026-03-02 0.5", "2026-03-02 0.5"),
)
"""Columns that have a box, their label, an example, and what stands there at first: a tap invented for this panel."""
MEASURES = (
    ("radial rake", "radial_rake", partial(angle, digits=4)),
    ("axial rake", "axial_rake", partial(angle, digits=4)),
    ("core", "core", partial(length, digits=5)),
    ("land", "land", partial(length, digits=5)),
)
"""Heading, key among the parameters, and what makes a text of the value."""


class DrawerPanel(OnScreen):
    """The drawer on the screen; `file` is where it lies."""

    name = "Panel: my drawer"

    def __init__(self) -> None:
        self.file, self.system, self._job = drawer_file(), ownfile.units(), None
        look = dict(layout={"width": "20em"}, style={"description_width": "9.5em"})
        self.boxes = {
            head: ipywidgets.Text(value=value, description=said(label), placeholder=hint, **look)
            for head, label, hint, value in FIELDS
        }
        self.place = ipywidgets.Text(value=str(self.file), description=said(_("File")), continuous_update=False, **look)
        self.place.observe(lambda change: self.use(change["new"]), "value")
        self.set_up = SetUpBox(self._take)
        for box in self.boxes.values():
            box.observe(lambda change: self._show_line(), "value")
        self.told, self.table = ipywidgets.HTML(), ipywidgets.HTML(layout={"width": "100%"})
        self.told.add_class("tapkit-told")
        self.widget = self._lay_out()
        self._show_examples()
        self._show_line()
        self.look()

    def use(self, text: str) -> None:
        """Take another file as the drawer, such as one the shop shares."""
        try:
            self.file = use_drawer(text)
            self._tell(_("The drawer is {file}.", file=str(self.file)))
        except (ValueError, OSError) as error:
            self._tell(_("Not taken: {why}.", why=error.args[0] if isinstance(error, ValueError) else str(error)))

    def put(self) -> None:
        """Put the tap in the boxes into the drawer, in place of one of that name."""
        try:
            one = drawer.put(self.file, self.cells())
            self._tell(_("{name} is in the drawer.", name=one.name))
        except ValueError as error:
            self._tell(_("Not put in: {why}.", why=error.args[0]))

    def cells(self) -> dict[str, str]:
        """What stands in the boxes by heading; a bare length in the unit shown, as the file is read anywhere."""
        found = {head: box.value.strip() for head, box in self.boxes.items() if box.value.strip()}
        for head in LENGTHS:
            if head in found and found[head][-1].isdigit():
                found[head] += " in" if self.system == "inch" else " mm"
        return found

    def take_out(self) -> None:
        """Take the tap named in the first box out of the drawer."""
        name = self.boxes["name"].value.strip()
        try:
            drawer.take_out(self.file, name)
            self._tell(_("{name} is out of the drawer.", name=name))
        except ValueError as error:
            self._tell(_("Not taken out: {why}.", why=error.args[0]))

    def look(self) -> None:
        """Read the file anew."""
        try:
            found, of_class = drawer.contents(self.file), class_drawer()
            theirs = drawer.contents(of_class) if of_class else None
        except ValueError as error:
            self.table.value = paragraph(_("{why}.", why=error.args[0]), self.system)
            return
        heads = (_("Name"), _("tap"), _("flutes"), _("hook"), _("core"), _("now"), _("coating, condition"))
        rows = [_row(one) for one in found.taps.values()]
        shown = table(_("My drawer: {file}", file=str(self.file)), heads, rows, system=self.system)
        if theirs:
            given = dict(file=str(of_class), names=listed(theirs.taps) if theirs.taps else "–")
            shown += paragraph(_("The class's drawer, {file}, offers besides: {names}.", **given), self.system)
        problems = [*found.problems, *(theirs.problems if theirs else ())]
        if problems:
            shown += bold(_("Rows that cannot be read; the others count all the same")) + points(problems, self.system)
        self.table.value = Markup(LOOK) + tag("div", shown, class_="tapkit-table")

    def set_system(self, system: str) -> None:
        """Show "metric" or "inch" units; a bare length that was typed before keeps the unit it was typed in."""
        for head, cell in self.cells().items():
            self.boxes[head].value = cell
        self.system = system
        self._show_examples()
        self._show_line()
        self.look()

    def _show_examples(self) -> None:
        """Examples of lengths in the system shown, also one that still stands in its box; what was typed stays."""
        for head, example in LENGTHS.items():
            box, shown = self.boxes[head], str(said(example, self.system))
            box.value, box.placeholder = shown if box.value == box.placeholder else box.value, shown

    def _show_line(self) -> None:
        """The tap in the boxes as a set-up line, in the hole and metal it was taken up with, or usual ones."""
        try:
            own = drawer.own_tap({"name": "-"} | self.cells())
            self._job = with_own_tap(self._job, own)
        except ValueError:
            return  # half typed; "Put in" says what is wrong
        self.set_up.show(self._job, self.system)

    def _take(self, job: Operation, keys: frozenset[str]) -> None:
        """Put the tap of a set-up line into the boxes; what the line does not say of it is usual."""
        values = setupline.values_of(job)
        texts = {"thread": values["thread"], "form": values["form"], "class": values.get("tap_class", "")}
        texts |= {
            "flutes": f"{values['flutes']}",
            "chamfer": f"{values['chamfer']:.4g}",
            "regrinds": self._reground(values),
        }
        for head, key, make in MEASURES:
            texts[head] = said(make(values[key]), self.system) if key in keys else ""
        self._job = job
        for head, text in texts.items():
            self.boxes[head].value = str(text)

    def _reground(self, values: dict[str, Any]) -> str:
        """The regrinds in their box, or one of today where a line says another sum."""
        shorter, box = values.get("regrind") or 0.0, self.boxes["regrinds"].value
        try:
            before = drawer.own_tap({"name": "-", "thread": "M10", "regrinds": box}).values.get("regrind", 0.0)
        except ValueError:
            before = 0.0
        if abs(before - shorter) < 1e-9:
            return box
        return f"{datetime.date.today()} {shorter:g}" if shorter else ""

    def _tell(self, sentence: Sentence) -> None:
        self.told.value = paragraph(sentence, self.system)
        self.look()
        look_everywhere()

    def _lay_out(self) -> ipywidgets.Widget:
        style = hidden_style(STYLE, "tapkit-drawer-still")
        left = ipywidgets.VBox([self.place, *self.boxes.values(), self._keys(), self.told]).add_class("tapkit-controls")
        right = ipywidgets.VBox([self.table, self.set_up]).add_class("tapkit-view")
        return ipywidgets.Box([style, left, right, InPage()]).add_class("tapkit-panel")

    def _keys(self) -> ipywidgets.Widget:
        made = [
            (_("Put in"), _("Into the drawer, in place of a tap of that name"), self.put),
            (_("Take out"), _("The tap of that name leaves the drawer"), self.take_out),
            (_("Look again"), _("Read the file anew, as others may have written"), self.look),
        ]
        return switch_row([*(button(*one) for one in made), inch_switch(self.set_system)])

    def still(self) -> str:
        return tag("div", Markup(self.table.value), class_="tapkit-drawer-still")


def _row(own: drawer.OwnTap) -> tuple[Any, ...]:
    tap = own.tap
    now = threads_of(own.now.chamfer_threads, decimals=2)
    if own.regrinds:
        now = _("{now}, reground {dates}", now=now, dates=listed([str(one.date) for one in own.regrinds], "and"))
    state = ", ".join(filter(None, (own.coating, own.condition)))
    name = _("{thread} {tap}", thread=tap.thread.designation, tap=in_words(tap))
    core = length(tap.core_diameter, decimals=2, inch_decimals=3)
    return own.name, name, str(tap.flutes), angle(tap.radial_rake, decimals=1), core, now, state


def own_drawer() -> DrawerPanel:
    """My drawer of taps, live."""
    return DrawerPanel()
