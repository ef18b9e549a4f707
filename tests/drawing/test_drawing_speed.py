"""A drawing follows a slider: its update and its pixels within the budget, in processor time so that other work on the
machine does not count."""

import time

import numpy as np
import pytest
from drawn import figure
from test_overlap import CASES, model

from tapkit.operation import Operation

BUDGET = 0.020
"""One panel update in the kernel, compute and picture [s]; a drawing alone must stay under it."""
MOVES = 15


@pytest.mark.bench
@pytest.mark.parametrize("name", CASES)
def test_a_drawing_follows_a_slider(name):
    draw, size = CASES[name]
    job = Operation.parse("M10x1.5 spiral-flute plug", "blind 8.5 mm x 20 mm")
    fig, ax = figure(size)
    artists = draw(ax, *model(name, job))
    fig.canvas.draw()
    ground, renderer, spent = fig.canvas.copy_from_bbox(fig.bbox), fig.canvas.get_renderer(), []
    for step in range(MOVES):
        moved = job.with_(tap=job.tap.with_(chamfer_threads=3 + 0.13 * step, radial_rake=5 + 0.5 * step))
        moved.tooth_loads, moved.torque_curve, moved.breakage, moved.chip_room, moved.chip_flow  # noqa: B018
        start = time.process_time()
        draw.update(artists, *model(name, moved))
        fig.canvas.restore_region(ground)
        for artist in artists:
            artist.draw(renderer)
        spent.append(time.process_time() - start)
    assert np.median(spent) < BUDGET
