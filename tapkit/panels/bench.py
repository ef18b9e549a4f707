"""The bench: two complete set-ups, A and B, side by side; their results in one table; any sweep; export."""

import contextlib
from functools import partial
from types import SimpleNamespace
from typing import Any

import ipywidgets
from markupsafe import Markup

from tapkit import compare, parameters, whatif
from tapkit.drawing.pair import NAMES, SIZE, describe_pair, draw_pair, update_pair
from tapkit.drawing.style import SCALES
from tapkit.drawing.sweepchart import SweepPicture, describe_sweepchart, draw_sweepchart
from tapkit.exercises import ownfile
from tapkit.messages import _, of_table, said
from tapkit.operation import Operation
from tapkit.panels import common, export
from tapkit.panels.benchsweep import draw_chart, sweep_picture
from tapkit.panels.controls import Controls
from tapkit.panels.inpage import InPage
from tapkit.panels.look import STYLE
from tapkit.panels.markup import joined, tag
from tapkit.panels.onscreen import OnScreen, put_class
from tapkit.panels.panel import (
    button,
    hidden_style,
    hide,
    in_units,
    inch_switch,
    is_told,
    not_possible,
    paragraph,
    size_switch,
    switch,
    switch_row,
    why_not,
)
from tapkit.panels.pointing import Pointing
from tapkit.panels.questionmaker import make_button, put_form
from tapkit.panels.setupbox import SetUpBox, control_values, describe_left_out
from tapkit.panels.stage import Latest, Stage
from tapkit.panels.state import Control, Pick, State
from tapkit.panels.text import picture_tag

LOOK = """
.tapkit-panel.tapkit-bench {flex-flow: column nowrap; align-items: stretch}
.tapkit-bench > .tapkit-view {position: static}
.tapkit-bench .tapkit-sentence .tapkit-problem {position: static}
.tapkit-bench .tapkit-sentence:has(.tapkit-problem) {position: sticky; top: 0; z-index: 4; background: #fff}
.tapkit-bench .tapkit-columns {display: flex; flex-flow: row wrap; gap: 8px 28px; align-items: flex-start;
  overflow: visible}
.tapkit-bench .tapkit-middle {flex: 2 1 430px; overflow: visible; min-width: 320px}
.tapkit-bench .tapkit-group-title {font-weight: 600; border-bottom: 1px solid #4d5865; margin-top: 6px}
.tapkit-bench table {border-collapse: collapse; width: 100%; font-size: 14px; line-height: 1.35}
.tapkit-bench th, .tapkit-bench td {text-align: left; padding: 2px 8px; border-bottom: 1px solid #c9d0d8}
.tapkit-bench td.number, .tapkit-bench th.number {text-align: right; font-variant-numeric: tabular-nums}
.tapkit-bench th.number {white-space: nowrap}
.tapkit-bench tr.differs td {font-weight: 600; background: #fdf3dd}
.tapkit-bench caption {text-align: left; font-weight: 600; padding: 6px 0 2px}
:is(.jp-OutputArea-output, .jp-OutputArea-child, .jp-Cell-outputArea):has(.tapkit-held) {overflow: visible}
.tapkit-held > .tapkit-view {display: contents}
.tapkit-held :is(.tapkit-row, .tapkit-setup :is(input, select, button)) {scroll-margin-top: calc(44vh + 20px)}
.tapkit-held > .tapkit-view > .tapkit-picture {position: sticky; top: 0; z-index: 3; background: #fff; width: 100%;
  max-height: 44vh; object-fit: contain; box-shadow: 0 6px 6px -6px #4d5865}
"""


