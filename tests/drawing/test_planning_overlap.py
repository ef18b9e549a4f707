"""The drawings of the plans: no text covers another or leaves the sheet over some hundred random states."""

import random

import numpy as np
import pytest
from drawn import keeps_clear, random_job, texts

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


systems = pytest.mark.parametrize("system", ["metric", "inch"])


@systems
def test_hole_plan(system):
    rng = random.Random(7)
    states = [(HolePlan(random_ask(rng), 4),)]
    states += [(HolePlan(random_ask(rng), rng.choice([1, 1.5, 2.5, 4, 8])),) for _ in range(STATES)]
    ax = keeps_clear(holeplanview.draw_holeplan, (6.2, 5.0), states, system=system)
    assert len(texts(ax)) > 6
    assert min(t.get_fontsize() for t in texts(ax)) >= style.SMALL


@systems
def test_chamfer_fits(system):
    rng = random.Random(8)
    states = [(random_ask(rng),) for _ in range(STATES + 1)]
    keeps_clear(chamferfits.draw_chamferfits, (3.2, 4.4), states, system=system)


@systems
def test_drills(system):
    rng = random.Random(9)

    def state():
        thread, wanted = Thread.parse(rng.choice(SIZES)), rng.uniform(45, 95)
        shelf = rng.choice([(), drills(), drills("number", "letter"), drills("metric 0.05")])
        try:
            return nearest_drills(thread, wanted, shelf, count=7), wanted
        except ValueError:
            return nearest_drills(thread, wanted, count=7), wanted

    states = [state() for _ in range(STATES + 1)]
    first = [(fits[0],) for fits, _wanted in states]
    keeps_clear(drillfits.draw_percent, (4.3, 4.3), first, system=system)
    keeps_clear(drillfits.draw_drillfits, (5.0, 4.3), states, system=system)


def test_choice():
    rng = random.Random(10)

    def state():
        job = Job.make(
            random_ask(rng), rng.choice(workpiece_names()), rng.choice(machine_names()), rng.choice([1, 1000])
        )
        made = choose(job)
        wanted = rng.choice([None, asked_for(job, "straight taper"), asked_for(job, "spiral-flute semi-bottoming")])
        return made, wanted

    keeps_clear(choiceview.draw_choice, (9.375, 4.17), (state() for _ in range(20)))


@systems
def test_all_ways(system):
    rng = random.Random(13)
    states = (
        (all_ways(Job.make(random_ask(rng), rng.choice(workpiece_names()), rng.choice(machine_names()), 20)),)
        for _ in range(8)
    )
    keeps_clear(allwaysview.draw_allways, (9.375, 2.396), states, system=system)


@systems
def test_measured_torque(system):
    """One reading, one trace, several of them; small and large torques, growing, level and falling."""
    rng = np.random.default_rng(14)

    def state():
        job = random_job(random.Random(int(rng.integers(1 << 30))))
        of, holes, grows = shapes(job), int(rng.choice([0, 1, 5])), rng.uniform(-0.05, 0.2)
        if not holes:
            turned = float(rng.uniform(0.3, 3) * job.torque_curve.peak)
            one = Trace(np.array([float(of.depth[-1]) / 2]), np.array([turned]))
            return TracesShown(job, (one,), (from_reading(job, turned),), None)
        noise = 0.02 * float(of.made.sum(axis=1).max())
        depth = np.linspace(0, float(of.depth[-1]), 120)
        size = rng.uniform(0.5, 3)
        made = [of.at(depth) @ np.array([size * (1 + grows * k), 0.2]) for k in range(holes)]
        read = tuple(Trace(depth, one + rng.normal(0, noise, 120)) for one in made)
        fits = traces.fitted(job, read)
        return TracesShown(job, read, fits, traces.wear(job, fits) if holes > 2 else None)

    states = ((state(),) for _ in range(STATES // 2))
    keeps_clear(measuredview.draw_measured, (9.375, 3.125), states, system=system)


@systems
def test_cycle(system):
    rng = random.Random(11)

    def state():
        machine = Machine.parse(rng.choice(machine_names()))
        plan = HolePlan(random_ask(rng), rng.choice([1.5, 2.5, 4]))
        return Cycle(plan=plan, machine=machine, rpm=rng.uniform(20, 6000), approach=rng.choice([None, 0.0, 20.0]))

    states = ((state(),) for _ in range(STATES))
    keeps_clear(cycleview.draw_cycle, (9.375, 4.17), states, system=system)


def test_diagnosis():
    rng = random.Random(12)
    job = Operation.parse("M10x1.5 spiral-point plug", "blind 8.5 mm x 27.5 mm", "C45")
    seen = [{}, *({c: rng.choice(["", *(v for v, _ in clue_values(c))]) for c in CLUES} for _ in range(15))]
    states = ((Diagnosis(job, Seen(**one)),) for one in seen)
    keeps_clear(diagnosisview.draw_diagnosis, (9.375, 4.0), states)
