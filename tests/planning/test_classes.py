"""Limits of the minor diameter in other classes, against values of the standards as recalled."""

import pytest

from tapkit import Thread
from tapkit.geometry.drillsize import read_size
from tapkit.planning.classes import classes_of, minor_limits, raised_by
from tapkit.planning.drill import DrillFit, nearest_drills


@pytest.mark.parametrize(
    ("pitch", "micron"),
    [
        (1.0, (150, 190, 236, 300, 375)),
        (1.25, (170, 212, 265, 335, 425)),
        (1.5, (190, 236, 300, 375, 475)),
        (2.0, (236, 300, 375, 475, 600)),
    ],
)
def test_metric_grades_4_to_8(pitch, micron):
    """ISO 965-1, table of T_D1 [memory]."""
    thread = Thread.parse(f"M20x{pitch:g}")
    found = [minor_limits(thread, f"{grade}H") for grade in (4, 5, 6, 7, 8)]
    assert [round(1000 * (f.most - f.least)) for f in found] == list(micron)
    assert len({f.least for f in found}) == 1


def test_position_g_raises_both_limits():
    """ISO 965-1, fundamental deviation of G for P = 1.5 mm: +32 µm [memory]."""
    thread = Thread.parse("M10")
    h, g = minor_limits(thread, "6H"), minor_limits(thread, "6G")
    assert g.least - h.least == pytest.approx(raised_by(1.5))
    assert g.most - h.most == pytest.approx(0.032, abs=0.001)


@pytest.mark.parametrize(
    ("name", "least", "most"), [("1/4-20", 0.196, 0.2067), ("1/2-13", 0.417, 0.4284), ("#10-32", 0.156, 0.1641)]
)
def test_class_3b(name, least, most):
    """ASME B1.1, limits of 3B [memory]."""
    found = minor_limits(Thread.parse(name), "3B")
    assert (found.least / 25.4, found.most / 25.4) == pytest.approx((least, most), abs=1.5e-4)


def test_own_class_is_that_of_the_thread():
    for name in ("M10", "M6x0.75", "1/4-20", "#10-32"):
        thread = Thread.parse(name)
        found = minor_limits(thread)
        assert found[:2] == pytest.approx((thread.limits.minor_min, thread.limits.minor_max), abs=1e-9)
        assert found.name == thread.tolerance


def test_a_wide_drill_may_do_in_a_wide_class():
    thread, drill = Thread.parse("M10"), read_size("8.7")
    assert DrillFit(thread, drill).own_limits == "over"
    assert DrillFit(thread, drill, tolerance="7H").own_limits == "within"
    told = nearest_drills(thread, 67, tolerance="7H")[0]
    assert told.drill.name == "8.7 mm"
    assert "over the 7H limit" in told.in_words()


def test_a_class_of_the_other_system_is_told():
    with pytest.raises(ValueError, match=r"class '3B' does not go with M10x1\.5; there are 4H, 5H"):
        minor_limits(Thread.parse("M10"), "3B")
    with pytest.raises(ValueError, match="there are 1B, 2B, 3B"):
        minor_limits(Thread.parse("1/4-20"), "9Z")
    assert classes_of("metric")[2] == "6H"
