"""Measured torque: traces made by the model itself, with noise, give back the factors within the stated spread."""

import numpy as np
import pytest

from tapkit import Operation, measured, spreadsheet, tracefile
from tapkit.measured import Trace

JOB = Operation.parse("M10x1.5 spiral-point plug", "through 8.5 mm x 20 mm", "C45")


def made(rng, job=JOB, whole=1.6, friction=0.3, shift=0.0, idle=0.0, noise=0.2, readings=200):
    """A trace by the sum of the shares, not by the code that fits: the tooth forces and the thread in the hole."""
    end = job.torque_curve.depth[-1]
    depth = np.linspace(0.0, end, readings)
    full = job.torque_curve.peak
    cut = np.interp(depth, job.torque_curve.depth, job.torque_curve.torque)
    thread = np.clip(depth, None, 24.0) - np.maximum(job.tap.chamfer_length / 2, depth - job.hole.depth)
    usual = 2 * job.tap.thread.major - job.tap.chamfer_length / 2
    way = np.clip(thread, 0, None) / usual
    values = whole * cut + friction * full * way + idle + rng.normal(0, noise, readings)
    return Trace(depth + shift, values)


def test_factors_come_back_within_their_spread_in_95_of_100():
    rng, inside = np.random.default_rng(19), np.zeros(2)
    for _i in range(1000):
        whole, friction = rng.uniform(0.8, 2.5), rng.uniform(0.05, 0.8)
        trace = made(rng, whole=whole, friction=friction, shift=rng.uniform(-2, 2), idle=rng.uniform(0, 1))
        found = measured.fit(JOB, trace)
        inside += [found.whole.low <= whole <= found.whole.high, found.friction.low <= friction <= found.friction.high]
    assert (inside >= 935).all(), inside  # 950 less two standard deviations of a binomial count
    assert (inside <= 985).all(), inside  # and the spread is no wider than it need be


def test_without_noise_everything_comes_back():
    found = measured.fit(JOB, made(np.random.default_rng(0), shift=1.3, idle=0.5, noise=0.0))
    assert found.whole.value == pytest.approx(1.6, rel=1e-3)
    assert found.friction.value == pytest.approx(0.3, rel=1e-2)
    assert found.shift == pytest.approx(1.3, abs=5e-3)
    assert found.idle == pytest.approx(0.5, abs=1e-2)
    assert found.whole.determined == "well"


def test_readings_that_hang_together_make_the_spread_wider():
    rng = np.random.default_rng(3)
    trace = made(rng)
    slow = Trace(
        trace.depth, made(rng, noise=0.0).torque + np.convolve(rng.normal(0, 0.2, 219), np.ones(20) / 4.5, "valid")
    )
    assert measured.fit(JOB, slow).whole.high - measured.fit(JOB, slow).whole.low > 1.5 * (
        measured.fit(JOB, trace).whole.high - measured.fit(JOB, trace).whole.low
    )


def test_a_short_trace_says_how_little_it_determines():
    found = measured.fit(JOB, made(np.random.default_rng(1), readings=14, noise=2.0))
    assert found.friction.determined == "not"
    assert "hardly determines" in str(found.in_words()[1])


def test_the_margin_is_of_the_curve_that_was_measured():
    found = measured.fit(JOB, made(np.random.default_rng(2), whole=2.0, friction=0.0, noise=0.01, idle=1.0))
    assert found.peak == pytest.approx(2 * JOB.torque_curve.peak, rel=0.02)
    assert found.margin[0] == pytest.approx(JOB.breakage.torque_range[0] / found.peak)
    assert found.idle == pytest.approx(1.0, abs=0.05)


def test_one_reading_scales_the_curve_and_says_what_it_cannot_tell():
    assert measured.wrench_torque(250, 40) == 10.0
    low, high = JOB.expected_torque.peak
    found = measured.from_reading(JOB, (low + high) / 2)
    assert found.peak == pytest.approx((low + high) / 2)
    assert not found.whole.told
    assert found.whole.low < found.whole.value < found.whole.high
    assert "one reading" in str(found.in_words()[0])
    with pytest.raises(ValueError, match="nothing is cut yet"):
        measured.from_reading(JOB, 5.0, depth=0.0)
    with pytest.raises(ValueError, match="above 0"):
        measured.from_reading(JOB, -5.0)


def read_trace(file, **more):
    return tracefile.traces_of(tracefile.trace_sheet(spreadsheet.bytes_of(file)), str(file), **more)[0]


