"""The door: numbers, units and text, in and out."""

import math
import time

import pint
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tapkit import door, tables, units


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("8.5", "length", 8.5),
        ("8,5", "length", 8.5),
        ("8.5 mm", "length", 8.5),
        ("8.5mm", "length", 8.5),
        (".335 in", "length", 8.509),
        ("1/4 in", "length", 6.35),
        ('1 1/2"', "length", 38.1),
        ('1½"', "length", 38.1),
        ("3 thou", "length", 0.0762),
        ("25 µm", "length", 0.025),
        ("1.2e3", "length", 1200.0),
        ("−12°", "angle", -12.0),
        ("-12 deg", "angle", -12.0),
        ("0.1 rad", "angle", math.degrees(0.1)),
        ("50 sfm", "speed", 50 * 0.3048),
        ("10 m/min", "speed", 10.0),
        ("2 kN", "force", 2000.0),
        ("1 lbf", "force", 4.4482216152605),
    ],
)
def test_answers_people_type(text, kind, value):
    assert door.read(text, kind) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("value", "kind", "says"),
    [
        ("8.5 kg", "length", "cannot read the unit"),
        ("8.5 deg", "length", "is a angle, and a length is wanted|is an angle"),
        ("", "length", "as a number"),
        ("1/0", "length", "divides by zero"),
        ("nan", "length", "as a number"),
        (float("nan"), "length", "one can measure"),
        (float("inf"), "length", "one can measure"),
        (None, "length", "is not a length"),
        (object(), "angle", "is not a angle|is not an angle"),
        ("9" * 200, "length", "characters"),
        ("__import__('os')", "length", "as a number"),
        ("1e999", "length", "too large a number"),
        ("-10 m/min", "speed", "not a cutting speed one can measure"),
        ("-1", "time", "not a time one can measure"),
    ],
)
def test_what_is_no_measurement_is_refused_in_one_sentence(value, kind, says):
    with pytest.raises(ValueError, match=says) as caught:
        door.read(value, kind)
    assert "\n" not in str(caught.value)


@given(st.text(max_size=200), st.sampled_from(sorted(units.UNIT)))
@example("1" * 119, "length")
@example("1/" + "9" * 100, "length")
@example(" " * 119, "angle")
@example("١٢ mm", "length")
def test_any_text_gives_a_finite_number_or_one_sentence_soon(text, kind):
    start = time.thread_time()
    try:
        value = door.read(text, kind)
    except ValueError:
        value = 0.0
    assert math.isfinite(value)
    assert time.thread_time() - start < 0.5  # pint's first load is the slow one


@given(st.floats(-1e6, 1e6), st.sampled_from(["mm", "in", "µm", "thou", "cm", "m"]))
def test_our_factors_are_pints(number, unit):
    ureg = door.registry()
    word = {"in": "inch", "µm": "um"}.get(unit, unit)
    assert door.length(f"{number!r} {unit}") == pytest.approx(ureg.Quantity(number, word).to("mm").magnitude, rel=1e-12)


@given(st.floats(0.001, 1e5), st.sampled_from(sorted(units.UNIT)), st.sampled_from(["metric", "inch"]))
def test_what_is_shown_reads_back(value, kind, system):
    shown = units.show(value, kind, system, decimals=14)
    if (
        kind in ("area", "volume", "stress", "rotation", "time", "power")
        and door.kind_of_unit(units.unit_label(kind, system)) is None
    ):
        return
    assert door.read(shown, kind) == pytest.approx(value, rel=1e-6, abs=1e-6)


def test_quantities_pass_through_the_door():
    ureg = door.registry()
    assert door.length(ureg.Quantity(1, "inch")) == pytest.approx(25.4)
    with pytest.raises(ValueError, match=r"try '8\.5 mm'"):
        door.length(ureg.Quantity(1, "second"))
    assert isinstance(ureg, pint.UnitRegistry)
    assert door.registry() is ureg


@pytest.mark.parametrize(
    ("value", "kind", "system", "shown"),
    [
        (8.5, "length", "metric", "8.5 mm"),
        (25.4, "length", "inch", "1 in"),
        (-0.0, "length", "metric", "0 mm"),
        (7.946, "torque", "metric", "7.95 N·m"),
        (-12.0, "angle", "metric", "−12°"),
        (1400, "stress", "metric", "1400 N/mm²"),
    ],
)
def test_how_values_are_printed(value, kind, system, shown):
    assert units.show(value, kind, system) == shown


def test_bare_numbers_take_the_unit_they_are_told():
    assert door.read("0.5", "length", bare="in") == 12.7
    assert door.read(0.5, "length", bare="in") == 12.7
    assert door.read("0.5 mm", "length", bare="in") == 0.5


@pytest.mark.parametrize("system", units.SYSTEMS)
@pytest.mark.parametrize("kind", sorted(units.UNIT))
def test_every_kind_has_an_example_that_reads(kind, system):
    shown = str(door.example(kind, system)).strip("'")
    assert units.unit_label(kind, system) in shown
    assert door.read(shown, kind) > 0


@pytest.mark.parametrize("row", tables.rows("unit_spellings"), ids=lambda row: row["unit"])
def test_factors_and_spellings_are_pints(row):
    own = pint.UnitRegistry(cache_folder=None).Quantity(1.0, row["unit"])
    assert float(row["factor"]) == pytest.approx(own.to(units.UNIT[row["kind"]]).magnitude, rel=1e-14)
    for spelling in row["spellings"].split("|"):
        assert door.read(f"3 {spelling}", row["kind"]) == pytest.approx(3 * float(row["factor"]), rel=1e-14)


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("0.1 ft", "length", 30.48),
        ("2 kgf", "force", 19.6133),
        ("1 kgf·m", "torque", 9.80665),
        ("20 bar", "stress", 2.0),
    ],
)
def test_units_beyond_those_of_the_trade(text, kind, value):
    assert door.read(text, kind) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind"), [("3 kg", "force"), ("4 mm**9999999", "length"), ("20 degC", "stress"), ("2 Hz", "rotation")]
)
def test_units_of_something_else(text, kind):
    with pytest.raises(ValueError, match="cannot read the unit"):
        door.read(text, kind)


def test_a_bare_number_is_in_the_chosen_system_and_a_bare_fraction_among_metric_ones_is_asked_about():
    assert door.length(".5", "inch") == door.length("1/2", "inch") == 12.7
    assert door.read("30", "speed", system="inch") == pytest.approx(9.144)
    with pytest.raises(ValueError, match="in inches or in mm"):
        door.length("1/2")


@pytest.mark.parametrize("name", tables.names())
def test_every_row_of_every_table_names_its_source(name):
    rows = tables.rows(name)
    assert rows
    assert all(len(r["source"]) > 3 for r in rows)


def test_tables_that_are_not_there():
    with pytest.raises(ValueError, match="there is no table 'luck'"):
        tables.rows("luck")
    assert tables.span("4") == (4.0, 4.0)
