"""Artists, labels and words of the shaded tap."""

import io
import itertools

import numpy as np
import pytest
from drawn import figure, look, pixels
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import fitting

from tapkit import Tap
from tapkit.drawing.raster import Camera
from tapkit.drawing.shaded import TapView, describe_shaded, draw_shaded, tooth_points, update_shaded
from tapkit.geometry.solid import solid


def sheet(width=420, height=640):
    return figure((width / 96, height / 96))


def test_visible_tips_lie_on_what_the_picture_shows():
    tap = Tap.parse("M10 spiral-point plug")
    for turn, tilt in ((0, 18), (60, 30), (150, 50), (0, 90)):
        camera = Camera(tap, turn, tilt, 420, 640)
        teeth, seen = tooth_points(camera), look(camera)
        assert teeth.visible.any()
        for x, y in zip(teeth.x[teeth.visible], teeth.y[teeth.visible]):
            around = seen.part[int(y) - 2 : int(y) + 3, int(x) - 2 : int(x) + 3]
            assert (around >= 0).any()


def test_teeth_on_the_far_side_are_hidden():
    tap = Tap.parse("M10 straight taper")
    s = solid(tap)
    cam = Camera(tap, 0.0, 0.0, 420, 640)
    teeth = tooth_points(cam)
    _, r, angle, z = s.tooth(teeth.number)
    depth = cam.project(np.stack([r * np.cos(angle), -r * np.sin(angle), z]))[2]
    assert not teeth.visible[depth < -0.3 * tap.thread.major / 2].any()
    assert teeth.visible[depth > 0.5 * tap.thread.major / 2].all()
    assert teeth.number[-1] == s.chamfer_teeth + 1
    assert (teeth.flute == (teeth.number - 1) % 3 + 1).all()


def test_seen_from_the_side_the_point_is_down_and_teeth_climb_in_order():
    teeth = tooth_points(Camera(Tap.parse("M10 plug"), 0, 0, 420, 640))
    assert (np.diff(teeth.y) < 0).all()


def test_left_hand_tips_are_mirrored():
    right, left = (tooth_points(Camera(Tap.parse(n), 20, 40, 420, 640)) for n in ("M10 plug", "M10-LH plug"))
    assert right.x == pytest.approx(420 - left.x)
    assert right.y == pytest.approx(left.y)
    assert (right.visible == left.visible).mean() > 0.9


def test_updates_add_no_artists_and_change_the_picture():
    _, ax = sheet(210, 320)
    artists = draw_shaded(ax, TapView(Tap.parse("M10 plug")))
    update_shaded(artists, TapView(Tap.parse("M10 straight taper"), tilt=0))
    count = len(ax.get_children())
    pictures = []
    for turn in range(0, 100, 10):
        update_shaded(artists, TapView(Tap.parse("M10 plug"), turn, 10))
        pictures.append(pixels(ax))
    assert len(ax.get_children()) <= count + 2
    assert all((a != b).any() for a, b in itertools.pairwise(pictures))


def test_saved_figures_get_the_full_picture_pixel_for_pixel():
    from tapkit.drawing.photo import render

    fig, ax = sheet(210, 320)
    draw_shaded(ax, TapView(Tap.parse("M10 plug")), labels=False)
    file = io.BytesIO()
    fig.savefig(file, format="rgba", dpi=96)
    saved = np.frombuffer(file.getvalue(), np.uint8).reshape(320, 210, 4)
    assert (saved == render(Camera(Tap.parse("M10 plug"), width=210, height=320))).all()


def test_svg_holds_the_picture():
    fig, ax = sheet(210, 320)
    draw_shaded(ax, TapView(Tap.parse("M10 plug")))
    file = io.StringIO()
    fig.savefig(file, format="svg")
    assert "data:image/png;base64" in file.getvalue()


@settings(max_examples=30)
@given(fitting(), st.floats(-180, 180), st.floats(-90, 90), st.sampled_from([1.0, 2.0]))
def test_labels_never_overlap_and_stay_on_the_sheet(pair, turn, tilt, zoom):
    _, ax = sheet(420, 560)
    artists = draw_shaded(ax, TapView(pair[0], turn, tilt, zoom))
    texts = [t for t in artists.pen._texts if t.get_visible()]
    boxes = artists.pen.boxes[: len(artists.pen.boxes)]
    names = boxes[::2]
    assert len(names) == len(texts)
    for i, a in enumerate(names):
        assert a.inside(artists.pen.sheet)
        assert not any(a.meets(b) for b in names[i + 1 :])


def test_words_name_the_tap_three_ways_and_say_where_chips_go():
    words = describe_shaded(TapView(Tap.parse("M10 spiral-point plug"), 0, 18))
    for part in ("M10x1.5", "spiral-point plug", "British: second", "form B", "4 threads", "ahead of the point"):
        assert part in words
    assert "toward the shank" in describe_shaded(TapView(Tap.parse("M10 spiral-flute bottoming")))
    assert "British: plug" in describe_shaded(TapView(Tap.parse("M10 spiral-flute bottoming")))
    assert "left-hand thread" in describe_shaded(TapView(Tap.parse("M10-LH plug")))
    assert "straight on to its point" in describe_shaded(TapView(Tap.parse("M10"), 0, 90))
    assert "turned 30°" in describe_shaded(TapView(Tap.parse("M10"), 30, 0))
