"""The panel "What broke my tap?": from what is seen to the causes that fit, each tried on the model."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, NamedTuple

from matplotlib.figure import Figure

from tapkit import tables
from tapkit.drawing.diagnosisview import describe_diagnosis, draw_diagnosis, update_diagnosis
from tapkit.drawing.toothbars import draw_toothbars, update_toothbars
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece
from tapkit.operation import Operation
from tapkit.panels import common
from tapkit.panels.panel import PanelSpec
from tapkit.panels.state import Pick
from tapkit.panels.tablepanel import TablePanel, table
from tapkit.planning.candidate import candidate
from tapkit.planning.diagnosis import CLUES, Diagnosis, Seen, clue_values
from tapkit.planning.drill import advised_drills
from tapkit.planning.faultrun import NO, PERHAPS, UNKNOWN, YES
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holeplan import plan_for

ASKS = {
    "broke": "What broke?",
    "teeth": "Which teeth?",
    "where": "Where in the hole?",
    "chips": "Where were the chips?",
    "sound": "What was heard?",
    "thread": "How is the thread?",
}
KEYS = {clue: clue for clue in CLUES} | {"thread": "gauged"}
"""Key of the control for each clue; "thread" is the thread that was tapped."""
MARKS = {YES: "good", PERHAPS: "perhaps", UNKNOWN: "", NO: "bad"}
NEAREST = "nearest"


class Case(NamedTuple):
    """What the panel shows: the diagnosis, and the job whose tooth loads are shown, with its name."""

    diagnosis: Diagnosis
    shown: Operation
    named: str


def job_from(v: SimpleNamespace) -> Operation:
    """The sound job the controls stand for."""
    thread, work = Thread.parse(v.thread), Workpiece.parse(v.work)
    tap = candidate(thread, work, v.form, v.chamfer)
    drill = advised_drills(thread, v.percent, count=1)[0].drill.diameter
    depth = dict(thickness=v.deep) if v.kind == "through" else dict(full_thread=v.deep)
    plan = plan_for(DrawingAsk(thread=thread, drill=drill, kind=v.kind, **depth), tap)
    return Operation(tap=tap, hole=plan.hole(), workpiece=work)


def model_from(v: SimpleNamespace) -> Case:
    """The case the controls stand for."""
    job = job_from(v)
    found = Diagnosis(job, Seen(**{clue: getattr(v, KEYS[clue]) for clue in CLUES}))
    wanted = found.findings[0] if v.run == NEAREST else next(f for f in found.findings if f.name == v.run)
    return Case(found, wanted.run.operation or job, wanted.printed)


def draw(figure: Figure, model: Case, system: str) -> tuple[Any, Any]:
    """Causes above, tooth loads of one run below."""
    above, below = figure.add_axes((0, 0.36, 1, 0.64)), figure.add_axes((0, 0, 1, 0.35))
    return draw_diagnosis(above, model.diagnosis, system=system), draw_toothbars(below, model.shown, system=system)


def update(artists: tuple[Any, Any], model: Case) -> None:
    """Another case on the same picture."""
    update_diagnosis(artists[0], model.diagnosis)
    update_toothbars(artists[1], model.shown)


def describe(model: Case, system: str) -> str:
    """What fits, and which run the bars show."""
    return f"{describe_diagnosis(model.diagnosis, system)} The bars show the tooth loads where {model.named}."


def details(model: Case, system: str) -> str:
    """Every cause with what the model found, and what would tell the fitting ones apart."""
    found = replace(model.diagnosis, system=system)
    rows = [(f.printed, f.run.could, f.run.words, "; ".join(f.against) or "nothing", f.look) for f in found.findings]
    marks = [MARKS[f.run.could] if f.fits else "" for f in found.findings]
    head = ("Cause", "could it?", "what the model found", "speaks against it", "look here")
    out = []
    if found.decisive and found.seen.given:
        apart = [(ASKS[clue], "; ".join(told)) for clue, told in found.decisive[:3]]
        out.append(table("What would tell them apart", ("Look", "each would show"), apart))
    return "".join([*out, table("Every cause, tried", head, rows, marks)])


def controls() -> tuple[Any, ...]:
    """What was tapped, then what is seen."""

    causes = [("the cause that fits best", NEAREST), *((r["printed"], r["name"]) for r in tables.rows("causes"))]
    seen = (
        Pick(
            key=KEYS[clue],
            label=ASKS[clue],
            options=[("not looked at", ""), *((p, v) for v, p in clue_values(clue))],
            start="",
        )
        for clue in CLUES
    )
    return (
        common.thread_pick(),
        common.work_pick(),
        common.form_pick(label="Tap"),
        common.chamfer_pick(label="Chamfer"),
        common.kind_pick("blind"),
        common.number("deep"),
        common.number("percent", label="Percent of thread drilled for"),
        *seen,
        Pick(key="run", label="Show the tooth loads of", options=causes, start=NEAREST),
    )


def spec() -> PanelSpec:
    """The diagnosis panel as data."""
    return PanelSpec(
        title="What broke my tap?",
        controls=controls(),
        model_from=model_from,
        draw=draw,
        update=update,
        describe=describe,
        size=(900, 600),
    )


def diagnosis(**start: Any) -> TablePanel:
    """What broke my tap, live; `start` sets controls by key, such as `broke="snapped", chips="below"`."""
    return TablePanel(spec(), details, **start)
