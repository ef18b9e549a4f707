"""Helpers for the tests of drawings: random jobs as sliders make them, figures of given sizes, boxes of texts."""

import itertools
import random
import re
from typing import NamedTuple

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.path import Path

from tapkit.drawing import photo
from tapkit.drawing.raster import Camera
from tapkit.geometry.hole import Hole
from tapkit.geometry.skin import skin
from tapkit.geometry.tap import Tap
from tapkit.mechanics.toothload import Faults
from tapkit.mechanics.workpiece import Workpiece, workpiece_names
from tapkit.operation import Operation

THREADS = [
    "M3",
    "M4",
    "M5",
    "M6",
    "M8",
    "M10",
    "M12x1.5",
    "M16",
    "M20",
    "M24",
    "M8x1-LH",
    "1/4-20",
    "#10-32",
    "3/4-10",
    "1-8",
]
FORMS = ["straight", "spiral-point", "spiral-flute", "left-hand-flute"]
RAKES = {"straight": (0, 0), "spiral-point": (-20, -1), "spiral-flute": (1, 50), "left-hand-flute": (-40, -1)}


def random_job(rng: random.Random) -> Operation:
    """A job somewhere within what sliders reach; tries until it is one that can be."""
    while True:
        try:
            return _try(rng)
        except ValueError:
            continue


def _try(rng: random.Random) -> Operation:
    form = rng.choice(FORMS)
    tap = Tap.make(
        rng.choice(THREADS),
        form,
        round(rng.uniform(1, 10), 2),
        flutes=rng.choice([1, 2, 2, 3, 3, 4, 4, 5, 6, 8]),
        axial_rake=round(rng.uniform(*RAKES[form]), 1),
        radial_rake=rng.randint(-10, 25),
    )
    share = rng.uniform(0.65, 1.6)
    tap = tap.with_(point_diameter=tap.thread.major - rng.uniform(max(share, 0.9), 1.7) * tap.thread.pitch)
    across, d = tap.thread.major - share * tap.thread.pitch, tap.thread.major
    if rng.random() < 0.5:
        hole = Hole(kind="through", diameter=across, depth=rng.uniform(0.2, 3) * d)
    else:
        hole = Hole(
            kind="blind", diameter=across, depth=rng.uniform(0.8, 3.5) * d, drill_angle=rng.choice([118, 135, 180])
        )
    lost = frozenset(rng.sample(range(1, 12), rng.choice([0, 0, 1, 3])))
    faults = Faults(
        first_tooth=round(rng.uniform(0.05, 1), 2),
        runout=rng.choice([0, 0, rng.uniform(0, 0.1)]),
        runout_angle=rng.uniform(0, 360),
        missing_teeth=lost,
        regrind_shorter=rng.choice([0, 0, 0.5]) if tap.chamfer_threads > 2 else 0,
    )
    job = Operation(tap=tap, hole=hole, workpiece=Workpiece.parse(rng.choice(workpiece_names())), faults=faults)
    job.tooth_loads  # noqa: B018 - raises where nothing is cut
    return job


def figure(size: tuple[float, float], dpi: float = 96):
    """A figure of a size in inches with one axes that fills it."""
    made = Figure(figsize=size, dpi=dpi)
    FigureCanvasAgg(made)
    return made, made.add_axes((0, 0, 1, 1))


def painted(draw, size: tuple[float, float], *model, **more):
    """What a drawing gives, its pen as a rule, on a sheet of a size in inches."""
    return draw(figure(size)[1], *model, **more)


def pixels(ax) -> np.ndarray:
    """The picture of an axes, all artists."""
    canvas = ax.figure.canvas
    canvas.draw()
    shown = [a for a in ax.get_children() if a.get_animated() and a.get_visible()]
    for artist in sorted(shown, key=lambda a: a.get_zorder()):
        artist.draw(canvas.get_renderer())
    return np.array(canvas.buffer_rgba())


def texts(ax) -> list:
    """All texts on an axes that show something."""
    return [t for t in ax.texts + [a for a in ax.artists if hasattr(a, "get_text")] if t.get_visible() and t.get_text()]


def text_boxes(ax) -> list[tuple[str, np.ndarray]]:
    """Every visible text with its box in pixels (x0, y0, x1, y1), by matplotlib's own measure."""
    renderer = ax.figure.canvas.get_renderer()
    return [(t.get_text(), np.array(t.get_window_extent(renderer).extents)) for t in texts(ax)]


