"""The two trade sayings, and the thickness at which they change places."""

import pytest

from tapkit import Hole, Operation, Tap
from tapkit.sayings import verdict, weigh_sayings


def jobs(thread="M8", hole=6.8, long=9.0, short=1.5, work="C45"):
    hole = Hole(kind="through", diameter=hole, depth=5)
    return [Operation.parse(Tap.make(thread, "straight", n), hole, work) for n in (long, short)]


def test_crossing_in_steel_m8_is_near_six_millimetres():
    """MODEL: M8, 9 against 1.5 threads, steel, up to about 6 mm; derived for this project."""
    assert weigh_sayings(*jobs(), 3.0).crossing == pytest.approx(6.0, abs=0.5)


@pytest.mark.parametrize(("thickness", "less"), [(3.0, True), (12.0, False)])
def test_on_either_side_of_the_crossing_the_model_itself_agrees(thickness, less):
    found = weigh_sayings(*jobs(), thickness)
    assert (found.long.torque_curve.peak < found.short.torque_curve.peak) is less
    assert found.long.tooth_loads.force.max() < found.short.tooth_loads.force.max()
    assert ("is smaller with the long chamfer" in verdict(found)) is less


def test_the_curves_are_those_of_single_jobs():
    found = weigh_sayings(*jobs(), 4.0)
    for k in (3, 30, 70):
        one = found.long.with_(hole=found.long.hole.with_(depth=float(found.thicknesses[k])))
        assert found.torque_long[k] == pytest.approx(one.torque_curve.peak, rel=1e-9)


def test_refusals_say_what_would_work():
    long, short = jobs()
    with pytest.raises(ValueError, match="not longer than"):
        weigh_sayings(short, long, 4.0)
    blind = long.with_(hole=Hole(kind="blind", diameter=6.8, depth=20))
    with pytest.raises(ValueError, match="take a through hole"):
        weigh_sayings(blind, short, 4.0)


def test_inch_verdict():
    assert "in·lbf" in verdict(weigh_sayings(*jobs(), 3.0)).said("inch")
