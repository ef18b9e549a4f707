"""Many jobs at once: the same numbers as one by one, errors beside their lines, any separator, nothing half written."""

import csv
import io
import random
import time

import numpy as np
import pytest

from tapkit import Operation, Thread, batch, parameters, setupline, whatif
from tapkit.cli import main
from tapkit.geometry.fluteform import flute_forms
from tapkit.mechanics.expected import fluids
from tapkit.mechanics.workpiece import workpiece_names
from tapkit.panels.common import thread_names

JOBS = """tap{s}hole{s}work{s}part no{s}core [in]{s}radial rake
M10x1.5 spiral-point plug{s}through 8.5 mm x 15 mm{s}C45{s}17{s}{s}
1/4-20 plug{s}blind #7 x 0.75 in{s}1018{s}18{s}0.1{s}8
M10 plug{s}through 11 mm x 15 mm{s}C45{s}19{s}{s}
M10x1.5 spiral-point 4 threads, hook 12° | through 8.5 mm x 15 mm | C45, dry{s}{s}{s}20{s}{s}
"""


@pytest.mark.parametrize("separator", [";", "\t", ","])
@pytest.mark.parametrize("code", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_a_file_of_jobs(tmp_path, capsys, separator, code):
    text = JOBS
    if separator == ",":
        text = text.replace("M10x1.5 spiral-point 4 threads, hook 12° | through 8.5 mm x 15 mm | C45, dry",
                            '"M10x1.5 spiral-point 4 threads, hook 12° | through 8.5 mm x 15 mm | C45, dry"')  # fmt: skip
    source, out = tmp_path / "jobs.csv", tmp_path / "results.csv"
    source.write_bytes(text.format(s=separator).encode(code))
    assert main(["report", "--batch", str(source), "--out", str(out)]) == 0
    told = capsys.readouterr().err
    assert "'part no'" in told
    assert "4 jobs, 1 of them with an error" in told
    rows = list(csv.DictReader(io.StringIO(out.read_text("utf-8-sig")), delimiter=separator))
    one = Operation.parse("M10x1.5 spiral-point plug", "through 8.5 mm x 15 mm", "C45")
    assert float(rows[0]["peak_torque [N·m]"]) == pytest.approx(one.torque_curve.peak, rel=1e-5)
    assert float(rows[0]["expected_high [N·m]"]) == pytest.approx(one.expected_torque.peak[1], rel=1e-5)
    assert rows[2]["peak_torque [N·m]"] == ""
    assert "11 mm" in rows[2]["error"]
    assert [row["part no"] for row in rows] == ["17", "18", "19", "20"]
    dry = one.with_(tap=one.tap.with_(radial_rake=12), fluid="dry")
    assert float(rows[3]["expected_low [N·m]"]) == pytest.approx(dry.expected_torque.peak[0], rel=1e-5)
    assert [p.name for p in tmp_path.iterdir() if p.suffix == ".part"] == []


def test_arrays_are_one_by_one_and_cost_little_more_than_the_sweep():
    rng = np.random.default_rng(5)
    n = 2000
    chamfer, rake, bore = rng.uniform(1.5, 8, n), rng.uniform(0, 15, n), rng.uniform(8.4, 8.8, n)
    columns = dict(tap=["M10x1.5 spiral-flute"] * n, hole=bore, depth=[15.0] * n, chamfer=chamfer, radial_rake=rake)
    began = time.process_time()
    found = batch.results(columns)
    spent = time.process_time() - began
    assert not any(found.errors)
    jobs = []
    for i in range(n):
        job = Operation.parse("M10x1.5 spiral-flute", "through 8.5 x 15")
        hole = job.hole.with_(diameter=bore[i])
        jobs.append(job.with_(hole=hole, tap=job.tap.with_(chamfer_threads=chamfer[i], radial_rake=rake[i])))
    began = time.process_time()
    other = whatif.solve(jobs, exact=True)
    alone = time.process_time() - began
    np.testing.assert_allclose(found.results.expected_high, other.expected_high, rtol=1e-12)
    off = np.abs(found.results.breaking_low / other.breaking_low - 1)  # many sections alike are taken from a lattice
    assert off.max() < 2e-3
    assert np.quantile(off, 0.98) < 1e-3
    assert spent < 6 * alone


def mixed(n, seed=7):
    """Jobs of all sizes, forms, metals and fluids, with bad lines among them."""
    rng, columns = random.Random(seed), {k: [] for k in ("tap", "hole", "work", "chamfer", "radial rake", "fluid")}
    for i in range(n):
        thread = Thread.parse(rng.choice(thread_names()))
        bore, deep = thread.major - thread.pitch * rng.uniform(0.9, 1.05), thread.major * rng.uniform(1, 3)
        row = (
            f"{thread.designation} {rng.choice(flute_forms()).key}" if i % 37 else "M10 sideways",
            f"{rng.choice(['through', 'blind'])} {bore:.3f} mm x {deep:.2f} mm",
            rng.choice(workpiece_names()) if i % 41 else "cheese",
            f"{rng.uniform(1.5, 8):.2f}",
            rng.choice(["", "", "5", "8", "12"]),
            rng.choice(fluids()),
        )
        for column, cell in zip(columns.values(), row):
            column.append(cell)
    return columns


def test_mixed_jobs_are_as_each_alone():
    """400 jobs, so that no way is taken that only many take, against the report of a tenth of them alone."""
    columns = mixed(400)
    found = batch.results(columns)
    assert {i for i, error in enumerate(found.errors) if error} == {i for i in range(400) if not (i % 37 and i % 41)}
    for i in random.Random(1).sample([i for i in range(400) if found.errors[i] is None], 40):
        cells = {name: column[i] for name, column in columns.items()}
        read = (batch.read_cell(batch.column_reader(name), cell) for name, cell in cells.items() if cell)
        job = parameters.job_from(dict(pair for pairs in read for pair in pairs))
        at, now = job.expected_torque.open_from, found.results
        assert found.jams_at[i] == pytest.approx(np.nan if at is None else at, rel=1e-9, nan_ok=True)
        alone = dict(
            peak_torque=job.torque_curve.peak,
            largest_force=job.tooth_loads.force.max(),
            full_ratio=job.chip_room.full_ratio,
            breaking_low=job.breakage.torque_range[0],
            breaking_high=job.breakage.torque_range[1],
        )
        if at is None:
            alone |= dict(expected_high=job.expected_torque.peak[1], margin_low=job.breakage.margin_range[0])
            alone |= dict(expected_low=job.expected_torque.peak[0], margin_high=job.breakage.margin_range[1])
        for name, value in alone.items():
            assert getattr(now, name)[i] == pytest.approx(value, rel=1e-9), (cells, name)


def test_set_up_lines_alone_need_no_quotes(tmp_path):
    table = batch.read_table("set-up\nM10 plug, hook 8° | through 8.5 x 15\nM10 plug | sideways\n".encode())
    found, passed_by = batch.solve_table(table)
    assert passed_by == ()
    assert found.errors[0] is None
    assert "sideways" in str(found.errors[1])


@pytest.mark.parametrize(
    ("content", "words"),
    [("", "holds no jobs"), ("tap;hole\n", "holds no jobs"), ("part;hole\n1;through 8.5 x 15", "names a tap")],
)
def test_bad_tables(tmp_path, capsys, content, words):
    source = tmp_path / "jobs.csv"
    source.write_text(content)
    assert main(["report", "--batch", str(source), "--out", str(tmp_path / "out.csv")]) == 2
    assert words in capsys.readouterr().err
    assert not (tmp_path / "out.csv").exists()


def test_what_cannot_be_read_or_written(tmp_path, capsys):
    assert main(["report", "--batch", str(tmp_path / "none.csv"), "--out", "x"]) == 2
    assert "cannot read" in capsys.readouterr().err
    assert main(["report", "--batch", "x.csv"]) == 2
    assert "--out" in capsys.readouterr().err
    assert main(["report"]) == 2
    assert "no tap is given" in capsys.readouterr().err
    long = batch.read_table(b"tap;hole\nM10 plug;through 8.5 x 15;more;cells\n")
    assert "4 cells" in str(batch.solve_table(long)[0].errors[0])


def test_where_chips_jam_the_torque_has_no_upper_end(tmp_path):
    """Every hole, metal and flute form of the grid against the ledger of that job alone."""
    forms, kinds, deep = ("straight", "spiral-point", "spiral-flute"), ("through", "blind"), (8.0, 22.0, 45.0)
    lines = [
        f"M10x1.5 {form} plug | {kind} 8.5 mm x {z} mm | {work}"
        for form in forms for kind in kinds for z in deep for work in ("C45", "EN-GJL-250")
    ]  # fmt: skip
    found = batch.results({"tap": lines})
    ones = [setupline.parse(line).expected_torque for line in lines]
    expected = [np.nan if one.open_from is None else one.open_from for one in ones]
    np.testing.assert_allclose(found.jams_at, expected, rtol=1e-9)
    assert 0 < np.isinf(found.results.expected_high).sum() < len(lines)
    np.testing.assert_array_equal(np.isinf(found.results.expected_high), np.isfinite(found.jams_at))
    np.testing.assert_array_equal(found.results.margin_low == 0, np.isfinite(found.jams_at))
    text = batch.written(batch.read_table("\n".join(["set-up", *lines]).encode()), found)
    assert ";inf;" in text.replace(",", ";")
