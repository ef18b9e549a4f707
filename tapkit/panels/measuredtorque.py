"""The panel of measured torque: a wrench reading or a trace of one's own spindle against the model's curve."""

import math
from functools import lru_cache
from types import SimpleNamespace
from typing import Any, NamedTuple

import ipywidgets
import numpy as np

from tapkit import measured, tracefile, traces
from tapkit.drawing.measuredview import TracesShown, draw_measured
from tapkit.measured import Trace
from tapkit.messages import Number, Quantity, Sentence, Span, _, length, said, text, torque
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.markup import points, table, tag
from tapkit.panels.panel import PanelSpec
from tapkit.panels.state import Pick
from tapkit.panels.tablepanel import TablePanel
from tapkit.panels.views import View, views
from tapkit.parameters import job_from
from tapkit.traces import Signs

EXAMPLE, READING, FILE = "example", "reading", "file"
STEPS = 240
"""Readings of each of the example's traces."""


class Reckoned(NamedTuple):
    """What the panel shows: what is drawn, the signs in the last trace, and whether it is one reading alone."""

    told: TracesShown
    signs: Signs | None
    single: bool

    @property
    def job(self) -> Operation:
        return self.told.job


@lru_cache(maxsize=1)
def example_traces() -> tuple[Trace, ...]:
    """Six holes invented for this panel: one tap in six holes, a little more torque in each, with noise; in the last
    the chips begin to pack."""
    job = Operation.parse("M10x1.5 spiral-point plug", "through 8.5 mm x 20 mm", "C45")
    rng, of = np.random.default_rng(16), measured.shapes(job)
    depth = np.linspace(0.0, float(of.depth[-1]), STEPS)
    made = of.at(depth)
    out = []
    for k in range(6):
        values = made @ np.array([0.62 + 0.05 * k, 0.16]) + 0.3 + rng.normal(0, 0.12, STEPS)
        if k == 5:
            values += np.where((depth > 14) & (depth <= 20), 0.28 * (depth - 14), 0.0)
        out.append(Trace(depth, values))
    return tuple(out)


class MeasuredPanel(TablePanel):
    """The panel of measured torque; `files` are the tables that were loaded, by name."""

    def __init__(self, **start: Any) -> None:
        self.files: dict[str, bytes] = {}
        super().__init__(spec(self), details, **start)

    def load(self, files: dict[str, bytes]) -> "MeasuredPanel":
        """Show traces from files, by name and content; one file for each hole, or a column "hole"."""
        self.files, self._shown = dict(files), None
        return self.set(source=FILE)

    def found(self, v: SimpleNamespace) -> Reckoned:
        """What was measured, against the job the controls stand for."""
        job = job_from(vars(v))
        if v.source == READING:
            turned = measured.wrench_torque(v.wrench, v.pull)
            deep = v.read_at or job.expected_torque.depth[int(np.argmax(job.expected_torque.high.total))]
            fit = measured.from_reading(job, turned, depth=v.read_at or None)
            return Reckoned(TracesShown(job, (Trace(np.array([deep]), np.array([turned])),), (fit,), None), None, True)
        several = example_traces() if v.source == EXAMPLE else self._loaded(v, job)
        fits = traces.fitted(job, several)
        worn = traces.wear(job, fits) if len(fits) > 2 else None
        return Reckoned(TracesShown(job, several, fits, worn), traces.signs(job, several[-1], fits[-1]), False)

    def _loaded(self, v: SimpleNamespace, job: Operation) -> tuple[Trace, ...]:
        if not self.files:
            raise ValueError(_("no file is loaded yet; press “Load traces” and choose one or more tables"))
        turns = v.speed * 1000 / (math.pi * job.tap.thread.major) / 60
        scales = dict(feed=turns * job.tap.thread.lead, scale=v.scale or None)
        found: list[Trace] = []
        for name, content in self.files.items():
            found += tracefile.traces_of(tracefile.trace_sheet(content), name, **scales)
        return tuple(found)

    def _switches(self) -> ipywidgets.Widget:
        row = super()._switches()
        told = said(_("Load traces"))
        self._upload = ipywidgets.FileUpload(accept=".csv,.txt,.tsv", multiple=True, description=told)
        self._upload.tooltip = said(_("Tables of time or depth, and torque, % or A"))
        self._upload.observe(lambda change: self._take_files(change["new"]), "value")
        row.children = (*row.children, self._upload)
        return row

    def _take_files(self, files: Any) -> None:
        if files:
            self.load({one["name"]: bytes(one["content"]) for one in files})


