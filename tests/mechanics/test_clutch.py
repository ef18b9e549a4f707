"""The clutch: between what the job needs and what the tap bears, or a sentence that there is no such torque."""

import json

import numpy as np
import pytest

from tapkit import Operation, whatif
from tapkit.cli import main
from tapkit.mechanics.clutch import Clutch


def test_the_range_lies_between_need_and_strength():
    job = Operation.parse("M10x1.5 spiral-point plug", "through 8.5 mm x 10 mm", "AlMgSi")
    low, high = job.clutch.range
    assert low >= job.expected_torque.peak[1]
    assert low >= job.expected_torque.going_back[1]
    assert high <= min(job.breakage.torque_range)
    assert "begin at the low end" in str(job.clutch.sentence)


def test_where_there_is_none_it_says_so():
    job = Operation.parse("M3 straight plug", "through 2.4 mm x 9 mm", "X5CrNi18-10", fluid="dry", wear_factor=2.0)
    assert job.clutch.needs > job.clutch.bears
    assert job.clutch.range is None
    assert "no torque of a clutch" in str(job.clutch.sentence)


@pytest.mark.parametrize(("needs", "bears", "found"), [(2.0, 5.0, (2.0, 5.0)), (5.0, 5.0, None), (6.0, 5.0, None)])
def test_touching_ends_leave_no_room(needs, bears, found):
    assert Clutch(needs, bears).range == found


def test_the_report_tells_it(capsys):
    line = "M10x1.5 spiral-point plug | through 8.5 mm x 10 mm | AlMgSi"
    assert main(["report", line]) == 0
    assert "Clutch" in capsys.readouterr().out
    assert main(["report", line, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["clutch"]
    assert told["needs_Nm"] < told["bears_Nm"]


@pytest.mark.parametrize(("has", "words"), [(5, "may stall"), (15, "too little to break"), (60, "enough to break")])
def test_the_spindle_is_held_against_job_and_tap(has, words):
    job = Operation.parse("M10 plug", "through 8.5 mm x 18 mm", "C45").with_(spindle_torque=has)
    assert words in str(job.clutch.sentence)


def test_pecks_and_turning_back_change_the_ledger():
    """Against a ledger kept by hand: after each clearing only what was cut since lies in the flutes."""
    deep = Operation.parse("M10 plug", "through 8.5 mm x 30 mm", "C45")
    pecked = deep.with_(peck=5.0)
    room = pecked.chip_room
    cut = np.interp(room.depth, deep.chip_room.depth, deep.chip_room.solid)
    last = np.floor((room.depth + 1e-9) / 5.0) * 5.0
    kept = cut - np.interp(last, deep.chip_room.depth, deep.chip_room.solid)
    apart = np.abs(room.depth / 5.0 - np.round(room.depth / 5.0)) > 1e-6  # where it is cleared there are two values
    np.testing.assert_allclose(room.solid[apart], kept[apart], atol=0.2)
    assert deep.chip_room.jams_at == pytest.approx(20.0)
    assert room.jams_at is None
    assert "chips jam from 20.0 mm deep, with it chips jam nowhere" in str(pecked.clearing)
    back = deep.with_(back_turns=1.0)
    assert back.chip_room.bulking.form == "broken"
    assert whatif.jam_depths([deep, pecked, back])[1:2].tolist() == pytest.approx([np.nan], nan_ok=True)
    assert deep.clearing is None
    with pytest.raises(ValueError, match="peck of 0"):
        deep.with_(peck=0.0)
