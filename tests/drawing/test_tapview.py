"""The sheet with the shaded tap, its view on to the point and its key."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from strategies import fitting

from tapkit import Tap
from tapkit.drawing.raster import Camera
from tapkit.drawing.shaded import TapView, tooth_points
from tapkit.drawing.tapview import SIZE, draw_tapview, update_tapview


def figure():
    made = Figure(figsize=(SIZE[0] / 96, SIZE[1] / 96), dpi=96)
    FigureCanvasAgg(made)
    return made


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_the_rule_has_the_scale_of_the_side_view(system):
    artists = draw_tapview(figure(), TapView(Tap.parse("M10 plug"), tilt=0.0), system=system)
    texts = [t.get_text() for t in artists.key._texts if t.get_visible()]
    said = next(t for t in texts if t.endswith((" mm", " in")))
    length = float(said.split()[0]) * (25.4 if system == "inch" else 1.0)
    ends = [p for path in artists.key._paths.values() for p, _ in path if len(p) == 2 and (p[:, 1] == 22).all()]
    drawn = float(np.ptp(ends[0][:, 0])) / 72 * 96
    teeth = tooth_points(Camera(Tap.parse("M10 plug"), 0.0, 0.0, 358, 560))
    assert (teeth.y[0] - teeth.y[3]) * length / drawn == pytest.approx(1.5, rel=0.02), "a pitch from tooth 1 to 4"


@settings(max_examples=15)
@given(fitting(), st.floats(-180, 180), st.floats(-60, 90))
def test_key_texts_stay_on_the_sheet_and_apart(pair, turn, tilt):
    artists = draw_tapview(figure(), TapView(pair[0], turn, tilt))
    boxes = artists.key.boxes
    for i, a in enumerate(boxes):
        assert a.inside(artists.key.sheet)
        assert not any(a.meets(b) for b in boxes[i + 1 :])


def test_turning_moves_both_views_and_tilting_only_the_first():
    artists = draw_tapview(figure(), TapView(Tap.parse("M10 plug")))

    def pictures():
        return artists.side.photo.pixels(179, 280), artists.point.photo.pixels(120, 140)

    side, point = pictures()
    update_tapview(artists, TapView(Tap.parse("M10 plug"), tilt=40.0))
    tilted, same = pictures()
    assert (tilted != side).any()
    assert same is point
    update_tapview(artists, TapView(Tap.parse("M10 plug"), turn=20.0, tilt=40.0))
    turned, other = pictures()
    assert (turned != tilted).any()
    assert (other != point).any()
