"""No text may cover another or leave the sheet, whatever the sliders say: some hundred random states a drawing."""

import itertools
import random

import pytest
from drawn import clashes, figure, keeps_clear, random_job, texts

from tapkit.drawing import edgemap, endview, groove, holeview, strength, style, tip, toolangles, toothbars, torquechart
from tapkit.geometry.tap import Tap

STATES = 140

CASES = {
    "tip": (tip.draw_tip, (8.96, 2.97)),
    "endview": (endview.draw_endview, (7.5, 4.2)),
    "edgemap": (edgemap.draw_edgemap, (8.96, 4.4)),
    "toothbars": (toothbars.draw_toothbars, (8.96, 2.3)),
    "groove": (groove.draw_groove, (8.96, 4.4)),
    "holeview": (holeview.draw_holeview, (4.6, 5.4)),
    "torquechart": (torquechart.draw_torquechart, (4.6, 3.6)),
    "strength": (strength.draw_strength, (3.94, 5.2)),
    "toolangles": (toolangles.draw_toolangles, (8.96, 3.1)),
}
"""Drawing: how it is drawn, and the size of its sheet in a panel [inch]."""
WITH_DEPTH = ("holeview", "torquechart")


def model(name, job):
    """What a drawing of a job is given."""
    return {"tip": (job.tap, job.hole), "endview": (job.tap,)}.get(name, (job,))


@pytest.mark.parametrize("name", CASES)
def test_no_text_covers_another(name):
    rng = random.Random(f"{name} states")

    def states():
        yield model(name, random_job(rng))
        for _ in range(STATES // 2):
            job = random_job(rng)
            yield (job, rng.uniform(0, 1) * holeview.end_of_cut(job)) if name in WITH_DEPTH else model(name, job)

    for system in ("metric", "inch"):
        keeps_clear(*CASES[name], states(), system=system)


def test_the_leader_of_the_axial_rake_strikes_through_no_length():
    forms = [("spiral-point", -9), ("spiral-flute", 35), ("left-hand-flute", -15), ("spiral-point", -15)]
    taps = [
        Tap.make(thread, form, threads, axial_rake=rake)
        for form, rake in forms
        for thread in ("3/8-16", "1/4-20", "1/2-13", "M10", "M8")
        for threads in (1.5, 2, 2.5, 4, 6, 8)
    ]
    for system, size in itertools.product(("metric", "inch"), ((8.96, 2.97), (640 / 96, 290 / 96))):
        keeps_clear(tip.draw_tip, size, ((tap, None) for tap in taps), system=system)


@pytest.mark.parametrize("name", CASES)
def test_no_text_is_small(name):
    draw, size = CASES[name]
    _, ax = figure(size)
    draw(ax, *model(name, random_job(random.Random(5))))
    assert texts(ax), "a drawing says something"
    assert min(t.get_fontsize() for t in texts(ax)) >= style.SMALL >= 10


def test_the_check_sees_an_overlap_and_a_text_past_the_frame():
    _, ax = figure((4, 3))
    ax.set_axis_off()
    ax.text(0.5, 0.5, "one")
    ax.text(0.5, 0.5, "two")
    ax.text(0.99, 0.2, "far too long for the sheet")
    assert len(clashes(ax)) == 2