def clashes(ax, slack: float = 1.5) -> list[str]:
    """What is wrong with the texts of an axes: two that overlap by more than `slack` pixels, or one past the frame."""
    shown, frame = text_boxes(ax), ax.bbox.extents
    names, boxes = [name for name, _box in shown], np.array([box for _name, box in shown]).reshape(-1, 4)
    low, high = boxes[:, :2], boxes[:, 2:]
    past = (low < frame[:2] - slack).any(axis=1) | (high > frame[2:] + slack).any(axis=1)
    both = np.minimum(high[:, None], high) - np.maximum(low[:, None], low)
    found = [f"{names[i]!r} leaves the frame: {boxes[i].round(1)} in {frame.round(1)}" for i in np.flatnonzero(past)]
    for i, k in np.argwhere(np.triu((both > slack).all(axis=-1), 1)):
        found.append(f"{names[i]!r} overlaps {names[k]!r}: {boxes[i].round(1)} and {boxes[k].round(1)}")
    for line in leaders(ax):
        along = np.linspace(*line, 200)[:, None]
        struck = ((low + 1 < along) & (along < high - 1)).all(axis=-1).any(axis=0)
        found += [f"{names[i]!r} is struck through by a leader" for i in np.flatnonzero(struck)]
    return found


def leaders(ax) -> list[np.ndarray]:
    """The oblique pieces of the leader lines of an axes [pixels], each from end to end."""
    shown = [p for p in ax.patches if re.fullmatch(r"line thin \S+ 4", p.get_label()) and p.get_visible()]
    paths = [(p.get_transform().transform(p.get_path().vertices), p.get_path().codes) for p in shown]
    pieces = [v[k : k + 2] for v, codes in paths for k in range(len(v) - 1) if codes[k + 1] == Path.LINETO]
    return [piece for piece in pieces if (abs(piece[1] - piece[0]) > 1).all()]


def keeps_clear(draw, size: tuple[float, float], states, **more):
    """The axes of a drawing on which no text clashed over some states: it is drawn for the first, updated to each."""
    wrong, artists = [], None
    _, ax = figure(size)
    for state in states:
        artists = artists or draw(ax, *state, **more)
        draw.update(artists, *state)
        wrong += [f"{more} {state}: {w}" for w in clashes(ax)]
    assert not wrong, f"{len(wrong)} clashes, the first:\n" + "\n".join(wrong[:6])
    return ax


def fills(ax, colour: str, z: float) -> list[np.ndarray]:
    """Polygons filled in a colour on a layer of an axes [pt]."""
    found = []
    for patch in ax.patches:
        if patch.get_label() == f"fill {colour} {z:g}" and patch.get_visible():
            path = patch.get_path()
            starts = [*np.flatnonzero(path.codes == Path.MOVETO), len(path.codes)]
            found += [path.vertices[a : b - 1] for a, b in itertools.pairwise(starts)]
    return found


def lines(ax, kind: str, colour: str | None = None) -> list[np.ndarray]:
    """Points of each compound line of a kind on an axes [pt], in the order of drawing."""
    wanted = f"line {kind} {colour or ''}"
    shown = [p for p in ax.patches if str(p.get_label()).startswith(wanted) and p.get_visible()]
    return [p.get_path().vertices for p in shown]


def area(ring: np.ndarray) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2


def is_metal(shape, r, angle, z):
    """Whether a point lies in the tap, by its solid; the centre at the point is left out."""
    inside = (np.asarray(z) >= 0) & (np.asarray(z) <= shape.blank.shank_end)
    return inside & (r <= shape.body(angle, z)) & ~shape.is_open(r, angle, z)


class Look(NamedTuple):
    """What each pixel shows, arrays (height, width): `part` of the skin (−1 where there is none), `depth` toward the
    eye [mm] (NaN where there is none), `normal` (height, width, 2) right and up, `z` from the point [mm] (NaN)."""

    part: np.ndarray
    depth: np.ndarray
    normal: np.ndarray
    z: np.ndarray


def look(camera: Camera) -> Look:
    """Which part of the tap each pixel shows, how near it is and how it faces: no light, no antialiasing."""
    samples, traits, _, shown = photo.exposure(camera)
    some = shown >= 0
    index = shown[some]
    part = np.full(shown.shape, -1)
    depth, z = np.full(shown.shape, np.nan), np.full(shown.shape, np.nan)
    normal = np.zeros((*shown.shape, 2))
    found = samples.between(traits, index)
    part[some] = skin(camera.tap).part[samples.cell[index]]
    depth[some], z[some] = samples.place[2][index], found[photo.Z]
    normal[some] = found[photo.NX : photo.NY + 1].T
    return Look(part, depth, normal, z)
