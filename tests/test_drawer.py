"""The drawer: rows become taps, bad rows are told by line and column, and two writers lose nothing."""

import csv
import json
import multiprocessing
from pathlib import Path

import pytest

from tapkit import Tap, drawer, parameters
from tapkit.cli import main

FILE = """name;thread;form;flutes;chamfer;radial rake;core [in];class;coating;condition;regrinds;shelf
A7;M10x1.5;spiral-point;3;4;12;;2;TiN;sharp;2026-03-02 0.5 threads, 2026-09-14 0.25;top
B1;1/4-20;spiral flute;;bottoming;;0.09;;;worn;;
B2;M10;spiral-point;3;4;99;;;;;;
B3;M10;spiral-point;three;4;;;;;;;
A7;M8;plug;;;;;;;;;
;M8;;;;;;;;;;
B4;M8;sideways;;;;;;;;;
B5;M8;;;;;;;;;last week;
"""


def test_rows_become_taps_and_bad_ones_sentences(tmp_path):
    file = tmp_path / "taps.csv"
    file.write_text(FILE)
    found = drawer.contents(file)
    assert list(found.taps) == ["A7", "B1"]
    one = found.taps["A7"]
    assert one.tap == Tap.make("M10x1.5", "spiral-point", 4, flutes=3, radial_rake=12)
    assert (one.coating, one.condition, one.values["tap_class"]) == ("TiN", "sharp", "2")
    assert one.now.chamfer_threads == pytest.approx(3.25)
    assert found.taps["B1"].tap.core_diameter == pytest.approx(0.09 * 25.4)
    assert found.taps["B1"].tap.name == "spiral-flute bottoming"
    told = [str(p) for p in found.problems]
    for line, words in zip(
        (4, 5, 6, 7, 8, 9), ("radial rake of 99", "'flutes'", "'name'", "'name'", "'form'", "'regrinds'")
    ):
        assert any(t.startswith(f"line {line}:") and words in t for t in told), (line, told)
    assert len(told) == 6


def test_a_tap_of_the_drawer_goes_to_work(tmp_path):
    file = tmp_path / "taps.csv"
    file.write_text(FILE)
    values = {**drawer.contents(file).taps["A7"].values, "hole": 8.5, "depth": 15.0}
    job = parameters.job_from(values)
    assert job.faults.regrind_shorter == pytest.approx(0.75)
    assert job.tap_class == "2"


def test_what_is_put_stays_and_nothing_else_changes(tmp_path):
    file = tmp_path / "taps.csv"
    file.write_text(FILE)
    drawer.put(file, {"name": "C1", "thread": "M6", "form": "straight", "Length": "80"})
    drawer.put(file, {"name": "A7", "thread": "M10x1.5", "form": "spiral-point", "radial rake": "14"})
    lines = file.read_text("utf-8-sig").splitlines()
    assert lines[0].split(";") == [*FILE.splitlines()[0].split(";"), "Length"]
    assert lines[1].split(";")[5] == "14"
    assert lines[1].split(";")[-2] == "top"
    assert [one.split(";")[:4] for one in lines[2:9]] == [one.split(";")[:4] for one in FILE.splitlines()[2:]]
    assert drawer.contents(file).taps["C1"].tap.thread.designation == "M6x1"
    drawer.take_out(file, "C1")
    assert "C1" not in drawer.contents(file).taps
    before = file.read_bytes()
    with pytest.raises(ValueError, match="there is no tap"):
        drawer.take_out(file, "C1")
    with pytest.raises(ValueError, match="'flutes'"):
        drawer.put(file, {"name": "D", "thread": "M6", "flutes": "many"})
    assert file.read_bytes() == before


def write_some(file, who, writes):
    for i in range(writes):
        drawer.put(file, {"name": f"{who}{i % 20}", "thread": "M6", "form": "straight", "condition": f"write {i}"})
        if i % 7 == 6:
            drawer.put(file, {"name": f"{who}-out", "thread": "M6"})
            drawer.take_out(file, f"{who}-out")