class Bench(OnScreen):
    """The bench on the screen; `jobs` are what it shows, `problem` the sentence where something cannot be."""

    name = "Panel: the bench"

    def __init__(self, a: dict[str, Any] | None = None, b: dict[str, Any] | None = None) -> None:
        self.system, self.size, self.problem = ownfile.units(), "laptop", None
        self.jobs: tuple[Operation, Operation] | None = None
        self._drawn_as = ("", "")
        self._ahead: tuple[Any, tuple[Operation, Operation], SweepPicture] | None = None
        self.stage = Stage(draw_pair, update_pair, size=SIZE)
        self.chart = Stage(draw_chart, draw_sweepchart.update, size=(560, 320))
        start = {"A": a or {}, "B": OTHER if b is None else b}
        self.sides = {n: self._begun(start[n]) for n in NAMES}
        self.sweep = Controls(State.begin(sweep_controls()))
        self.set_ups = {n: SetUpBox(partial(self._take, n)) for n in NAMES}
        self.words, self.table, self._files = (ipywidgets.HTML() for _i in range(3))
        self.words.add_class("tapkit-sentence")
        self._sweep_words = ipywidgets.HTML().add_class("tapkit-sentence")
        self._latest = Latest(self._show, self._sharpen, self._rest, self.look_ahead)
        self.widget = self._lay_out()
        self._held.value = True
        self._show()
        for controls in self._controls:
            controls.on_change = partial(self._moved, controls)

    def _begun(self, start: dict[str, Any]) -> Controls:
        groups = [(of_table(title), keys, i < 2) for i, (title, keys) in enumerate(parameters.groups())]
        return Controls(State.begin(set_up_controls(), **start).in_system(self.system), groups)

    def _moved(self, moved: Controls) -> None:
        for other in self._controls:
            if other is not moved:
                other.next = None
        self._latest.ask()

    # --- what the buttons do ------------------------------------------------------------------------

    def copy(self, source: str, target: str) -> "Bench":
        """Give the target the set-up of the source."""
        return self.put(**{target: self.sides[target].state.like(self.sides[source].state)})

    def _take(self, name: str, job: Operation, keys: frozenset[str]) -> Any:
        """Show a job as one of the set-ups; ValueError where it cannot be, and nothing is changed."""
        before = self.sides[name].state
        self.put(**{name: before.whole(control_values(job), common.more_controls(keys, before))})
        if self.problem is not None:
            problem = self.problem
            self.put(**{name: before})
            raise ValueError(_("{problem}; it stays as it was", problem=problem))
        return describe_left_out(job, self.jobs[NAMES.index(name)], self.system)

    def swap(self) -> "Bench":
        a, b = (self.sides[n].state for n in NAMES)
        return self.put(A=a.like(b), B=b.like(a))

    def reset(self) -> "Bench":
        return self.put(**{name: side.state.reset() for name, side in self.sides.items()})

    def put(self, **states: State) -> "Bench":
        """Show other states of set-ups, and draw at once."""
        for name, state in states.items():
            self.sides[name].replace(state)
        self._latest.do()
        return self

    def set_system(self, system: str) -> None:
        """Show "metric" or "inch" units."""
        self.system = system
        self.put(**{name: side.state.in_system(system) for name, side in self.sides.items()})

    def set_size(self, size: str) -> None:
        """Size for a "laptop" or a "projector"."""
        self.size = size
        put_class(self.widget, "tapkit-projector", size == "projector")
        self._latest.ask()
        self._latest.do()

    def look_ahead(self) -> None:
        """After a step of a slider of a set-up: have the pictures of one step more ready."""
        following = {n: side.next.values for n, side in self.sides.items() if side.next}
        if not following or self.problem is not None:
            return
        with contextlib.suppress(Exception):
            values = [following.get(n, side.values) for n, side in self.sides.items()]
            jobs = tuple(self._job(*pair) for pair in zip(NAMES, values))
            picture = self._sweep_of(jobs)
            self.stage.prepare(jobs, self.system)
            self.chart.prepare(picture, self.system)
            self._ahead = (values, self.sweep.values, self.system), jobs, picture

    def hold(self, held: bool) -> None:
        """Keep the pictures at the top of the window while the rest scrolls, or not."""
        put_class(self.widget, "tapkit-held", held)

    def save(self) -> list[str]:
        """Write table and pictures with their inputs beside the workbook; names of the files. ValueError, and nothing
        written, where what the controls show is not possible."""
        self._latest.do()
        if self.problem is not None or self.jobs is None:
            raise ValueError(_("{problem}; nothing was written", problem=self.problem))
        return export.save_bench(self.jobs, self._sweep_of(self.jobs), self.system)

    # --- what is shown ------------------------------------------------------------------------------

    @property
    def _controls(self) -> tuple[Controls, ...]:
        return (*self.sides.values(), self.sweep)

    def _show(self) -> None:
        values = [side.values for side in self.sides.values()]
        if self._ahead and self._ahead[0] != (values, self.sweep.values, self.system):
            self._ahead = None
        try:
            self._show_jobs(self._ahead[1] if self._ahead else tuple(self._job(*pair) for pair in zip(NAMES, values)))
        except Exception as error:
            self.problem = why_not(error, self.system)
            if self.jobs and is_told(error) and self._drawn_as != (self.system, self.size):
                self._show_jobs(self.jobs)
            else:
                self._show_sweep()
            self.words.value = not_possible(self.problem)
        else:
            self.problem = None
            if "tapkit-problem" in self._files.value:
                self._files.value = ""
        self._ahead = None
        is_past = self.problem is not None
        for picture in (self.stage.widget, self.chart.widget):
            put_class(picture, "tapkit-old", is_past)
        for numbers in (self.table, self._sweep_words):
            hide(numbers, is_past)
        for controls in self._controls:
            controls.tell()

    def _show_jobs(self, jobs: tuple[Operation, Operation]) -> None:
        """Both pictures, and then what takes the page longer to lay out."""
        sentence = describe_pair(jobs, self.system)
        self.stage.show(jobs, system=self.system, scale=SCALES[self.size], alt=sentence)
        self.jobs, self._drawn_as = jobs, (self.system, self.size)
        self._show_sweep()
        self.words.value = paragraph(sentence)
        self.table.value = table_html(jobs, self.system)
        for name, job in zip(NAMES, jobs):
            self.set_ups[name].show(job, self.system)

    def _job(self, name: str, values: SimpleNamespace) -> Operation:
        try:
            return parameters.job_from(vars(values))
        except ValueError as error:
            why = error.args[0] if len(error.args) == 1 else str(error)
            raise ValueError(_("{name}: {why}", name=name, why=why)) from None

    def _show_sweep(self) -> None:
        if self.jobs is None:
            return
        picture = self._ahead[2] if self._ahead else self._sweep_of(self.jobs)
        words = describe_sweepchart(picture, self.system)
        self.chart.show(picture, system=self.system, scale=SCALES[self.size], alt=words)
        self._sweep_words.value = paragraph(words)

    def _sweep_of(self, jobs: tuple[Operation, Operation]) -> SweepPicture:
        values = self.sweep.values
        return sweep_picture(jobs, values.change, values.read, self.system)

    def _rest(self) -> float:
        return max(self.stage.rest(), self.chart.rest())

    def _sharpen(self) -> None:
        self.stage.sharpen()
        self.chart.sharpen()

    def _save(self) -> None:
        try:
            self._files.value = export.links(self.save())
        except (ValueError, OSError) as error:
            self._files.value = paragraph(_("Not saved: {why}.", why=said(error, self.system)), look="tapkit-problem")

    def still(self) -> str:
        """Pictures, sentences and table as HTML that needs nothing else."""
        parts = [
            picture_tag(self.stage.still(), describe_pair(self.jobs, self.system)),
            self.words.value,
            self.table.value,
            picture_tag(self.chart.still(), Markup(self._sweep_words.value).striptags()),
            self._sweep_words.value,
        ]
        return tag("figure", *map(Markup, parts), class_="tapkit-bench-still", style="margin:0")

    def _ipython_display_(self) -> None:
        super()._ipython_display_()
        self.stage.tidy_soon()

    # --- laying out ---------------------------------------------------------------------------------

    def _lay_out(self) -> ipywidgets.Widget:
        style = hidden_style(STYLE + LOOK, "tapkit-bench-still")
        columns = ipywidgets.Box([self._side("A"), self._middle(), self._side("B")]).add_class("tapkit-columns")
        view = ipywidgets.VBox([self.stage.widget, self.words, Pointing(self.stage.widget)]).add_class("tapkit-view")
        whole = ipywidgets.Box([style, self._buttons(), view, columns, InPage()])
        return whole.add_class("tapkit-panel").add_class("tapkit-bench")

    def _side(self, name: str) -> ipywidgets.Widget:
        title = ipywidgets.HTML(tag("h3", _("Set-up {name}", name=name), style="margin:0"))
        return ipywidgets.VBox([title, self.set_ups[name], self.sides[name]]).add_class("tapkit-controls")

    def _middle(self) -> ipywidgets.Widget:
        title = ipywidgets.HTML(tag("div", _("What if"))).add_class("tapkit-group-title")
        parts = [self.table, title, self.sweep, self.chart.widget, self._sweep_words]
        return ipywidgets.VBox(parts).add_class("tapkit-middle")

    def _buttons(self) -> ipywidgets.Widget:
        made = [
            (_("A → B"), _("Give B the set-up of A"), lambda: self.copy("A", "B")),
            (_("B → A"), _("Give A the set-up of B"), lambda: self.copy("B", "A")),
            (_("Swap A and B"), _("A becomes B and B becomes A"), self.swap),
            (_("Reset"), _("Both set-ups back to where they began"), self.reset),
            (_("Save table and pictures"), _("CSV, JSON, SVG and PNG, with the inputs written in"), self._save),
        ]
        self._held = switch(
            _("Keep pictures in sight"),
            _("The pictures stay at the top, smaller, while the sliders scroll"),
            self.hold,
        )
        row = [button(*one) for one in made]
        more = make_button(
            lambda: (self.jobs[0] if self.jobs else None, self.system),
            lambda form: put_form(self.widget, form, 2),
            "load",
        )
        switches = [inch_switch(self.set_system, self.system), size_switch(self.set_size), self._held]
        return switch_row([*row, *switches, *more, self._files])


