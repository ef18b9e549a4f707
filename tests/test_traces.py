"""Traces told apart: packing, going back and a crooked start put into traces of the model are seen, and not where they
are not; wear crosses where it was made to.

What each is made to look like. Going back: torque of the other sign, friction alone (J. Korean Soc. Precis. Eng. 2001,
abstract: forward cutting of chamfer and full thread, then the backward turn). Packing: torque that climbs over the
level part, faster the deeper [memory]; drawn here as a straight and as a steepening climb. A crooked start: a swing once
a turn [memory]: the tilt stands in the part, the tap turns past it. Wear: torque that grows from hole to hole to an end
(Gil Del Val et al., Coatings 2020, 10(5):464: 16 N·m marks the end of M12x1.5 in grey iron)."""

import numpy as np
import pytest

from tapkit import Operation, measured, panels, setupline, spreadsheet, tracefile, traces
from tapkit.measured import Trace

JOB = Operation.parse("M10x1.5 spiral-point plug", "through 8.5 mm x 20 mm", "C45")


def trace(rng, whole=1.0, friction=0.15, noise=0.12, pack=0.0, jam=0.0, swing=0.0, back=0.0, job=JOB):
    of = measured.shapes(job)
    depth = np.linspace(0.0, float(of.depth[-1]), 260)
    values = of.at(depth) @ np.array([whole, friction]) + rng.normal(0, noise, len(depth))
    values += np.where((depth > 14) & (depth <= 20), pack * (depth - 14), 0.0)
    values += np.where((depth > 14) & (depth <= 20), jam * np.expm1((depth - 14) / 2), 0.0)
    values += swing * np.sin(2 * np.pi * depth / job.tap.thread.pitch) * (depth > 4)
    if back:
        depth = np.append(depth, depth[-1] + np.linspace(0.1, 4, 40))
        values = np.append(values, -back + rng.normal(0, noise, 40))
    return Trace(depth, values)


def seen(one, job=JOB):
    return traces.signs(job, one, measured.fit(job, traces.going_in(one)))


def test_sound_traces_show_nothing():
    """Of 60 sound traces none shows packing or going back; a wave by chance alone in at most two."""
    rng = np.random.default_rng(2)
    found = [seen(trace(rng, whole=rng.uniform(0.6, 2.0), friction=rng.uniform(0.06, 0.22))) for _ in range(60)]
    assert not any(one.packs_from for one in found)
    assert not any(one.going_back for one in found)
    assert sum(one.swing is not None for one in found) <= 2
    assert "No packing" in str(found[0].in_words()[0])


@pytest.mark.parametrize("pack", [0.4, 0.8])
def test_packing_is_seen_where_it_begins(pack):
    rng = np.random.default_rng(3)
    for _ in range(10):
        found = seen(trace(rng, pack=pack))
        assert found.packs_from == pytest.approx(14.5, abs=2.0)
        assert "chips pack" in str(found.in_words()[0])


@pytest.mark.parametrize("jam", [0.2, 0.4])
def test_packing_that_steepens_is_seen_on_its_way(jam):
    rng = np.random.default_rng(6)
    for _ in range(10):
        one = trace(rng, jam=jam)
        (found,) = traces.fitted(JOB, (one,))
        assert 14 <= traces.signs(JOB, one, found).packs_from <= 18
        assert found.whole.value == pytest.approx(1.0, rel=0.15)


@pytest.mark.parametrize("pack", [0.4, 0.8])
def test_factors_are_fitted_before_the_jam(pack):
    rng, near = np.random.default_rng(9), []
    for _ in range(10):
        one = trace(rng, whole=1.0, pack=pack)
        (found,) = traces.fitted(JOB, (one,))
        assert len(found.curve) < len(one.depth)
        near.append(found.whole.value)
        assert traces.signs(JOB, one, found).packs_from == pytest.approx(14.5, abs=2.0)
    assert np.mean(near) == pytest.approx(1.0, rel=0.1)
    assert abs(np.mean(near) - 1.0) < abs(measured.fit(JOB, one).whole.value - 1.0)


