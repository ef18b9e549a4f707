"""Drill names read, and the sets they come from."""

import itertools

import pytest

from tapkit import Hole
from tapkit.geometry.drillsize import SETS, drill_name, drill_set, read_drill, read_size


@pytest.mark.parametrize(
    ("text", "inch"),
    [
        ("#7", 0.201),
        ("# 7", 0.201),
        ("No. 7", 0.201),
        ("no 7", 0.201),
        ("number 7", 0.201),
        ("#80", 0.0135),
        ("#1", 0.228),
        ("F", 0.257),
        ("f", 0.257),
        ("letter Z", 0.413),
        ("27/64", 27 / 64),
        ("27/64 in", 27 / 64),
        ('27/64"', 27 / 64),
        ("1 1/16", 17 / 16),
        ("1-1/16 in", 17 / 16),
        (".201 in", 0.201),
        ("#7 drill", 0.201),
    ],
)
def test_inch_drills_by_name(text, inch):
    assert read_drill(text) == pytest.approx(25.4 * inch, abs=1e-6)


@pytest.mark.parametrize("text", ["8.5", "8,5", "8.5 mm", "Ø8.5", "⌀ 8,5 mm", "8.5mm drill", "0.85 cm"])
def test_metric_drills(text):
    assert read_drill(text) == pytest.approx(8.5)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("#0", "run from #1 to #97"),
        ("#98", "run from #1 to #97"),
        ("1/3", "go by 1/64"),
        ("3/0", "go by 1/64"),
        ("AA", "cannot read 'AA' as a drill"),
        ("", "cannot read '' as a drill"),
        ("8.5 N", "cannot read '8.5 N' as a drill"),
        ("-3 mm", "outside 0.05 to 300 mm"),
        ("9" * 41, "short text"),
    ],
)
def test_what_is_no_drill_is_told(text, told):
    with pytest.raises(ValueError, match=told):
        read_drill(text)


def test_the_sets_are_whole_and_in_order():
    assert [d.name for d in drill_set("number")] == [f"#{n}" for n in range(1, 98)]
    assert "".join(d.name for d in drill_set("letter")) == "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    assert [d.diameter for d in drill_set("fraction")[:64]] == pytest.approx([25.4 * n / 64 for n in range(1, 65)])
    for name in SETS:
        sizes = [d.diameter for d in drill_set(name)]
        if name == "number":
            sizes = sizes[::-1]
        assert sizes == sorted(sizes)
        assert len(set(sizes)) == len(sizes)


def test_metric_steps_are_005_below_3_and_01_above():
    sizes = [d.diameter for d in drill_set("metric") if d.diameter <= 14]
    steps = {(round(b, 4) <= 3.0): round(b - a, 4) for a, b in itertools.pairwise(sizes)}
    assert steps == {True: 0.05, False: 0.1}
    assert 3.25 in [d.diameter for d in drill_set("metric 0.05")]


def test_every_name_reads_back_as_its_own_diameter():
    for name in SETS:
        for size in drill_set(name):
            assert read_drill(size.name) == pytest.approx(size.diameter, abs=1e-6)
    assert drill_name(read_drill("#7")) == "#7"
    assert drill_name(read_drill("27/64")) == "27/64"
    assert drill_name(8.53) == "8.53 mm"


@pytest.mark.parametrize(
    ("text", "diameter", "depth"),
    [
        ("through #7 x 0.5 in", 5.1054, 12.7),
        ("through F x 15 mm", 6.5278, 15),
        ("blind 27/64 x 1 in", 10.715625, 25.4),
        ("through 27/64 x 15 mm", 10.715625, 15),
        ("blind X x 0.75 in", 10.0838, 19.05),
        ("through #7x0.5in", 5.1054, 12.7),
        ("blind 0.201 x 0.75 in", 5.1054, 19.05),
        ("blind 8,5 mm × 25 mm", 8.5, 25),
    ],
)
def test_holes_take_drill_names(text, diameter, depth):
    hole = Hole.parse(text)
    assert (hole.diameter, hole.depth) == pytest.approx((diameter, depth), abs=1e-6)


def test_an_unknown_set_is_told():
    with pytest.raises(ValueError, match="no set of drills 'wire'"):
        drill_set("wire")
    assert read_size("8.5").set == "own"
