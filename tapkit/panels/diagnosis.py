"""The panel "What broke my tap?": from what is seen to the causes that fit, each tried on the model."""

import os
from types import SimpleNamespace
from typing import Any, NamedTuple

import ipywidgets
from markupsafe import Markup

from tapkit import tables
from tapkit.drawing.diagnosisview import ANSWERS, draw_diagnosis
from tapkit.drawing.toothbars import draw_toothbars
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Sentence, _, listed, of_table, pgettext, said
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.markup import folded, paragraph, points, table
from tapkit.panels.panel import PanelSpec
from tapkit.panels.state import Pick
from tapkit.panels.tablepanel import TablePanel
from tapkit.panels.text import plate_html
from tapkit.panels.views import View, views
from tapkit.planning.candidate import candidate
from tapkit.planning.diagnosis import CLUES, Diagnosis, Seen, clue_values, in_clues
from tapkit.planning.drill import advised_drills
from tapkit.planning.faultrun import ALONE, NO, PERHAPS, UNKNOWN, YES
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holeplan import plan_for

ASKS = {
    "broke": _("What broke?"),
    "teeth": _("Which teeth?"),
    "where": _("Where in the hole?"),
    "chips": _("Where were the chips?"),
    "sound": _("What was heard?"),
    "thread": _("How is the thread?"),
}
KEYS = {clue: clue for clue in CLUES} | {"thread": "gauged"}
"""Key of the control for each clue; "thread" is the thread that was tapped."""
MARKS = {YES: "good", PERHAPS: "perhaps", UNKNOWN: "", ALONE: "", NO: "bad"}
NEAREST = "nearest"
EXAMPLE = dict(broke="snapped", chips="below")
"""What is seen in the case a handout shows."""


class Case(NamedTuple):
    """What the panel shows: the diagnosis, and the job whose tooth loads are shown, with its name."""

    diagnosis: Diagnosis
    shown: Operation
    named: Sentence


def sound_job(v: SimpleNamespace) -> Operation:
    """The sound job the controls stand for."""
    thread, work = Thread.parse(v.thread), Workpiece.parse(v.work)
    tap = candidate(thread, work, v.form, v.chamfer)
    drill = advised_drills(thread, v.percent, count=1)[0].drill.diameter
    depth = dict(thickness=v.deep) if v.kind == "through" else dict(full_thread=v.deep)
    plan = plan_for(DrawingAsk(thread=thread, drill=drill, kind=v.kind, **depth), tap)
    return Operation(tap=tap, hole=plan.hole(), workpiece=work, fluid=v.fluid)


def model_from(v: SimpleNamespace) -> Case:
    """The case the controls stand for."""
    job = sound_job(v)
    found = Diagnosis(job, Seen(**{clue: getattr(v, KEYS[clue]) for clue in CLUES}))
    wanted = found.findings[0] if v.run == NEAREST else next(f for f in found.findings if f.name == v.run)
    return Case(found, wanted.run.operation or job, wanted.printed)


def describe(model: Case, system: str) -> Sentence:
    """What fits, and which run the bars show."""
    told = model.diagnosis.in_words()
    return _("{told} The bars show the tooth loads where {cause}.", told=told, cause=model.named)


def details(model: Case, system: str) -> str:
    """Every cause with what the model found, and what would tell the fitting ones apart; before anything is seen, where
    each shows itself."""
    found = model.diagnosis
    if not found.seen.given:
        where = [(f.printed, f.look) for f in found.findings]
        return table(_("Every cause, and where it shows"), (_("Cause"), _("look here")), where, system=system)
    nothing = pgettext("speaks against it", "nothing")
    rows = [
        (f.printed, ANSWERS[f.run.could][1], f.run.words, in_clues(f.against) if f.against else nothing, f.look)
        for f in found.findings
    ]
    marks = [MARKS[f.run.could] if f.fits else "" for f in found.findings]
    head = (_("Cause"), _("could it?"), _("what the model found"), _("speaks against it"), _("look here"))
    return _apart(found) + table(_("Every cause, tried"), head, rows, marks, system)


