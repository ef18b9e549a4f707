"""The drawings of the plans: no text covers another or leaves the sheet over some hundred random states."""

from __future__ import annotations

import random

import numpy as np
import pytest
from drawn import clashes, figure, random_job, texts

from tapkit import Operation, Thread, traces
from tapkit.drawing import (
    allwaysview,
    chamferfits,
    choiceview,
    cycleview,
    diagnosisview,
    drillfits,
    holeplanview,
    measuredview,
    style,
)
from tapkit.drawing.measuredview import TracesShown
from tapkit.measured import Trace, from_reading, shapes
from tapkit.mechanics.workpiece import workpiece_names
from tapkit.planning.allways import all_ways
from tapkit.planning.candidate import Job
from tapkit.planning.choice import asked_for, choose
from tapkit.planning.cycle import Cycle
from tapkit.planning.diagnosis import CLUES, Diagnosis, Seen, clue_values
from tapkit.planning.drill import drills, nearest_drills
from tapkit.planning.holeask import COUNTERBORE, TOP, DrawingAsk, Tolerances
from tapkit.planning.holeplan import HolePlan
from tapkit.planning.machine import Machine, machine_names

STATES = 50
SIZES = ["M3", "M5", "M6", "M8x1", "M10", "M16", "M24", "#10-32", "1/4-20", "1/2-13"]


def random_ask(rng: random.Random) -> DrawingAsk:
    """A hole within what sliders reach, asked of some machine."""
    thread = Thread.parse(rng.choice(SIZES))
    d, drill = thread.major, thread.hole_for_percent(rng.uniform(55, 83))
    bored = rng.choice([0.0, 0.0, 0.4 * d, d])
    mouth = dict(
        counterbore_depth=bored,
        counterbore_diameter=1.9 * d if bored else 0.0,
        countersink_diameter=rng.choice([0.0, 1.05 * d, 1.3 * d]),
        center_length=rng.choice([0.0, 0.0, 0.4 * d]),
        tolerances=Tolerances(thickness=rng.choice([0.0, 0.2])),
    )
    if rng.random() < 0.35:
        deep = bored + rng.uniform(0.4, 3) * d
        full = rng.choice([None, None, bored + 0.6 * (deep - bored)])
        room = rng.choice([None, rng.uniform(0.2, 2) * d])
        ask = DrawingAsk(
            thread=thread, drill=drill, kind="through", thickness=deep, full_thread=full, room_below=room, **mouth
        )
    else:
        face = rng.choice([TOP, COUNTERBORE]) if bored else TOP
        full = rng.uniform(0.5, 3) * d + (bored if face == TOP else 0)
        thick = rng.choice([None, full + bored + rng.uniform(0, 2) * d])
        ask = DrawingAsk(
            thread=thread,
            drill=drill,
            full_thread=full,
            face=face,
            thickness=thick,
            floor=rng.choice([0.0, 0.2 * d]) if thick else 0.0,
            drill_angle=rng.choice([118, 135, 180]),
            **mouth,
        )
    return ask.on(Machine.parse(rng.choice(machine_names())))


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_hole_plan(system):
    rng, wrong = random.Random(7), []
    _, ax = figure((6.2, 5.0))
    artists = holeplanview.draw_holeplan(ax, HolePlan(random_ask(rng), 4), system=system)
    for _ in range(STATES):
        plan = HolePlan(random_ask(rng), rng.choice([1, 1.5, 2.5, 4, 8]))
        holeplanview.update_holeplan(artists, plan)
        wrong += [f"{plan}: {w}" for w in clashes(ax)]
    assert not wrong, f"{len(wrong)} clashes, the first:\n" + "\n".join(wrong[:6])
    assert len(texts(ax)) > 6
    assert min(t.get_fontsize() for t in texts(ax)) >= style.SMALL


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_chamfer_fits(system):
    rng, wrong = random.Random(8), []
    _, ax = figure((3.2, 4.4))
    artists = chamferfits.draw_chamferfits(ax, random_ask(rng), system=system)
    for _ in range(STATES):
        ask = random_ask(rng)
        chamferfits.update_chamferfits(artists, ask)
        wrong += [f"{ask}: {w}" for w in clashes(ax)]
    assert not wrong, f"{len(wrong)} clashes, the first:\n" + "\n".join(wrong[:6])


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_drills(system):
    rng, wrong = random.Random(9), []
    _, left = figure((4.3, 4.3))
    _, right = figure((5.0, 4.3))

    def state():
        thread, wanted = Thread.parse(rng.choice(SIZES)), rng.uniform(45, 95)
        shelf = rng.choice([(), drills(), drills("number", "letter"), drills("metric 0.05")])
        try:
            return nearest_drills(thread, wanted, shelf, count=7), wanted
        except ValueError:
            return nearest_drills(thread, wanted, count=7), wanted

    fits, wanted = state()
    a = drillfits.draw_percent(left, fits[0], system=system)
    b = drillfits.draw_drillfits(right, fits, wanted, system=system)
    for _ in range(STATES):
        fits, wanted = state()
        drillfits.update_percent(a, fits[0])
        drillfits.update_drillfits(b, fits, wanted)
        wrong += [f"{fits[0]} {wanted}: {w}" for ax in (left, right) for w in clashes(ax)]
    assert not wrong, f"{len(wrong)} clashes, the first:\n" + "\n".join(wrong[:6])


