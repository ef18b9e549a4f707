"""The clutch: between what the job needs and what the tap bears, or a sentence that there is no such torque."""

import json

import pytest

from tapkit import Operation
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
