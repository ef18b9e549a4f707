"""Controls that several panels share."""

from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from types import SimpleNamespace
from typing import Any

from tapkit import tables
from tapkit.geometry.designation import standard_threads
from tapkit.geometry.fluteform import flute_forms
from tapkit.geometry.hole import Hole
from tapkit.geometry.thread import Thread
from tapkit.mechanics.workpiece import Workpiece, workpiece_names
from tapkit.messages import _, ngettext, of_table
from tapkit.operation import Operation
from tapkit.panels.state import Control, Pick, State
from tapkit.parameters import CHOICES, Parameter, find, job_from
from tapkit.planning.machine import Machine, machine_names

SMALLEST, LARGEST = 1.5, 64.5
"""Threads offered in the pickers, by major diameter [mm]: M1.6 to M64, #0 to 1½ inch."""


@cache
def thread_names() -> tuple[str, ...]:
    """Designations offered: metric coarse and fine, then UNC, UNF and UNEF, each in order of size."""
    found: list[str] = []
    for system, series in (("metric", ("coarse", "fine")), ("unified", ("UNC", "UNF", "UNEF"))):
        most = LARGEST if system == "metric" else 1.51 * 25.4
        threads = (t for t in standard_threads(system) if SMALLEST <= t.major <= most)
        found += [t.designation for t in threads if t.series in series]
    return tuple(found)


def number(key: str, /, **changes: Any) -> Parameter:
    """A number of the table `parameters`, on a slider with a box; `changes` of its row, such as `start="1.5"`."""
    return replace(find(key), **changes)


def numbers(*keys: str) -> tuple[Parameter, ...]:
    """Several numbers of the table, as they stand there."""
    return tuple(find(key) for key in keys)


def more_controls(keys: Iterable[str], state: State) -> tuple[Control, ...]:
    """Controls for what a set-up says and a panel has no control for; none for what no control can hold."""
    known = {c.key for c in state.controls if c.key not in state.added}
    picks = {"form": form_pick, "kind": kind_pick, "work": work_pick, "thread": thread_pick}
    rows = (find(key) for key in sorted(set(keys) - known))
    made = {p.key: p if p.is_number and p.kind != "lengths" else None for p in rows}
    made |= {key: choice_pick(key) for key in made if key in CHOICES} | {k: picks[k]() for k in made if k in picks}
    return tuple(one for one in made.values() if one is not None)


def planned(v: SimpleNamespace, hole: Hole, **more: Any) -> Operation:
    """The job of a panel's values in a hole that was planned."""
    own = {"kind": hole.kind, "hole": hole.diameter, "depth": hole.depth, "drill_point": hole.drill_angle}
    usual = hole.clearance in (None, Thread.parse(v.thread).pitch)
    clear = {} if usual else {"hole_clearance": hole.clearance}
    return job_from(vars(v) | own | clear | more)


def own_number(key: str, label: str, start: float, low: float, high: float, step: float) -> Parameter:
    """A number that is no parameter of the table, as in an exercise."""
    ends = {name: f"{value:.9f}" for name, value in (("start", start), ("low", low), ("high", high))}
    look = dict(owner="exercise", help="", kind="number", unit="", group="", uses=())
    return Parameter(key=key, name=key, label=label, step=step, inch_step=step, **ends, **look)


def pick(key: str, options: Any, start: Any, **more: Any) -> Pick:
    """A list to pick from, with the label and the help of its row where none are given."""
    if not {"label", "help"} <= set(more):
        row = find("chamfer" if key == "name" else key)
        more = dict(label=row.label, help=row.help) | more
    return Pick(key=key, options=options, start=start, **more)


def thread_pick(start: str = "M10x1.5") -> Pick:
    """Which thread; any other may be typed."""
    return pick("thread", thread_names(), start, parse=lambda text: Thread.parse(text).designation)


def work_pick(start: str = "C45") -> Pick:
    """Which workpiece."""
    options = tuple((of_table(Workpiece.parse(name).printed), name) for name in workpiece_names())
    return pick("work", options, start, parse=lambda text: Workpiece.parse(text).name)


def form_pick(start: str = "spiral-point", none: tuple[Any, str] | None = None, **more: Any) -> Pick:
    """Which flute form, or `none` of them."""
    forms = [(of_table(form.printed), form.key) for form in flute_forms()]
    return pick("form", [*([none] if none else []), *forms], start, **more)


def choice_pick(key: str) -> Pick:
    """A choice of the table `parameters`, such as the cutting fluid."""
    options, read = CHOICES[key]
    return pick(key, [(of_table(told), value) for value, told in options], options[0][0], parse=read)


def kind_pick(start: str = "through") -> Pick:
    """Through or blind."""
    return pick("kind", ((_("through hole"), "through"), (_("blind hole"), "blind")), start)


def chamfer_pick(key: str = "chamfer", label: Any = None) -> Pick:
    """Which chamfer, by its US word."""
    return pick(
        key,
        [(of_table(row["us"]), row["us"]) for row in tables.rows("chamfers")],
        "plug",
        label=label or _("with a chamfer"),
    )


def machine_pick(start: str = "rigid") -> Pick:
    """Which machine."""
    options = [(of_table(Machine.parse(name).printed), name) for name in machine_names()]
    return pick("machine", options, start, label=_("Machine"), help=_("what drives the tap, and how it goes back"))


def quantity_pick(start: int) -> Pick:
    """How many holes."""
    options = [(ngettext("{count} hole", "{count} holes", n), n) for n in (1, 20, 1000)]
    return pick("quantity", options, start, label=_("Quantity"), help=_("how many such holes there are to tap"))