def describe(model: Reckoned, system: str) -> Sentence:
    """What was measured, against what was to be expected, and the margin that is left."""
    fit, job = model.told.fits[-1], model.job
    given = dict(
        torque=torque(fit.peak, digits=2),
        expected=Span(*job.expected_torque.peak, "torque", digits=2),
        margin=_("{low} to {high}", low=Number(fit.margin[0], 2), high=Number(fit.margin[1], 2)),
    )
    if model.single:
        one = _("One reading puts the largest torque at {torque}; {expected} was to be expected. The tap bears "
                "{margin} times that.", **given)  # fmt: skip
    else:
        one = _("The fitted curve reaches {torque}; {expected} was to be expected. The tap bears {margin} times that.",
                **given)  # fmt: skip
    return text(one, None if model.told.wear is None else model.told.wear.in_words())


def details(model: Reckoned, system: str) -> str:
    """The factors with their spread, what the trace shows besides, and hole by hole."""
    fit = model.told.fits[-1]
    told = [*fit.in_words()[:-1], *(model.signs.in_words() if model.signs else ())]
    if not model.single:
        off = dict(shift=length(fit.shift, decimals=2, inch_decimals=3), idle=torque(fit.idle, digits=2))
        noise = torque(fit.noise, digits=2)
        told.append(
            _("The trace is shifted by {shift}, with {idle} before it cuts and {noise} of noise.", noise=noise, **off)
        )
    items = points(told, system, style="margin: 2px 0; padding-left: 1.4em")
    out = tag("div", tag("b", _("What the last trace says")), items, style="flex: 1 1 30em")
    if model.told.wear is None:
        return out
    rows = []
    for i, one in enumerate(model.told.fits, 1):
        numbers = Number(one.whole.value, 3), Number(one.friction.value, 2), Number(one.margin[0], 2)
        shown = (Quantity(one.peak, "torque", digits=3), *numbers)
        rows.append((str(i), *(f"={said(value, system)}" for value in shown)))
    heads = (_("Hole"), _("largest torque"), _("cutting and crowding × our sum"), _("friction"), _("least margin"))
    holes = tag("div", table(_("Hole by hole"), heads, rows))
    return tag("div", out, holes, style="display: flex; flex-wrap: wrap; gap: 0 24px")


def spec(panel: MeasuredPanel) -> PanelSpec:
    """The panel of measured torque as data."""
    sources = (
        (_("the example: six holes"), EXAMPLE),
        (_("a wrench: length and pull"), READING),
        (_("my traces, loaded"), FILE),
    )
    return PanelSpec(
        title=_("Measured torque"),
        controls=(
            Pick(
                key="source",
                label=_("Measured"),
                options=sources,
                start=EXAMPLE,
                help=_("what was measured: the example's traces, a wrench and a pull, or traces of your own"),
            ),
            *common.numbers("wrench", "pull", "read_at"),
            common.thread_pick(),
            common.form_pick(),
            common.number("chamfer"),
            common.work_pick(),
            common.kind_pick(),
            common.number("depth", start="2 D"),
            common.number("hole"),
            common.choice_pick("fluid"),
            common.number("speed"),
            common.number("scale"),
        ),
        main=("source", "wrench", "pull", "thread", "form"),
        model_from=panel.found,
        **views(View(draw_measured, of=lambda model: (model.told,))),
        describe=describe,
        cautions=lambda model: model.job.cautions,
        size=(900, 300),
    )


def measured_torque(**start: Any) -> MeasuredPanel:
    """Measured torque against the model, live; `start` sets controls by key, such as `source="reading"`."""
    return MeasuredPanel(**start)
