"""Speeds and feeds against published values."""

import pytest

from tapkit import Thread, Workpiece
from tapkit.planning.cycle import Cycle
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holeplan import HolePlan
from tapkit.planning.machine import Machine
from tapkit.planning.speed import spindle_speed, tapping_speed

FOOT = 0.3048


@pytest.mark.parametrize(("metal", "feet"), [("304", (10, 25)), ("aluminium", (40, 130))])
def test_shop_speeds_of_a_technical_order(metal, feet):
    """T.O. 1-1A-9 (TM 43-0106): para. 2-109, 300 series 10 to 25 ft/min; para. 3-197, aluminium 40 to 130 ft/min."""
    found = tapping_speed(Workpiece.parse(metal), Thread.parse("1/4-20"), "shop")
    assert (found.low, found.high) == pytest.approx([FOOT * f for f in feet], abs=0.05)


@pytest.mark.parametrize(
    ("metal", "coarse", "fine"),
    [
        ("4140", 38.1, 48.8),
        ("304", 10.7, 13.7),
        ("grey iron", 27.4, 24.4),
        ("aluminium", 193.5, 172.2),
    ],
)
def test_handbook_speeds(metal, coarse, fine):
    """Machinery's Handbook 27th ed., tables 17-21, coarse and fine threads, m/min."""
    work = Workpiece.parse(metal)
    assert tapping_speed(work, Thread.parse("M10"), "handbook").low == coarse
    assert tapping_speed(work, Thread.parse("M10x1"), "handbook").low == fine


def test_shop_rule_four_times_the_speed_over_the_diameter():
    """TC 9-524 (US Army) [memory]: rpm = 4 CS/D in ft/min and inches, a rounding of 12/π = 3.82."""
    for feet, inch in ((20, 0.25), (70, 0.5), (10, 1.0)):
        assert spindle_speed(feet * FOOT, inch * 25.4) == pytest.approx(4 * feet / inch, rel=0.05)


def test_feed_of_an_inch_thread():
    """Feed in inches a minute is rpm over threads per inch: 400 rpm with 1/4-20 is 20 in/min (plain arithmetic of
    shop handbooks)."""
    thread = Thread.parse("1/4-20")
    plan = HolePlan(DrawingAsk(thread=thread, drill=5.1054, full_thread=12.7), 4)
    cycle = Cycle(plan=plan, machine=Machine.parse("rigid"), rpm=400)
    assert cycle.feed_per_minute / 25.4 == pytest.approx(400 / 20)
    assert {x.key: str(x.value) for x in cycle.lines("inch")}["feed per minute"] == "20.00 in per minute"
