"""Two jobs on one sheet: one scale for both, and a side that stays is not drawn again."""

import pytest
from matplotlib.figure import Figure

from tapkit import Operation
from tapkit.drawing import pair


def job(work, tap="M10 spiral-point plug"):
    return Operation.parse(tap, "through 8.5 x 15", work)


@pytest.fixture
def figure():
    return Figure(figsize=(11, 5), dpi=96)


def test_both_charts_keep_one_scale_however_unlike_the_loads(figure):
    artists = pair.draw_pair(figure, (job("42CrMo4"), job("aluminium")), "metric")
    tops = {bars.memory["held"] for _, bars in artists}
    assert len(tops) == 1
    assert tops.pop() >= job("42CrMo4").tooth_loads.force.max()


def test_the_scale_comes_down_again_with_the_highest_bar(figure):
    artists = pair.draw_pair(figure, (job("42CrMo4"), job("aluminium")), "metric")
    high = artists[0][1].memory["held"]
    pair.update_pair(artists, (job("aluminium"), job("wrought aluminium")))
    assert artists[0][1].memory["held"] < high
    assert artists[0][1].memory["held"] == artists[1][1].memory["held"]


def test_a_side_that_stays_is_not_drawn_again(figure, monkeypatch):
    jobs = job("42CrMo4"), job("C45")
    artists = pair.draw_pair(figure, jobs, "metric")
    drawn = []
    monkeypatch.setattr(pair, "update_toothbars", lambda bars, job: drawn.append(job))
    pair.update_pair(artists, (job("42CrMo4", "M10 spiral-point taper"), job("C45")))
    assert [j.workpiece.printed for j in drawn] == [jobs[0].workpiece.printed]