def test_a_sum_outside_the_ranges_is_not_split():
    (far,) = traces.fitted(JOB, (trace(np.random.default_rng(10), whole=3.0),))
    (near,) = traces.fitted(JOB, (trace(np.random.default_rng(10), whole=np.mean(far.whole.expected)),))
    assert "not determined" in " ".join(map(str, far.in_words()))
    assert "of it and crowding" in " ".join(map(str, near.in_words()))


def test_a_crooked_start_swings_once_a_turn():
    found = seen(trace(np.random.default_rng(4), swing=0.6))
    assert found.swing == pytest.approx(0.6, rel=0.25)
    assert "once a turn" in " ".join(map(str, found.in_words()))


def test_going_back_is_cut_off_before_the_fit_and_told():
    one = trace(np.random.default_rng(5), whole=1.4, back=2.0)
    assert measured.fit(JOB, traces.going_in(one)).whole.value == pytest.approx(1.4, rel=0.05)
    assert seen(one).going_back == pytest.approx(2.0, rel=0.25)


def test_wear_crosses_where_it_was_made_to():
    rng = np.random.default_rng(6)
    made = tuple(trace(rng, whole=0.8 + 0.05 * k) for k in range(8))
    found = traces.wear(JOB, traces.fitted(JOB, made))
    peaks = [(measured.shapes(JOB).made @ np.array([0.8 + 0.05 * k, 0.15])).max() for k in range(400)]
    at = 1 + int(np.argmax(np.array(peaks) > JOB.breakage.torque_range[0]))
    assert found.crosses[0] <= at <= found.crosses[1]
    assert found.growth == pytest.approx(np.diff(peaks)[0], abs=found.spread)
    level = traces.wear(JOB, traces.fitted(JOB, tuple(trace(rng, whole=1.0) for _ in range(8))))
    assert level.crosses is None or level.crosses[1] is None or level.crosses[0] > 30
    with pytest.raises(ValueError, match="at least three"):
        traces.wear(JOB, traces.fitted(JOB, made[:2]))


@pytest.mark.parametrize(
    ("line", "peak"),
    [
        # dry iron, 16 N·m at the end of its life: Gil Del Val et al., Coatings 2020, 10(5):464
        ("M12x1.5 straight plug | through 10.5 mm x 20 mm | EN-GJL-250", 16.0),
        # grey iron, 2 to 5 N·m over the life: Bezerra et al., CONEM 2004
        ("M8x1.25 spiral-point 4 threads | through 6.8 mm x 26 mm | EN-GJL-250", 3.5),
    ],
)
def test_a_trace_of_the_published_kind_is_followed(line, peak):
    """No openly published curve is at hand as numbers, only heights and what the curves look like; so a drawn one:
    torque that climbs while the chamfer goes in, runs level, and falls while it goes out, up to a published height:
    the fitted curve stays within a fifth of that height everywhere."""
    job = setupline.parse(line)
    ramp, end = job.tap.chamfer_length, job.hole.depth + job.tap.chamfer_length
    depth = np.linspace(0, float(job.torque_curve.depth[-1]), 200)
    values = peak * np.clip(np.minimum(depth / ramp, (end - depth) / ramp), 0, 1)
    found = measured.fit(job, Trace(depth, values))
    assert np.abs(found.curve - values).max() < peak / 5
    assert found.peak == pytest.approx(peak, rel=0.15)


@pytest.mark.parametrize(("form", "threads"), [("straight", 9.0), ("straight", 5.0), ("straight", 1.5),
                                               ("spiral-flute", 2.5), ("spiral-point", 5.0)])  # fmt: skip
