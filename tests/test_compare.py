"""Two jobs side by side: lines, marks of change, CSV and JSON."""

import csv
import io
import json

import pytest

from tapkit import Operation, compare

A = Operation.parse("M10x1.5 spiral-point plug", "through 8.5 mm x 15 mm", "C45")
B = Operation.parse("M10x1.5 spiral-flute bottoming", "blind 8.5 mm x 25 mm", "C45")


def line(label, what="results", jobs=(A, B)):
    return next(x for x in compare.lines(jobs, what) if str(x.label) == label)


def test_values_are_those_of_the_jobs():
    assert line("Sum of the tooth forces alone, as torque").values == (A.torque_curve.peak, B.torque_curve.peak)
    assert tuple(map(str, line("Chips go").values)) == ("ahead of the point", "toward the shank")


def test_change_is_marked_in_words_and_sign():
    up = line("Largest force on a tooth")
    ratio = B.tooth_loads.force.max() / A.tooth_loads.force.max()
    assert str(up.change()) == f"▲ {100 * (ratio - 1):.0f} %"
    assert str(line("Sum of the tooth forces alone, as torque").change()).startswith("▼")
    assert str(line("Chips go").change()) == "◆ other"
    assert line("Percent of thread, handbook custom").change() == ""


def test_a_job_against_itself_differs_nowhere():
    assert compare.differing([A, A.with_()]) == ()
    assert compare.differing([A, A.with_()], "results") == ()


def test_inputs_that_differ_are_exactly_those_changed():
    other = A.with_(wear_factor=1.2, tap=A.tap.with_(radial_rake=5.0))
    assert {str(x.label) for x in compare.differing([A, other])} == {"Radial rake", "Wear factor"}


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_csv_reads_back_as_numbers_in_the_unit_beside_them(system):
    rows = list(csv.DictReader(io.StringIO(compare.as_csv({"A": A, "B": B}, system))))
    hole = next(r for r in rows if r["quantity"] == "Hole diameter")
    assert hole["unit"] == ("mm" if system == "metric" else "in")
    assert float(hole["A"]) == pytest.approx(8.5 if system == "metric" else 8.5 / 25.4)
    assert {r["part"] for r in rows} == {"inputs", "results"}


def test_the_values_of_one_line_have_as_many_decimals():
    line = compare.ComparedLine(compare.Sentence("thickest chip"), (0.08, 0.2007), "length", 4)
    assert line.shown() == ("0.080 mm", "0.201 mm")
    assert line.shown("inch") == ("0.0031 in", "0.0079 in")


def test_json_holds_inputs_results_units_and_cautions():
    data = json.loads(compare.as_json({"A": A, "B": B}))
    assert data["B"]["inputs"]["Part thickness, or drilled depth"] == {"value": 25.0, "unit": "mm"}
    assert data["A"]["results"]["Sum of the tooth forces alone, as torque"]["unit"] == "N·m"
    assert data["A"]["cautions"] == [str(c) for c in A.cautions]
