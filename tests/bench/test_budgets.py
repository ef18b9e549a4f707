"""Speed budgets. Short form: as ratios to a plain Python loop over the same work, so that a busy machine does not matter.
Long form (marked slow): the budgets themselves, by the fastest of many rounds."""

import math
import time

import numpy as np
import pytest

from tapkit import Hole, Operation, Tap, Workpiece, whatif
from tapkit.geometry.section import measures
from tapkit.mechanics import force, torque, torsion
from tapkit.mechanics.toothload import tooth_slices
from tapkit.parameters import Basis

pytestmark = pytest.mark.bench

TAP = Tap.make("M10x1.5", "spiral-point", "plug")
HOLE = Hole.parse("through 8.5 mm x 15 mm")
WORK = Workpiece.parse("C45")


def seconds(work, rounds=3):
    """Processor time of the fastest of a few rounds."""
    best = math.inf
    for _ in range(rounds):
        start = time.thread_time()
        work()
        best = min(best, time.thread_time() - start)
    return best


# --- the plain loops ----------------------------------------------------------------------------------


def loads_in_a_loop(points=400):
    """The swept envelope point by point: the model as one would first write it down."""
    d, p, slope = TAP.thread.major, TAP.thread.pitch, math.tan(math.radians(TAP.chamfer_angle))
    dx = p / points
    swept = [HOLE.diameter / 2] * points
    areas = []
    for k in range(int(TAP.chamfer_threads * TAP.flutes) + 2 * TAP.flutes):
        z, area = (1 + k) * p / TAP.flutes, 0.0
        for i in range(points):
            x = -p / 2 + (i + 0.5) * dx
            tooth = min(d / 2, d / 2 - (abs(x) - p / 16) * math.sqrt(3), TAP.point_diameter / 2 + (z + x) * slope)
            if tooth > swept[i]:
                area += (tooth - swept[i]) * dx
                swept[i] = tooth
        areas.append(area)
    return areas


def torque_in_a_loop(slices, pull, depths=200):
    """Torque at each of some depths, tooth by tooth."""
    curve = []
    for j in range(depths):
        z, total = 22.0 * j / depths, 0.0
        for k in range(len(pull)):
            length = max(slices.end[k] - slices.start[k], 1e-9)
            into = min(max((z - slices.start[k]) / length, 0.0), 1.0)
            out = min(max((z - slices.start[k] - HOLE.depth) / length, 0.0), 1.0)
            total += pull[k] * slices.radius[k] / 1000 * (into - out)
        curve.append(total)
    return curve


def one_sweep_of_relaxation(cells=150):
    """One Gauss-Seidel sweep for ∇²φ = −2 on a square grid; a solution takes some hundred of them."""
    phi = [[0.0] * (cells + 2) for _ in range(cells + 2)]
    step = (1.0 / cells) ** 2
    for i in range(1, cells + 1):
        for j in range(1, cells + 1):
            phi[i][j] = (phi[i - 1][j] + phi[i + 1][j] + phi[i][j - 1] + phi[i][j + 1] + 2 * step) / 4
    return phi


def pull_of(slices):
    return force.cutting_force(width=slices.width, thickness=slices.thickness, kc11=WORK.kc11, mc=WORK.mc)


def fresh_torsion():
    torsion._unit_section.cache_clear()
    return torsion.torsion(**measures(TAP))


# --- short form: ratios -------------------------------------------------------------------------------


def test_tooth_loads_against_a_plain_loop():
    assert sum(loads_in_a_loop()) == pytest.approx(tooth_slices(TAP, HOLE).area.sum(), rel=2e-3)
    ours = seconds(lambda: tooth_slices(TAP, HOLE), 20)
    assert ours < seconds(loads_in_a_loop) / 5


def test_torque_curve_against_a_plain_loop():
    slices = tooth_slices(TAP, HOLE)
    pull = pull_of(slices)
    assert max(torque_in_a_loop(slices, pull)) == pytest.approx(
        torque.torque_curve(slices, pull, HOLE, 1.5).peak, rel=1e-6
    )
    ours = seconds(lambda: torque.torque_curve(slices, pull, HOLE, 1.5), 20)
    assert ours < seconds(lambda: torque_in_a_loop(slices, pull)) / 5


def test_torsion_against_one_sweep_of_a_plain_relaxation():
    """A solution by relaxation would take hundreds of sweeps; ours takes less than the time of one."""
    assert len(one_sweep_of_relaxation()) == 152
    ours = seconds(fresh_torsion, 10)
    assert ours < seconds(one_sweep_of_relaxation)


def test_a_whole_job_against_a_plain_loop():
    """Everything a panel shows in one update, against the loop over tooth loads and torque alone."""

    def whole():
        job = Operation(tap=TAP, hole=HOLE, workpiece=WORK)
        return job.tooth_loads, job.torque_curve, job.chip_flow, job.breakage, job.chip_room, job.cautions

    slices = tooth_slices(TAP, HOLE)
    pull = pull_of(slices)
    ours = seconds(whole, 10)
    assert ours < seconds(lambda: (loads_in_a_loop(), torque_in_a_loop(slices, pull)))


# --- long form: the budgets ---------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "budget"), [("tooth loads", 1e-3), ("torque along the depth", 3e-3), ("torsion of a section", 3e-3)]
)
def test_budgets(name, budget):
    slices = tooth_slices(TAP, HOLE)
    pull = pull_of(slices)
    work = {
        "tooth loads": lambda: tooth_slices(TAP, HOLE),
        "torque along the depth": lambda: torque.torque_curve(slices, pull, HOLE, 1.5),
        "torsion of a section": fresh_torsion,
    }[name]
    assert seconds(work, 200) < budget


@pytest.mark.slow
def test_budget_of_ten_thousand_taps():
    """2 s of the processor's time, so that other work on the machine does not count."""
    job = Operation(tap=Tap.make("M10x1.5"), hole=HOLE, workpiece=WORK)
    spent = []
    for _ in range(3):
        torsion._unit_section.cache_clear()
        start = time.process_time()
        whatif.run(job, "core_diameter", np.linspace(3.6, 4.8, 100), "land_width", np.linspace(2.8, 3.6, 100))
        spent.append(time.process_time() - start)
    assert min(spent) < 2.0


@pytest.mark.slow
@pytest.mark.parametrize("what", whatif.quantities(), ids=lambda q: q.name)
def test_budget_of_a_sweep(what):
    """41 points over the whole range of each quantity, 30 ms of the processor's time."""
    job = Operation(tap=Tap.make("M10x1.5", chamfer="plug"), hole=HOLE, workpiece=WORK)
    values = np.linspace(*what.range(Basis.of_job(job)), 41)
    whatif.run(job, what.name, values)
    assert seconds(lambda: (torsion._unit_section.cache_clear(), whatif.run(job, what.name, values)), 10) < 0.030
