"""The bench: two set-ups, copy and swap, sweeps, refusals, and what it saves."""

import json
import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import jobs

from tapkit import panels, whatif
from tapkit.drawing.sweepchart import describe_sweepchart
from tapkit.parameters import sweep_range
from tapkit.units import convert


@pytest.fixture(scope="module")
def bench():
    return panels.bench()


@pytest.fixture(autouse=True)
def fresh(bench):
    bench.reset()


def test_the_two_set_ups_begin_unlike(bench):
    assert [job.tap.name for job in bench.jobs] == ["spiral-point plug", "spiral-flute bottoming"]
    assert "What differs" in bench.table.value


def test_copy_makes_them_alike_and_swap_changes_places(bench):
    before = bench.jobs
    bench.swap()
    assert bench.jobs == (before[1], before[0])
    bench.copy("A", "B")
    assert bench.jobs[0] == bench.jobs[1]
    assert "A and B are alike" in bench.table.value


def test_every_control_of_one_side_reaches_its_job_and_only_it(bench):
    a, b = bench.jobs
    for key, value in {
        "chamfer": 6,
        "flutes": 4,
        "radial_rake": 5,
        "core": 4.5,
        "depth": 8,
        "work": "X5CrNi18-10",
        "runout": 0.02,
        "missing": 5,
        "wear_factor": 1.3,
        "shear_at_breakage": 1200,
    }.items():
        bench.reset()
        bench.put(A=bench.sides["A"].state.with_(**{key: value}))
        assert bench.jobs[0] != a, key
        assert bench.jobs[1] == b, key


def test_what_cannot_be_is_said_and_the_last_good_state_stays(bench):
    good = bench.jobs
    bench.put(B=bench.sides["B"].state.with_(flutes=6, core=2.5))
    assert bench.problem.startswith("B: ")
    assert "Not possible" in bench.words.value
    assert bench.jobs == good
    bench.put(B=bench.sides["B"].state.with_(flutes=3))
    assert bench.problem is None


@pytest.mark.parametrize("what", [q.name for q in whatif.quantities()])
def test_every_sweep_passes_through_the_present_state(bench, what):
    from tapkit.panels.benchsweep import sweep_picture

    picture = sweep_picture(bench.jobs, what, "peak_torque")
    for curve, job in zip(picture.curves, bench.jobs):
        assert curve.here[1] == pytest.approx(job.torque_curve.peak, rel=1e-9)


@settings(max_examples=40)
@given(st.sampled_from(whatif.quantities()), jobs(), st.floats(0.2, 0.8))
def test_a_kept_curve_is_the_one_of_the_present_job(what, job, share):
    """Whatever the swept quantity stood at before."""
    from tapkit.panels.benchsweep import sweep_picture

    low, high = sweep_range(what, (job, job))
    for value in (low, low + share * (high - low)):
        value = round(value) if what.name == "flutes" else value
        try:
            now = whatif.changed(job, [(what, value)])
        except ValueError:
            continue
        curve = sweep_picture((now, now), what.name, "peak_torque").curves[0]
        wanted = whatif.run(now, what.name, curve.x).of("peak_torque")
        np.testing.assert_array_equal(curve.y, wanted)


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_a_sweep_says_where_the_thread_becomes_scrap(bench, system):
    """Above the largest minor diameter; a job whose hole is over it already is scrap over the whole of another sweep;
    and where a gauge says so, as runout makes the mouth wide."""
    from tapkit.mechanics import gauges
    from tapkit.panels.benchsweep import sweep_picture

    wide = bench.jobs[0].with_(hole=replace(bench.jobs[0].hole, diameter=9.0))
    limit = convert(wide.tap.thread.limits.minor_max, "length", system)
    a, b = sweep_picture((wide, bench.jobs[1]), "diameter", "margin_high", system).curves
    assert a.scrap[0] == (pytest.approx(limit, rel=1e-6), pytest.approx(a.x[-1]), "over")
    assert b.scrap == a.scrap
    a, b = sweep_picture((wide, bench.jobs[1]), "chamfer_threads", "margin_high", system).curves
    assert a.scrap[0] == (pytest.approx(a.x[0]), pytest.approx(a.x[-1]), "over")
    assert not b.scrap
    for job in (bench.jobs[0], bench.jobs[0].with_(tap_class="3")):
        picture = sweep_picture((job, job), "runout", "margin_high", system)
        (found,) = picture.curves[0].scrap
        assert found.why == "maybe"
        for share, no_go in ((0.999, gauges.OUT), (1.001, gauges.PERHAPS)):
            dial = share * found.low / convert(1, "length", system)
            assert job.with_(faults=replace(job.faults, runout=dial)).gauges.no_go == no_go
        assert "the NO-GO gauge may go in above" in describe_sweepchart(picture, system)


def test_inch_changes_what_is_shown_and_not_the_job(bench):
    before = bench.jobs
    bench.set_system("inch")
    assert "lbf" in bench.table.value
    assert bench.jobs == before
    bench.set_system("metric")
    assert "lbf" not in bench.table.value


@pytest.mark.parametrize(("system", "unit"), [("inch", "in"), ("metric", "mm")])
def test_saved_files_hold_the_inputs(bench, tmp_path, monkeypatch, system, unit):
    monkeypatch.chdir(tmp_path)
    bench.set_system(system)
    files = bench.save()
    assert sorted(f.rsplit(".", 1)[1] for f in files) == ["csv", "json", "png", "png", "svg", "svg"]
    data = json.loads(next(tmp_path.rglob("*.json")).read_text(encoding="utf-8"))
    assert data["A"]["inputs"]["Thread"] == "M10x1.5"
    assert data["A"]["inputs"]["Hole diameter"] == {"value": 8.5, "unit": "mm"}, "metric by design, said plainly"
    assert f",Hole diameter,{unit}," in next(tmp_path.rglob("*.csv")).read_text(encoding="utf-8").replace("inputs", "")
    for svg in tmp_path.rglob("*.svg"):
        ElementTree.parse(svg)
        written = svg.read_text(encoding="utf-8")
        assert "thread M10x1.5" in written
        assert re.search(rf"hole diameter [\d.]+ {unit};", written)
    for png in tmp_path.rglob("*.png"):
        assert b"thread M10x1.5" in png.read_bytes()


def test_a_closed_folder_is_said_in_a_sentence(bench, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "saved-from-the-bench").write_text("in the way")
    bench._save()
    assert "Not saved" in bench._files.value


def test_spans_of_sweeps_lie_around_something_possible(bench):
    for what in whatif.quantities():
        low, high = sweep_range(what, bench.jobs)
        assert low < high, what.name