def example_details(model: Case, system: str) -> str:
    """What is seen and what would tell the fitting causes apart; the causes that fit, the others in one line."""
    found = model.diagnosis
    fitting, given = found.fitting, tuple(found.seen.given.items())
    rows = [(f.printed, ANSWERS[f.run.could][1], f.run.words, f.look) for f in fitting]
    head = (_("Cause"), _("could it?"), _("what the model found"), _("look here"))
    others = listed(f.printed for f in found.findings if not f.fits)
    seen = paragraph(_("An example, and what was seen of it:")) + points(
        _("{asked} {seen}", asked=ASKS[one[0]], seen=in_clues((one,))) for one in given
    )
    every = table(_("The causes that fit"), head, rows, [MARKS[f.run.could] for f in fitting], system)
    return seen + _apart(found) + every + paragraph(_("These do not fit: {causes}.", causes=others), system)


def _apart(found: Diagnosis) -> Markup:
    """What would tell the fitting causes apart."""
    rows = [(ASKS[clue], "; ".join(said(t) for t in told)) for clue, told in found.decisive[:3]]
    return table(_("What would tell them apart"), (_("Look"), _("each would show")), rows) if rows else Markup()


def controls() -> tuple[Any, ...]:
    """What was tapped, then what is seen."""

    causes = [
        (said(_("the cause that fits best")), NEAREST),
        *((said(of_table(r["printed"])), r["name"]) for r in tables.rows("causes")),
    ]
    seen = (
        Pick(
            key=KEYS[clue],
            label=said(ASKS[clue]),
            options=[(said(_("not looked at")), ""), *((said(of_table(p)), v) for v, p in clue_values(clue))],
            start="",
            help=_("what is seen on the part, the tap or the chips; leave out what nobody looked at"),
        )
        for clue in CLUES
    )
    return (
        common.thread_pick(),
        common.work_pick(),
        common.form_pick(label=_("Tap")),
        common.chamfer_pick(label=_("Chamfer")),
        common.kind_pick("blind"),
        common.number("deep"),
        common.number("percent", label=_("Percent of thread drilled for")),
        common.choice_pick("fluid"),
        *seen,
        Pick(
            key="run",
            label=_("Show the tooth loads of"),
            options=causes,
            start=NEAREST,
            help=_("the picture shows the teeth of a tap with this fault"),
        ),
    )


def spec() -> PanelSpec:
    """The diagnosis panel as data."""
    return PanelSpec(
        title=_("What broke my tap?"),
        controls=controls(),
        model_from=model_from,
        set_up=lambda model, v: sound_job(v),
        **views(
            View(draw_diagnosis, (0, 0.36, 1, 0.64), lambda case: (case.diagnosis,)),
            View(draw_toothbars, (0, 0, 1, 0.35), lambda case: (case.shown,)),
        ),
        describe=describe,
        size=(900, 600),
        teeth=True,
    )


class DiagnosisPanel(TablePanel):
    """The diagnosis panel, with the sketches of what may be seen in a fold under it."""

    def still(self) -> str:
        """On a handout an example, where nothing is seen yet: it would teach nothing."""
        if "TAPKIT_PRINTED" not in os.environ or self.model is None or self.model.diagnosis.seen.given:
            return super().still()
        return DiagnosisPanel(spec(), example_details, **EXAMPLE).still()

    def _lay_out(self) -> ipywidgets.Widget:
        panel = super()._lay_out()
        fold = ipywidgets.HTML(folded(_("What it may look like: sketches of the clues"), plate_html("clues")))
        fold.add_class("tapkit-under")
        panel.children = (*panel.children, fold)
        return panel


def diagnosis(**start: Any) -> DiagnosisPanel:
    """What broke my tap, live; `start` sets controls by key, such as `broke="snapped", chips="below"`."""
    return DiagnosisPanel(spec(), details, **start)