OTHER = {"form": "spiral-flute", "chamfer": 1.5}
"""What set-up B begins with, unlike A."""


def set_up_controls() -> tuple[Control, ...]:
    """The controls of one set-up: every parameter that has a group."""
    own = (common.thread_pick(), common.form_pick(), common.kind_pick(), common.work_pick())
    picks = {c.key: c for c in (*own, *map(common.choice_pick, parameters.CHOICES))}
    return tuple(picks.get(p.key, p) for p in parameters.parameters() if p.group)


def sweep_controls() -> tuple[Control, ...]:
    """What to change, and what to read."""
    change, read = ([(of_table(q.label), q.name) for q in whatif.quantities(kind)] for kind in ("parameter", "result"))
    return (
        Pick(
            key="change",
            label=_("Change"),
            options=change,
            start="chamfer_threads",
            help=_("what changes along the chart; all else of both set-ups stays"),
        ),
        Pick(
            key="read",
            label=_("and read"),
            options=read,
            start="expected_high",
            help=_("what comes out, from the foot of the chart to its top"),
        ),
    )


def table_html(jobs: tuple[Operation, Operation], system: str) -> str:
    """Both jobs in one table: the inputs that differ, then all results; differences are marked in words and weight."""
    parts = []
    for caption, what in ((_("What differs"), compare.differing(jobs)), (_("What comes out"), compare.lines(jobs))):
        heads = (tag("th", one, scope="col", class_="number") for one in (*NAMES, _("B against A")))
        head = tag("thead", tag("tr", tag("th", scope="col"), *heads))
        body = [_row(line, system) for line in what] or [tag("tr", tag("td", _("A and B are alike."), colspan=4))]
        parts.append(tag("table", tag("caption", caption), head, tag("tbody", *body)))
    return joined(parts) + _cautions(jobs, system)


def _row(line: compare.ComparedLine, system: str) -> Markup:
    cells = (tag("td", one, class_="number") for one in (*line.shown(system), line.change()))
    return tag("tr", tag("td", line.label), *cells, class_="differs" if line.differs else "")


def _cautions(jobs: tuple[Operation, Operation], system: str) -> Markup:
    return joined(
        paragraph(_("{name}, caution: {caution}.", name=name, caution=in_units(c, system)), system, "tapkit-caution")
        for name, job in zip(NAMES, jobs)
        for c in job.cautions
    )


def bench(a: dict[str, Any] | None = None, b: dict[str, Any] | None = None) -> Bench:
    """The bench with set-ups A and B; each may be given as a dict of control keys, as in `set_up_controls`."""
    return Bench(a, b)
