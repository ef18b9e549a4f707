"""Two jobs on one sheet: one scale for both, and a side that stays is not drawn again."""

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from tapkit import Operation
from tapkit.drawing import pair, toothbars


def job(work, tap="M10 spiral-point plug"):
    return Operation.parse(tap, "through 8.5 x 15", work)


@pytest.fixture
def figure():
    return Figure(figsize=(11, 5), dpi=96)


def highest_bar(bars):
    """Height of the highest bar on the sheet [pt]; bars are the tallest of the fills that stand on the axis."""
    foot = toothbars._plot_box(bars).bottom
    fills = [p for key, p in bars._patches.items() if key[1] == "fill" and p.get_visible()]
    corners = np.concatenate([p.get_path().vertices.reshape(-1, 5, 2) for p in fills if len(p.get_path()) % 5 == 0])
    standing = np.isclose(corners[:, :, 1].min(1), foot)
    return float(np.ptp(corners[standing][:, :, 1], axis=1).max())


def test_bars_of_both_are_as_high_as_their_forces_however_unlike(figure):
    """Below 0.3 of the scale a chart by itself would take a scale of its own."""
    jobs = job("42CrMo4", "M10 straight bottoming"), job("aluminium", "M10 straight taper")
    artists = pair.draw_pair(figure, jobs, "metric")
    low, high = sorted(j.tooth_loads.force.max() for j in jobs)
    assert low < 0.3 * high
    heights = sorted(highest_bar(bars) for _, bars in artists)
    assert heights[0] / heights[1] == pytest.approx(low / high, rel=1e-6)


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
    monkeypatch.setattr(pair.draw_toothbars, "update", lambda bars, job: drawn.append(job))
    pair.update_pair(artists, (job("42CrMo4", "M10 spiral-point taper"), job("C45")))
    assert [j.workpiece.printed for j in drawn] == [jobs[0].workpiece.printed]


def test_the_largest_load_is_written_on_no_other_bar(figure):
    figure.set_size_inches(10.2, 4.6)
    one = Operation.parse("M8 plug", "blind 6.8 x 20", "Ti-6Al-4V")
    bars = pair.draw_pair(figure, (Operation.parse("M6 plug", "through 5 x 10", "6061"), one), "inch")[1][1]
    told = next(t for t in bars.ax.texts if t.get_visible() and t.get_text() == "34.1")
    box = told.get_window_extent(FigureCanvasAgg(figure).get_renderer()).transformed(bars.ax.transData.inverted())
    spots = {number: np.array(corners) for number, _, corners in bars.memory["spots"] if number != 5}
    under = [n for n, c in spots.items() if c[0, 0] + 3 < box.x1 and c[1, 0] - 3 > box.x0 and c[2, 1] - 4 > box.y0 + 3]
    assert not under