def test_the_curve_has_the_shape_that_is_published(form, threads):
    """Of M8x1.25 in 6.8 mm, through 10 mm of S50C, piezoelectric torque: it rises as the threads of the chamfer enter,
    runs level once all of them cut until they come out, then falls to the end; nine threads, longer than the part, never
    run level, their slope is gentle and they take longest (a maker's technical pages, 2022, curves in a figure and
    these words, no numbers). The same two parts, chamfer then full thread, and a way back of friction alone, in small
    taps: J. Korean Soc. Precis. Eng. 2001 (abstract). Features, not readings: no published curve is at hand as numbers."""
    job = setupline.parse(f"M8x1.25 {form} {threads} threads | through 6.8 mm x 10 mm | C45")
    curve, long = job.torque_curve, job.tap.chamfer_length
    depth = np.linspace(0, curve.depth[-1], 2000)
    values = np.interp(depth, curve.depth, curve.torque) / curve.peak
    begins = depth[np.argmax(values > 1e-3)]  # the first threads of a long chamfer are smaller than the hole
    rises, falls = depth <= min(long, 10.0), depth >= max(long, 10.0 + begins)
    assert (np.diff(values[rises]) >= -1e-9).all()
    assert (np.diff(values[falls]) <= 1e-9).all()
    assert values[-1] == pytest.approx(0, abs=1e-6)
    level = (depth > long + job.tap.thread.pitch / job.tap.flutes) & (depth < 10.0)
    assert level.any() == (threads < 8)
    assert (values[level] > 0.97).all()
    assert curve.depth[-1] <= 10.0 + long + job.tap.thread.pitch
    assert curve.depth[-1] >= 10.0 + 0.5 * long


def test_a_long_chamfer_rises_gently_and_ends_late():
    """The same source, in order: 9, 5 and 1.5 threads."""
    jobs = [setupline.parse(f"M8x1.25 straight {n} threads | through 6.8 mm x 10 mm | C45") for n in (9, 5, 1.5)]
    halfway = [float(c.depth[np.argmax(c.torque > c.peak / 2)]) for c in (job.torque_curve for job in jobs)]
    assert halfway == sorted(halfway, reverse=True)
    ends = [float(job.torque_curve.depth[-1]) for job in jobs]
    assert ends == sorted(ends, reverse=True)
    for job in jobs:
        back = job.expected_torque.going_back
        assert 0 < back[0] < job.expected_torque.peak[0]


def test_a_table_tells_hole_from_hole():
    rows = "".join(f"{h};{z};{z / 10 + h}\n" for h in (1, 2) for z in range(15))
    found = tracefile.traces_of(spreadsheet.read_sheet(f"hole;depth [mm];torque [N·m]\n{rows}".encode()), "a.csv")
    assert [float(one.torque[0]) for one in found] == [1.0, 2.0]


def test_the_panel_shows_example_reading_and_files():
    panel = panels.measured_torque()
    assert panel.problem is None
    assert "chips pack" in panel.table.value
    assert "between hole" in panel.sentence
    panel.set(source="reading", wrench=300, pull=40)
    assert "12 N·m" in panel.sentence
    panel.set(source="file")
    assert "no file is loaded" in panel.problem
    job = panel.model.told.job
    turns = panel.values.speed * 1000 / (np.pi * job.tap.thread.major) / 60
    at = np.linspace(0, job.hole.depth, 300)
    load = measured.shapes(job).at(at) @ np.array([1.0, 0.15]) / 0.3
    rows = (b"%.3f;%.3f\n" % row for row in zip(at / (turns * job.tap.thread.lead), load))
    panel.load({"spindle.csv": b"time [s];load [%]\n" + b"".join(rows)})
    assert "needs a scale" in panel.problem
    panel.set(scale=0.3)
    assert panel.problem is None
    panel.load({"wrong.csv": b"time [s];load [%]\n1;x\n" + b"2;3\n" * 20})
    assert "line 2" in panel.problem
    assert "'x'" in panel.problem
    assert panel.reset().problem is None


@pytest.mark.parametrize("air", [0.0, 5.0])
def test_a_trace_that_goes_on_past_the_part_is_not_explained_by_torque_nobody_read(air):
    job = Operation.parse("M10 plug", "through 8.5 mm x 20 mm", "C45")
    depth = np.linspace(0, 30, 61) + air
    flat = Trace(depth, np.clip((depth - air) / 8, 0, 1) * 6.9)
    with pytest.raises(ValueError, match="does not rise as this job does"):
        traces.fitted(job, (flat,))
