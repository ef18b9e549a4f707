"""The shaded tap: what each pixel shows is checked against the solid; looks are checked by what would spoil them."""

import numpy as np
import pytest
from drawn import is_metal, look

from tapkit import Tap
from tapkit.drawing import photo, raster, steel
from tapkit.drawing.photo import render
from tapkit.geometry.skin import END, FLUTE
from tapkit.geometry.solid import solid

FORMS = ("straight taper", "spiral-point plug", "spiral-flute bottoming", "left-hand-flute plug")
VIEWS = ((0, 0), (0, 18), (77, 40), (200, 65), (10, 90), (30, -40))


def camera(name, turn=0.0, tilt=18.0, zoom=1.0, width=210, height=320):
    return raster.Camera(Tap.parse(name), turn, tilt, width, height, zoom)


def rays(cam, seen):
    """Points of the tap's own frame that the covered pixels show and normals there, (3, points); direction of the eye."""
    row, column = np.nonzero(seen.part >= 0)
    near = seen.depth[row, column]
    size = cam.scale / (1 - near / (raster.DISTANCE * cam.length * cam.zoom))
    low, high = cam.box
    right = (column + 0.5 - cam.width / 2) / size
    up = (cam.height / 2 - row - 0.5 + (low + high) / 2 * cam.scale) / size
    across, rise = seen.normal[row, column].T
    normal = np.stack([across, rise, np.sqrt(np.maximum(1 - across**2 - rise**2, 0))])
    return cam.rotation.T @ np.stack([right, up, near]), cam.rotation.T @ normal, cam.rotation[2]


def metal(cam, points):
    side = -1.0 if cam.tap.thread.hand == "right" else 1.0
    s = solid(cam.tap)
    return is_metal(s, np.hypot(points[0], points[1]), np.arctan2(side * points[1], points[0]), points[2])


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("form", FORMS)
def test_pixels_show_the_nearest_metal(form, view):
    """By the solid itself: behind what a pixel shows is metal, before it there is none all the way to the eye."""
    cam = camera(f"M10 {form}", *view)
    points, normal, eye = rays(cam, look(cam))
    pixel = 1 / cam.scale
    assert metal(cam, points - 1.5 * pixel * normal).mean() > 0.93  # thin crests take the rest
    assert metal(cam, points + 1.5 * pixel * normal).mean() < 0.06
    free = np.ones(points.shape[1], bool)
    for step in np.linspace(4 * pixel, 12, 25):
        free &= ~metal(cam, points + step * eye[:, None])
    assert free.mean() > 0.95


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("form", FORMS)
def test_no_holes(form, view):
    """No pixel inside the outline shows the backdrop or something far behind all its neighbours."""
    for width, height, zoom in ((210, 320, 1.0), (417, 633, 1.0), (300, 300, 3.0)):
        depth = look(camera(f"M10 {form}", *view, zoom=zoom, width=width, height=height)).depth
        assert lonely(np.where(np.isnan(depth), -1e3, depth), 2.0) == 0


def lonely(depth, gap):
    """Pixels that lie farther back than every neighbour by a gap [mm]."""
    inner = depth[1:-1, 1:-1]
    shifts = [(i, j) for i in (0, 1, 2) for j in (0, 1, 2) if (i, j) != (1, 1)]
    h, w = depth.shape
    around = np.min([depth[i : i + h - 2, j : j + w - 2] for i, j in shifts], axis=0)
    return int((inner < around - gap).sum())


def test_the_hole_test_sees_holes(monkeypatch):
    monkeypatch.setattr(raster, "STEP", 1.3)
    photo.exposure.cache_clear()
    depth = look(camera("M10 spiral-flute plug", 3, 33)).depth
    photo.exposure.cache_clear()
    assert lonely(np.where(np.isnan(depth), -1e3, depth), 2.0) > 0


def test_left_hand_is_the_mirror_image():
    for form, turn, tilt in (("spiral-point plug", 0, 18), ("spiral-flute bottoming", 130, 50)):
        right, left = (look(camera(f"{thread} {form}", turn, tilt)) for thread in ("M10x1.5", "M10x1.5-LH"))
        same = right.part == left.part[:, ::-1]
        assert same.mean() > 0.995
        both = same & (right.part >= 0)
        assert np.abs(right.depth - left.depth[:, ::-1])[both].max() < 1.0
        assert np.median(np.abs(right.normal[..., 0] + left.normal[:, ::-1, 0])[both]) < 1e-3
        assert (right.part == left.part).mean() < 0.95, "mirrored is not the same"


@pytest.mark.parametrize("flutes", [2, 3, 4])
def test_a_straight_flute_tap_looks_alike_after_one_flute(flutes):
    """Flutes, neck and shank come back after 360°/Z; the thread climbs by P/Z meanwhile, and only it differs."""
    name = "M10x1.5 straight plug"
    tap = Tap.parse(name, flutes=flutes)
    seen = [look(raster.Camera(tap, t, 10.0, 210, 320)) for t in (12, 12 + 360 / flutes, 12 + 180 / flutes)]
    alike = [((a.part == FLUTE) == (seen[0].part == FLUTE)).mean() for a in seen[1:]]
    assert alike[0] > 0.97
    assert alike[1] < 0.95
    whole = look(raster.Camera(tap, 12 + 360, 10.0, 210, 320))
    assert (whole.part == seen[0].part).mean() > 0.999