def test_choice():
    rng, wrong = random.Random(10), []
    _, ax = figure((9.375, 4.17))
    artists = None
    for _ in range(20):
        ask = random_ask(rng)
        job = Job.make(ask, rng.choice(workpiece_names()), rng.choice(machine_names()), rng.choice([1, 1000]))
        made = choose(job)
        wanted = rng.choice([None, asked_for(job, "straight taper"), asked_for(job, "spiral-flute semi-bottoming")])
        if artists is None:
            artists = choiceview.draw_choice(ax, made, wanted)
        choiceview.update_choice(artists, made, wanted)
        wrong += [f"{job}: {w}" for w in clashes(ax)]
    assert not wrong, f"{len(wrong)} clashes, the first:\n" + "\n".join(wrong[:6])


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_all_ways(system):
    rng, wrong = random.Random(13), []
    _, ax = figure((9.375, 2.396))
    artists = None
    for _ in range(8):
        ask = random_ask(rng)
        made = all_ways(Job.make(ask, rng.choice(workpiece_names()), rng.choice(machine_names()), 20))
        if artists is None:
            artists = allwaysview.draw_allways(ax, made, system=system)
        allwaysview.update_allways(artists, made)
        wrong += [f"{ask}: {w}" for w in clashes(ax)]
    assert not wrong, f"{len(wrong)} clashes, the first:\n" + "\n".join(wrong[:6])


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_measured_torque(system):
    """One reading, one trace, several of them; small and large torques, growing, level and falling."""
    rng, wrong = np.random.default_rng(14), []
    _, ax = figure((9.375, 3.125))
    artists = None
    for _ in range(STATES // 2):
        job = random_job(random.Random(int(rng.integers(1 << 30))))
        of, holes, grows = shapes(job), int(rng.choice([0, 1, 5])), rng.uniform(-0.05, 0.2)
        if holes:
            noise = 0.02 * float(of.made.sum(axis=1).max())
            depth = np.linspace(0, float(of.depth[-1]), 120)
            size = rng.uniform(0.5, 3)
            made = [of.at(depth) @ np.array([size * (1 + grows * k), 0.2]) for k in range(holes)]
            read = tuple(Trace(depth, one + rng.normal(0, noise, 120)) for one in made)
            fits = traces.fitted(job, read)
            shown = TracesShown(job, read, fits, traces.wear(job, fits) if holes > 2 else None)
        else:
            turned = float(rng.uniform(0.3, 3) * job.torque_curve.peak)
            one = Trace(np.array([float(of.depth[-1]) / 2]), np.array([turned]))
            shown = TracesShown(job, (one,), (from_reading(job, turned),), None)
        if artists is None:
            artists = measuredview.draw_measured(ax, shown, system=system)
        measuredview.update_measured(artists, shown)
        wrong += [f"{job.tap} {holes} {grows:.2f}: {w}" for w in clashes(ax)]
    assert not wrong, f"{len(wrong)} clashes, the first:\n" + "\n".join(wrong[:6])


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_cycle(system):
    rng, wrong = random.Random(11), []
    _, ax = figure((9.375, 4.17))
    artists = None
    for _ in range(STATES):
        machine = Machine.parse(rng.choice(machine_names()))
        plan = HolePlan(random_ask(rng), rng.choice([1.5, 2.5, 4]))
        cycle = Cycle(plan=plan, machine=machine, rpm=rng.uniform(20, 6000), approach=rng.choice([None, 0.0, 20.0]))
        if artists is None:
            artists = cycleview.draw_cycle(ax, cycle, system=system)
        cycleview.update_cycle(artists, cycle)
        wrong += [f"{cycle}: {w}" for w in clashes(ax)]
    assert not wrong, f"{len(wrong)} clashes, the first:\n" + "\n".join(wrong[:6])


def test_diagnosis():
    rng, wrong = random.Random(12), []
    _, ax = figure((9.375, 4.0))
    job = Operation.parse("M10x1.5 spiral-point plug", "blind 8.5 mm x 27.5 mm", "C45")
    artists = diagnosisview.draw_diagnosis(ax, Diagnosis(job, Seen()))
    for _ in range(15):
        seen = {c: rng.choice(["", *(v for v, _ in clue_values(c))]) for c in CLUES}
        diagnosisview.update_diagnosis(artists, Diagnosis(job, Seen(**seen)))
        wrong += [f"{seen}: {w}" for w in clashes(ax)]
    assert not wrong, f"{len(wrong)} clashes, the first:\n" + "\n".join(wrong[:6])