def look_on(file, writes, end):
    """Somebody who reads meanwhile finds a whole file each time, and no tap once seen ever gone."""
    seen = set()
    while not end.is_set():
        found = drawer.contents(file)
        assert not found.problems
        stay = {name for name in found.taps if not name.endswith("-out")}
        assert seen <= stay
        seen |= stay


@pytest.mark.parametrize("writes", [60, pytest.param(2000, marks=[pytest.mark.slow, pytest.mark.timeout(3600)])])
def test_two_who_write_lose_nothing(tmp_path, writes):
    """Two processes and a third that reads: of each tap the last state each wrote is there, and nothing else."""
    file, context = tmp_path / "taps.csv", multiprocessing.get_context("spawn")
    end = context.Event()
    writers = [context.Process(target=write_some, args=(file, who, writes)) for who in ("a", "b")]
    reader = context.Process(target=look_on, args=(file, writes, end))
    for one in (*writers, reader):
        one.start()
    for one in writers:
        one.join()
    end.set()
    reader.join()
    assert [one.exitcode for one in (*writers, reader)] == [0, 0, 0]
    last = {f"{who}{i % 20}": f"write {i}" for who in ("a", "b") for i in range(writes)}
    assert {name: own.condition for name, own in drawer.contents(file).taps.items()} == last
    assert sorted(p.name for p in tmp_path.iterdir()) == ["taps.csv", "taps.csv.lock"]


@pytest.mark.parametrize("code", ["utf-8-sig", "utf-16", "cp1252"])
def test_a_drawer_a_spreadsheet_program_saved(tmp_path, code):
    """Semicolons, a byte order mark or a code page, decimal commas, CRLF, quoted cells, empty cells to the right: read,
    and after a tap is put in every cell is as it was."""
    file = tmp_path / "taps.csv"
    rows = [
        "name;thread;form;flutes;chamfer;radial rake;core;coating;condition;regrinds;Prüfer;;",
        'A7;M10x1,5;spiral-point;3;3,5;12,5;4,65;TiN;"sharp; kept dry";2026-03-02 0,5 threads;Größe;;',
        "B1;1/4-20;spiral-flute;3;2;8;4,0 mm;;;;;;",
    ]
    file.write_bytes("\r\n".join([*rows, ""]).encode(code))
    found = drawer.contents(file)
    assert found.problems == ()
    tap, own = found.taps["A7"].tap, found.taps["A7"]
    assert (tap.thread.pitch, tap.chamfer_threads, tap.radial_rake, tap.core_diameter) == (1.5, 3.5, 12.5, 4.65)
    assert own.condition == "sharp; kept dry"
    assert own.regrinds[0].shorter == 0.5
    assert found.taps["B1"].tap.core_diameter == 4.0
    drawer.put(file, {"name": "C1", "thread": "M6", "form": "straight"})
    after = list(csv.reader(file.read_text("utf-8-sig").splitlines(), delimiter=";"))
    assert after[:3] == list(csv.reader(rows, delimiter=";"))
    assert list(drawer.contents(file).taps) == ["A7", "B1", "C1"]


def test_where_nothing_can_be_written(tmp_path):
    assert drawer.contents(tmp_path / "none.csv") == drawer.Contents({}, ())
    with pytest.raises(ValueError, match="cannot write"):
        drawer.put(Path(tmp_path / "no folder" / "taps.csv"), {"name": "A", "thread": "M6"})


def test_the_report_takes_a_tap_of_the_drawer(tmp_path, capsys):
    file = tmp_path / "taps.csv"
    file.write_text(FILE)
    drawn = ["report", "A7", "--drawer", str(file), "--hole", "through 8.5 mm x 15 mm", "--json"]
    assert main([*drawn, "--work", "42CrMo4"]) == 0
    told = json.loads(capsys.readouterr().out)["set_up"]
    assert told == (
        "M10x1.5 spiral-point 4 threads, hook 12°, reground 0.75 threads shorter | "
        "through 8.5 mm x 15 mm | 42CrMo4, class 2"
    )
    assert main(["report", "Z9", "--drawer", str(file), "--hole", "through 8.5 x 15"]) == 2
    assert "line 4" in capsys.readouterr().err
