"""The bytes for the browser say what the skin says: places to a few thousandths of a millimetre, every corner seen
from outside, and every tooth's own cells by its number."""

import numpy as np
import pytest

from tapkit.drawing.packed import NEAR, VERTEX, light, packed
from tapkit.drawing.steel import DIRECTIONS, SIDE, ball
from tapkit.geometry.skin import FACE, mesh, skin
from tapkit.geometry.solid import solid
from tapkit.geometry.tap import Tap

TAPS = [
    "M10x1.5 spiral-point plug",
    "M6x1 straight taper",
    "M12x1.75 spiral-flute bottoming",
    "M8x1.25-LH spiral-flute plug",
]


@pytest.fixture(params=TAPS)
def both(request):
    tap = Tap.parse(request.param)
    made = packed(tap)
    vertices, corners = np.frombuffer(made.vertices, VERTEX), []
    first = 0
    for patches, rows, columns in made.about["shapes"]:  # as the browser takes them apart
        n = first + np.arange(patches * rows * columns).reshape(patches, rows, columns)
        cells = n[:, :-1, :-1], n[:, :-1, 1:], n[:, 1:, :-1], n[:, 1:, 1:]
        corners.append(np.stack(cells, axis=-1).reshape(-1, 4))
        first += n.size
    assert first == len(vertices)
    assert np.array_equal(np.concatenate(corners).T, mesh(tap).corners)
    return tap, vertices[np.concatenate(corners)], made.about


def test_places_are_those_of_the_skin(both):
    tap, v, about = both
    points = v["place"] / 32767 * about["reach"] + [0, 0, about["middle"]]
    found = {tuple(p) for p in np.rint(points.mean(1) * 200)}
    there = np.rint(skin(tap).points.mean(1).T * 200)
    near = sum(any((*(p + d),) in found for d in np.indices((3, 3, 3)).reshape(3, -1).T - 1) for p in there[::50])
    assert near == len(there[::50])


def test_marks_of_grinding_run_as_on_the_skin(both):
    """As the shader has it: across them is the normal turned about the axis, or in the plane of the axis."""
    tap, v, _about = both
    (nx, ny, nz), place = v["normal"].reshape(-1, 3).T / 32767, v["place"].reshape(-1, 3).T.astype(float)
    out = place[:2] / np.maximum(np.hypot(*place[:2]), 1)
    along = np.array([ny, -nx, 0 * nx]), np.array([*(-nz * out), nx * out[0] + ny * out[1]])
    found = np.where(v["lengthwise"].reshape(-1) > 0, *along)
    there = mesh(tap).across[:, mesh(tap).corners.T.reshape(-1)]
    off_axis = np.hypot(*place[:2]) > 100
    assert (np.abs(np.abs((found * there).sum(0)) - (there**2).sum(0))[off_axis] < 0.02).mean() > 0.999


def test_the_cells_at_a_tip_are_the_teeth_that_stand_there(both):
    tap, v, about = both
    middle = v["place"].mean(1) / 32767 * about["reach"] + [0, 0, about["middle"]]
    faces = (v["look"][:, 0] & 7 == FACE) & (v["edge"].min(1) / 65535 * NEAR < 0.3)
    assert len(about["teeth"]) == solid(tap).chamfer_teeth + 1
    for tooth in about["teeth"][1:]:
        nearest = np.flatnonzero(faces)[np.argmin(np.linalg.norm(middle[faces] - tooth["at"], axis=1))]
        assert v["tooth"][nearest, 3] == tooth["number"]


def test_the_light_is_that_of_the_plates():
    bytes_, about = light()
    table = np.frombuffer(bytes_[:-4096], np.uint8).reshape(DIRECTIONS, SIDE, SIDE, 3)
    assert np.abs((table / 255.0) ** 2 * about["most"] - ball()).max() < 0.01 * about["most"]