@pytest.mark.parametrize("separator", [";", "\t", ",", "|", " "])
@pytest.mark.parametrize(
    ("heads", "unit", "more"),
    [
        (("depth [mm]", "torque [N·m]"), (1.0, 1.0), {}),
        (("depth (in)", "torque (in·lbf)"), (25.4, 0.112984829), {}),
        (("time [s]", "load [%]"), (8.0, 0.24), dict(feed=8.0, scale=0.24)),
        (("time [s]", "current [A]"), (8.0, 1.2), dict(feed=8.0, scale=1.2)),
    ],
)
def test_files_of_traces(tmp_path, separator, heads, unit, more):
    trace = made(np.random.default_rng(4))
    rows = [f"{z / unit[0]!r}{separator}{m / unit[1]!r}" for z, m in zip(*(c.tolist() for c in trace))]
    file = tmp_path / "trace.csv"
    file.write_text("\n".join([separator.join(heads), *rows]), encoding="utf-8")
    found = read_trace(file, **more)
    np.testing.assert_allclose(found.depth, trace.depth, rtol=1e-7)
    np.testing.assert_allclose(found.torque, trace.torque, rtol=1e-7)


@pytest.mark.parametrize(
    ("start", "line", "more"),
    [
        ("Spindle log 2026-03-02\nMachine: 2\n\nDepth (mm);Torque (Nm)\n", "{z};{m}", {}),
        ("# export\n# rate, 100 Hz\ndepth [mm],torque [N·m]\n", "{z},{m}", {}),
        ("depth;torque\nmm;Nm\n", "{z};{m}", {}),
        ("log\ndepth;torque\n[mm];(Nm)\n", "{z};{m}", {}),
        ("depth mm\ttorque N·m\n", "{z}\t{m}", {}),
        ("t [ms];M [N·m]\n", "{ms};{m}", dict(feed=8.0)),
        ("depth [mm];torque [ft-lb]\n", "{z};{ftlb}", {}),
        ("index;depth [mm];speed [rpm];torque [N·m]\n", "1;{z};400;{m}", {}),
        ("time, s;load, %\n", "{s};{percent}", dict(feed=8.0, scale=0.25)),
        ("depth [mm] | torque [N·m]\n", "{z} | {m}", {}),
        ("| time [s] | current [A] |\n", "| {s} | {percent} |", dict(feed=8.0, scale=0.25)),
        ("spindle log\ndepth [mm] torque [N·m]\n", "{z} {m}", {}),
        ("  depth     torque\n  mm        Nm\n", "  {z}   {m}", {}),
    ],
)
@pytest.mark.parametrize("comma", [False, True])
def test_logs_as_machines_write_them(tmp_path, start, line, more, comma):
    depth = np.linspace(0, 20, 40)
    values = np.clip(depth, 0, 8) + 0.5
    rows = [
        line.format(**{k: f"{v:.6f}" for k, v in
                       dict(z=z, m=m, s=z / 8, ms=z * 125, ftlb=m / 1.3558179, percent=m / 0.25).items()})
        for z, m in zip(depth, values)
    ]  # fmt: skip
    if comma and "," not in start.splitlines()[-1]:
        rows = [row.replace(".", ",") for row in rows]
    file = tmp_path / "log.txt"
    file.write_text(start + "\n".join(rows), "utf-8")
    found = read_trace(file, **more)
    np.testing.assert_allclose(found.depth, depth, atol=1e-4)
    np.testing.assert_allclose(found.torque, values, atol=1e-4)


def test_a_bad_line_of_a_log_is_told_by_its_number_in_the_file(tmp_path):
    file = tmp_path / "log.txt"
    file.write_text("log\n\ndepth;torque\nmm;Nm\n" + "1;2\n" * 15 + "1;two\n", "utf-8")
    with pytest.raises(ValueError, match="line 20, column 'torque"):
        read_trace(file)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("depth [mm];torque [N·m]\n1;2\n", "holds no trace"),
        ("depth;torque [N·m]\n" + "1;2\n" * 20, "bears no unit"),
        ("time [s];torque [N·m]\n" + "1;2\n" * 20, "needs the feed"),
        ("depth [mm];load [%]\n" + "1;2\n" * 20, "needs a scale"),
        ("depth [mm];torque [N·m]\n" + "1;2\n" * 15 + "1;two\n", "line 17, column 'torque"),
        ("depth [kg];torque [N·m]\n" + "1;2\n" * 20, "kg"),
    ],
)
def test_bad_traces_get_one_sentence(tmp_path, content, words):
    file = tmp_path / "trace.csv"
    file.write_text(content, encoding="utf-8")
    with pytest.raises(ValueError, match=words):
        read_trace(file)


def test_a_trace_of_something_else_is_refused():
    depth = np.linspace(0, 20, 50)
    with pytest.raises(ValueError, match="rises nowhere"):
        measured.fit(JOB, Trace(depth, -5 * np.ones(50) - depth), align=False, idle=False)
