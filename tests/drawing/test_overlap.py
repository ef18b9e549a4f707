"""No text may cover another or leave the sheet, whatever the sliders say: some hundred random states a drawing."""

from __future__ import annotations

import random

import pytest
from drawn import clashes, figure, random_job, texts

from tapkit.drawing import edgemap, endview, groove, holeview, style, tip, toolangles, toothbars, torquechart

CASES = {
    "tip": (lambda ax, job, system: tip.draw_tip(ax, job.tap, job.hole, system=system), (8.96, 2.97)),
    "endview": (lambda ax, job, system: endview.draw_endview(ax, job.tap, system=system), (7.5, 4.2)),
    "edgemap": (lambda ax, job, system: edgemap.draw_edgemap(ax, job, system=system), (8.96, 4.4)),
    "toothbars": (lambda ax, job, system: toothbars.draw_toothbars(ax, job, system=system), (8.96, 2.3)),
    "groove": (lambda ax, job, system: groove.draw_groove(ax, job, system=system), (8.96, 4.4)),
    "holeview": (lambda ax, job, system: holeview.draw_holeview(ax, job, system=system), (4.6, 5.4)),
    "torquechart": (lambda ax, job, system: torquechart.draw_torquechart(ax, job, depth=3, system=system), (4.6, 3.6)),
    "toolangles": (lambda ax, job, system: toolangles.draw_toolangles(ax, job, system=system), (8.96, 3.1)),
}


@pytest.mark.parametrize("name", CASES)
def test_no_text_covers_another(name):
    draw, size = CASES[name]
    rng, wrong = random.Random(f"{name} states"), []
    for _ in range(150):
        job, system = random_job(rng), rng.choice(["metric", "inch"])
        fig, ax = figure(size)
        draw(ax, job, system)
        found = clashes(ax)
        wrong += [f"{job.tap.thread.designation} {job.tap} {job.hole} {system}: {w}" for w in found]
    assert not wrong, f"{len(wrong)} clashes, the first:\n" + "\n".join(wrong[:6])


@pytest.mark.parametrize("name", CASES)
def test_no_text_is_small(name):
    draw, size = CASES[name]
    fig, ax = figure(size)
    draw(ax, random_job(random.Random(5)), "metric")
    assert texts(ax), "a drawing says something"
    assert min(t.get_fontsize() for t in texts(ax)) >= style.SMALL >= 10


def test_the_check_sees_an_overlap_and_a_text_past_the_frame():
    fig, ax = figure((4, 3))
    ax.set_axis_off()
    ax.text(0.5, 0.5, "one")
    ax.text(0.5, 0.5, "two")
    ax.text(0.99, 0.2, "far too long for the sheet")
    assert len(clashes(ax)) == 2