def test_the_thread_climbs_a_pth_of_a_pitch_from_flute_to_flute():
    """Turned by 360°/Z in the direction of cutting, the silhouette shows the next land's teeth, P/Z higher: a nut held
    on the turning tap would climb toward the shank."""
    tap = Tap.parse("M10x1.5 straight bottoming")
    cams = [raster.Camera(tap, t, 0.0, 630, 960) for t in (0.0, 120.0)]
    edges = [np.nan_to_num(rightmost(look(c))) for c in cams]
    rows = slice(300, 700)
    best = min(range(-24, 25), key=lambda k: np.abs(edges[1][rows] - np.roll(edges[0], k)[rows]).sum())
    assert abs(best) == pytest.approx(1.5 / 3 * cams[0].scale, abs=1.5)
    assert best < 0


def rightmost(seen):
    some = (seen.part >= 0).any(axis=1)
    return np.where(some, seen.part.shape[1] - (seen.part[:, ::-1] >= 0).argmax(axis=1), np.nan)


def test_render_is_opaque_and_stands_on_white():
    picture = render(camera("M10"))
    assert picture.shape == (320, 210, 4)
    assert picture.dtype == np.uint8
    assert (picture[..., 3] == 255).all()
    border = np.concatenate([picture[0], picture[-1], picture[:, 0], picture[:, -1]])[:, :3]
    assert border.min() > 245


def test_same_view_same_bytes():
    a, b = (render(camera("M10 spiral-flute plug", 33, 20)) for _ in range(2))
    assert (a == b).all()


def boxed(picture, size):
    """Mean over squares."""
    kernel = np.ones(size) / size
    for axis in (0, 1):
        picture = np.apply_along_axis(np.convolve, axis, picture, kernel, mode="valid")
    return picture


def moire(cam):
    """How much the low tones of smooth parts of a draft change when it is shifted by part of a pixel, worst place."""
    samples, traits, visible, first = photo.exposure(cam)
    inside = boxed(np.isin(look(cam).part, (FLUTE, END)).astype(float), 15) > 0.999
    tones = []
    for index in (first, visible.nearest(0.47, 0.31)):
        light = np.zeros((*first.shape, 3), np.float32)
        light[index >= 0] = photo._lit(samples.between(traits, index[index >= 0]), cam)
        tones.append(boxed(light.mean(-1), 15)[inside])
    return float(np.percentile(np.abs(tones[0] - tones[1]), 99.5))


@pytest.mark.parametrize(("name", "turn", "tilt"), [("M10 plug", 0, 25), ("M10 spiral-flute plug", 20, 60)])
def test_no_moire(name, turn, tilt, monkeypatch):
    """Lines finer than a pixel would beat with the pixels, and the beat would move with the smallest shift."""
    cam = camera(name, turn, tilt, width=420, height=640)
    calm = moire(cam)
    stripes = np.where(np.arange(4096) % 2, 6.0, -6.0).astype(np.float32)
    monkeypatch.setattr(photo, "marks_of_grinding", lambda: stripes)
    monkeypatch.setattr(photo, "MARK", 1.0)
    assert calm < 0.035
    assert moire(cam) > 1.7 * calm, "stripes as fine as the pixels are found out"


def test_hatch_is_the_second_sign_of_a_cutting_face(monkeypatch):
    """In grey the cutting faces still differ from plain steel: lines of the hatch run over them."""
    cam = camera("M10 plug", 0, 10, zoom=2.5, width=420, height=640)
    samples, traits, _, index = photo.exposure(cam)
    found = samples.between(traits, index[index >= 0])
    face = found[:, (found[photo.TINT] > 0.9) & (found[photo.EDGE] * cam.scale > 2)]
    hatched = photo._lit(face, cam).mean(-1).std()
    monkeypatch.setattr(photo, "HATCH", 1e9)
    assert hatched > 1.2 * photo._lit(face, cam).mean(-1).std()


def test_mirrored_light_is_finite():
    assert np.isfinite(steel.ball()).all()
    assert steel.ball().min() >= 0


def test_alone_it_is_clear_around_the_same_tap():
    cam = camera("M10 spiral-point plug")
    alone, whole = render(cam, alone=True).astype(int), render(cam).astype(int)
    there, solid_ = alone[..., 3] > 0, alone[..., 3] == 255
    assert (there == (look(cam).part >= 0)).mean() > 0.98
    low = slice(60, None)  # above, the shank fades into the backdrop
    assert np.abs(alone[low][solid_[low]][:, :3] - whole[low][solid_[low]][:, :3]).max() <= 1


@pytest.mark.parametrize(("tilt", "zoom"), [(18, 1.0), (90, 1.0), (-40, 3.0)])
def test_a_picture_in_bands_is_the_one_in_one_piece(tilt, zoom, monkeypatch):
    """Bands save memory; empty ones are no trouble, and no seam is seen between them."""
    cam = camera("M10 spiral-point plug", 0, tilt, zoom, 240, 360)
    monkeypatch.setattr(photo, "BAND_PIXELS", 8_000)
    pieces = render(cam).astype(int)
    monkeypatch.setattr(photo, "BAND_PIXELS", 10**9)
    whole = render(cam)
    assert np.abs(pieces - whole).max() <= 20, "where rounding takes the next mark of grinding"
    assert (np.abs(pieces - whole).max(-1) > 0).mean() < 0.01
